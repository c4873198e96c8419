//! A procedure over a table: a record for each row, and what came of all of them.

use crate::records::numbers::Numbers;
use crate::records::store::JOURNAL;
use crate::records::summary::RecordSummary;
use crate::records::table_name::{RecordedRows, TableName};
use crate::records::whole_file;
use crate::report::csv::tame;
use crate::report::one_line::plain;
use crate::shop::begin::SIMULATED;
use crate::shop::error::ShopError;
use crate::shop::loaded::{Loaded, for_bench};
use crate::shop::people::unlisted;
use crate::shop::settings::Settings;
use crate::shop::table::columns::Columns;
use crate::shop::table::lines::{Counted, Lines};
use crate::shop::table::row::Table;
use crate::shop::table::row_bench::RowBench;
use crate::shop::table::row_result::{RowOutcome, RowResult};
use crate::shop::table::text::TableText;
use crate::shop::text_file::BYTE_ORDER_MARK;
use crate::shop::workers::workers;
use csv::StringRecord;
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use std::io::Write;
use std::path::{Path, PathBuf};

/// Rows that are worked on at a time: memory does not grow with the table.
const CHUNK: usize = 256;
/// Rows that are kept at most; of those at which somebody has to look, four times as many.
pub const SHOWN: usize = 60;
/// Notes on rows that are kept at most.
const NOTES: usize = 20;

/// A procedure and a table.
pub struct Batch<'a> {
    /// The procedure, by name or path.
    pub procedure: &'a str,
    /// The table.
    pub table: &'a Path,
    /// The simulated circuit that answers what the cells leave out: the procedure's own, where it has no name.
    pub bench: Option<Option<&'a str>>,
    /// The meter of rows that name none.
    pub meter: Option<String>,
    /// Where the summary goes, if not beside the records.
    pub summary: Option<&'a Path>,
}

/// What is told while a table is worked on.
pub enum Progress<'a> {
    /// The procedure was read, and nothing has been begun.
    Loaded(&'a Loaded),
    /// Another table's file has the same name, so that the records of this one have another.
    Namesake {
        /// The other table.
        other: String,
        /// What the names of this one's records begin with.
        prefix: String,
    },
    /// The first row is begun; the table has so many lines.
    Begun(u64),
    /// A row is done.
    Row,
    /// The last row is done.
    Done,
}

/// The result of a table.
#[derive(Default)]
pub struct BatchResult {
    /// How many rows there were.
    pub rows: usize,
    /// How many came to each cause, or to each outcome without one.
    pub tally: BTreeMap<String, usize>,
    /// The first rows, and those at which somebody has to look.
    pub shown: Vec<RowResult>,
    /// Rows that lack an answer.
    pub waiting: usize,
    /// Rows that could not be run.
    pub failed: usize,
    /// Rows that ended without a cause.
    pub ended: usize,
    /// Columns that no row was asked for.
    pub not_asked: Vec<String>,
    /// What else is to be said, of cells and of technicians.
    pub notes: Vec<String>,
    /// Where the summary lies.
    pub summary: PathBuf,
}

/// Runs a procedure over a table.
///
/// # Errors
/// The procedure, the circuit or the table is wrong, another process has the table, or something can't be written.
pub fn batch(
    settings: &Settings,
    batch: &Batch<'_>,
    told: &(dyn Fn(Progress<'_>) + Sync),
) -> Result<BatchResult, ShopError> {
    let mut loaded = Loaded::find(settings, batch.procedure)?;
    let bench = match batch.bench {
        Some(wanted) => {
            let (name, circuit) = for_bench(settings, &mut loaded, wanted)?;
            Some(RowBench::new(name, circuit))
        }
        None => None,
    };
    told(Progress::Loaded(&loaded));
    let mut rows = Rows::open(batch.table)?;
    let columns = Columns::of(&batch.table.display().to_string(), rows.names()?, &loaded, bench.is_some())?;
    let simulated = if bench.is_some() { SIMULATED } else { "" };
    let name = TableName::claim(&settings.store, batch.table, &format!("{}{simulated}", loaded.procedure.name))?;
    let prefix = &name.prefix;
    if let Some(other) = &name.namesake {
        told(Progress::Namesake { other: other.clone(), prefix: prefix.clone() });
    }
    let mut work = Table {
        settings,
        loaded: &loaded,
        table: batch.table.file_name().and_then(|name| name.to_str()).unwrap_or("table").to_owned(),
        prefix: prefix.clone(),
        before: RecordedRows::of(&settings.store, prefix)?,
        columns,
        meter: batch.meter.clone(),
        bench,
        meters: BTreeMap::new(),
    };
    work.prepare_meter()?;
    fs_err::create_dir_all(settings.store.folder())?;
    let beside_records = || settings.store.folder().join(format!("{prefix}-summary.csv"));
    let mut summary = Summary::begin(batch.summary.map_or_else(beside_records, Path::to_owned))?;
    let mut sum = Sum::default();
    let pool = workers()?;
    let mut numbers = Numbers::of(settings.store.folder());
    // Killed half way, the times of the records' lines tell which is the latest.
    settings.sits_at_a_table()?;
    let mut last = String::new();
    told(Progress::Begun(rows.lines_in_all));
    loop {
        let chunk = rows.next_chunk()?;
        if chunk.is_empty() {
            break;
        }
        for record in chunk.iter().filter_map(|(_, record)| record.as_ref().ok()) {
            work.prepare_meter_of(record)?;
            sum.technicians.extend(work.columns.cell(record, "technician"));
        }
        let mut records = Vec::new();
        for result in pool.install(|| run_rows(&work, &chunk, told))? {
            if !result.record.is_empty() && result.outcome != RowOutcome::AsBefore {
                last.clone_from(&result.record);
            }
            summary.row(&result)?;
            if !result.record.is_empty() {
                records.push(result.record.clone());
            }
            sum.add(result);
        }
        // In the order of the rows, whichever was done first. Without a number a record is called by its name.
        let named: Vec<&str> = records.iter().map(String::as_str).collect();
        _ = numbers.give(&named);
        summary.flush()?;
    }
    if !last.is_empty() {
        let journal = settings.store.folder().join(&last).join(JOURNAL);
        let id = RecordSummary::of_first_line(&journal, |_| true).and_then(|summary| summary.id);
        settings.sits_at(&last, id)?;
    }
    told(Progress::Done);
    if sum.result.rows == 0 {
        return Err(ShopError::file(batch.table, "the table has a header and no rows"));
    }
    let path = summary.finish()?;
    Ok(sum.finish(settings, &work.columns, path))
}

/// Runs the rows of a chunk side by side. One that can't be written is the disk's trouble and not the row's: no worker begins
/// another one.
fn run_rows(
    work: &Table<'_>,
    chunk: &[Row],
    told: &(dyn Fn(Progress<'_>) + Sync),
) -> Result<Vec<RowResult>, ShopError> {
    let run = |(line, record): &Row| {
        let result = match record {
            Ok(record) => work.row(*line, record),
            Err(error) => Ok(RowResult::failed(*line, String::new(), unreadable(*line, error))),
        };
        told(Progress::Row);
        result
    };
    chunk.par_iter().map(run).collect()
}

/// A row with the line on which it stands, or why it can't be read.
type Row = (u64, Result<StringRecord, csv::Error>);

/// The rows of a table, in order.
struct Rows<'a> {
    table: &'a Path,
    reader: csv::Reader<Counted<fs_err::File>>,
    lines: Lines,
    lines_in_all: u64,
    last_line: u64,
}

impl<'a> Rows<'a> {
    fn open(table: &'a Path) -> Result<Self, ShopError> {
        let text = TableText::look(table)?;
        let (counted, lines) = Counted::new(fs_err::File::open(table)?);
        let reader = csv::ReaderBuilder::new()
            .delimiter(text.delimiter)
            .flexible(true)
            .trim(csv::Trim::All)
            .from_reader(counted);
        Ok(Self { table, reader, lines, lines_in_all: text.lines, last_line: 0 })
    }

    /// The columns' names.
    fn names(&mut self) -> Result<Vec<String>, ShopError> {
        let names: Vec<String> = self
            .reader
            .headers()
            .map_err(|error| ShopError::file(self.table, unreadable(1, &error)))?
            .iter()
            .map(|name| name.trim_start_matches(BYTE_ORDER_MARK).to_owned())
            .collect();
        match names.is_empty() {
            true => Err(ShopError::file(self.table, "the table has no header: its first line names the columns")),
            false => Ok(names),
        }
    }

    /// The next rows, none where all were read.
    fn next_chunk(&mut self) -> Result<Vec<Row>, ShopError> {
        let mut chunk = Vec::with_capacity(CHUNK);
        for record in self.reader.records().take(CHUNK) {
            let byte = match &record {
                Ok(record) => record.position().map(csv::Position::byte),
                Err(error) => error.position().map(csv::Position::byte),
            };
            let line = self.lines.of(byte.unwrap_or(0));
            // Rows are told apart by their lines, and so are their records.
            if line <= self.last_line {
                let title = format!("line {line} holds two rows: end each with a line end");
                return Err(ShopError::file(self.table, title));
            }
            self.last_line = line;
            chunk.push((line, record));
        }
        Ok(chunk)
    }
}

/// Why a row can't be read, and what to do.
fn unreadable(line: u64, error: &csv::Error) -> String {
    match error.kind() {
        csv::ErrorKind::Utf8 { .. } => format!("row {line} is not UTF-8 text: save the table as UTF-8"),
        _ => format!("row {line} can't be read: {error}"),
    }
}

/// The summary, a line a row. It takes its place once it is whole.
struct Summary {
    path: PathBuf,
    temporary: tempfile::NamedTempFile,
    pending: csv::Writer<Vec<u8>>,
}

fn wrong(error: csv::Error) -> ShopError {
    ShopError::Files(error.to_string())
}

impl Summary {
    fn begin(path: PathBuf) -> Result<Self, ShopError> {
        let temporary = beside(&path)?;
        let mut pending = csv::Writer::from_writer(Vec::new());
        pending.write_record(["row", "vehicle", "outcome", "causes", "detail", "record"]).map_err(wrong)?;
        Ok(Self { path, temporary, pending })
    }

    fn row(&mut self, row: &RowResult) -> Result<(), ShopError> {
        let line = row.line.to_string();
        let cell = |text: &str| tame(&plain(text));
        let (vehicle, cause, detail, record) =
            (cell(&row.vehicle), plain(&row.cause), cell(&row.detail), plain(&row.record));
        self.pending.write_record([&line, &vehicle, row.outcome.word(), &cause, &detail, &record]).map_err(wrong)
    }

    fn flush(&mut self) -> Result<(), ShopError> {
        let whole = std::mem::replace(&mut self.pending, csv::Writer::from_writer(Vec::new()));
        let bytes = whole.into_inner().map_err(|error| ShopError::Files(error.to_string()))?;
        self.temporary.write_all(&bytes)?;
        Ok(())
    }

    fn finish(self) -> Result<PathBuf, ShopError> {
        self.temporary.as_file().sync_all()?;
        self.temporary.persist(&self.path).map_err(|error| ShopError::Files(error.error.to_string()))?;
        Ok(self.path)
    }
}

/// A file beside the summary that takes its place once it is whole. Its name is always the same: the next batch removes what a
/// killed one left.
fn beside(summary: &Path) -> Result<tempfile::NamedTempFile, ShopError> {
    let folder = summary.parent().filter(|folder| !folder.as_os_str().is_empty());
    let folder = folder.unwrap_or_else(|| Path::new("."));
    let name = format!(".{}.new", summary.file_name().and_then(|name| name.to_str()).unwrap_or("summary"));
    match fs_err::remove_file(folder.join(&name)) {
        Err(error) if error.kind() != std::io::ErrorKind::NotFound => return Err(error.into()),
        _ => {}
    }
    Ok(whole_file::begin(folder, &name, false)?)
}

/// The results of the rows so far.
#[derive(Default)]
struct Sum {
    result: BatchResult,
    asked: BTreeSet<String>,
    technicians: BTreeSet<String>,
    /// How many notes there were on rows, kept or not.
    said: usize,
}

impl Sum {
    fn add(&mut self, row: RowResult) {
        let result = &mut self.result;
        result.rows += 1;
        self.asked.extend(row.used.iter().cloned());
        self.said += row.notes.len();
        result.notes.extend(row.notes.iter().take(NOTES.saturating_sub(result.notes.len())).cloned());
        match row.outcome {
            RowOutcome::Waits => result.waiting += 1,
            RowOutcome::Failed => result.failed += 1,
            RowOutcome::Ended => result.ended += 1,
            RowOutcome::Concluded | RowOutcome::AsBefore => {}
        }
        let key = if row.cause.is_empty() { row.outcome.to_string() } else { row.cause.clone() };
        *result.tally.entry(key).or_default() += 1;
        if result.shown.len() < SHOWN || row.outcome.wants_a_hand() && result.shown.len() < 4 * SHOWN {
            result.shown.push(row);
        }
    }

    fn finish(self, settings: &Settings, columns: &Columns, summary: PathBuf) -> BatchResult {
        let Self { mut result, asked, technicians, said } = self;
        // Where no row came as far as a question, that says nothing of the columns.
        if result.failed < result.rows {
            let is_asked = |column: &&String| columns.prompt_of(column).is_none_or(|id| asked.contains(id));
            result.not_asked = columns.names().iter().filter(|column| !is_asked(column)).cloned().collect();
        }
        if said > result.notes.len() {
            result.notes.push(format!("{} more of this kind", said - result.notes.len()));
        }
        let remark = |technician: &String| unlisted(&settings.shop.shop, Some(technician));
        result.notes.extend(technicians.iter().filter_map(remark));
        result.summary = summary;
        result
    }
}
