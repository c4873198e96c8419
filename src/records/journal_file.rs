//! A journal as a file: read back line by line, and written so that what stood before stays whole.

use crate::model::diagnostic::Diagnostic;
use crate::model::event::{Entry, Event};
use crate::model::stamp::Stamp;
use crate::records::bounded;
use crate::records::digest::digest;
use crate::records::error::RecordsError;
use crate::records::line::{LineProblem, LineReader};
use crate::records::same_file::still_names;
use crate::run::journal::{Durability, Journal};
use fs_err::File;
use std::io::{BufRead, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};

/// A journal read back.
pub struct ReadBack {
    /// Its entries.
    pub entries: Vec<Entry>,
    bytes: Vec<u8>,
    /// How many of the bytes are whole lines.
    whole: usize,
}

impl ReadBack {
    /// SHA-256 of the whole lines.
    pub fn sha256(&self) -> String {
        digest(&self.bytes[..self.whole])
    }

    /// All that was read.
    pub fn bytes(&self) -> &[u8] {
        &self.bytes
    }

    /// How many bytes the torn last line had.
    pub const fn torn(&self) -> usize {
        self.bytes.len() - self.whole
    }
}

/// The problem with a journal that begins with something else.
pub const NO_START: &str = "the journal does not begin with the start of a run";

/// The advice about a newer program's record.
const NEWER_HINT: &str = "install that version of ohmwright, or a later one, to go on with this record";

/// Reads a journal's lines; a last line without its line end is torn.
pub fn parse(path: &Path, bytes: Vec<u8>) -> Result<ReadBack, RecordsError> {
    let whole = bytes.iter().rposition(|byte| *byte == b'\n').map_or(0, |end| end + 1);
    let file = path.display().to_string();
    let mut entries = Vec::new();
    let text = std::str::from_utf8(&bytes[..whole]).map_err(|error| {
        let line = 1 + bytes[..error.valid_up_to()].iter().filter(|byte| **byte == b'\n').count();
        RecordsError::Content(Box::new(Diagnostic::of_file(
            &format!("{file}:{line}"),
            "this line can't be read: it is not UTF-8",
        )))
    })?;
    let mut reader = LineReader::new();
    for (index, line) in text.split_terminator('\n').enumerate() {
        entries.push(reader.read(line.as_bytes()).map_err(|problem| {
            let place = format!("{file}:{}", index + 1);
            RecordsError::Content(Box::new(match problem {
                LineProblem::Newer(newer) => Diagnostic::of_file(&place, newer).with_hint(NEWER_HINT),
                problem => Diagnostic::of_file(&place, format!("this line can't be read: {problem}")),
            }))
        })?);
    }
    if let Some(first) = entries.first()
        && !matches!(first.event, Event::Started(_))
    {
        return Err(RecordsError::file(path, NO_START));
    }
    Ok(ReadBack { entries, bytes, whole })
}

/// A first line is no longer than this; what is longer was not written by this program.
const LONGEST_FIRST_LINE: u64 = 1 << 20;

/// A journal's first line without its line end, if it is whole; nothing else of it is looked at.
pub fn first_line(path: &Path) -> Option<Vec<u8>> {
    let file = std::fs::File::open(path).ok()?;
    let mut line = Vec::new();
    std::io::BufReader::new(file).take(LONGEST_FIRST_LINE).read_until(b'\n', &mut line).ok()?;
    (line.pop() == Some(b'\n')).then_some(line)
}

/// Whether a journal's first line is whole. One that can't be read counts as whole: its reader is told why.
pub fn has_first_line(path: &Path) -> bool {
    let Ok(file) = std::fs::File::open(path) else { return true };
    let mut line = Vec::new();
    let read = std::io::BufReader::new(file).take(LONGEST_FIRST_LINE).read_until(b'\n', &mut line);
    read.is_err() || line.ends_with(b"\n")
}

/// Holds the journal itself, too: the `lock` beside it may be deleted while a run goes on.
#[cfg(unix)]
fn hold(file: &File, path: &Path) -> Result<(), RecordsError> {
    match file.file().try_lock() {
        Ok(()) => Ok(()),
        Err(std::fs::TryLockError::WouldBlock) => {
            let name = path.parent().and_then(Path::file_name).map(|name| name.to_string_lossy().into_owned());
            Err(RecordsError::Busy(format!("the record {}", name.unwrap_or_default())))
        }
        Err(std::fs::TryLockError::Error(error)) => Err(RecordsError::Files(format!("{}: {error}", path.display()))),
    }
}

/// Elsewhere a file that is locked can't be read by others, and one that is open can't be deleted.
#[cfg(not(unix))]
fn hold(_file: &File, _path: &Path) -> Result<(), RecordsError> {
    Ok(())
}

/// A journal on disk.
#[derive(Clone)]
pub struct FileJournal(Arc<Mutex<Writer>>);

struct Writer {
    file: File,
    /// Where it lay when it was opened.
    path: PathBuf,
    pending: Vec<u8>,
    /// Bytes of whole lines in the file: what a failed write left behind them is cut off again.
    good: u64,
}

impl FileJournal {
    /// Opens a journal for writing at its end; a torn last line is cut off. Returns what is there.
    pub fn open(path: &Path) -> Result<(Self, ReadBack), RecordsError> {
        let mut file = fs_err::OpenOptions::new().create(true).truncate(false).read(true).write(true).open(path)?;
        hold(&file, path)?;
        let mut bytes = Vec::new();
        (&mut file).take(bounded::LARGEST_JOURNAL + 1).read_to_end(&mut bytes)?;
        bounded::fits(path, &bytes)?;
        let length = bytes.len();
        let back = parse(path, bytes)?;
        if back.torn() > 0 {
            file.set_len((length - back.torn()) as u64)?;
            file.sync_all()?;
        }
        let good = file.seek(SeekFrom::End(0))?;
        Ok((Self(Arc::new(Mutex::new(Writer { file, path: path.to_owned(), pending: Vec::new(), good }))), back))
    }

    /// Writes what is pending and waits until it is on disk.
    pub fn finish(&self) -> Result<(), String> {
        let mut writer = self.0.lock().map_err(|_| "the journal was left locked".to_owned())?;
        writer.flush().map_err(|error| error.to_string())
    }

    /// Appends a whole line as it is, its line end included; it is on disk with the next entry that has to be.
    pub fn append_line(&mut self, line: &[u8]) -> Result<(), String> {
        let mut writer = self.0.lock().map_err(|_| "the journal was left locked".to_owned())?;
        let before = writer.pending.len();
        writer.pending.extend_from_slice(line);
        writer.has_room(before, bounded::LARGEST_JOURNAL)
    }

    /// Appends an entry that no session writes.
    pub fn note(&mut self, at: Stamp, event: Event) -> Result<(), RecordsError> {
        self.append(&Entry::new(at, event), Durability::Each).map_err(RecordsError::Files)
    }
}

impl Writer {
    /// Nothing is written that could not be read again: what is pending after `before` goes away where it is too much.
    fn has_room(&mut self, before: usize, most: u64) -> Result<(), String> {
        if self.good + self.pending.len() as u64 <= most {
            return Ok(());
        }
        self.pending.truncate(before);
        let (path, most) = (self.path.display(), most / 1024 / 1024);
        Err(format!("{path} has reached {most} MB, and no journal is longer: begin a new run"))
    }

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
        // Bytes on the disk are of no use where nobody finds them.
        written.and_then(|()| still_names(&self.path, &self.file))
    }
}

impl Journal for FileJournal {
    fn append(&mut self, entry: &Entry, durability: Durability) -> Result<(), String> {
        let mut writer = self.0.lock().map_err(|_| "the journal was left locked".to_owned())?;
        let before = writer.pending.len();
        serde_json::to_writer(&mut writer.pending, entry).map_err(|error| error.to_string())?;
        writer.pending.push(b'\n');
        let for_sign_offs = if entry.event.is_of_a_sign_off() { 0 } else { bounded::FOR_SIGN_OFFS };
        writer.has_room(before, bounded::LARGEST_JOURNAL - for_sign_offs)?;
        match durability {
            Durability::AtEnd => Ok(()),
            Durability::Each => writer.flush().map_err(|error| error.to_string()),
        }
    }
}
