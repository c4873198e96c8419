//! Records on disk: one folder a run, its journal, its lock, and the sources that digests name.

use super::error::CliError;
use crate::model::diagnostic::Diagnostic;
use crate::model::event::{Entry, Event, FORMAT, SourceKind, SourceRef};
use crate::model::stamp::Stamp;
use crate::run::journal::{Durability, Journal};
use fs_err::File;
use sha2::{Digest, Sha256};
use std::io::{Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};

/// The folder that records lie in.
#[derive(Clone, Debug)]
pub struct Store {
    folder: PathBuf,
}

/// SHA-256 in hexadecimal.
pub fn digest(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// One run's folder, held against other processes while it lives.
pub struct RunFolder {
    /// Its name.
    pub name: String,
    path: PathBuf,
    _lock: Option<File>,
}

/// A journal read back.
pub struct ReadBack {
    /// Its entries.
    pub entries: Vec<Entry>,
    /// How many bytes the torn last line had.
    pub torn: usize,
    /// Its whole lines.
    whole: Vec<u8>,
}

impl ReadBack {
    /// SHA-256 of the whole lines.
    pub fn sha256(&self) -> String {
        digest(&self.whole)
    }
}

impl Store {
    /// In a folder, which need not be there yet.
    pub const fn new(folder: PathBuf) -> Self {
        Self { folder }
    }

    /// The folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// A new folder for a run; a number is put behind `name` where it is taken.
    pub fn create(&self, name: &str) -> Result<RunFolder, CliError> {
        fs_err::create_dir_all(&self.folder)?;
        for number in 1.. {
            let name = if number == 1 { name.to_owned() } else { format!("{name}-{number}") };
            let path = self.folder.join(&name);
            match std::fs::create_dir(&path) {
                Ok(()) => {
                    sync_folder(&self.folder)?;
                    let lock = lock(&path)?;
                    return Ok(RunFolder { name, path, _lock: Some(lock) });
                }
                Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => {}
                Err(error) => return Err(CliError::Files(format!("{}: {error}", path.display()))),
            }
        }
        Err(CliError::Files(format!("{}: no free name", self.folder.display())))
    }

    /// A folder of this very name for a row of a table, whose table is locked as a whole.
    pub fn create_row(&self, name: &str) -> Result<RunFolder, CliError> {
        let path = self.folder.join(name);
        fs_err::create_dir(&path)?;
        Ok(RunFolder { name: name.to_owned(), path, _lock: None })
    }

    /// Locks a whole table's records.
    pub fn lock_table(&self, table: &str) -> Result<File, CliError> {
        fs_err::create_dir_all(&self.folder)?;
        let path = self.folder.join(format!(".table-{table}.lock"));
        let file = fs_err::OpenOptions::new().create(true).truncate(false).write(true).open(&path)?;
        match file.file().try_lock() {
            Ok(()) => Ok(file),
            Err(std::fs::TryLockError::WouldBlock) => Err(CliError::Busy(format!("the table {table}"))),
            Err(std::fs::TryLockError::Error(error)) => Err(CliError::Files(format!("{}: {error}", path.display()))),
        }
    }

    /// Takes up a run's folder.
    pub fn open(&self, name: &str) -> Result<RunFolder, CliError> {
        let path = self.path_of(name)?;
        let lock = lock(&path)?;
        Ok(RunFolder { name: name.to_owned(), path, _lock: Some(lock) })
    }

    /// The folder of a record, for reading.
    pub fn path_of(&self, name: &str) -> Result<PathBuf, CliError> {
        let path = if name.contains('/') { PathBuf::from(name) } else { self.folder.join(name) };
        if path.join(JOURNAL).is_file() {
            return Ok(path);
        }
        let names = self.names()?;
        let nearest = crate::model::words::nearest(name, names.iter().map(String::as_str));
        Err(CliError::usage_with(
            format!("there is no record `{name}`{}", crate::model::words::did_you_mean(nearest.as_deref())),
            format!("records lie in {}", self.folder.display()),
        ))
    }

    /// The names of the folders that records may lie in, in no order; whether one does is not looked at.
    pub fn folders(&self) -> Result<Vec<String>, CliError> {
        let mut names = Vec::new();
        for entry in fs_err::read_dir(&self.folder)? {
            let entry = entry?;
            if entry.file_type()?.is_dir()
                && let Ok(name) = entry.file_name().into_string()
            {
                names.push(name);
            }
        }
        Ok(names)
    }

    /// The records' names, oldest first by name.
    pub fn names(&self) -> Result<Vec<String>, CliError> {
        let entries = match fs_err::read_dir(&self.folder) {
            Ok(entries) => entries,
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(vec![]),
            Err(error) => return Err(error.into()),
        };
        let mut names = Vec::new();
        for entry in entries {
            let entry = entry?;
            if entry.path().join(JOURNAL).is_file()
                && let Some(name) = entry.file_name().to_str()
            {
                names.push(name.to_owned());
            }
        }
        names.sort();
        Ok(names)
    }

    /// The record that was written to last.
    pub fn latest(&self) -> Result<String, CliError> {
        let mut latest: Option<(std::time::SystemTime, String)> = None;
        for name in self.names()? {
            let modified = fs_err::metadata(self.folder.join(&name).join(JOURNAL))?.modified()?;
            if latest.as_ref().is_none_or(|(time, other)| (modified, &name) > (*time, other)) {
                latest = Some((modified, name));
            }
        }
        latest.map(|(_, name)| name).ok_or_else(|| {
            CliError::usage_with(
                format!("there are no records in {}", self.folder.display()),
                "run a procedure first, or name the folder with --records",
            )
        })
    }

    /// Keeps a source once under its digest.
    pub fn keep(&self, kind: SourceKind, name: &str, text: &[u8]) -> Result<SourceRef, CliError> {
        let sha256 = digest(text);
        let folder = self.folder.join("sources");
        let path = folder.join(&sha256);
        if !path.is_file() {
            fs_err::create_dir_all(&folder)?;
            let mut file = tempfile::Builder::new().prefix(".new-").tempfile_in(&folder)?;
            file.write_all(text)?;
            file.as_file().sync_all()?;
            match file.persist_noclobber(&path) {
                Ok(_) => sync_folder(&folder)?,
                Err(error) if error.error.kind() == std::io::ErrorKind::AlreadyExists => {}
                Err(error) => return Err(CliError::Files(format!("{}: {}", path.display(), error.error))),
            }
        }
        Ok(SourceRef { kind, name: name.to_owned(), sha256 })
    }

    /// The kept copy of a source.
    pub fn kept(&self, source: &SourceRef) -> Result<String, CliError> {
        let path = self.folder.join("sources").join(&source.sha256);
        let text = fs_err::read_to_string(&path)?;
        if digest(text.as_bytes()) != source.sha256 {
            return Err(CliError::file(&path, format!("the kept copy of {} was changed", source.name)));
        }
        Ok(text)
    }

    /// Reads a record's journal.
    pub fn read(&self, name: &str) -> Result<ReadBack, CliError> {
        let path = self.path_of(name)?.join(JOURNAL);
        let bytes = fs_err::read(&path)?;
        parse(&path, bytes)
    }
}

/// Name of a record's journal in its folder.
pub const JOURNAL: &str = "journal.jsonl";

/// Reads a journal's lines; a last line without its line end is torn.
pub fn parse(path: &Path, bytes: Vec<u8>) -> Result<ReadBack, CliError> {
    let whole = bytes.iter().rposition(|byte| *byte == b'\n').map_or(0, |end| end + 1);
    let file = path.display().to_string();
    let mut entries = Vec::new();
    let text = std::str::from_utf8(&bytes[..whole]).map_err(|error| {
        let line = 1 + bytes[..error.valid_up_to()].iter().filter(|byte| **byte == b'\n').count();
        CliError::input(Diagnostic::of_file(&format!("{file}:{line}"), "this line can't be read: it is not UTF-8"))
    })?;
    for (index, line) in text.split('\n').enumerate() {
        if line.is_empty() {
            continue;
        }
        let unreadable = |problem: String| {
            let mut diagnostic = Diagnostic::of_file(&format!("{file}:{}", index + 1), problem);
            if index == 0 && line.contains("\"format\":") {
                diagnostic.hint =
                    Some("it was written by another version of the program, or changed by hand".to_owned());
            }
            CliError::input(diagnostic)
        };
        let entry: Result<Entry, _> = serde_json::from_str(line);
        let other = match &entry {
            Ok(Entry { event: Event::Started(started), .. }) => Some(u64::from(started.format)),
            Ok(_) => None,
            Err(_) if index == 0 => serde_json::from_str::<serde_json::Value>(line)
                .ok()
                .and_then(|value| value.get("format").and_then(serde_json::Value::as_u64)),
            Err(_) => None,
        };
        if let Some(format) = other.filter(|format| *format != u64::from(FORMAT)) {
            return Err(unreadable(format!(
                "this journal has format {format}, and this program reads format {FORMAT}"
            )));
        }
        entries.push(entry.map_err(|error| unreadable(format!("this line can't be read: {error}")))?);
    }
    read_back(path, bytes, entries)
}

/// What was read of a journal's bytes.
pub fn read_back(path: &Path, mut bytes: Vec<u8>, entries: Vec<Entry>) -> Result<ReadBack, CliError> {
    let whole = bytes.iter().rposition(|byte| *byte == b'\n').map_or(0, |end| end + 1);
    if let Some(first) = entries.first()
        && !matches!(first.event, Event::Started(_))
    {
        return Err(CliError::file(path, "the journal does not begin with the start of a run"));
    }
    let torn = bytes.len() - whole;
    bytes.truncate(whole);
    Ok(ReadBack { entries, torn, whole: bytes })
}

impl RunFolder {
    /// The journal's bytes as they are.
    pub fn bytes(&self) -> Result<Vec<u8>, CliError> {
        Ok(fs_err::read(self.path.join(JOURNAL))?)
    }

    /// Opens the journal for writing at its end; a torn last line is cut off. Returns what is there.
    pub fn journal(&self) -> Result<(FileJournal, ReadBack), CliError> {
        let path = self.path.join(JOURNAL);
        let mut file = fs_err::OpenOptions::new().create(true).truncate(false).read(true).write(true).open(&path)?;
        let mut bytes = Vec::new();
        file.read_to_end(&mut bytes)?;
        let length = bytes.len();
        let back = parse(&path, bytes)?;
        if back.torn > 0 {
            file.set_len((length - back.torn) as u64)?;
            file.sync_all()?;
        }
        let good = file.seek(SeekFrom::End(0))?;
        if length == 0 {
            sync_folder(&self.path)?;
        }
        Ok((FileJournal(Arc::new(Mutex::new(Writer { file, pending: Vec::new(), good }))), back))
    }
}

/// A journal on disk.
#[derive(Clone)]
pub struct FileJournal(Arc<Mutex<Writer>>);

struct Writer {
    file: File,
    pending: Vec<u8>,
    /// Bytes of whole lines in the file: what a failed write left behind them is cut off again.
    good: u64,
}

impl FileJournal {
    /// Writes what is pending and waits until it is on disk.
    pub fn finish(&self) -> Result<(), String> {
        let mut writer = self.0.lock().map_err(|_| "the journal was left locked".to_owned())?;
        writer.flush().map_err(|error| error.to_string())
    }

    /// Appends an entry that no session writes.
    pub fn note(&mut self, at: Stamp, event: Event) -> Result<(), CliError> {
        self.append(&Entry { at, event }, Durability::Each).map_err(CliError::Files)
    }
}

impl Writer {
    fn flush(&mut self) -> std::io::Result<()> {
        if self.pending.is_empty() {
            return Ok(());
        }
        let written = self.file.write_all(&self.pending).and_then(|()| self.file.file().sync_data());
        match written {
            Ok(()) => self.good += self.pending.len() as u64,
            Err(_) => {
                // The disk may be full: leave whole lines only. If that fails, too, reading drops the torn line.
                let _ = self.file.set_len(self.good);
            }
        }
        self.pending.clear();
        written
    }
}

impl Journal for FileJournal {
    fn append(&mut self, entry: &Entry, durability: Durability) -> Result<(), String> {
        let mut writer = self.0.lock().map_err(|_| "the journal was left locked".to_owned())?;
        serde_json::to_writer(&mut writer.pending, entry).map_err(|error| error.to_string())?;
        writer.pending.push(b'\n');
        match durability {
            Durability::AtEnd => Ok(()),
            Durability::Each => writer.flush().map_err(|error| error.to_string()),
        }
    }
}

fn lock(folder: &Path) -> Result<File, CliError> {
    let path = folder.join("lock");
    let file = fs_err::OpenOptions::new().create(true).truncate(false).write(true).open(&path)?;
    match file.file().try_lock() {
        Ok(()) => Ok(file),
        Err(std::fs::TryLockError::WouldBlock) => {
            let name = folder.file_name().and_then(|name| name.to_str()).unwrap_or("the record");
            Err(CliError::Busy(format!("the record {name}")))
        }
        Err(std::fs::TryLockError::Error(error)) => Err(CliError::Files(format!("{}: {error}", path.display()))),
    }
}

fn sync_folder(folder: &Path) -> Result<(), CliError> {
    #[cfg(unix)]
    File::open(folder)?.sync_all()?;
    Ok(())
}

/// A text that can be part of a folder's name: file systems count bytes, and two of these and a time must fit.
pub fn slug(text: &str) -> String {
    let mut slug = String::new();
    for c in text.to_lowercase().chars() {
        if c.is_alphanumeric() {
            slug.push(c);
        } else if !slug.ends_with('-') && !slug.is_empty() {
            slug.push('-');
        }
        if slug.chars().count() >= 40 || slug.len() >= 90 {
            break;
        }
    }
    slug.trim_end_matches('-').to_owned()
}
