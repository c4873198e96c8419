//! `resume`: goes on with a run, nothing lost and nothing asked twice.

use crate::circuit::bench::Bench;
use crate::cli::arguments;
use crate::cli::commands::run::{
    answering, conclude, heading, note_not_used, note_unlisted, person_of, say_record, whose,
};
use crate::cli::commands::{sign, standing};
use crate::cli::error::CliError;
use crate::cli::exit::Exit;
use crate::cli::terminal::input::Input;
use crate::cli::terminal::intake;
use crate::cli::terminal::output::Output;
use crate::cli::terminal::person::Person;
use crate::model::answered_by::AnsweredBy;
use crate::model::clean::Clean;
use crate::model::job::Job;
use crate::model::proof::kept::Standing;
use crate::model::record::RunStatus;
use crate::model::record::given::Answered;
use crate::model::started::Started;
use crate::model::vehicle::VehicleState;
use crate::model::words;
use crate::report::entry::{Tone, answer_text};
use crate::report::table::{harmless, table, wrapped};
use crate::run::answerer::Answerer;
use crate::run::bench::BenchAnswerer;
use crate::run::prepared_answers::{AnswersFile, PreparedAnswers, Used};
use crate::run::prepared_then_bench::PreparedThenBench;
use crate::shop::answers::{answers_file, check_ids};
use crate::shop::loaded::Loaded;
use crate::shop::resume::{Now, Preview, Resumable, Setting, latest};
use crate::shop::settings::Settings;
use std::io::IsTerminal;
use std::path::Path;
use std::sync::Arc;

/// Goes on with a run.
pub fn resume(settings: &Settings, arguments: &arguments::Resume, output: &mut Output) -> Result<Exit, CliError> {
    let name = match &arguments.record {
        Some(name) => name.clone(),
        None => latest(settings)?,
    };
    let resumable = Resumable::open(settings, &name)?;
    match with_which(settings, arguments, &resumable, output)? {
        Choice::KeptCopy => go_on(settings, arguments, resumable, output),
        Choice::NewRun(now) => begin_anew(settings, arguments, resumable, &now, output),
        Choice::Neither => Ok(Exit::Waiting),
    }
}

/// With which procedure a run goes on.
enum Choice {
    /// The copy that was kept with it.
    KeptCopy,
    /// The one that was edited since, in a new run.
    NewRun(Box<Loaded>),
    /// Not now.
    Neither,
}

/// Says what was edited since the run began, and lets the person choose where something was.
fn with_which(
    settings: &Settings,
    arguments: &arguments::Resume,
    resumable: &Resumable,
    output: &mut Output,
) -> Result<Choice, CliError> {
    let (now, what) = match resumable.now(settings) {
        Now::Same => return Ok(Choice::KeptCopy),
        Now::Gone(what) => {
            say(&format!("{what}; the run is finished on the copy that was kept with it."), output);
            return Ok(Choice::KeptCopy);
        }
        Now::Edited(now, what) => (now, what),
    };
    say(&format!("{} was begun with another {what} than there is now.", Clean::name(&resumable.name)), output);
    match now {
        Err(error) => {
            output.error(&error.into());
            if arguments.kept_copy {
                return Ok(Choice::KeptCopy);
            }
            Err(CliError::usage_with(
                "the procedure can't be used as it is now",
                "mend it, or finish on the copy that was kept: `resume --kept-copy`",
            ))
        }
        Ok(now) => {
            if let Some(preview) = resumable.preview(settings, &now) {
                explain(&preview, output);
            }
            choose(arguments, matches!(resumable.record.status, RunStatus::Ended(_)), now, output)
        }
    }
}

fn say(words: &str, output: &mut Output) {
    output.line(&wrapped(&harmless(words), output.width(), "", ""));
}

/// Shows, entry by entry, what is carried over into the edited procedure.
fn explain(preview: &Preview, output: &mut Output) {
    let row = |(answered, is_carried): &(Answered, bool)| {
        let how = if *is_carried {
            "carried over"
        } else {
            "not carried over: no longer asked at this point with the same quantity, points and vehicle state"
        };
        let recorded = answer_text(&answered.prompt, &answered.answer);
        vec![harmless(answered.prompt.id.as_str()), recorded, how.to_owned()]
    };
    let rows: Vec<Vec<String>> = preview.answers.iter().map(row).collect();
    if !rows.is_empty() {
        output.line(&table(output.width(), &["id", "recorded", "in the edited procedure"], &rows, &[]));
    }
    output.line(&wrapped(&harmless(&preview.next), output.width(), "", "  "));
}

fn choose(
    arguments: &arguments::Resume,
    failed: bool,
    now: Box<Loaded>,
    output: &mut Output,
) -> Result<Choice, CliError> {
    if arguments.kept_copy {
        return Ok(Choice::KeptCopy);
    }
    if arguments.new_run {
        return Ok(Choice::NewRun(now));
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
        Some("1") => Choice::NewRun(now),
        Some("2") => Choice::KeptCopy,
        _ => Choice::Neither,
    })
}

/// Finishes the run on the copy that was kept with it.
fn go_on(
    settings: &Settings,
    arguments: &arguments::Resume,
    resumable: Resumable,
    output: &mut Output,
) -> Result<Exit, CliError> {
    let Setting { meter, bench } = resumable.setting(settings)?;
    let bench = bench.map(|(_, bench)| bench);
    let is_simulated = bench.is_some();
    let name = resumable.name.clone();
    let (answerer, used) = match &arguments.answers {
        Some(path) => from_file(path, resumable.started(), &resumable.kept, bench, output)?,
        None => {
            let kept = &resumable.kept;
            let person =
                person_of(settings, arguments.large, kept, Input::open(), output).with_meter(Arc::clone(&meter));
            (with_person(person.resuming().with_entries(resumable.entries()), bench), None)
        }
    };
    let person = arguments.answers.is_none();
    let who = answering(is_simulated, person);
    let technician = arguments.technician.clone().or_else(|| resumable.technician().map(str::to_owned));
    if let Some(name) = &arguments.technician {
        note_unlisted(settings, &Job { technician: Some(name.clone()), ..Job::default() }, output);
    }
    if person {
        output.line(&wrapped(&heading(&resumable.kept), output.width(), "", ""));
        let whose = whose(&Job { technician: technician.clone(), ..resumable.started().job.clone() });
        let words = [Some(Clean::name(&name).into()), whose].into_iter().flatten().collect::<Vec<_>>().join("; ");
        output.line(&wrapped(&harmless(&words), output.width(), "", "  "));
        standing::say_example(&resumable.kept, output);
    }
    let taken_up = resumable.take_up(settings, technician, who.answered_by)?;
    if taken_up.dropped > 0 {
        let words = format!("The last line had not been written whole ({} bytes) and was dropped.", taken_up.dropped);
        output.toned(Tone::Doubtful, &words);
    }
    let (sitting, kept) = taken_up.go_on(settings, meter, (answerer, who))?;
    let exit = conclude(&sitting.folder, sitting.finished, &kept, person, output)?;
    used.iter().for_each(|used| note_not_used(used, output));
    sign::offer(settings, &sitting.folder, person, output);
    Ok(exit)
}

/// Begins a linked new run with the edited procedure.
fn begin_anew(
    settings: &Settings,
    arguments: &arguments::Resume,
    resumable: Resumable,
    now: &Loaded,
    output: &mut Output,
) -> Result<Exit, CliError> {
    let Setting { meter, bench } = resumable.setting(settings)?;
    let (simulated, bench) = bench.unzip();
    standing::note_remarks(&now.remarks(), output);
    let proof = match simulated {
        Some(_) => {
            standing::say_example(now, output);
            Standing::NotProven
        }
        None => standing::say(settings, now, output),
    };
    // A new run begins with the vehicle as the old record left it, not as it stood when that began.
    let mut vehicle = resumable.record.vehicle.clone();
    let (answerer, used) = match &arguments.answers {
        Some(path) => from_file(path, resumable.started(), now, bench, output)?,
        None => {
            let mut input = Input::open();
            if !standing::goes_on(&proof, &mut input, output) {
                return Ok(Exit::Waiting);
            }
            output.line("");
            let words = "The vehicle, as the record left it. Look before you trust it:";
            output.line(&wrapped(words, output.width(), "", ""));
            match intake::confirm_state(&mut input, output, &vehicle, now.points.as_deref()) {
                Some(confirmed) => vehicle = confirmed,
                None => return Ok(Exit::Waiting),
            }
            let person = person_of(settings, arguments.large, now, input, output).with_meter(Arc::clone(&meter));
            (with_person(person, bench), None)
        }
    };
    let person = arguments.answers.is_none();
    let who = answering(simulated.is_some(), person);
    let sitting = resumable.begin_anew(settings, now, vehicle, (meter, simulated), (answerer, who), |folder| {
        say_record(folder, person, output)
    })?;
    let exit = conclude(&sitting.folder, sitting.finished, now, person, output)?;
    sign::offer(settings, &sitting.folder, person, output);
    used.iter().for_each(|used| note_not_used(used, output));
    Ok(exit)
}

/// A person, at the vehicle or at a simulated circuit.
fn with_person(person: Person, bench: Option<Bench>) -> Box<dyn Answerer> {
    match bench {
        Some(bench) => Box::new(BenchAnswerer::with_person(bench, Box::new(person.at_bench()))),
        None => Box::new(person),
    }
}

/// An answers file, and a simulated circuit for what it leaves out; with what says which answers were used.
fn from_file(
    path: &Path,
    started: &Started,
    run: &Loaded,
    bench: Option<Bench>,
    output: &mut Output,
) -> Result<(Box<dyn Answerer>, Option<Used>), CliError> {
    let answers = answers_file(path, started.name())?;
    check_ids(path, &answers, run)?;
    note_left_out(path, &answers, started, output);
    let sheet = PreparedAnswers::new(AnsweredBy::File, answers.answers);
    let used = Some(sheet.used());
    Ok(match bench {
        Some(bench) => (Box::new(PreparedThenBench::new(sheet, BenchAnswerer::alone(bench))), used),
        None => (Box::new(sheet), used),
    })
}

/// Says of the job and the vehicle in an answers file that the record has its own, where they are others.
fn note_left_out(path: &Path, answers: &AnswersFile, started: &Started, output: &mut Output) {
    let job = answers.job != Job::default() && answers.job != started.whole_job();
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
