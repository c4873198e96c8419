//! Fuses that are too small for their own circuit.

use super::netlist::Circuit;
use super::sample::Sample;
use super::solution::solve;
use crate::model::vehicle::{Engine, Key, VehicleState};

/// Fuses that blow though nothing is broken, each with the state in which it does: key, engine, and one thing moved at a
/// time from where it stands at the start.
pub fn fuses_that_blow(circuit: &Circuit) -> Vec<(String, String)> {
    let mut found: Vec<(String, String)> = Vec::new();
    for key in [Key::Off, Key::Accessory, Key::On] {
        for engine in [Engine::Stopped, Engine::Cranking, Engine::Running] {
            if key != Key::On && engine != Engine::Stopped {
                continue;
            }
            for (moved, position) in positions_one_by_one(circuit) {
                let mut state = VehicleState { key, engine, ..circuit.start.clone() };
                let mut words = format!("key {key}, engine {engine}");
                if let (Some(moved), Some(position)) = (moved, position) {
                    words.push_str(&format!(", {moved} at {position}"));
                    state.positions.insert(moved.to_owned(), position);
                }
                let Ok(solution) = solve(circuit, &state, &[], &Sample::NOMINAL) else { continue };
                for fuse in solution.blown() {
                    if !found.iter().any(|(known, _)| known == fuse) {
                        found.push((fuse.to_owned(), words.clone()));
                    }
                }
            }
        }
    }
    found
}

/// Nothing moved, then each thing at each of its choices, or at both ends of its travel.
fn positions_one_by_one(circuit: &Circuit) -> Vec<(Option<&str>, Option<String>)> {
    let mut all = vec![(None, None)];
    for movement in &circuit.movements {
        all.extend(movement.sweep(2).into_iter().map(|position| (Some(movement.id.as_str()), Some(position))));
    }
    all
}
