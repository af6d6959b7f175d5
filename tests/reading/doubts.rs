//! Bearings that read well and cannot be meant: swapped coordinates, lost signs, the same bearing twice.

use azimark::{
    check::{Checked, positions, repeats},
    finding::Severity,
    ingest::{NorthLabel, Settings, bearings},
    observe::ReadBearing,
};

fn read(name: &str, rows: &str) -> Vec<ReadBearing> {
    let north = Settings { north: Some(NorthLabel::True), ..Settings::default() };
    let text = format!("id,lat,lon,bearing\n{rows}");
    let read = bearings(name, text.as_bytes(), &north);
    assert!(read.findings.is_empty(), "{:?}", read.findings);
    read.rows
}

fn ids(checked: &Checked) -> Vec<&str> {
    checked.usable.iter().map(|b| b.id.as_str()).collect()
}

fn told(checked: &Checked) -> Vec<String> {
    checked.findings.iter().map(ToString::to_string).collect()
}

const SOUND: &str = "a,46.955,-118.38434,70\nb,46.97074,-118.35995,161\nc,46.955,-118.33502,253\n";

#[test]
fn stands_near_one_another_give_no_doubt() {
    let checked = positions(read("notes.csv", SOUND));
    assert_eq!((ids(&checked), told(&checked)), (vec!["a", "b", "c"], vec![]));
}

/// Distances by geographiclib 2.1 (Python) from the median of the four latitudes and longitudes, the third of each.
#[test]
fn a_lost_sign_is_refused_with_the_place_that_was_probably_meant() {
    for (row, km, meant) in [
        ("d,46.9447,118.36", 8235, "46.94470, -118.36000"),
        ("d,-46.9447,-118.36", 10403, "46.94470, -118.36000"),
        ("d,-46.9447,118.36", 15799, "46.94470, -118.36000"),
    ] {
        let checked = positions(read("notes.csv", &format!("{SOUND}{row},1\n")));
        assert_eq!(ids(&checked), ["a", "b", "c"], "{row}");
        let [found] = &checked.findings[..] else { panic!("{:?}", told(&checked)) };
        assert_eq!((found.severity, found.code), (Severity::Refused, "misplaced"));
        assert_eq!(found.origin.as_ref().and_then(|o| o.line), Some(5));
        assert_eq!(found.message, format!("the stand of d is {km} km from the others"));
        assert_eq!(
            found.hint.as_deref(),
            Some(
                format!("did you mean {meant}? Coordinates look swapped or a sign is lost: correct the file")
                    .as_str()
            )
        );
    }
}

/// Between 8° and 48° either coordinate may be a latitude.
#[test]
fn swapped_coordinates_are_refused_with_the_place_that_was_probably_meant() {
    let sound = "a,47.1,8.1,70\nb,47.2,8.2,161\nc,47.15,8.3,253\n";
    for row in ["d,8.2,47.1", "d,-8.2,47.1", "d,8.2,-47.1"] {
        let checked = positions(read("notes.csv", &format!("{sound}{row},1\n")));
        assert_eq!(ids(&checked), ["a", "b", "c"], "{row}");
        let [found] = &checked.findings[..] else { panic!("{:?}", told(&checked)) };
        assert_eq!(found.code, "misplaced");
        assert!(
            found.hint.as_deref().is_some_and(|h| h.starts_with("did you mean 47.10000, 8.20000?")),
            "{found}"
        );
    }
}

/// With two stands, or with as many swapped as not, nobody knows which of them is right.
#[test]
fn without_a_majority_nothing_is_refused() {
    let two = positions(read("notes.csv", "a,47.1,8.1,70\nb,8.1,47.1,161\n"));
    assert_eq!((ids(&two), told(&two)), (vec!["a", "b"], vec![]));
    let four = positions(read("x", "a,47.1,8.1,1\nb,47.2,8.2,2\nc,8.1,47.1,3\nd,8.2,47.2,4\n"));
    assert_eq!(ids(&four), ["a", "b", "c", "d"]);
    assert!(four.findings.iter().all(|f| f.severity == Severity::Doubtful), "{:?}", told(&four));
}

/// 60.0014 km and 49.946 km from the median, by geographiclib 2.1 (Python).
#[test]
fn a_stand_that_is_far_away_on_purpose_is_used_and_told() {
    let checked = positions(read("notes.csv", &format!("{SOUND}d,47.51044,-118.36,180\n")));
    assert_eq!(ids(&checked), ["a", "b", "c", "d"]);
    let expected = "notes.csv:5: doubtful [far-away] the stand of d is 60 km from the others\n  \
                    hint: check its coordinates; it is used as written";
    assert_eq!(told(&checked), [expected]);
    // Just below 50 km is no reason to ask.
    let near = positions(read("notes.csv", &format!("{SOUND}d,47.42,-118.36,180\n")));
    assert_eq!((ids(&near).len(), told(&near)), (4, vec![]));
}

#[test]
fn stands_on_both_sides_of_180_degrees_are_neighbours() {
    let checked = positions(read("x", "a,-17,179.99,70\nb,-17.1,-179.99,161\nc,-17.05,179.9,253\n"));
    assert_eq!((ids(&checked).len(), told(&checked)), (3, vec![]));
}

#[test]
fn bearings_from_one_spot_are_told() {
    let checked = positions(read("x", "a,47,8,70\nb,47.0001,8.0001,161\n"));
    assert_eq!(checked.findings.iter().map(|f| f.code).collect::<Vec<_>>(), ["one-spot"]);
    assert!(told(&positions(read("x", "a,47,8,70\n"))).is_empty(), "one bearing is no set of bearings");
}

#[test]
fn a_bearing_that_another_file_repeats_is_used_once() {
    let mut all = read("ours.csv", SOUND);
    // Rounded to five decimals and to whole degrees: within 5 m and a degree.
    all.extend(read("theirs.csv", "c,46.95502,-118.33503,253.4\nx,46.9447,-118.36,1\n"));
    let checked = repeats(all);
    assert_eq!(ids(&checked), ["a", "b", "c", "x"]);
    assert_eq!(
        told(&checked),
        ["theirs.csv:2: doubtful [bearing-repeated] bearing c is the one at ours.csv:4: it is used once\n  \
          hint: write its own time, or another identifier in another file, if it was taken anew"]
    );
}

#[test]
fn the_same_name_for_another_bearing_is_told_and_both_are_used() {
    for other in ["c,46.95502,-118.33503,255", "c,46.9552,-118.33503,253"] {
        let mut all = read("ours.csv", SOUND);
        all.extend(read("theirs.csv", &format!("{other}\n")));
        let checked = repeats(all);
        assert_eq!(ids(&checked), ["a", "b", "c", "c (theirs.csv)"], "{other}");
        assert_eq!(
            told(&checked),
            [
                "theirs.csv:2: doubtful [id-in-two-files] c also names another bearing, at ours.csv:4: both are used\n  \
              hint: give every bearing of a case its own identifier"
            ]
        );
    }
}

/// A third file that copies the second one's bearing, not the first one's of the same name.
#[test]
fn every_earlier_file_is_looked_at_for_repeats() {
    let mut all = read("one.csv", SOUND);
    all.extend(read("two.csv", "c,47.1,-118.3,10\n"));
    all.extend(read("three.csv", "c,47.1,-118.3,10\n"));
    let checked = repeats(all);
    assert_eq!(ids(&checked), ["a", "b", "c", "c (two.csv)"]);
    let codes: Vec<&str> = checked.findings.iter().map(|f| f.code).collect();
    assert_eq!(codes, ["id-in-two-files", "bearing-repeated"]);
}

#[test]
fn one_file_may_repeat_a_bearing() {
    let checked = repeats(read("x", "a,47,8,70\nb,47,8,70\n"));
    assert_eq!((ids(&checked), told(&checked)), (vec!["a", "b"], vec![]));
}
