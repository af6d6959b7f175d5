//! The record of a case, by the built program: nothing that was acknowledged is lost, and nothing is changed unseen.

use std::{
    fs::{self, OpenOptions},
    io::{BufRead, BufReader, Write},
    path::{Path, PathBuf},
    process::{Child, Command, Output, Stdio},
    thread,
    time::Duration,
};

use azimark::numeric::random::Random;

const DEMO: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/fixtures/demo/bearings.csv");

fn azimark(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_azimark")).args(arguments).output().expect("the program runs")
}

fn code(output: &Output) -> i32 {
    output.status.code().expect("the program ends by itself")
}

/// What was printed, with its lines joined: where they break depends on the folder's name.
fn told(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout).split_whitespace().collect::<Vec<_>>().join(" ")
}

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).split_whitespace().collect::<Vec<_>>().join(" ")
}

fn done(arguments: &[&str]) -> String {
    let output = azimark(arguments);
    assert_eq!(code(&output), 0, "{arguments:?}: {}{}", told(&output), said(&output));
    told(&output)
}

/// A new case in a folder of its own.
fn opened(name: &str) -> PathBuf {
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join("case").join(name);
    if path.exists() {
        writable(&path);
        fs::remove_dir_all(&path).unwrap();
    }
    done(&[
        "case",
        "new",
        text(&path),
        "--title",
        "Noise on 841.5 MHz",
        "--by",
        "spectrum manager",
        "--frequency",
        "841.5MHz",
    ]);
    path
}

fn text(path: &Path) -> &str {
    path.to_str().unwrap()
}

/// All files below a folder.
fn files(folder: &Path) -> Vec<PathBuf> {
    let mut out = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() { out.extend(files(&path)) } else { out.push(path) }
    }
    out.sort();
    out
}

#[allow(clippy::permissions_set_readonly_false)]
fn writable(folder: &Path) {
    for path in files(folder) {
        let mut rights = fs::metadata(&path).unwrap().permissions();
        rights.set_readonly(false);
        fs::set_permissions(&path, rights).unwrap();
    }
}

/// A case with files, a note and a conclusion.
fn concluded(name: &str) -> PathBuf {
    let case = opened(name);
    done(&["case", "add", text(&case), DEMO, "--by", "technician", "--device", "receiver 2"]);
    done(&["case", "note", text(&case), "switched off at 14:05; the noise went", "--by", "technician"]);
    done(&["case", "conclude", text(&case), "--by", "spectrum manager"]);
    case
}

#[test]
fn a_case_is_shown_and_comes_out_again_wherever_it_lies() {
    let case = concluded("whole");
    let shown = done(&["case", "show", text(&case)]);
    for words in
        ["technician: added bearings.csv (1786 bytes", "noted: switched off at 14:05", "Search 9600 m²"]
    {
        assert!(shown.contains(words), "{words}: {shown}");
    }
    let elsewhere = case.with_file_name("moved");
    if elsewhere.exists() {
        writable(&elsewhere);
        fs::remove_dir_all(&elsewhere).unwrap();
    }
    fs::rename(&case, &elsewhere).unwrap();
    let verified = done(&["case", "verify", text(&elsewhere)]);
    assert!(verified.starts_with("Nothing was changed"), "{verified}");
    assert!(verified.contains("computed again, it is the same to the last byte"), "{verified}");
}

/// One bit of one byte of any file: the file is named, and what rests on it no longer stands.
#[test]
fn every_changed_byte_is_found_and_its_file_named() {
    let case = concluded("flipped");
    writable(&case);
    let mut random = Random::seeded(7);
    for path in files(&case).into_iter().filter(|p| !p.ends_with("lock")) {
        let name = path.strip_prefix(&case).unwrap().to_str().unwrap().to_owned();
        let whole = fs::read(&path).unwrap();
        let drawn: Vec<usize> = (0..10).map(|_| (random.uniform() * whole.len() as f64) as usize).collect();
        for at in drawn.into_iter().chain([0, whole.len() - 1]) {
            let mut bytes = whole.clone();
            bytes[at] ^= 1 << (at % 8);
            fs::write(&path, &bytes).unwrap();
            let output = azimark(&["case", "verify", text(&case)]);
            assert_eq!(code(&output), 1, "{name}, byte {at}");
            assert!(
                told(&output).starts_with("CHANGED") && told(&output).contains(&name),
                "{}",
                told(&output)
            );
        }
        fs::write(&path, &whole[..whole.len() / 2]).unwrap();
        assert!(told(&azimark(&["case", "verify", text(&case)])).contains(&name), "{name} cut in half");
        fs::remove_file(&path).unwrap();
        assert!(told(&azimark(&["case", "verify", text(&case)])).contains(&name), "{name} missing");
        fs::write(&path, &whole).unwrap();
    }
    done(&["case", "verify", text(&case)]);
}

fn noting(case: &Path, who: &str) -> Child {
    Command::new(env!("CARGO_BIN_EXE_azimark"))
        .args(["case", "note", text(case), "-", "--by", who])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .expect("the program runs")
}

fn notes_of(case: &Path) -> Vec<String> {
    let log = fs::read_to_string(case.join("log.jsonl")).unwrap();
    let note = |line: &str| {
        let value: serde_json::Value = serde_json::from_str(line).ok()?;
        Some(value.get("text")?.as_str()?.to_owned())
    };
    log.lines().filter_map(note).collect()
}

/// Killed at any moment, with notes streaming in: every acknowledged one is there, in order, at most one more, and the log
/// agrees with itself. The long form goes on until a thousand were acknowledged, through at least 300 kills.
#[test]
fn nothing_acknowledged_is_lost_when_it_is_killed() {
    let case = opened("killed");
    let mut random = Random::seeded(11);
    let (rounds, least) = if std::env::var_os("AZIMARK_LONG").is_some() { (300, 1_000) } else { (20, 21) };
    let mut kept: Vec<String> = Vec::new();
    let (mut round, mut unacknowledged) = (0, 0);
    while round < rounds || kept.len() < least {
        round += 1;
        assert!(round < 100 * rounds, "killed before anything was written: {}", kept.len());
        let mut child = noting(&case, "technician");
        let mut input = child.stdin.take().unwrap();
        let sender = thread::spawn(move || {
            for i in 0..1000 {
                if writeln!(input, "note {round}.{i}").is_err() {
                    break;
                }
            }
        });
        thread::sleep(Duration::from_micros((random.uniform() * 60_000.0) as u64));
        child.kill().unwrap();
        sender.join().unwrap();
        let acknowledged = BufReader::new(child.stdout.take().unwrap()).lines().count();
        child.wait().unwrap();
        let there = notes_of(&case);
        let expected: Vec<String> = (0..acknowledged).map(|i| format!("note {round}.{i}")).collect();
        assert!(there.len() <= kept.len() + acknowledged + 1, "{} more", there.len() - kept.len());
        kept.extend(expected);
        assert_eq!(there[..kept.len()], kept[..]);
        unacknowledged += there.len() - kept.len();
        kept = there;
        done(&["case", "verify", text(&case)]);
    }
    println!(
        "{round} kills, {} entries, {unacknowledged} of them kept before they were acknowledged",
        kept.len()
    );
}

#[test]
fn two_that_write_at_once_both_keep_theirs() {
    let case = opened("two");
    let children: Vec<Child> = ["one", "two", "three"].map(|who| noting(&case, who)).into_iter().collect();
    let mut children = children;
    for (who, child) in children.iter_mut().enumerate() {
        let mut input = child.stdin.take().unwrap();
        (0..15).for_each(|i| writeln!(input, "{who}.{i}").unwrap());
    }
    for mut child in children {
        assert!(child.wait().unwrap().success());
    }
    let mut notes = notes_of(&case);
    notes.sort();
    let mut expected: Vec<String> =
        (0..3).flat_map(|who| (0..15).map(move |i| format!("{who}.{i}"))).collect();
    expected.sort();
    assert_eq!(notes, expected);
    done(&["case", "verify", text(&case)]);
}

/// A file that may not grow stands for a full disk: the shell bounds it and ignores the signal, so that the write fails.
#[cfg(unix)]
#[test]
fn a_full_disk_loses_nothing() {
    let case = opened("full");
    let large = case.with_file_name("large.csv");
    fs::write(&large, vec![b'7'; 1 << 20]).unwrap();
    let script = "trap '' XFSZ; ulimit -f 64; exec \"$@\"";
    let output = Command::new("sh")
        .args(["-c", script, "sh", env!("CARGO_BIN_EXE_azimark")])
        .args(["case", "add", text(&case), text(&large), "--by", "technician"])
        .output()
        .unwrap();
    assert_eq!(code(&output), 2, "{}", told(&output));
    assert!(said(&output).contains("nothing was added, the case is as it was before"), "{}", said(&output));
    let left: Vec<PathBuf> = files(&case.join("originals"));
    assert!(left.is_empty(), "{left:?}");
    done(&["case", "verify", text(&case)]);
}

#[test]
fn a_newer_case_is_read_and_not_written_to() {
    let case = concluded("newer");
    let path = case.join("case.toml");
    let manifest = fs::read_to_string(&path).unwrap();
    fs::write(&path, manifest.replace("schema = 1", "schema = 2")).unwrap();
    let output = azimark(&["case", "note", text(&case), "more", "--by", "technician"]);
    assert_eq!(code(&output), 2);
    assert!(said(&output).contains("newer azimark (schema 2"), "{}", said(&output));
    assert!(told(&azimark(&["case", "show", text(&case)])).contains("read only"));
}

/// Names and words from elsewhere stay inert: no file lands outside of the case, nothing steers a terminal.
#[test]
fn hostile_names_and_words_are_inert() {
    let case = opened("hostile");
    let here = case.with_file_name("hostile files");
    let _ = fs::remove_dir_all(&here);
    fs::create_dir_all(&here).unwrap();
    for (i, name) in
        ["=cmd|'x'!A1.csv", "-rf.csv", "\u{1b}[2J<script>.csv", "Gelände 1.csv"].into_iter().enumerate()
    {
        let path = here.join(name);
        fs::write(&path, format!("file {i}")).unwrap();
        done(&["case", "add", text(&case), text(&path), "--by", "<script>\u{1b}[2J"]);
    }
    done(&["case", "note", text(&case), "</script>\u{1b}[31m \u{202e}abc\nnext", "--by", "x"]);
    let names: Vec<String> = files(&case.join("originals"))
        .iter()
        .map(|p| p.file_name().unwrap().to_str().unwrap().to_owned())
        .collect();
    assert!(
        names.iter().all(|n| n.chars().all(|c| c.is_ascii_alphanumeric() || "._-".contains(c))),
        "{names:?}"
    );
    let shown = azimark(&["case", "show", text(&case)]);
    assert!(!String::from_utf8_lossy(&shown.stdout).contains(['\u{1b}', '\u{202e}']), "{}", told(&shown));
    let twice = azimark(&["case", "add", text(&case), text(&here.join("-rf.csv")), "--by", "x"]);
    assert_eq!(code(&twice), 1);
    assert!(said(&twice).contains("the same bytes already"), "{}", said(&twice));
}

/// What does not hold is refused, with what to do.
#[test]
fn what_is_no_case_is_left_alone() {
    let case = opened("refused");
    let other = case.with_file_name("other");
    let _ = fs::remove_dir_all(&other);
    fs::create_dir_all(&other).unwrap();
    fs::write(other.join("letter.txt"), "mine").unwrap();
    let new = |folder: &Path| azimark(&["case", "new", text(folder), "--title", "x", "--by", "y"]);
    assert!(said(&new(&other)).contains("holds letter.txt"));
    assert!(said(&new(&case)).contains("is a case already"));
    assert!(said(&azimark(&["case", "note", text(&other), "x", "--by", "y"])).contains("is no case"));
    assert!(
        said(&azimark(&["case", "conclude", text(&case), "--by", "y"])).contains("no file to locate from")
    );
    assert!(said(&azimark(&["case", "add", text(&case), text(&other), "--by", "y"])).contains("is a folder"));
    let mut log = OpenOptions::new().append(true).open(case.join("log.jsonl")).unwrap();
    log.write_all(b"{}\n").unwrap();
    let refused = azimark(&["case", "note", text(&case), "x", "--by", "y"]);
    assert!(said(&refused).contains("does not agree with itself"), "{}", said(&refused));
    assert_eq!(files(&other), [other.join("letter.txt")]);
}

/// The page of a case: the same bytes twice, wherever it is written; none of a case that was changed.
#[test]
fn a_report_is_made_of_a_case_that_is_whole() {
    let case = concluded("report");
    let (one, two) = (case.with_file_name("one.html"), case.with_file_name("two.html"));
    for page in [&one, &two] {
        done(&["case", "verify", text(&case)]);
        done(&["report", text(&case), "--output", text(page)]);
    }
    let page = fs::read_to_string(&one).unwrap();
    assert_eq!(page, fs::read_to_string(&two).unwrap());
    for words in [
        "Noise on 841.5 MHz",
        "Search 9600 m²",
        "switched off at 14:05",
        "azimark locate bearings.csv",
        "k = 2.45",
    ] {
        assert!(page.contains(words), "{words}");
    }
    let fresh = opened("unconcluded");
    assert!(
        said(&azimark(&["report", text(&fresh), "--output", text(&two)])).contains("no conclusion was drawn")
    );
    writable(&case);
    fs::write(case.join("originals/bearings.csv"), "id\n").unwrap();
    let refused = azimark(&["report", text(&case), "--output", text(&two)]);
    assert_eq!(code(&refused), 2);
    assert!(said(&refused).contains("no report is made of a case that was changed"), "{}", said(&refused));
    assert_eq!(page, fs::read_to_string(&two).unwrap());
}

/// Two weeks of hours of the invented workshop (fixtures/activity) and a week after in which it is off: the floor with a noise that a rule
/// makes.
fn log_with_a_week_after(path: &Path) {
    let before = include_str!("../fixtures/activity/uplink_hourly_14d.csv");
    let mut text = before.to_owned();
    let begin: jiff::Timestamp = "2026-03-16T08:00:00Z".parse().unwrap();
    let mut random = Random::seeded(3);
    for hour in 0..7 * 24 {
        let at = begin + jiff::SignedDuration::from_hours(hour);
        let level = -101.4 + 0.2 * random.normal();
        text += &format!("{at},VC-017-2,{level:.1},\n");
    }
    fs::write(path, text).unwrap();
}

/// Before and after, kept with who agreed; the report tells it, and the form for others without the words of people.
#[test]
fn a_closure_is_kept_and_reported() {
    let case = concluded("closure");
    let log = case.with_file_name("uplink.csv");
    log_with_a_week_after(&log);
    let compare = |more: &[&str]| {
        let mut arguments =
            vec!["closure", text(&log), "--corrected", "2026-03-16 01:00", "--zone", "America/Los_Angeles"];
        arguments.extend_from_slice(more);
        azimark(&arguments)
    };
    let alone = compare(&[]);
    assert_eq!(code(&alone), 0, "{}{}", told(&alone), said(&alone));
    for words in
        ["It has become quieter", "16", "nobody is named", "168 of the 168 hours", "What is left above"]
    {
        assert!(told(&alone).contains(words), "{words}: {}", told(&alone));
    }
    let kept = ["--case", text(&case), "--by", "spectrum manager"];
    // The log is no file of the case yet.
    let refused = compare(&kept);
    assert_eq!(code(&refused), 2);
    assert!(said(&refused).contains("azimark case add"), "{}", said(&refused));
    done(&["case", "add", text(&case), text(&log), "--by", "technician"]);
    done(&[
        "case",
        "note",
        text(&case),
        "No noise since Monday; the neighbour told me",
        "--by",
        "complainant",
    ]);
    let more = ["--agreed", "owner of the device; 2026-03-20; <b>replaced</b>", "--agreed-in", "6"];
    let output = compare(&[&kept[..], &more].concat());
    assert_eq!(code(&output), 0, "{}", said(&output));
    assert!(said(&output).contains("entry 7 is kept"), "{}", said(&output));
    let verified = done(&["case", "verify", text(&case)]);
    assert!(verified.contains("What entries 7 keep beside it comes out again"), "{verified}");
    assert!(done(&["case", "show", text(&case)]).contains("compared before and after, from uplink.csv"));
    let page = case.with_file_name("closure.html");
    done(&["report", text(&case), "--output", text(&page)]);
    let full = fs::read_to_string(&page).unwrap();
    for words in [
        "Before and after",
        "It has become quieter",
        "VC-017-2",
        "the neighbour told me",
        "&lt;b&gt;replaced",
        "complainant",
        "results/0007.json",
    ] {
        assert!(full.contains(words), "{words}");
    }
    done(&["report", text(&case), "--output", text(&page), "--share"]);
    let shared = fs::read_to_string(&page).unwrap();
    assert!(shared.contains("Before and after") && shared.contains("owner of the device"));
    for words in ["VC-017-2", "the neighbour told me", "replaced"] {
        assert!(!shared.contains(words), "{words}");
    }
    let result = case.join("results/0007.json");
    let figures: serde_json::Value = serde_json::from_slice(&fs::read(&result).unwrap()).unwrap();
    assert_eq!(
        (figures["verdict"].as_str(), figures["agreed"][1]["who"].as_str()),
        (Some("quieter"), Some("complainant"))
    );
    writable(&case);
    fs::write(&result, "{}").unwrap();
    assert!(told(&azimark(&["case", "verify", text(&case)])).contains("results/0007.json"));
}

/// When it is on, an antenna turned on the spot and a test of the own system are kept, come out again and stand in the report; in
/// the form for others without receivers, remarks and teams.
#[test]
fn times_swings_and_the_own_system_are_kept_and_reported() {
    let case = concluded("times");
    let (hours, swing) = (case.with_file_name("hours.csv"), case.with_file_name("swing.csv"));
    fs::write(&hours, include_str!("../fixtures/activity/uplink_hourly_14d.csv")).unwrap();
    let headings = [
        (0, -88),
        (30, -80),
        (60, -71),
        (90, -73),
        (120, -83),
        (150, -90),
        (180, -91),
        (240, -89),
        (300, -90),
    ];
    let row = |(heading, level)| format!("gate,46.9558,-118.3585,{heading},{level},2026-03-17,17:10:00\n");
    let head = "stand,lat,lon,heading_magnetic_deg,level_dbm,date,time_utc\n";
    fs::write(&swing, head.to_owned() + &headings.map(row).concat()).unwrap();
    done(&["case", "add", text(&case), text(&hours), text(&swing), "--by", "technician"]);
    let levels = [
        "--on-load",
        "-128.2",
        "--on-antenna",
        "-104",
        "--keyed",
        "-104.2",
        "--bandwidth",
        "12.5kHz",
        "--carrier",
        "851.5MHz",
        "--carrier",
        "861.5MHz",
    ];
    let own = ["case", "own-system", text(&case), "--by", "technician", "--remark", "<i>by the book</i>"];
    assert!(done(&[&own[..], &levels].concat()).starts_with("It comes from outside of the own system"));
    // On a load it is as loud: made within.
    let within = azimark(&[&own[..], &["--on-load", "-104", "--on-antenna", "-104"]].concat());
    assert_eq!(code(&within), 1);
    assert!(told(&within).contains("made behind the antenna"), "{}", told(&within));
    let look = azimark(&[
        "when",
        text(&hours),
        "--case",
        text(&case),
        "--by",
        "technician",
        "--receiver",
        "VC-017-2",
    ]);
    assert_eq!(code(&look), 0, "{}", said(&look));
    // The same log under a name that the case does not know is no other file, and another one is none of the case.
    let other = case.with_file_name("other.csv");
    log_with_a_week_after(&other);
    assert_eq!(code(&azimark(&["when", text(&other), "--case", text(&case), "--by", "x"])), 2);
    done(&["case", "conclude", text(&case), "bearings.csv", "swing.csv", "--by", "spectrum manager"]);
    let verified = done(&["case", "verify", text(&case)]);
    assert!(verified.contains("What entries 9 keep beside it comes out again"), "{verified}");
    let page = case.with_file_name("times.html");
    done(&["report", text(&case), "--output", text(&page)]);
    let full = fs::read_to_string(&page).unwrap();
    for words in [
        "Is it the own system?",
        "It comes from outside of the own system",
        "&lt;i&gt;by the book",
        "2 f1 \u{2212} f2 (order 3, +0.0 kHz)",
        "851.5 MHz, 861.5 MHz",
        "Antennas turned on the spot",
        "front to back",
        "On and off",
        "Its hours repeat from day to day",
        "Share of time on, heard by VC-017-2",
        "When what was observed",
        "First notice to those who may cause it",
    ] {
        assert!(full.contains(words), "{words}");
    }
    done(&["report", text(&case), "--output", text(&page), "--share"]);
    let shared = fs::read_to_string(&page).unwrap();
    assert!(shared.contains("On and off") && shared.contains("It comes from outside"));
    for words in ["VC-017-2", "by the book", "Antennas turned on the spot"] {
        assert!(!shared.contains(words), "{words}");
    }
}

/// What cannot be compared is refused in words, and nothing of it is kept.
#[test]
fn a_closure_that_tells_nothing_is_not_answered() {
    let case = opened("no closure");
    let log = case.with_file_name("uplink2.csv");
    log_with_a_week_after(&log);
    done(&["case", "add", text(&case), text(&log), "--by", "technician"]);
    let at = |corrected: &str| {
        azimark(&["closure", text(&log), "--corrected", corrected, "--case", text(&case), "--by", "x"])
    };
    let late = at("2026-03-22T12:00Z");
    assert_eq!(code(&late), 1);
    assert!(
        told(&late).contains("have only 20 hours of the week in common; 48 are needed. Go on logging until"),
        "{}",
        told(&late)
    );
    assert!(said(&late).contains("nothing is kept"), "{}", said(&late));
    for (corrected, why) in [
        ("2026-03-16", "the time of the day is missing"),
        ("2026-03-16 01:00", "names no zone"),
        ("soon", "no date and time"),
    ] {
        assert_eq!(code(&at(corrected)), 2, "{corrected}");
        assert!(said(&at(corrected)).contains(why), "{}", said(&at(corrected)));
    }
    assert!(!done(&["case", "show", text(&case)]).contains("compared before"));
}

/// The example of a sheet: −77.4 dBm at 841.5 MHz behind 1 dB of cable and an antenna of 9 dBi is 50.3 dBµV/m. By hand, after
/// E = P − G + L + 20 log f + 77.2 (dBm, dBi, dB, MHz; from S = E²/120π Ω and A = Gλ²/4π of Recommendation ITU-R P.525 and the definition of
/// the antenna factor; 77.2 is 20 log(4π · 10⁶ Hz/c · 1 m) + 10 log 30 + 90 rounded): −77.4 − 9 + 1 + 58.5 + 77.2 = 50.3.
#[test]
fn a_field_strength_is_that_of_the_worked_example_and_indicative_without_a_certificate() {
    let plain = [
        "field",
        "--reading",
        "-77.4dBm",
        "--frequency",
        "841.5MHz",
        "--antenna-gain",
        "9",
        "--cable-loss",
        "1",
    ];
    let output = done(&plain);
    assert!(
        output
            .contains("Field strength 50.3 dBµV/m, uncertainty not known, distance not stated – INDICATIVE"),
        "{output}"
    );
    assert!(output.starts_with("*** INDICATIVE"), "{output}");
    // 20 log(9.73/0.35626 m) = 28.73 dB/m less 9 dBi is the factor by hand.
    let factor = done(&[
        "field",
        "--reading",
        "29.6dBuV",
        "--frequency",
        "841.5MHz",
        "--antenna-factor",
        "19.73",
        "--cable-loss",
        "1",
    ]);
    assert!(factor.contains("50.3 dBµV/m"), "{factor}");
    assert_eq!(code(&azimark(&["field", "--reading", "-77.4dBm", "--frequency", "841.5MHz"])), 2);
    assert_eq!(code(&azimark(&["field", "--reading", "-77.4", "--frequency", "841.5MHz"])), 2);
}

const SHEET: [&str; 22] = [
    "--frequency",
    "841.5MHz",
    "--distance",
    "10m",
    "--height",
    "2m",
    "--detector",
    "RMS",
    "--antenna-factor",
    "19.73",
    "--certificate",
    "K-1234, calibration laboratory",
    "--calibrated",
    "2026-01-12",
    "--cable-loss",
    "1",
    "--u-receiver",
    "1.5/k=2",
    "--u-antenna",
    "1.0/k=2",
    "--u-cable",
    "0.2/limits",
];

/// A whole sheet from a table, by hand: five readings −77.4, −77.1, −77.9, −77.6, −77.0 dBm have mean −77.40 and standard deviation
/// √(0.54/4) = 0.367, so 0.164 of the mean with 4 degrees of freedom; 0.75, 0.5, 0.2/√3 = 0.115, mismatch of 0.33 and 0.2:
/// −20 log(1 − 0.066) = 0.593 over √2 = 0.419. u = √(0.0270 + 0.5625 + 0.25 + 0.0133 + 0.1758) = 1.014; U = 2.03; E = 50.32.
#[test]
fn a_sheet_has_its_budget_its_limit_and_its_place_in_the_report() {
    let case = concluded("field");
    let table = case.with_file_name("readings.csv");
    let rows = [-77.4, -77.1, -77.9, -77.6, -77.0];
    let rows: Vec<String> =
        (0..).zip(rows).map(|(i, r)| format!("2026-03-18T17:{i:02}:00Z,{r:.1},200\n")).collect();
    fs::write(&table, format!("time_utc,level_dbm,rbw_khz\n{}", rows.concat())).unwrap();
    let sheet = |more: &[&str]| {
        let mut arguments = vec!["field", text(&table), "--mismatch", "0.33,0.2"];
        arguments.extend(SHEET);
        arguments.extend_from_slice(more);
        azimark(&arguments)
    };
    let json = sheet(&["--format", "json"]);
    assert_eq!(code(&json), 0, "{}", said(&json));
    let figures: serde_json::Value = serde_json::from_slice(&json.stdout).unwrap();
    let number = |name: &str| figures[name].as_f64().unwrap();
    assert!((number("field_dbuv_m") - 50.32).abs() < 0.01, "{figures:#}");
    assert!(
        (number("standard_db") - 1.014).abs() < 1e-3 && (number("expanded_db") - 2.028).abs() < 2e-3,
        "{figures:#}"
    );
    assert_eq!((number("k"), figures["rbw_hz"].as_f64()), (2.0, Some(200_000.0)));
    // ν = 1.014⁴/(0.164⁴/4).
    assert!((number("freedom") / 5_800.0 - 1.0).abs() < 0.02, "{figures:#}");
    assert!(figures["indicative"].as_array().unwrap().is_empty());
    let compared = |limit: &str, rule: &str| told(&sheet(&["--limit", limit, "--rule", rule]));
    assert!(compared("49dBuV/m", "non-binary").contains("NEITHER within nor above"));
    assert!(
        compared("49dBuV/m", "simple")
            .contains("ABOVE the limit: the measured value lies over it by 1.3 dB, less than U")
    );
    assert!(compared("49dBuV/m", "guarded-rejection").contains("NOT SHOWN TO EXCEED"));
    assert!(compared("52dBuV/m", "guarded-acceptance").contains("NOT SHOWN TO BE WITHIN"));
    assert!(compared("46dBuV/m", "non-binary").contains("ABOVE the limit"));
    // Elsewhere only by assumption: 20 log(10/3) = 10.5 dB.
    let at = ["--limit", "60dBuV/m", "--rule", "simple", "--limit-distance", "3m"];
    assert_eq!(code(&sheet(&at)), 2);
    let assumed = told(&sheet(&[&at[..], &["--to", "3m", "--assume", "free-space"]].concat()));
    assert!(assumed.contains("60.8 dBµV/m if the field falls as in free space"), "{assumed}");
    assert!(
        told(&sheet(&["--antenna-size", "1.6m"])).contains("near field: 10 m is less than 2D²/λ = 14.4 m")
    );
    done(&["case", "add", text(&case), text(&table), "--by", "technician"]);
    let kept = sheet(&["--case", text(&case), "--by", "technician"]);
    assert_eq!(code(&kept), 0, "{}", said(&kept));
    done(&["case", "verify", text(&case)]);
    assert!(done(&["case", "show", text(&case)]).contains("50.3 dBµV/m ± 2.0 dB (k = 2) at 10 m"));
    let page = case.with_file_name("field.html");
    done(&["report", text(&case), "--output", text(&page)]);
    let page = fs::read_to_string(&page).unwrap();
    for words in [
        "Field strength",
        "50.3 dBµV/m ± 2.0 dB (k = 2) at 10 m; 2026-03-18T17:00:00Z",
        "K-1234",
        "U-shaped",
        "repeatability",
        "RMS",
    ] {
        assert!(page.contains(words), "{words}");
    }
}

/// The same inputs give the same bytes of JSON and HTML, run after run, with one processor or all of them, alone or beside others.
#[test]
fn the_same_inputs_give_the_same_bytes_however_many_run() {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("bytes");
    fs::create_dir_all(&folder).unwrap();
    // The long form has the levels of a walk too.
    let walk = concat!(env!("CARGO_MANIFEST_DIR"), "/fixtures/demo/walk_log.csv");
    let inputs = if std::env::var_os("AZIMARK_LONG").is_some() { vec![DEMO, walk] } else { vec![DEMO] };
    let run = |name: &str| -> [Vec<u8>; 2] {
        let files = ["json", "html"].map(|ending| folder.join(format!("{name}.{ending}")));
        let written = ["--output", text(&files[0]), "--output", text(&files[1])];
        let output = azimark(&[&["locate"], &inputs[..], &written].concat());
        assert!(code(&output) <= 1, "{}", said(&output));
        files.map(|f| fs::read(f).unwrap())
    };
    let alone = run("alone");
    assert!(alone[0].starts_with(b"{") && alone[1].starts_with(b"<!DOCTYPE html>"));
    let together = thread::scope(|scope| {
        let runs: Vec<_> = (0..3)
            .map(|i| {
                scope.spawn({
                    let run = &run;
                    move || run(&format!("beside {i}"))
                })
            })
            .collect();
        runs.into_iter().map(|r| r.join().unwrap()).collect::<Vec<_>>()
    });
    for other in &together {
        assert!(*other == alone);
    }
    if !cfg!(target_os = "linux") {
        return;
    }
    // Whatever a program asks how many threads it may have, this is the answer on one processor.
    let single = folder.join("single.json");
    let bound = Command::new("taskset")
        .args(["-c", "0", env!("CARGO_BIN_EXE_azimark"), "locate"])
        .args(&inputs)
        .args(["--output", text(&single)])
        .output()
        .expect("taskset runs (Debian: util-linux)");
    assert!(code(&bound) <= 1, "{}", said(&bound));
    assert!(fs::read(&single).unwrap() == alone[0]);
}
/// The same report as PDF: the words of the case in it, the same bytes twice, paper as asked.
#[cfg(feature = "pdf")]
mod printed {
    use azimark::{
        case::{Added, Digest, Entry, Event, Manifest, OwnSystem, SCHEMA},
        check, export,
        ingest::{self, Kind},
        inquiry,
        page::{Content, Form, Made, Paper, Past, pdf},
        solve::{self, Options},
        units::{Db, Dbm, Hertz},
    };

    use super::*;

    /// What a program of poppler or qpdf says of a file.
    fn read_by(program: &str, arguments: &[&str]) -> String {
        let output = Command::new(program).args(arguments).output();
        let output = output.unwrap_or_else(|e| panic!("{program}: {e}: install qpdf and poppler-utils"));
        assert!(output.status.success(), "{program}: {}", said(&output));
        told(&output)
    }

    #[test]
    fn a_report_is_made_as_pdf_with_all_its_words() {
        let case = concluded("printed");
        let (one, two) = (case.with_file_name("printed.pdf"), case.with_file_name("printed as asked"));
        done(&["report", text(&case), "--output", text(&one)]);
        done(&["report", text(&case), "--output", text(&two), "--to", "pdf"]);
        assert!(fs::read(&one).unwrap() == fs::read(&two).unwrap(), "not the same bytes twice");
        read_by("qpdf", &["--check", text(&one)]);
        let words = read_by("pdftotext", &[text(&one), "-"]);
        let notes = ingest::bearings("bearings.csv", &fs::read(DEMO).unwrap(), &ingest::Settings::default());
        let remarks: Vec<&str> =
            notes.rows.iter().map(|r| r.remarks.trim()).filter(|r| !r.is_empty()).collect();
        assert!(remarks.len() >= 4);
        for told in ["Search 9600 m²", "switched off at 14:05", "k = 2.45"].iter().chain(&remarks) {
            assert!(words.contains(told), "{told}: {words}");
        }
        done(&["report", text(&case), "--output", text(&two), "--to", "pdf", "--paper", "letter"]);
        assert!(read_by("pdfinfo", &[text(&two)]).contains("612 x 792 pts (letter)"));
        let other = case.with_file_name("printed.doc");
        let refused = azimark(&["report", text(&case), "--output", text(&other)]);
        assert_eq!(code(&refused), 2);
        assert!(
            said(&refused).contains("end the name in .html or .pdf") && !other.exists(),
            "{}",
            said(&refused)
        );
    }

    /// The example among the maps is what the code makes of the demonstration's bearings, in a case with times of its own.
    #[test]
    fn the_example_report_is_what_the_code_makes() {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("maps/demo-report.pdf");
        let made = example();
        if std::env::var_os("AZIMARK_RENEW").is_some() {
            fs::write(&path, &made).unwrap();
        }
        let renew = "renew it: AZIMARK_RENEW=1 cargo test --test case example, and its picture as maps/SOURCE.md says";
        assert!(fs::read(&path).unwrap_or_default() == made, "{renew}");
    }

    fn example() -> Vec<u8> {
        let bytes = fs::read(DEMO).unwrap();
        let walk = fs::read(DEMO.replace("bearings.csv", "walk_log.csv")).unwrap();
        let of = |kind, name, bytes| inquiry::Document { kind, name, bytes };
        let documents =
            [of(Kind::Bearings, "bearings.csv", &bytes[..]), of(Kind::Levels, "walk_log.csv", &walk)];
        let stated = inquiry::Stated::default();
        let seen = inquiry::seen(&documents, None, &stated);
        let answer = inquiry::answer(seen, &stated, None, Options::default()).unwrap();
        let overturn = solve::overturn(&answer.fit);
        let town = fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("maps/demo-town.geojson")).unwrap();
        let ground = ingest::ground("demo-town.geojson", &town).0;
        let background = export::Background { lines: ground.lines, areas: ground.areas };
        let time = |written: &str| written.parse::<jiff::Timestamp>().unwrap();
        let manifest = Manifest {
            schema: SCHEMA,
            title: "Noise on 841.5 MHz (an invented case)".to_owned(),
            opened: time("2026-03-17T15:10:00Z"),
            by: "spectrum manager".to_owned(),
            victim: Some("input of the repeater on the water tower".to_owned()),
            complaint: Some(
                "carrier in pulses since 16 March; portables are not heard in the south of the town"
                    .to_owned(),
            ),
            frequency_hz: Some(841.5e6),
            licence: None,
            contact: Some("spectrum manager on duty".to_owned()),
            zone: Some("America/Los_Angeles".to_owned()),
        };
        let added = |file: &str, bytes: &[u8]| {
            Event::Added(Added {
                file: file.to_owned(),
                came_as: None,
                bytes: bytes.len() as u64,
                sha256: Digest::of(bytes),
                device: Some("receiver 2 with a hand-held Yagi antenna".to_owned()),
                clock_offset_s: Some(-2.0),
                acquired: Some(time("2026-03-17T18:29:00Z")),
                acquired_by: Some("technician".to_owned()),
                purpose: None,
            })
        };
        let tried = check::OwnTest {
            on_antenna: Dbm::new(-104.0),
            on_load: Some(Dbm::new(-128.2)),
            keyed: Some(Dbm::new(-104.2)),
            second_antenna: None,
            bandwidth: Some(Hertz::new(12.5e3)),
            noise_figure: Some(Db::new(5.0)),
        };
        let tried = Event::OwnSystem(Box::new(OwnSystem {
            on_load_dbm: Some(-128.2),
            on_antenna_dbm: -104.0,
            keyed_dbm: Some(-104.2),
            bandwidth_hz: Some(12.5e3),
            noise_figure_db: Some(5.0),
            off: Some("all, one after the other".to_owned()),
            summary: check::own_system(&tried).1,
            ..OwnSystem::default()
        }));
        let entry = |entry, time, by: &str, event| Entry {
            entry,
            time,
            by: by.to_owned(),
            before: Digest::NONE,
            event,
        };
        let entries = [
            entry(1, time("2026-03-17T15:12:30Z"), "technician", tried),
            entry(2, time("2026-03-17T18:40:05Z"), "technician", added("bearings.csv", &bytes)),
            entry(3, time("2026-03-17T18:40:11Z"), "technician", added("walk_log.csv", &walk)),
        ];
        let content = Content {
            answer: &answer,
            overturn: overturn.as_ref(),
            background: &background,
            made: Made {
                version: env!("CARGO_PKG_VERSION").to_owned(),
                command: "locate bearings.csv walk_log.csv".to_owned(),
                inputs: vec![
                    ("originals/bearings.csv".to_owned(), Digest::of(&bytes)),
                    ("originals/walk_log.csv".to_owned(), Digest::of(&walk)),
                ],
            },
            case: Some(Past { manifest: &manifest, entries: &entries }),
            form: Form::Full,
        };
        let made = pdf(&content, Paper::A4).unwrap();
        assert_eq!(made.unset, [""; 0]);
        made.bytes
    }
}
