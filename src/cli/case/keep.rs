//! Keeping in a case what another command computed from its files.

use std::path::{Path, PathBuf};

use crate::{
    case::{Agreed, Concluded, Digest, Entry, Event, Kept, Manifest, ORIGINALS, RESULTS, verify},
    cli::{
        Failure,
        case::{
            folder::{Writing, found},
            now,
        },
        whole,
    },
};

/// Writes a result into a case and appends the entry that names it. The files that it was computed from must be in the case: the same
/// bytes, under whatever name.
///
/// # Errors
/// Where they are not, or the case cannot be written to.
pub fn keep(
    folder: &Path,
    by: &str,
    inputs: &[PathBuf],
    result: &str,
    event: impl FnOnce(Kept) -> Event,
) -> Result<Entry, Failure> {
    let mut case = Writing::begin(folder)?;
    let mut named: Vec<(String, Digest)> = Vec::new();
    for path in inputs {
        let (_, sha256) = whole::digest(path)?;
        let file = case.entries().iter().find_map(|e| match &e.event {
            Event::Added(a) if a.sha256 == sha256 => Some(a.file.clone()),
            _ => None,
        });
        let file = file.ok_or_else(|| {
            format!(
                "{0} is not in the case, so nothing is kept: azimark case add {1} {0} --by ROLE copies it in",
                path.display(),
                folder.display()
            )
        })?;
        match whole::digest(&case.at(ORIGINALS, &file))? {
            (_, there) if there == sha256 => named.push((file, sha256)),
            _ => {
                return Err(format!(
                    "{ORIGINALS}/{file} is not the file that was added: see azimark case verify {}",
                    folder.display()
                ));
            }
        }
    }
    let name = case.free_result();
    whole::write(&case.at(RESULTS, &name), result.as_bytes())?;
    let kept = Kept {
        version: env!("CARGO_PKG_VERSION").to_owned(),
        read: named.iter().map(|n| n.0.clone()).collect(),
        inputs_sha256: Concluded::digest_of_inputs(&named),
        result: name,
        result_sha256: Digest::of(result.as_bytes()),
    };
    case.append(now(), by, event(kept))
}

/// What a case is about, and its entries.
///
/// # Errors
/// Where there is no case, or its `case.toml` cannot be read.
pub fn about(folder: &Path) -> Result<(Manifest, Vec<Entry>), Failure> {
    let found = found(folder)?;
    let manifest = found.manifest.as_deref().map(Manifest::read);
    let Some(Ok(manifest)) = manifest else {
        return Err(format!("{}: case.toml cannot be read", folder.display()));
    };
    Ok((manifest, verify(&found).entries))
}

/// Who agreed, by the note of an entry.
///
/// # Errors
/// Where there is no such entry, or it is no note.
pub fn noted(entries: &[Entry], number: u64) -> Result<Agreed, Failure> {
    match entries.iter().find(|e| e.entry == number).map(|e| (e, &e.event)) {
        Some((entry, Event::Note { text })) => Ok(Agreed {
            who: entry.by.clone(),
            when: Some(entry.time.to_string()),
            remark: Some(text.clone()),
        }),
        Some(_) => Err(format!("entry {number} is no note: name the note of whoever agreed")),
        None => Err(format!("the case has no entry {number}: azimark case show tells them")),
    }
}
