//! Long logs: rows are handed out, none is kept.

use std::fmt::Write;

use azimark::ingest::{Settings, each_level};

#[test]
fn two_hundred_thousand_rows_are_handed_out_one_by_one() {
    let mut text = String::from("lat,lon,level_dbm\n");
    for i in 0..200_000 {
        // Every thousandth row is broken, and all are counted beyond the limit of what is told one by one.
        let level = if i % 100 == 7 { "x".to_owned() } else { format!("{}", -60 - i % 50) };
        writeln!(text, "47.{:05},8.5,{level}", i % 100_000).unwrap();
    }
    let (mut count, mut sum, mut last) = (0usize, 0.0, 0);
    let findings = each_level("log.csv", text.as_bytes(), &Settings::default(), |row| {
        assert!(row.written.line > last, "rows come in order");
        last = row.written.line;
        count += 1;
        sum += row.level.measured().unwrap().value();
    });
    assert_eq!((count, last), (198_000, 200_001));
    let expected: i64 = (0..200_000).filter(|i| i % 100 != 7).map(|i| -60 - i % 50).sum();
    assert_eq!(sum, expected as f64);
    assert_eq!(findings.len(), 1_001, "2,000 refusals are told as the first thousand and how many more");
    assert!(findings[1_000].message.contains("1000 more"), "{}", findings[1_000]);
}
