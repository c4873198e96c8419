//! What the program costs from the outside, as ratios measured in one process: of processor time where a command is done many
//! times, of wall time where a table is. Each figure is the best of three rounds that take turns with what it is held against.
#![expect(
    clippy::disallowed_methods,
    clippy::disallowed_macros,
    clippy::unwrap_used,
    reason = "a benchmark measures, prints, and may fall over"
)]

#[path = "common/peak.rs"]
mod peak;
#[path = "common/started.rs"]
mod started;

use ohmwright::model::answered_by::AnsweredBy;
use ohmwright::model::stamp::Stamp;
use ohmwright::model::vehicle::VehicleState;
use ohmwright::run::answerer::Answering;
use ohmwright::run::journal::{FixedClock, Memory};
use ohmwright::run::prepared_answers::{PreparedAnswers, Written};
use ohmwright::run::session::{Parts, Session};
use ohmwright::script::diagnose::Source;
use ohmwright::script::engine::STACK;
use ohmwright::script::execute::{EntryPoint, Outcome, execute};
use ohmwright::script::procedure::Procedure;
use peak::seconds_and_kilobytes;
use rayon::prelude::*;
use started::started;
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::Path;
use std::process::{Command, Stdio};
use std::sync::Arc;
use std::time::Instant;

const BIN: &str = env!("CARGO_BIN_EXE_ohmwright");

/// Rounds that take turns; the best one counts.
const ROUNDS: usize = 3;
/// How often a command is done in a round.
const TIMES: usize = 200;
/// Rows of the table.
const ROWS: usize = 10_000;
/// Readings in a row.
const READINGS: usize = 20;

/// A shell line in this folder, whose exit code must be this.
fn shell(folder: &Path, line: &str, code: i32) -> String {
    let output = Command::new("bash").arg("-c").arg(line).current_dir(folder).stdin(Stdio::null()).output().unwrap();
    let (out, err) = (String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
    assert_eq!(output.status.code(), Some(code), "{line}\n{out}{err}");
    format!("{out}{err}")
}

/// Seconds of processor time that a line takes, done many times; `$i` in it is the number of the time.
fn processor_seconds(folder: &Path, line: &str, code: i32) -> f64 {
    // The shell's own words on time are the only ones that reach its standard error; a wrong exit code ends it all.
    let script = format!(
        "TIMEFORMAT='%U %S'; time for i in $(seq {TIMES}); do {line} </dev/null >/dev/null 2>/dev/null; [ $? = {code} ] || exit 99; done; true"
    );
    let text = shell(folder, &script, 0);
    let numbers: Vec<f64> = text.split_whitespace().map(|word| word.parse().unwrap()).collect();
    let [user, system] = numbers.as_slice() else { panic!("{line}: the shell says {text}") };
    (user + system) / TIMES as f64
}

/// Seconds of wall time that a line takes, which must end well.
fn wall_seconds(folder: &Path, line: &str) -> f64 {
    let begin = Instant::now();
    shell(folder, line, 0);
    begin.elapsed().as_secs_f64()
}

fn main() {
    // What is measured leaves out the disk's sync: the records lie in memory where the machine has a place for that.
    let in_memory = Path::new("/dev/shm");
    let made = if in_memory.is_dir() { tempfile::tempdir_in(in_memory) } else { tempfile::tempdir() }.unwrap();
    let folder = made.path();
    println!("records lie in {}", if in_memory.is_dir() { "memory" } else { "the temporary folder" });
    commands(folder);
    let (script, table) = of_a_table(folder);
    a_table(folder, &script);
    memory(folder, &table);
}

/// Commands that are over in milliseconds, against an empty program.
fn commands(folder: &Path) {
    std::fs::write(
        folder.join("empty.rs"),
        "fn main() { if let Some(path) = std::env::args().nth(1) { std::hint::black_box(std::fs::read(path).unwrap()); } }",
    )
    .unwrap();
    shell(folder, "rustc -O -o empty empty.rs", 0);
    // To the first prompt: nothing is hazardous, so that no caution comes before it, and the input is at its end there.
    std::fs::write(
        folder.join("p.rhai"),
        "//! title = \"One reading\"\n//! revision = 1\n//! [causes]\n//! bad = { cause = 'x', correction = 'y' }\nlet r = read(\"r\", \"Reading\", between(4.75.V, 5.25.V), across(\"a\", \"b\"));\nif !r.ok { conclude(\"bad\"); }\nconclude(\"not_present\");\n",
    )
    .unwrap();
    std::fs::write(
        folder.join("job.toml"),
        "[job]\nvehicle = \"x\"\n[vehicle]\nkey = \"off\"\nengine = \"stopped\"\nengine_stopped_at = 0\nlift = \"down\"\nwheels = \"chocked\"\nbattery = \"connected\"\nhigh_voltage = \"absent\"\n",
    )
    .unwrap();
    // A record of 50 readings.
    let mut answers = String::from("procedure = \"fifty\"\n[answers]\n");
    for number in 0..50 {
        let _ = writeln!(answers, "r{number} = \"4.998\"");
    }
    std::fs::write(folder.join("fifty.rhai"), readings(50)).unwrap();
    std::fs::write(folder.join("fifty.toml"), answers).unwrap();
    shell(folder, &format!("{BIN} --records fifty run fifty.rhai --answers fifty.toml"), 0);
    let cold = format!("{BIN} --records new/$i run p.rhai --job job.toml");
    let shown = shell(folder, &format!("i=0; {cold}"), 4);
    assert!(shown.contains("Reading") && !shown.contains("Read it?"), "something comes before the prompt:\n{shown}");

    let lines = [
        ("", "./empty".to_owned(), 0),
        ("", "./empty fifty/*/journal.jsonl".to_owned(), 0),
        ("cold start to the first prompt, and put down there", cold, 4),
        ("start of the calculator, and out again", format!("{BIN} repl"), 0),
        ("show of 50 readings", format!("{BIN} --records fifty show"), 0),
        ("verify --allow-unsigned of 50 readings", format!("{BIN} --records fifty verify --allow-unsigned"), 0),
        ("report --out r.html of 50 readings", format!("{BIN} --records fifty report --out r.html"), 0),
    ];
    let mut best = [f64::INFINITY; 7];
    for _ in 0..ROUNDS {
        for ((_, line, code), best) in lines.iter().zip(&mut best) {
            // Every run begins in a folder of its own that is not there yet.
            shell(folder, "rm -rf new", 0);
            *best = best.min(processor_seconds(folder, line, *code));
        }
    }
    let [empty, reading, ..] = best;
    println!(
        "an empty program: {:.2} ms of processor time, with reading the journal {:.2} ms",
        empty * 1e3,
        reading * 1e3
    );
    for (number, ((what, ..), spent)) in lines.iter().zip(best).enumerate().skip(2) {
        let (base, of) = if number < 4 { (empty, "") } else { (reading, " and reading the journal") };
        println!("{what}: {:.2} of an empty program{of} ({:.2} ms of processor time)", spent / base, spent * 1e3);
    }
}

/// A procedure of so many readings.
fn readings(count: usize) -> String {
    let mut script = String::from(
        "//! title = \"Readings\"\n//! revision = 1\n//! [causes]\n//! bad = { cause = 'x', correction = 'y' }\n",
    );
    for number in 0..count {
        let _ = writeln!(
            script,
            "let r{number} = read(\"r{number}\", \"Reading {number}\", between(4.75.V, 5.25.V), across(\"a\", \"b\"));\nif !r{number}.ok {{ conclude(\"bad\"); }}"
        );
    }
    script.push_str("conclude(\"not_present\");\n");
    script
}

/// A procedure of twenty readings and a table for it, both in files, too.
fn of_a_table(folder: &Path) -> (String, String) {
    let mut table = String::from("vehicle");
    for number in 0..READINGS {
        let _ = write!(table, ",r{number}");
    }
    table.push('\n');
    for row in 0..ROWS {
        let _ = write!(table, "unit {row}");
        for _ in 0..READINGS {
            table.push_str(",4.998");
        }
        table.push('\n');
    }
    let script = readings(READINGS);
    std::fs::write(folder.join("twenty.rhai"), &script).unwrap();
    std::fs::write(folder.join("t.csv"), &table).unwrap();
    (script, table)
}

/// A table with records, on one core and on both, and the records judged again.
fn a_table(folder: &Path, script: &str) {
    let mut best = [f64::INFINITY; 6];
    for _ in 0..ROUNDS {
        shell(folder, "rm -rf one both copy", 0);
        let one = wall_seconds(folder, &format!("RAYON_NUM_THREADS=1 {BIN} --records one batch twenty.rhai t.csv"));
        let both = wall_seconds(folder, &format!("{BIN} --records both batch twenty.rhai t.csv"));
        let own = sessions_in_memory(script, ROWS, 1);
        let writing = written_again(folder);
        let own_on_both = sessions_in_memory(script, ROWS, 0);
        let again = wall_seconds(folder, &format!("{BIN} rejudge both --with twenty.rhai"));
        for (best, seconds) in best.iter_mut().zip([one, both, own, writing, own_on_both, again]) {
            *best = best.min(seconds);
        }
    }
    let [one, both, own, writing, own_on_both, again] = best;
    println!(
        "a table of {ROWS} rows: both cores are {:.2} times one ({both:.2} s and {one:.2} s of wall time)",
        one / both
    );
    println!(
        "on one core it is {:.2} of running the script over the same answers in memory, in this program's own sessions, and writing the same bytes into as many folders ({own:.2} s and {writing:.2} s of wall time)",
        one / (own + writing)
    );
    println!(
        "judging {ROWS} records again, on both cores: {:.2} of running the script over the same answers in memory, in this program's own sessions ({again:.2} s and {own_on_both:.2} s of wall time), which is {:.2} of that speed",
        again / own_on_both,
        own_on_both / again
    );
}

/// Seconds that it takes to write the journals of the table once more, each into a folder of its own.
fn written_again(folder: &Path) -> f64 {
    let journals: Vec<Vec<u8>> = walkdir::WalkDir::new(folder.join("both"))
        .into_iter()
        .map(|entry| entry.unwrap())
        .filter(|entry| entry.file_name() == "journal.jsonl")
        .map(|entry| std::fs::read(entry.path()).unwrap())
        .collect();
    assert_eq!(journals.len(), ROWS);
    let begin = Instant::now();
    let copy = folder.join("copy");
    std::fs::create_dir(&copy).unwrap();
    for (number, bytes) in journals.iter().enumerate() {
        let own = copy.join(number.to_string());
        std::fs::create_dir(&own).unwrap();
        let path = own.join("journal.jsonl");
        std::fs::write(&path, bytes).unwrap();
        std::fs::File::open(&path).unwrap().sync_data().unwrap();
    }
    begin.elapsed().as_secs_f64()
}

/// What the memory does when the table grows tenfold.
fn memory(folder: &Path, table: &str) {
    let [few, many] = [ROWS / 10, ROWS].map(|rows| {
        let part: String = table.lines().take(rows + 1).map(|line| format!("{line}\n")).collect();
        let name = format!("m{rows}");
        std::fs::write(folder.join(format!("{name}.csv")), part).unwrap();
        let kilobytes = |arguments: &str| {
            seconds_and_kilobytes(Command::new(BIN).args(arguments.split(' ')).current_dir(folder), &[0]).1
        };
        let batch = kilobytes(&format!("--records {name} batch twenty.rhai {name}.csv"));
        (batch, kilobytes(&format!("rejudge {name} --with twenty.rhai")))
    });
    for (what, many, few) in [("rows", many.0, few.0), ("records judged again", many.1, few.1)] {
        println!(
            "memory for {ROWS} {what}: {:.2} of that for {} ({:.1} MB and {:.1} MB)",
            many / few,
            ROWS / 10,
            many / 1024.0,
            few / 1024.0
        );
    }
}

/// Seconds that so many of our own sessions take, over answers in memory and with the journal kept there, too: no table, no
/// file. 0 threads: all cores.
fn sessions_in_memory(text: &str, runs: usize, threads: usize) -> f64 {
    let source = Source { file: "twenty.rhai".into(), text: text.to_owned() };
    let procedure = Procedure::compile("twenty", source, &|_| None).unwrap_or_else(|problems| panic!("{problems:?}"));
    let answers: BTreeMap<String, Written> =
        (0..READINGS).map(|number| (format!("r{number}"), Written::Text("4.998".into()))).collect();
    let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).stack_size(STACK).build().unwrap();
    let begin = Instant::now();
    pool.install(|| {
        (0..runs).into_par_iter().for_each(|_| {
            let parts = Parts {
                journal: Box::new(Memory::default()),
                answerer: Box::new(PreparedAnswers::new(AnsweredBy::Table, answers.clone())),
                answering: Answering::unattended(AnsweredBy::Table),
                clock: Box::new(FixedClock::at(Stamp::new("2026-01-05T08:00:00Z"))),
                rules: Arc::default(),
                meter: Arc::default(),
                causes: Arc::clone(&procedure.causes),
                past: None,
            };
            let session = Session::start(parts, started(AnsweredBy::Table, VehicleState::default())).unwrap();
            let finished = execute(&procedure, EntryPoint::Body, session, None);
            assert!(matches!(finished.outcome, Outcome::Concluded(_)), "{:?}", finished.outcome);
        });
    });
    begin.elapsed().as_secs_f64()
}
