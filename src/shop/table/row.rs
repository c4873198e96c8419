//! One row of a table: one vehicle, one record.

use crate::circuit::meter::bench_meter;
use crate::model::answered_by::AnsweredBy;
use crate::model::ending::Ending;
use crate::model::event::{Entry, Event, NamedCause};
use crate::model::id::RecordId;
use crate::model::job::{Job, Nominal};
use crate::model::link::{Link, LinkKind};
use crate::model::record::{Record, RunStatus};
use crate::model::source::{SourceKind, SourceRef};
use crate::model::started::Started;
use crate::model::table_row::TableRow;
use crate::model::vehicle::VehicleState;
use crate::model::words;
use crate::records::digest::digest;
use crate::records::error::RecordsError;
use crate::records::journal_file::FileJournal;
use crate::records::table_name::RecordedRows;
use crate::report::entry::ending_text;
use crate::report::record::standing_text;
use crate::run::answerer::{Answerer, Answering, MeterInUse};
use crate::run::bench::{BenchAnswerer, BenchFailure};
use crate::run::journal::{Clock, Journal, Nowhere};
use crate::run::prepared_answers::{PreparedAnswers, Used, Written};
use crate::run::prepared_then_bench::PreparedThenBench;
use crate::run::session::Session;
use crate::script::execute::{EntryPoint, Finished, Outcome, execute};
use crate::shop::begin::journal_failed;
use crate::shop::error::ShopError;
use crate::shop::loaded::Loaded;
use crate::shop::meters::meter_in_use;
use crate::shop::settings::Settings;
use crate::shop::simulated::Simulated;
use crate::shop::station::record_id;
use crate::shop::table::columns::Columns;
use crate::shop::table::row_bench::RowBench;
use crate::shop::table::row_result::{RowOutcome, RowResult};
use crate::shop::vehicle_state::{set_state, state_parts};
use std::collections::BTreeMap;
use std::sync::Arc;

/// A meter with what each run that is measured with it depends on.
type Prepared = (Arc<MeterInUse>, Vec<SourceRef>);
/// By the shop's name for it; or why it can't be used.
type Meters = BTreeMap<Option<String>, Result<Prepared, String>>;

/// A table, and all that its rows have in common.
pub struct Table<'a> {
    /// The shop, the store, the clock.
    pub settings: &'a Settings,
    /// The procedure with all that it depends on.
    pub loaded: &'a Loaded,
    /// The file's name.
    pub table: String,
    /// The beginning of the records' names.
    pub prefix: String,
    /// Its rows that were recorded before.
    pub before: RecordedRows,
    /// Its columns.
    pub columns: Columns,
    /// The meter of rows that name none.
    pub meter: Option<String>,
    /// The simulated circuit, where one answers.
    pub bench: Option<RowBench>,
    /// Meters by name, with what each run depends on.
    pub meters: Meters,
}

/// The causes' names, as the summary has them.
fn named(causes: &[NamedCause]) -> String {
    causes.iter().map(|cause| cause.id.as_str()).collect::<Vec<_>>().join(" or ")
}

/// What a row's cells say, before anything is run.
struct Read {
    job: Job,
    vehicle: VehicleState,
    answers: BTreeMap<String, Written>,
    row: TableRow,
    /// Whether one of its cells says which vehicle it is.
    names_vehicle: bool,
}

/// How many answers there are.
fn answers_in(entries: &[Entry]) -> usize {
    entries.iter().filter(|entry| matches!(entry.event, Event::Answered { .. })).count()
}

/// The result of a run over a row.
struct Ran {
    finished: Finished,
    /// Why the circuit could not answer, if it could not.
    trouble: Option<String>,
    used: Used,
}

/// A row's cells, and the circuit for what they leave out.
fn answered(
    sheet: PreparedAnswers,
    bench: Option<BenchAnswerer>,
) -> ((Box<dyn Answerer>, Answering), Option<BenchFailure>) {
    match bench {
        Some(bench) => {
            let filled = PreparedThenBench::new(sheet, bench);
            let trouble = filled.trouble();
            ((Box::new(filled), Answering::unattended(AnsweredBy::Bench)), Some(trouble))
        }
        None => ((Box::new(sheet), Answering::unattended(AnsweredBy::Table)), None),
    }
}

/// Whether two runs depend on the same: of all sources only the list of people can change nothing about a row.
fn depend_on_the_same(then: &[SourceRef], now: &[SourceRef]) -> bool {
    let counts = |source: &&SourceRef| source.kind != SourceKind::People;
    then.iter().filter(counts).eq(now.iter().filter(counts))
}

enum Named {
    Recorded(String, Vec<Entry>, Box<Record>),
    New(String, Option<Link>),
}

impl Table<'_> {
    /// The meter of rows that name none, with everything else that a record of it depends on.
    pub fn prepare_meter(&mut self) -> Result<(), ShopError> {
        let prepared = self.meter_and_sources(self.meter.as_deref())?;
        self.meters.insert(self.meter.clone(), Ok(prepared));
        Ok(())
    }

    /// Looks the meter that a row names up, once. One that the shop does not have is the problem of the rows that name it.
    pub fn prepare_meter_of(&mut self, record: &csv::StringRecord) -> Result<(), ShopError> {
        let named = self.columns.cell(record, "meter").or_else(|| self.meter.clone());
        if !self.meters.contains_key(&named) {
            let prepared = match self.meter_and_sources(named.as_deref()) {
                Err(ShopError::Refused { sentence, .. }) => Err(sentence),
                other => Ok(other?),
            };
            self.meters.insert(named, prepared);
        }
        Ok(())
    }

    fn meter_and_sources(&self, named: Option<&str>) -> Result<Prepared, ShopError> {
        let meter = match &self.bench {
            Some(_) => MeterInUse::of_bench(bench_meter()),
            None => meter_in_use(self.settings, named)?,
        };
        let sources = self.loaded.keep(&self.settings.store, &meter, &self.settings.shop.text)?;
        Ok((Arc::new(meter), sources))
    }

    /// Runs one row.
    pub fn row(&self, line: u64, record: &csv::StringRecord) -> Result<RowResult, ShopError> {
        let vehicle_name = self.columns.cell(record, "vehicle").unwrap_or_default();
        let bad = |detail: String| Ok(RowResult::failed(line, vehicle_name.clone(), detail));
        let minute = self.settings.clock.clone().now().minute();
        let read = match self.read(line, record, minute) {
            Ok(read) => read,
            Err(detail) => return bad(detail),
        };
        let (meter, sources) = match self.meters.get(&read.job.meter) {
            Some(Ok(prepared)) => prepared,
            Some(Err(why)) => return bad(format!("row {line}, column meter: {why}")),
            None => return bad(format!("row {line}, column meter: nobody looked for this meter")),
        };
        let simulated = match self.bench.as_ref().map(|bench| bench.of_row(line, &self.columns, record)).transpose() {
            Ok(simulated) => simulated,
            Err(detail) => return bad(detail),
        };
        let (simulated, bench) = simulated.unzip();
        match self.name_for(&read, sources, simulated.as_ref())? {
            Named::Recorded(name, entries, before) => {
                if !matches!(before.status, RunStatus::Waiting { .. } | RunStatus::Open) {
                    return Ok(Self::recorded(line, vehicle_name, (name, &before), &read.answers));
                }
                // The journal has not what is wrong with the cell, nor what the circuit could not be asked: gone on with and
                // nothing written down, the same row comes to the same place again and says it.
                let answered = answers_in(&entries);
                let ran = self.go_on(read.answers.clone(), entries, meter, bench, Box::new(Nowhere));
                if let Outcome::Waiting { prompt, problem, .. } = &ran.finished.outcome
                    && answers_in(&ran.finished.entries) == answered
                {
                    let detail = self.lacking(line, record, prompt, problem.clone(), ran.trouble);
                    let result = Self::recorded(line, vehicle_name, (name, &before), &read.answers);
                    return Ok(RowResult { detail, ..result });
                }
                // Somebody gave by hand what the cells lacked, and they have what comes then.
                let folder = match self.settings.store.open(&name) {
                    Err(RecordsError::Busy(_)) => {
                        let detail = format!("row {line}: {name} goes on in another window");
                        let result = Self::recorded(line, vehicle_name, (name, &before), &read.answers);
                        return Ok(RowResult { detail, ..result });
                    }
                    other => other?,
                };
                let (mut journal, mut back) = folder.journal()?;
                if back.torn() > 0 {
                    let at = self.settings.clock.clone().now();
                    let sitting = self.settings.sitting(None, AnsweredBy::Table);
                    let event = Event::TornLineDropped { bytes: back.torn() };
                    for event in [Event::Continued(Box::new(sitting)), event] {
                        journal.note(at.clone(), event.clone())?;
                        back.entries.push(Entry::new(at.clone(), event));
                    }
                }
                let again = self.bench.as_ref().map(|bench| bench.of_row(line, &self.columns, record)).transpose();
                let bench = match again {
                    Ok(again) => again.map(|(_, bench)| bench),
                    Err(detail) => return bad(detail),
                };
                let ran = self.go_on(read.answers, back.entries, meter, bench, Box::new(journal.clone()));
                self.result(line, vehicle_name, record, name, &journal, ran)
            }
            Named::New(name, link) => {
                let id = record_id(&name, self.settings.clock.is_by_hand());
                let folder = self.settings.store.create_row(&name)?;
                let (journal, _) = folder.journal()?;
                let ran =
                    self.run(read, (meter, sources), (simulated, bench), (id, link), Box::new(journal.clone()))?;
                self.result(line, vehicle_name, record, name, &journal, ran)
            }
        }
    }

    /// What is told of a row that was run.
    fn result(
        &self,
        line: u64,
        vehicle: String,
        record: &csv::StringRecord,
        name: String,
        journal: &FileJournal,
        ran: Ran,
    ) -> Result<RowResult, ShopError> {
        journal.finish().map_err(ShopError::Files)?;
        let used = ran.used.ids();
        let note =
            |(id, words): (String, String)| format!("row {line}, column {}: {words}", self.columns.of_prompt(&id));
        let notes = ran.used.not_used().into_iter().map(note).collect();
        let (outcome, cause, detail) = self.came_to(line, record, &name, ran)?;
        Ok(RowResult { line, vehicle, record: name, outcome, cause, detail, used, notes })
    }

    /// Goes on with a row's record: what its cells say comes after what was recorded.
    fn go_on(
        &self,
        answers: BTreeMap<String, Written>,
        entries: Vec<Entry>,
        meter: &Arc<MeterInUse>,
        bench: Option<BenchAnswerer>,
        journal: Box<dyn Journal>,
    ) -> Ran {
        let sheet = PreparedAnswers::new(AnsweredBy::Table, answers);
        let used = sheet.used();
        let (answerer, trouble) = answered(sheet, bench);
        let clock = Box::new(self.settings.clock.clone());
        let sitting = Some(self.settings.sitting(None, answerer.1.answered_by));
        let session = Session::resume(self.loaded.parts(journal, answerer, clock, Arc::clone(meter)), entries, sitting);
        let finished = execute(&self.loaded.procedure, EntryPoint::Body, session, self.loaded.points.clone());
        Ran { finished, trouble: trouble.and_then(|trouble| trouble.said()), used }
    }

    /// Runs the procedure over what a row says.
    fn run(
        &self,
        read: Read,
        (meter, sources): (&Arc<MeterInUse>, &[SourceRef]),
        (simulated, bench): (Option<Simulated>, Option<BenchAnswerer>),
        (record, link): (RecordId, Option<Link>),
        journal: Box<dyn Journal>,
    ) -> Result<Ran, ShopError> {
        let procedure = &self.loaded.procedure;
        let mut read = read;
        let nominal = read.job.nominal.take().map(Nominal::quantity);
        let sheet = PreparedAnswers::new(AnsweredBy::Table, read.answers);
        let used = sheet.used();
        let (answerer, trouble) = answered(sheet, bench);
        let mut started = Started {
            record: Some(record),
            station: self.settings.station.clone(),
            sources: sources.to_vec(),
            job: read.job,
            nominal,
            vehicle: read.vehicle,
            link,
            row: Some(read.row),
            clock_set_by_hand: self.settings.clock.is_by_hand(),
            ..procedure.started(answerer.1.answered_by)
        };
        if let Some(simulated) = simulated {
            simulated.put_into(&mut started);
        }
        let clock = Box::new(self.settings.clock.clone());
        let parts = self.loaded.parts(journal, answerer, clock, Arc::clone(meter));
        let session = Session::start(parts, started).map_err(journal_failed)?;
        let finished = execute(procedure, EntryPoint::Body, session, self.loaded.points.clone());
        Ok(Ran { finished, trouble: trouble.and_then(|trouble| trouble.said()), used })
    }

    /// How a row came out: in a word, its causes, and what is wrong.
    fn came_to(
        &self,
        line: u64,
        record: &csv::StringRecord,
        name: &str,
        ran: Ran,
    ) -> Result<(RowOutcome, String, String), ShopError> {
        let nothing = String::new;
        Ok(match ran.finished.outcome {
            Outcome::Concluded(causes) => (RowOutcome::Concluded, named(&causes), nothing()),
            Outcome::Ended(ending) => (RowOutcome::Ended, nothing(), ending_text(&ending)),
            Outcome::Waiting { prompt, problem, .. } => {
                (RowOutcome::Waits, nothing(), self.lacking(line, record, &prompt, problem, ran.trouble))
            }
            Outcome::Paused => (RowOutcome::Waits, nothing(), "paused".to_owned()),
            Outcome::Diverged { recorded, attempted, .. } => {
                (RowOutcome::Failed, nothing(), format!("the record has {recorded}, and the procedure {attempted}"))
            }
            Outcome::Failed(diagnostic) => {
                let line = diagnostic.place_in_words().map(|place| format!(" ({place})")).unwrap_or_default();
                (RowOutcome::Failed, nothing(), format!("{}{line}", diagnostic.title))
            }
            Outcome::Journal(problem) => return Err(ShopError::Files(format!("the journal of {name}: {problem}"))),
        })
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
        for part in state_parts() {
            if let Some(state) = cell(part) {
                set_state(&mut vehicle, part, &state, minute)
                    .map_err(|problem| format!("row {line}, column {part}: {problem}"))?;
            }
        }
        let verified = match cell("verified").as_deref() {
            None => None,
            Some("yes") => Some(true),
            Some("no") => Some(false),
            Some(other) => return Err(format!("row {line}, column verified: `{other}` is neither yes nor no")),
        };
        let nominal =
            self.nominal(cell("nominal")).map_err(|problem| format!("row {line}, column nominal: {problem}"))?;
        let codes = cell("codes").unwrap_or_default();
        let job = Job {
            vehicle: cell("vehicle").or_else(|| self.bench.as_ref().map(RowBench::vehicle_name)),
            nominal,
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
            if let Some(id) = self.columns.prompt_of(column).filter(|_| !text.is_empty()) {
                let written = match text.strip_prefix("skip ") {
                    Some(reason) => Written::Skip { skip: reason.trim().to_owned() },
                    None => Written::Text(text.into()),
                };
                answers.insert(id.to_owned(), written);
            }
        }
        let row = TableRow { table: self.table.clone(), row: line, sha256: digest(cells.as_bytes()) };
        Ok(Read { job, vehicle, answers, row, names_vehicle: cell("vehicle").is_some() })
    }

    /// The nominal voltage of a row's vehicle: as its cell says, which a simulated circuit may not contradict.
    fn nominal(&self, cell: Option<String>) -> Result<Option<Nominal>, String> {
        let said = cell.map(|text| text.parse::<Nominal>()).transpose().map_err(|error| error.to_string())?;
        match (said, self.bench.as_ref().and_then(RowBench::nominal)) {
            (Some(said), Some(circuit)) if said != circuit => Err(format!(
                "the row says {said}, and the circuit has a {circuit} system: leave the cell empty, or take another circuit"
            )),
            (said, circuit) => Ok(said.or(circuit)),
        }
    }

    /// The gap of the row: its place, the text there, and what to do.
    fn lacking(
        &self,
        line: u64,
        record: &csv::StringRecord,
        prompt: &str,
        problem: Option<String>,
        trouble: Option<String>,
    ) -> String {
        let column = &self.columns.of_prompt(prompt);
        if let Some(said) = trouble {
            return format!(
                "row {line}: the circuit can't be asked for `{prompt}`: {said}; a column {column} can say it"
            );
        }
        let behind = problem.as_ref().map(|problem| format!("; {problem}")).unwrap_or_default();
        match (self.columns.cell(record, column), problem) {
            (Some(cell), Some(problem)) => format!("row {line}, column {column}: `{cell}`: {problem}"),
            (Some(cell), None) => format!("row {line}, column {column}: `{cell}` is not enough"),
            (None, _) if self.columns.names().contains(column) => {
                format!("row {line}, column {column}: empty{behind}")
            }
            (None, _) => format!(
                "row {line}: there is no column {column}{behind}; add one, or answer it with `ohmwright resume RECORD`"
            ),
        }
    }

    /// The name of this row's record; or that it is recorded already, identically. A row that only moved is; one that was
    /// changed is linked with what was recorded of its vehicle on the same line.
    fn name_for(&self, read: &Read, sources: &[SourceRef], simulated: Option<&Simulated>) -> Result<Named, ShopError> {
        let row = &read.row;
        let is_same = |started: &Started| {
            started.row.as_ref().is_some_and(|before| before.table == row.table && before.sha256 == row.sha256)
                && depend_on_the_same(&started.sources, sources)
                && Simulated::of(started).as_ref() == simulated
        };
        let mut link = None;
        let mut new = None;
        for number in 1.. {
            let base = format!("{}-row-{:05}", self.prefix, row.row);
            let name = if number == 1 { base } else { format!("{base}-{number}") };
            if self.settings.store.is_free_for_a_row(&name) {
                new = Some(name);
                break;
            }
            let Some((entries, record, sha256)) = self.recorded_row(&name) else { continue };
            if is_same(&record.started) {
                return Ok(Named::Recorded(name, entries, Box::new(record)));
            }
            if record.started.job.vehicle == read.job.vehicle {
                link = Some(Link { kind: LinkKind::ChangedRow, record: name, id: record.started.record, sha256 });
            }
        }
        // Rows that name no vehicle may be alike and yet of two vehicles.
        let elsewhere = if read.names_vehicle { self.before.with_cells(&row.sha256) } else { &[] };
        for name in elsewhere.iter().rev() {
            if let Some((entries, record, _)) =
                self.recorded_row(name).filter(|(_, record, _)| is_same(&record.started))
            {
                return Ok(Named::Recorded(name.clone(), entries, Box::new(record)));
            }
        }
        let name = new.ok_or_else(|| ShopError::Files("no free name for a record".to_owned()))?;
        Ok(Named::New(name, link))
    }

    /// A row's record that can be read, with the digest of its journal. One that was broken off half way, and never taken up, is
    /// done again beside what is there.
    fn recorded_row(&self, name: &str) -> Option<(Vec<Entry>, Record, String)> {
        let back = self.settings.store.read(name).ok()?;
        let record = if back.entries.is_empty() { None } else { Record::of(&back.entries).ok() }?;
        let resumed = back.entries.iter().any(|entry| matches!(entry.event, Event::Resumed { .. } | Event::Paused));
        if record.status == RunStatus::Open && !resumed {
            return None;
        }
        let sha256 = back.sha256();
        Some((back.entries, record, sha256))
    }

    /// What an earlier run recorded of the very same row.
    fn recorded(
        line: u64,
        vehicle: String,
        (name, record): (String, &Record),
        answers: &BTreeMap<String, Written>,
    ) -> RowResult {
        let detail = || standing_text(&record.status);
        let (outcome, cause, detail) = match &record.status {
            RunStatus::Concluded(causes) => (RowOutcome::AsBefore, named(causes), String::new()),
            RunStatus::Ended(Ending::Failed { .. }) => (RowOutcome::Failed, String::new(), detail()),
            RunStatus::Ended(_) => (RowOutcome::Ended, String::new(), detail()),
            RunStatus::Waiting { .. } | RunStatus::Open => (RowOutcome::Waits, String::new(), detail()),
        };
        let used = answers.keys().cloned().collect();
        RowResult { line, vehicle, record: name, outcome, cause, detail, used, notes: Vec::new() }
    }
}
