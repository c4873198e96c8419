//! A short number for each record of a folder, to be typed in place of its name. It is given once and never again, whatever becomes
//! of its record: what is written on a work order has to mean the same next year.
//!
//! The file has a line for each: the number, a space, the record's name. It only grows, under a lock on the file itself. What
//! was not written whole is cut off by the next who writes.

use crate::records::bounded;
use crate::records::error::RecordsError;
use crate::records::same_file::still_names;
use fs_err::{File, OpenOptions};
use std::collections::HashMap;
use std::io::{Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

/// The file among the records.
pub const NUMBERS: &str = ".numbers";

/// No such file is larger, in bytes: some million records.
const LARGEST: u64 = 64 << 20;

/// Whether what was typed in a record's place is a number: then it is nothing else, not even a part of a name.
///
/// ```
/// use ohmwright::records::numbers::is_number;
/// assert!(is_number("12") && !is_number("2026-11-24") && !is_number(""));
/// ```
pub fn is_number(typed: &str) -> bool {
    !typed.is_empty() && typed.bytes().all(|byte| byte.is_ascii_digit())
}

fn path(folder: &Path) -> PathBuf {
    folder.join(NUMBERS)
}

/// The whole lines of the file.
fn lines(bytes: &[u8]) -> impl Iterator<Item = (u32, &str)> {
    let whole = bytes.iter().rposition(|byte| *byte == b'\n').map_or(0, |end| end + 1);
    bytes[..whole].split(|byte| *byte == b'\n').filter_map(|line| {
        let (number, name) = std::str::from_utf8(line).ok()?.split_once(' ')?;
        Some((number.parse().ok()?, name))
    })
}

fn kept(folder: &Path) -> Vec<u8> {
    bounded::read(&path(folder), LARGEST).ok().flatten().unwrap_or_default()
}

/// The record's number, where it has one.
pub fn number_of(folder: &Path, record: &str) -> Option<u32> {
    lines(&kept(folder)).find(|(_, name)| *name == record).map(|(number, _)| number)
}

/// The name of the record that has this number, where one got it.
pub fn record_of(folder: &Path, typed: &str) -> Option<String> {
    let number: u32 = typed.parse().ok()?;
    lines(&kept(folder)).find(|(known, _)| *known == number).map(|(_, name)| name.to_owned())
}

/// Gives each of these records a number if it has none, and says all of them in their order.
///
/// # Errors
/// The folder of records can't be written.
pub fn give(folder: &Path, records: &[&str]) -> Result<Vec<Option<u32>>, RecordsError> {
    Numbers::of(folder).give(records)
}

/// The numbers of a folder, kept between one time that some are given and the next: a table gives them thousands of times, and only
/// what was written since is read again.
pub struct Numbers {
    folder: PathBuf,
    known: HashMap<String, u32>,
    next: u32,
    /// So many bytes of the file were read, all of them whole lines.
    read_to: u64,
}

impl Numbers {
    /// Nothing is read yet.
    pub fn of(folder: &Path) -> Self {
        Self { folder: folder.to_owned(), known: HashMap::new(), next: 1, read_to: 0 }
    }

    /// Gives each of these records a number if it has none, and says all of them in their order.
    ///
    /// # Errors
    /// The folder of records can't be written.
    pub fn give(&mut self, records: &[&str]) -> Result<Vec<Option<u32>>, RecordsError> {
        let mut file = locked(&self.folder)?;
        if file.metadata()?.len() < self.read_to {
            // Somebody put a shorter file in its place.
            *self = Self::of(&self.folder);
        }
        file.seek(SeekFrom::Start(self.read_to))?;
        let mut bytes = Vec::new();
        (&mut file).take(LARGEST.saturating_sub(self.read_to)).read_to_end(&mut bytes)?;
        for (number, name) in lines(&bytes) {
            self.known.entry(name.to_owned()).or_insert(number);
            self.next = self.next.max(number.saturating_add(1));
        }
        self.read_to += bytes.iter().rposition(|byte| *byte == b'\n').map_or(0, |end| end as u64 + 1);
        let mut new = String::new();
        let mut numbers = Vec::with_capacity(records.len());
        for record in records {
            // A line is all that a name may be here.
            if record.is_empty() || record.contains(char::is_control) {
                numbers.push(None);
                continue;
            }
            let number = self.known.get(*record).copied().unwrap_or_else(|| {
                let number = self.next;
                self.next = number.saturating_add(1);
                new.push_str(&format!("{number} {record}\n"));
                self.known.insert((*record).to_owned(), number);
                number
            });
            numbers.push(Some(number));
        }
        if !new.is_empty() {
            let written = file
                .set_len(self.read_to)
                .and_then(|()| file.seek(SeekFrom::Start(self.read_to)))
                .and_then(|_| file.write_all(new.as_bytes()))
                .and_then(|()| file.sync_all());
            if let Err(error) = written {
                // A number counts only once it is on the disk.
                *self = Self::of(&self.folder);
                return Err(error.into());
            }
            self.read_to += new.len() as u64;
        }
        Ok(numbers)
    }
}

/// The file, held against everybody else who gives numbers.
fn locked(folder: &Path) -> Result<File, RecordsError> {
    let path = path(folder);
    loop {
        let file = OpenOptions::new().create(true).truncate(false).read(true).write(true).open(&path)?;
        file.file().lock()?;
        // Somebody may have taken it away while this one waited.
        if still_names(&path, &file).is_ok() {
            return Ok(file);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_is_given_once_and_a_torn_line_is_no_number() {
        let folder = tempfile::tempdir().unwrap();
        assert_eq!(give(folder.path(), &["a", "b"]).unwrap(), [Some(1), Some(2)]);
        assert_eq!(give(folder.path(), &["b", "c\nd", "e"]).unwrap(), [Some(2), None, Some(3)]);
        let path = folder.path().join(NUMBERS);
        let whole = std::fs::read(&path).unwrap();
        std::fs::write(&path, [&whole[..], b"4 tor"].concat()).unwrap();
        assert_eq!((number_of(folder.path(), "tor"), record_of(folder.path(), "4")), (None, None));
        assert_eq!(give(folder.path(), &["f"]).unwrap(), [Some(4)]);
        assert_eq!(record_of(folder.path(), "4").as_deref(), Some("f"));
        assert_eq!(std::fs::read_to_string(&path).unwrap(), "1 a\n2 b\n3 e\n4 f\n");
    }

    #[test]
    fn numbers_that_are_kept_see_what_others_wrote_since_and_a_file_that_was_put_in_its_place() {
        let folder = tempfile::tempdir().unwrap();
        let mut kept = Numbers::of(folder.path());
        assert_eq!(kept.give(&["a"]).unwrap(), [Some(1)]);
        assert_eq!(give(folder.path(), &["b"]).unwrap(), [Some(2)]);
        let path = folder.path().join(NUMBERS);
        let whole = std::fs::read(&path).unwrap();
        std::fs::write(&path, [&whole[..], b"3 tor"].concat()).unwrap();
        assert_eq!(kept.give(&["c", "b", "a"]).unwrap(), [Some(3), Some(2), Some(1)]);
        assert_eq!(std::fs::read_to_string(&path).unwrap(), "1 a\n2 b\n3 c\n");
        std::fs::write(&path, "7 x\n").unwrap();
        assert_eq!(kept.give(&["a"]).unwrap(), [Some(8)]);
    }

    #[test]
    fn two_at_once_never_give_the_same_number() {
        let folder = tempfile::tempdir().unwrap();
        std::thread::scope(|scope| {
            for writer in 0..4 {
                let folder = folder.path();
                scope.spawn(move || {
                    for record in 0..25 {
                        give(folder, &[&format!("{writer}-{record}")]).unwrap();
                    }
                });
            }
        });
        let bytes = kept(folder.path());
        let mut numbers: Vec<u32> = lines(&bytes).map(|(number, _)| number).collect();
        numbers.sort_unstable();
        assert_eq!(numbers, (1..=100).collect::<Vec<u32>>());
    }
}
