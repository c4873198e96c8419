//! Records that a record is linked with: the one that it came out of, and the checks after the repair that name it.

use crate::model::link::{Link, LinkKind};
use crate::model::link_state::LinkState;
use crate::model::record::Record;
use crate::records::bounded;
use crate::records::digest::{digest, hex};
use crate::records::error::RecordsError;
use crate::records::journal_file::parse;
use crate::records::store::{Found, JOURNAL, Store};
use crate::records::summary::RecordSummary;
use jiff::civil::Date;
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::path::Path;

/// A record that a link names, or that names another.
pub struct LinkedRecord {
    /// Its name.
    pub name: String,
    /// What it holds.
    pub record: Record,
    /// SHA-256 of its journal.
    pub journal_sha256: String,
    /// How the record that the link names stands against the link's digest.
    pub state: LinkState,
    /// The folder of records that it lies in.
    pub store: Store,
}

/// The checks after the repair of a record.
#[derive(Default)]
pub struct Checks {
    /// Those that can be read, oldest first.
    pub found: Vec<LinkedRecord>,
    /// The names of the others, and why.
    pub unreadable: Vec<(String, RecordsError)>,
}

/// The checks after the repair of the record of this name, whose journal has these bytes. A check that was finished with an edited procedure is the record that it was finished in.
///
/// They lie beside it, or among the records `here`, if it is one from elsewhere.
///
/// There may be thousands of records beside it. No check was begun before the record was, and a name begins with the day on
/// which it was begun, so that those of earlier days are not looked into; of the others only the first line is read.
pub fn checks_of(
    (store, here): (&Store, &Store),
    name: &str,
    record: &Record,
    bytes: &[u8],
) -> Result<Checks, RecordsError> {
    let mut checks = checks_in(store, |_| true, name, record, bytes)?;
    let elsewhere = here.folder().canonicalize().is_ok_and(|here| here != store.folder());
    if elsewhere {
        // There a name alone is that of a record there.
        let meant = |link: &Link| link.record.contains('/') && state(bytes, link) != LinkState::Changed;
        let there = checks_in(here, meant, name, record, bytes)?;
        checks.found.extend(there.found);
        checks.unreadable.extend(there.unreadable);
    }
    checks
        .found
        .sort_by(|one, other| (one.record.began.second(), &one.name).cmp(&(other.record.began.second(), &other.name)));
    Ok(checks)
}

/// The checks in one folder of records, of the links that are `meant`.
fn checks_in(
    store: &Store,
    meant: impl Fn(&Link) -> bool,
    name: &str,
    record: &Record,
    bytes: &[u8],
) -> Result<Checks, RecordsError> {
    let oldest = day_before(record);
    let others = store.names_of(|other| {
        let day = other.get(..10).and_then(day);
        other != name && !matches!((day, oldest), (Some(day), Some(oldest)) if day < oldest)
    })?;
    let mut begun: Vec<(String, Link)> = Vec::new();
    // What was begun anew with an edited procedure, by the name of the record that it came out of.
    let mut finished: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for other in others {
        let Some((link, named)) = link_of(&store.folder().join(&other).join(JOURNAL)) else { continue };
        match link.kind {
            LinkKind::AfterRepair if named == name && meant(&link) => begun.push((other, link)),
            LinkKind::EditedProcedure => finished.entry(named).or_default().push(other),
            LinkKind::AfterRepair | LinkKind::ChangedRow => {}
        }
    }
    let mut checks = Checks::default();
    for (check, link) in begun {
        for last in last_of(check, &finished) {
            match later(store, &last, bytes, &link) {
                Ok(check) => checks.found.push(check),
                Err(error) => checks.unreadable.push((last, error)),
            }
        }
    }
    Ok(checks)
}

/// The day before the record was begun: a clock may be a little behind, or stand in another zone. Nothing where the record
/// has no time.
fn day_before(record: &Record) -> Option<Date> {
    record.began.as_str().get(..10).and_then(day)?.yesterday().ok()
}

fn day(text: &str) -> Option<Date> {
    text.parse().ok()
}

/// Where a run was finished: itself, or what was begun anew out of it with an edited procedure.
fn last_of(first: String, finished: &BTreeMap<String, Vec<String>>) -> Vec<String> {
    let mut last = Vec::new();
    let mut seen = Vec::new();
    let mut open = vec![first];
    while let Some(name) = open.pop() {
        if seen.contains(&name) {
            continue;
        }
        match finished.get(&name) {
            Some(further) => open.extend(further.iter().cloned()),
            None => last.push(name.clone()),
        }
        seen.push(name);
    }
    last
}

/// The link that a journal begins with, and the name of the record that it names.
fn link_of(path: &Path) -> Option<(Link, String)> {
    // Most first lines name no other record, and need not be taken apart.
    let names_another = |line: &[u8]| {
        let has = |word: &[u8]| line.windows(word.len()).any(|part| part == word);
        has(b"after_repair") || has(b"edited_procedure")
    };
    let link = RecordSummary::of_first_line(path, names_another)?.link?;
    let named = Path::new(&link.record).file_name()?.to_str()?.to_owned();
    Some((link, named))
}

fn later(store: &Store, name: &str, checked: &[u8], link: &Link) -> Result<LinkedRecord, RecordsError> {
    let path = store.folder().join(name).join(JOURNAL);
    let back = parse(&path, bounded::journal(&path)?)?;
    let record = Record::of(&back.entries).map_err(|error| RecordsError::file(&path, error))?;
    Ok(LinkedRecord {
        name: name.to_owned(),
        journal_sha256: back.sha256(),
        record,
        state: state(checked, link),
        store: store.clone(),
    })
}

/// The record that a link names, held against the link's digest.
pub fn earlier(store: &Store, link: &Link) -> Result<LinkedRecord, RecordsError> {
    let found = linked(store, link)?;
    let back = parse(&found.journal, found.bytes)?;
    let record = Record::of(&back.entries).map_err(|error| RecordsError::file(&found.journal, error))?;
    Ok(LinkedRecord {
        name: found.name,
        journal_sha256: back.sha256(),
        record,
        state: state(back.bytes(), link),
        store: found.store,
    })
}

/// The record that a link names, as it is found from a record in this folder. A path may be one that was typed long ago from
/// another folder, or the record may have moved with its folder: then one of its name that lies here and that the digest is
/// of is the one.
fn linked(store: &Store, link: &Link) -> Result<Found, RecordsError> {
    let plain = Path::new(&link.record).file_name().and_then(|name| name.to_str()).unwrap_or(&link.record);
    let beside = store.find_whole(plain)?;
    if !link.record.contains('/') {
        return beside.map_or_else(|| store.find(&link.record), Ok);
    }
    match beside {
        Some(beside) if state(&beside.bytes, link) != LinkState::Changed => Ok(beside),
        beside => match (store.find(&link.record), beside) {
            (Ok(found), _) => Ok(found),
            (Err(_), Some(beside)) => Ok(beside),
            (Err(error), None) => Err(error),
        },
    }
}

/// Whether a journal is what it was when a link to it was made, or begins with that.
fn state(bytes: &[u8], link: &Link) -> LinkState {
    if digest(bytes) == link.sha256 {
        return LinkState::Same;
    }
    let mut hasher = Sha256::new();
    for line in bytes.split_inclusive(|byte| *byte == b'\n') {
        hasher.update(line);
        if hex(&hasher.clone().finalize()) == link.sha256 {
            return LinkState::Continued;
        }
    }
    LinkState::Changed
}
