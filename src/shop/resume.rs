//! How a run goes on.

use crate::circuit::bench::Bench;
use crate::model::answered_by::AnsweredBy;
use crate::model::clean::Clean;
use crate::model::event::{Entry, Event};
use crate::model::id::RecordId;
use crate::model::link::{Link, LinkKind};
use crate::model::prompt::PromptId;
use crate::model::record::Record;
use crate::model::record::given::Answered;
use crate::model::source::SourceKind;
use crate::model::started::{Continued, Started};
use crate::model::vehicle::VehicleState;
use crate::records::error::RecordsError;
use crate::records::journal_file::{FileJournal, parse};
use crate::records::latest;
use crate::records::store::{JOURNAL, RunFolder, Store};
use crate::report::entry::line;
use crate::report::record::standing_text;
use crate::run::answerer::{Answerer, Answering, MeterInUse};
use crate::run::carried_answers::CarriedAnswers;
use crate::run::journal::{Clock, Nowhere};
use crate::run::prepared_answers::PreparedAnswers;
use crate::run::session::Session;
use crate::script::diagnose::Source;
use crate::script::execute::{EntryPoint, Finished, Outcome, execute};
use crate::shop::begin::{Begin, Sitting};
use crate::shop::circuits;
use crate::shop::error::ShopError;
use crate::shop::loaded::{Loaded, WhoAnswers};
use crate::shop::meters::kept_meter;
use crate::shop::settings::Settings;
use crate::shop::simulated::Simulated;
use std::cmp::Reverse;
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

/// How many of the records that were written to last are looked through for one that can be taken up.
pub const RECENT: usize = 200;

/// The record to go on with where none is named: of those of this station the one at which it sat last. One that goes on in
/// another window is not to be taken up here, where there is another.
pub fn latest(settings: &Settings) -> Result<String, RecordsError> {
    let store = &settings.store;
    let mut open = store.open_runs(RECENT)?;
    open.retain(|(_, run)| run.station.is_none() || run.station == settings.station);
    let pointed = latest::pointed(store, settings.station.as_ref());
    open.sort_by_key(|(name, run)| (Some(name) != pointed.as_ref(), Reverse(run.last.second())));
    match open.iter().find(|(name, _)| !store.is_held(name)).or(open.first()) {
        Some((name, _)) => Ok(name.clone()),
        None => settings.latest(),
    }
}

/// A record that has no end yet, held against other processes. Nothing is written before it is taken up.
pub struct Resumable {
    /// Its name.
    pub name: String,
    /// What it holds.
    pub record: Record,
    /// The procedure as it was kept with the record.
    pub kept: Loaded,
    folder: RunFolder,
    entries: Vec<Entry>,
    sha256: String,
}

/// What a run that goes on is measured with.
pub struct Setting {
    /// The meter that was kept with it.
    pub meter: Arc<MeterInUse>,
    /// The simulated circuit, as the record names it and as it answers.
    pub bench: Option<(Simulated, Bench)>,
}

impl Resumable {
    /// The record of this name, by a part of it, or by its path.
    ///
    /// # Errors
    /// There is none, it can't be read, another process has it, or it has ended.
    pub fn open(settings: &Settings, name: &str) -> Result<Self, ShopError> {
        let folder = settings.store.open(name)?;
        let name = folder.name.clone();
        let mut back = parse(&folder.path().join(JOURNAL), folder.bytes()?)?;
        let entries = std::mem::take(&mut back.entries);
        if entries.is_empty() {
            return Err(RecordsError::NothingRecorded { name }.into());
        }
        let record =
            Record::of(&entries).map_err(|error| ShopError::refused(format!("{}: {error}", Clean::name(&name))))?;
        if entries.iter().any(|entry| entry.event.is_an_end()) {
            return Err(ShopError::refused_with(
                format!(
                    "{} has ended: {}{}",
                    Clean::name(&name),
                    standing_text(&record.status),
                    torn_behind(back.torn())
                ),
                format!("`ohmwright show {}` shows it", Clean::name(&name)),
            ));
        }
        let kept = Loaded::kept(&folder.store(), record.started.name(), &record.started.sources)?;
        Ok(Self { name, record, kept, entries, sha256: back.sha256(), folder })
    }

    /// How the run began.
    pub fn started(&self) -> &Started {
        &self.record.started
    }

    /// Its journal so far.
    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// Who was at it last, if it was said.
    pub fn technician(&self) -> Option<&str> {
        self.record.technician()
    }

    /// What is run of the procedure.
    pub fn entry_point(&self) -> EntryPoint {
        EntryPoint::of(self.started())
    }

    /// Looks for what was edited, moved or deleted since the run began.
    pub fn now(&self, settings: &Settings) -> Now {
        now(settings, self.started(), &self.kept)
    }

    /// What the run is measured with.
    pub fn setting(&self, settings: &Settings) -> Result<Setting, ShopError> {
        let (store, started) = (self.folder.store(), self.started());
        let mut meter = kept_meter(&store, &started.sources, settings.clock.today())?;
        if let (Some(_), Some(bench_meter)) = (&started.simulated, meter.meter()) {
            meter = MeterInUse::of_bench(bench_meter.clone());
        }
        let bench = match Simulated::of(started) {
            Some(simulated) => {
                let bench = bench(&store, started, &simulated)?;
                Some((simulated, bench))
            }
            None => None,
        };
        Ok(Setting { meter: Arc::new(meter), bench })
    }

    /// What the edited procedure makes of the answers so far; nothing where that can't be seen.
    pub fn preview(&self, settings: &Settings, now: &Loaded) -> Option<Preview> {
        let nobody = Box::new(PreparedAnswers::new(AnsweredBy::Record, BTreeMap::new()));
        let earlier = Box::new(CarriedAnswers::new(Arc::new(self.entries.clone()), nobody));
        let parts = now.parts(
            Box::new(Nowhere),
            (earlier, Answering::unattended(AnsweredBy::Record)),
            Box::new(settings.clock.clone()),
            Arc::default(),
        );
        let mut started = self.started().clone();
        started.vehicle = self.record.vehicle.clone();
        started.link = None;
        let session = Session::start(parts, started).ok()?;
        let finished = execute(&now.procedure, self.entry_point(), session, now.points.clone());
        let is_carried = |wanted: &PromptId| {
            let asked = |entry: &Entry| matches!(&entry.event, Event::Answered { prompt, .. } if prompt.id == *wanted);
            finished.entries.iter().any(asked)
        };
        let answers =
            self.record.answers().map(|answered| (answered.clone(), is_carried(&answered.prompt.id))).collect();
        Some(Preview { answers, next: next_text(&finished, now) })
    }

    /// Takes the run up: only now is something written, and what was not written whole cut off.
    pub fn take_up(
        self,
        settings: &Settings,
        technician: Option<String>,
        answered_by: AnsweredBy,
    ) -> Result<TakenUp, ShopError> {
        let mut sitting = Some(settings.sitting(technician, answered_by));
        let (mut journal, back) = self.folder.journal()?;
        let (mut entries, dropped) = (self.entries, back.torn());
        if dropped > 0 {
            let at = settings.clock.clone().now();
            let begins = sitting.take().map(|sitting| Event::Continued(Box::new(sitting)));
            for event in begins.into_iter().chain([Event::TornLineDropped { bytes: dropped }]) {
                journal.note(at.clone(), event.clone())?;
                entries.push(Entry::new(at.clone(), event));
            }
        }
        let entry_point = EntryPoint::of(&self.record.started);
        let (kept, folder, id) = (self.kept, self.folder, self.record.started.record);
        Ok(TakenUp { dropped, kept, folder, journal, entries, entry_point, id, sitting })
    }

    /// Begins a new run with the edited procedure, linked with this one, whose answers it carries over as far as they fit.
    pub fn begin_anew(
        self,
        settings: &Settings,
        now: &Loaded,
        vehicle: VehicleState,
        (meter, bench): (Arc<MeterInUse>, Option<Simulated>),
        (answerer, answering): WhoAnswers,
        begun: impl FnOnce(&RunFolder),
    ) -> Result<Sitting, ShopError> {
        let entry_point = self.entry_point();
        let record = settings.store.lasting_name(self.folder.path())?;
        let link =
            Link { kind: LinkKind::EditedProcedure, record, id: self.record.started.record, sha256: self.sha256 };
        let answerer: Box<dyn Answerer> = Box::new(CarriedAnswers::new(Arc::new(self.entries), answerer));
        let job = self.record.started.whole_job();
        drop(self.folder);
        Begin { job, vehicle, meter, entry_point, link: Some(link), bench }.go(
            settings,
            now,
            (answerer, answering),
            begun,
        )
    }
}

/// A run that was taken up, and whose journal is open for what comes.
pub struct TakenUp {
    /// Bytes of a last line that had not been written whole and was dropped.
    pub dropped: usize,
    kept: Loaded,
    folder: RunFolder,
    journal: FileJournal,
    entries: Vec<Entry>,
    entry_point: EntryPoint,
    id: Option<RecordId>,
    /// How this sitting begins, where that is not written yet.
    sitting: Option<Continued>,
}

impl TakenUp {
    /// Goes on until it stops again. The procedure as it was kept comes back with it.
    pub fn go_on(
        self,
        settings: &Settings,
        meter: Arc<MeterInUse>,
        who: WhoAnswers,
    ) -> Result<(Sitting, Loaded), ShopError> {
        let (kept, journal) = (self.kept, self.journal);
        let clock = Box::new(settings.clock.clone());
        let parts = kept.parts(Box::new(journal.clone()), who, clock, meter);
        let session = Session::resume(parts, self.entries, self.sitting);
        // A record that lies elsewhere is none of this folder's.
        if self.folder.is_among(&settings.store) {
            settings.sits_at(&self.folder.name, self.id)?;
        }
        let finished = execute(&kept.procedure, self.entry_point, session, kept.points.clone());
        journal.finish().map_err(ShopError::Files)?;
        Ok((Sitting { folder: self.folder, finished }, kept))
    }
}

/// What an edited procedure makes of the answers of a record.
pub struct Preview {
    /// Each answer, and whether it is carried over.
    pub answers: Vec<(Answered, bool)>,
    /// What comes then, in a sentence.
    pub next: String,
}

fn next_text(finished: &Finished, now: &Loaded) -> String {
    match &finished.outcome {
        Outcome::Waiting { prompt, text, .. } => format!("It would go on with `{prompt}`: {text}"),
        Outcome::Concluded(causes) => {
            let names: Vec<_> = causes.iter().map(|cause| cause.cause.as_str()).collect();
            format!("It would conclude: {}", names.join("; or: "))
        }
        Outcome::Failed(diagnostic) => format!("It has an error: {}", diagnostic.title),
        _ => {
            let line = finished.entries.last().and_then(|entry| line(entry, now.points.as_deref()));
            line.map(|(_, text)| text).unwrap_or_default()
        }
    }
}

/// The bytes after the end of a record that are no line.
fn torn_behind(bytes: usize) -> String {
    match bytes {
        0 => String::new(),
        _ => format!("; {bytes} bytes after its end are no whole line, and stay where they are"),
    }
}

/// The same circuit with the same faults in it, from the kept copy.
fn bench(store: &Store, started: &Started, simulated: &Simulated) -> Result<Bench, ShopError> {
    let source = started
        .sources
        .iter()
        .find(|source| source.kind == SourceKind::Circuit)
        .ok_or_else(|| ShopError::refused("the record keeps no circuit"))?;
    let source = Source { file: source.name.clone(), text: store.kept(source)? };
    let circuit = Arc::new(circuits::parse(&source)?);
    let ids: Vec<String> = simulated.faults.iter().map(|fault| fault.id.clone()).collect();
    circuits::faults(&circuit, &ids)?;
    simulated.bench(circuit).map_err(|error| ShopError::refused(format!("{}: {error}", simulated.circuit)))
}

/// How the procedure is now, against what a run was begun with.
pub enum Now {
    /// As it was.
    Same,
    /// A file of it was moved or deleted, or can't be read: which, and what is with it.
    Gone(String),
    /// Edited: as it is now, and which file of it.
    Edited(Result<Box<Loaded>, ShopError>, &'static str),
}

/// What is with a file that can't be had.
fn gone(what: &str, error: &ShopError) -> String {
    match error {
        ShopError::NoSuchFile { .. } => format!("{what} is no longer there"),
        other => format!("{what} can't be read ({other})"),
    }
}

/// Looks for what was edited, moved or deleted since the run began.
fn now(settings: &Settings, started: &Started, kept: &Loaded) -> Now {
    let of_kind = |kind: SourceKind| started.sources.iter().filter(move |source| source.kind == kind);
    let Some(procedure) = of_kind(SourceKind::Procedure).next() else { return Now::Same };
    // Under the shop's or the program's name, or by the path that it was given with.
    let by_path = Path::new(&procedure.name).is_file();
    let given = if by_path { procedure.name.clone() } else { started.name().to_owned() };
    if let Err(error) = settings.shop.procedure(&given) {
        return Now::Gone(gone(&format!("The procedure {}", Clean::name(&procedure.name)), &error));
    }
    let mut now = match Loaded::find(settings, &given) {
        Ok(now) => now,
        Err(error) => {
            let library = of_kind(SourceKind::Library).find(|source| settings.shop.library(&source.name).is_none());
            let circuit = of_kind(SourceKind::Circuit)
                .find_map(|source| settings.shop.circuit(&source.name).err().map(|error| (source, error)));
            return match (library, circuit) {
                (Some(library), _) => {
                    Now::Gone(format!("The library file {} is no longer there", Clean::name(&library.name)))
                }
                (None, Some((circuit, error))) => {
                    Now::Gone(gone(&format!("The circuit {}", Clean::name(&circuit.name)), &error))
                }
                (None, None) => Now::Edited(Err(error), "procedure"),
            };
        }
    };
    // A simulated circuit need not be the one that the procedure names.
    if let Some(bench) = started.circuit() {
        match circuits::find(settings, bench) {
            Ok((name, source, circuit)) => now.use_circuit(&name, source, &circuit),
            Err(_) => now.use_circuit_of(kept),
        }
    }
    let digests = |loaded: &Loaded| -> Vec<(SourceKind, String)> {
        loaded.digests().into_iter().map(|(kind, _, sha256)| (kind, sha256)).collect()
    };
    let (before, after) = (digests(kept), digests(&now));
    let changed = |kind: SourceKind| {
        let of = |list: &[(SourceKind, String)]| -> Vec<String> {
            list.iter().filter(|(found, _)| *found == kind).map(|(_, sha256)| sha256.clone()).collect()
        };
        of(&before) != of(&after)
    };
    let what = if changed(SourceKind::Procedure) {
        "procedure"
    } else if changed(SourceKind::Library) {
        "library file"
    } else if changed(SourceKind::Circuit) {
        "circuit"
    } else {
        return Now::Same;
    };
    Now::Edited(Ok(Box::new(now)), what)
}
