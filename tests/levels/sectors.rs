//! Tables of sectors as people write them, the demo's and broken ones, and what is doubted about them.

use azimark::{
    check,
    finding::{Finding, Severity},
    ingest::{Kind, NorthLabel, Settings, kind, sectors},
    north::{self, TrueSector},
    observe::{Beam, Level, NorthReference, Sector},
    radio::noise::Averaging,
};

const DEMO: &[u8] = include_bytes!("../../fixtures/demo/sectors.csv");

/// Settings that leave nothing to ask about.
fn settled() -> Settings {
    Settings { averaging: Some(Averaging::Power), ..Settings::default() }
}

fn rows(text: &str) -> Vec<Sector> {
    let read = sectors("sectors.csv", text.as_bytes(), &settled());
    assert!(read.findings.iter().all(|f| f.severity == Severity::Assumed), "{:#?}", read.findings);
    read.rows
}

fn codes(findings: &[Finding]) -> Vec<&'static str> {
    findings.iter().map(|f| f.code).collect()
}

/// Interference from a rise R above a floor N: N + 10 log10(10^(R/10) − 1), since powers add (computed with mpmath 1.4.1).
#[test]
fn the_demos_sectors_read_without_options() {
    assert_eq!(kind(DEMO), Kind::Sectors);
    let read = sectors("sectors.csv", DEMO, &Settings::default());
    assert_eq!(codes(&read.findings), ["north-from-header", "averaging-unstated"]);
    assert_eq!(read.rows.len(), 9);
    let ridge = &read.rows[1];
    assert_eq!((ridge.id.as_str(), ridge.rise.unwrap().value()), ("VC-017-2", 16.7));
    let heard = ridge.interference.measured().unwrap().value();
    assert!((heard + 85.393_857_445_941_85).abs() < 1e-9, "{heard}");
    let Beam::Sector { azimuth, north, beamwidth } = ridge.beam else { panic!("a sector") };
    assert!((azimuth.to_degrees() - 120.0).abs() < 1e-9 && (beamwidth.to_degrees() - 65.0).abs() < 1e-9);
    assert_eq!(north, NorthReference::True);
    assert_eq!((ridge.gain.unwrap().value(), ridge.feeder_loss.unwrap().value()), (17.0, 2.0));
    assert_eq!((ridge.bandwidth.unwrap().to_mhz(), ridge.height.unwrap().value()), (9.0, 45.0));
    // A rise of 0.0 says only that it is less than half of its last digit.
    let Level::BelowFloor(limit) = read.rows[6].interference else { panic!("not above the floor") };
    assert!((limit.value() + 121.363_119_084_410_29).abs() < 1e-9, "{}", limit.value());
    let resolved = north::resolve_sectors(&read.rows, &north::Settings::default());
    let checked = check::sectors(resolved.sectors);
    assert_eq!((checked.usable.len(), checked.findings), (9, Vec::new()));
}

/// The same sector in four languages, three delimiters, and three ways of saying how much it hears.
#[test]
fn names_units_and_ways_of_saying_it() {
    for text in [
        "sector,lat,lon,azimuth_deg_true,beamwidth_deg,noise_floor_dbm,noise_rise_db\nA,47,8,120,65,-102,10",
        "Sektor;Breite;Länge;Azimut wahr;Halbwertsbreite [°];Grundrauschen [dBm];Rauschanstieg [dB]\nA;47,0;8,0;120;65;-102,0;10,0",
        "secteur\tlatitude\tlongitude\tazimut vrai\touverture (°)\tplancher de bruit (dBm)\tmontée du bruit (dB)\nA\t47\t8\t120\t65\t-102\t10",
        "celda;latitud;longitud;azimut verdadero;apertura;suelo de ruido [dBm];aumento de ruido [dB]\nA;47;8;120;65;-102;10",
        "sector,lat,lon,azimuth,north,hpbw,floor_dbm,level_dbm\nA,47,8,120,true,65,-102,-92",
        "sector,lat,lon,azimuth,beamwidth,floor_dbm,interference_dbm\nA,47,8,120T,65,-102,-92.4575749056",
        "sector,position,boresight_gon_true,beamwidth_gon,floor [dBµV 50 Ohm],rise\nA,47 8,133.33333333333333,72.2222222222,4.9897000434,10",
    ] {
        let found = rows(text);
        let sector = &found[0];
        assert_eq!((found.len(), sector.id.as_str()), (1, "A"), "{text}");
        let level = sector.interference.measured().unwrap().value();
        // 10 dB above −102 dBm: −102 + 10 log10 9.
        assert!((level + 92.457_574_905_606_75).abs() < 1e-9, "{text}: {level}");
        assert!((sector.rise.unwrap().value() - 10.0).abs() < 1e-9, "{text}");
        let Beam::Sector { azimuth, north, beamwidth } = sector.beam else { panic!("{text}") };
        assert!((azimuth.to_degrees() - 120.0).abs() < 1e-9 && (beamwidth.to_degrees() - 65.0).abs() < 1e-9);
        assert_eq!((north, kind(text.as_bytes())), (NorthReference::True, Kind::Sectors), "{text}");
    }
    let omni = rows("lat,lon,azimuth,beamwidth,interference_dbm\n47,8,,Rundstrahler,<-110\n47,8,,360,-90");
    assert_eq!((omni[0].beam, omni[1].beam, omni[0].id.as_str()), (Beam::Omni, Beam::Omni, "line 2"));
    assert_eq!(omni[0].interference, Level::BelowFloor(azimark::units::Dbm::new(-110.0)));
    assert_eq!(omni[0].rise, None);
}

#[test]
fn how_levels_were_averaged_is_asked_told_or_read() {
    let head = "lat,lon,azimuth_true,beamwidth,floor_dbm,rise,averaging\n47,8,120,65,-102,10,";
    for (word, expected, code) in [
        ("", None, "averaging-unstated"),
        ("linear", Some(Averaging::Power), ""),
        ("Leistung", Some(Averaging::Power), ""),
        ("dB", Some(Averaging::Decibels), "averaged-in-decibels"),
    ] {
        let read = sectors("x", format!("{head}{word}\n").as_bytes(), &Settings::default());
        assert_eq!(read.rows[0].averaging, expected, "{word}");
        let told = codes(&read.findings);
        assert!(code.is_empty() || told.contains(&code), "{word}: {told:?}");
        assert_eq!(told.iter().any(|c| c.starts_with("averag")), !code.is_empty(), "{word}: {told:?}");
    }
    assert!(!codes(&sectors("x", DEMO, &settled()).findings).contains(&"averaging-unstated"));
}

/// A text, the finding in short (severity, code, line:column and value), and a part of its message.
type Cases = &'static [(&'static str, &'static str, &'static str)];

fn in_short(finding: &Finding) -> String {
    let origin = finding.origin.as_ref().expect("findings of a reader say where");
    let number = |n: Option<u64>| n.map_or("-".to_owned(), |n| n.to_string());
    let value = origin.value.as_ref().map_or(String::new(), |v| format!(" {v:?}"));
    format!(
        "{} {} {}:{}{value}",
        finding.severity.word(),
        finding.code,
        number(origin.line),
        number(origin.column)
    )
}

/// The finding is the only one beside assumptions; a refused row is not used, any other is.
fn all_named(head: &str, cases: Cases) {
    for (text, short, part) in cases {
        let read = sectors("sectors.csv", format!("{head}{text}\n").as_bytes(), &settled());
        let found: Vec<&Finding> = read.findings.iter().filter(|f| f.severity != Severity::Assumed).collect();
        assert_eq!(found.iter().map(|f| in_short(f)).collect::<Vec<_>>(), [*short], "{text}: {found:#?}");
        assert!(found[0].message.contains(part), "{text}: {}", found[0]);
        let refused = found[0].severity == Severity::Refused;
        assert!(found[0].hint.is_some(), "{text}: it says what to do");
        assert_eq!(read.rows.is_empty(), refused, "{text}: a refused row is not used, any other is");
    }
}

const HEAD: &str = "sector,lat,lon,height_m,azimuth,north,hpbw_deg,gain_dbi,feeder_loss_db,floor_dbm,level_dbm,rise_db,freq_mhz\n";

#[test]
fn broken_rows_are_named() {
    const CASES: Cases = &[
        ("A,97,8,30,120,true,65,17,2,-102,,10,850", "refused coordinate 2:2 \"97\"", "beyond 90 degrees"),
        ("A,47,,30,120,true,65,17,2,-102,,10,850", "refused coordinate-missing 2:3 \"\"", "no longitude"),
        ("A,47,8,-3,120,true,65,17,2,-102,,10,850", "refused height-out-of-range 2:4 \"-3\"", "above ground"),
        ("A,47,8,high,120,true,65,17,2,-102,,10,850", "refused not-a-number 2:4 \"high\"", "not a number"),
        (
            "A,47,8,30,361,true,65,17,2,-102,,10,850",
            "refused bearing-out-of-range 2:5 \"361\"",
            "from 0 to 360",
        ),
        ("A,47,8,30,north,true,65,17,2,-102,,10,850", "refused not-a-number 2:5 \"north\"", "degrees"),
        ("A,47,8,30,,true,65,17,2,-102,,10,850", "refused azimuth-missing 2:5 \"\"", "no azimuth"),
        ("A,47,8,30,120,polar,65,17,2,-102,,10,850", "refused north-unknown 2:6 \"polar\"", "three norths"),
        (
            "A,47,8,30,120M,true,65,17,2,-102,,10,850",
            "refused norths-differ 2:6 \"true\"",
            "the azimuth itself says",
        ),
        ("A,47,8,30,120,,65,17,2,-102,,10,850", "refused north-unlabelled -:-", "1 azimuth(s) do not say"),
        ("A,47,8,30,120,true,0,17,2,-102,,10,850", "refused beamwidth-out-of-range 2:7 \"0\"", "above 0"),
        (
            "A,47,8,30,120,true,361,17,2,-102,,10,850",
            "refused beamwidth-out-of-range 2:7 \"361\"",
            "at most at 360",
        ),
        ("A,47,8,30,120,true,,17,2,-102,,10,850", "refused beamwidth-missing 2:7 \"\"", "no beamwidth"),
        ("A,47,8,30,120,true,wide,17,2,-102,,10,850", "refused not-a-number 2:7 \"wide\"", "not a number"),
        ("A,47,8,30,120,true,65,170,2,-102,,10,850", "refused gain-out-of-range 2:8 \"170\"", "60 dBi"),
        ("A,47,8,30,120,true,65,17,-2,-102,,10,850", "refused decibels-out-of-range 2:9 \"-2\"", "a feeder"),
        ("A,47,8,30,120,true,65,17,2,,,10,850", "refused floor-missing 2:-", "without the floor"),
        ("A,47,8,30,120,true,65,17,2,,-92,,850", "refused floor-missing 2:-", "without the floor"),
        ("A,47,8,30,120,true,65,17,2,102,,10,850", "refused level-out-of-range 2:10 \"102\"", "102.0 dBm"),
        ("A,47,8,30,120,true,65,17,2,<-102,,10,850", "refused not-a-number 2:10 \"<-102\"", "no floor"),
        (
            "A,47,8,30,120,true,65,17,2,-102,-999,,850",
            "refused level-out-of-range 2:11 \"-999\"",
            "-999.0 dBm",
        ),
        ("A,47,8,30,120,true,65,17,2,-102,,,850", "refused level-missing 2:-", "neither a rise nor a level"),
        ("A,47,8,30,120,true,65,17,2,-102,,x,850", "refused not-a-number 2:12 \"x\"", "no level"),
        ("A,47,8,30,120,true,65,17,2,-102,,-92,850", "refused rise-out-of-range 2:12 \"-92\"", "-92.0 dB"),
        ("A,47,8,30,120,true,65,17,2,-102,,nan,850", "refused not-a-number 2:12 \"nan\"", "no level"),
        ("A,47,8,30,120,true,65,17,2,-102,,off,850", "refused sector-off 2:12 \"off\"", "was off"),
        ("A,47,8,30,120,true,65,17,2,-102,,-3,850", "doubtful rise-negative 2:12 \"-3\"", "3.0 dB below"),
        ("A,47,8,30,120,true,65,17,2,-102,-106,,850", "doubtful rise-negative 2:11 \"-106\"", "4.0 dB below"),
        (
            "A,47,8,30,120,true,65,17,2,-102,-85,10,850",
            "doubtful level-and-rise-differ 2:11 \"-85\"",
            "give -92.0 dBm, and the level is -85.0 dBm",
        ),
        (
            "A,47,8,30,120,true,65,17,2,-102,,10,0",
            "refused frequency-out-of-range 2:13 \"0\"",
            "no radio wave",
        ),
        ("A,47,8,30,120,true,65,17,2,-102,,10", "refused cells-differ 2:-", "has 12 cells and the header 13"),
    ];
    all_named(HEAD, CASES);
}

#[test]
fn broken_files_are_named() {
    const CASES: Cases = &[
        ("", "refused empty -:-", "no table"),
        (
            "lat,lon,azimuth,noise_rise_db,floor_dbm\n47,8,5,3,-102",
            "refused columns-missing 1:-",
            "for beamwidth",
        ),
        ("lat,lon,hpbw,noise_rise_db\n47,8,65,3", "refused columns-missing 1:-", "for azimuth"),
        ("lat,lon,azimuth,hpbw\n47,8,5,65", "refused columns-missing 1:-", "for noise rise or interference"),
        ("azimuth,hpbw,rise\n5,65,3", "refused columns-missing 1:-", "latitude, longitude"),
        (
            "lat,lon,azimuth_true,hpbw_km,rise,floor_dbm\n47,8,5,65,3,-102",
            "refused unit-unknown 1:4 \"hpbw_km\"",
            "no unit",
        ),
        (
            "lat,lon,azimuth_true,hpbw,rise,floor\n47,8,5,65,3,-102",
            "refused unit-missing 2:-",
            "1 level(s) have no unit",
        ),
        (
            "lat,lon,azimuth_true,hpbw,interference\n47,8,5,65,-90",
            "refused unit-missing 2:-",
            "1 level(s) have no unit",
        ),
        (
            "lat,lon,azimuth_true,hpbw,interference_dbm,floor_dbm,rise\n47,8,5,65,-80,-102,10",
            "doubtful interference-and-rise-differ 2:5 \"-80\"",
            "give -92.5 dBm",
        ),
        (
            "lat,lon,azimuth_true,hpbw,interference_dbm,averaging\n47,8,5,65,-80,median",
            "doubtful averaging-unknown 2:6 \"median\"",
            "no way of averaging",
        ),
        ("\"lat,lon\n47,8", "refused quote-open 1:-", "not closed"),
        ("lat,lon,azimuth_true,hpbw,rise_db", "refused no-rows -:-", "no rows"),
    ];
    all_named("", CASES);
    // A field strength needs an antenna, and a sector's counter has none to ask for.
    let text = "lat,lon,azimuth_true,hpbw,interference [dBµV/m]\n47,8,5,65,40\n";
    let read = sectors("x", text.as_bytes(), &settled());
    let refused: Vec<&Finding> = read.findings.iter().filter(|f| f.severity == Severity::Refused).collect();
    assert_eq!((read.rows.len(), refused.len(), refused[0].code), (0, 1, "field-strength"));
}

/// A level in the column of levels that agrees with the rise only as the interference alone is told, and not doubted; at
/// the same rise within rounding both readings agree.
#[test]
fn a_level_may_be_the_interference_alone() {
    let head = "lat,lon,azimuth_true,hpbw,gain_dbi,floor_dbm,level_dbm,rise_db\n47,8,5,65,17,-102.0,";
    for (text, expected) in
        [("-106.0,1.5", vec!["level-without-noise"]), ("-100.5,1.5", vec![]), ("-85.3,16.7", vec![])]
    {
        let read = sectors("x", format!("{head}{text}\n").as_bytes(), &settled());
        let told: Vec<&str> =
            codes(&read.findings).into_iter().filter(|c| *c != "north-from-header").collect();
        assert_eq!(told, expected, "{text}");
        assert!(read.rows[0].rise.is_some());
    }
}

fn resolved(text: &str, settings: &north::Settings) -> Vec<TrueSector> {
    north::resolve_sectors(&rows(text), settings).sectors
}

/// Magnetic azimuths get the declination, and without a date or one stated they are refused as bearings are.
#[test]
fn azimuths_come_to_true_north_as_bearings_do() {
    let text = "sector,lat,lon,azimuth,beamwidth,interference_dbm,date\nA,46.955,-118.36,120M,65,-90,2026-03-17\nB,46.955,-118.36,120T,65,-90,\n";
    let found = resolved(text, &north::Settings::default());
    let azimuth = |i: usize| found[i].axis().unwrap().0.to_degrees();
    // Declination of the World Magnetic Model 2025 there on 17 March 2026: 13.93° east (fixtures/demo/SOURCE.md).
    assert!((azimuth(0) - 133.93).abs() < 0.01 && (azimuth(1) - 120.0).abs() < 1e-9, "{}", azimuth(0));
    let undated = rows(&text.replace("2026-03-17", ""));
    let told = north::resolve_sectors(&undated, &north::Settings::default());
    assert_eq!((told.sectors.len(), codes(&told.findings)), (1, vec!["declination-needs-a-date"]));
    assert!(told.findings[0].message.contains("azimuth of sector A"), "{}", told.findings[0]);
    let stated = Settings { north: Some(NorthLabel::Grid), ..settled() };
    let read = sectors("x", b"lat,lon,azimuth,beamwidth,interference_dbm\n47,8.5,10,65,-90\n", &stated);
    assert!(matches!(read.rows[0].beam, Beam::Sector { north: NorthReference::Grid(_), .. }));
}

/// Three sites about a place, of three sectors each, with these rises.
fn network(rises: [f64; 9]) -> String {
    let sites = [(46.968, -118.401), (46.936, -118.323), (47.003, -118.352)];
    let mut text = String::from("sector,lat,lon,azimuth_deg_true,beamwidth_deg,gain_dbi,floor_dbm,rise_db\n");
    for (i, rise) in rises.iter().enumerate() {
        let (lat, lon) = sites[i / 3];
        text += &format!("S{i},{lat},{lon},{},65,17,-102,{rise:.1}\n", 120 * (i % 3));
    }
    text
}

fn doubts(text: &str) -> Vec<&'static str> {
    codes(&check::sectors(resolved(text, &north::Settings::default())).findings)
}

#[test]
fn sectors_that_tell_no_place_are_doubted() {
    let alike = [6.0, 5.1, 7.2, 6.6, 5.5, 4.9, 7.0, 6.1, 5.8];
    assert_eq!(doubts(&network(alike)), ["sectors-alike"]);
    // Half a decibel more of spread, or one sector that hears nothing, is no longer alike.
    let mut spread = alike;
    spread[0] = 8.0;
    assert!(doubts(&network(spread)).is_empty());
    spread[0] = 0.2;
    assert!(doubts(&network(spread)).is_empty());
    assert_eq!(doubts(&network([0.3; 9])), ["nothing-heard"]);
    let heard = network([0.5, 16.7, 0.6, 0.2, 0.1, 10.4, 0.0, 4.9, 0.0]);
    assert!(doubts(&heard).is_empty());
    let lines: Vec<&str> = heard.lines().collect();
    assert_eq!(doubts(&lines[..4].join("\n")), ["one-site"]);
    // Without its two silent neighbours the first site is the beam of one antenna.
    let one_sided: Vec<&str> =
        lines.iter().enumerate().filter(|(i, _)| ![1, 3].contains(i)).map(|l| *l.1).collect();
    let checked = check::sectors(resolved(&one_sided.join("\n"), &north::Settings::default()));
    assert_eq!(codes(&checked.findings), ["sectors-one-sided"]);
    assert!(
        checked.findings[0].message.contains("1 mast(s)") && checked.findings[0].message.contains("(S1)")
    );
    // One site alone whose three sectors are alike: its own fault as well.
    let own = network([5.0, 6.0, 5.5, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0]);
    let own: Vec<&str> = own.lines().take(4).collect();
    assert_eq!(doubts(&own.join("\n")), ["sectors-alike", "one-site"]);
}

#[test]
fn repeated_and_misplaced_sectors_are_set_aside() {
    let heard = network([0.5, 16.7, 0.6, 0.2, 0.1, 10.4, 0.0, 4.9, 0.0]);
    let twice =
        format!("{heard}S1,46.968,-118.401,120,65,17,-102,18.0\nS1,46.968,-118.401,120,65,17,-102,2.0\n");
    let checked = check::sectors(resolved(&twice, &north::Settings::default()));
    assert_eq!((codes(&checked.findings), checked.usable.len()), (vec!["sector-repeated"], 9));
    assert!(checked.findings[0].message.starts_with("2 row(s)"));
    assert_eq!(checked.usable[1].sector().rise.map(|r| r.value()), Some(18.0));
    let lost = format!("{heard}S9,46.968,118.401,0,65,17,-102,3.0\n");
    let checked = check::sectors(resolved(&lost, &north::Settings::default()));
    assert_eq!((codes(&checked.findings), checked.usable.len()), (vec!["misplaced"], 9));
    assert!(checked.findings[0].hint.as_ref().unwrap().contains("46.96800, -118.40100"));
}
