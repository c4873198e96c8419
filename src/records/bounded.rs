//! How much of a file is read at most, so that nobody's file takes memory without end.

use crate::records::error::RecordsError;
use fs_err::File;
use std::io::Read;
use std::path::Path;

/// The largest journal, in bytes: some 100,000 events, ten times what a run may have if its procedure raises nothing.
pub const LARGEST_JOURNAL: u64 = 64 * MEGABYTE;

/// So much of a journal stays free for sign-offs, each of which keeps eight bytes for every line above it.
pub const FOR_SIGN_OFFS: u64 = 4 * MEGABYTE;

/// The most lines of a journal: twice the events that a procedure can raise its runs to.
pub const MOST_LINES: usize = 200_000;

/// The most sign-offs of a record: each is held against every byte above it.
pub const MOST_SIGN_OFFS: usize = 100;

/// The largest kept source, in bytes: no file that a person writes is longer.
pub const LARGEST_SOURCE: u64 = 16 * MEGABYTE;

const MEGABYTE: u64 = 1024 * 1024;

/// A whole file, or nothing where it has more bytes than `most`. Its length is looked at first; of what has none, such as a
/// device, no more is read than that.
///
/// # Errors
/// It can't be read.
pub fn read(path: &Path, most: u64) -> std::io::Result<Option<Vec<u8>>> {
    let file = File::open(path)?;
    let length = file.metadata()?.len();
    if length > most {
        return Ok(None);
    }
    // One allocation where the length is known, so that a secret leaves no copies behind.
    let capacity = if length == 0 { most.min(MEGABYTE) } else { length } + 1;
    let mut bytes = Vec::with_capacity(usize::try_from(capacity).unwrap_or_default());
    file.take(most + 1).read_to_end(&mut bytes)?;
    Ok(Some(bytes).filter(|bytes| bytes.len() as u64 <= most))
}

/// A journal's bytes.
///
/// # Errors
/// It can't be read, or is larger than any that a run writes.
pub fn journal(path: &Path) -> Result<Vec<u8>, RecordsError> {
    let bytes = read(path, LARGEST_JOURNAL)?.ok_or_else(|| too_many_bytes(path))?;
    fits(path, &bytes)?;
    Ok(bytes)
}

/// # Errors
/// There are more bytes or lines than a journal has.
pub fn fits(path: &Path, journal: &[u8]) -> Result<(), RecordsError> {
    if journal.len() as u64 > LARGEST_JOURNAL {
        return Err(too_many_bytes(path));
    }
    // Most journals have fewer bytes than that.
    if journal.len() > MOST_LINES && journal.iter().filter(|byte| **byte == b'\n').count() > MOST_LINES {
        return Err(too_large(
            path,
            format!("this journal has more than {MOST_LINES} lines, and no run writes so many"),
        ));
    }
    Ok(())
}

fn too_many_bytes(path: &Path) -> RecordsError {
    let most = LARGEST_JOURNAL / MEGABYTE;
    too_large(path, format!("this journal is longer than {most} MB, and no run writes such a one"))
}

/// A file that is larger than any of its kind.
pub fn too_large(path: &Path, sentence: String) -> RecordsError {
    RecordsError::TooLarge { path: path.to_owned(), sentence }
}

/// A kept source's bytes.
///
/// # Errors
/// It can't be read, or is larger than any source.
pub fn source(path: &Path, what: &str) -> Result<Vec<u8>, RecordsError> {
    let most = LARGEST_SOURCE / MEGABYTE;
    let too_large = || too_large(path, format!("the kept copy of {what} is longer than {most} MB, and no source is"));
    read(path, LARGEST_SOURCE)?.ok_or_else(too_large)
}
