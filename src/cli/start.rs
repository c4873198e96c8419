//! What a run begins with: the procedure and all that it depends on, the job, the vehicle's state.

use crate::cli::arguments::JobFlags;
use crate::cli::error::CliError;
use crate::cli::settings::Settings;
use crate::cli::store::Store;
use crate::model::caution::CautionRules;
use crate::model::diagnostic::{self, Diagnostic};
use crate::model::event::{SourceKind, SourceRef};
use crate::model::job::Job;
use crate::model::limits::NoAccuracy;
use crate::model::meter::Meter;
use crate::model::points::Points;
use crate::model::vehicle::{Engine, STATE_PARTS, StatePart, VehicleState};
use crate::model::words;
use crate::run::answerer::{Answerer, MeterInUse};
use crate::run::journal::{Clock, Journal};
use crate::run::session::Parts;
use crate::script::diagnose::Source;
use crate::script::header;
use crate::script::procedure::Procedure;
use serde::Deserialize;
use std::path::Path;
use std::sync::Arc;

/// A procedure with all that it depends on.
pub struct Loaded {
    /// The procedure.
    pub procedure: Procedure,
    /// The circuit's names.
    pub points: Option<Arc<Points>>,
    /// Caution rules.
    pub rules: Arc<CautionRules>,
    sources: Vec<(SourceKind, String, String)>,
    circuit_errors: Vec<Diagnostic>,
}

impl Loaded {
    /// By name or path, with the shop's and the program's library.
    pub fn find(settings: &Settings, given: &str) -> Result<Self, CliError> {
        let (name, source) = settings.shop.procedure(given)?;
        let procedure =
            Procedure::compile(&name, source, &|library| settings.shop.library(library)).map_err(CliError::Input)?;
        let rules = settings.shop.cautions()?;
        let kept = match settings.shop.shop.cautions.is_empty() {
            true => crate::cli::builtin::cautions().1.to_owned(),
            false => toml::to_string(&rules).map_err(|error| CliError::Files(error.to_string()))?,
        };
        let circuit = match &procedure.header.circuit {
            Some(circuit) => Some(settings.shop.circuit(circuit).map_err(|error| no_circuit(&procedure, error))?),
            None => None,
        };
        let loaded = Self::assembled(procedure, (rules, kept), circuit)?;
        if !loaded.circuit_errors.is_empty() {
            return Err(CliError::Input(loaded.circuit_errors));
        }
        loaded.without_slips(loaded.points.as_deref())?;
        Ok(loaded)
    }

    /// Refuses what can be seen to be wrong on a circuit with these names.
    pub fn without_slips(&self, points: Option<&Points>) -> Result<(), CliError> {
        let zones = self.rules.zones().into_iter().map(|zone| zone.as_str()).collect();
        let semantic_errors = self.procedure.semantic_errors(&zones, points);
        if semantic_errors.is_empty() { Ok(()) } else { Err(CliError::Input(semantic_errors)) }
    }

    /// From the copies that were kept with a record.
    pub fn kept(store: &Store, name: &str, sources: &[SourceRef]) -> Result<Self, CliError> {
        let one = |kind: SourceKind| sources.iter().find(|source| source.kind == kind);
        let procedure = one(SourceKind::Procedure)
            .ok_or_else(|| CliError::usage(format!("the record of {name} names no procedure")))?;
        let source = Source { file: procedure.name.clone(), text: store.kept(procedure)? };
        let mut libraries: Vec<(String, Source)> = Vec::new();
        for library in sources.iter().filter(|source| source.kind == SourceKind::Library) {
            libraries.push((
                library.name.clone(),
                Source { file: format!("{}.rhai", library.name), text: store.kept(library)? },
            ));
        }
        let find = |wanted: &str| libraries.iter().find(|(name, _)| name == wanted).map(|(_, source)| source.clone());
        let procedure = Procedure::compile(name, source, &find).map_err(CliError::Input)?;
        let rules = match one(SourceKind::Cautions) {
            Some(cautions) => {
                let text = store.kept(cautions)?;
                let rules = toml::from_str(&text)
                    .map_err(|error| CliError::input(diagnostic::of_toml(&cautions.name, &text, &error)))?;
                (rules, text)
            }
            None => Default::default(),
        };
        let circuit = match one(SourceKind::Circuit) {
            Some(circuit) => {
                Some((circuit.name.clone(), Source { file: circuit.name.clone(), text: store.kept(circuit)? }))
            }
            None => None,
        };
        Self::assembled(procedure, rules, circuit)
    }

    fn assembled(
        procedure: Procedure,
        (rules, rules_text): (CautionRules, String),
        circuit: Option<(String, Source)>,
    ) -> Result<Self, CliError> {
        let mut sources = vec![(SourceKind::Procedure, procedure.source.file.clone(), procedure.source.text.clone())];
        for library in &procedure.libraries {
            sources.push((SourceKind::Library, library.name.clone(), library.source.text.clone()));
        }
        let mut circuit_errors = Vec::new();
        let points = match circuit {
            Some((name, source)) => {
                let circuit = crate::cli::commands::circuits::parse(&source)?;
                circuit_errors = crate::cli::commands::circuits::semantic_errors(&source, &circuit);
                let points = circuit.names();
                sources.push((SourceKind::Circuit, name, source.text));
                Some(Arc::new(points))
            }
            None => None,
        };
        sources.push((SourceKind::Cautions, "cautions.toml".to_owned(), rules_text));
        Ok(Self { procedure, points, rules: Arc::new(rules), sources, circuit_errors })
    }

    /// Takes another circuit than the one that the procedure names.
    pub fn use_circuit(&mut self, name: &str, source: Source, circuit: &crate::circuit::netlist::Circuit) {
        self.points = Some(Arc::new(circuit.names()));
        self.sources.retain(|(kind, ..)| *kind != SourceKind::Circuit);
        self.sources.push((SourceKind::Circuit, name.to_owned(), source.text));
    }

    /// Takes the circuit that another run depends on.
    pub fn use_circuit_of(&mut self, other: &Self) {
        self.points.clone_from(&other.points);
        self.sources.retain(|(kind, ..)| *kind != SourceKind::Circuit);
        self.sources.extend(other.sources.iter().filter(|(kind, ..)| *kind == SourceKind::Circuit).cloned());
    }

    /// Keeps everything that the run depends on, and names it by its digest.
    pub fn keep(&self, store: &Store, meter: &MeterInUse, shop_text: &str) -> Result<Vec<SourceRef>, CliError> {
        let mut refs = Vec::new();
        for (kind, name, text) in &self.sources {
            refs.push(store.keep(*kind, name, text.as_bytes())?);
        }
        if let Some(meter) = meter.meter() {
            let text = toml::to_string(meter).map_err(|error| CliError::Files(error.to_string()))?;
            refs.push(store.keep(SourceKind::Meter, &meter.name, text.as_bytes())?);
        }
        if !shop_text.is_empty() {
            refs.push(store.keep(SourceKind::People, "shop.toml", shop_text.as_bytes())?);
        }
        Ok(refs)
    }

    /// What a session of this procedure is made of.
    pub fn parts(
        &self,
        journal: Box<dyn Journal>,
        answerer: Box<dyn Answerer>,
        clock: Box<dyn Clock>,
        meter: Arc<MeterInUse>,
    ) -> Parts {
        let (rules, causes) = (Arc::clone(&self.rules), Arc::clone(&self.procedure.causes));
        Parts { journal, answerer, clock, rules, meter, causes }
    }

    /// The digest of the procedure with its library files, circuit and cautions, to see whether any was edited.
    pub fn digests(&self) -> Vec<(SourceKind, String, String)> {
        self.sources
            .iter()
            .map(|(kind, name, text)| (*kind, name.clone(), crate::cli::digest::digest(text.as_bytes())))
            .collect()
    }
}

/// A circuit that the header names and that can't be had, at its place.
fn no_circuit(procedure: &Procedure, error: CliError) -> CliError {
    let CliError::Usage { sentence, hint } = error else { return error };
    let source = &procedure.source;
    let mut diagnostic = Diagnostic::at(&source.file, &source.text, header::place_of_circuit(source), sentence);
    diagnostic.hint = hint;
    CliError::input(diagnostic)
}

/// The meter by the shop's name for it; none is fine, and the record says so.
pub fn meter_in_use(settings: &Settings, named: Option<&str>) -> Result<MeterInUse, CliError> {
    let Some(named) = named else { return Ok(MeterInUse::default()) };
    let meters = &settings.shop.shop.meters;
    match meters.iter().find(|meter| meter.id == named) {
        Some(meter) => Ok(on(meter.clone(), settings.clock.today())),
        // Without a shop, a meter is only a name.
        None if settings.shop.root.is_none() => Ok(MeterInUse::default()),
        None => {
            let nearest = words::nearest(named, meters.iter().map(|meter| meter.id.as_str()));
            Err(CliError::usage_with(
                format!("the shop has no meter `{named}`{}", words::did_you_mean(nearest.as_deref())),
                "meters stand in shop.toml under [[meter]]",
            ))
        }
    }
}

/// The meter that was kept with a record.
pub fn kept_meter(store: &Store, sources: &[SourceRef], today: jiff::civil::Date) -> Result<MeterInUse, CliError> {
    let Some(source) = sources.iter().find(|source| source.kind == SourceKind::Meter) else {
        return Ok(MeterInUse::default());
    };
    let text = store.kept(source)?;
    let meter: Meter =
        toml::from_str(&text).map_err(|error| CliError::input(diagnostic::of_toml(&source.name, &text, &error)))?;
    Ok(on(meter, today))
}

/// A meter on a day: its figures count until its calibration is due.
fn on(meter: Meter, today: jiff::civil::Date) -> MeterInUse {
    // A meter without a date was never calibrated that anybody knows of.
    match meter.calibration_due.as_ref().and_then(|due| due.parse::<jiff::civil::Date>().ok()) {
        Some(due) if due < today => MeterInUse::unsettled(meter, NoAccuracy::CalibrationPast),
        Some(_) => MeterInUse::new(meter),
        None => MeterInUse::unsettled(meter, NoAccuracy::NoCalibrationDate),
    }
}

/// A job file: the job's fields, and the vehicle's state in its own table.
#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields)]
pub struct JobFile {
    /// What is known of the job.
    #[serde(default)]
    pub job: Job,
    /// How the vehicle stands.
    #[serde(default)]
    pub vehicle: Option<VehicleState>,
}

/// Reads a job file.
pub fn job_file(path: &Path) -> Result<JobFile, CliError> {
    let text = crate::cli::text_file::read(path)?;
    toml::from_str(&text)
        .map_err(|error| CliError::input(diagnostic::of_toml(&path.display().to_string(), &text, &error)))
}

/// What flags say, over what a file says.
pub fn job_of(flags: &JobFlags, base: Job) -> Result<Job, CliError> {
    let verified = match flags.verified.as_deref() {
        None => base.verified,
        Some("yes") => Some(true),
        Some("no") => Some(false),
        Some(other) => return Err(CliError::usage(format!("--verified is yes or no, not `{other}`"))),
    };
    Ok(Job {
        vehicle: flags.vehicle.clone().or(base.vehicle),
        odometer: flags.odometer.clone().or(base.odometer),
        concern: flags.concern.clone().or(base.concern),
        verified,
        codes: if flags.codes.is_empty() { base.codes } else { flags.codes.clone() },
        technician: flags.technician.clone().or(base.technician),
        meter: flags.meter.clone().or(base.meter),
        conditions: flags.conditions.clone().or(base.conditions),
    })
}

/// Applies `part=state` to the vehicle.
pub fn set_state(vehicle: &mut VehicleState, part: &str, state: &str, minute: i64) -> Result<(), String> {
    if let Some(known) = StatePart::named(part) {
        let engine = vehicle.engine;
        known.set(vehicle, state).map_err(|error| format!("{part}: {error}"))?;
        // It ran until now, at the most: what is hot is hot still.
        if vehicle.engine == Engine::Stopped && matches!(engine, Engine::Running | Engine::Cranking) {
            vehicle.engine_stopped_at = Some(minute);
        }
        return Ok(());
    }
    if part == RAN {
        let minutes: i64 = state
            .trim_end_matches("min")
            .trim()
            .parse()
            .ok()
            .filter(|minutes| (0..=1_000_000).contains(minutes))
            .ok_or_else(|| format!("`ran={state}`: write how many minutes ago the engine stopped"))?;
        vehicle.engine_stopped_at = Some(minute - minutes);
        return Ok(());
    }
    let nearest = words::nearest(part, state_parts());
    Err(format!(
        "`{part}` is no part whose state is asked for{}; it is one of {}",
        words::did_you_mean(nearest.as_deref()),
        state_parts().collect::<Vec<_>>().join(", ")
    ))
}

/// By this name it is said when the engine last ran.
pub const RAN: &str = "ran";

/// Parts of the vehicle whose state is asked for, and when the engine last ran, after the engine.
pub fn state_parts() -> impl Iterator<Item = &'static str> {
    STATE_PARTS.iter().flat_map(|part| [part.name].into_iter().chain((part.name == "engine").then_some(RAN)))
}

/// Applies every `--state`.
pub fn apply_states(vehicle: &mut VehicleState, flags: &[String], minute: i64) -> Result<(), CliError> {
    let mut states = Vec::with_capacity(flags.len());
    for flag in flags {
        let (part, state) =
            flag.split_once('=').ok_or_else(|| CliError::usage(format!("--state {flag}: write it as key=off")))?;
        states.push((part.trim(), state.trim()));
    }
    // When the engine stopped is said of an engine that is.
    states.sort_by_key(|(part, _)| *part == RAN);
    for (part, state) in states {
        set_state(vehicle, part, state, minute).map_err(CliError::usage)?;
    }
    Ok(())
}
