//! Which severities of a fault a proof puts into one vehicle, and how plainly each shows.

use super::error::SolveError;
use super::fault::Fault;
use super::netlist::Circuit;
use super::sample::Sample;
use super::showing::{Plain, shown};
use crate::model::meter::Meter;
use std::sync::Arc;

/// Further draws after one that does not show.
pub const MOST_REDRAWS: u64 = 16;

/// A severity that a vehicle has, and how plainly the fault shows with it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Drawn {
    /// In SI units; `None` where the fault has one severity only.
    pub severity: Option<f64>,
    /// How plainly it shows.
    pub plain: Plain,
}

/// What vehicle `vehicle` (from 1) of `of` has of a fault: the first draw and, where that does not show, the first one after it
/// that does, of at most [`MOST_REDRAWS`]. So the last one shows, unless all are hidden. A function of its arguments alone;
/// the vehicle itself is [`Sample::of_vehicle`].
///
/// # Errors
/// Where the circuit can't be solved.
pub fn draws(
    circuit: &Arc<Circuit>,
    fault: &Fault,
    (vehicle, of): (u64, u64),
    seed: u64,
    meter: &Meter,
) -> Result<Vec<Drawn>, SolveError> {
    let sample = Sample::of_vehicle(seed, vehicle);
    let drawn = |severity| -> Result<Drawn, SolveError> {
        let plain = shown(circuit, Some(fault), severity, sample, meter)?;
        Ok(Drawn { severity, plain })
    };
    let first = drawn(fault.drawn(vehicle, of, seed))?;
    let mut all = vec![first];
    if first.plain == Plain::Hidden && first.severity.is_some() {
        for attempt in 1..=MOST_REDRAWS {
            let again = drawn(fault.drawn_again(vehicle, seed, attempt))?;
            if again.plain > Plain::Hidden {
                all.push(again);
                break;
            }
        }
    }
    Ok(all)
}
