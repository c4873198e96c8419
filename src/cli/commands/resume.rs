//! `resume`: goes on with a run, nothing lost and nothing asked twice.

use crate::circuit::bench::Bench;
use crate::cli::arguments;
use crate::cli::commands::run::{Begin, answers_file, check_ids, conclude, note_not_used};
use crate::cli::error::CliError;
use crate::cli::exit::Exit;
use crate::cli::journal_file::parse;
use crate::cli::settings::Settings;
use crate::cli::simulated::Simulated;
use crate::cli::start::{self, Loaded};
use crate::cli::store::JOURNAL;
use crate::cli::terminal::input::Input;
use crate::cli::terminal::intake;
use crate::cli::terminal::output::Output;
use crate::cli::terminal::person::Person;
use crate::model::event::{AnsweredBy, Event, Link, LinkKind, Started};
use crate::model::job::Job;
use crate::model::record::{Record, RunStatus};
use crate::model::source::SourceKind;
use crate::model::stamp::Stamp;
use crate::model::vehicle::VehicleState;
use crate::model::words;
use crate::report::entry::{Tone, line};
use crate::report::record::standing_text;
use crate::report::table::{harmless, table, wrapped};
use crate::run::answerer::{Answerer, MeterInUse};
use crate::run::bench::BenchAnswerer;
use crate::run::carried_answers::CarriedAnswers;
use crate::run::journal::{Clock, Nowhere};
use crate::run::prepared_answers::{AnswersFile, PreparedAnswers};
use crate::run::prepared_then_bench::PreparedThenBench;
use crate::run::session::Session;
use crate::script::execute::{EntryPoint, Outcome, execute};
use std::io::IsTerminal;
use std::path::Path;
use std::sync::Arc;

/// How many of the records that were written to last are looked through for one that can be taken up.
pub const RECENT: usize = 200;

/// Goes on with a run.
pub fn resume(settings: &Settings, arguments: &arguments::Resume, output: &mut Output) -> Result<Exit, CliError> {
    let name = match &arguments.record {
        Some(name) => name.clone(),
        None => {
            let open = settings.store.open_runs(RECENT)?;
            // One that goes on in another window is not to be taken up here, where there is another.
            match open.iter().find(|(name, _)| !settings.store.is_held(name)).or(open.first()) {
                Some((name, _)) => name.clone(),
                None => settings.store.latest()?,
            }
        }
    };
    let folder = settings.store.open(&name)?;
    let name = folder.name.clone();
    let store = folder.store();
    let mut back = parse(&folder.path().join(JOURNAL), folder.bytes()?)?;
    let mut entries = std::mem::take(&mut back.entries);
    if entries.is_empty() {
        return Err(CliError::usage_with(
            format!("{name} was broken off before anything was recorded"),
            "begin it anew with `ohmwright run`",
        ));
    }
    let record = Record::of(&entries).map_err(|error| CliError::usage(format!("{name}: {error}")))?;
    if entries.iter().any(|entry| entry.event.is_an_end()) {
        return Err(CliError::usage_with(
            format!("{name} has ended: {}{}", standing_text(&record.status), torn_behind(back.torn())),
            format!("`ohmwright show {name}` shows it"),
        ));
    }
    let started = &record.started;
    let kept = Loaded::kept(&store, &started.procedure, &started.sources)?;
    let entry_point = if started.part.is_some() { EntryPoint::AfterRepair } else { EntryPoint::Body };
    let mut new_run = None;
    match now(settings, started, &kept) {
        Now::Same => {}
        Now::Gone(what) => output.line(&wrapped(
            &harmless(&format!("{what}; the run is finished on the copy that was kept with it.")),
            output.width(),
            "",
            "",
        )),
        Now::Edited(now, what) => {
            output.line(&wrapped(
                &harmless(&format!("{name} was begun with another {what} than there is now.")),
                output.width(),
                "",
                "",
            ));
            match now {
                Err(error) => {
                    output.error(&error);
                    if !arguments.kept_copy {
                        return Err(CliError::usage_with(
                            "the procedure can't be used as it is now",
                            "mend it, or finish on the copy that was kept: `resume --kept-copy`",
                        ));
                    }
                }
                Ok(now) => {
                    explain(settings, &entries, started.part.is_some(), &now, output);
                    let choice = choose(arguments, matches!(record.status, RunStatus::Ended(_)), output)?;
                    match choice {
                        Choice::KeptCopy => {}
                        Choice::NewRun => new_run = Some(*now),
                        Choice::Neither => return Ok(Exit::Waiting),
                    }
                }
            }
        }
    }
    let mut meter = start::kept_meter(&store, &started.sources, settings.clock.today())?;
    if let (Some(_), Some(bench_meter)) = (&started.bench, meter.meter()) {
        meter = MeterInUse::of_bench(bench_meter.clone());
    }
    let meter = Arc::new(meter);
    let run = new_run.as_ref().unwrap_or(&kept);
    let (steps, points) = (run.procedure.steps, run.points.clone());
    // A new run begins with the vehicle as the old record left it, not as it stood when that began.
    let mut vehicle = record.vehicle.clone();
    let simulated = Simulated::of(started);
    let bench = simulated.as_ref().map(|simulated| bench(&store, started, simulated)).transpose()?;
    let mut used = None;
    let answerer: Box<dyn Answerer> = match &arguments.answers {
        Some(path) => {
            let answers = answers_file(path, &started.procedure)?;
            check_ids(path, &answers, run)?;
            note_left_out(path, &answers, started, output);
            let sheet = PreparedAnswers::new(AnsweredBy::File, answers.answers);
            used = Some(sheet.used());
            match bench {
                Some(bench) => Box::new(PreparedThenBench::new(sheet, BenchAnswerer::alone(bench))),
                None => Box::new(sheet),
            }
        }
        None => {
            let mut input = Input::open();
            if new_run.is_some() {
                output.line("");
                let words = "The vehicle, as the record left it. Look before you trust it:";
                output.line(&wrapped(words, output.width(), "", ""));
                match intake::confirm_state(&mut input, output, &vehicle) {
                    Some(confirmed) => vehicle = confirmed,
                    None => return Ok(Exit::Waiting),
                }
            }
            let mut person = Person::new(input, output.width(), steps).with_points(points);
            if new_run.is_none() {
                person = person.resuming();
            }
            match bench {
                Some(bench) => Box::new(BenchAnswerer::with_person(bench, Box::new(person.at_bench()))),
                None => Box::new(person),
            }
        }
    };
    let person = arguments.answers.is_none();
    if let Some(now) = new_run {
        let record = settings.store.lasting_name(folder.path())?;
        let link = Link { kind: LinkKind::EditedProcedure, record, sha256: back.sha256() };
        let answerer: Box<dyn Answerer> = Box::new(CarriedAnswers::new(Arc::new(entries), answerer));
        let begin =
            Begin { job: started.job.clone(), vehicle, meter, entry_point, link: Some(link), bench: simulated, person };
        drop(folder);
        let exit = begin.go(settings, &now, answerer, output)?;
        used.iter().for_each(|used| note_not_used(used, output));
        return Ok(exit);
    }
    if person {
        output.line(&wrapped(&crate::cli::commands::run::heading(&kept), output.width(), "", ""));
        let whose = crate::cli::commands::run::whose(&started.job);
        output.line(&wrapped(
            &harmless(&[Some(name.clone()), whose].into_iter().flatten().collect::<Vec<_>>().join("; ")),
            output.width(),
            "",
            "  ",
        ));
    }
    // Only now is something written, and what was not written whole cut off.
    let (mut journal, _) = folder.journal()?;
    if back.torn() > 0 {
        let at: Stamp = settings.clock.clone().now();
        let event = Event::TornLineDropped { bytes: back.torn() };
        output.toned(
            Tone::Doubtful,
            &format!("The last line had not been written whole ({} bytes) and was dropped.", back.torn()),
        );
        journal.note(at.clone(), event.clone())?;
        entries.push(crate::model::event::Entry { at, event });
    }
    let parts = kept.parts(Box::new(journal.clone()), answerer, Box::new(settings.clock.clone()), meter);
    let session = Session::resume(parts, entries);
    let finished = execute(&kept.procedure, entry_point, session, kept.points.clone());
    let exit = conclude(&name, &journal, finished, &kept, person, output)?;
    used.iter().for_each(|used| note_not_used(used, output));
    crate::cli::commands::sign::offer(settings, &folder, person, output);
    Ok(exit)
}

/// What stands behind the end of a record and is no line.
fn torn_behind(bytes: usize) -> String {
    match bytes {
        0 => String::new(),
        _ => format!("; {bytes} bytes behind its end are no whole line, and stay where they are"),
    }
}

/// Says of the job and the vehicle in an answers file that the record has its own, where they are others.
fn note_left_out(path: &Path, answers: &AnswersFile, started: &Started, output: &mut Output) {
    let job = answers.job != Job::default() && answers.job != started.job;
    let vehicle = answers.vehicle != VehicleState::default() && answers.vehicle != started.vehicle;
    let left_out: Vec<&str> = [("[job]", job), ("[vehicle]", vehicle)]
        .into_iter()
        .filter_map(|(table, is_other)| is_other.then_some(table))
        .collect();
    if !left_out.is_empty() {
        let what = words::all(&left_out);
        let are = if left_out.len() > 1 { "are" } else { "is" };
        let words = format!("note: {what} of {} {are} not used: the record has its own", path.display());
        output.note(&wrapped(&harmless(&words), output.width(), "", "  "));
    }
}

/// The same circuit with the same faults in it, from the kept copy.
fn bench(store: &crate::cli::store::Store, started: &Started, simulated: &Simulated) -> Result<Bench, CliError> {
    let source = started
        .sources
        .iter()
        .find(|source| source.kind == SourceKind::Circuit)
        .ok_or_else(|| CliError::usage("the record keeps no circuit"))?;
    let source = crate::script::diagnose::Source { file: source.name.clone(), text: store.kept(source)? };
    let circuit = Arc::new(crate::cli::commands::circuits::parse(&source)?);
    crate::cli::commands::circuits::faults(&circuit, &simulated.faults)?;
    simulated.bench(circuit).map_err(|error| CliError::usage(format!("{}: {error}", simulated.circuit)))
}

/// How the procedure is now, against what a run was begun with.
enum Now {
    /// As it was.
    Same,
    /// A file of it was moved or deleted, or can't be read: which, and what is with it.
    Gone(String),
    /// Edited: as it is now, and which file of it.
    Edited(Result<Box<Loaded>, CliError>, &'static str),
}

/// What is with a file that can't be had.
fn gone(what: &str, error: &CliError) -> String {
    match error {
        CliError::Usage { .. } => format!("{what} is no longer there"),
        other => format!("{what} can't be read ({other})"),
    }
}

/// Looks for what was edited, moved or deleted since the run began.
fn now(settings: &Settings, started: &Started, kept: &Loaded) -> Now {
    let of_kind = |kind: SourceKind| started.sources.iter().filter(move |source| source.kind == kind);
    let Some(procedure) = of_kind(SourceKind::Procedure).next() else { return Now::Same };
    // Under the shop's or the program's name, or by the path that it was given with.
    let by_path = Path::new(&procedure.name).is_file();
    let given = if by_path { procedure.name.clone() } else { started.procedure.clone() };
    if let Err(error) = settings.shop.procedure(&given) {
        return Now::Gone(gone(&format!("The procedure {}", procedure.name), &error));
    }
    let mut now = match Loaded::find(settings, &given) {
        Ok(now) => now,
        Err(error) => {
            let library = of_kind(SourceKind::Library).find(|source| settings.shop.library(&source.name).is_none());
            let circuit = of_kind(SourceKind::Circuit)
                .find_map(|source| settings.shop.circuit(&source.name).err().map(|error| (source, error)));
            return match (library, circuit) {
                (Some(library), _) => Now::Gone(format!("The library file {} is no longer there", library.name)),
                (None, Some((circuit, error))) => Now::Gone(gone(&format!("The circuit {}", circuit.name), &error)),
                (None, None) => Now::Edited(Err(error), "procedure"),
            };
        }
    };
    // A simulated circuit need not be the one that the procedure names.
    if let Some(bench) = &started.bench {
        match crate::cli::commands::circuits::find(settings, bench) {
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

/// Runs the edited procedure over the old answers and shows, entry by entry, what is carried over.
fn explain(
    settings: &Settings,
    entries: &[crate::model::event::Entry],
    after_repair: bool,
    now: &Loaded,
    output: &mut Output,
) {
    let Ok(record) = Record::of(entries) else { return };
    let nobody = Box::new(PreparedAnswers::new(AnsweredBy::Record, std::collections::BTreeMap::new()));
    let earlier = Box::new(CarriedAnswers::new(Arc::new(entries.to_vec()), nobody));
    let parts = now.parts(Box::new(Nowhere), earlier, Box::new(settings.clock.clone()), Arc::default());
    let mut started = record.started.clone();
    started.vehicle = record.vehicle.clone();
    started.link = None;
    let Ok(session) = Session::start(parts, started) else { return };
    let entry_point = if after_repair { EntryPoint::AfterRepair } else { EntryPoint::Body };
    let finished = execute(&now.procedure, entry_point, session, now.points.clone());
    let carried: Vec<_> = finished
        .entries
        .iter()
        .filter_map(|entry| match &entry.event {
            Event::Answered { prompt, .. } => Some(prompt.clone()),
            _ => None,
        })
        .collect();
    let rows: Vec<Vec<String>> = record
        .answers()
        .map(|answered| {
            let taken = carried.iter().any(|prompt| prompt.id == answered.prompt.id);
            let how = if taken {
                "carried over".to_owned()
            } else {
                "not carried over: no longer asked at this point with the same quantity, points and vehicle state"
                    .to_owned()
            };
            vec![
                harmless(answered.prompt.id.as_str()),
                crate::report::entry::answer_text(&answered.prompt, &answered.answer),
                how,
            ]
        })
        .collect();
    if !rows.is_empty() {
        let drawn = table(output.width(), &["id", "recorded", "in the edited procedure"], &rows, &[]);
        output.line(&drawn);
    }
    let next = match finished.outcome {
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
    };
    output.line(&wrapped(&harmless(&next), output.width(), "", "  "));
}

enum Choice {
    KeptCopy,
    NewRun,
    Neither,
}

fn choose(arguments: &arguments::Resume, failed: bool, output: &mut Output) -> Result<Choice, CliError> {
    if arguments.kept_copy {
        return Ok(Choice::KeptCopy);
    }
    if arguments.new_run {
        return Ok(Choice::NewRun);
    }
    if !std::io::stdin().is_terminal() {
        return Err(CliError::usage_with(
            "say how to go on",
            "`--new-run` begins a linked new run with the edited procedure, `--kept-copy` finishes on the copy that was kept",
        ));
    }
    let mut input = Input::open();
    output.line("  1  begin a linked new run with the edited procedure");
    let kept = if failed { "  2  try the copy that was kept again" } else { "  2  finish on the copy that was kept" };
    output.line(kept);
    Ok(match input.line("number > ", output).as_deref().map(str::trim) {
        Some("1") => Choice::NewRun,
        Some("2") => Choice::KeptCopy,
        _ => Choice::Neither,
    })
}
