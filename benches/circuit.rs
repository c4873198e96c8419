//! What a solution costs: against a point of ngspice's source sweep, and against its operating point in one process.
#![expect(clippy::disallowed_methods, clippy::disallowed_macros, reason = "a benchmark measures and prints")]
#![expect(clippy::unwrap_used, reason = "a benchmark may fall over")]

#[path = "common/ladder.rs"]
mod ladder;

use ohmwright::circuit::file;
use ohmwright::circuit::sample::Sample;
use ohmwright::circuit::solver::Solver;
use ohmwright::circuit::spice;
use ohmwright::model::vehicle::{Key, VehicleState};
use std::fmt::Write as _;
use std::fs::File;
use std::hint::black_box;
use std::path::Path;
use std::process::Command;
use std::time::Instant;

/// Nodes of the ladder, the ground not counted.
const NODES: usize = 20;

fn ohms(rung: usize) -> f64 {
    100.0 + 37.0 * rung as f64
}

/// What the load at a point has.
fn load(point: usize) -> f64 {
    ohms(2 * point)
}

/// What the rung behind a point has.
fn rung(point: usize) -> f64 {
    ohms(2 * point + 1)
}

/// The same ladder as ngspice's deck.
fn deck() -> String {
    let mut deck = String::from("ladder\nv1 s 0 dc 12\nrs s p1 50\n");
    for point in 1..=NODES {
        let _ = writeln!(deck, "rload{point} p{point} 0 {}", load(point));
        if point < NODES {
            let _ = writeln!(deck, "rseries{point} p{point} p{} {}", point + 1, rung(point));
        }
    }
    deck
}

/// Seconds that ngspice takes for a deck, best of some, and what it printed. It prints into a file: a pipe would make it wait.
fn ngspice(folder: &Path, name: &str, deck: &str) -> (f64, String) {
    std::fs::write(folder.join(name), deck).unwrap();
    let (out, err) = (folder.join("out"), folder.join("err"));
    let mut best = f64::INFINITY;
    for _ in 0..7 {
        let mut command = Command::new("ngspice");
        command.args(["-b", name]).current_dir(folder);
        command.stdout(File::create(&out).unwrap()).stderr(File::create(&err).unwrap());
        let begin = Instant::now();
        command.status().expect("ngspice is needed: apt-get install ngspice");
        best = best.min(begin.elapsed().as_secs_f64());
    }
    let [printed, complaints] = [out, err].map(|file| std::fs::read_to_string(file).unwrap());
    // Its exit code says nothing here: a deck that does all its work in a control block counts as one without a simulation.
    assert!(printed.contains("No. of Data Rows"), "{name}: {printed}{complaints}");
    assert!(!complaints.to_lowercase().contains("error"), "{name}: {complaints}");
    (best, printed)
}

/// A shipped circuit with the key on and one wire's value changed: how long it takes here and in ngspice, on this program's deck
/// with its word on where to begin.
fn shipped(folder: &Path, name: &str, wire: &str) {
    let text =
        std::fs::read_to_string(format!("{}/procedures/circuits/{name}.toml", env!("CARGO_MANIFEST_DIR"))).unwrap();
    let circuit = file::parse(&text, name).unwrap_or_else(|error| panic!("{error}"));
    let state = VehicleState { key: Key::On, ..circuit.start().clone() };
    let mut solver = Solver::new(&circuit, &state, &[], &Sample::NOMINAL).unwrap();
    let part = solver.part(wire).unwrap();
    let value = |number: u32| 0.05 + 0.01 * f64::from(number % 100);
    let (solves, mut ours, rounds) = (20_000, f64::INFINITY, solver.rounds());
    for _ in 0..7 {
        let begin = Instant::now();
        for number in 0..solves {
            assert!(solver.set_ohms(part, value(number)));
            solver.solve().unwrap();
        }
        ours = ours.min(begin.elapsed().as_secs_f64() / f64::from(solves));
    }
    let rounds = (solver.rounds() - rounds) as f64 / (7.0 * f64::from(solves));

    let deck = spice::netlist(&circuit, &state, &[]).unwrap();
    let deck = deck.trim_end().strip_suffix(".end").unwrap();
    let mut lines = deck.lines().skip_while(|line| *line != format!("* {wire}"));
    let resistor = lines.find(|line| line.starts_with('R')).unwrap().split(' ').next().unwrap();
    let source = deck.lines().find(|line| line.starts_with('V')).unwrap().split(' ').next().unwrap();
    let volts: f64 =
        deck.lines().find(|line| line.starts_with('V')).unwrap().rsplit(' ').next().unwrap().parse().unwrap();
    // Both solve the same circuit.
    solver.set_ohms(part, value(42));
    solver.solve().unwrap();
    let one = format!("{deck}.control\nset numdgt=12\nalter {resistor} = {}\nop\nprint all\n.endc\n.end\n", value(42));
    let (_, printed) = ngspice(folder, "one.cir", &one);
    let zero = solver.point(&circuit.points()[0].id).unwrap();
    for (number, node) in circuit.node_names().enumerate() {
        let said = printed.lines().find_map(|line| line.trim().strip_prefix(&format!("n{} = ", number + 1)));
        let (Some(said), Ok(point)) = (said, solver.point(node)) else { continue };
        let first = printed.lines().find_map(|line| {
            let names = circuit.node_names().position(|name| *name == *circuit.points()[0].id)?;
            line.trim().strip_prefix(&format!("n{} = ", names + 1))
        });
        let against: f64 = first.map_or(0.0, |first| first.trim().parse().unwrap());
        let there = said.trim().parse::<f64>().unwrap() - against;
        let here = solver.volts(point, zero);
        assert!((here - there).abs() < 1e-6 * there.abs().max(1.0), "{node}: {here} V here, {there} V from ngspice");
    }
    let control = |count: usize| {
        format!(
            "{deck}.control\nlet i = 0\nwhile i < {count}\nalter {resistor} = 0.05 + 0.0001 * const.i\nop\ndestroy\nlet const.i = const.i + 1\nend\n.endc\n.end\n"
        )
    };
    let turns = 1_000;
    let (many, printed) = ngspice(folder, "many.cir", &control(turns));
    assert_eq!(printed.matches("No. of Data Rows").count(), turns, "not every turn was an operating point");
    let (few, _) = ngspice(folder, "few.cir", &control(1));
    let theirs = (many - few) / (turns - 1) as f64;
    let sweep = |points: usize| {
        let (from, to) = (volts * 0.9, volts);
        format!("{deck}.control\ndc {source} {from} {to} {}\n.endc\n.end\n", (to - from) / points as f64)
    };
    let (long, printed) = ngspice(folder, "long.cir", &sweep(10_000));
    assert!(printed.contains("No. of Data Rows : 1000"), "the sweep has fewer points: {printed}");
    let (short, _) = ngspice(folder, "short.cir", &sweep(10));
    let point = (long - short) / 9_990.0;
    println!(
        "{name} with {wire} changed: {:.1} times faster than a point of `.dc` ({:.2} µs, {:.2} µs), {:.0} times faster than `alter`, `op` and `destroy` ({:.0} µs), {rounds:.2} rounds",
        point / ours,
        ours * 1e6,
        point * 1e6,
        theirs / ours,
        theirs * 1e6
    );
}

fn main() {
    let file = ladder::circuit(NODES, load, rung);
    let deck = deck();
    let circuit = file::parse(&file, "ladder").unwrap_or_else(|error| panic!("{error}"));
    let mut solver = Solver::new(&circuit, circuit.start(), &[], &Sample::NOMINAL).unwrap();
    let part = solver.part("load7").unwrap();
    let (far, ground) = (solver.point("p20").unwrap(), solver.point("p0").unwrap());
    let solves = 100_000;
    let mut ours = f64::INFINITY;
    for _ in 0..7 {
        let begin = Instant::now();
        for number in 0..solves {
            solver.set_ohms(part, 200.0 + f64::from(number % 100));
            solver.solve().unwrap();
            black_box(solver.volts(far, ground));
        }
        ours = ours.min(begin.elapsed().as_secs_f64() / f64::from(solves));
    }
    let folder = tempfile::tempdir().unwrap();

    // Both solve the same circuit: the far end with the same changed value.
    solver.set_ohms(part, 217.0);
    solver.solve().unwrap();
    let here: f64 = solver.volts(far, ground);
    let one = format!("{deck}.control\nset numdgt=12\nalter rload7 = 217\nop\nprint v(p20)\n.endc\n.end\n");
    let (_, printed) = ngspice(folder.path(), "one.cir", &one);
    let said = printed.lines().find_map(|line| line.trim().strip_prefix("v(p20) = "));
    let there: f64 = said.unwrap_or_else(|| panic!("no volts at p20: {printed}")).trim().parse().unwrap();
    assert!(((here - there) / there).abs() < 1e-6, "{here} V here, {there} V from ngspice");

    // Each operating point is thrown away again: kept ones make every next turn dearer.
    let control = |count: usize| {
        format!(
            "{deck}.control\nlet i = 0\nwhile i < {count}\nalter rload7 = 200 + const.i\nop\ndestroy\nlet const.i = const.i + 1\nend\n.endc\n.end\n"
        )
    };
    let turns = 2_000;
    let (many, printed) = ngspice(folder.path(), "many.cir", &control(turns));
    assert_eq!(printed.matches("No. of Data Rows").count(), turns, "not every turn was an operating point");
    let (few, _) = ngspice(folder.path(), "few.cir", &control(1));
    let theirs = (many - few) / (turns - 1) as f64;
    let sweep = |points: usize| format!("{deck}.control\ndc v1 0 12 {}\n.endc\n.end\n", 12.0 / points as f64);
    let (long, printed) = ngspice(folder.path(), "long.cir", &sweep(200_000));
    assert!(printed.contains("No. of Data Rows : 20000"), "the sweep has fewer points: {printed}");
    let (short, _) = ngspice(folder.path(), "short.cir", &sweep(10));
    let point = (long - short) / 199_990.0;
    println!(
        "a solution of {NODES} nodes with a changed value: {:.1} times faster than a point of ngspice's `.dc` sweep ({:.2} µs, {:.2} µs)",
        point / ours,
        ours * 1e6,
        point * 1e6
    );
    println!(
        "  {:.0} times faster than `alter`, `op` and `destroy` in one ngspice process ({:.0} µs)",
        theirs / ours,
        theirs * 1e6
    );
    for (name, wire) in [("flap_sensor", "signal_wire"), ("relay_low_side", "control_wire")] {
        shipped(folder.path(), name, wire);
    }
}
