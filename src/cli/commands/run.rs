//! `run`: at the vehicle, or from an answers file.

use crate::circuit::cause::NOT_PRESENT;
use crate::circuit::fault::{Fault, FaultId};
use crate::circuit::meter::bench_meter;
use crate::cli::arguments;
use crate::cli::commands::{sign, standing};
use crate::cli::error::CliError;
use crate::cli::exit::Exit;
use crate::cli::job_flags::job_of;
use crate::cli::terminal::input::Input;
use crate::cli::terminal::intake::{self, NotSettled};
use crate::cli::terminal::output::Output;
use crate::cli::terminal::person::Person;
use crate::model::answered_by::AnsweredBy;
use crate::model::caution::FIRST_WORD;
use crate::model::clean::Clean;
use crate::model::diagnostic::Diagnostic;
use crate::model::event::{Entry, Event, NamedCause};
use crate::model::job::Job;
use crate::model::link::{Link, LinkKind};
use crate::model::prompt::CauseId;
use crate::model::record::Record;
use crate::model::started::PlacedFault;
use crate::records::store::RunFolder;
use crate::report::entry::Tone;
use crate::report::finding;
use crate::report::question::with_label;
use crate::report::record;
use crate::report::table::{harmless, wrapped};
use crate::run::answerer::{Answerer, Answering, MeterInUse};
use crate::run::bench::BenchAnswerer;
use crate::run::journal::Clock;
use crate::run::prepared_answers::{PreparedAnswers, Used};
use crate::script::execute::{EntryPoint, Finished, Outcome};
use crate::shop::answers::{answers_file, check_ids};
use crate::shop::begin::{Begin, after, any_number, merged};
use crate::shop::circuits;
use crate::shop::job_file::{JobFile, job_file};
use crate::shop::loaded::{Loaded, WhoAnswers};
use crate::shop::meters::meter_in_use;
use crate::shop::people::unlisted;
use crate::shop::settings::Settings;
use crate::shop::simulated::{self, Simulated};
use crate::shop::still_possible::{Evidence, MakesEvidence};
use crate::shop::vehicle_state::apply_states;
use std::sync::Arc;

/// Runs a procedure.
pub fn run(settings: &Settings, arguments: &arguments::Run, output: &mut Output) -> Result<Exit, CliError> {
    let loaded = Loaded::find(settings, &arguments.procedure)?;
    let answers = match &arguments.answers {
        Some(path) => {
            let answers = answers_file(path, &loaded.procedure.name)?;
            check_ids(path, &answers, &loaded)?;
            Some(answers)
        }
        None => None,
    };
    let (entry_point, link, earlier_job) = match &arguments.after {
        Some(name) => {
            let (link, job) = after(settings, &loaded, name, arguments.bench.is_some())?;
            (EntryPoint::AfterRepair, Some(link), job)
        }
        None => (EntryPoint::Body, None, Job::default()),
    };
    let file = match &arguments.job.file {
        Some(path) => {
            let file = job_file(path)?;
            JobFile { job: merged(earlier_job, file.job), ..file }
        }
        None => JobFile { job: earlier_job, vehicle: None },
    };
    if let Some(wanted) = &arguments.bench {
        return on_bench(settings, arguments, loaded, wanted.named(), (entry_point, link, file), output);
    }
    let minute = settings.clock.clone().now().minute();
    let (base, state) = match &answers {
        Some(answers) => (merged(file.job, answers.job.clone()), Some(answers.vehicle.clone())),
        None => (file.job, file.vehicle),
    };
    let mut job = job_of(&arguments.job, base)?;
    note_unlisted(settings, &job, output);
    standing::note_remarks(&loaded.remarks(), output);
    standing::note_shop(&settings.shop.shop, output);
    // A meter that the shop does not have is said before anything is typed.
    meter_in_use(settings, job.meter.as_deref())?;
    let mut vehicle = state.clone().unwrap_or_default();
    apply_states(&mut vehicle, &arguments.job.state, minute)?;
    let mut input = Input::open();
    if answers.is_none() {
        output.line(&wrapped(&heading(&loaded), output.width(), "", ""));
    }
    let proof = standing::say(settings, &loaded, output);
    if answers.is_none() {
        if !standing::goes_on(&proof, &mut input, output) {
            return Ok(nothing_begun(output));
        }
        if !loaded.procedure.header.tools.is_empty() {
            let needs = format!("needs: {}", loaded.procedure.header.tools.join("; "));
            output.line(&wrapped(&harmless(&needs), output.width(), "", "       "));
        }
        if let Some(whose) = whose(&job) {
            output.line(&wrapped(&harmless(&whose), output.width(), "", "  "));
        }
        if arguments.job.file.is_none() {
            match intake::ask_job(&mut input, output, job, &settings.shop.shop) {
                Some(asked) => job = asked,
                None => return Ok(nothing_begun(output)),
            }
        }
        if state.is_none() {
            match intake::ask_state(&mut input, output, vehicle, minute) {
                Some(asked) => vehicle = asked,
                None => return Ok(nothing_begun(output)),
            }
        }
    }
    let meter = Arc::new(meter_in_use(settings, job.meter.as_deref())?);
    note_unsettled(&meter, output);
    standing::note_meter(&proof, &meter, output);
    let person = answers.is_none();
    let mut used = None;
    let answerer: Box<dyn Answerer> = match answers {
        Some(answers) => {
            let sheet = PreparedAnswers::new(AnsweredBy::File, answers.answers);
            used = Some(sheet.used());
            Box::new(sheet)
        }
        None => {
            output.line(&wrapped(FIRST_WORD, output.width(), "", ""));
            let person = person_of(settings, arguments.large, &loaded, input, output);
            Box::new(person.with_meter(Arc::clone(&meter)))
        }
    };
    let begin = Begin { job, vehicle, meter, entry_point, link, bench: None };
    let (exit, _) = go(settings, &loaded, begin, (answerer, answering(false, person)), person, output)?;
    if let Some(used) = used {
        note_not_used(&used, output);
    }
    Ok(exit)
}

/// At a simulated circuit: Enter puts the leads where the table says, and the meter shows.
fn on_bench(
    settings: &Settings,
    arguments: &arguments::Run,
    mut loaded: Loaded,
    wanted: Option<&str>,
    (entry_point, link, file): (EntryPoint, Option<Link>, JobFile),
    output: &mut Output,
) -> Result<Exit, CliError> {
    standing::note_remarks(&loaded.remarks(), output);
    standing::note_shop(&settings.shop.shop, output);
    let (name, circuit) = crate::shop::loaded::for_bench(settings, &mut loaded, wanted)?;
    let seed = arguments.seed.unwrap_or_else(any_number);
    let faults = if arguments.faults.is_empty() {
        let number = usize::try_from(seed % circuit.faults().len().max(1) as u64).unwrap_or(0);
        let hidden = circuit.faults().get(number).map(|fault| fault.id.0.clone());
        hidden.map(|id| PlacedFault { id, severity: None }).into_iter().collect()
    } else {
        circuits::faults(&circuit, &arguments.faults)?
    };
    let simulated = Simulated::new(name, &circuit, faults.clone(), seed);
    let bench = simulated
        .bench(Arc::clone(&circuit))
        .map_err(|error| CliError::input(Diagnostic::of_file(&simulated.circuit, error)))?;
    let mut job = job_of(&arguments.job, file.job)?;
    if let Some(meter) = job.meter.take().filter(|_| arguments.job.file.is_some()) {
        let words = format!(
            "note: the job's meter `{}` is left out: a simulated circuit is measured with a meter of its own",
            harmless(&meter)
        );
        output.note(&wrapped(&words, output.width(), "", "  "));
    }
    let mut input = Input::open();
    match intake::settle_nominal(&mut input, output, job.nominal, circuit.nominal()) {
        Ok(nominal) => job.nominal = nominal,
        Err(NotSettled) => return Ok(nothing_begun(output)),
    }
    note_unlisted(settings, &job, output);
    job.vehicle.get_or_insert_with(|| simulated::vehicle_name(&circuit));
    let minute = settings.clock.clone().now().minute();
    let mut vehicle = simulated::vehicle(&circuit, file.vehicle.unwrap_or_default(), minute);
    apply_states(&mut vehicle, &arguments.job.state, minute)?;
    let width = output.width();
    output.line(&wrapped(&heading(&loaded), width, "", ""));
    // What was proven on its own circuit says nothing of another.
    match wanted.is_none_or(|wanted| loaded.procedure.header.circuit.as_deref() == Some(wanted)) {
        true => _ = standing::say(settings, &loaded, output),
        false => standing::say_example(&loaded, output),
    }
    output.line(&wrapped("SIMULATED: a circuit answers, and no vehicle is measured.", width, "", "  "));
    output.line(&wrapped(FIRST_WORD, width, "", ""));
    let meter = Arc::new(MeterInUse::of_bench(bench_meter()));
    let person = person_of(settings, arguments.large, &loaded, input, output).with_meter(Arc::clone(&meter)).at_bench();
    let answerer = BenchAnswerer::with_person(bench, Box::new(person));
    let begin = Begin { job, vehicle, meter, entry_point, link, bench: Some(simulated) };
    let (exit, causes) = go(settings, &loaded, begin, (Box::new(answerer), answering(true, true)), true, output)?;
    if exit == Exit::Done {
        let put_in = |fault: &PlacedFault| circuit.fault(&FaultId::from(fault.id.as_str())).ok();
        say_what_was_in_it(&faults.iter().filter_map(put_in).collect::<Vec<_>>(), &causes, output);
    }
    Ok(exit)
}

/// Says whether the right cause was named, and what was in the circuit.
fn say_what_was_in_it(faults: &[&Fault], causes: &[NamedCause], output: &mut Output) {
    let is_named = |cause: &str| causes.iter().any(|named| named.id.as_str() == cause);
    let is_right = match faults {
        [] => is_named(NOT_PRESENT) || is_named(CauseId::REPAIRED),
        faults => faults.iter().any(|fault| fault.causes.iter().any(|cause| is_named(cause))),
    };
    let (tone, word) = if is_right { (Tone::Good, "RIGHT") } else { (Tone::Bad, "WRONG") };
    let was: Vec<&str> = faults.iter().map(|fault| fault.what.as_str()).collect();
    let was = if was.is_empty() { "nothing was wrong".to_owned() } else { was.join("; ") };
    let text = with_label(word, &format!("In the simulated circuit: {was}."), output.width());
    output.verdict(tone, word, &text);
}

/// Begins a record, runs the procedure in it, says how it came out, and offers the sign-off.
fn go(
    settings: &Settings,
    loaded: &Loaded,
    begin: Begin,
    who: WhoAnswers,
    person: bool,
    output: &mut Output,
) -> Result<(Exit, Vec<NamedCause>), CliError> {
    let sitting = begin.go(settings, loaded, who, |folder| say_record(folder, person, output))?;
    let causes = match &sitting.finished.outcome {
        Outcome::Concluded(causes) => causes.clone(),
        _ => vec![],
    };
    let exit = conclude(&sitting.folder, sitting.finished, loaded, person, output)?;
    sign::offer(settings, &sitting.folder, person, output);
    Ok((exit, causes))
}

/// Says how a run came out, and where it is.
pub fn conclude(
    folder: &RunFolder,
    finished: Finished,
    loaded: &Loaded,
    person: bool,
    output: &mut Output,
) -> Result<Exit, CliError> {
    let (name, width) = (Clean::name(&folder.name), output.width());
    if !person && let Ok(folded) = Record::of(&finished.entries) {
        output.text(&record::text((folder.number, &folder.name), &folded, loaded.points.as_deref(), &[], width));
    }
    let which = folder.number.map_or_else(|| name.to_string(), |number| number.to_string());
    let goes_on = format!("Continue with: ohmwright resume {which}");
    let exit = match finished.outcome {
        Outcome::Concluded(_) => {
            say_what_came_of_it(&finished.entries, person, Tone::Plain, output);
            Exit::Done
        }
        Outcome::Ended(_) => {
            say_what_came_of_it(&finished.entries, person, Tone::Doubtful, output);
            Exit::Unfinished
        }
        Outcome::Waiting { prompt, text, problem } => {
            let mut words = format!("Waits for `{prompt}`");
            if !text.is_empty() {
                words.push_str(&format!(" ({text})"));
            }
            if let Some(problem) = problem {
                words.push_str(&format!(": {problem}"));
            }
            output.toned(Tone::Doubtful, &wrapped(&harmless(&words), width, "", "  "));
            output.line(&wrapped(&goes_on, width, "", "  "));
            output.line(&wrapped(&called(folder, &finished.entries, width), width, "", "  "));
            return Ok(Exit::Waiting);
        }
        Outcome::Paused => {
            let simulated = simulated_mark(&finished.entries);
            output.line(&wrapped(&format!("Paused{simulated}. {goes_on}"), width, "", "  "));
            return Ok(Exit::Waiting);
        }
        Outcome::Diverged { line, recorded, attempted } => {
            return Err(CliError::input(Diagnostic::of_file(
                &format!("{name}, line {line} of its journal"),
                format!("the record has {recorded}, and the procedure now has {attempted}"),
            )));
        }
        Outcome::Failed(diagnostic) => {
            let words = format!("The procedure has an error. Correct it first. {goes_on}");
            output.line(&wrapped(&words, width, "", "  "));
            return Err(CliError::Input(vec![*diagnostic]));
        }
        Outcome::Journal(problem) if !folder.is_in_place() => {
            return Err(CliError::Files(format!(
                "{problem}. The last answer may be in no file. Put the folder back where it was, then continue with: \
                 ohmwright resume {name}. Without the folder, begin the run again"
            )));
        }
        Outcome::Journal(problem) => {
            return Err(CliError::Files(format!(
                "the journal of {name} can't be written: {problem}. Earlier answers are kept. {goes_on}"
            )));
        }
    };
    output.line(&wrapped(&called(folder, &finished.entries, width), width, "", "  "));
    if person {
        output.line(&wrapped(&format!("Next: ohmwright report {which}"), width, "", "  "));
    }
    Ok(exit)
}

/// Says which record a run writes, so that it can be named while it goes on.
pub fn say_record(folder: &RunFolder, person: bool, output: &mut Output) {
    if person {
        output.line(&wrapped(&called(folder, &[], output.width()), output.width(), "", "  "));
    }
}

/// Which record it is: its number, its name, and whether no vehicle stands behind it. A name that does not fit is left out: the
/// number finds the record.
fn called(folder: &RunFolder, entries: &[Entry], width: usize) -> String {
    let (name, simulated) = (Clean::name(&folder.name), simulated_mark(entries));
    let Some(number) = folder.number else { return format!("Record: {name}{simulated}") };
    let whole = format!("Record {number}: {name}{simulated}");
    if whole.chars().count() <= width { whole } else { format!("Record {number}{simulated}") }
}

/// What follows where no vehicle stands behind a run.
fn simulated_mark(entries: &[Entry]) -> &'static str {
    match entries.first().map(|entry| &entry.event) {
        Some(Event::Started(started)) if started.simulated.is_some() => " (SIMULATED)",
        _ => "",
    }
}

/// Says of a meter on whose figures nothing can be built that the verdicts will not say how sure they are.
fn note_unsettled(meter: &MeterInUse, output: &mut Output) {
    if let Some(why) = meter.why_unsettled() {
        let words = format!("note: {why}, so how sure the verdicts are is not known");
        output.note(&wrapped(&harmless(&words), output.width(), "", "  "));
    }
}

/// The finding and the correction, then the changes left at the vehicle.
fn say_what_came_of_it(entries: &[Entry], person: bool, tone: Tone, output: &mut Output) {
    let Some(record) = Record::of(entries).ok().filter(|_| person) else { return };
    let check = record.started.link.as_ref().is_some_and(|link| link.kind == LinkKind::AfterRepair);
    for line in finding::of_record(&record, check) {
        output.toned(tone, &wrapped(&line, output.width(), "", "  "));
    }
    if let Some(left) = record::how_it_is_left(&record) {
        let words = format!("Left changed: {left}.");
        output.toned(Tone::Doubtful, &wrapped(&harmless(&words), output.width(), "", "  "));
    }
}

/// Who answers: a simulated circuit, a person or an answers file; `person`: whether a person follows it on the screen.
pub const fn answering(bench: bool, person: bool) -> Answering {
    let by = match (bench, person) {
        (true, _) => AnsweredBy::Bench,
        (false, true) => AnsweredBy::Person,
        (false, false) => AnsweredBy::File,
    };
    if person { Answering::in_person(by) } else { Answering::unattended(by) }
}

/// Says of a technician whom the shop does not list that nobody can sign by that name.
pub fn note_unlisted(settings: &Settings, job: &Job, output: &mut Output) {
    if let Some(remark) = unlisted(&settings.shop.shop, job.technician.as_deref()) {
        output.note(&wrapped(&harmless(&format!("note: {remark}")), output.width(), "", "  "));
    }
}

/// Which vehicle a run is about, and what is wrong with it, as far as that is known.
pub fn whose(job: &Job) -> Option<String> {
    let concern = job.concern.as_ref().map(|concern| format!("\u{201c}{concern}\u{201d}"));
    let known: Vec<String> =
        [job.vehicle.as_deref().map(|vehicle| Clean::name(vehicle).into()), concern].into_iter().flatten().collect();
    (!known.is_empty()).then(|| known.join(": "))
}

/// A person at this terminal who follows this procedure.
pub fn person_of(settings: &Settings, large: bool, loaded: &Loaded, input: Input, output: &Output) -> Person {
    let shop = &settings.shop.shop;
    Person::new(input, output.same(), loaded.procedure.steps)
        .with_points(loaded.points.clone())
        .with_example(loaded.is_example)
        .showing(large || shop.large, shop.decimal)
        .with_evidence(evidence_of(loaded))
}

/// Makes the evidence engine ready for the procedure's circuit.
fn evidence_of(loaded: &Loaded) -> MakesEvidence {
    let source = loaded.circuit_source();
    Box::new(move |meter, simulated| {
        let circuit = circuits::parse(source.as_ref()?);
        Some(circuit.map(|circuit| Evidence::of(circuit, meter, simulated)))
    })
}

/// A record's title line.
pub fn heading(loaded: &Loaded) -> String {
    let header = &loaded.procedure.header;
    let minutes = header.minutes.map(|minutes| format!(", about {minutes} min")).unwrap_or_default();
    harmless(&format!("{} (revision {}{minutes})", header.title, header.revision))
}

fn nothing_begun(output: &mut Output) -> Exit {
    output.line("Paused before anything was recorded.");
    Exit::Waiting
}

/// Says of answers of which not all is used what is not.
pub fn note_not_used(used: &Used, output: &mut Output) {
    for (id, words) in used.not_used() {
        output.note(&wrapped(&harmless(&format!("note: `{id}`: {words}")), output.width(), "", "  "));
    }
}
