//! One prepared circuit solved again and again with other values.

use super::error::SolveError;
use super::fault::FaultId;
use super::memory::Memory;
use super::netlist::Circuit;
use super::sample::Sample;
use super::solving::clock::{Clock, Moment};
use super::solving::element::Element;
use super::solving::network::{Owner, Workspace};
use super::solving::prepared::{Prepared, Situation, prepare};
use crate::model::vehicle::VehicleState;
use std::collections::BTreeSet;

/// A circuit in one state, of which single resistances can be changed. Solving it allocates nothing.
#[derive(Clone, Debug)]
pub struct Solver<'c> {
    circuit: &'c Circuit,
    prepared: Prepared,
    /// Nothing is remembered from one solution to the next.
    memory: Memory,
    work: Workspace,
    volts: Vec<f64>,
    steady: bool,
}

/// A part or a point whose name has been looked up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Handle(usize);

impl<'c> Solver<'c> {
    /// Prepares a circuit in a state, with faults in it.
    pub fn new(
        circuit: &'c Circuit,
        state: &VehicleState,
        faults: &[FaultId],
        sample: &Sample,
    ) -> Result<Self, SolveError> {
        let faults = circuit.placed(faults)?;
        let situation = Situation {
            state,
            faults: &faults,
            sample: *sample,
            chosen: None,
            blown: &BTreeSet::new(),
            clock: &Clock::default(),
            moment: Moment::Now,
        };
        let prepared = prepare(circuit, &situation)?;
        let volts = vec![0.0; circuit.nodes.len()];
        Ok(Self { circuit, prepared, memory: Memory::default(), work: Workspace::default(), volts, steady: true })
    }

    /// Looks up a part.
    pub fn part(&self, id: &str) -> Result<Handle, SolveError> {
        self.circuit.part_number(id).map(Handle)
    }

    /// Looks up a point or a role.
    pub fn point(&self, name: &str) -> Result<Handle, SolveError> {
        self.circuit.node(name).map(Handle)
    }

    /// Changes every plain resistance of a part to `ohms`; whether it has any in this state.
    pub fn set_ohms(&mut self, part: Handle, ohms: f64) -> bool {
        let mut found = false;
        for (_, network) in &mut self.prepared.phases {
            for (element, owner) in network.elements.iter_mut().zip(&network.owners) {
                if let (Element::Conductance { siemens, .. }, true) = (element, *owner == Owner::Part(part.0)) {
                    (*siemens, found) = (1.0 / ohms.max(1e-6), true);
                }
            }
        }
        found
    }

    /// Solves it as it stands, from relays released and outputs off. Of a circuit that finds no rest it keeps the mean.
    pub fn solve(&mut self) -> Result<(), SolveError> {
        let volts = &mut self.volts;
        volts.fill(0.0);
        let mut steady = true;
        self.prepared.solved(self.circuit, &[], &self.memory, &mut self.work, |_, share, _, work| {
            steady &= !work.is_unsteady();
            if steady {
                for (sum, value) in volts[1..].iter_mut().zip(work.volts()) {
                    *sum += share * value;
                }
            } else {
                for (node, sum) in volts[1..].iter_mut().enumerate() {
                    *sum += share * work.span(|_, volts| volts[node]).mean;
                }
            }
        })?;
        self.steady = steady;
        Ok(())
    }

    /// Whether the circuit found a rest in the last solution.
    pub const fn is_steady(&self) -> bool {
        self.steady
    }

    /// Systems of equations solved since it was prepared.
    pub const fn rounds(&self) -> usize {
        self.work.rounds
    }

    /// Volts of one point against another in the last solution.
    pub fn volts(&self, from: Handle, to: Handle) -> f64 {
        self.volts[from.0] - self.volts[to.0]
    }
}
