//! A procedure and a circuit to prove it on, and how far to look.

use crate::circuit::netlist::Circuit;
use crate::model::meter::Meter;
use crate::script::procedure::Procedure;
use std::sync::Arc;

/// A procedure and a circuit to prove it on.
pub struct Proving {
    /// The procedure.
    pub procedure: Arc<Procedure>,
    /// The circuit.
    pub circuit: Arc<Circuit>,
    /// Its name.
    pub circuit_name: String,
    /// Vehicles for each case.
    pub samples: u64,
    /// Where the draws begin.
    pub seed: u64,
    /// Every pair of faults, too.
    pub pairs: bool,
    /// The generated family, too, where the circuit says what a cause covers and when a fault shows.
    pub generated: bool,
    /// Slips and answers that nobody can check, too.
    pub slips: bool,
    /// What is counted of the scripts.
    pub counting: Counting,
    /// The meter.
    pub meter: Meter,
}

/// In which runs lines and branches are counted.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Counting {
    /// In none.
    Nothing,
    /// On the first vehicle of each case, with slips and with answers.
    FirstVehicle,
    /// In every run.
    EveryRun,
}
