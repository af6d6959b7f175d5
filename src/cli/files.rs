//! Files in and out. Nothing is overwritten that holds something else, and no file is read without a bound.

use std::{
    fs::File,
    io::{self, Read, Write},
    path::Path,
};

use crate::{cli::Failure, ingest::MAX_BYTES};

/// The first bytes of a file, at most one more than a reader accepts; `-` is standard input. The name is for findings.
pub fn read(path: &Path) -> Result<(String, Vec<u8>), Failure> {
    read_most(path, MAX_BYTES)
}

/// The first bytes of a file, at most one more than `most`.
pub fn read_most(path: &Path, most: usize) -> Result<(String, Vec<u8>), Failure> {
    let mut bytes = Vec::new();
    let most = most as u64 + 1;
    if path.as_os_str() == "-" {
        io::stdin().lock().take(most).read_to_end(&mut bytes).map_err(|e| format!("standard input: {e}"))?;
        return Ok(("standard input".to_owned(), bytes));
    }
    let name = path.display().to_string();
    if path.is_dir() {
        return Err(format!("{name} is a folder: name the files in it"));
    }
    let file = File::open(path).map_err(|e| format!("{name} could not be opened: {e}"))?;
    file.take(most).read_to_end(&mut bytes).map_err(|e| format!("{name} could not be read: {e}"))?;
    Ok((name, bytes))
}

/// Writes a whole file: first beside it, then in its place, so that a full disk leaves the old one as it was.
pub fn write(path: &Path, text: &str) -> Result<(), Failure> {
    write_bytes(path, text.as_bytes())
}

/// Writes a whole file of bytes, as [`write`] does.
pub fn write_bytes(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    let failed = |e: io::Error| format!("{} could not be written: {e}", path.display());
    let mut beside = path.as_os_str().to_owned();
    beside.push(".part");
    let written = std::fs::write(&beside, bytes).and_then(|()| std::fs::rename(&beside, path));
    if written.is_err() {
        let _ = std::fs::remove_file(&beside);
    }
    written.map_err(failed)
}

/// Fails where one of the files to write is one to read, under whatever name it is reached: notes are never overwritten.
pub fn keep_inputs(outputs: &[&Path], inputs: &[&Path]) -> Result<(), Failure> {
    let same = |a: &Path, b: &Path| {
        a == b || a.canonicalize().ok().is_some_and(|x| b.canonicalize().ok() == Some(x))
    };
    match outputs.iter().find(|o| inputs.iter().any(|i| same(o, i))) {
        Some(path) => {
            Err(format!("{} is one of the files to read: name another file for the answer", path.display()))
        }
        None => Ok(()),
    }
}

/// Prints data. A reader that has closed its end has seen enough: that is no failure.
pub fn print(text: &str) -> Result<(), Failure> {
    let mut out = io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(e) if e.kind() != io::ErrorKind::BrokenPipe => Err(format!("standard output: {e}")),
        _ => Ok(()),
    }
}
