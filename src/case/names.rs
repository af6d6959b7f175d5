//! Names of files within a case.

/// Longest name, bytes.
const LONGEST: usize = 100;

/// Whether a name lies within its folder on every system: letters, digits, `.`, `-`, `_`, not `.` first, 100 bytes at most.
pub fn plain(name: &str) -> bool {
    let allowed = |c: char| c.is_ascii_alphanumeric() || matches!(c, '.' | '-' | '_');
    !name.is_empty() && name.len() <= LONGEST && !name.starts_with(['.', '-']) && name.chars().all(allowed)
}

/// The `count`th plain name for a file that came as `name`: what is not allowed becomes `_`, a count above 1 stands before the
/// ending, and a name that is too long loses its middle.
pub fn another(name: &str, count: usize) -> String {
    let allowed = |c: char| if plain(&format!("a{c}")) { c } else { '_' };
    let clean: String = name.chars().map(allowed).collect();
    let clean = clean.trim_start_matches(['.', '-']);
    let (stem, ending) = match clean.rsplit_once('.') {
        Some((stem, ending)) if !stem.is_empty() && ending.len() <= 10 => (stem, format!(".{ending}")),
        _ => (clean, String::new()),
    };
    let number = if count > 1 { format!("-{count}") } else { String::new() };
    let room = LONGEST - number.len() - ending.len();
    let stem = if stem.is_empty() { "file" } else { &stem[..stem.len().min(room)] };
    format!("{stem}{number}{ending}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_name_leaves_the_folder() {
        let long = "x".repeat(10_000_000) + ".csv";
        for name in [
            "walk.csv",
            "../../etc/passwd",
            "..",
            "",
            "a/b",
            "-rf",
            "=cmd|'x'!A1.csv",
            "Gelände.csv",
            "\u{1b}[2J",
            &long,
            "a.b.c.",
            ".csv",
        ] {
            for count in [1, 2, 1000] {
                let made = another(name, count);
                assert!(plain(&made), "{made}");
            }
            assert!(
                plain(name) == (name == "walk.csv" || name == "a.b.c."),
                "{}",
                &name[..name.len().min(40)]
            );
        }
    }

    #[test]
    fn a_plain_name_stays_and_a_second_is_numbered() {
        assert_eq!(another("walk_log.csv", 1), "walk_log.csv");
        assert_eq!(another("walk_log.csv", 2), "walk_log-2.csv");
        assert_eq!(another("Gelände 1.csv", 1), "Gel_nde_1.csv");
    }
}
