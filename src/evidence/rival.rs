//! The faults that could explain a complaint, listed and generated, and the healthy vehicle.

use crate::circuit::error::SolveError;
use crate::circuit::fault::Fault;
use crate::circuit::generated::generated;
use crate::circuit::netlist::Circuit;
use crate::circuit::severity::Placed;
use crate::model::meter::Meter;
use std::sync::Arc;

/// Slices of a fault's severity that are held against the readings each for itself.
pub const SLICES: usize = 8;

/// A fault that could explain the complaint, or the healthy vehicle.
#[derive(Clone, Debug)]
pub struct Rival {
    /// The fault; `None` of the healthy vehicle.
    pub fault: Option<Fault>,
    /// Other names of the same electrical effect.
    pub also: Vec<String>,
}

/// A slice of one rival's severity.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slice {
    /// The rival, by its place in the list.
    pub rival: usize,
    /// Its mildest or its worst severity, as a share of the fault's range.
    pub from: f64,
    /// The other end.
    pub to: f64,
}

/// The healthy vehicle first, then the listed faults, then the generated family. The family takes thousands of solutions.
pub fn rivals(circuit: &Arc<Circuit>, meter: &Meter) -> Vec<Rival> {
    let family = generated(circuit, meter).into_iter().map(|one| Rival { fault: Some(one.fault), also: one.also });
    listed(circuit).into_iter().chain(family).collect()
}

/// The healthy vehicle and the listed faults alone.
pub fn listed(circuit: &Circuit) -> Vec<Rival> {
    let healthy = Rival { fault: None, also: vec![] };
    let faults = circuit.faults().iter().map(|fault| Rival { fault: Some(fault.clone()), also: vec![] });
    std::iter::once(healthy).chain(faults).collect()
}

/// The slices of all rivals; a rival with one severity is one slice.
pub fn slices(rivals: &[Rival]) -> Vec<Slice> {
    let of = |(number, rival): (usize, &Rival)| {
        let ranged = rival.fault.as_ref().is_some_and(|fault| fault.severity.is_some());
        let count = if ranged { SLICES } else { 1 };
        (0..count).map(move |slice| Slice {
            rival: number,
            from: slice as f64 / count as f64,
            to: (slice + 1) as f64 / count as f64,
        })
    };
    rivals.iter().enumerate().flat_map(of).collect()
}

impl Rival {
    /// Its name: that of the fault, or `healthy`.
    pub fn id(&self) -> &str {
        self.fault.as_ref().map_or("healthy", |fault| fault.id.0.as_str())
    }

    /// In words.
    pub fn what(&self) -> &str {
        self.fault.as_ref().map_or("nothing is wrong", |fault| fault.what.as_str())
    }

    /// Its weight against the others; the healthy vehicle's is 1.
    pub fn how_common(&self) -> f64 {
        self.fault.as_ref().map_or(1.0, |fault| fault.how_common)
    }

    /// The fault as it is put into a circuit, at a share of its range; nothing for the healthy vehicle.
    ///
    /// # Errors
    /// The fault can't be put into the circuit.
    pub fn placed(&self, share: f64) -> Result<Vec<Placed>, SolveError> {
        let Some(fault) = &self.fault else { return Ok(vec![]) };
        Ok(vec![fault.placed(fault.severity.map(|range| range.at(share)))?])
    }

    /// Where it is: the names of the parts of which any one may be the faulty one.
    pub fn places<'c>(&'c self, circuit: &'c Circuit) -> impl Iterator<Item = &'c str> {
        let numbers = self.fault.iter().flat_map(|fault| fault.places().iter().flatten());
        numbers.filter_map(|number| circuit.parts().get(*number)).map(|part| part.id.as_str())
    }
}
