//! The evidence engine: the cold table of a circuit, one more reading, and the first proposal, each against bare solutions.
#![expect(clippy::disallowed_methods, clippy::disallowed_macros, reason = "a benchmark measures and prints")]
#![expect(clippy::unwrap_used, reason = "a benchmark may fall over")]

use ohmwright::circuit::bench::Bench;
use ohmwright::circuit::file;
use ohmwright::circuit::meter::bench_meter;
use ohmwright::circuit::sample::Sample;
use ohmwright::evidence::candidate::Candidate;
use ohmwright::evidence::held::Reading;
use ohmwright::evidence::possible::possible;
use ohmwright::evidence::proposal::proposal;
use ohmwright::evidence::reading::Says;
use ohmwright::evidence::rival::rivals;
use ohmwright::evidence::table::{Step, Table};
use ohmwright::model::meter::Function;
use ohmwright::model::vehicle::{Key, VehicleState};
use std::sync::Arc;
use std::time::Instant;

/// Healthy vehicles that a slice is put into.
const VEHICLES: f64 = 100.0;

fn main() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/procedures/circuits/flap_sensor.toml");
    let circuit = Arc::new(file::parse(&std::fs::read_to_string(path).unwrap(), path).unwrap());
    let began = Instant::now();
    let rivals = rivals(&circuit, &bench_meter());
    println!("{} rivals in {:.3} s", rivals.len(), began.elapsed().as_secs_f64());
    let mut table = Table::new(Arc::clone(&circuit), bench_meter(), rivals);

    let off = circuit.start().clone();
    let on = VehicleState { key: Key::On, ..off.clone() };
    let moved = |position: &str| {
        let mut state = on.clone();
        state.positions.insert("flap".to_owned(), position.to_owned());
        state
    };
    let apart = |state: &VehicleState, connector: &str| {
        let mut state = state.clone();
        state.unplugged.insert(connector.to_owned());
        state
    };
    let states = [
        off.clone(),
        on.clone(),
        moved("half"),
        moved("closed"),
        apart(&on, "C41"),
        apart(&on, "C43"),
        apart(&off, "C41"),
    ];
    let names: Vec<&str> = circuit.points().iter().map(|point| point.id.as_str()).collect();
    let volts =
        |red: &str, black: &str| Candidate::Across { function: Function::Volts, red: red.into(), black: black.into() };
    let began = Instant::now();
    let (mut column, mut count) = (0, 0);
    for state in &states {
        column = table.step(column, Step::Put(state.clone()));
        let mut last = table.cell(column, &Candidate::Module { signal: "flap_position".into() }).unwrap();
        for (place, red) in names.iter().enumerate() {
            for black in &names[..place] {
                last = table.cell(column, &volts(red, black)).unwrap();
                count += 1;
            }
        }
        table.hulls(last).unwrap();
    }
    let cold = began.elapsed().as_secs_f64();
    let solutions = VEHICLES * (table.slices().len() * states.len()) as f64;
    println!(
        "cold table: {count} candidates in {} states, {} slices: {cold:.2} s on all cores, {:.1} µs a vehicle and state",
        states.len(),
        table.slices().len(),
        1e6 * cold / solutions
    );

    let mut bench = Bench::new(Arc::clone(&circuit), &[], Sample::NOMINAL, bench_meter()).unwrap();
    bench.set_state(&on).unwrap();
    let began = Instant::now();
    for _ in 0..2000 {
        bench.volts("reference", "ground").unwrap();
    }
    let alone = began.elapsed().as_secs_f64() / 2000.0;
    println!(
        "a reading with the meter in the circuit: {:.1} µs; so the table in {:.0} s on one core",
        1e6 * alone,
        alone * solutions * count as f64 / states.len() as f64
    );

    let there = table.step(0, Step::Put(on.clone()));
    let cell = table.cell(there, &volts("C41.1", "C41.2")).unwrap();
    let meter = bench_meter();
    let reading = |value| Reading {
        number: 1,
        cells: vec![cell],
        says: Says::of_number(Some(&meter), Some(Function::Volts), value, 5e-4),
    };
    for value in [2.0, 4.9, 0.0] {
        let began = Instant::now();
        let found = possible(&mut table, &[reading(value)]).unwrap();
        let first = began.elapsed().as_secs_f64();
        let began = Instant::now();
        possible(&mut table, &[reading(value)]).unwrap();
        let again = began.elapsed().as_secs_f64();
        let left = (0..found.rivals.len()).filter(|rival| found.has(*rival)).count();
        println!("{value} V: {left} rivals left; {first:.3} s with climbing, {:.0} µs again", 1e6 * again);
        for turn in ["first", "second"] {
            let began = Instant::now();
            let next = proposal(&mut table, &found, there).unwrap();
            println!(
                "  {turn} proposal in {:.3} s: {:?}",
                began.elapsed().as_secs_f64(),
                next.map(|next| next.candidate)
            );
        }
    }
}
