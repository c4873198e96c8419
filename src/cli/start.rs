//! What a run begins with: the procedure and all that it depends on, the job, the vehicle's state.

use super::arguments::JobFlags;
use super::clock::EdgeClock;
use super::error::CliError;
use super::input::Input;
use super::output::Output;
use super::settings::Settings;
use super::store::Store;
use crate::model::caution::CautionRules;
use crate::model::diagnostic;
use crate::model::event::{SourceKind, SourceRef};
use crate::model::job::Job;
use crate::model::meter::Meter;
use crate::model::points::Points;
use crate::model::vehicle::{Engine, UnknownState, VehicleState};
use crate::model::words;
use crate::report::action::plain_name;
use crate::report::table::{harmless, table, wrapped};
use crate::run::answerer::{Answerer, MeterInUse};
use crate::run::journal::{Clock, Journal};
use crate::run::session::Parts;
use crate::script::diagnose::Source;
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
}

impl Loaded {
    /// By name or path, with the shop's and the program's library.
    pub fn find(settings: &Settings, given: &str) -> Result<Self, CliError> {
        let (name, source) = settings.shop.procedure(given)?;
        let procedure =
            Procedure::compile(&name, source, &|library| settings.shop.library(library)).map_err(CliError::Input)?;
        let rules = settings.shop.cautions()?;
        let kept = match settings.shop.shop.cautions.is_empty() {
            true => super::builtin::cautions().1.to_owned(),
            false => toml::to_string(&rules).map_err(|error| CliError::Files(error.to_string()))?,
        };
        let circuit = match &procedure.header.circuit {
            Some(circuit) => Some(settings.shop.circuit(circuit)?),
            None => None,
        };
        Self::assembled(procedure, (rules, kept), circuit)
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
        let points = match circuit {
            Some((name, source)) => {
                let points = super::circuits::parse(&source)?.names();
                sources.push((SourceKind::Circuit, name, source.text));
                Some(Arc::new(points))
            }
            None => None,
        };
        sources.push((SourceKind::Cautions, "cautions.toml".to_owned(), rules_text));
        Ok(Self { procedure, points, rules: Arc::new(rules), sources })
    }

    /// Takes another circuit than the one that the procedure names.
    pub fn use_circuit(&mut self, name: &str, source: Source, circuit: &crate::circuit::Circuit) {
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
            .map(|(kind, name, text)| (*kind, name.clone(), super::store::digest(text.as_bytes())))
            .collect()
    }
}

/// The meter by the shop's name for it; none is fine, and the record says so.
pub fn meter_in_use(settings: &Settings, named: Option<&str>) -> Result<MeterInUse, CliError> {
    let Some(named) = named else { return Ok(MeterInUse::default()) };
    let meters = &settings.shop.shop.meters;
    match meters.iter().find(|meter| meter.id == named) {
        Some(meter) => Ok(MeterInUse::new(meter.clone(), past(meter, settings))),
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
    let past = past_on(&meter, today);
    Ok(MeterInUse::new(meter, past))
}

fn past(meter: &Meter, settings: &Settings) -> bool {
    past_on(meter, settings.clock.today())
}

fn past_on(meter: &Meter, today: jiff::civil::Date) -> bool {
    // A meter without a date was never calibrated that anybody knows of.
    meter.calibration_due.as_ref().and_then(|due| due.parse::<jiff::civil::Date>().ok()).is_none_or(|due| due < today)
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
    let text = fs_err::read_to_string(path)?;
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
    let words = |error: UnknownState| format!("{part}: {error}");
    match part {
        "key" => vehicle.key = state.parse().map_err(words)?,
        "engine" => vehicle.engine = state.parse().map_err(words)?,
        "lift" => vehicle.lift = state.parse().map_err(words)?,
        "wheels" => vehicle.wheels = state.parse().map_err(words)?,
        "battery" => vehicle.battery = state.parse().map_err(words)?,
        "high_voltage" => vehicle.high_voltage = state.parse().map_err(words)?,
        "ran" => {
            let minutes: i64 = state
                .trim_end_matches("min")
                .trim()
                .parse()
                .ok()
                .filter(|minutes| (0..=1_000_000).contains(minutes))
                .ok_or_else(|| format!("`ran={state}`: write how many minutes ago the engine stopped"))?;
            vehicle.engine_stopped_at = Some(minute - minutes);
        }
        other => {
            let nearest = words::nearest(other, STATE_PARTS.iter().copied());
            return Err(format!(
                "`{other}` is no part whose state is asked for{}; it is one of {}",
                words::did_you_mean(nearest.as_deref()),
                STATE_PARTS.join(", ")
            ));
        }
    }
    Ok(())
}

/// Parts of the vehicle whose state is asked for.
pub const STATE_PARTS: [&str; 7] = ["key", "engine", "ran", "lift", "wheels", "battery", "high_voltage"];

/// Applies every `--state`.
pub fn apply_states(vehicle: &mut VehicleState, flags: &[String], minute: i64) -> Result<(), CliError> {
    for flag in flags {
        let (part, state) =
            flag.split_once('=').ok_or_else(|| CliError::usage(format!("--state {flag}: write it as key=off")))?;
        set_state(vehicle, part.trim(), state.trim(), minute).map_err(CliError::usage)?;
    }
    Ok(())
}

/// Asks for what is not known of the job. `None`: put down.
pub fn ask_job(input: &mut Input, output: &mut Output, mut job: Job, meters: &[Meter]) -> Option<Job> {
    output.line("What is known of the job (Enter leaves one out):");
    let ask = |input: &mut Input, output: &mut Output, label: &str| -> Option<Option<String>> {
        let text = input.line(&format!("  {label}: "), output)?;
        Some(Some(text.trim().to_owned()).filter(|text| !text.is_empty()))
    };
    if job.vehicle.is_none() {
        job.vehicle = ask(input, output, "vehicle or unit")?;
    }
    if job.odometer.is_none() {
        job.odometer = ask(input, output, "odometer, with its unit")?;
    }
    if job.concern.is_none() {
        job.concern = ask(input, output, "concern, in the customer's words")?;
    }
    if job.concern.is_some() && job.verified.is_none() {
        job.verified = match ask(input, output, "seen happening? 1 yes, 2 no")?.as_deref() {
            Some("1" | "y" | "yes") => Some(true),
            Some("2" | "n" | "no") => Some(false),
            _ => None,
        };
    }
    if job.codes.is_empty()
        && let Some(codes) = ask(input, output, "trouble codes, with spaces between")?
    {
        job.codes = codes.split([' ', ',', ';']).filter(|code| !code.is_empty()).map(str::to_owned).collect();
    }
    if job.technician.is_none() {
        job.technician = ask(input, output, "technician")?;
    }
    if job.meter.is_none() && !meters.is_empty() {
        for (index, meter) in meters.iter().enumerate() {
            output.line(&format!("    {}  {}", index + 1, harmless(&meter.name)));
        }
        while let Some(text) = ask(input, output, "meter, by number")? {
            let chosen = text.parse::<usize>().ok().and_then(|number| meters.get(number.checked_sub(1)?));
            match chosen.or_else(|| meters.iter().find(|meter| meter.id == text)) {
                Some(meter) => {
                    job.meter = Some(meter.id.clone());
                    break;
                }
                None => output.line(&format!("    there is no meter `{}` here", harmless(&text))),
            }
        }
    }
    if job.conditions.is_none() {
        job.conditions = ask(input, output, "weather and temperature")?;
    }
    Some(job)
}

const CHOICES: [(&str, &str, &[&str]); 6] = [
    ("key", "key", &["off", "accessory", "on"]),
    ("engine", "engine", &["stopped", "running"]),
    ("lift", "vehicle", &["down", "raised"]),
    ("wheels", "wheels", &["chocked", "free"]),
    ("battery", "battery", &["connected", "disconnected"]),
    ("high_voltage", "high-voltage system", &["absent", "present"]),
];

/// Asks how the vehicle stands. `None`: put down.
pub fn ask_state(
    input: &mut Input,
    output: &mut Output,
    mut vehicle: VehicleState,
    minute: i64,
) -> Option<VehicleState> {
    let mut asked = false;
    for (part, label, states) in CHOICES {
        if state_word(&vehicle, part) != "unknown" {
            continue;
        }
        if !std::mem::replace(&mut asked, true) {
            let words = "How the vehicle stands (Enter: not known, which counts as hazardous):";
            output.line(&wrapped(words, output.width(), "", "  "));
        }
        let choices: Vec<_> =
            states.iter().enumerate().map(|(index, state)| format!("{} {state}", index + 1)).collect();
        loop {
            let text = input.line(&format!("  {label}: {} > ", choices.join(", ")), output)?;
            let text = text.trim();
            let chosen = text.parse::<usize>().ok().and_then(|number| states.get(number.checked_sub(1)?).copied());
            let state = if text.is_empty() { "unknown" } else { chosen.unwrap_or(text) };
            match set_state(&mut vehicle, part, state, minute) {
                Ok(()) => break,
                Err(problem) => output.line(&wrapped(&harmless(&problem), output.width(), "    ", "    ")),
            }
        }
        if part == "engine" && vehicle.engine == Engine::Stopped && vehicle.engine_stopped_at.is_none() {
            loop {
                let text = input.line("  engine stopped how many minutes ago? > ", output)?;
                if text.trim().is_empty() {
                    break;
                }
                match set_state(&mut vehicle, "ran", text.trim(), minute) {
                    Ok(()) => break,
                    Err(problem) => output.line(&wrapped(&harmless(&problem), output.width(), "    ", "    ")),
                }
            }
        }
    }
    Some(vehicle)
}

fn state_word(vehicle: &VehicleState, part: &str) -> String {
    match part {
        "key" => vehicle.key.to_string(),
        "engine" => vehicle.engine.to_string(),
        "lift" => vehicle.lift.to_string(),
        "wheels" => vehicle.wheels.to_string(),
        "battery" => vehicle.battery.to_string(),
        _ => vehicle.high_voltage.to_string(),
    }
}

/// Shows how the vehicle stands, to confirm with Enter or to correct part by part. `None`: put down.
pub fn confirm_state(input: &mut Input, output: &mut Output, left: &VehicleState) -> Option<VehicleState> {
    let mut vehicle = left.clone();
    loop {
        let mut rows: Vec<Vec<String>> =
            CHOICES.iter().map(|(part, label, _)| vec![(*label).to_owned(), state_word(&vehicle, part)]).collect();
        let list = |names: &std::collections::BTreeSet<String>| names.iter().cloned().collect::<Vec<_>>().join(", ");
        if !vehicle.unplugged.is_empty() {
            rows.push(vec!["unplugged".into(), harmless(&list(&vehicle.unplugged))]);
        }
        if !vehicle.removed.is_empty() {
            rows.push(vec!["taken out".into(), harmless(&list(&vehicle.removed))]);
        }
        for (part, position) in &vehicle.positions {
            rows.push(vec![harmless(part), harmless(position)]);
        }
        for jumper in &vehicle.jumpers {
            let through = jumper.through.map(|resistance| format!(" through {resistance}")).unwrap_or_default();
            rows.push(vec![
                "connected".into(),
                harmless(&format!("{} to {}{through}", plain_name(&jumper.from), plain_name(&jumper.to))),
            ]);
        }
        let drawn = table(output.width(), &[], &rows, &[]);
        output.line(&drawn);
        let words = "Enter if it stands so; else what is different, as key=on or plug=C41";
        output.line(&wrapped(words, output.width(), "  ", "  "));
        let text = input.line("  > ", output)?;
        let text = text.trim();
        if text.is_empty() {
            return Some(vehicle);
        }
        if text.eq_ignore_ascii_case("pause") {
            return None;
        }
        if let Err(problem) = correct(&mut vehicle, text) {
            output.line(&wrapped(&harmless(&problem), output.width(), "    ", "    "));
        }
    }
}

fn correct(vehicle: &mut VehicleState, text: &str) -> Result<(), String> {
    let (part, state) = text.split_once('=').ok_or("write it as key=on, lift=raised, plug=C41 or unplug=C41")?;
    let (part, state) = (part.trim(), state.trim());
    match part {
        "plug" => _ = vehicle.unplugged.remove(state),
        "unplug" => _ = vehicle.unplugged.insert(state.to_owned()),
        "put_back" => _ = vehicle.removed.remove(state),
        "take_out" => _ = vehicle.removed.insert(state.to_owned()),
        "remove" => vehicle.jumpers.retain(|jumper| jumper.from != state && jumper.to != state),
        held if vehicle.positions.contains_key(held) => _ = vehicle.positions.insert(held.to_owned(), state.to_owned()),
        _ => {
            // The run's own clock, which may have been set by hand.
            let minute = EdgeClock::from_environment()?.now().minute();
            set_state(vehicle, part, state, minute)?;
        }
    }
    Ok(())
}
