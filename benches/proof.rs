//! What a proof costs: a run against its script and its bare solutions, with and without counting, what drawing takes of it, both
//! cores, memory; and every shipped procedure proven over more vehicles than the tests can afford.
#![expect(clippy::disallowed_methods, clippy::disallowed_macros, reason = "a benchmark measures and prints")]
#![expect(clippy::unwrap_used, reason = "a benchmark may fall over")]

#[path = "../tests/proving/astray.rs"]
mod astray;
#[path = "common/ladder.rs"]
mod ladder;
#[path = "common/peak.rs"]
mod peak;
#[path = "common/started.rs"]
mod started;

use astray::PAIRS_ASTRAY;
use ohmwright::circuit::bench::Bench;
use ohmwright::circuit::file;
use ohmwright::circuit::meter::bench_meter;
use ohmwright::circuit::population::draws;
use ohmwright::circuit::sample::Sample;
use ohmwright::model::answered_by::AnsweredBy;
use ohmwright::model::caution::CautionRules;
use ohmwright::model::event::{Entry, Event};
use ohmwright::model::prompt::Answer;
use ohmwright::model::stamp::Stamp;
use ohmwright::run::answerer::{Answering, MeterInUse};
use ohmwright::run::journal::{FixedClock, Memory};
use ohmwright::run::prepared_answers::{PreparedAnswers, Written};
use ohmwright::run::session::{Parts, Session};
use ohmwright::script::diagnose::Source;
use ohmwright::script::engine::STACK;
use ohmwright::script::execute::{EntryPoint, Outcome, execute};
use ohmwright::script::procedure::Procedure;
use ohmwright::script::prove::proving::{Counting, Proving};
use ohmwright::script::prove::watch::Unwatched;
use peak::seconds_and_kilobytes;
use started::started;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::hint::black_box;
use std::path::Path;
use std::process::Command;
use std::sync::Arc;
use std::time::Instant;

const BIN: &str = env!("CARGO_BIN_EXE_ohmwright");
const READINGS: usize = 20;
/// Shipped procedures that have a circuit.
const SHIPPED: usize = 16;

/// A procedure that reads every point of a ladder.
fn reads_every_point() -> String {
    let mut script = String::from(
        "//! title = \"Ladder\"\n//! revision = 1\n//! circuit = \"ladder\"\n//! [causes]\n//! bad = { cause = 'x', correction = 'y' }\n",
    );
    for point in 1..=READINGS {
        let _ = writeln!(
            script,
            "step(\"Step {point}\");\nlet r{point} = read(\"r{point}\", \"Reading number {point}\", between(0.V, 15.V), across(\"p{point}\", \"p0\"));\nif !r{point}.ok {{ conclude(\"bad\"); }}"
        );
    }
    script
}

/// Best of some rounds of a hundred, in microseconds.
fn best(mut work: impl FnMut(u64)) -> f64 {
    let mut best = f64::INFINITY;
    for _ in 0..20 {
        let begin = Instant::now();
        for seed in 0..100 {
            work(seed);
        }
        best = best.min(begin.elapsed().as_secs_f64() * 1e4);
    }
    best
}

fn one_run() {
    let circuit_text = ladder::circuit(READINGS, |_| 1000.0, |_| 47.0);
    let circuit = Arc::new(file::parse(&circuit_text, "ladder").unwrap_or_else(|error| panic!("{error}")));
    let procedure =
        Procedure::compile("ladder", Source { file: "ladder.rhai".into(), text: reads_every_point() }, &|_| None)
            .unwrap_or_else(|problems| panic!("{problems:?}"));
    let proving = Proving {
        procedure: Arc::new(procedure),
        circuit: Arc::clone(&circuit),
        circuit_name: "ladder".into(),
        samples: 1,
        seed: 1,
        pairs: false,
        generated: false,
        slips: false,
        counting: Counting::Nothing,
        meter: bench_meter(),
    };
    let points = Arc::new(circuit.names());
    let proved = best(|seed| {
        black_box(proving.run(EntryPoint::Body, &[], seed, &points).unwrap());
    });

    // The script over the answers that the circuit gave, and what the meter shows with no script.
    let answers: BTreeMap<String, Written> = proving
        .run(EntryPoint::Body, &[], 1, &points)
        .unwrap()
        .entries
        .iter()
        .filter_map(|Entry { event, .. }| match event {
            Event::Answered { prompt, answer: Answer::Reading { typed }, .. } => {
                Some((prompt.id.to_string(), Written::Text(typed.clone())))
            }
            _ => None,
        })
        .collect();
    assert_eq!(answers.len(), READINGS);
    let meter = Arc::new(MeterInUse::new(bench_meter()));
    let script = best(|_| {
        let parts = Parts {
            journal: Box::new(Memory::default()),
            answerer: Box::new(PreparedAnswers::new(AnsweredBy::File, answers.clone())),
            answering: Answering::unattended(AnsweredBy::File),
            clock: Box::new(FixedClock::at(Stamp::new("2026-01-05T08:00:00Z"))),
            rules: Arc::new(CautionRules::default()),
            meter: Arc::clone(&meter),
            causes: Arc::clone(&proving.procedure.causes),
            past: None,
        };
        let session = Session::start(parts, started(AnsweredBy::File, circuit.start().clone())).unwrap();
        let finished = execute(&proving.procedure, EntryPoint::Body, session, Some(Arc::clone(&points)));
        assert!(matches!(finished.outcome, Outcome::Ended(_)), "{:?}", finished.outcome);
    });
    let names: Vec<String> = (1..=READINGS).map(|node| format!("p{node}")).collect();
    let solutions = best(|seed| {
        let mut bench = Bench::new(Arc::clone(&circuit), &[], Sample::of_seed(seed), bench_meter()).unwrap();
        for name in &names {
            black_box(bench.volts(name, "p0").unwrap());
        }
    });
    println!(
        "a proved run of {READINGS} readings: {:.2} of its script and its bare solutions ({proved:.0} µs; {script:.0} µs and {solutions:.0} µs)",
        proved / (script + solutions)
    );
}

/// Seconds that this thread has computed: what others do on the machine does not count.
fn computed() -> f64 {
    let text = std::fs::read_to_string("/proc/thread-self/schedstat").unwrap();
    text.split(' ').next().unwrap().parse::<f64>().unwrap() * 1e-9
}

/// What a run of a shipped procedure costs in a proof, with and without counting, and what drawing severities takes of it.
fn counting_and_drawing(name: &str) {
    let (_, procedure, circuit) = with_circuits().into_iter().find(|(known, ..)| known == name).unwrap();
    let file = format!("procedures/circuits/{circuit}.toml");
    let read = file::parse(&source(&file).unwrap().text, &file).unwrap_or_else(|error| panic!("{error}"));
    let mut proving = Proving {
        procedure: Arc::new(procedure),
        circuit: Arc::new(read),
        circuit_name: circuit,
        samples: 100,
        seed: 1,
        pairs: false,
        generated: false,
        slips: false,
        counting: Counting::Nothing,
        meter: bench_meter(),
    };
    let pool = rayon::ThreadPoolBuilder::new().num_threads(1).stack_size(STACK).build().unwrap();
    // Seconds of the whole proof, and its runs.
    let mut prove = |counting| {
        proving.counting = counting;
        let once = || {
            let begin = computed();
            let proof = proving.prove(&Unwatched).unwrap_or_else(|problem| panic!("{problem}"));
            let hidden = proof.singles().map(|case| case.hidden.judged.values().sum::<u64>()).sum::<u64>();
            let runs: u64 = proof.cases.iter().chain(&proof.after_repair).map(|case| case.runs).sum();
            (computed() - begin, runs + hidden)
        };
        pool.install(|| (0..3).map(|_| once()).min_by(|one, other| one.0.total_cmp(&other.0)).unwrap())
    };
    let (plain, runs) = prove(Counting::Nothing);
    let (first, _) = prove(Counting::FirstVehicle);
    let (every, _) = prove(Counting::EveryRun);
    let drawing = pool.install(|| {
        let begin = computed();
        for fault in proving.circuit.faults() {
            for vehicle in 1..=proving.samples {
                let drawn = draws(&proving.circuit, fault, (vehicle, proving.samples), proving.seed, &proving.meter);
                black_box(drawn.unwrap());
            }
        }
        // Drawn once for the procedure itself, and once for its check after the repair.
        2.0 * (computed() - begin)
    });
    println!(
        "{name}: {:.3} ms a run; {:.2} times that with the first vehicles counted, {:.2} times with every run counted",
        1e3 * plain / runs as f64,
        first / plain,
        every / plain
    );
    println!("{name}: drawing severities takes {:.0} % of a proof without counting", 100.0 * drawing / plain);
}

/// Seconds and kilobytes that a proof takes, clean or not.
fn proof(name: &str, samples: u64, threads: Option<usize>) -> (f64, f64) {
    let mut command = Command::new(BIN);
    command.args(["prove", name, "--samples", &samples.to_string()]);
    if let Some(threads) = threads {
        command.env("RAYON_NUM_THREADS", threads.to_string());
    }
    seconds_and_kilobytes(&mut command, &[0, 1])
}

/// A file of the project, where it is there.
fn source(path: &str) -> Option<Source> {
    let text = std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(path)).ok()?;
    Some(Source { file: path.to_owned(), text })
}

/// The shipped procedures that name a circuit, with it.
fn with_circuits() -> Vec<(String, Procedure, String)> {
    let mut found = Vec::new();
    for entry in std::fs::read_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/procedures")).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|ending| ending != "rhai") {
            continue;
        }
        let name = path.file_stem().unwrap().to_str().unwrap().to_owned();
        let text = source(&format!("procedures/{name}.rhai")).unwrap();
        let procedure = Procedure::compile(&name, text, &|library| source(&format!("stdlib/{library}.rhai")))
            .unwrap_or_else(|problems| panic!("{name}: {problems:?}"));
        if let Some(circuit) = procedure.header.circuit.clone() {
            found.push((name, procedure, circuit));
        }
    }
    found.sort_by(|(one, ..), (other, ..)| one.cmp(other));
    assert_eq!(found.len(), SHIPPED, "procedures with a circuit");
    found
}

/// Pairs of faults that go astray over twenty vehicles each, which must be those that are listed.
fn pairs(shipped: Vec<(String, Procedure, String)>) {
    let pool = rayon::ThreadPoolBuilder::new().stack_size(STACK).build().unwrap();
    let begin = Instant::now();
    let (mut proven, mut found) = (0, BTreeSet::new());
    for (name, procedure, circuit) in shipped {
        let file = format!("procedures/circuits/{circuit}.toml");
        let read = file::parse(&source(&file).unwrap().text, &file).unwrap_or_else(|error| panic!("{error}"));
        let proving = Proving {
            procedure: Arc::new(procedure),
            circuit: Arc::new(read),
            circuit_name: circuit,
            samples: 20,
            seed: 1,
            pairs: true,
            generated: false,
            slips: false,
            counting: Counting::Nothing,
            meter: bench_meter(),
        };
        let proof = pool.install(|| proving.prove(&Unwatched)).unwrap_or_else(|problem| panic!("{problem}"));
        proven += proof.pairs.len();
        for case in proof.pairs {
            if let Some(astray) = case.wrong_run {
                found.insert((name.clone(), case.faults.join(" + "), astray.judgement));
            }
        }
    }
    let listed: BTreeSet<_> =
        PAIRS_ASTRAY.iter().map(|pair| (pair.procedure.to_owned(), pair.faults.to_owned(), pair.judgement)).collect();
    assert_eq!(found, listed, "pairs that go astray");
    println!(
        "{proven} pairs of faults over 20 vehicles each: {} go astray ({:.1} s)",
        found.len(),
        begin.elapsed().as_secs_f64()
    );
    for pair in PAIRS_ASTRAY {
        let often = if pair.often { "" } else { ", in few vehicles" };
        println!("  {}: {}{often}: {}", pair.procedure, pair.faults, pair.why);
    }
}

fn main() {
    one_run();
    counting_and_drawing("flap_sensor");
    let (mut one, mut both) = (f64::INFINITY, f64::INFINITY);
    for _ in 0..3 {
        one = one.min(proof("flap_sensor", 60, Some(1)).0);
        both = both.min(proof("flap_sensor", 60, None).0);
    }
    println!("proving on both cores: {:.2} times one", one / both);
    let ((_, few), (_, many)) = (proof("flap_sensor", 20, None), proof("flap_sensor", 400, None));
    println!(
        "memory over 400 vehicles a case: {:.2} of that over 20 ({:.1} MB, {:.1} MB)",
        many / few,
        many / 1024.0,
        few / 1024.0
    );
    let samples = 200;
    let shipped = with_circuits();
    let mut all = 0.0;
    for (name, ..) in &shipped {
        let (seconds, _) = proof(name, samples, None);
        println!("{name}: {samples} vehicles a case, the generated family, slips and answers in {seconds:.1} s");
        all += seconds;
    }
    println!("{SHIPPED} procedures proven over {samples} vehicles a case in {:.1} min", all / 60.0);
    pairs(shipped);
}
