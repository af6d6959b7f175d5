//! Antennas turned on the spot: files of levels against headings, good and broken, and the bearings that come of them. The
//! levels are made by the textbooks' formulae, written out here.

use azimark::{
    export,
    finding::{Finding, Severity},
    ingest::{Kind, LevelSettings, Settings, kind, levels, swings},
    north,
    observe::{Level, NorthReference, Quality, Swing},
    radio::Family,
    solve::{
        self, Options, Problem,
        swing::{SwingFit, bearing, bearings, fit},
    },
    units::Angle,
};

const HEAD: &str = "stand,lat,lon,heading_deg,north,level_dbm\n";

/// Main lobe of 3GPP TR 38.901, Table 7.3-1: −min(12 (x/w)², depth) dB.
fn lobe(off: f64, width: f64, depth: f64) -> f64 {
    let off = (off + 540.0).rem_euclid(360.0) - 180.0;
    -(12.0 * (off / width).powi(2)).min(depth)
}

/// A file of one stand, `level` in dBm by the heading in degrees; `<` stands before what lies below the floor.
fn file(count: u32, level: impl Fn(f64) -> f64, floor: f64) -> String {
    let row = |i: u32| {
        let heading = 360.0 * f64::from(i) / f64::from(count);
        let level = level(heading);
        let cell = if level < floor { format!("<{floor:.2}") } else { format!("{level:.2}") };
        format!("A,47,8,{heading},true,{cell}\n")
    };
    HEAD.to_owned() + &(0..count).map(row).collect::<String>()
}

fn clean(text: &str, settings: &Settings) -> Vec<Swing> {
    let read = swings("swing.csv", text.as_bytes(), settings);
    assert!(read.findings.iter().all(|f| f.severity == Severity::Assumed), "{text}: {:#?}", read.findings);
    read.rows
}

fn one(text: &str) -> (Swing, SwingFit) {
    let rows = clean(text, &Settings::default());
    assert_eq!(rows.len(), 1, "{text}");
    let found = fit(&rows[0]);
    (rows[0].clone(), found)
}

fn degrees(fit: &SwingFit) -> f64 {
    fit.direction.expect("a direction").bearing.to_degrees()
}

fn told(fit: &SwingFit, code: &str) -> bool {
    fit.findings.iter().any(|f| f.code == code)
}

fn off(found: f64, truth: f64) -> f64 {
    Angle::degrees(found).miss_from(Angle::degrees(truth)).to_degrees().abs()
}

#[test]
fn a_swing_is_told_from_bearings_levels_and_walks() {
    for (text, expected) in [
        (file(8, |h| -60.0 + lobe(h - 70.0, 60.0, 15.0), -200.0), Kind::Swings),
        (
            "Standort;Breite;Länge;Antennenrichtung [°M];Pegel [dBµV]\nA;47;8;0;30\nA;47;8;90;20\n"
                .to_owned(),
            Kind::Swings,
        ),
        ("lat,lon,heading,rssi_dbm\n47,8,0,-60\n47,8,90,-61\n47,8,180,-70\n".to_owned(), Kind::Swings),
        // The headings of somebody who walks.
        ("lat,lon,heading,rssi_dbm\n47,8,0,-60\n47.1,8,90,-61\n47.2,8,180,-70\n".to_owned(), Kind::Levels),
        // Bearings with their front levels.
        ("lat,lon,bearing_deg,level_dbm\n47,8,0,-60\n47,8,90,-61\n".to_owned(), Kind::Bearings),
        ("lat,lon,azimuth,hpbw,level_dbm\n47,8,0,65,-60\n47,8,120,65,-61\n".to_owned(), Kind::Sectors),
        // Beside the width of a beam only a name that sectors' azimuths do not have makes a swing.
        ("lat,lon,heading,hpbw,level_dbm\n47,8,0,65,-60\n47,8,120,65,-61\n".to_owned(), Kind::Swings),
        ("lat,lon,direction,hpbw,level_dbm\n47,8,0,65,-60\n47,8,120,65,-61\n".to_owned(), Kind::Sectors),
        ("lat,lon,direction,level_dbm\n47,8,0,-60\n47,8,120,-61\n".to_owned(), Kind::Swings),
        ("lat,lon,heading\n47,8,0\n47,8,90\n".to_owned(), Kind::Unknown),
    ] {
        assert_eq!(kind(text.as_bytes()), expected, "{text}");
    }
    // Levels at four sides of a house name no heading: they are levels, and no swing.
    let close = std::fs::read("fixtures/demo/close_in.csv").unwrap();
    assert_eq!(kind(&close), Kind::Levels);
    assert_eq!(swings("close_in.csv", &close, &Settings::default()).findings[0].code, "columns-missing");
}

#[test]
fn dialects_units_and_attenuators_are_those_of_levels() {
    let text = "Standort;Breite;Länge;Antennenrichtung [°M];Anzeige [dBµV];Dämpfung [dB];Antenne;Halbwertsbreite [°]\n\
                Turm;47,0;8,0;000;20,5;10;Yagi;50\nTurm;47,0;8,0;120;10;0;;\nTurm;;;240;<0;0;;\n";
    let read = swings("x", text.as_bytes(), &Settings::default());
    let swing = &read.rows[0];
    assert_eq!((swing.id.as_str(), swing.points.len(), swing.north), ("Turm", 3, NorthReference::Magnetic));
    assert_eq!(swing.antenna.family, Some(Family::Lobe));
    assert!((swing.antenna.beamwidth.unwrap().to_degrees() - 50.0).abs() < 1e-9);
    // dBm = dBµV − 106.9897 at 50 Ω (Joule's law), and 10 dB of attenuator.
    let level = swing.points[0].reading.level.measured().unwrap().value();
    assert!((level - (20.5 + 10.0 - 106.989_700_043)).abs() < 1e-8, "{level}");
    assert_eq!(swing.points[0].reading.raw.map(|r| r.value), Some(20.5), "the raw level is kept");
    assert!(matches!(swing.points[2].reading.level, Level::BelowFloor(_)));
    assert_eq!(swing.points[2].reading.written.line, 4);
    let codes: Vec<&str> = read.findings.iter().map(|f| f.code).collect();
    assert!(codes.contains(&"place-of-stand") && codes.contains(&"attenuator-added"), "{codes:?}");
    // What the caller states stands in for what the file does not say.
    let levels = LevelSettings { unit: Some(azimark::observe::LevelUnit::Dbm), ..LevelSettings::default() };
    let settings = Settings { levels, north: Some(azimark::ingest::NorthLabel::True), ..Settings::default() };
    let rows = clean(
        "lat,lon,heading,level\n47,8,0gon,-60\n47,8,130gon,-61\n47,8,260gon,-70\n47,8,320gon,-70\n",
        &settings,
    );
    assert!((rows[0].points[1].heading.to_degrees() - 117.0).abs() < 1e-9);
}

#[test]
fn rows_of_one_stand_are_one_swing() {
    let at = |name: &str, lat: &str, h: u32| format!("{name},{lat},8,{h},true,-60\n");
    let three = |name: &str, lat: &str| (0..3).map(|i| at(name, lat, 120 * i)).collect::<String>();
    let sizes = |text: String| -> Vec<(String, usize)> {
        clean(&(HEAD.to_owned() + &text), &Settings::default())
            .into_iter()
            .map(|s| (s.id, s.points.len()))
            .collect()
    };
    // By name, also where another stand comes between.
    let found = sizes(three("A", "47") + &three("B", "47.1") + &three("A", "47"));
    assert_eq!(found, [("A".to_owned(), 6), ("B".to_owned(), 3)]);
    // Without names, by position, as long as the rows follow one another; 0.00005° are 6 m.
    let found = sizes(three("", "47") + &three("", "47.00005") + &three("", "47.1") + &three("", "47"));
    assert_eq!(found.iter().map(|f| f.1).collect::<Vec<_>>(), [6, 3, 3]);
    // Numbers of rows are no stands, repeated identifiers are.
    let head = "id,lat,lon,heading_deg_true,level_dbm\n";
    let numbered = format!("{head}1,47,8,0,-60\n2,47,8,120,-60\n3,47,8,240,-60\n");
    assert_eq!(clean(&numbered, &Settings::default()).len(), 1);
    let named = format!(
        "{head}a,47,8,0,-60\na,47,8,120,-60\na,47,8,240,-60\nb,47,8,0,-60\nb,47,8,120,-60\nb,47,8,240,-60\n"
    );
    assert_eq!(clean(&named, &Settings::default()).len(), 2);
    // Two frequencies are two swings.
    let head = "stand,lat,lon,heading_deg_true,level_dbm,freq_mhz\n";
    let rows = |f: u32| (0..3).map(|i| format!("A,47,8,{},-60,{f}\n", 120 * i)).collect::<String>();
    assert_eq!(clean(&format!("{head}{}{}", rows(100), rows(433)), &Settings::default()).len(), 2);
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

/// Three sound rows of stand A in front, so that the broken row is the only thing to tell.
#[test]
fn broken_rows_of_a_swing_are_named() {
    const CASES: Cases = &[
        ("A,47,8,400,true,-60", "refused bearing-out-of-range 5:4 \"400\"", "0 to 360"),
        ("A,47,8,-1,true,-60", "refused bearing-out-of-range 5:4 \"-1\"", "0 to 360"),
        ("A,47,8,north,true,-60", "refused not-a-number 5:4 \"north\"", "number of degrees"),
        ("A,47,8,,true,-60", "refused bearing-missing 5:4 \"\"", "no bearing"),
        ("A,47,8,10,up,-60", "refused north-unknown 5:5 \"up\"", "three norths"),
        ("A,47,8,10,magnetic,-60", "refused norths-differ 5:-", "true north, and this row is from magnetic"),
        ("A,47,8,10M,true,-60", "refused norths-differ 5:5 \"true\"", "the bearing itself says magnetic"),
        ("A,47,8,10,true,", "refused level-missing 5:6 \"\"", "no level"),
        ("A,47,8,10,true,loud", "refused not-a-number 5:6 \"loud\"", "no level"),
        ("A,47,8,10,true,99", "refused level-out-of-range 5:6 \"99\"", "99.0 dBm"),
        ("A,97,8,10,true,-60", "refused coordinate 5:2 \"97\"", "beyond 90 degrees"),
        ("A,47.1,8,10,true,-60", "refused stand-moved 5:-", "more than 50 m"),
        (",,,10,true,-60", "refused coordinate-missing 5:-", "neither a position nor a stand"),
        ("B,,,10,true,-60", "refused coordinate-missing 5:-", "no row of this stand has a position"),
        ("B,47,8,10,true,-60", "refused too-few-headings 5:-", "has 1 different heading(s)"),
        ("A,47,8,10,true", "refused cells-differ 5:-", "has 5 cells and the header 6"),
    ];
    for (row, short, part) in CASES {
        let text = format!("{HEAD}A,47,8,0,true,-60\nA,47,8,120,true,-70\nA,47,8,240,true,-70\n{row}\n");
        let read = swings("swing.csv", text.as_bytes(), &Settings::default());
        let found: Vec<&Finding> = read.findings.iter().filter(|f| f.severity != Severity::Assumed).collect();
        assert_eq!(found.iter().map(|f| in_short(f)).collect::<Vec<_>>(), [*short], "{row}: {found:#?}");
        assert!(found[0].message.contains(part) && found[0].hint.is_some(), "{row}: {}", found[0]);
        assert_eq!(
            read.rows.iter().map(|s| s.points.len()).collect::<Vec<_>>(),
            [3],
            "{row}: the rest is kept"
        );
    }
}

#[test]
fn broken_files_of_swings_are_named() {
    const CASES: Cases = &[
        ("", "refused empty -:-", "no table"),
        ("lat,lon,level_dbm\n47,8,-60", "refused columns-missing 1:-", "no column for heading"),
        ("lat,lon,heading\n47,8,60", "refused columns-missing 1:-", "no column for level"),
        ("heading,level_dbm\n0,-60", "refused columns-missing 1:-", "latitude, longitude"),
        (
            "lat,lon,heading [furlong],level_dbm\n47,8,0,-60",
            "refused unit-unknown 1:3 \"heading [furlong]\"",
            "no unit",
        ),
        ("lat,lon,heading_deg_true,level\n47,8,0,-60", "refused unit-missing 2:-", "1 level(s) have no unit"),
        ("lat,lon,heading,level_dbm\n47,8,0,-60", "refused north-unlabelled -:-", "do not say which north"),
        (
            "lat,lon,heading_deg_true,level_dbm\n47,8,0,-60\n47,8,90,-60\n47,8,90,-61",
            "refused too-few-headings 2:-",
            "has 2 different heading(s)",
        ),
        (
            "lat,lon,heading_deg_true,level_dbm\n47,8,0,-60\n47,8,90,off\n47,8,180,-61",
            "refused too-few-headings 2:-",
            "has 2 different heading(s)",
        ),
        (
            "lat,lon,heading_deg_true,level_dbm\n47,8,0,-60\n47,8,60,-60\n47,8,120,-61",
            "doubtful headings-gap 2:-",
            "between 120° and 000°",
        ),
        (
            "lat,lon,heading_deg_true,level_dbm,beamwidth\n47,8,0,-60,0\n",
            "refused beamwidth-out-of-range 2:5 \"0\"",
            "1 to 180",
        ),
        (
            "lat,lon,heading_deg_true,level_dbm,antenna\n47,8,0,-60,dish\n47,8,120,-61,\n47,8,240,-70,",
            "doubtful pattern-unknown 2:5 \"dish\"",
            "no kind of pattern",
        ),
        (
            "lat,lon,heading_deg_true,level_dbm,antenna\n47,8,0,-60,yagi\n47,8,120,-61,loop\n47,8,240,-70,yagi",
            "doubtful antenna-differs 3:-",
            "another antenna",
        ),
        (
            "easting,northing,heading_deg_true,level_dbm\n396777,5201175,0,-60\n",
            "refused grid-unstated 2:-",
            "of which grid",
        ),
    ];
    for (text, short, part) in CASES {
        let read = swings("swing.csv", text.as_bytes(), &Settings::default());
        let found: Vec<&Finding> = read.findings.iter().filter(|f| f.severity != Severity::Assumed).collect();
        assert_eq!(found.iter().map(|f| in_short(f)).collect::<Vec<_>>(), [*short], "{text}: {found:#?}");
        assert!(found[0].message.contains(part) && found[0].hint.is_some(), "{text}: {}", found[0]);
        assert_eq!(read.rows.is_empty(), found[0].severity == Severity::Refused, "{text}");
    }
    let many: String =
        (0..501).flat_map(|i| (0..3).map(move |k| format!("s{i},47,8,{},true,-60\n", 120 * k))).collect();
    let read = swings("x", (HEAD.to_owned() + &many).as_bytes(), &Settings::default());
    let refused: Vec<String> =
        read.findings.iter().filter(|f| f.severity == Severity::Refused).map(in_short).collect();
    assert_eq!((read.rows.len(), refused), (500, vec!["refused too-many-swings 1502:-".to_owned()]));
    assert_eq!(swings("x", b"%PDF-1.4", &Settings::default()).findings[0].code, "not-text");
}

/// Without any error in the levels the truth is found to a small part of the beam, whatever the family.
#[test]
fn patterns_of_the_textbooks_are_found_again() {
    let cardioid = |x: f64| 20.0 * (0.5 * (1.0 + 0.98 * x.to_radians().cos())).log10();
    let eight = |x: f64| 10.0 * (x.to_radians().cos().powi(2) + 0.003).log10();
    let body = |x: f64| -6.0 * (1.0 - x.to_radians().cos());
    for truth in [3.0, 77.0, 181.5, 359.0] {
        let (_, found) = one(&file(24, |h| -60.0 + lobe(h - truth, 65.0, 18.0), -200.0));
        assert!(off(degrees(&found), truth) < 0.5, "{truth}: {found:#?}");
        assert_eq!((found.pattern.unwrap().family(), found.peaks.len()), (Family::Lobe, 1));
        assert!((found.front_to_back.unwrap().ratio.value() - 18.0).abs() < 0.5);
        assert!((found.beamwidth.unwrap().0.to_degrees() - 65.0).abs() < 2.0);
        let (_, found) = one(&file(24, |h| -60.0 + cardioid(h - truth), -200.0));
        assert!(off(degrees(&found), truth) < 0.5, "{truth}: {found:#?}");
        assert_eq!(found.pattern.unwrap().family(), Family::Cardioid);
        assert!(off(found.nulls[0].heading.to_degrees(), truth + 180.0) < 0.5);
        let (_, found) = one(&file(24, |h| -60.0 + body(h - truth), -200.0));
        assert!(off(degrees(&found), truth) < 0.5, "{truth}: {found:#?}");
        assert_eq!(found.pattern.unwrap().family(), Family::Body);
        let (_, found) = one(&file(24, |h| -60.0 + eight(h - truth), -200.0));
        assert!(off(2.0 * degrees(&found), 2.0 * truth) < 0.5, "{truth}: {found:#?}");
        assert!(degrees(&found) < 180.0 && found.direction.unwrap().two_way && told(&found, "front-or-back"));
        assert_eq!((found.front_to_back, found.peaks.len(), found.nulls.len()), (None, 2, 2));
    }
}

/// What lies below the floor counts as below it: the peak stays where it is, and a floor taken for a level would make the
/// front-to-back ratio 8 dB.
#[test]
fn levels_below_the_floor_are_no_levels() {
    let (_, found) = one(&file(24, |h| -60.0 + lobe(h - 100.0, 60.0, 25.0), -68.0));
    // Six readings stand above the floor, 15° apart; a scatter of 2.5 dB is expected of them and half a sigma left.
    let sigma = found.direction.unwrap().sigma.to_degrees();
    assert!(off(degrees(&found), 100.0) < 0.5 * sigma && sigma < 5.0, "{found:#?}");
    assert_eq!(found.front_to_back, None);
    assert!(told(&found, "back-unread"));
    let (width, width_sigma) = found.beamwidth.unwrap();
    assert!((width.to_degrees() - 60.0).abs() < width_sigma.to_degrees(), "{found:#?}");
    // Nothing heard at 250° behind an attenuator, above a floor far higher than the peak, tells nothing of that heading.
    let text = file(24, |h| -60.0 + lobe(h - 100.0, 60.0, 25.0), -200.0) + "A,47,8,250,true,<-30\n";
    let (_, found) = one(&text);
    assert!(off(degrees(&found), 100.0) < 1.0 && !told(&found, "two-peaks"), "{found:#?}");
    // Taken for a level, the −30 dBm would raise the mean of some sixteen readings of the back by 3 dB.
    assert!((found.front_to_back.unwrap().ratio.value() - 25.0).abs() < 1.0, "{found:#?}");
    let (swing, found) = one(&file(24, |_| -120.0, -100.0));
    assert!(found.direction.is_none() && told(&found, "no-direction") && bearing(&swing, &found).is_none());
}

#[test]
fn a_reflection_makes_a_second_peak_and_a_flat_swing_no_direction() {
    let power = |db: f64| 10f64.powf(db / 10.0);
    let both = |h: f64| {
        10.0 * (power(-60.0 + lobe(h - 70.0, 50.0, 18.0)) + power(-64.0 + lobe(h - 200.0, 50.0, 18.0)))
            .log10()
    };
    let (_, found) = one(&file(24, both, -200.0));
    assert!(told(&found, "two-peaks"), "{found:#?}");
    assert!(off(degrees(&found), 70.0) < 1.0 && off(found.peaks[1].heading.to_degrees(), 200.0) < 2.0);
    let weaker = (found.peaks[0].level - found.peaks[1].level).value();
    assert!((weaker - 4.0).abs() < 0.5, "{weaker}");
    // The sum of both powers, at the top of the second.
    assert!((found.level(Angle::degrees(200.0)).unwrap().value() - both(200.0)).abs() < 0.5);
    let (swing, found) = one(&file(12, |h| -60.0 + 0.5 * (7.0 * h).to_radians().sin(), -200.0));
    assert!(found.direction.is_none() && told(&found, "no-direction"), "{found:#?}");
    assert!(bearing(&swing, &found).is_none());
}

/// A peak cut off flat by a receiver that is overloaded.
#[test]
fn a_peak_that_does_not_rise_is_doubted() {
    let (_, found) = one(&file(36, |h| (-20.0 + lobe(h - 90.0, 60.0, 20.0)).min(-24.0), -200.0));
    assert!(told(&found, "peak-compressed"), "{found:#?}");
    let (_, found) = one(&file(36, |h| -20.0 + lobe(h - 90.0, 60.0, 20.0), -200.0));
    assert!(!told(&found, "peak-compressed"), "{found:#?}");
}

/// A log of a thousand readings is brought to 120 headings: its sigma does not fall as if they were independent.
#[test]
fn a_long_log_does_not_count_its_neighbours_as_evidence() {
    let level = |h: f64| -60.0 + lobe(h - 222.0, 60.0, 15.0) + 1.5 * (13.0 * h).to_radians().sin();
    let (_, found) = one(&file(1800, level, -200.0));
    assert!(told(&found, "readings-merged") && off(degrees(&found), 222.0) < 2.0, "{found:#?}");
    let (_, few) = one(&file(90, level, -200.0));
    let sigma = |f: &SwingFit| f.direction.unwrap().by_levels.to_degrees();
    assert!(sigma(&found) > 0.5 * sigma(&few), "{} {}", sigma(&found), sigma(&few));
}

/// The least that a swing can have: three headings. Either the answer is broad, or there is none.
#[test]
fn three_headings_give_a_broad_bearing_at_best() {
    let text = format!("{HEAD}A,47,8,0,true,-60\nA,47,8,120,true,-80\nA,47,8,240,true,-80\n");
    let (_, found) = one(&text);
    let direction = found.direction.expect("twenty decibels say something");
    assert!(off(direction.bearing.to_degrees(), 0.0) < 5.0, "{found:#?}");
    assert!(direction.sigma.to_degrees() > 10.0, "{found:#?}");
}

/// Two swings at right angles locate an emitter as bearings do; a two-way antenna is as likely reversed as not.
#[test]
fn swings_locate_as_bearings_do() {
    let stand = |name: &str, lat: f64, lon: f64, truth: f64| -> String {
        let row = |i: u32| {
            let h = 15.0 * f64::from(i);
            format!("{name},{lat},{lon},{h},true,{:.2}\n", -60.0 + lobe(h - truth, 60.0, 15.0))
        };
        (0..24).map(row).collect()
    };
    // One kilometre west and south of 47° N 8° E: 0.013151° of longitude, 0.008994° of latitude.
    let text =
        HEAD.to_owned() + &stand("W", 47.0, 8.0 - 0.013_151, 90.0) + &stand("S", 47.0 - 0.008_994, 8.0, 0.0);
    let rows = clean(&text, &Settings::default());
    let turned = bearings(&rows);
    assert_eq!((turned.bearings.len(), turned.fits.len()), (2, 2));
    for (read, fit) in turned.bearings.iter().zip(&turned.fits) {
        assert_eq!(read.quality, Quality::Sigma(fit.direction.unwrap().sigma));
        let (front, back) = (read.front.unwrap().value(), read.back.unwrap().value());
        assert!((front + 60.0).abs() < 0.5 && (back + 75.0).abs() < 0.5, "{front} {back}");
    }
    let resolved = north::resolve(&turned.bearings, &north::Settings::default());
    let problem = Problem { bearings: &resolved.bearings, ..Problem::default() };
    let place = solve::fit(&problem, &Options::default()).unwrap().modes()[0].place;
    assert!(
        (place.lat_degrees() - 47.0).abs() < 2e-4 && (place.lon_degrees() - 8.0).abs() < 3e-4,
        "{place:?}"
    );
    // Turned round and marked as two-way, the west bearing leads to the same place with hardly less evidence: a half for
    // each way, where an antenna with a front is turned round in 2 of 100 cases.
    let evidence = |two_way: bool| {
        let mut reversed = turned.bearings.clone();
        reversed[0] = azimark::observe::ReadBearing {
            read: reversed[0].read.reversed(),
            two_way,
            front: None,
            back: None,
            ..reversed[0].clone()
        };
        let resolved = north::resolve(&reversed, &north::Settings::default());
        let problem = Problem { bearings: &resolved.bearings, ..Problem::default() };
        let fit = solve::fit(&problem, &Options::default()).unwrap();
        (fit.modes()[0].place, fit.log_evidence())
    };
    let ((place, two_way), (_, one_way)) = (evidence(true), evidence(false));
    assert!(
        (place.lat_degrees() - 47.0).abs() < 2e-4 && (place.lon_degrees() - 8.0).abs() < 3e-4,
        "{place:?}"
    );
    assert!(two_way - one_way > 1.0 && two_way - one_way < 25f64.ln() + 0.1, "{two_way} {one_way}");
}

/// The same levels read as a plain log are levels: nothing of the readers has changed for those.
#[test]
fn a_swing_can_still_be_read_as_levels() {
    let text = file(8, |h| -60.0 + lobe(h - 70.0, 60.0, 15.0), -200.0);
    assert_eq!(levels("x", text.as_bytes(), &Settings::default()).rows.len(), 8);
}

/// What programs and people see of a swing: every raw level, and a drawing that no name can break.
#[test]
fn the_raw_swing_is_kept_in_what_is_written() {
    let text = file(12, |h| -60.0 + lobe(h - 70.0, 60.0, 15.0), -70.0).replace("A,", "<b>&,");
    let rows = clean(&text, &Settings::default());
    let turned = bearings(&rows);
    let resolved = north::resolve(&turned.bearings, &north::Settings::default());
    let json = export::swings_json(&rows, &turned.fits, &resolved.bearings, &turned.findings);
    let parsed: serde_json::Value = serde_json::from_str(&json).unwrap();
    let swing = &parsed["swings"][0];
    let points = swing["points"].as_array().unwrap();
    assert_eq!((points.len(), &parsed["schema"]), (12, &serde_json::json!(export::SWINGS_SCHEMA)));
    assert_eq!(
        (points[2]["heading_deg"].as_f64(), points[2]["level_dbm"].as_f64()),
        (Some(60.0), Some(-60.33))
    );
    assert_eq!(
        (&points[6]["state"], points[6]["level_dbm"].as_f64()),
        (&serde_json::json!("below_floor"), Some(-70.0))
    );
    assert_eq!(swing["read_deg"], swing["true_deg"]);
    assert!((swing["read_deg"].as_f64().unwrap() - 70.0).abs() < 1.0, "{json}");
    let svg = export::polar(&rows, &turned.fits);
    assert!(svg.contains("&lt;b&gt;&amp;") && !svg.contains("<b>") && svg.trim_end().ends_with("</svg>"));
    let heard = points.iter().filter(|p| p["state"] == "measured").count();
    assert_eq!(svg.matches("r=\"3.6\"").count(), heard);
    assert_eq!(svg.matches("h9l-4.5 8Z").count(), 12 - heard);
    assert!(export::polar(&[], &[]).trim_end().ends_with("</svg>"));
}
