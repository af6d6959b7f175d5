//! What other commands computed from files of a case, computed again.

use std::{
    env,
    ffi::{OsStr, OsString},
    fs,
    path::{Path, PathBuf},
};

use clap::Parser;

use crate::{
    case::{Digest, Kept, ORIGINALS, plain},
    cli::{Arguments, Command, Failure},
};

/// Options that say where the answer goes, and not what it is; each takes a value.
const WHERE_TO: [&str; 5] = ["--case", "--by", "--output", "-o", "--format"];

/// A command as it was typed, after the name of the program, without the case it is kept in, and with the names of the case's
/// files in the place of `paths`. `None` where something in it is no Unicode.
pub fn stored(typed: impl Iterator<Item = OsString>, paths: &[(PathBuf, String)]) -> Option<Vec<String>> {
    let mut out = Vec::new();
    let mut typed = typed.peekable();
    while let Some(word) = typed.next() {
        let text = word.to_str();
        if text.is_some_and(|t| WHERE_TO.contains(&t)) {
            typed.next();
            continue;
        }
        let joined =
            |t: &str| WHERE_TO.iter().any(|o| t.strip_prefix(o).is_some_and(|rest| rest.starts_with('=')));
        if text.is_some_and(|t| joined(t) || (t.starts_with("-o") && t.len() > 2)) {
            continue;
        }
        out.push(named(&word, paths)?);
    }
    Some(out)
}

/// A word with the name of the case's file where it is a path, alone or after an equals sign.
fn named(word: &OsStr, paths: &[(PathBuf, String)]) -> Option<String> {
    let name = |path: &OsStr| paths.iter().find(|(p, _)| p.as_os_str() == path).map(|(_, name)| name.clone());
    if let Some(name) = name(word) {
        return Some(name);
    }
    let text = word.to_str()?;
    let split = text.split_once('=').filter(|(option, _)| option.starts_with("--"));
    Some(match split.and_then(|(option, value)| Some((option, name(OsStr::new(value))?))) {
        Some((option, name)) => format!("{option}={name}"),
        None => text.to_owned(),
    })
}

/// Computes within the folder of originals, so that answers name files alike wherever the case lies.
pub fn in_originals<T>(folder: &Path, compute: impl FnOnce() -> Result<T, Failure>) -> Result<T, Failure> {
    let before = env::current_dir().map_err(|e| format!("the folder it runs in cannot be told: {e}"))?;
    let enter = |to: &Path| env::set_current_dir(to).map_err(|e| format!("{}: {e}", to.display()));
    enter(&folder.join(ORIGINALS))?;
    let computed = compute();
    enter(&before)?;
    computed
}

/// Whether a kept result comes out again, to the last byte.
///
/// # Errors
/// In a sentence, where it cannot be tried.
pub fn comes_out_again(folder: &Path, kept: &Kept) -> Result<bool, Failure> {
    let command = kept.command.as_ref().ok_or("the entry does not say with which options it was computed")?;
    if kept.version != env!("CARGO_PKG_VERSION") {
        return Err(format!("it is of version {}, this is {}", kept.version, env!("CARGO_PKG_VERSION")));
    }
    Ok(figures(folder, command)?.is_some_and(|f| Digest::of(f.as_bytes()) == kept.result_sha256))
}

/// The figures that a stored command gives.
///
/// # Errors
/// Where it is no such command, names anything but files of the case, or cannot run.
pub fn figures(folder: &Path, command: &[String]) -> Result<Option<String>, Failure> {
    let case = fs::canonicalize(folder).map_err(|e| format!("{}: {e}", folder.display()))?;
    let mut line: Vec<OsString> = vec!["azimark".into()];
    line.extend(command.iter().map(OsString::from));
    if command.first().is_some_and(|name| name != "field") {
        // The case tells the zone, and its notes who agreed.
        line.extend(["--case".into(), case.into_os_string(), "--by".into(), "verification".into()]);
    }
    let command = Arguments::try_parse_from(line).map_err(|e| e.to_string())?.command;
    let named: Vec<&PathBuf> = match &command {
        Command::Closure(c) => c.named().collect(),
        Command::When(c) => c.named().collect(),
        Command::Field(c) => c.named().collect(),
        other => return Err(format!("{other:?} keeps nothing")),
    };
    if let Some(path) = named.iter().find(|p| p.to_str().is_none_or(|name| !plain(name))) {
        return Err(format!("{} is no name of a file of the case", path.display()));
    }
    in_originals(folder, || match &command {
        Command::Closure(c) => c.figures(),
        Command::When(c) => c.figures(),
        Command::Field(c) => c.figures(),
        _ => Ok(None),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_command_is_stored_with_names_of_the_case_and_without_where_it_goes() {
        let typed = [
            "when",
            "logs/a.csv",
            "--zone",
            "UTC",
            "--case",
            "harbour",
            "--by=technician",
            "--switched=../s.csv",
            "-ox.svg",
            "--output",
            "y.json",
        ];
        let paths = [("logs/a.csv".into(), "a.csv".to_owned()), ("../s.csv".into(), "s 2.csv".to_owned())];
        let stored = stored(typed.iter().map(OsString::from), &paths);
        let expected = ["when", "a.csv", "--zone", "UTC", "--switched=s 2.csv"].map(str::to_owned);
        assert_eq!(stored.as_deref(), Some(&expected[..]));
    }
}
