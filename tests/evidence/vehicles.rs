//! The shipped circuits, their rivals, and where leads can go.

use ohmwright::circuit::file::parse;
use ohmwright::circuit::meter::bench_meter;
use ohmwright::circuit::netlist::Circuit;
use ohmwright::evidence::candidate::Candidate;
use ohmwright::model::meter::Function;
use ohmwright::model::vehicle::{Key, VehicleState};
use std::sync::Arc;

/// A shipped circuit.
pub fn circuit(name: &str) -> Arc<Circuit> {
    let path = format!("{}/procedures/circuits/{name}.toml", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(&path).unwrap();
    Arc::new(parse(&text, &path).unwrap())
}

/// Volts between two points.
pub fn volts(red: &str, black: &str) -> Candidate {
    Candidate::Across { function: Function::Volts, red: red.into(), black: black.into() }
}

/// The starting state with the key on.
pub fn key_on(circuit: &Circuit) -> VehicleState {
    VehicleState { key: Key::On, ..circuit.start().clone() }
}

/// Its meter.
pub fn meter() -> ohmwright::model::meter::Meter {
    bench_meter()
}
