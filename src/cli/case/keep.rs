//! Keeping in a case what another command computed from its files.

use std::path::{Path, PathBuf};

use crate::{
    case::{Agreed, Concluded, Digest, Entry, Event, Kept, Manifest, ORIGINALS, RESULTS, verify},
    cli::{
        Failure,
        case::{
            folder::{Writing, found},
            now,
            replay::{figures, stored},
        },
        whole,
    },
};

/// Computes the figures of the command that runs once more from the case's own files, writes them into the case and appends the
/// entry that names them. The files that it reads must be in the case: the same bytes, under whatever name.
///
/// # Errors
/// Where they are not, the command cannot be given again, or the case cannot be written to.
pub fn keep(
    folder: &Path,
    by: &str,
    inputs: &[PathBuf],
    event: impl FnOnce(Kept) -> Event,
) -> Result<Entry, Failure> {
    let (_, entries) = about(folder)?;
    let mut named: Vec<(String, Digest)> = Vec::new();
    let mut paths: Vec<(PathBuf, String)> = Vec::new();
    for path in inputs {
        let (_, sha256) = whole::digest(path)?;
        let file = entries.iter().find_map(|e| match &e.event {
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
        paths.push((path.clone(), file.clone()));
        named.push((file, sha256));
    }
    let command = stored(std::env::args_os().skip(1), &paths)
        .ok_or("an option is no Unicode, so nothing is kept: write it otherwise")?;
    let result = figures(folder, &command)?.ok_or("nothing is kept: there are no figures")?;
    let mut case = Writing::begin(folder)?;
    for (file, sha256) in &named {
        if whole::digest(&case.at(ORIGINALS, file))?.1 != *sha256 {
            return Err(format!(
                "{ORIGINALS}/{file} is not the file that was added: see azimark case verify {}",
                folder.display()
            ));
        }
    }
    let name = case.free_result();
    whole::write(&case.at(RESULTS, &name), result.as_bytes())?;
    let kept = Kept {
        version: env!("CARGO_PKG_VERSION").to_owned(),
        command: Some(command),
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
