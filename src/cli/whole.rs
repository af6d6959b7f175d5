//! Writes that are whole or absent: beside it, down to the disk, then in its place, and the folder's entry down to the disk.

use std::{
    fs::{self, File},
    io::{self, BufRead, Read, Write},
    path::{Path, PathBuf},
};

use crate::{
    case::{Digest, Digester},
    cli::Failure,
    ingest::MAX_BYTES,
};

/// What a file is called while it is being written.
pub fn beside(path: &Path) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(".part");
    name.into()
}

/// Writes a whole file. When this comes back without an error the file outlives the machine's power.
pub fn write(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    put(path, false, |file| file.write_all(bytes)).map_err(|e| failed(path, &e))
}

/// Copies a file and gives its length and hash, which are those of the bytes that were written. The copy cannot be written to.
pub fn copy(from: &Path, to: &Path) -> Result<(u64, Digest), Failure> {
    let mut source = regular(from)?;
    let (mut length, mut digester) = (0u64, Digester::default());
    let copied = put(to, true, |file| {
        let mut piece = vec![0; 1 << 16];
        loop {
            let n = match source.read(&mut piece) {
                Ok(0) => return Ok(()),
                Ok(n) => n,
                Err(e) if e.kind() == io::ErrorKind::Interrupted => continue,
                Err(e) => return Err(e),
            };
            digester.update(&piece[..n]);
            length += n as u64;
            file.write_all(&piece[..n])?;
        }
    });
    copied.map_err(|e| failed(to, &e))?;
    Ok((length, digester.finish()))
}

/// Length and hash of a file.
pub fn digest(path: &Path) -> Result<(u64, Digest), Failure> {
    let mut file = regular(path)?;
    let (mut length, mut digester, mut piece) = (0u64, Digester::default(), vec![0; 1 << 16]);
    loop {
        match file.read(&mut piece) {
            Ok(0) => return Ok((length, digester.finish())),
            Ok(n) => {
                digester.update(&piece[..n]);
                length += n as u64;
            }
            Err(e) if e.kind() == io::ErrorKind::Interrupted => {}
            Err(e) => return Err(format!("{} could not be read: {e}", path.display())),
        }
    }
}

/// Opens a file, nothing else: a pipe or a device could keep its reader waiting for ever.
fn regular(path: &Path) -> Result<File, Failure> {
    let failed = |e: io::Error| format!("{} could not be opened: {e}", path.display());
    let kind = fs::metadata(path).map_err(failed)?;
    if kind.is_dir() {
        return Err(format!("{} is a folder: name the files in it", path.display()));
    }
    if !kind.is_file() {
        return Err(format!("{} is no file that stays as it is: copy it into one first", path.display()));
    }
    File::open(path).map_err(failed)
}

/// Puts what `fill` writes in the place of `path`.
fn put(path: &Path, sealed: bool, fill: impl FnOnce(&mut File) -> io::Result<()>) -> io::Result<()> {
    let part = beside(path);
    let written = (|| {
        match fs::remove_file(&part) {
            Err(e) if e.kind() != io::ErrorKind::NotFound => return Err(e),
            _ => {}
        }
        let mut file = File::create_new(&part)?;
        fill(&mut file)?;
        file.sync_all()?;
        if sealed {
            let mut rights = file.metadata()?.permissions();
            rights.set_readonly(true);
            fs::set_permissions(&part, rights)?;
        }
        fs::rename(&part, path)
    })();
    if written.is_err() {
        let _ = fs::remove_file(&part);
        return written;
    }
    path.parent().map_or(Ok(()), sync_folder)
}

/// Brings the names in a folder down to the disk.
pub fn sync_folder(folder: &Path) -> io::Result<()> {
    // Elsewhere than on Unix a folder cannot be opened as a file, and the file system keeps names by itself.
    if cfg!(unix) { File::open(folder)?.sync_all() } else { Ok(()) }
}

fn failed(path: &Path, error: &io::Error) -> Failure {
    format!(
        "{} could not be written: {error}; nothing was added, the case is as it was before",
        path.display()
    )
}

/// Lines of a text, each with an end to its length.
pub fn lines(mut from: impl BufRead) -> impl Iterator<Item = Result<String, Failure>> {
    std::iter::from_fn(move || {
        let mut line = Vec::new();
        match from.by_ref().take(MAX_BYTES as u64).read_until(b'\n', &mut line) {
            Ok(0) => None,
            Ok(_) => Some(
                String::from_utf8(line).map_err(|_| "standard input: a line that is not UTF-8".to_owned()),
            ),
            Err(e) => Some(Err(format!("standard input: {e}"))),
        }
    })
}
