//! What a proof costs: a run against its script and its bare solutions, both cores, memory; and every shipped procedure proven
//! over more vehicles than the tests can afford.
#![expect(clippy::disallowed_methods, clippy::disallowed_macros, reason = "a benchmark measures and prints")]
#![expect(clippy::unwrap_used, reason = "a benchmark may fall over")]

use ohmwright::circuit::meter::bench_meter;
use ohmwright::circuit::{Bench, Circuit, Sample};
use ohmwright::model::caution::CautionRules;
use ohmwright::model::event::{AnsweredBy, Entry, Event, FORMAT, Started};
use ohmwright::model::job::Job;
use ohmwright::model::prompt::Answer;
use ohmwright::model::stamp::Stamp;
use ohmwright::run::answerer::MeterInUse;
use ohmwright::run::journal::{Memory, Standing};
use ohmwright::run::session::{Parts, Session};
use ohmwright::run::sheet::{Sheet, Written};
use ohmwright::script::diagnose::Source;
use ohmwright::script::execute::{Part, execute};
use ohmwright::script::procedure::Procedure;
use ohmwright::script::prove::Proving;
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::hint::black_box;
use std::process::Command;
use std::sync::Arc;
use std::time::Instant;

const BIN: &str = env!("CARGO_BIN_EXE_ohmwright");
const READINGS: usize = 20;

/// A ladder of resistors on a battery, and a procedure that reads every node of it.
fn ladder() -> (String, String) {
    let mut points = String::from("{ id = \"p0\" }, { id = \"p1\" }");
    let mut parts = String::from(
        "{ id = \"feed\", kind = \"battery\", positive = \"p1\", negative = \"p0\", volts = \"12 V\", resistance = \"50 ohm\" },",
    );
    let mut script = String::from(
        "//! title = \"Ladder\"\n//! revision = 1\n//! circuit = \"ladder\"\n//! [causes]\n//! bad = { cause = 'x', correction = 'y' }\n",
    );
    for node in 1..=READINGS {
        let _ = write!(
            parts,
            "{{ id = \"load{node}\", kind = \"resistor\", from = \"p{node}\", to = \"p0\", resistance = \"1 kohm\" }},"
        );
        if node < READINGS {
            let next = node + 1;
            let _ = write!(points, ", {{ id = \"p{next}\" }}");
            let _ = write!(
                parts,
                "{{ id = \"series{node}\", kind = \"resistor\", from = \"p{node}\", to = \"p{next}\", resistance = \"47 ohm\" }},"
            );
        }
        let _ = writeln!(
            script,
            "step(\"Step {node}\");\nlet r{node} = read(\"r{node}\", \"Reading number {node}\", between(0.V, 15.V), across(\"p{node}\", \"p0\"));\nif !r{node}.ok {{ conclude(\"bad\"); }}"
        );
    }
    let circuit = format!(
        "title = \"ladder\"\nzero_volts = \"p0\"\nstart = {{ key = \"on\" }}\npoint = [{points}]\npart = [{parts}]\n"
    );
    (circuit, script)
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

fn started(circuit: &Circuit) -> Started {
    Started {
        format: FORMAT,
        program: "bench".into(),
        procedure: "bench".into(),
        title: "bench".into(),
        revision: 1,
        part: None,
        sources: vec![],
        answered_by: AnsweredBy::File,
        bench: None,
        bench_faults: vec![],
        bench_seed: None,
        job: Job::default(),
        vehicle: circuit.start().clone(),
        link: None,
        row: None,
        clock_set_by_hand: true,
    }
}

fn one_run() {
    let (circuit_text, script) = ladder();
    let circuit = Arc::new(Circuit::parse(&circuit_text, "ladder").unwrap_or_else(|error| panic!("{error}")));
    let procedure = Procedure::compile("ladder", Source { file: "ladder.rhai".into(), text: script }, &|_| None)
        .unwrap_or_else(|problems| panic!("{problems:?}"));
    let proving = Proving {
        procedure: Arc::new(procedure),
        circuit: Arc::clone(&circuit),
        circuit_name: "ladder".into(),
        samples: 1,
        seed: 1,
        pairs: false,
        meter: bench_meter(),
    };
    let points = Arc::new(circuit.names());
    let proved = best(|seed| {
        black_box(proving.run(&[], seed, &points).unwrap());
    });

    // The script over the answers that the circuit gave, and what the meter shows with no script.
    let answers: BTreeMap<String, Written> = proving
        .run(&[], 1, &points)
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
    let meter = Arc::new(MeterInUse::new(bench_meter(), false));
    let script = best(|_| {
        let parts = Parts {
            journal: Box::new(Memory::default()),
            answerer: Box::new(Sheet::new(AnsweredBy::File, answers.clone())),
            clock: Box::new(Standing(Stamp::new("2026-01-05T08:00:00Z"))),
            rules: Arc::new(CautionRules::default()),
            meter: Arc::clone(&meter),
            causes: Arc::clone(&proving.procedure.causes),
        };
        let session = Session::start(parts, started(&circuit)).unwrap();
        black_box(execute(&proving.procedure, Part::Body, session, Some(Arc::clone(&points))));
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

/// Seconds and kilobytes that a proof takes.
fn proof(name: &str, samples: u64, threads: Option<usize>) -> (f64, f64) {
    let line = format!(
        "import resource,subprocess,sys; code=subprocess.run(['{BIN}','prove','{name}','--samples','{samples}'],capture_output=True).returncode; print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss); sys.exit(code)"
    );
    let mut command = Command::new("python3");
    command.args(["-c", &line]);
    if let Some(threads) = threads {
        command.env("RAYON_NUM_THREADS", threads.to_string());
    }
    let begin = Instant::now();
    let output = command.output().unwrap();
    let seconds = begin.elapsed().as_secs_f64();
    assert!(output.status.success(), "{name}: something was misjudged over {samples} vehicles a case");
    (seconds, String::from_utf8_lossy(&output.stdout).trim().parse().unwrap())
}

fn main() {
    one_run();
    let (one, _) = proof("flap_sensor", 2_000, Some(1));
    let (both, _) = proof("flap_sensor", 2_000, None);
    println!("proving on both cores: {:.2} times one", one / both);
    let ((_, few), (_, many)) = (proof("flap_sensor", 100, None), proof("flap_sensor", 4_000, None));
    println!("memory over 4,000 vehicles a case: {:.2} of that over 100", many / few);
    let samples = 200;
    for entry in std::fs::read_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/procedures")).unwrap().flatten() {
        let path = entry.path();
        let Ok(text) = std::fs::read_to_string(&path) else { continue };
        if let Some(name) = path.file_stem().and_then(|stem| stem.to_str())
            && text.contains("//! circuit = ")
        {
            let (seconds, _) = proof(name, samples, None);
            println!("{name}: nothing misjudged over {samples} vehicles a case ({seconds:.1} s)");
        }
    }
}
