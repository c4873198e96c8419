//! The solved circuit.

use super::error::SolveError;
use super::fault::FaultId;
use super::netlist::Circuit;
use super::network::{Owner, Workspace};
use super::nodes::Node;
use super::prepared::{Prepared, Situation, prepare};
use super::sample::Sample;
use crate::model::vehicle::VehicleState;
use std::collections::BTreeSet;

/// Voltages and currents of a circuit in one state, without any meter in it.
#[derive(Clone, Debug)]
pub struct Solution<'c> {
    circuit: &'c Circuit,
    /// Volts by node; zero volts first.
    volts: Vec<f64>,
    /// Amperes by part.
    amperes: Vec<f64>,
    residual: f64,
    pub(super) blown: BTreeSet<usize>,
    pub(super) phases: Vec<Phase>,
}

/// Solves a circuit in a state of the vehicle, with faults in it.
pub fn solve<'c>(
    circuit: &'c Circuit,
    state: &VehicleState,
    faults: &[FaultId],
    sample: &Sample,
) -> Result<Solution<'c>, SolveError> {
    let faults = circuit.placed(faults)?;
    let situation = Situation { state, faults: &faults, sample: *sample, blown: &BTreeSet::new() };
    Solution::new(circuit, &prepare(circuit, &situation)?, &mut Workspace::default())
}

/// One phase's element states, ties and node voltages by unknown.
pub(super) type Phase = (Vec<u8>, Vec<usize>, Vec<f64>);

impl<'c> Solution<'c> {
    pub(super) fn new(circuit: &'c Circuit, prepared: &Prepared, work: &mut Workspace) -> Result<Self, SolveError> {
        let mut solution = Self {
            circuit,
            volts: vec![0.0; circuit.nodes.len()],
            amperes: vec![0.0; circuit.parts.len()],
            residual: 0.0,
            blown: BTreeSet::new(),
            phases: Vec::new(),
        };
        prepared.averaged(circuit, &[], work, |share, network, work| {
            let volts = work.volts();
            for (node, value) in solution.volts[1..].iter_mut().zip(volts) {
                *node += share * value;
            }
            let mut told = BTreeSet::new();
            let mut sums = vec![0.0; volts.len()];
            for ((element, state), owner) in network.elements.iter().zip(&work.states).zip(&network.owners) {
                element.leaving(*state, &network.segments, volts, &mut sums);
                let Owner::Part(part) = owner else { continue };
                if told.insert(*part) {
                    solution.amperes[*part] += share * element.amperes(*state, &network.segments, volts);
                }
                if matches!(element, super::element::Element::Fuse { .. }) && *state == super::element::BLOWN {
                    solution.blown.insert(*part);
                }
            }
            solution.residual = sums[..network.size].iter().map(|sum| sum.abs()).fold(solution.residual, f64::max);
            solution.phases.push((work.states.clone(), work.ties.clone(), volts.to_vec()));
        })?;
        Ok(solution)
    }

    pub(super) fn node(&self, node: Node) -> f64 {
        self.volts[node]
    }

    /// Amperes through a part, by number.
    pub(super) fn through(&self, part: usize) -> f64 {
        self.amperes[part]
    }

    /// True voltage of one point or role against another, in volts, with no meter's load on it.
    pub fn volts(&self, from: &str, to: &str) -> Result<f64, SolveError> {
        Ok(self.volts[self.circuit.node(from)?] - self.volts[self.circuit.node(to)?])
    }

    /// True current through a part from its first end to its second, in amperes: of a source or an output, out of it; of a
    /// relay, through its coil.
    pub fn amperes(&self, part: &str) -> Result<f64, SolveError> {
        Ok(self.amperes[self.circuit.part_number(part)?])
    }

    /// Each node's name and its volts against zero volts, junctions inside parts among them.
    pub fn nodes(&self) -> impl Iterator<Item = (&str, f64)> {
        self.circuit.nodes.iter().map(String::as_str).zip(self.volts.iter().copied())
    }

    /// Fuses that blow in this state.
    pub fn blown(&self) -> impl Iterator<Item = &str> {
        self.blown.iter().map(|part| self.circuit.parts[*part].id.as_str())
    }

    /// Highest sum of currents at any node, in amperes: what Kirchhoff's law leaves over.
    pub fn residual(&self) -> f64 {
        self.residual
    }
}
