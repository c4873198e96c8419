//! `batch`: a procedure over a table, one vehicle a row, a record each.

use super::arguments;
use super::error::CliError;
use super::exit::Exit;
use super::lines::Counted;
use super::output::Output;
use super::run::{PROGRAM, journal_failed};
use super::settings::Settings;
use super::start::{self, Loaded, STATE_PARTS};
use super::store::{digest, slug};
use crate::model::diagnostic::Diagnostic;
use crate::model::event::{AnsweredBy, Ending, FORMAT, Link, LinkKind, SourceRef, Started, TableRow};
use crate::model::job::Job;
use crate::model::record::{Record, Standing};
use crate::model::vehicle::VehicleState;
use crate::model::words;
use crate::report::entry::Tone;
use crate::report::record::standing_text;
use crate::report::table::{harmless, table, wrapped};
use crate::run::answerer::MeterInUse;
use crate::run::journal::Clock;
use crate::run::session::{Parts, Session};
use crate::run::sheet::{Sheet, Written};
use crate::script::execute::{Outcome, Part, execute};
use indicatif::{ProgressBar, ProgressStyle};
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use std::io::Write;
use std::path::PathBuf;
use std::sync::Arc;

/// Rows that are worked on at a time: memory does not grow with the table.
const CHUNK: usize = 256;
/// Rows that the summary on the screen shows at most.
const SHOWN: usize = 60;
const JOB_COLUMNS: [&str; 8] =
    ["vehicle", "odometer", "concern", "verified", "codes", "technician", "meter", "conditions"];

/// What came of a row.
struct RowResult {
    line: u64,
    vehicle: String,
    record: String,
    outcome: &'static str,
    cause: String,
    detail: String,
    used: BTreeSet<String>,
}

type Meters = BTreeMap<Option<String>, (Arc<MeterInUse>, Vec<SourceRef>)>;

struct Table<'a> {
    settings: &'a Settings,
    loaded: &'a Loaded,
    table: String,
    prefix: String,
    columns: Vec<String>,
    meter: Option<String>,
    meters: Meters,
}

/// Runs a procedure over a table.
pub fn batch(settings: &Settings, arguments: &arguments::Batch, output: &mut Output) -> Result<Exit, CliError> {
    let loaded = Loaded::find(settings, &arguments.procedure)?;
    let file = arguments.table.display().to_string();
    let stem = arguments.table.file_stem().and_then(|stem| stem.to_str()).unwrap_or("table");
    let prefix = format!("{}-{}", slug(stem), slug(&loaded.procedure.name));
    let _lock = settings.store.lock_table(&prefix)?;
    let (counted, lines) = Counted::new(fs_err::File::open(&arguments.table)?);
    let mut reader = csv::ReaderBuilder::new().flexible(true).trim(csv::Trim::All).from_reader(counted);
    let columns: Vec<String> = reader
        .headers()
        .map_err(|error| CliError::file(&arguments.table, error))?
        .iter()
        .map(|name| name.trim_start_matches('\u{feff}').to_owned())
        .collect();
    if columns.is_empty() {
        return Err(CliError::file(&arguments.table, "the table has no header: its first line names the columns"));
    }
    check_columns(&file, &columns, &loaded)?;
    let mut work = Table {
        settings,
        loaded: &loaded,
        table: arguments.table.file_name().and_then(|name| name.to_str()).unwrap_or("table").to_owned(),
        prefix: prefix.clone(),
        columns,
        meter: arguments.meter.clone(),
        meters: Meters::new(),
    };
    work.prepare_meter(arguments.meter.as_deref())?;
    fs_err::create_dir_all(settings.store.folder())?;
    let summary_path: PathBuf =
        arguments.summary.clone().unwrap_or_else(|| settings.store.folder().join(format!("{prefix}-summary.csv")));
    let folder = summary_path.parent().filter(|folder| !folder.as_os_str().is_empty());
    let mut temporary = tempfile::Builder::new()
        .prefix(".summary-")
        .tempfile_in(folder.unwrap_or_else(|| std::path::Path::new(".")))?;
    let mut summary = csv::Writer::from_writer(Vec::new());
    let wrong = |error: csv::Error| CliError::Files(error.to_string());
    summary.write_record(["row", "vehicle", "outcome", "causes", "detail", "record"]).map_err(wrong)?;
    let pool = rayon::ThreadPoolBuilder::new()
        .stack_size(crate::script::engine::STACK)
        .build()
        .map_err(|error| CliError::Files(error.to_string()))?;
    let bar = progress(&arguments.table)?;
    let mut tally: BTreeMap<String, usize> = BTreeMap::new();
    let mut shown: Vec<RowResult> = Vec::new();
    let mut rows = 0usize;
    let mut asked: BTreeSet<String> = BTreeSet::new();
    let (mut waiting, mut failed, mut ended) = (0usize, 0usize, 0usize);
    let mut records = reader.records();
    loop {
        let mut chunk = Vec::with_capacity(CHUNK);
        for record in records.by_ref().take(CHUNK) {
            let byte = match &record {
                Ok(record) => record.position().map(csv::Position::byte),
                Err(error) => error.position().map(csv::Position::byte),
            };
            chunk.push((lines.of(byte.unwrap_or(0)), record));
        }
        if chunk.is_empty() {
            break;
        }
        for record in chunk.iter().filter_map(|(_, record)| record.as_ref().ok()) {
            let named = work.cell(record, "meter").or_else(|| work.meter.clone());
            // A meter that the shop does not have is that row's own problem.
            let _ = work.prepare_meter(named.as_deref());
        }
        let results: Vec<Result<RowResult, CliError>> = pool.install(|| {
            chunk
                .par_iter()
                .map(|(line, record)| {
                    let result = match record {
                        Ok(record) => work.row(*line, record),
                        Err(error) => Ok(unreadable(*line, error)),
                    };
                    bar.inc(1);
                    result
                })
                .collect()
        });
        for result in results {
            let result = result?;
            rows += 1;
            asked.extend(result.used.iter().cloned());
            let line = result.line.to_string();
            let (vehicle, detail) = (no_formula(&result.vehicle), no_formula(&result.detail));
            summary
                .write_record([&line, &vehicle, result.outcome, &result.cause, &detail, &result.record])
                .map_err(wrong)?;
            match result.outcome {
                "waits" => waiting += 1,
                "failed" => failed += 1,
                "ended" => ended += 1,
                _ => {}
            }
            let key = if result.cause.is_empty() { result.outcome.to_owned() } else { result.cause.clone() };
            *tally.entry(key).or_default() += 1;
            if shown.len() < SHOWN || matches!(result.outcome, "waits" | "failed") && shown.len() < 4 * SHOWN {
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
    for column in &work.columns {
        let known = JOB_COLUMNS.contains(&column.as_str()) || STATE_PARTS.contains(&column.as_str());
        if !known && !asked.contains(column) && rows > 0 {
            output.note(&format!("note: no row was asked for the column `{}`", harmless(column)));
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
        .filter(|row| rows <= SHOWN || matches!(row.outcome, "waits" | "failed"))
        .map(|row| {
            let detail = if row.detail.is_empty() { row.cause.clone() } else { row.detail.clone() };
            vec![row.line.to_string(), harmless(&row.vehicle), row.outcome.to_owned(), harmless(&detail)]
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

/// A cell that no spreadsheet takes for a formula.
fn no_formula(cell: &str) -> String {
    if cell.starts_with(['=', '+', '-', '@', '\t']) { format!("'{cell}") } else { cell.to_owned() }
}

fn unreadable(line: u64, error: &csv::Error) -> RowResult {
    RowResult {
        line,
        vehicle: String::new(),
        record: String::new(),
        outcome: "failed",
        cause: String::new(),
        detail: format!("the row can't be read: {error}"),
        used: BTreeSet::new(),
    }
}

fn progress(table: &std::path::Path) -> Result<ProgressBar, CliError> {
    // Lines are counted without keeping the file: good enough for a bar.
    let mut file = std::io::BufReader::new(fs_err::File::open(table)?);
    let mut lines = 0u64;
    loop {
        let buffer = std::io::BufRead::fill_buf(&mut file)?;
        if buffer.is_empty() {
            break;
        }
        lines += buffer.iter().filter(|byte| **byte == b'\n').count() as u64;
        let length = buffer.len();
        std::io::BufRead::consume(&mut file, length);
    }
    let bar = ProgressBar::new(lines.saturating_sub(1));
    if let Ok(style) = ProgressStyle::with_template("{bar:30} {pos} of {len} rows, {eta} left") {
        bar.set_style(style);
    }
    Ok(bar)
}

/// A header with a column that is neither known of jobs nor asked for by the procedure is refused before any row.
fn check_columns(file: &str, columns: &[String], loaded: &Loaded) -> Result<(), CliError> {
    let ids = loaded.procedure.prompt_ids();
    let header_text = columns.join(",");
    let mut at = 0;
    for (index, column) in columns.iter().enumerate() {
        let refuse = |title: String, hint: Option<String>| {
            let mut diagnostic = Diagnostic::at(file, &header_text, at..at + column.len(), title);
            diagnostic.hint = hint;
            Err(CliError::input(diagnostic))
        };
        if column.is_empty() {
            return refuse(format!("column {} has no name", index + 1), None);
        }
        if columns[..index].contains(column) {
            return refuse(format!("the column `{column}` is there twice"), None);
        }
        let known = JOB_COLUMNS.contains(&column.as_str()) || STATE_PARTS.contains(&column.as_str());
        if !known && !ids.may_be(column) {
            let all = ids.literal.iter().map(String::as_str).chain(JOB_COLUMNS).chain(STATE_PARTS);
            let nearest = words::nearest(column, all);
            let hint = match nearest {
                Some(name) => format!("did you mean `{name}`?"),
                None => {
                    format!("prompts of this procedure: {}", ids.literal.iter().cloned().collect::<Vec<_>>().join(", "))
                }
            };
            return refuse(
                format!(
                    "the column `{column}` is neither a prompt of `{}` nor anything about the job",
                    loaded.procedure.name
                ),
                Some(hint),
            );
        }
        at += column.len() + 1;
    }
    Ok(())
}

impl Table<'_> {
    fn cell(&self, record: &csv::StringRecord, column: &str) -> Option<String> {
        let index = self.columns.iter().position(|name| name == column)?;
        record.get(index).filter(|text| !text.is_empty()).map(str::to_owned)
    }

    fn prepare_meter(&mut self, named: Option<&str>) -> Result<(), CliError> {
        let key = named.map(str::to_owned);
        if !self.meters.contains_key(&key) {
            let meter = Arc::new(start::meter_in_use(self.settings, named)?);
            let sources = self.loaded.keep(&self.settings.store, &meter, &self.settings.shop.text)?;
            self.meters.insert(key, (meter, sources));
        }
        Ok(())
    }

    fn row(&self, line: u64, record: &csv::StringRecord) -> Result<RowResult, CliError> {
        let vehicle_name = self.cell(record, "vehicle").unwrap_or_default();
        let bad = |detail: String| RowResult {
            line,
            vehicle: vehicle_name.clone(),
            record: String::new(),
            outcome: "failed",
            cause: String::new(),
            detail,
            used: BTreeSet::new(),
        };
        if record.len() != self.columns.len() {
            return Ok(bad(format!(
                "row {line} has {}, and the header has {}",
                words::count(record.len(), "cell", "cells"),
                self.columns.len()
            )));
        }
        let mut clock = self.settings.clock.clone();
        let minute = clock.now().minute();
        let mut vehicle = VehicleState::default();
        for part in STATE_PARTS {
            if let Some(state) = self.cell(record, part)
                && let Err(problem) = start::set_state(&mut vehicle, part, &state, minute)
            {
                return Ok(bad(format!("row {line}, column {part}: {problem}")));
            }
        }
        let verified = match self.cell(record, "verified").as_deref() {
            None => None,
            Some("yes") => Some(true),
            Some("no") => Some(false),
            Some(other) => return Ok(bad(format!("row {line}, column verified: `{other}` is neither yes nor no"))),
        };
        let codes = self.cell(record, "codes").unwrap_or_default();
        let job = Job {
            vehicle: self.cell(record, "vehicle"),
            odometer: self.cell(record, "odometer"),
            concern: self.cell(record, "concern"),
            verified,
            codes: codes.split([' ', ';']).filter(|code| !code.is_empty()).map(str::to_owned).collect(),
            technician: self.cell(record, "technician"),
            meter: self.cell(record, "meter").or_else(|| self.meter.clone()),
            conditions: self.cell(record, "conditions"),
        };
        let Some((meter, sources)) = self.meters.get(&job.meter) else {
            return Ok(bad(format!(
                "row {line}, column meter: the shop has no meter `{}`",
                job.meter.as_deref().unwrap_or_default()
            )));
        };
        let mut cells = String::new();
        let mut answers = BTreeMap::new();
        for (column, text) in self.columns.iter().zip(record) {
            cells.push_str(&format!("{column}={text}\n"));
            let known = JOB_COLUMNS.contains(&column.as_str()) || STATE_PARTS.contains(&column.as_str());
            if !known && !text.is_empty() {
                let written = match text.strip_prefix("skip ") {
                    Some(reason) => Written::Skip { skip: reason.trim().to_owned() },
                    None => Written::Text(text.to_owned()),
                };
                answers.insert(column.clone(), written);
            }
        }
        let row = TableRow { table: self.table.clone(), row: line, sha256: digest(cells.as_bytes()) };
        let (name, link) = match self.name_for(&row, sources)? {
            Named::Recorded(name) => return self.recorded(line, record, vehicle_name, &name, &answers),
            Named::New(name, link) => (name, link),
        };
        let procedure = &self.loaded.procedure;
        let sheet = Sheet::new(AnsweredBy::Table, answers);
        let used = sheet.used();
        let folder = self.settings.store.create_row(&name)?;
        let (journal, _) = folder.journal()?;
        let started = Started {
            format: FORMAT,
            program: PROGRAM.to_owned(),
            procedure: procedure.name.clone(),
            title: procedure.header.title.clone(),
            revision: procedure.header.revision,
            part: None,
            sources: sources.clone(),
            answered_by: AnsweredBy::Table,
            bench: None,
            bench_faults: vec![],
            bench_seed: None,
            job,
            vehicle,
            link,
            row: Some(row),
            clock_set_by_hand: self.settings.clock.is_by_hand(),
        };
        let parts = Parts {
            journal: Box::new(journal.clone()),
            answerer: Box::new(sheet),
            clock: Box::new(clock),
            rules: Arc::clone(&self.loaded.rules),
            meter: Arc::clone(meter),
            causes: Arc::clone(&procedure.causes),
        };
        let session = Session::start(parts, started).map_err(journal_failed)?;
        let finished = execute(procedure, Part::Body, session, self.loaded.points.clone());
        journal.finish().map_err(CliError::Files)?;
        let (outcome, cause, detail) = match finished.outcome {
            Outcome::Concluded(causes) => (
                "concluded",
                causes.iter().map(|cause| cause.id.as_str()).collect::<Vec<_>>().join(" or "),
                String::new(),
            ),
            Outcome::Ended(ending) => ("ended", String::new(), crate::report::entry::ending_text(&ending)),
            Outcome::Waiting { prompt, problem, .. } => {
                ("waits", String::new(), self.lacking(line, record, &prompt, problem))
            }
            Outcome::Paused => ("waits", String::new(), "put down".to_owned()),
            Outcome::Diverged { recorded, attempted, .. } => {
                ("failed", String::new(), format!("the record has {recorded}, and the procedure {attempted}"))
            }
            Outcome::Failed(diagnostic) => {
                let line = diagnostic.line().map(|line| format!(" (line {line} of the procedure)")).unwrap_or_default();
                ("failed", String::new(), format!("{}{line}", diagnostic.title))
            }
            Outcome::Journal(problem) => return Err(CliError::Files(format!("the journal of {name}: {problem}"))),
        };
        Ok(RowResult { line, vehicle: vehicle_name, record: name, outcome, cause, detail, used: used.ids() })
    }

    /// What the row lacks: where, and what stands there.
    fn lacking(&self, line: u64, record: &csv::StringRecord, prompt: &str, problem: Option<String>) -> String {
        match (self.cell(record, prompt), problem) {
            (Some(cell), Some(problem)) => format!("row {line}, column {prompt}: `{cell}`: {problem}"),
            (Some(cell), None) => format!("row {line}, column {prompt}: `{cell}` is not enough"),
            (None, _) if self.columns.iter().any(|column| column == prompt) => {
                format!("row {line}, column {prompt}: empty")
            }
            (None, _) => format!("row {line}: there is no column {prompt}"),
        }
    }

    /// The name of this row's record; or that it is recorded already, identically.
    fn name_for(&self, row: &TableRow, sources: &[SourceRef]) -> Result<Named, CliError> {
        let mut link = None;
        for number in 1.. {
            let base = format!("{}-row-{:05}", self.prefix, row.row);
            let name = if number == 1 { base } else { format!("{base}-{number}") };
            if !self.settings.store.folder().join(&name).exists() {
                return Ok(Named::New(name, link));
            }
            let Ok(back) = self.settings.store.read(&name) else { continue };
            let Some(Ok(record)) = (!back.entries.is_empty()).then(|| Record::of(&back.entries)) else { continue };
            // A row that was broken off half way, and never taken up, is done again beside what is there.
            let resumed = back.entries.iter().any(|entry| {
                matches!(entry.event, crate::model::event::Event::Resumed { .. } | crate::model::event::Event::Paused)
            });
            if record.standing == Standing::Open && !resumed {
                continue;
            }
            if record.started.row.as_ref() == Some(row) && record.started.sources == sources {
                return Ok(Named::Recorded(name));
            }
            link = Some(Link { kind: LinkKind::ChangedRow, record: name, sha256: back.sha256() });
        }
        Err(CliError::Files("no free name for a record".to_owned()))
    }

    /// What an earlier run recorded of the very same row.
    fn recorded(
        &self,
        line: u64,
        cells: &csv::StringRecord,
        vehicle: String,
        name: &str,
        answers: &BTreeMap<String, Written>,
    ) -> Result<RowResult, CliError> {
        let back = self.settings.store.read(name)?;
        let record = Record::of(&back.entries).map_err(|error| CliError::Files(format!("{name}: {error}")))?;
        let (outcome, cause, detail) = match &record.standing {
            Standing::Concluded(causes) => (
                "as before",
                causes.iter().map(|cause| cause.id.as_str()).collect::<Vec<_>>().join(" or "),
                String::new(),
            ),
            Standing::Ended(Ending::Failed { .. }) => ("failed", String::new(), standing_text(&record.standing)),
            Standing::Ended(_) => ("ended", String::new(), standing_text(&record.standing)),
            Standing::Waiting { prompt, .. } => ("waits", String::new(), self.lacking(line, cells, prompt, None)),
            Standing::Open => ("waits", String::new(), standing_text(&record.standing)),
        };
        let used = answers.keys().cloned().collect();
        Ok(RowResult { line, vehicle, record: name.to_owned(), outcome, cause, detail, used })
    }
}

enum Named {
    Recorded(String),
    New(String, Option<Link>),
}
