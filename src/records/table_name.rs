//! What a table's records are called: two tables of one name do not take each other's place.

use crate::records::bounded;
use crate::records::error::RecordsError;
use crate::records::store::{JOURNAL, Store, slug};
use crate::records::summary::RecordSummary;
use fs_err::File;
use std::collections::BTreeMap;
use std::io::{Seek, Write};
use std::path::Path;

/// A table's name among records, held against other processes while it lives.
pub struct TableName {
    /// The beginning of the records' names.
    pub prefix: String,
    /// The other table whose file has the same name, where this one is new here.
    pub namesake: Option<String>,
    _lock: File,
}

impl TableName {
    /// The name that this table's records of a procedure have, or will have: that of its file, unless another table has it.
    ///
    /// # Errors
    /// Another process works on the table, or the folder of records can't be written.
    pub fn claim(store: &Store, table: &Path, procedure: &str) -> Result<Self, RecordsError> {
        let stem = table.file_stem().and_then(|stem| stem.to_str()).unwrap_or("table");
        let whole = fs_err::canonicalize(table)?.to_string_lossy().into_owned();
        loop {
            let prefix = free(store, &slug(stem), &slug(procedure), &whole);
            let mut namesake = None;
            let mut lock = store.lock_table(&prefix)?;
            match holder(store, &prefix) {
                Some(now) if now == whole => {}
                // Another process was quicker.
                Some(other) if Path::new(&other).is_file() => continue,
                _ => {
                    lock.set_len(0)?;
                    lock.rewind()?;
                    lock.write_all(whole.as_bytes())?;
                    lock.sync_all()?;
                    namesake = holder(store, &named(&slug(stem), &slug(procedure), 1)).filter(|other| *other != whole);
                }
            }
            return Ok(Self { prefix, namesake, _lock: lock });
        }
    }
}

fn named(stem: &str, procedure: &str, number: u64) -> String {
    if number == 1 { format!("{stem}-{procedure}") } else { format!("{stem}-{number}-{procedure}") }
}

/// The name that this table has already; else the first one that no table has that is still there.
fn free(store: &Store, stem: &str, procedure: &str, whole: &str) -> String {
    let mut first = None;
    for number in 1.. {
        let name = named(stem, procedure, number);
        match holder(store, &name) {
            Some(holder) if holder == whole => return name,
            Some(holder) if Path::new(&holder).is_file() => {}
            // Its table was moved, perhaps to here.
            Some(_) => _ = first.get_or_insert(name),
            None => return first.unwrap_or(name),
        }
    }
    named(stem, procedure, 1)
}

/// No path is longer, in bytes.
const LONGEST_PATH: u64 = 64 * 1024;

/// The table that has a name; older programs did not write down which.
fn holder(store: &Store, name: &str) -> Option<String> {
    let text = String::from_utf8(bounded::read(&store.table_lock(name), LONGEST_PATH).ok()??).ok()?;
    Some(text).filter(|text| !text.is_empty())
}

/// The rows of a table that were recorded before.
#[derive(Default)]
pub struct RecordedRows(BTreeMap<String, Vec<String>>);

impl RecordedRows {
    /// Of all records whose names begin with `prefix`; of each only the first line is read.
    pub fn of(store: &Store, prefix: &str) -> Result<Self, RecordsError> {
        let begins = format!("{prefix}-row-");
        let mut rows: BTreeMap<String, Vec<String>> = BTreeMap::new();
        for name in store.names_of(|name| name.starts_with(&begins))? {
            let summary = RecordSummary::of_first_line(&store.folder().join(&name).join(JOURNAL), |_| true);
            if let Some(row) = summary.and_then(|summary| summary.row) {
                rows.entry(row.sha256).or_default().push(name);
            }
        }
        Ok(Self(rows))
    }

    /// The records of rows with these very cells, wherever they stood; oldest first by name.
    pub fn with_cells(&self, sha256: &str) -> &[String] {
        self.0.get(sha256).map_or(&[], Vec::as_slice)
    }
}
