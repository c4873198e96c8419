//! One row of a table: one vehicle, one record.

use super::columns::Columns;
use super::error::CliError;
use super::row_bench::RowBench;
use super::run::{PROGRAM, Simulated, journal_failed};
use super::settings::Settings;
use super::start::{self, Loaded, STATE_PARTS};
use super::store::digest;
use crate::model::event::{AnsweredBy, Ending, Event, FORMAT, Link, LinkKind, SourceRef, Started, TableRow};
use crate::model::job::Job;
use crate::model::record::{Record, Standing};
use crate::model::vehicle::VehicleState;
use crate::model::words;
use crate::report::entry::ending_text;
use crate::report::record::standing_text;
use crate::run::answerer::{Answerer, MeterInUse};
use crate::run::journal::Clock;
use crate::run::session::{Parts, Session};
use crate::run::sheet::{Sheet, Written};
use crate::run::sheet_then_bench::SheetThenBench;
use crate::script::execute::{Outcome, Part, execute};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// What came of a row.
pub struct RowResult {
    /// The line on which it stands.
    pub line: u64,
    /// The vehicle, as its cell has it.
    pub vehicle: String,
    /// The record's name; empty if none could be begun.
    pub record: String,
    /// One word.
    pub outcome: &'static str,
    /// The causes that were named.
    pub cause: String,
    /// What is wrong.
    pub detail: String,
    /// The prompts that were asked.
    pub used: BTreeSet<String>,
}

impl RowResult {
    /// A row of which no record could be begun.
    pub fn failed(line: u64, vehicle: String, detail: String) -> Self {
        Self {
            line,
            vehicle,
            record: String::new(),
            outcome: "failed",
            cause: String::new(),
            detail,
            used: BTreeSet::new(),
        }
    }
}

type Meters = BTreeMap<Option<String>, (Arc<MeterInUse>, Vec<SourceRef>)>;

/// A table, and all that its rows have in common.
pub struct Table<'a> {
    /// The shop, the store, the clock.
    pub settings: &'a Settings,
    /// The procedure with all that it depends on.
    pub loaded: &'a Loaded,
    /// The file's name.
    pub table: String,
    /// What the records' names begin with.
    pub prefix: String,
    /// Its columns.
    pub columns: Columns,
    /// The meter of rows that name none.
    pub meter: Option<String>,
    /// The simulated circuit, where one answers.
    pub bench: Option<RowBench>,
    /// Meters by name, with what each run depends on.
    pub meters: Meters,
}

/// What a row's cells say, before anything is run.
struct Read {
    job: Job,
    vehicle: VehicleState,
    answers: BTreeMap<String, Written>,
    row: TableRow,
}

enum Named {
    Recorded(String),
    New(String, Option<Link>),
}

impl Table<'_> {
    /// Looks a meter up once, and keeps it with everything else that a record of it depends on.
    pub fn prepare_meter(&mut self, named: Option<&str>) -> Result<(), CliError> {
        let key = named.map(str::to_owned);
        if !self.meters.contains_key(&key) {
            let meter = match &self.bench {
                Some(_) => RowBench::meter(),
                None => start::meter_in_use(self.settings, named)?,
            };
            let meter = Arc::new(meter);
            let sources = self.loaded.keep(&self.settings.store, &meter, &self.settings.shop.text)?;
            self.meters.insert(key, (meter, sources));
        }
        Ok(())
    }

    /// Prepares the meter that a row names. One that the shop does not have is that row's own problem.
    pub fn prepare_meter_of(&mut self, record: &csv::StringRecord) {
        let named = self.columns.cell(record, "meter").or_else(|| self.meter.clone());
        let _ = self.prepare_meter(named.as_deref());
    }

    /// Runs one row.
    pub fn row(&self, line: u64, record: &csv::StringRecord) -> Result<RowResult, CliError> {
        let vehicle_name = self.columns.cell(record, "vehicle").unwrap_or_default();
        let bad = |detail: String| Ok(RowResult::failed(line, vehicle_name.clone(), detail));
        let mut clock = self.settings.clock.clone();
        let read = match self.read(line, record, clock.now().minute()) {
            Ok(read) => read,
            Err(detail) => return bad(detail),
        };
        let Some((meter, sources)) = self.meters.get(&read.job.meter) else {
            return bad(format!(
                "row {line}, column meter: the shop has no meter `{}`",
                read.job.meter.as_deref().unwrap_or_default()
            ));
        };
        let simulated = match self.bench.as_ref().map(|bench| bench.of_row(line, &self.columns, record)).transpose() {
            Ok(simulated) => simulated,
            Err(detail) => return bad(detail),
        };
        let (simulated, bench) = simulated.unzip();
        let (name, link) = match self.name_for(&read.row, sources, simulated.as_ref())? {
            Named::Recorded(name) => return self.recorded(line, record, vehicle_name, &name, &read.answers),
            Named::New(name, link) => (name, link),
        };
        let procedure = &self.loaded.procedure;
        let sheet = Sheet::new(AnsweredBy::Table, read.answers);
        let used = sheet.used();
        let (answerer, trouble): (Box<dyn Answerer>, _) = match bench {
            Some(bench) => {
                let trouble = bench.trouble();
                (Box::new(SheetThenBench::new(sheet, bench)), Some(trouble))
            }
            None => (Box::new(sheet), None),
        };
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
            answered_by: answerer.answered_by(),
            bench: simulated.as_ref().map(|simulated| simulated.circuit.clone()),
            bench_faults: simulated.as_ref().map(|simulated| simulated.faults.clone()).unwrap_or_default(),
            bench_seed: simulated.as_ref().map(|simulated| simulated.seed),
            job: read.job,
            vehicle: read.vehicle,
            link,
            row: Some(read.row),
            clock_set_by_hand: self.settings.clock.is_by_hand(),
        };
        let parts = Parts {
            journal: Box::new(journal.clone()),
            answerer,
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
            Outcome::Ended(ending) => ("ended", String::new(), ending_text(&ending)),
            Outcome::Waiting { prompt, problem, .. } => {
                let detail = match trouble.and_then(|trouble| trouble.said()) {
                    Some(said) => {
                        format!(
                            "row {line}: the circuit can't be asked for `{prompt}`: {said}; a column {prompt} can say it"
                        )
                    }
                    None => self.lacking(line, record, &prompt, problem),
                };
                ("waits", String::new(), detail)
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

    /// What the cells say, or a sentence on the one that can't be taken.
    fn read(&self, line: u64, record: &csv::StringRecord, minute: i64) -> Result<Read, String> {
        let names = self.columns.names();
        let cell = |column: &str| self.columns.cell(record, column);
        if record.len() != names.len() {
            let cells = words::count(record.len(), "cell", "cells");
            return Err(format!("row {line} has {cells}, and the header has {}", names.len()));
        }
        let mut vehicle = self.bench.as_ref().map(|bench| bench.vehicle(minute)).unwrap_or_default();
        for part in STATE_PARTS {
            if let Some(state) = cell(part) {
                start::set_state(&mut vehicle, part, &state, minute)
                    .map_err(|problem| format!("row {line}, column {part}: {problem}"))?;
            }
        }
        let verified = match cell("verified").as_deref() {
            None => None,
            Some("yes") => Some(true),
            Some("no") => Some(false),
            Some(other) => return Err(format!("row {line}, column verified: `{other}` is neither yes nor no")),
        };
        let codes = cell("codes").unwrap_or_default();
        let job = Job {
            vehicle: cell("vehicle").or_else(|| self.bench.as_ref().map(RowBench::vehicle_name)),
            odometer: cell("odometer"),
            concern: cell("concern"),
            verified,
            codes: codes.split([' ', ';']).filter(|code| !code.is_empty()).map(str::to_owned).collect(),
            technician: cell("technician"),
            meter: cell("meter").or_else(|| self.meter.clone()),
            conditions: cell("conditions"),
        };
        let mut cells = String::new();
        let mut answers = BTreeMap::new();
        for (column, text) in names.iter().zip(record) {
            cells.push_str(&format!("{column}={text}\n"));
            if !self.columns.is_known(column) && !text.is_empty() {
                let written = match text.strip_prefix("skip ") {
                    Some(reason) => Written::Skip { skip: reason.trim().to_owned() },
                    None => Written::Text(text.to_owned()),
                };
                answers.insert(column.clone(), written);
            }
        }
        let row = TableRow { table: self.table.clone(), row: line, sha256: digest(cells.as_bytes()) };
        Ok(Read { job, vehicle, answers, row })
    }

    /// What the row lacks: where, and what stands there.
    fn lacking(&self, line: u64, record: &csv::StringRecord, prompt: &str, problem: Option<String>) -> String {
        match (self.columns.cell(record, prompt), problem) {
            (Some(cell), Some(problem)) => format!("row {line}, column {prompt}: `{cell}`: {problem}"),
            (Some(cell), None) => format!("row {line}, column {prompt}: `{cell}` is not enough"),
            (None, _) if self.columns.names().iter().any(|column| column == prompt) => {
                format!("row {line}, column {prompt}: empty")
            }
            (None, _) => format!("row {line}: there is no column {prompt}"),
        }
    }

    /// The name of this row's record; or that it is recorded already, identically.
    fn name_for(
        &self,
        row: &TableRow,
        sources: &[SourceRef],
        simulated: Option<&Simulated>,
    ) -> Result<Named, CliError> {
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
            let resumed = back.entries.iter().any(|entry| matches!(entry.event, Event::Resumed { .. } | Event::Paused));
            if record.standing == Standing::Open && !resumed {
                continue;
            }
            let started = &record.started;
            let same = started.row.as_ref() == Some(row)
                && started.sources == sources
                && Simulated::of(started).as_ref() == simulated;
            if same {
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
