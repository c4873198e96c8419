//! A record with all that it depends on, in one tar file: written, and taken out again.

use crate::model::event::Event;
use crate::model::source::SourceRef;
use crate::records::bounded;
use crate::records::chain::Lines;
use crate::records::digest::{digest, is_digest};
use crate::records::error::RecordsError;
use crate::records::store::{JOURNAL, Store};
use crate::records::whole_file;
use std::collections::BTreeSet;
use std::io::{Read, Write};
use std::path::{Path, PathBuf};

/// No pack of one record is larger.
const LARGEST: u64 = 256 * 1024 * 1024;

/// No pack has more files.
const MOST_ENTRIES: usize = 1000;

/// No name in a pack is longer, in bytes: a folder's name has at most 255 where it is unpacked.
const LONGEST_NAME: u64 = 255;

/// A packed record.
pub struct Packed {
    /// The record.
    pub name: String,
    /// How many sources it depends on.
    pub sources: usize,
    /// Where it was written to.
    pub file: PathBuf,
}

/// Packs a record into a file that must not be there, beside where one stands if nothing else is said.
pub fn write(store: &Store, given: &str, out: Option<&Path>) -> Result<Packed, RecordsError> {
    let path = store.path_of(given)?;
    let name = path.file_name().and_then(|name| name.to_str()).unwrap_or(given).to_owned();
    let bytes = bounded::journal(&path.join(JOURNAL))?;
    if let Some((_, newer)) = Lines::of(&bytes).newer() {
        return Err(RecordsError::file(&path.join(JOURNAL), newer));
    }
    let store = Store::of(&path);
    let mut archive = tar::Builder::new(Vec::new());
    add(&mut archive, &format!("{name}/{JOURNAL}"), &bytes)?;
    let mut sources = 0;
    for sha256 in digests(&bytes) {
        let source = bounded::source(&store.folder().join("sources").join(&sha256), &sha256)?;
        if digest(&source) != sha256 {
            return Err(RecordsError::PackedCopyChanged { name, sha256 });
        }
        add(&mut archive, &format!("sources/{sha256}"), &source)?;
        sources += 1;
    }
    let packed = archive.into_inner()?;
    if packed.len() as u64 > LARGEST || sources >= MOST_ENTRIES {
        let megabytes = LARGEST / 1024 / 1024;
        let sentence =
            format!("{name} with its sources is larger than a pack may be: {megabytes} MB, {MOST_ENTRIES} files");
        return Err(bounded::too_large(&path, sentence));
    }
    let out = out.map_or_else(|| PathBuf::from(format!("{name}.tar")), Path::to_owned);
    let folder = out.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut file = whole_file::begin(folder, ".pack-", true)?;
    file.write_all(&packed)?;
    file.as_file().sync_all()?;
    file.persist_noclobber(&out).map_err(|error| {
        if error.error.kind() == std::io::ErrorKind::AlreadyExists {
            RecordsError::Taken { path: out.clone() }
        } else {
            RecordsError::Files(format!("{}: {}", out.display(), error.error))
        }
    })?;
    Ok(Packed { name, sources, file: out })
}

/// The digests that a journal names.
fn digests(bytes: &[u8]) -> BTreeSet<String> {
    let mut digests = BTreeSet::new();
    let mut add = |source: &SourceRef| {
        if is_digest(&source.sha256) {
            digests.insert(source.sha256.clone());
        }
    };
    for line in &Lines::of(bytes).lines {
        match line.entry.as_ref().map(|entry| &entry.event) {
            Ok(Event::Started(started)) => started.sources.iter().for_each(&mut add),
            Ok(Event::Stated(statement)) => add(&statement.people),
            _ => {}
        }
    }
    digests
}

/// The same bytes whenever and by whomever it is packed.
fn add(archive: &mut tar::Builder<Vec<u8>>, name: &str, bytes: &[u8]) -> Result<(), RecordsError> {
    let mut header = tar::Header::new_gnu();
    header.set_size(bytes.len() as u64);
    header.set_mode(0o644);
    header.set_mtime(0);
    header.set_entry_type(tar::EntryType::Regular);
    archive.append_data(&mut header, name, bytes)?;
    Ok(())
}

/// Unpacks into a folder of its own and gives the record's name. Nothing but one journal and sources under their digests
/// is taken.
pub fn unpack(file: &Path, into: &Path) -> Result<String, RecordsError> {
    let refuse = |problem: String| RecordsError::file(file, format!("this is not a packed record: {problem}"));
    let mut archive = tar::Archive::new(fs_err::File::open(file)?.take(LARGEST));
    let mut record: Option<String> = None;
    fs_err::create_dir(into.join("sources"))?;
    // What the library says of a file that is no archive has that file's content in it.
    let unread = |error: std::io::Error| match error.raw_os_error() {
        Some(_) => RecordsError::from(error),
        None => refuse("it can't be read as what `ohmwright pack` writes".to_owned()),
    };
    let mut long_name: Option<String> = None;
    // Raw: the library reads a long name whole, however long it is, before anybody sees it.
    for (number, entry) in archive.entries().map_err(unread)?.raw(true).enumerate() {
        let mut entry = entry.map_err(unread)?;
        if number >= MOST_ENTRIES {
            return Err(refuse(format!("it has more than {MOST_ENTRIES} files")));
        }
        let kind = entry.header().entry_type();
        if kind == tar::EntryType::GNULongName {
            // With its end, a zero byte.
            if entry.size() > LONGEST_NAME + 1 {
                return Err(refuse(format!("a name in it is longer than {LONGEST_NAME} bytes")));
            }
            let mut name = Vec::new();
            entry.read_to_end(&mut name).map_err(unread)?;
            let name = name.strip_suffix(b"\0").unwrap_or(&name);
            long_name = Some(String::from_utf8_lossy(name).into_owned());
            continue;
        }
        let in_header = entry.path().map_err(unread)?.to_string_lossy().into_owned();
        let path = long_name.take().unwrap_or(in_header);
        if kind != tar::EntryType::Regular {
            return Err(refuse(format!("{path} is not a file")));
        }
        let parts: Vec<&str> = path.split('/').collect();
        let (target, most) = match parts.as_slice() {
            ["sources", sha256] if is_digest(sha256) => (into.join("sources").join(sha256), bounded::LARGEST_SOURCE),
            [name, JOURNAL] if is_name(name) && record.is_none() => {
                record = Some((*name).to_owned());
                fs_err::create_dir(into.join(name))?;
                (into.join(name).join(JOURNAL), bounded::LARGEST_JOURNAL)
            }
            _ => return Err(refuse(format!("{path} does not belong into one"))),
        };
        if entry.size() > most {
            return Err(refuse(format!("{path} in it is longer than {} MB", most / 1024 / 1024)));
        }
        let mut bytes = Vec::new();
        entry.read_to_end(&mut bytes).map_err(unread)?;
        fs_err::write(&target, bytes)?;
    }
    record.ok_or_else(|| refuse("it has no journal".to_owned()))
}

fn is_name(name: &str) -> bool {
    !matches!(name, "" | "." | ".." | "sources") && !name.contains('\\')
}
