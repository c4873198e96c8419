//! Records that a record is linked with: the one that it came out of, and the checks after the repair that name it.

use crate::cli::digest::{digest, hex};
use crate::cli::error::CliError;
use crate::cli::journal_file::{first_entry, parse};
use crate::cli::store::{Found, JOURNAL, Store};
use crate::cli::terminal::output::Output;
use crate::model::event::{Entry, Event, Link, LinkKind};
use crate::model::record::Record;
use crate::model::source::SourceKind;
use crate::report::material::{Earlier, Later, LinkState};
use crate::report::table::harmless;
use jiff::civil::Date;
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::path::Path;

/// The checks after the repair of the record of this name, whose journal has these bytes; oldest first. One that can't be
/// read whole is said and left out. A check that was finished with an edited procedure is the record that it was finished in.
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
    output: &mut Output,
) -> Result<Vec<Later>, CliError> {
    let mut checks = checks_in(store, |_| true, name, record, bytes, output)?;
    let elsewhere = here.folder().canonicalize().is_ok_and(|here| here != store.folder());
    if elsewhere {
        // There a name alone is that of a record there.
        let meant = |link: &Link| link.record.contains('/') && state(bytes, link) != LinkState::Changed;
        checks.extend(checks_in(here, meant, name, record, bytes, output)?);
    }
    checks.sort_by(|one: &Later, other| {
        (one.record.began.second(), &one.name).cmp(&(other.record.began.second(), &other.name))
    });
    Ok(checks)
}

/// The checks in one folder of records, of the links that are `meant`.
fn checks_in(
    store: &Store,
    meant: impl Fn(&Link) -> bool,
    name: &str,
    record: &Record,
    bytes: &[u8],
    output: &mut Output,
) -> Result<Vec<Later>, CliError> {
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
    let mut checks = Vec::new();
    for (check, link) in begun {
        for last in last_of(check, &finished) {
            match later(store, &last, bytes, &link) {
                Ok(check) => checks.push(check),
                Err(error) => {
                    let last = harmless(&last);
                    output.note(&format!("note: the report goes without the check {last}: {error}"));
                }
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
    match first_entry(path, names_another)? {
        Entry { event: Event::Started(started), .. } => {
            let link = started.link?;
            let named = Path::new(&link.record).file_name()?.to_str()?.to_owned();
            Some((link, named))
        }
        _ => None,
    }
}

fn later(store: &Store, name: &str, checked: &[u8], link: &Link) -> Result<Later, CliError> {
    let path = store.folder().join(name).join(JOURNAL);
    let back = parse(&path, fs_err::read(&path)?)?;
    let record = Record::of(&back.entries).map_err(|error| CliError::file(&path, error))?;
    Ok(Later { name: name.to_owned(), journal_sha256: back.sha256(), record, state: state(checked, link) })
}

/// The record that a link names, held against the link's digest; `None` where it can't be read, which is said.
pub fn earlier(store: &Store, link: &Link, output: &mut Output) -> Option<Earlier> {
    let read = || -> Result<Earlier, CliError> {
        let found = linked(store, link)?;
        let back = parse(&found.journal, found.bytes)?;
        let record = Record::of(&back.entries).map_err(|error| CliError::file(&found.journal, error))?;
        let meter = match record.started.sources.iter().find(|source| source.kind == SourceKind::Meter) {
            Some(source) => toml::from_str(&found.store.kept(source)?).ok(),
            None => None,
        };
        Ok(Earlier { name: found.name, meter, state: state(back.bytes(), link), record })
    };
    read()
        .map_err(|error| {
            output.note(&format!("note: the report goes without {}: {error}", harmless(&link.record)));
        })
        .ok()
}

/// The record that a link names, as it is found from a record in this folder. A path may be one that was typed long ago from
/// another folder, or the record may have moved with its folder: then one of its name that lies here and that the digest is
/// of is the one.
fn linked(store: &Store, link: &Link) -> Result<Found, CliError> {
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
