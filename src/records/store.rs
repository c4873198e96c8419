//! Records on disk: one folder a run, its journal, its lock, and the sources that digests name.

use crate::model::event::{Entry, Event};
use crate::model::link::{Link, LinkKind};
use crate::model::record::Record;
use crate::model::source::{SourceKind, SourceRef};
use crate::model::words;
use crate::records::bounded;
use crate::records::digest::{digest, is_digest};
use crate::records::error::RecordsError;
use crate::records::journal_file::{FileJournal, NO_START, ReadBack, parse};
use crate::records::numbers;
use crate::records::same_file::still_names;
use crate::records::summary::RecordSummary;
use crate::records::whole_file;
use fs_err::File;
use std::collections::BTreeSet;
use std::io::Write;
use std::path::{Path, PathBuf};

/// The folder that records lie in.
#[derive(Clone, Debug)]
pub struct Store {
    folder: PathBuf,
}

/// One run's folder, held against other processes while it lives.
pub struct RunFolder {
    /// Its name.
    pub name: String,
    /// Its short number, where one could be given.
    pub number: Option<u32>,
    path: PathBuf,
    /// None of a row's own: its table is locked as a whole.
    lock: Option<File>,
}

impl Drop for RunFolder {
    /// A row's folder that got no line, because the disk is full or the run was killed, does not stay behind.
    fn drop(&mut self) {
        let journal = self.path.join(JOURNAL);
        let written = fs_err::metadata(&journal).map(|file| file.len() > 0);
        if self.lock.is_some() || matches!(written, Ok(true)) {
            return;
        }
        if matches!(written, Ok(false)) {
            let _ = fs_err::remove_file(&journal);
        }
        // Only what is empty goes away.
        let _ = fs_err::remove_dir(&self.path);
    }
}

/// A record that was found.
pub struct Found {
    /// Its own name, without the folders in which it lies.
    pub name: String,
    /// Where its journal lies.
    pub journal: PathBuf,
    /// The folder of records that it lies in, with the sources that were kept for it.
    pub store: Store,
    /// Its journal, as it is.
    pub bytes: Vec<u8>,
}

impl Found {
    /// The record that these entries make.
    pub fn record(&self, entries: &[Entry]) -> Result<Record, RecordsError> {
        match entries.first().map(|entry| &entry.event) {
            None => Err(RecordsError::NothingRecorded { name: self.name.clone() }),
            Some(Event::Started(_)) => Record::of(entries)
                .map_err(|error| RecordsError::NoRun { name: self.name.clone(), problem: error.to_string() }),
            Some(_) => Err(RecordsError::file(&self.journal, NO_START)),
        }
    }
}

impl Store {
    /// In a folder, which need not be there yet.
    pub const fn new(folder: PathBuf) -> Self {
        Self { folder }
    }

    /// The one that a record's folder lies in.
    pub fn of(record: &Path) -> Self {
        let parent = record.canonicalize().ok().and_then(|path| path.parent().map(Path::to_owned));
        Self::new(parent.unwrap_or_else(|| record.join("..")))
    }

    /// The folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// A new folder for a run; a number is put after `name` where it is taken.
    pub fn create(&self, name: &str) -> Result<RunFolder, RecordsError> {
        fs_err::create_dir_all(&self.folder)?;
        for number in 1.. {
            let name = if number == 1 { name.to_owned() } else { format!("{name}-{number}") };
            let path = self.folder.join(&name);
            match std::fs::create_dir(&path) {
                Ok(()) => {
                    sync_folder(&self.folder)?;
                    let lock = lock(&path)?;
                    // Without one it is called by its name.
                    let number =
                        numbers::give(&self.folder, &[&name]).ok().and_then(|given| given.first().copied().flatten());
                    return Ok(RunFolder { name, number, path, lock: Some(lock) });
                }
                Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => {}
                Err(error) => return Err(RecordsError::Files(format!("{}: {error}", path.display()))),
            }
        }
        Err(RecordsError::Files(format!("{}: no free name", self.folder.display())))
    }

    /// A folder of this very name for a row of a table, whose table is locked as a whole.
    pub fn create_row(&self, name: &str) -> Result<RunFolder, RecordsError> {
        let path = self.folder.join(name);
        fs_err::create_dir(&path)?;
        Ok(RunFolder { name: name.to_owned(), number: None, path, lock: None })
    }

    /// Whether a row's name is free; what a run that was killed before its first line left behind goes away.
    pub fn is_free_for_a_row(&self, name: &str) -> bool {
        let path = self.folder.join(name);
        if path.is_dir() {
            drop(RunFolder { name: name.to_owned(), number: None, path: path.clone(), lock: None });
        }
        !path.exists()
    }

    /// The file by which a table is locked, and which says where it lies.
    pub fn table_lock(&self, table: &str) -> PathBuf {
        self.folder.join(format!(".table-{table}.lock"))
    }

    /// Locks a whole table's records.
    pub fn lock_table(&self, table: &str) -> Result<File, RecordsError> {
        fs_err::create_dir_all(&self.folder)?;
        let path = self.table_lock(table);
        let file = fs_err::OpenOptions::new().create(true).truncate(false).write(true).open(&path)?;
        match file.file().try_lock() {
            Ok(()) => Ok(file),
            Err(std::fs::TryLockError::WouldBlock) => Err(RecordsError::Busy(format!("the table {table}"))),
            Err(std::fs::TryLockError::Error(error)) => {
                Err(RecordsError::Files(format!("{}: {error}", path.display())))
            }
        }
    }

    /// Takes up a run's folder.
    pub fn open(&self, name: &str) -> Result<RunFolder, RecordsError> {
        let path = self.path_of(name)?;
        let lock = lock(&path)?;
        // A part of its name is enough to find it by.
        let whole = path.file_name().and_then(|name| name.to_str()).filter(|_| !name.contains('/'));
        let name = whole.unwrap_or(name).to_owned();
        // In another folder it has another number.
        let number = if path.parent() == Some(&self.folder) { numbers::number_of(&self.folder, &name) } else { None };
        Ok(RunFolder { name, number, path, lock: Some(lock) })
    }

    /// The folder of a record, for reading: by its number, its name, a part of its name that no other has, or its path.
    pub fn path_of(&self, name: &str) -> Result<PathBuf, RecordsError> {
        if numbers::is_number(name) {
            let path = numbers::record_of(&self.folder, name).map(|record| self.folder.join(record));
            let none = || RecordsError::NoSuchNumber { number: name.to_owned(), folder: self.folder.clone() };
            return path.filter(|path| path.join(JOURNAL).is_file()).ok_or_else(none);
        }
        let path = if name.contains('/') { PathBuf::from(name) } else { self.folder.join(name) };
        match fs_err::metadata(path.join(JOURNAL)) {
            Ok(found) if found.is_file() => return Ok(path),
            // What can't be looked at may well be there.
            Err(error) if error.kind() == std::io::ErrorKind::PermissionDenied => return Err(error.into()),
            _ => {}
        }
        let names = self.names()?;
        let mut with: Vec<&String> = names.iter().filter(|full| full.contains(name) && !name.is_empty()).collect();
        // What follows a record's date and procedure is a name of its own: `unit-1` is not `unit-10`.
        let is_last_part = |full: &str| full.strip_suffix(name).is_some_and(|before| before.ends_with('-'));
        let whole: Vec<&String> = with.iter().copied().filter(|full| is_last_part(full)).collect();
        if let [one] = whole.as_slice() {
            with = vec![*one];
        }
        match with.as_slice() {
            [one] => return Ok(self.folder.join(one)),
            [] => {}
            [one, other, ..] => {
                return Err(RecordsError::SeveralRecords {
                    name: name.to_owned(),
                    count: with.len(),
                    one: (*one).clone(),
                    other: (*other).clone(),
                });
            }
        }
        let nearest = words::nearest(name, names.iter().map(String::as_str));
        let meant = words::did_you_mean(nearest.as_deref());
        Err(RecordsError::NoSuchRecord { name: name.to_owned(), meant, folder: self.folder.clone() })
    }

    /// The records' names, oldest first by name.
    pub fn names(&self) -> Result<Vec<String>, RecordsError> {
        self.names_of(|_| true)
    }

    /// The names of the records whose name is `wanted`, oldest first by name; the others are not looked at.
    pub fn names_of(&self, wanted: impl Fn(&str) -> bool) -> Result<Vec<String>, RecordsError> {
        let entries = match fs_err::read_dir(&self.folder) {
            Ok(entries) => entries,
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(vec![]),
            Err(error) => return Err(error.into()),
        };
        let mut names = Vec::new();
        for entry in entries {
            let entry = entry?;
            if let Ok(name) = entry.file_name().into_string()
                && wanted(&name)
                && has_something(&entry.path().join(JOURNAL))
            {
                names.push(name);
            }
        }
        names.sort();
        Ok(names)
    }

    /// The records' names, the one that was written to last first.
    fn newest(&self) -> Result<Vec<String>, RecordsError> {
        let mut dated = Vec::new();
        for name in self.names()? {
            dated.push((fs_err::metadata(self.folder.join(&name).join(JOURNAL))?.modified()?, name));
        }
        dated.sort();
        Ok(dated.into_iter().rev().map(|(_, name)| name).collect())
    }

    /// Whether another process writes to a record just now.
    pub fn is_held(&self, name: &str) -> bool {
        let Ok(path) = self.path_of(name) else { return false };
        let held = |file: &str| {
            let file = File::open(path.join(file));
            file.is_ok_and(|file| matches!(file.file().try_lock_shared(), Err(std::fs::TryLockError::WouldBlock)))
        };
        // The lock may have been deleted, and made anew by somebody who was sent away; the journal is held, too.
        held(LOCK) || held(JOURNAL)
    }

    /// The records without an end among the last `many` that were written to, each in short. One that
    /// another has taken the place of, since its row was changed or it was begun anew with an edited procedure, is not among
    /// them.
    pub fn open_runs(&self, many: usize) -> Result<Vec<(String, RecordSummary)>, RecordsError> {
        let mut open = Vec::new();
        let mut replaced = BTreeSet::new();
        for name in self.newest()?.into_iter().take(many) {
            let path = self.folder.join(&name).join(JOURNAL);
            let Ok(summary) = RecordSummary::read(&path) else { continue };
            if let Some(Link { kind: LinkKind::ChangedRow | LinkKind::EditedProcedure, record, .. }) = &summary.link {
                replaced.insert(record.clone());
            }
            if summary.is_open() {
                open.push((name, summary));
            }
        }
        open.retain(|(name, _)| !replaced.contains(name));
        Ok(open)
    }

    /// Keeps a source once under its digest.
    pub fn keep(&self, kind: SourceKind, name: &str, text: &[u8]) -> Result<SourceRef, RecordsError> {
        let sha256 = digest(text);
        let folder = self.folder.join("sources");
        let path = folder.join(&sha256);
        if !path.is_file() {
            fs_err::create_dir_all(&folder)?;
            let mut file = whole_file::begin(&folder, ".new-", true)?;
            file.write_all(text)?;
            file.as_file().sync_all()?;
            match file.persist_noclobber(&path) {
                Ok(_) => sync_folder(&folder)?,
                Err(error) if error.error.kind() == std::io::ErrorKind::AlreadyExists => {}
                Err(error) => return Err(RecordsError::Files(format!("{}: {}", path.display(), error.error))),
            }
        }
        Ok(SourceRef { kind, name: name.to_owned(), sha256 })
    }

    /// The kept copy of a source.
    pub fn kept(&self, source: &SourceRef) -> Result<String, RecordsError> {
        if !is_digest(&source.sha256) {
            let digest: String = source.sha256.chars().take(LONGEST_SHOWN).collect();
            return Err(RecordsError::file(
                &self.folder,
                format!("a record names its copy of {} by `{digest}`, which is not a digest", source.name),
            ));
        }
        let path = self.folder.join("sources").join(&source.sha256);
        if !fs_err::metadata(&path)?.is_file() {
            return Err(RecordsError::file(&path, format!("the kept copy of {} is not a file", source.name)));
        }
        let bytes = bounded::source(&path, &source.name)?;
        if digest(&bytes) != source.sha256 {
            return Err(RecordsError::CopyChanged { path, name: source.name.clone() });
        }
        String::from_utf8(bytes)
            .map_err(|_| RecordsError::file(&path, format!("the kept copy of {} is not UTF-8 text", source.name)))
    }

    /// A record by its name in this folder, or by its path.
    pub fn find(&self, name: &str) -> Result<Found, RecordsError> {
        let folder = self.path_of(name)?;
        let plain = folder.file_name().map_or_else(|| name.to_owned(), |name| name.to_string_lossy().into_owned());
        let journal = folder.join(JOURNAL);
        let bytes = bounded::journal(&journal)?;
        Ok(Found { name: plain, store: Self::of(&folder), journal, bytes })
    }

    /// A name of the record in this folder that holds from any working folder: its name where it lies among these records,
    /// else the folder's whole path.
    pub fn lasting_name(&self, record: &Path) -> Result<String, RecordsError> {
        let whole = fs_err::canonicalize(record)?;
        let own = self.folder.canonicalize().is_ok_and(|own| whole.parent() == Some(own.as_path()));
        let name = if own { whole.file_name().map(Path::new) } else { Some(whole.as_path()) };
        let name = name.and_then(Path::to_str).map(str::to_owned);
        name.ok_or_else(|| RecordsError::NoPlainPath { path: record.to_owned() })
    }

    /// The record in this folder that has this very name.
    pub fn find_whole(&self, name: &str) -> Result<Option<Found>, RecordsError> {
        match self.folder.join(name).join(JOURNAL).is_file() && !name.contains('/') {
            // A folder may have a number for its name, and it is not that number's record.
            true if numbers::is_number(name) => self.find(&self.folder.join(name).to_string_lossy()).map(Some),
            true => self.find(name).map(Some),
            false => Ok(None),
        }
    }

    /// Reads a record's journal.
    pub fn read(&self, name: &str) -> Result<ReadBack, RecordsError> {
        let path = self.path_of(name)?.join(JOURNAL);
        let bytes = bounded::journal(&path)?;
        parse(&path, bytes)
    }
}

/// Whether a journal has something in it: a run that was killed before its first line leaves an empty one behind.
fn has_something(journal: &Path) -> bool {
    std::fs::metadata(journal).is_ok_and(|found| found.is_file() && found.len() > 0)
}

/// So much of what is no digest is shown.
const LONGEST_SHOWN: usize = 80;

/// Name of the file by which a run's folder is held against other processes.
const LOCK: &str = "lock";

/// Name of a record's journal in its folder.
pub const JOURNAL: &str = "journal.jsonl";

impl RunFolder {
    /// The folder of records that it lies in, with the sources that were kept for it.
    pub fn store(&self) -> Store {
        Store::of(&self.path)
    }

    /// Whether it still lies where it lay when it was opened.
    pub fn is_in_place(&self) -> bool {
        self.lock.as_ref().is_none_or(|lock| still_names(&self.path.join(LOCK), lock).is_ok())
    }

    /// Where it lies.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Whether it lies in this folder of records itself.
    pub fn is_among(&self, store: &Store) -> bool {
        let folder = |path: &Path| fs_err::canonicalize(path).ok();
        let parent = folder(&self.path).and_then(|path| path.parent().map(Path::to_owned));
        parent.is_some() && parent == folder(store.folder())
    }

    /// The journal's bytes as they are.
    pub fn bytes(&self) -> Result<Vec<u8>, RecordsError> {
        bounded::journal(&self.path.join(JOURNAL))
    }

    /// Opens the journal for writing at its end; a torn last line is cut off. Returns what is there.
    pub fn journal(&self) -> Result<(FileJournal, ReadBack), RecordsError> {
        let (journal, back) = FileJournal::open(&self.path.join(JOURNAL))?;
        if back.bytes().is_empty() {
            sync_folder(&self.path)?;
        }
        Ok((journal, back))
    }
}

fn lock(folder: &Path) -> Result<File, RecordsError> {
    let path = folder.join(LOCK);
    let file = fs_err::OpenOptions::new().create(true).truncate(false).write(true).open(&path)?;
    match file.file().try_lock() {
        Ok(()) => Ok(file),
        Err(std::fs::TryLockError::WouldBlock) => {
            let name = folder.file_name().and_then(|name| name.to_str()).unwrap_or("the record");
            Err(RecordsError::Busy(format!("the record {name}")))
        }
        Err(std::fs::TryLockError::Error(error)) => Err(RecordsError::Files(format!("{}: {error}", path.display()))),
    }
}

fn sync_folder(folder: &Path) -> Result<(), RecordsError> {
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
