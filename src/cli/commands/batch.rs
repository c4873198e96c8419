//! `batch`: a procedure over a table, one vehicle a row, a record each.

use crate::cli::arguments;
use crate::cli::error::CliError;
use crate::cli::exit::Exit;
use crate::cli::terminal::output::Output;
use crate::model::words;
use crate::records::table_name::{RecordedRows, TableName};
use crate::report::csv::tame;
use crate::report::entry::Tone;
use crate::report::table::{harmless, table, wrapped};
use crate::shop::error::ShopError;
use crate::shop::loaded::Loaded;
use crate::shop::settings::Settings;
use crate::shop::table::columns::Columns;
use crate::shop::table::lines::Counted;
use crate::shop::table::row::Table;
use crate::shop::table::row_bench::RowBench;
use crate::shop::table::row_result::{RowOutcome, RowResult};
use crate::shop::table::text::TableText;
use crate::shop::text_file::BYTE_ORDER_MARK;
use indicatif::{ProgressBar, ProgressStyle};
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use std::io::Write;
use std::path::PathBuf;

/// Rows that are worked on at a time: memory does not grow with the table.
const CHUNK: usize = 256;
/// Rows that the summary on the screen shows at most.
const SHOWN: usize = 60;

/// Notes on rows that are shown at most.
const NOTES: usize = 20;

/// Runs a procedure over a table.
pub fn batch(settings: &Settings, arguments: &arguments::Batch, output: &mut Output) -> Result<Exit, CliError> {
    let mut loaded = Loaded::find(settings, &arguments.procedure)?;
    let bench = match &arguments.bench {
        Some(wanted) => {
            let (name, circuit) = crate::shop::loaded::for_bench(settings, &mut loaded, wanted.named())?;
            Some(RowBench::new(name, circuit))
        }
        None => None,
    };
    let file = arguments.table.display().to_string();
    let text = TableText::look(&arguments.table)?;
    let (counted, lines) = Counted::new(fs_err::File::open(&arguments.table)?);
    let mut reader =
        csv::ReaderBuilder::new().delimiter(text.delimiter).flexible(true).trim(csv::Trim::All).from_reader(counted);
    let names: Vec<String> = reader
        .headers()
        .map_err(|error| CliError::file(&arguments.table, unreadable(1, &error)))?
        .iter()
        .map(|name| name.trim_start_matches(BYTE_ORDER_MARK).to_owned())
        .collect();
    if names.is_empty() {
        return Err(CliError::file(&arguments.table, "the table has no header: its first line names the columns"));
    }
    let columns = Columns::of(&file, names, &loaded, bench.is_some())?;
    let name = TableName::claim(&settings.store, &arguments.table, &loaded.procedure.name)?;
    let prefix = &name.prefix;
    if let Some(other) = &name.namesake {
        let words = format!(
            "note: the table {other} has the same name, so that the records of this one are called {prefix}-row-\u{2026}"
        );
        output.note(&wrapped(&harmless(&words), output.width(), "", "  "));
    }
    let mut work = Table {
        settings,
        loaded: &loaded,
        table: arguments.table.file_name().and_then(|name| name.to_str()).unwrap_or("table").to_owned(),
        prefix: prefix.clone(),
        before: RecordedRows::of(&settings.store, prefix)?,
        columns,
        meter: arguments.meter.clone(),
        bench,
        meters: BTreeMap::new(),
    };
    work.prepare_meter()?;
    fs_err::create_dir_all(settings.store.folder())?;
    let summary_path: PathBuf =
        arguments.summary.clone().unwrap_or_else(|| settings.store.folder().join(format!("{prefix}-summary.csv")));
    let mut temporary = beside(&summary_path)?;
    let mut summary = csv::Writer::from_writer(Vec::new());
    let wrong = |error: csv::Error| CliError::Files(error.to_string());
    summary.write_record(["row", "vehicle", "outcome", "causes", "detail", "record"]).map_err(wrong)?;
    let pool = crate::shop::workers::workers()?;
    let bar = progress(text.lines);
    let mut tally: BTreeMap<String, usize> = BTreeMap::new();
    let mut shown: Vec<RowResult> = Vec::new();
    let mut rows = 0usize;
    let mut asked: BTreeSet<String> = BTreeSet::new();
    let mut technicians: BTreeSet<String> = BTreeSet::new();
    let (mut notes, mut said) = (Vec::new(), 0usize);
    let (mut waiting, mut failed, mut ended) = (0usize, 0usize, 0usize);
    let mut records = reader.records();
    let mut last_line = 0;
    loop {
        let mut chunk = Vec::with_capacity(CHUNK);
        for record in records.by_ref().take(CHUNK) {
            let byte = match &record {
                Ok(record) => record.position().map(csv::Position::byte),
                Err(error) => error.position().map(csv::Position::byte),
            };
            let line = lines.of(byte.unwrap_or(0));
            // Rows are told apart by their lines, and so are their records.
            if line <= last_line {
                let title = format!("two rows stand on line {line}: end each with a line end");
                return Err(CliError::file(&arguments.table, title));
            }
            last_line = line;
            chunk.push((line, record));
        }
        if chunk.is_empty() {
            break;
        }
        for record in chunk.iter().filter_map(|(_, record)| record.as_ref().ok()) {
            work.prepare_meter_of(record)?;
            technicians.extend(work.columns.cell(record, "technician"));
        }
        // A row that can't be written is the disk's trouble and not the row's: no worker begins another one.
        let results: Result<Vec<RowResult>, ShopError> = pool.install(|| {
            chunk
                .par_iter()
                .map(|(line, record)| {
                    let result = match record {
                        Ok(record) => work.row(*line, record),
                        Err(error) => Ok(RowResult::failed(*line, String::new(), unreadable(*line, error))),
                    };
                    bar.inc(1);
                    result
                })
                .collect()
        });
        for result in results? {
            rows += 1;
            asked.extend(result.used.iter().cloned());
            said += result.notes.len();
            notes.extend(result.notes.iter().take(NOTES.saturating_sub(notes.len())).cloned());
            let line = result.line.to_string();
            let (vehicle, detail) = (tame(&result.vehicle), tame(&result.detail));
            summary
                .write_record([&line, &vehicle, result.outcome.word(), &result.cause, &detail, &result.record])
                .map_err(wrong)?;
            match result.outcome {
                RowOutcome::Waits => waiting += 1,
                RowOutcome::Failed => failed += 1,
                RowOutcome::Ended => ended += 1,
                RowOutcome::Concluded | RowOutcome::AsBefore => {}
            }
            let key = if result.cause.is_empty() { result.outcome.to_string() } else { result.cause.clone() };
            *tally.entry(key).or_default() += 1;
            if shown.len() < SHOWN || result.outcome.wants_a_hand() && shown.len() < 4 * SHOWN {
                shown.push(result);
            }
        }
        summary.flush()?;
        let bytes = summary.into_inner().map_err(|error| CliError::Files(error.to_string()))?;
        temporary.write_all(&bytes)?;
        summary = csv::Writer::from_writer(Vec::new());
    }
    bar.finish_and_clear();
    if rows == 0 {
        return Err(CliError::file(&arguments.table, "the table has a header and no rows"));
    }
    temporary.as_file().sync_all()?;
    temporary.persist(&summary_path).map_err(|error| CliError::Files(error.error.to_string()))?;
    print(output, &shown, rows, &tally, (waiting, failed, ended));
    // Where no row came as far as a question, that says nothing of the columns.
    let none_ran = failed == rows;
    for column in work.columns.names().iter().filter(|_| !none_ran) {
        if work.columns.prompt_of(column).is_some_and(|id| !asked.contains(id)) {
            output.note(&format!("note: no row was asked for the column `{}`", harmless(column)));
        }
    }
    if said > notes.len() {
        notes.push(format!("{} more of this kind", said - notes.len()));
    }
    for note in notes {
        output.note(&wrapped(&harmless(&format!("note: {note}")), output.width(), "", "  "));
    }
    for technician in technicians {
        if let Some(remark) = crate::cli::terminal::intake::unlisted(&settings.shop.shop, Some(&technician)) {
            output.note(&wrapped(&harmless(&format!("note: {remark}")), output.width(), "", "  "));
        }
    }
    output.line(&format!("Summary: {}", summary_path.display()));
    Ok(if failed > 0 {
        Exit::Bad
    } else if waiting > 0 {
        Exit::Waiting
    } else if ended > 0 {
        Exit::Unfinished
    } else {
        Exit::Done
    })
}

/// A file beside the summary that takes its place once it is whole. It has one name for good: what a batch that was killed left
/// behind goes away with the next.
fn beside(summary: &std::path::Path) -> Result<tempfile::NamedTempFile, CliError> {
    let folder = summary.parent().filter(|folder| !folder.as_os_str().is_empty());
    let folder = folder.unwrap_or_else(|| std::path::Path::new("."));
    let name = format!(".{}.new", summary.file_name().and_then(|name| name.to_str()).unwrap_or("summary"));
    match fs_err::remove_file(folder.join(&name)) {
        Err(error) if error.kind() != std::io::ErrorKind::NotFound => return Err(error.into()),
        _ => {}
    }
    Ok(tempfile::Builder::new().prefix(&name).rand_bytes(0).tempfile_in(folder)?)
}

fn print(
    output: &mut Output,
    shown: &[RowResult],
    rows: usize,
    tally: &BTreeMap<String, usize>,
    (waiting, failed, ended): (usize, usize, usize),
) {
    let width = output.width();
    let lines: Vec<Vec<String>> = shown
        .iter()
        .filter(|row| rows <= SHOWN || row.outcome.wants_a_hand())
        .map(|row| {
            let detail = if row.detail.is_empty() { row.cause.clone() } else { row.detail.clone() };
            vec![row.line.to_string(), harmless(&row.vehicle), row.outcome.to_string(), harmless(&detail)]
        })
        .collect();
    if !lines.is_empty() {
        output.line(&table(width, &["row", "vehicle", "outcome", "cause, or what is wrong"], &lines, &[0]));
    }
    let counts: Vec<Vec<String>> =
        tally.iter().map(|(cause, count)| vec![harmless(cause), count.to_string()]).collect();
    output.line(&table(width, &["cause", "rows"], &counts, &[1]));
    let words = format!(
        "{}: {waiting} waiting, {failed} failed, {ended} without a cause. A row that waits is answered with `ohmwright resume RECORD`, or mended in the table and run again.",
        words::count(rows, "row", "rows")
    );
    let tone = if failed + waiting + ended > 0 { Tone::Doubtful } else { Tone::Good };
    let text = if failed + waiting + ended > 0 {
        words
    } else {
        format!("{}: all concluded.", words::count(rows, "row", "rows"))
    };
    output.toned(tone, &wrapped(&text, width, "", "  "));
}

/// Why a row can't be read, and what to do.
fn unreadable(line: u64, error: &csv::Error) -> String {
    match error.kind() {
        csv::ErrorKind::Utf8 { .. } => format!("row {line} is not UTF-8 text: save the table as UTF-8"),
        _ => format!("row {line} can't be read: {error}"),
    }
}

fn progress(lines: u64) -> ProgressBar {
    let bar = ProgressBar::new(lines.saturating_sub(1));
    if let Ok(style) = ProgressStyle::with_template("{bar:30} {pos} of {len} rows, {eta} left") {
        bar.set_style(style);
    }
    bar
}
