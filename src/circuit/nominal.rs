//! Which system a circuit is of, where its file does not say it.

use super::netlist::Circuit;
use super::sample::Sample;
use super::solution;
use crate::model::job::Nominal;
use crate::model::vehicle::{Battery, Engine, Key, VehicleState};

/// Volts at rest, without a fault: of one battery, and of two in series.
const TWELVE: std::ops::Range<f64> = 9.0..17.0;
const TWENTY_FOUR: std::ops::Range<f64> = 17.0..34.0;

/// By the most volts that lie between two posts of its batteries at rest. None where there is no battery, or another one.
pub(super) fn at_rest(circuit: &Circuit) -> Option<Nominal> {
    let state =
        VehicleState { key: Key::Off, engine: Engine::Stopped, battery: Battery::Connected, ..circuit.start().clone() };
    let posts: Vec<&str> = circuit
        .parts()
        .iter()
        .filter_map(|part| part.kind.posts())
        .flat_map(|(positive, negative)| [positive, negative])
        .map(|node| circuit.nodes[node].as_str())
        .collect();
    let solution = solution::solve(circuit, &state, &[], &Sample::NOMINAL).ok()?;
    let most = posts
        .iter()
        .flat_map(|plus| posts.iter().map(move |minus| (plus, minus)))
        .filter_map(|(plus, minus)| solution.volts(plus, minus).ok())
        .fold(0.0, f64::max);
    match most {
        most if TWELVE.contains(&most) => Some(Nominal::Twelve),
        most if TWENTY_FOUR.contains(&most) => Some(Nominal::TwentyFour),
        _ => None,
    }
}
