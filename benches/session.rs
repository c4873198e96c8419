//! What a run costs, as ratios measured in one process: never seconds, which say more about the machine.
#![expect(clippy::disallowed_methods, clippy::disallowed_macros, reason = "a benchmark measures and prints")]

#[path = "common/started.rs"]
mod started;

use ohmwright::model::answered_by::AnsweredBy;
use ohmwright::model::caution::CautionRules;
use ohmwright::model::event::{Entry, Event};
use ohmwright::model::stamp::Stamp;
use ohmwright::model::started::Started;
use ohmwright::model::vehicle::VehicleState;
use ohmwright::run::answerer::{Answering, MeterInUse};
use ohmwright::run::journal::{Durability, FixedClock, Journal, Memory, Nowhere};
use ohmwright::run::prepared_answers::{PreparedAnswers, Written};
use ohmwright::run::session::{Parts, Session};
use ohmwright::script::diagnose::Source;
use ohmwright::script::execute::{EntryPoint, Outcome, execute};
use ohmwright::script::procedure::Procedure;
use rhai::{Engine, NativeCallContext};
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::hint::black_box;
use std::io::Write as _;
use std::sync::Arc;
use std::time::Instant;

const READINGS: usize = 20;

fn script(readings: usize) -> String {
    let mut text = String::from(
        "//! title = \"Twenty readings\"\n//! revision = 1\n//! [causes]\n//! bad = { cause = 'x', correction = 'y' }\n",
    );
    for number in 0..readings {
        let _ = writeln!(
            text,
            "step(\"Step {number}\");\nlet r{number} = read(\"r{number}\", \"Reading number {number}\", between(4.75.V, 5.25.V), across(\"red point\", \"black point\"));\nif !r{number}.ok {{ conclude(\"bad\"); }}"
        );
    }
    text
}

fn parts(answers: &BTreeMap<String, Written>, journal: Box<dyn Journal>, procedure: &Procedure) -> Parts {
    Parts {
        journal,
        answerer: Box::new(PreparedAnswers::new(AnsweredBy::File, answers.clone())),
        answering: Answering::unattended(AnsweredBy::File),
        clock: Box::new(FixedClock::at(Stamp::new("2026-01-05T08:00:00Z"))),
        rules: Arc::new(CautionRules::default()),
        meter: Arc::new(MeterInUse::default()),
        causes: Arc::clone(&procedure.causes),
        past: None,
    }
}

fn started() -> Started {
    started::started(AnsweredBy::File, VehicleState::default())
}

/// Runs a session to the end that the script has without a conclusion.
fn to_its_end(procedure: &Procedure, session: Session) {
    let finished = execute(procedure, EntryPoint::Body, session, None);
    assert!(matches!(finished.outcome, Outcome::Ended(_)), "{:?}", finished.outcome);
}

/// Best of many rounds, in microseconds; what each piece of work needs is made before the clock starts.
fn best_with<T>(rounds: usize, make: impl Fn() -> T, mut work: impl FnMut(T)) -> f64 {
    let mut best = f64::INFINITY;
    for _ in 0..rounds {
        let made: Vec<T> = (0..20).map(|_| make()).collect();
        let begin = Instant::now();
        for one in made {
            work(one);
        }
        best = best.min(begin.elapsed().as_secs_f64() * 1e6 / 20.0);
    }
    best
}

/// Best of many rounds, in microseconds.
fn best(rounds: usize, mut work: impl FnMut()) -> f64 {
    best_with(rounds, || (), |()| work())
}

/// The engine as it comes out of the box, with stubs that build the same values.
fn bare(source: &str) -> f64 {
    #[derive(Clone)]
    struct Limits(f64, f64);
    #[derive(Clone)]
    struct Reading {
        id: String,
        text: String,
        value: f64,
        limits: Limits,
        leads: (String, String),
    }
    let mut engine = Engine::new();
    engine.set_max_expr_depths(64, 32);
    engine.register_get("V", |number: &mut f64| *number);
    engine.register_fn("step", |_: &str| {});
    engine.register_fn("between", |low: f64, high: f64| Limits(low, high));
    engine.register_fn("across", |red: &str, black: &str| (red.to_owned(), black.to_owned()));
    engine.register_fn(
        "read",
        |_: NativeCallContext, id: &str, text: &str, limits: Limits, leads: (String, String)| {
            let typed = black_box("4.998");
            Reading { id: id.to_owned(), text: text.to_owned(), value: typed.parse().unwrap_or(0.0), limits, leads }
        },
    );
    engine.register_get("ok", |reading: &mut Reading| {
        black_box((&reading.id, &reading.text, &reading.leads));
        reading.value >= reading.limits.0 && reading.value <= reading.limits.1
    });
    engine.register_fn("conclude", |_: &str| {});
    let ast = engine.compile(source).expect("the script compiles");
    best(200, || {
        engine.run_ast(&ast).expect("the script runs");
    })
}

struct File {
    file: std::fs::File,
    line: Vec<u8>,
}

impl Journal for File {
    fn append(&mut self, entry: &Entry, _: Durability) -> Result<(), String> {
        self.line.clear();
        serde_json::to_writer(&mut self.line, entry).map_err(|error| error.to_string())?;
        self.line.push(b'\n');
        self.file.write_all(&self.line).map_err(|error| error.to_string())
    }
}

fn main() {
    let text = script(READINGS);
    let procedure = Procedure::compile("bench", Source { file: "bench.rhai".into(), text: text.clone() }, &|_| None)
        .unwrap_or_else(|problems| panic!("{problems:?}"));
    let answers: BTreeMap<String, Written> =
        (0..READINGS).map(|number| (format!("r{number}"), Written::Text("4.998".into()))).collect();
    // The answers are in memory before the run begins.
    let nowhere = || (parts(&answers, Box::new(Nowhere), &procedure), started());
    let run = best_with(200, nowhere, |(parts, started)| {
        let session = Session::start(parts, started).expect("begins");
        to_its_end(&procedure, session);
    });
    let bare = bare(&text);
    println!("a run of {READINGS} readings: {:.2} of the bare engine's ({run:.0} µs, {bare:.0} µs)", run / bare);

    // An answer's way: all that a run with its journal in a file costs beyond the bare engine, asking, judging and keeping
    // included, against serializing and writing the lines of that run.
    let memory = Memory::default();
    let session = Session::start(parts(&answers, Box::new(memory.clone()), &procedure), started()).expect("begins");
    to_its_end(&procedure, session);
    let entries = memory.entries();
    let file = || File { file: tempfile::tempfile().expect("a file"), line: vec![] };
    let mut journal = file();
    let written = best(100, || {
        for entry in &entries {
            journal.append(entry, Durability::Each).expect("written");
        }
    });
    let to_a_file = || (parts(&answers, Box::new(file()), &procedure), started());
    let with_journal = best_with(100, to_a_file, |(parts, started)| {
        let session = Session::start(parts, started).expect("begins");
        to_its_end(&procedure, session);
    });
    println!(
        "the way of a run's answers to the journal: {:.2} of serializing and writing its lines ({:.0} µs, {written:.0} µs)",
        (with_journal - bare) / written,
        with_journal - bare
    );

    // Taking up a run of 500 answers against running it once.
    let long = script(500);
    let procedure = Procedure::compile("bench", Source { file: "bench.rhai".into(), text: long }, &|_| None)
        .unwrap_or_else(|problems| panic!("{problems:?}"));
    let answers: BTreeMap<String, Written> =
        (0..500).map(|number| (format!("r{number}"), Written::Text("4.998".into()))).collect();
    let memory = Memory::default();
    let session = Session::start(parts(&answers, Box::new(memory.clone()), &procedure), started()).expect("begins");
    to_its_end(&procedure, session);
    let mut entries = memory.entries();
    entries.retain(|entry| !matches!(entry.event, Event::Ended { .. }));
    let once = best_with(
        5,
        || parts(&answers, Box::new(Nowhere), &procedure),
        |parts| {
            let session = Session::start(parts, started()).expect("begins");
            to_its_end(&procedure, session);
        },
    );
    let again = || (parts(&answers, Box::new(Nowhere), &procedure), entries.clone());
    let resumed = best_with(5, again, |(parts, entries)| {
        let session = Session::resume(parts, entries, None);
        to_its_end(&procedure, session);
    });
    println!("resuming over 500 answers: {:.2} of one run", resumed / once);
}
