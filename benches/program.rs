//! What the program costs from the outside, as ratios of processor time measured in one process.
#![expect(
    clippy::disallowed_methods,
    clippy::disallowed_macros,
    clippy::unwrap_used,
    reason = "a benchmark measures, prints, and may fall over"
)]

use ohmwright::model::event::{AnsweredBy, FORMAT, Started};
use ohmwright::model::job::Job;
use ohmwright::model::stamp::Stamp;
use ohmwright::model::vehicle::VehicleState;
use ohmwright::run::journal::{Memory, Standing};
use ohmwright::run::session::{Parts, Session};
use ohmwright::run::sheet::{Sheet, Written};
use ohmwright::script::diagnose::Source;
use ohmwright::script::engine::STACK;
use ohmwright::script::execute::{Part, execute};
use ohmwright::script::procedure::Procedure;
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::hint::black_box;
use std::path::Path;
use std::process::Command;
use std::sync::Arc;
use std::time::Instant;

const BIN: &str = env!("CARGO_BIN_EXE_ohmwright");

/// Processor time and wall time in seconds of a shell line.
fn cost(folder: &Path, line: &str) -> (f64, f64) {
    // The measured shell is not the last one: what ends a script is not timed by every bash.
    let script = format!("TIMEFORMAT='%U %S'; time {{ {line}; }} >/dev/null 2>/dev/null; true");
    let begin = Instant::now();
    let output = Command::new("bash").arg("-c").arg(script).current_dir(folder).output().unwrap();
    let wall = begin.elapsed().as_secs_f64();
    let text = String::from_utf8_lossy(&output.stderr).into_owned();
    let numbers: Vec<f64> = text.split_whitespace().filter_map(|word| word.parse().ok()).collect();
    (numbers.iter().rev().take(2).sum(), wall)
}

fn main() {
    // What is measured leaves out the disk's sync: the records lie in memory where the machine has a place for that.
    let in_memory = Path::new("/dev/shm");
    let made = if in_memory.is_dir() { tempfile::tempdir_in(in_memory) } else { tempfile::tempdir() }.unwrap();
    let folder = made.path();
    println!("records lie in {}", if in_memory.is_dir() { "memory" } else { "the temporary folder" });
    std::fs::write(folder.join("empty.rs"), "fn main() {}").unwrap();
    let built = Command::new("rustc").args(["-O", "-o", "empty", "empty.rs"]).current_dir(folder).status().unwrap();
    assert!(built.success());
    let times = 200;
    let repeat =
        |line: &str| cost(folder, &format!("for i in $(seq {times}); do {line} </dev/null; done")).0 / f64::from(times);
    let empty = repeat("./empty");
    println!("an empty program: {:.2} ms of processor time", empty * 1e3);

    // To the first prompt: the input is at its end, so the run is put down there.
    std::fs::write(
        folder.join("p.rhai"),
        "//! title = \"One reading\"\n//! revision = 1\n//! [causes]\n//! bad = { cause = 'x', correction = 'y' }\nlet r = read(\"r\", \"Reading\", between(4.75.V, 5.25.V), across(\"a\", \"b\"));\nif !r.ok { conclude(\"bad\"); }\nconclude(\"not_present\");\n",
    )
    .unwrap();
    std::fs::write(folder.join("job.toml"), "[job]\nvehicle = \"x\"\n[vehicle]\nkey = \"off\"\n").unwrap();
    let start = repeat(&format!("{BIN} run p.rhai --job job.toml"));
    println!("cold start to the first prompt: {:.2} of an empty program ({:.2} ms)", start / empty, start * 1e3);
    let prompt = repeat(&format!("{BIN} repl"));
    println!("start of the calculator: {:.2} of an empty program ({:.2} ms)", prompt / empty, prompt * 1e3);

    // A record of 50 readings.
    let mut script = String::from(
        "//! title = \"Fifty readings\"\n//! revision = 1\n//! [causes]\n//! bad = { cause = 'x', correction = 'y' }\n",
    );
    let mut answers = String::from("procedure = \"fifty\"\n[answers]\n");
    for number in 0..50 {
        let _ = writeln!(
            script,
            "let r{number} = read(\"r{number}\", \"Reading {number}\", between(4.75.V, 5.25.V), across(\"a\", \"b\"));\nif !r{number}.ok {{ conclude(\"bad\"); }}"
        );
        let _ = writeln!(answers, "r{number} = \"4.998\"");
    }
    script.push_str("conclude(\"not_present\");\n");
    std::fs::write(folder.join("fifty.rhai"), &script).unwrap();
    std::fs::write(folder.join("fifty.toml"), answers).unwrap();
    let (..) = cost(folder, &format!("{BIN} --records fifty run fifty.rhai --answers fifty.toml"));
    for command in ["show", "verify --allow-unsigned", "report --out r.html"] {
        let spent = repeat(&format!("{BIN} --records fifty {command}"));
        println!("{command} of 50 readings: {:.2} of an empty program ({:.2} ms)", spent / empty, spent * 1e3);
    }

    // A table of 10,000 rows with records, on one core and on both.
    let rows = 10_000;
    let mut table = String::from("vehicle");
    for number in 0..20 {
        let _ = write!(table, ",r{number}");
    }
    table.push('\n');
    for row in 0..rows {
        let _ = write!(table, "unit {row}");
        for _ in 0..20 {
            table.push_str(",4.998");
        }
        table.push('\n');
    }
    let script: String = script.lines().take(4 + 40).map(|line| format!("{line}\n")).collect::<String>()
        + "conclude(\"not_present\");\n";
    std::fs::write(folder.join("twenty.rhai"), &script).unwrap();
    std::fs::write(folder.join("t.csv"), &table).unwrap();
    let (_, one) = cost(folder, &format!("RAYON_NUM_THREADS=1 {BIN} --records one batch twenty.rhai t.csv"));
    let (_, both) = cost(folder, &format!("{BIN} --records both batch twenty.rhai t.csv"));
    println!("a table of {rows} rows: both cores are {:.2} times one ({both:.1} s)", one / both);
    let mut bytes = Vec::new();
    for entry in walk(&folder.join("both")) {
        bytes.push(std::fs::read(&entry).unwrap());
    }
    assert_eq!(bytes.len(), rows);
    let bare = scripts(&script, rows, 1);
    let begin = Instant::now();
    let copy = folder.join("copy");
    std::fs::create_dir(&copy).unwrap();
    for (number, bytes) in bytes.iter().enumerate() {
        let own = copy.join(number.to_string());
        std::fs::create_dir(&own).unwrap();
        let path = own.join("journal.jsonl");
        std::fs::write(&path, bytes).unwrap();
        std::fs::File::open(&path).unwrap().sync_data().unwrap();
    }
    let writing = begin.elapsed().as_secs_f64();
    println!(
        "on one core it is {:.2} of running the scripts and writing the same bytes into as many folders ({bare:.1} s and {writing:.1} s)",
        one / (bare + writing)
    );

    // The same records judged again, on both cores.
    let bare = scripts(&script, rows, 0);
    let (_, again) = cost(folder, &format!("{BIN} rejudge both --with twenty.rhai"));
    println!(
        "judging {rows} records again: {:.2} of the speed of the bare script over the same answers ({again:.1} s)",
        bare / again
    );
    let [few, many] = [1_000, rows].map(|rows| {
        let part: String = table.lines().take(rows + 1).map(|line| format!("{line}\n")).collect();
        let name = format!("m{rows}");
        std::fs::write(folder.join(format!("{name}.csv")), part).unwrap();
        let batch = peak(folder, &format!("--records {name} batch twenty.rhai {name}.csv"));
        (batch, peak(folder, &format!("rejudge {name} --with twenty.rhai")))
    });
    println!("memory for {rows} rows: {:.2} of that for 1,000", many.0 / few.0);
    println!("memory for {rows} records judged again: {:.2} of that for 1,000", many.1 / few.1);
}

/// The most memory that the program takes for this, in kilobytes.
fn peak(folder: &Path, arguments: &str) -> f64 {
    let line = format!(
        "import resource,subprocess; subprocess.run('{BIN} {arguments}'.split(),capture_output=True); print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)"
    );
    let output = Command::new("python3").args(["-c", &line]).current_dir(folder).output().unwrap();
    String::from_utf8_lossy(&output.stdout).trim().parse().unwrap()
}

/// Seconds that running the script so often takes, over answers in memory and with nothing kept; 0 threads: all cores.
fn scripts(text: &str, runs: usize, threads: usize) -> f64 {
    let source = Source { file: "twenty.rhai".into(), text: text.to_owned() };
    let procedure = Procedure::compile("twenty", source, &|_| None).unwrap_or_else(|problems| panic!("{problems:?}"));
    let answers: BTreeMap<String, Written> =
        (0..20).map(|number| (format!("r{number}"), Written::Text("4.998".into()))).collect();
    let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).stack_size(STACK).build().unwrap();
    let begin = Instant::now();
    pool.install(|| {
        (0..runs).into_par_iter().for_each(|_| {
            let parts = Parts {
                journal: Box::new(Memory::default()),
                answerer: Box::new(Sheet::new(AnsweredBy::Table, answers.clone())),
                clock: Box::new(Standing(Stamp::new("2026-01-05T08:00:00Z"))),
                rules: Arc::default(),
                meter: Arc::default(),
                causes: Arc::clone(&procedure.causes),
            };
            let session = Session::start(parts, started()).unwrap();
            black_box(execute(&procedure, Part::Body, session, None));
        });
    });
    begin.elapsed().as_secs_f64()
}

fn started() -> Started {
    Started {
        format: FORMAT,
        program: "bench".into(),
        procedure: "twenty".into(),
        title: "bench".into(),
        revision: 1,
        part: None,
        sources: vec![],
        answered_by: AnsweredBy::Table,
        bench: None,
        bench_faults: vec![],
        bench_seed: None,
        job: Job::default(),
        vehicle: VehicleState::default(),
        link: None,
        row: None,
        clock_set_by_hand: true,
    }
}

fn walk(folder: &Path) -> Vec<std::path::PathBuf> {
    walkdir::WalkDir::new(folder)
        .into_iter()
        .flatten()
        .filter(|entry| entry.file_name() == "journal.jsonl")
        .map(walkdir::DirEntry::into_path)
        .collect()
}
