//! Broken logs, and the finding that each of them must give.

use azimark::{
    finding::{Finding, Severity},
    ingest::{Settings, levels},
};

/// A text, the finding in short (severity, code, line:column and value), and a part of its message.
type Cases = &'static [(&'static str, &'static str, &'static str)];

fn in_short(finding: &Finding) -> String {
    let origin = finding.origin.as_ref().expect("findings of a reader say where");
    let number = |n: Option<u64>| n.map_or("-".to_owned(), |n| n.to_string());
    let value = origin.value.as_ref().map_or(String::new(), |v| format!(" {v:?}"));
    let (line, column) = (number(origin.line), number(origin.column));
    format!("{} {} {line}:{column}{value}", finding.severity.word(), finding.code)
}

/// The finding is the only one beside assumptions; a refused row is not used, and a refusal says what to do.
fn all_named(head: &str, cases: Cases) {
    for (text, short, part) in cases {
        let read = levels("log.csv", format!("{head}{text}\n").as_bytes(), &Settings::default());
        let found: Vec<&Finding> = read.findings.iter().filter(|f| f.severity != Severity::Assumed).collect();
        assert_eq!(found.iter().map(|f| in_short(f)).collect::<Vec<_>>(), [*short], "{text}: {found:#?}");
        assert!(found[0].message.contains(part), "{text}: {}", found[0]);
        let refused = found[0].severity == Severity::Refused;
        assert!(!refused || found[0].hint.is_some(), "{text}: a refusal says what to do");
        // A column without which the level still has a meaning costs only itself.
        let used = !refused || short.contains("unit-unknown 1:2");
        assert_eq!(!read.rows.is_empty(), used, "{text}: a refused row is not used, any other is");
    }
}

const HEAD: &str = "time_utc,lat,lon,hdop,fix,sats,indicated_dbm,attenuator_db,freq_mhz,rbw_khz\n";

#[test]
fn broken_rows_are_named() {
    const CASES: Cases = &[
        (",47,8,1,1,9,x,0,100,10", "refused not-a-number 2:7 \"x\"", "no level"),
        (",47,8,1,1,9,-77 dBm,0,100,10", "refused not-a-number 2:7 \"-77 dBm\"", "no level"),
        (",47,8,1,1,9,<,0,100,10", "refused not-a-number 2:7 \"<\"", "no level"),
        (",47,8,1,1,9,nan,0,100,10", "refused not-a-number 2:7 \"nan\"", "no level"),
        (",47,8,1,1,9,-inf,0,100,10", "refused not-a-number 2:7 \"-inf\"", "no level"),
        (",47,8,1,1,9,1e999,0,100,10", "refused not-a-number 2:7 \"1e999\"", "no level"),
        (",47,8,1,1,9,,0,100,10", "refused level-missing 2:-", "no level"),
        (",47,8,1,1,9,-300,0,100,10", "refused level-out-of-range 2:7 \"-300\"", "-300.0 dBm"),
        (",47,8,1,1,9,77,0,100,10", "refused level-out-of-range 2:7 \"77\"", "77.0 dBm"),
        (",47,8,1,1,9,<-999,0,100,10", "refused level-out-of-range 2:7 \"<-999\"", "-999.0 dBm"),
        (",47,8,1,1,9,50,20,100,10", "refused level-out-of-range 2:7 \"50\"", "70.0 dBm"),
        (",47,8,1,1,9,-77,-20,100,10", "refused decibels-out-of-range 2:8 \"-20\"", "an attenuator"),
        (",47,8,1,1,9,-77,201,100,10", "refused decibels-out-of-range 2:8 \"201\"", "an attenuator"),
        (",47,8,1,1,9,-77,ten,100,10", "refused not-a-number 2:8 \"ten\"", "not a number"),
        (",97,8,1,1,9,-77,0,100,10", "refused coordinate 2:2 \"97\"", "beyond 90 degrees"),
        (",47,8 N,1,1,9,-77,0,100,10", "refused coordinate 2:3 \"8 N\"", "the letter N"),
        (",47,,1,1,9,-77,0,100,10", "refused coordinate-missing 2:3 \"\"", "no longitude"),
        (",,8,1,1,9,-77,0,100,10", "refused coordinate-missing 2:2 \"\"", "no latitude"),
        (",47,8,0,1,9,-77,0,100,10", "refused hdop-out-of-range 2:4 \"0\"", "above 0"),
        (",47,8,-1,1,9,-77,0,100,10", "refused hdop-out-of-range 2:4 \"-1\"", "above 0"),
        (",47,8,100,1,9,-77,0,100,10", "refused hdop-out-of-range 2:4 \"100\"", "below 100"),
        (",47,8,1,9,9,-77,0,100,10", "doubtful fix-unknown 2:5 \"9\"", "no kind of fix"),
        (",47,8,1,yes,9,-77,0,100,10", "doubtful fix-unknown 2:5 \"yes\"", "no kind of fix"),
        (",47,8,1,1,900,-77,0,100,10", "refused satellites 2:6 \"900\"", "nobody sees"),
        (",47,8,1,1,-1,-77,0,100,10", "refused satellites 2:6 \"-1\"", "nobody sees"),
        (",47,8,1,1,9,-77,0,0,10", "refused frequency-out-of-range 2:9 \"0\"", "no radio wave"),
        (",47,8,1,1,9,-77,0,1e9,10", "refused frequency-out-of-range 2:9 \"1e9\"", "no radio wave"),
        (",47,8,1,1,9,-77,0,100,0", "refused bandwidth-out-of-range 2:10 \"0\"", "bandwidth"),
        (",47,8,1,1,9,-77,0,100,1e12", "refused bandwidth-out-of-range 2:10 \"1e12\"", "bandwidth"),
        ("17:05,47,8,1,1,9,-77,0,100,10", "doubtful time-unknown 2:1 \"17:05\"", "date and time"),
        (
            "04/03/2026 17:05,47,8,1,1,9,-77,0,100,10",
            "doubtful time-unknown 2:1 \"04/03/2026 17:05\"",
            "date",
        ),
        (",47,8,1,1,9,-77,0,100", "refused cells-differ 2:-", "has 9 cells and the header 10"),
        (",47,8,1,1,9,-77,0,100,10,", "refused cells-differ 2:-", "has 11 cells and the header 10"),
        (",47,8,1,1,9,\"-77,0,100,10", "refused quote-open 2:-", "not closed"),
    ];
    all_named(HEAD, CASES);
}

#[test]
fn broken_files_are_named() {
    const CASES: Cases = &[
        ("", "refused empty -:-", "no table"),
        ("# nothing", "refused empty -:-", "no table"),
        ("lat,lon\n47,8", "refused columns-missing 1:-", "no column for level"),
        ("time,lat,lon,bearing\n,47,8,5", "refused columns-missing 1:-", "no column for level"),
        ("level\n-77\n-78", "refused unit-missing 2:-", "2 level(s) have no unit, the first is -77"),
        ("level_db\n-77", "refused unit-missing 2:-", "1 level(s) have no unit"),
        ("level [V]\n3", "refused unit-unknown 1:1 \"level [V]\"", "no unit that belongs here"),
        ("level_dbm,floor [W]\n-77,1", "refused unit-unknown 1:2 \"floor [W]\"", "no unit"),
        ("level,unit\n-77,volt", "refused unit-unknown 2:2 \"volt\"", "no unit of levels"),
        ("level_dbm,unit\n-77,dBuV", "refused units-differ 2:2 \"dBuV\"", "the header says dBm"),
        ("level [dBµV/m]\n40", "refused antenna-missing 2:-", "1 field strength(s)"),
        ("level [dBµV/m],gain_dbi\n40,2", "refused antenna-missing 2:-", "1 field strength(s)"),
        ("level_dbm,attenuator_db\n-60,20", "refused attenuator-unclear 2:-", "1 level(s) were taken with"),
        ("level_dbuv,floor_dbm\n30,-110", "doubtful floor-unit -:-", "another unit"),
        ("level_dbm,floor_dbm\n-77,-999", "refused floor-out-of-range 2:2 \"-999\"", "-999.0 dBm"),
        ("level_dbm,attenuator_dbm\n-60,20", "refused unit-unknown 1:2 \"attenuator_dbm\"", "no unit"),
        ("level_dbm,cable_loss_db\n-60,-3", "refused decibels-out-of-range 2:2 \"-3\"", "a cable"),
        ("level_dbm,gain [dBd]\n-60,3", "refused unit-unknown 1:2 \"gain [dBd]\"", "no unit"),
        ("\"level_dbm\n-60", "refused quote-open 1:-", "not closed"),
        ("level_dbm,easting,northing\n-60,396777,5201175", "refused grid-unstated 2:-", "of which grid"),
        ("level_dbm,position\n-60,here", "refused coordinate 2:2 \"here\"", "a grid reference has"),
        ("level_dbm,position sigma_m\n-60,0", "refused position-error 2:2 \"0\"", "above zero"),
    ];
    all_named("", CASES);
    for (bytes, code) in [(&b"%PDF-1.4"[..], "not-text"), (b"\0\x01\x02level", "not-text")] {
        let read = levels("log.csv", bytes, &Settings::default());
        assert_eq!((read.rows.len(), read.findings[0].code), (0, code));
    }
}
