//! What a solution costs: against ngspice's own operating point in one process, and against a point of its source sweep.
#![expect(clippy::disallowed_methods, clippy::disallowed_macros, reason = "a benchmark measures and prints")]
#![expect(clippy::unwrap_used, reason = "a benchmark may fall over")]

use ohmwright::circuit::{Circuit, Sample};
use std::fmt::Write as _;
use std::hint::black_box;
use std::process::Command;
use std::time::Instant;

/// Nodes of the ladder, the ground not counted.
const NODES: usize = 20;

fn ohms(rung: usize) -> f64 {
    100.0 + 37.0 * rung as f64
}

/// A ladder of resistors fed by one battery: our file and ngspice's deck of the same circuit.
fn ladder() -> (String, String) {
    let mut parts = String::from(
        "{ id = \"feed\", kind = \"battery\", positive = \"p1\", negative = \"p0\", volts = \"12 V\", resistance = \"50 ohm\" },",
    );
    let mut points = String::from("{ id = \"p0\" }, { id = \"p1\" }");
    let mut deck = String::from("ladder\nv1 s 0 dc 12\nrs s p1 50\n");
    for node in 1..=NODES {
        let load = ohms(2 * node);
        let _ = write!(
            parts,
            "{{ id = \"load{node}\", kind = \"resistor\", from = \"p{node}\", to = \"p0\", resistance = \"{load} ohm\" }},"
        );
        let _ = writeln!(deck, "rload{node} p{node} 0 {load}");
        if node < NODES {
            let (next, series) = (node + 1, ohms(2 * node + 1));
            let _ = write!(points, ", {{ id = \"p{next}\" }}");
            let _ = write!(
                parts,
                "{{ id = \"series{node}\", kind = \"resistor\", from = \"p{node}\", to = \"p{next}\", resistance = \"{series} ohm\" }},"
            );
            let _ = writeln!(deck, "rseries{node} p{node} p{next} {series}");
        }
    }
    let file = format!(
        "title = \"ladder\"\nzero_volts = \"p0\"\nstart = {{ key = \"on\" }}\npoint = [{points}]\npart = [{parts}]\n"
    );
    (file, deck)
}

/// Seconds that ngspice takes for a deck.
fn ngspice(folder: &std::path::Path, name: &str, deck: &str) -> f64 {
    std::fs::write(folder.join(name), deck).unwrap();
    let mut best = f64::INFINITY;
    for _ in 0..3 {
        let begin = Instant::now();
        let output = Command::new("ngspice").args(["-b", name]).current_dir(folder).output();
        assert!(output.is_ok(), "ngspice is needed: apt-get install ngspice");
        best = best.min(begin.elapsed().as_secs_f64());
    }
    best
}

fn main() {
    let (file, deck) = ladder();
    let circuit = Circuit::parse(&file, "ladder").unwrap_or_else(|error| panic!("{error}"));
    let mut solver = ohmwright::circuit::Solver::new(&circuit, circuit.start(), &[], &Sample::NOMINAL).unwrap();
    let part = solver.part("load7").unwrap();
    let (far, ground) = (solver.point("p20").unwrap(), solver.point("p0").unwrap());
    let solves = 100_000;
    let mut ours = f64::INFINITY;
    for _ in 0..5 {
        let begin = Instant::now();
        for number in 0..solves {
            solver.set_ohms(part, 200.0 + f64::from(number % 100));
            solver.solve().unwrap();
            black_box(solver.volts(far, ground));
        }
        ours = ours.min(begin.elapsed().as_secs_f64() / f64::from(solves));
    }
    let folder = tempfile::tempdir().unwrap();
    let control = |count: usize| {
        format!(
            "{deck}.control\nlet i = 0\nwhile i < {count}\nalter rload7 = 200 + i\nop\nlet i = i + 1\nend\n.endc\n.end\n"
        )
    };
    let many = ngspice(folder.path(), "many.cir", &control(2_000));
    let few = ngspice(folder.path(), "few.cir", &control(1));
    let theirs = (many - few) / 1_999.0;
    let sweep = |points: usize| format!("{deck}.control\ndc v1 0 12 {}\n.endc\n.end\n", 12.0 / points as f64);
    let long = ngspice(folder.path(), "long.cir", &sweep(200_000));
    let short = ngspice(folder.path(), "short.cir", &sweep(10));
    let point = (long - short) / 199_990.0;
    println!("a solution of {NODES} nodes with a changed value: {:.2} µs", ours * 1e6);
    println!(
        "  {:.0} times faster than `alter` and `op` in one ngspice process ({:.0} µs)",
        theirs / ours,
        theirs * 1e6
    );
    println!("  {:.1} times faster than a point of ngspice's `.dc` sweep ({:.2} µs)", point / ours, point * 1e6);
}
