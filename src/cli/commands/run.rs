//! `run`: at the vehicle, or from an answers file.

use crate::circuit::meter::bench_meter;
use crate::cli::arguments::{self, BenchCircuit};
use crate::cli::error::CliError;
use crate::cli::exit::Exit;
use crate::cli::journal_file::FileJournal;
use crate::cli::settings::Settings;
use crate::cli::simulated::{self, Simulated};
use crate::cli::start::{self, JobFile, Loaded};
use crate::cli::store::slug;
use crate::cli::terminal::input::Input;
use crate::cli::terminal::intake;
use crate::cli::terminal::output::Output;
use crate::cli::terminal::person::Person;
use crate::model::diagnostic::{self, Diagnostic};
use crate::model::event::{AnsweredBy, Entry, Link, LinkKind, Started};
use crate::model::job::Job;
use crate::model::record::Record;
use crate::model::vehicle::VehicleState;
use crate::model::words;
use crate::report::entry::{Tone, ending_text};
use crate::report::record;
use crate::report::table::{harmless, wrapped};
use crate::run::answerer::{Answerer, Answering, MeterInUse};
use crate::run::bench::BenchAnswerer;
use crate::run::journal::Clock;
use crate::run::prepared_answers::{AnswersFile, PreparedAnswers, Used};
use crate::run::session::Session;
use crate::run::stop::Stop;
use crate::script::execute::{EntryPoint, Finished, Outcome, execute};
use std::path::Path;
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
            let (link, job) = after(settings, &loaded, name)?;
            (EntryPoint::AfterRepair, Some(link), job)
        }
        None => (EntryPoint::Body, None, Job::default()),
    };
    let file = match &arguments.job.file {
        Some(path) => {
            let file = start::job_file(path)?;
            JobFile { job: merged(earlier_job, file.job), ..file }
        }
        None => JobFile { job: earlier_job, vehicle: None },
    };
    if let Some(wanted) = &arguments.bench {
        return on_bench(settings, arguments, loaded, wanted, (entry_point, link, file), output);
    }
    let minute = settings.clock.clone().now().minute();
    let (base, state) = match &answers {
        Some(answers) => (merged(file.job, answers.job.clone()), Some(answers.vehicle.clone())),
        None => (file.job, file.vehicle),
    };
    let mut job = start::job_of(&arguments.job, base)?;
    note_unlisted(settings, &job, output);
    // A meter that the shop does not have is said before anything is typed.
    start::meter_in_use(settings, job.meter.as_deref())?;
    let mut vehicle = state.clone().unwrap_or_default();
    start::apply_states(&mut vehicle, &arguments.job.state, minute)?;
    let mut input = Input::open();
    if answers.is_none() {
        output.line(&wrapped(&heading(&loaded), output.width(), "", ""));
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
    let meter = Arc::new(start::meter_in_use(settings, job.meter.as_deref())?);
    note_unsettled(&meter, output);
    let person = answers.is_none();
    let mut used = None;
    let answerer: Box<dyn Answerer> = match answers {
        Some(answers) => {
            let sheet = PreparedAnswers::new(AnsweredBy::File, answers.answers);
            used = Some(sheet.used());
            Box::new(sheet)
        }
        None => {
            output.line("");
            output.line(&wrapped(
                "At every question: why, back, skip, note, pause, help. Enter alone says that something is done.",
                output.width(),
                "",
                "",
            ));
            Box::new(Person::new(input, output.width(), loaded.procedure.steps).with_points(loaded.points.clone()))
        }
    };
    let begin = Begin { job, vehicle, meter, entry_point, link, bench: None, person };
    let exit = begin.go(settings, &loaded, answerer, output)?;
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
    wanted: &BenchCircuit,
    (entry_point, link, file): (EntryPoint, Option<Link>, JobFile),
    output: &mut Output,
) -> Result<Exit, CliError> {
    let (name, circuit) = crate::cli::commands::circuits::for_bench(settings, &mut loaded, wanted)?;
    let seed = arguments.seed.unwrap_or_else(any_number);
    let faults = if arguments.faults.is_empty() {
        let number = usize::try_from(seed % circuit.faults().len().max(1) as u64).unwrap_or(0);
        circuit.faults().get(number).map(|fault| fault.id.clone()).into_iter().collect()
    } else {
        crate::cli::commands::circuits::faults(&circuit, &arguments.faults)?
    };
    let simulated = Simulated { circuit: name, faults: faults.iter().map(|fault| fault.0.clone()).collect(), seed };
    let bench = simulated
        .bench(Arc::clone(&circuit))
        .map_err(|error| CliError::input(Diagnostic::of_file(&simulated.circuit, error)))?;
    let mut job = start::job_of(&arguments.job, file.job)?;
    if let Some(meter) = job.meter.take().filter(|_| arguments.job.file.is_some()) {
        let words = format!(
            "note: the job's meter `{}` is left out: a simulated circuit is measured with a meter of its own",
            harmless(&meter)
        );
        output.note(&wrapped(&words, output.width(), "", "  "));
    }
    note_unlisted(settings, &job, output);
    job.vehicle.get_or_insert_with(|| simulated::vehicle_name(&circuit));
    let minute = settings.clock.clone().now().minute();
    let mut vehicle = simulated::vehicle(&circuit, file.vehicle.unwrap_or_default(), minute);
    start::apply_states(&mut vehicle, &arguments.job.state, minute)?;
    let width = output.width();
    output.line(&wrapped(&heading(&loaded), width, "", ""));
    output.line(&wrapped(
        "No vehicle is measured: a simulated circuit answers. Enter does what is said, or puts the leads where the table says; help lists what else can be typed.",
        width,
        "",
        "",
    ));
    let person =
        Person::new(Input::open(), width, loaded.procedure.steps).with_points(loaded.points.clone()).at_bench();
    let answerer = BenchAnswerer::with_person(bench, Box::new(person));
    let meter = Arc::new(MeterInUse::of_bench(bench_meter()));
    let begin = Begin { job, vehicle, meter, entry_point, link, bench: Some(simulated), person: true };
    let exit = begin.go(settings, &loaded, Box::new(answerer), output)?;
    if arguments.faults.is_empty() && exit == Exit::Done {
        let was: Vec<_> =
            faults.iter().filter_map(|id| circuit.fault(id).ok()).map(|fault| fault.what.clone()).collect();
        let was = if was.is_empty() { "nothing was wrong".to_owned() } else { was.join("; ") };
        output.line(&wrapped(&harmless(&format!("In the circuit: {was}.")), width, "", "  "));
    }
    Ok(exit)
}

/// What a new run begins with.
pub struct Begin {
    /// What is known of the job.
    pub job: Job,
    /// How the vehicle stands.
    pub vehicle: VehicleState,
    /// The meter.
    pub meter: Arc<MeterInUse>,
    /// What is run.
    pub entry_point: EntryPoint,
    /// The record that it comes out of.
    pub link: Option<Link>,
    /// The simulated circuit.
    pub bench: Option<Simulated>,
    /// Whether a person follows it on the screen.
    pub person: bool,
}

impl Begin {
    /// Begins a record and runs the procedure in it.
    pub fn go(
        self,
        settings: &Settings,
        loaded: &Loaded,
        answerer: Box<dyn Answerer>,
        output: &mut Output,
    ) -> Result<Exit, CliError> {
        let procedure = &loaded.procedure;
        let answering = answering(self.bench.is_some(), self.person);
        let sources = loaded.keep(&settings.store, &self.meter, &settings.shop.text)?;
        let mut name = format!("{}-{}", settings.clock.folder_stamp(), slug(&procedure.name));
        if let Some(vehicle) = self.job.vehicle.as_deref().map(slug).filter(|slug| !slug.is_empty()) {
            name = format!("{name}-{vehicle}");
        }
        let folder = settings.store.create(&name)?;
        let (journal, _) = folder.journal()?;
        let mut started = Started {
            part: (self.entry_point == EntryPoint::AfterRepair)
                .then(|| crate::script::procedure::AFTER_REPAIR.to_owned()),
            sources,
            job: self.job,
            vehicle: self.vehicle,
            link: self.link,
            clock_set_by_hand: settings.clock.is_by_hand(),
            ..procedure.started(answering.answered_by)
        };
        if let Some(simulated) = self.bench {
            simulated.put_into(&mut started);
        }
        let clock = Box::new(settings.clock.clone());
        let parts = loaded.parts(Box::new(journal.clone()), (answerer, answering), clock, self.meter);
        let session = Session::start(parts, started).map_err(journal_failed)?;
        let finished = execute(procedure, self.entry_point, session, loaded.points.clone());
        let exit = conclude(&folder.name, &journal, finished, loaded, self.person, output)?;
        crate::cli::commands::sign::offer(settings, &folder, self.person, output);
        Ok(exit)
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

/// A session that could not begin.
pub fn journal_failed(stop: Stop) -> CliError {
    match stop {
        Stop::Journal(problem) => CliError::Files(problem),
        other => CliError::Files(format!("the run could not begin: {other:?}")),
    }
}

/// Says how a run came out, and where it is.
pub fn conclude(
    name: &str,
    journal: &FileJournal,
    finished: Finished,
    loaded: &Loaded,
    person: bool,
    output: &mut Output,
) -> Result<Exit, CliError> {
    journal.finish().map_err(CliError::Files)?;
    let width = output.width();
    if !person && let Ok(folded) = Record::of(&finished.entries) {
        output.text(&record::text(name, &folded, loaded.points.as_deref(), &[], width));
    }
    let goes_on = format!("`ohmwright resume {name}` goes on.");
    let exit = match finished.outcome {
        Outcome::Concluded(_) => {
            say_how_it_is_left(&finished.entries, person, output);
            Exit::Done
        }
        Outcome::Ended(ending) => {
            if person {
                output.toned(Tone::Doubtful, &wrapped(&harmless(&ending_text(&ending)), width, "", "  "));
            }
            say_how_it_is_left(&finished.entries, person, output);
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
            Exit::Waiting
        }
        Outcome::Paused => {
            output.line(&wrapped(&format!("Put down. {goes_on}"), width, "", "  "));
            return Ok(Exit::Waiting);
        }
        Outcome::Diverged { line, recorded, attempted } => {
            return Err(CliError::input(Diagnostic::of_file(
                &format!("{name}, line {line} of its journal"),
                format!("the record has {recorded}, and the procedure now has {attempted}"),
            )));
        }
        Outcome::Failed(diagnostic) => {
            let words = format!("The record is {name}; once the procedure is mended, {goes_on}");
            output.line(&wrapped(&words, width, "", "  "));
            return Err(CliError::Input(vec![*diagnostic]));
        }
        Outcome::Journal(problem) => {
            return Err(CliError::Files(format!(
                "the journal of {name} can't be written: {problem}; what was answered before stands, and {goes_on}"
            )));
        }
    };
    output.line(&format!("Record: {name}"));
    Ok(exit)
}

/// Says of a meter on whose figures nothing can be built that the verdicts will not say how sure they are.
fn note_unsettled(meter: &MeterInUse, output: &mut Output) {
    if let Some(why) = meter.why_unsettled() {
        let words = format!("note: {why}, so how sure the verdicts are is not known");
        output.note(&wrapped(&harmless(&words), output.width(), "", "  "));
    }
}

/// What the run has left otherwise at the vehicle than it found it.
fn say_how_it_is_left(entries: &[Entry], person: bool, output: &mut Output) {
    let left = Record::of(entries).ok().as_ref().and_then(record::how_it_is_left);
    if let Some(left) = left.filter(|_| person) {
        let words = format!("The vehicle is left otherwise than it stood: {left}.");
        output.toned(Tone::Doubtful, &wrapped(&harmless(&words), output.width(), "", "  "));
    }
}

/// Says of a technician whom the shop does not list that nobody can sign by that name.
fn note_unlisted(settings: &Settings, job: &Job, output: &mut Output) {
    if let Some(remark) = intake::unlisted(&settings.shop.shop, job.technician.as_deref()) {
        output.note(&wrapped(&harmless(&format!("note: {remark}")), output.width(), "", "  "));
    }
}

/// Which vehicle a run is about, and what is wrong with it, as far as that is known.
pub fn whose(job: &Job) -> Option<String> {
    let concern = job.concern.as_ref().map(|concern| format!("\u{201c}{concern}\u{201d}"));
    let known: Vec<String> = [job.vehicle.clone(), concern].into_iter().flatten().collect();
    (!known.is_empty()).then(|| known.join(": "))
}

/// A record's title line.
pub fn heading(loaded: &Loaded) -> String {
    let header = &loaded.procedure.header;
    let minutes = header.minutes.map(|minutes| format!(", about {minutes} min")).unwrap_or_default();
    harmless(&format!("{} (revision {}{minutes})", header.title, header.revision))
}

fn nothing_begun(output: &mut Output) -> Exit {
    output.line("Put down before anything was recorded.");
    Exit::Waiting
}

/// Reads an answers file for this procedure.
pub fn answers_file(path: &Path, procedure: &str) -> Result<AnswersFile, CliError> {
    let text = crate::cli::text_file::read(path)?;
    let file = path.display().to_string();
    let answers: AnswersFile =
        toml::from_str(&text).map_err(|error| CliError::input(diagnostic::of_toml(&file, &text, &error)))?;
    if answers.procedure != procedure {
        let title = format!("these answers are for the procedure `{}`, not for `{procedure}`", answers.procedure);
        let hint = format!("run `{}`, or give answers for `{procedure}`", answers.procedure);
        let place = diagnostic::value_place(&text, &["procedure"]).unwrap_or_default();
        return Err(CliError::input(Diagnostic::at(&file, &text, place, title).with_hint(hint)));
    }
    if let Some(id) = answers.unreadable() {
        let title = format!("the list for `{id}` has more in it than readings");
        let hint = "a list holds what was typed; to leave the whole of it out: { skip = \"why\" }";
        return Err(CliError::input(at_answer(&file, &text, id, title).with_hint(hint)));
    }
    Ok(answers)
}

/// What is wrong with the answer of this id.
fn at_answer(file: &str, text: &str, id: &str, title: String) -> Diagnostic {
    Diagnostic::at(file, text, diagnostic::key_place(text, &["answers", id]).unwrap_or_default(), title)
}

/// An answer to a prompt that the procedure can't have is a slip of the pen, not something to pass over.
pub fn check_ids(path: &Path, answers: &AnswersFile, loaded: &Loaded) -> Result<(), CliError> {
    let ids = loaded.procedure.prompt_ids();
    let Some(id) = answers.answers.keys().find(|id| !ids.may_be(id)) else { return Ok(()) };
    let text = crate::cli::text_file::read(path)?;
    let title = format!("`{}` has no prompt `{}`", loaded.procedure.name, harmless(id));
    let mut diagnostic = at_answer(&path.display().to_string(), &text, id, title);
    let nearest = words::nearest(id, ids.literal.iter().map(String::as_str));
    diagnostic.hint = nearest.map(|name| format!("did you mean `{name}`?"));
    Err(CliError::input(diagnostic))
}

/// Says of answers of which not all is used what is not.
pub fn note_not_used(used: &Used, output: &mut Output) {
    for (id, words) in used.not_used() {
        output.note(&wrapped(&harmless(&format!("note: `{id}`: {words}")), output.width(), "", "  "));
    }
}

fn merged(over: Job, under: Job) -> Job {
    Job {
        vehicle: over.vehicle.or(under.vehicle),
        odometer: over.odometer.or(under.odometer),
        concern: over.concern.or(under.concern),
        verified: over.verified.or(under.verified),
        codes: if over.codes.is_empty() { under.codes } else { over.codes },
        technician: over.technician.or(under.technician),
        meter: over.meter.or(under.meter),
        conditions: over.conditions.or(under.conditions),
    }
}

fn after(settings: &Settings, loaded: &Loaded, name: &str) -> Result<(Link, Job), CliError> {
    if !loaded.procedure.has_after_repair() {
        return Err(CliError::usage_with(
            format!("`{}` has no check for after the repair", loaded.procedure.name),
            format!("write it as `fn {}() {{ … }}` in the procedure", crate::script::procedure::AFTER_REPAIR),
        ));
    }
    let back = settings.store.read(name)?;
    let record = Record::of(&back.entries).map_err(|error| CliError::usage(format!("{name}: {error}")))?;
    if record.started.procedure != loaded.procedure.name {
        return Err(CliError::usage(format!(
            "{name} is a record of `{}`, not of `{}`{}",
            record.started.procedure,
            loaded.procedure.name,
            words::did_you_mean(Some(&record.started.procedure)),
        )));
    }
    // By what names it for good: a part of its name is soon that of another record, too, and a path is one from here.
    let lasting = settings.store.lasting_name(&settings.store.path_of(name)?)?;
    let link = Link { kind: LinkKind::AfterRepair, record: lasting, sha256: back.sha256() };
    // Who checks, with what, in which weather and what is seen then is not what it was.
    let Job { vehicle, concern, .. } = record.started.job;
    Ok((link, Job { vehicle, concern, ..Job::default() }))
}

/// A number that nobody can foresee.
fn any_number() -> u64 {
    use std::hash::{BuildHasher, Hasher};
    std::hash::RandomState::new().build_hasher().finish()
}
