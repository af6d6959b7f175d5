//! Long logs are read in bounded memory. On its own in a process, so that nothing else is measured.

/// The largest resident memory of this process so far, in KiB, as Linux tells it.
#[cfg(target_os = "linux")]
fn most_kib() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").expect("Linux has it");
    let line = status.lines().find(|l| l.starts_with("VmHWM:")).expect("Linux tells it");
    line.split_whitespace().nth(1).unwrap().parse().unwrap()
}

/// Rows are handed out and none is kept: reading half a million of them takes no more memory beside the bytes than a
/// buffer of the parser and a thousand findings do. Kept, they would take more than 150 MiB.
#[cfg(target_os = "linux")]
#[test]
fn half_a_million_rows_take_no_memory_beside_their_bytes() {
    use std::fmt::Write;

    use azimark::ingest::{Settings, each_level};

    let mut text = String::with_capacity(40 << 20);
    text += "time_utc,lat,lon,hdop,device,level_dbm,remarks\n";
    for i in 0..500_000u32 {
        let (minute, second) = (i / 60 % 60, i % 60);
        writeln!(
            text,
            "2026-03-17T17:{minute:02}:{second:02}Z,46.{:06},8.5,1.1,A,-{}.5,by the wall",
            i,
            60 + i % 50
        )
        .unwrap();
    }
    let before = most_kib();
    let mut count = 0;
    let findings = each_level("log.csv", text.as_bytes(), &Settings::default(), |_| count += 1);
    assert_eq!((count, findings.len()), (500_000, 0));
    let grown = most_kib() - before;
    assert!(grown < 8 * 1024, "{grown} KiB more");
}
