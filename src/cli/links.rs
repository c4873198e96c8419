//! The checks after the repair that name a record: the link stands in the later one.

use super::error::CliError;
use super::output::Output;
use super::report::state;
use super::store::{self, JOURNAL, Store};
use crate::model::event::{Entry, Event, Link, LinkKind};
use crate::model::record::Record;
use crate::report::material::Later;
use crate::report::table::harmless;
use std::io::{BufRead, Read};
use std::path::Path;

/// A first line is no longer than this; what is longer was not written by this program.
const LONGEST_FIRST_LINE: u64 = 1 << 20;

/// The checks after the repair of the record of this name, whose journal has these bytes; oldest first. One that can't be
/// read whole is said and left out.
///
/// There may be thousands of records beside it. A name begins with the day, so that those of earlier days are not looked
/// into; of the others only the first line is read.
pub fn checks_of(store: &Store, name: &str, bytes: &[u8], output: &mut Output) -> Result<Vec<Later>, CliError> {
    let mut checks = Vec::new();
    for other in store.folders()? {
        if other == name || is_of_an_earlier_day(&other, name) {
            continue;
        }
        let path = store.folder().join(&other).join(JOURNAL);
        if let Some(link) = link_to(&path, name) {
            match later(&path, &other, bytes, &link) {
                Ok(check) => checks.push(check),
                Err(error) => {
                    output.note(&format!("note: {} is left out, a check after the repair: {error}", harmless(&other)));
                }
            }
        }
    }
    checks.sort_by(|one: &Later, other| {
        (one.record.began.second(), &one.name).cmp(&(other.record.began.second(), &other.name))
    });
    Ok(checks)
}

/// The day that a record's name begins with, as `2026-01-05`; a record of a table has none.
fn day(name: &str) -> Option<&str> {
    let day = name.get(..10)?;
    let digits = |range: std::ops::Range<usize>| day[range].bytes().all(|byte| byte.is_ascii_digit());
    let dash = |at: usize| day.as_bytes()[at] == b'-';
    (digits(0..4) && dash(4) && digits(5..7) && dash(7) && digits(8..10)).then_some(day)
}

fn is_of_an_earlier_day(other: &str, name: &str) -> bool {
    matches!((day(other), day(name)), (Some(other), Some(day)) if other < day)
}

/// The link by which a journal calls itself the check after the repair of this record.
fn link_to(path: &Path, name: &str) -> Option<Link> {
    let file = std::fs::File::open(path).ok()?;
    let mut line = Vec::new();
    std::io::BufReader::new(file).take(LONGEST_FIRST_LINE).read_until(b'\n', &mut line).ok()?;
    // Most first lines name no other record, and need not be taken apart.
    if !line.windows(12).any(|part| part == b"after_repair") {
        return None;
    }
    match serde_json::from_slice(&line).ok()? {
        Entry { event: Event::Started(started), .. } => started.link.filter(|link| {
            let named = Path::new(&link.record).file_name().and_then(std::ffi::OsStr::to_str);
            link.kind == LinkKind::AfterRepair && named == Some(name)
        }),
        _ => None,
    }
}

fn later(path: &Path, name: &str, checked: &[u8], link: &Link) -> Result<Later, CliError> {
    let bytes = fs_err::read(path)?;
    let back = store::parse(path, bytes.clone())?;
    let record = Record::of(&back.entries).map_err(|error| CliError::file(path, error))?;
    Ok(Later { name: name.to_owned(), journal_sha256: back.sha256(), record, state: state(checked, link) })
}
