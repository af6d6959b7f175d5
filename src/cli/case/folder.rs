//! The folder of a case: locked, read, written.

use std::{
    collections::BTreeMap,
    fs::{self, File, OpenOptions, TryLockError},
    io,
    path::{Path, PathBuf},
    thread,
    time::{Duration, Instant},
};

use jiff::Timestamp;

use crate::{
    case::{
        Chain, Digest, Entry, Event, Found, FoundFile, LOG, MANIFEST, Manifest, ORIGINALS, RESULTS, SCHEMA,
        schema_of,
    },
    cli::{Failure, files, whole},
    ingest::MAX_BYTES,
};

/// The file that processes lock; it is empty.
const LOCK: &str = "lock";
/// How long to wait for another process.
const PATIENCE: Duration = Duration::from_secs(20);

/// A case that nobody else writes to meanwhile.
pub struct Writing {
    folder: PathBuf,
    chain: Chain,
    _lock: File,
}

impl Writing {
    /// Opens a case in a folder that is new, empty, or holds an opening that was broken off.
    pub fn open_new(folder: &Path, manifest: &Manifest) -> Result<Entry, Failure> {
        let failed = |e: io::Error| format!("{} could not be made: {e}", folder.display());
        fs::create_dir_all(folder).map_err(failed)?;
        if let Some(other) = stranger(folder).map_err(failed)? {
            return Err(match other.as_str() {
                LOG => format!("{} is a case already: azimark case show tells which", folder.display()),
                _ => format!("{} holds {other}: name a new folder for the case", folder.display()),
            });
        }
        let lock = locked(folder, true)?;
        // Another process may have opened it while this one waited.
        if folder.join(LOG).exists() {
            return Err(format!("{} is a case already: azimark case show tells which", folder.display()));
        }
        for part in [ORIGINALS, RESULTS] {
            fs::create_dir_all(folder.join(part)).map_err(failed)?;
        }
        let text = manifest.text();
        whole::write(&folder.join(MANIFEST), text.as_bytes())?;
        let mut writing = Self { folder: folder.to_owned(), chain: Chain::default(), _lock: lock };
        let opened = Event::Opened { case_sha256: Digest::of(text.as_bytes()) };
        let entry = writing.append(manifest.opened, &manifest.by, opened)?;
        let above = folder.canonicalize().ok().and_then(|f| f.parent().map(Path::to_owned));
        above.map_or(Ok(()), |above| whole::sync_folder(&above)).map_err(failed)?;
        Ok(entry)
    }

    /// Locks a case and reads its log. A case of a newer schema, or one whose log does not agree with itself, is not written to.
    pub fn begin(folder: &Path) -> Result<Self, Failure> {
        is_case(folder)?;
        let lock = locked(folder, true)?;
        let name = folder.display();
        if let Some(schema) = schema(folder)?.filter(|s| *s > SCHEMA) {
            return Err(format!(
                "{name} was written by a newer azimark (schema {schema}, this one knows {SCHEMA}): it can be read here, not \
                 written to"
            ));
        }
        let chain = Chain::read(&bounded(&folder.join(LOG))?).map_err(|fault| {
            format!(
                "{}: {}; nothing is added to a log that does not agree with itself: see azimark case verify {name}",
                folder.join(LOG).display(),
                fault.message
            )
        })?;
        Ok(Self { folder: folder.to_owned(), chain, _lock: lock })
    }

    /// Keeps an entry. When this comes back without an error it is on the disk.
    pub fn append(&mut self, time: Timestamp, by: &str, event: Event) -> Result<Entry, Failure> {
        let mut longer = self.chain.clone();
        let entry = longer.append(time, by, event);
        let text = longer.text();
        if text.len() > MAX_BYTES {
            return Err(format!("the log would be longer than {} MiB: open another case", MAX_BYTES >> 20));
        }
        whole::write(&self.folder.join(LOG), text.as_bytes())?;
        self.chain = longer;
        Ok(entry)
    }

    /// The entries so far.
    pub fn entries(&self) -> &[Entry] {
        self.chain.entries()
    }

    /// A name among the results that nothing has, after the number of the entry to come.
    pub fn free_result(&self) -> String {
        let number = self.entries().len() + 1;
        (1..)
            .map(|n| if n == 1 { format!("{number:04}.json") } else { format!("{number:04}-{n}.json") })
            .find(|name| self.at(RESULTS, name).symlink_metadata().is_err())
            .unwrap_or_default()
    }

    /// Path of a thing in the folder.
    pub fn at(&self, part: &str, name: &str) -> PathBuf {
        self.folder.join(part).join(name)
    }
}

/// Something in the folder that an opening that was broken off does not leave.
fn stranger(folder: &Path) -> io::Result<Option<String>> {
    let ours = [LOCK, MANIFEST, ORIGINALS, RESULTS];
    for entry in fs::read_dir(folder)? {
        let name = entry?.file_name().to_string_lossy().into_owned();
        if !ours.contains(&name.trim_end_matches(".part")) && name != format!("{LOG}.part") {
            return Ok(Some(name));
        }
    }
    Ok(None)
}

/// Fails where the folder holds no case, so that no lock is left in a folder that has nothing to do with one.
fn is_case(folder: &Path) -> Result<(), Failure> {
    if folder.join(LOG).is_file() || folder.join(MANIFEST).is_file() {
        return Ok(());
    }
    Err(format!("{} is no case: azimark case new opens one", folder.display()))
}

/// Takes the lock, alone or with other readers; waits for others, and says so.
fn locked(folder: &Path, alone: bool) -> Result<File, Failure> {
    let path = folder.join(LOCK);
    let failed = |e: &dyn std::fmt::Display| format!("{} could not be locked: {e}", path.display());
    let file = match alone {
        true => OpenOptions::new().create(true).truncate(false).write(true).open(&path),
        false => File::open(&path),
    };
    let file = file.map_err(|e| failed(&e))?;
    let (begin, mut told) = (Instant::now(), false);
    loop {
        match if alone { file.try_lock() } else { file.try_lock_shared() } {
            Ok(()) => return Ok(file),
            Err(TryLockError::Error(e)) => return Err(failed(&e)),
            Err(TryLockError::WouldBlock) if begin.elapsed() > PATIENCE => {
                return Err(format!(
                    "another azimark has been writing to {} for {} s: wait until it has ended, then try again",
                    folder.display(),
                    PATIENCE.as_secs()
                ));
            }
            Err(TryLockError::WouldBlock) => {}
        }
        if !told && begin.elapsed() > Duration::from_secs(1) {
            eprintln!("waiting: another azimark is writing to {}", folder.display());
            told = true;
        }
        thread::sleep(Duration::from_millis(2));
    }
}

/// A file of the case's own, read with a bound.
fn bounded(path: &Path) -> Result<Vec<u8>, Failure> {
    let (name, bytes) = files::read(path)?;
    if bytes.len() > MAX_BYTES {
        return Err(format!(
            "{name} is longer than {} MiB: azimark does not write such a file",
            MAX_BYTES >> 20
        ));
    }
    Ok(bytes)
}

fn schema(folder: &Path) -> Result<Option<u32>, Failure> {
    let path = folder.join(MANIFEST);
    Ok(if path.is_file() { schema_of(&bounded(&path)?) } else { None })
}

/// Everything that lies in the folder, with nobody writing meanwhile. Links are not followed.
pub fn found(folder: &Path) -> Result<Found, Failure> {
    is_case(folder)?;
    // A case on a medium that cannot be written to may have come without its lock: nobody writes to it then.
    let _lock = if folder.join(LOCK).is_file() { Some(locked(folder, false)?) } else { None };
    let own = |name: &str| -> Result<Option<Vec<u8>>, Failure> {
        let path = folder.join(name);
        if plain_file(&path) { bounded(&path).map(Some) } else { Ok(None) }
    };
    let mut listed = BTreeMap::new();
    for part in [ORIGINALS, RESULTS] {
        let below = folder.join(part);
        if !below.is_dir() {
            continue;
        }
        let failed = |e: io::Error| format!("{} could not be read: {e}", below.display());
        for entry in fs::read_dir(&below).map_err(failed)? {
            let path = entry.map_err(failed)?.path();
            let name = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
            let what = if plain_file(&path) {
                let (bytes, sha256) = whole::digest(&path)?;
                FoundFile::File { bytes, sha256 }
            } else {
                FoundFile::Other
            };
            listed.insert(format!("{part}/{name}"), what);
        }
    }
    Ok(Found { manifest: own(MANIFEST)?, log: own(LOG)?, files: listed })
}

/// Whether this is a file itself, not a link to one.
fn plain_file(path: &Path) -> bool {
    fs::symlink_metadata(path).is_ok_and(|m| m.is_file())
}

/// Tells that a newer program wrote the case, where one did.
pub fn newer(found: &Found) -> Option<String> {
    let schema = found.manifest.as_deref().and_then(schema_of).filter(|s| *s > SCHEMA)?;
    Some(format!(
        "written by a newer azimark (schema {schema}, this one knows {SCHEMA}): read only, and what it does not know is left out"
    ))
}
