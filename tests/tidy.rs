//! Tidiness is a test: layers, outside crates, file sizes, sources of fixtures, and what the project does not say.

use std::{
    collections::BTreeMap,
    fs,
    path::{Path, PathBuf},
};

/// Modules by layer. A module uses only modules of lower ranks; those of one rank do not know each other.
const RANKS: [(&str, u8); 26] = [
    ("units", 0),
    ("finding", 0),
    ("instant", 0),
    ("numeric", 0),
    ("sources", 0),
    ("geodesy", 1),
    ("radio", 1),
    ("observe", 2),
    ("case", 3),
    ("ingest", 3),
    ("north", 3),
    ("simulate", 3),
    ("check", 4),
    ("activity", 4),
    ("streets", 4),
    ("solve", 5),
    ("region", 6),
    ("safety", 7),
    ("divide", 7),
    ("plan", 7),
    ("report", 8),
    ("export", 9),
    ("inquiry", 9),
    ("page", 10),
    ("trial", 10),
    ("live", 11),
];

/// The command line may use everything.
const TOP: &str = "cli";

/// Uses within one rank that are meant: every module may name a source, and `units` is what all others speak.
const BASE: [&str; 4] = ["units", "finding", "sources", "numeric"];

/// Outside crates and the modules that may import them.
const CRATES: [(&str, &[&str]); 26] = [
    ("pulp", &["solve"]),
    ("nalgebra", &["solve", "numeric"]),
    ("statrs", &["numeric"]),
    ("libm", &["numeric"]),
    ("geographiclib_rs", &["geodesy"]),
    ("proj", &["geodesy"]),
    ("world_magnetic_model", &["north"]),
    ("geo", &["export"]),
    ("geojson", &["ingest", "export"]),
    ("serde", &["export", "case", "trial", "live"]),
    ("serde_json", &["export", "ingest", "geodesy", "simulate", "case", "trial", "live", "cli"]),
    ("csv", &["ingest", "export"]),
    ("flate2", &["ingest"]),
    ("quick_xml", &["ingest", "page", "export"]),
    ("encoding_rs", &["ingest"]),
    (
        "jiff",
        &[
            "activity", "case", "export", "page", "instant", "observe", "ingest", "live", "north", "report",
            "simulate", "cli",
        ],
    ),
    ("clap", &["cli"]),
    ("clap_complete", &["cli"]),
    ("clap_mangen", &["cli"]),
    ("libsqlite3_sys", &[]),
    ("sha2", &["case"]),
    ("toml", &["case"]),
    ("rusqlite", &["export"]),
    ("krilla", &["page"]),
    ("skrifa", &["page"]),
    ("dejavu", &["page"]),
];

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn files_below(folder: &Path, ending: &str, out: &mut Vec<PathBuf>) {
    let mut entries: Vec<PathBuf> = fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()).collect();
    entries.sort();
    for path in entries {
        if path.is_dir() {
            files_below(&path, ending, out);
        } else if path.extension().is_some_and(|e| e == ending) {
            out.push(path);
        }
    }
}

/// Source files by module, with the tests at their end and all comments cut off.
fn sources() -> Vec<(String, PathBuf, String)> {
    let mut paths = Vec::new();
    files_below(&root().join("src"), "rs", &mut paths);
    let mut out = Vec::new();
    for path in paths {
        let relative = path.strip_prefix(root().join("src")).unwrap();
        let first = relative.components().next().unwrap().as_os_str().to_str().unwrap();
        let module = first.trim_end_matches(".rs").to_owned();
        let text = fs::read_to_string(&path).unwrap();
        let text = text.split("#[cfg(test)]").next().unwrap_or("").to_owned();
        let code: Vec<&str> = text.lines().filter(|l| !l.trim_start().starts_with("//")).collect();
        out.push((module, path, code.join("\n")));
    }
    assert!(out.len() > 40, "the walk over the sources found only {} files", out.len());
    out
}

fn rank(module: &str) -> Option<u8> {
    RANKS.iter().find(|(name, _)| *name == module).map(|(_, rank)| *rank)
}

/// Modules of this crate that a text names, in paths and in nested `use` lists.
fn named(code: &str) -> Vec<String> {
    let mut out = Vec::new();
    let flat = code.replace('\n', " ");
    for (at, _) in flat.match_indices("crate::") {
        let rest = &flat[at + 7..];
        if let Some(list) = rest.strip_prefix('{') {
            let mut depth = 0;
            for part in list.split_inclusive([',', '{', '}']) {
                let word: String =
                    part.trim().chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
                if depth == 0 && !word.is_empty() {
                    out.push(word);
                }
                match part.chars().last() {
                    Some('{') => depth += 1,
                    Some('}') if depth == 0 => break,
                    Some('}') => depth -= 1,
                    _ => {}
                }
            }
        } else {
            out.push(rest.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect());
        }
    }
    out
}

#[test]
fn data_flows_one_way_through_the_layers() {
    let mut wrong = Vec::new();
    for (module, path, code) in sources() {
        if module == TOP || module == "lib" || module == "main" {
            continue;
        }
        let own = rank(&module).unwrap_or_else(|| panic!("{module} has no rank"));
        for other in named(&code) {
            let Some(theirs) = rank(&other) else {
                assert!(other == TOP || !other.is_empty(), "{}: {other}", path.display());
                wrong.push(format!("{}: uses {other}", path.display()));
                continue;
            };
            if other != module && theirs >= own && !(own == 0 && BASE.contains(&other.as_str())) {
                wrong.push(format!("{}: {module} uses {other}", path.display()));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_reader_of_module_names_sees_nested_lists() {
    let code =
        "use crate::{\n    geodesy::{Place, course},\n    units::Angle,\n};\nlet x = crate::solve::fit();";
    assert_eq!(named(code), ["geodesy", "units", "solve"]);
}

#[test]
fn each_outside_crate_is_imported_in_its_own_place() {
    let manifest = fs::read_to_string(root().join("Cargo.toml")).unwrap();
    let section = |name: &str| manifest.split(name).nth(1).unwrap().split("\n[").next().unwrap();
    let native = section("[target.'cfg(not(target_family = \"wasm\"))'.dependencies]");
    for line in section("[dependencies]")
        .lines()
        .chain(native.lines())
        .filter(|l| l.contains('=') && !l.trim_start().starts_with('#'))
    {
        let name = line.split('=').next().unwrap().trim().replace('-', "_");
        assert!(CRATES.iter().any(|(c, _)| *c == name), "{name} has no place in this table");
    }
    for (module, path, code) in sources() {
        for (name, places) in CRATES {
            let used = code.lines().any(|l| {
                l.match_indices(&format!("{name}::"))
                    .any(|(at, _)| !l[..at].ends_with(|c: char| c.is_alphanumeric() || c == '_' || c == ':'))
            });
            assert!(
                !used || places.contains(&module.as_str()),
                "{}: {name} does not belong here",
                path.display()
            );
        }
    }
}

#[test]
fn files_stay_small() {
    let mut lengths: Vec<usize> = Vec::new();
    for (_, path, code) in sources() {
        let length = code.lines().count();
        assert!(length <= 700, "{} has {length} lines", path.display());
        lengths.push(length);
    }
    lengths.sort_unstable();
    let median = lengths[lengths.len() / 2];
    assert!(median <= 200, "the median file has {median} lines");
}

#[test]
fn every_folder_of_figures_names_its_sources() {
    for entry in fs::read_dir(root().join("fixtures")).unwrap() {
        let folder = entry.unwrap().path();
        let told = fs::read_to_string(folder.join("SOURCE.md")).unwrap_or_default();
        for file in fs::read_dir(&folder).unwrap() {
            let name = file.unwrap().file_name().into_string().unwrap();
            assert!(
                name == "SOURCE.md" || told.contains(&name),
                "{}: {name} has no source",
                folder.display()
            );
        }
    }
}

/// Nothing claims a place for certain, calls anything safe, or names a machine.
#[test]
fn words_that_the_project_does_not_use() {
    let mut paths = Vec::new();
    files_below(&root().join("src"), "rs", &mut paths);
    paths.extend(["README.md", "DEVELOPERS.md"].map(|p| root().join(p)));
    let banned: BTreeMap<&str, &str> = BTreeMap::from([
        ("is safe", "nothing is called safe"),
        ("safe distance", "nothing is called safe"),
        ("the source is at", "no place is claimed"),
        ("the emitter is at", "no place is claimed"),
        ("/home/", "no machine paths"),
        (concat!("/ro", "ot/"), "no machine paths"),
        (concat!("to", "do!("), "no unfinished code"),
        (concat!("#[ig", "nore"), "no test is skipped"),
    ]);
    for path in paths {
        let text = fs::read_to_string(&path).unwrap().to_lowercase();
        for (words, why) in &banned {
            assert!(!text.contains(words), "{}: \"{words}\": {why}", path.display());
        }
    }
}
