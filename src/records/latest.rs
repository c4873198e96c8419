//! The latest record: the one at which a run of this station sat down last, whatever the times of files say. A copied file
//! is a new file, and a person who signs without a name means what was just done here.

use crate::model::event::Event;
use crate::model::id::RecordId;
use crate::model::started::Station;
use crate::records::bounded;
use crate::records::digest::digest;
use crate::records::error::RecordsError;
use crate::records::journal_file::has_first_line;
use crate::records::line::LineReader;
use crate::records::store::{JOURNAL, Store, slug};
use crate::records::summary::RecordSummary;
use crate::records::whole_file;
use serde::{Deserialize, Serialize};
use std::io::{Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

/// What the names of the files begin with that say which record of a station is the latest.
pub const POINTER: &str = ".latest-";

/// No pointer is longer, in bytes.
const LONGEST_POINTER: u64 = 4096;

/// Which record is the latest of a station.
#[derive(Serialize, Deserialize)]
struct Pointer {
    record: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    id: Option<RecordId>,
}

/// Names of two stations that come to the same plain letters have different ends.
fn pointer_path(store: &Store, station: Option<&Station>) -> PathBuf {
    let name = station.map_or("", Station::as_str);
    store.folder().join(format!("{POINTER}{}-{}", slug(name), &digest(name.as_bytes())[..8]))
}

/// Says that a sitting of this station began in a record.
///
/// # Errors
/// The folder of records can't be written.
pub fn mark(store: &Store, station: Option<&Station>, record: &str, id: Option<RecordId>) -> Result<(), RecordsError> {
    let pointer = Pointer { record: record.to_owned(), id };
    let text = serde_json::to_string(&pointer).map_err(|error| RecordsError::Files(error.to_string()))?;
    let mut file = whole_file::begin(store.folder(), ".new-", true)?;
    file.write_all(text.as_bytes())?;
    let path = pointer_path(store, station);
    file.persist(&path).map_err(|error| RecordsError::Files(format!("{}: {}", path.display(), error.error)))?;
    Ok(())
}

/// Takes the pointer away: until it is set again, the times of the records' last lines tell.
///
/// # Errors
/// The folder of records can't be written.
pub fn forget(store: &Store, station: Option<&Station>) -> Result<(), RecordsError> {
    match fs_err::remove_file(pointer_path(store, station)) {
        Err(error) if error.kind() != std::io::ErrorKind::NotFound => Err(error.into()),
        _ => Ok(()),
    }
}

/// The record that the pointer names, if it is there still and is the one that was meant.
pub fn pointed(store: &Store, station: Option<&Station>) -> Option<String> {
    let bytes = bounded::read(&pointer_path(store, station), LONGEST_POINTER).ok()??;
    let Pointer { record, id } = serde_json::from_slice(&bytes).ok()?;
    let is_name = !record.is_empty() && !record.contains('/') && record != "." && record != "..";
    let journal = store.folder().join(&record).join(JOURNAL);
    if !is_name || !journal.is_file() || !has_first_line(&journal) {
        return None;
    }
    // One that can't be read counts, too: its reader is told why.
    let is_another = id.is_some() && begins_with(&journal).is_some_and(|found| found != id);
    (!is_another).then_some(record)
}

/// The id that a journal's first line has, if it has one; nothing where that line can't be read.
fn begins_with(journal: &Path) -> Option<Option<RecordId>> {
    RecordSummary::of_first_line(journal, |_| true).map(|summary| summary.id)
}

/// The record that is meant where none is named: the one that the pointer names, else the one of this station, or of a
/// program that did not say the station, whose last line is the latest.
///
/// # Errors
/// There is none, or the folder can't be read.
pub fn latest(store: &Store, station: Option<&Station>) -> Result<String, RecordsError> {
    if let Some(record) = pointed(store, station) {
        return Ok(record);
    }
    let journal = |name: &str| store.folder().join(name).join(JOURNAL);
    let names: Vec<String> = store.names()?.into_iter().filter(|name| has_first_line(&journal(name))).collect();
    let mut dated: Vec<(i64, String)> =
        names.into_iter().map(|name| (last_second(&journal(&name)).unwrap_or(i64::MIN), name)).collect();
    let Some((_, other)) = dated.first().cloned() else {
        return Err(RecordsError::NoRecords { folder: store.folder().to_owned() });
    };
    dated.sort();
    let is_own = |name: &str| is_from(&journal(name), station);
    let Some((second, found)) = dated.iter().rev().find(|(_, name)| is_own(name)) else {
        let station = station.map(|station| format!(" ({station})")).unwrap_or_default();
        return Err(RecordsError::NoneFromHere { folder: store.folder().to_owned(), station, other });
    };
    // A copy under another name has the same id; the first name is the record's own.
    let id = begins_with(&journal(found)).flatten();
    let same = |name: &str| id.is_some() && begins_with(&journal(name)).flatten() == id;
    let copies = dated.iter().filter(|(at, name)| at == second && (name == found || same(name)));
    let original = copies.map(|(_, name)| name).min_by_key(|name| (name.len(), (*name).clone()));
    Ok(original.unwrap_or(found).clone())
}

/// Whether the last sitting of a record was at this station. What does not say so may have been.
fn is_from(journal: &Path, station: Option<&Station>) -> bool {
    // Its reader is told why it can't be read.
    let Ok(bytes) = bounded::journal(journal) else { return true };
    let mut from = None;
    let mut reader = LineReader::new();
    for line in bytes.split(|byte| *byte == b'\n') {
        // What can't be read, or is a newer program's, does not say otherwise.
        let Ok(entry) = reader.read(line) else { continue };
        if let Some(station) = station_of(&entry.event) {
            from = station.cloned();
        }
    }
    from.is_none() || from.as_ref() == station
}

/// Where an event says that a sitting begins.
fn station_of(event: &Event) -> Option<Option<&Station>> {
    match event {
        Event::Started(started) => Some(started.station.as_ref()),
        Event::Continued(sitting) => Some(sitting.station.as_ref()),
        _ => None,
    }
}

/// The time of the last whole line of a journal that has one. Mostly only the end of the file is read.
fn last_second(journal: &Path) -> Option<i64> {
    let mut file = std::fs::File::open(journal).ok()?;
    let length = file.metadata().ok()?.len().min(bounded::LARGEST_JOURNAL);
    let mut part = 4096;
    loop {
        let start = length.saturating_sub(part);
        file.seek(SeekFrom::Start(start)).ok()?;
        let mut end = Vec::new();
        (&mut file).take(length - start).read_to_end(&mut end).ok()?;
        let whole = &end[..end.iter().rposition(|byte| *byte == b'\n')?];
        let mut lines = whole.rsplit(|byte| *byte == b'\n').peekable();
        while let Some(line) = lines.next() {
            // The first one may have its beginning before this part.
            let is_all_there = start == 0 || lines.peek().is_some();
            if let Some(second) = second_of(line).filter(|_| is_all_there) {
                return Some(second);
            }
        }
        if start == 0 {
            return None;
        }
        part *= 8;
    }
}

fn second_of(line: &[u8]) -> Option<i64> {
    #[derive(Deserialize)]
    struct At {
        at: crate::model::stamp::Stamp,
    }
    serde_json::from_slice::<At>(line).ok()?.at.second()
}
