//! The solved circuit.

use super::error::SolveError;
use super::fault::FaultId;
use super::memory::Memory;
use super::netlist::Circuit;
use super::nodes::Node;
use super::sample::Sample;
use super::signal::Signal;
use super::solving::clock::{Clock, Moment};
use super::solving::element::{BLOWN, Element};
use super::solving::network::{Network, Owner, Turn, Workspace};
use super::solving::prepared::{Prepared, Situation, parts_of, prepare};
use super::solving::span::Span;
use crate::model::quantity::Quantity;
use crate::model::vehicle::VehicleState;
use std::collections::BTreeSet;

/// Voltages and currents of a circuit in one state, without any meter in it.
///
/// A circuit that finds no rest has several sets of contacts that return; where one value is asked for, it is their mean.
#[derive(Clone, Debug)]
pub struct Solution<'c> {
    circuit: &'c Circuit,
    /// Volts by node; zero volts first.
    volts: Vec<f64>,
    /// Amperes by part.
    amperes: Vec<f64>,
    residual: f64,
    blown: BTreeSet<usize>,
    restless: BTreeSet<usize>,
    pub(super) phases: Vec<Phase>,
}

/// Solves a circuit in a state of the vehicle, with faults in it. Relays begin released and outputs off.
pub fn solve<'c>(
    circuit: &'c Circuit,
    state: &VehicleState,
    faults: &[FaultId],
    sample: &Sample,
) -> Result<Solution<'c>, SolveError> {
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
    Solution::new(circuit, &prepared, &Memory::default(), &mut Workspace::default())
        .map_err(|error| error.in_state(state))
}

/// What holds for a share of the time.
#[derive(Clone, Debug)]
pub(super) struct Phase {
    pub share: f64,
    /// Nodes held at zero because nothing connects their island with the rest.
    pub ties: Vec<usize>,
    /// Element states and node voltages by unknown: one set, or those that return.
    pub turns: Vec<Turn>,
}

impl Phase {
    fn span(&self, value: impl Fn(&[f64]) -> f64) -> Span {
        Span::over(self.turns.iter().map(|turn| value(&turn.volts)))
    }
}

impl<'c> Solution<'c> {
    pub(super) fn new(
        circuit: &'c Circuit,
        prepared: &Prepared,
        memory: &Memory,
        work: &mut Workspace,
    ) -> Result<Self, SolveError> {
        let mut solution = Self {
            circuit,
            volts: vec![0.0; circuit.nodes.len()],
            amperes: vec![0.0; circuit.parts.len()],
            residual: 0.0,
            blown: BTreeSet::new(),
            restless: BTreeSet::new(),
            phases: Vec::new(),
        };
        prepared.solved(circuit, &[], memory, work, |_, share, network, work| {
            solution.restless.extend(parts_of(network.restless(work), &network.owners));
            let turns = if work.is_unsteady() {
                work.cycle.clone()
            } else {
                vec![Turn { states: work.states.clone(), volts: work.volts().to_vec() }]
            };
            let of_turn = share / turns.len() as f64;
            for turn in &turns {
                solution.take(network, of_turn, turn);
            }
            solution.phases.push(Phase { share, ties: work.ties.clone(), turns });
        })?;
        Ok(solution)
    }

    fn take(&mut self, network: &Network, share: f64, Turn { states, volts }: &Turn) {
        for (node, value) in self.volts[1..].iter_mut().zip(volts) {
            *node += share * value;
        }
        let mut told = BTreeSet::new();
        let mut sums = vec![0.0; volts.len()];
        for ((element, state), owner) in network.elements.iter().zip(states).zip(&network.owners) {
            element.leaving(*state, &network.segments, volts, &mut sums);
            let Owner::Part(part) = owner else { continue };
            if told.insert(*part) {
                self.amperes[*part] += share * element.amperes(*state, &network.segments, volts);
            }
            if matches!(element, Element::Fuse { .. }) && *state == BLOWN {
                self.blown.insert(*part);
            }
        }
        self.residual = sums[..network.size].iter().map(|sum| sum.abs()).fold(self.residual, f64::max);
    }

    /// The parts that keep changing; none where the circuit rests.
    pub fn unsteady(&self) -> impl Iterator<Item = &str> {
        self.restless.iter().map(|part| self.circuit.parts[*part].id.as_str())
    }

    /// Lowest and highest true voltage of one point or role against another, in volts, over the sets of contacts that return;
    /// the same twice where the circuit rests.
    pub fn lowest_highest(&self, from: &str, to: &str) -> Result<(f64, f64), SolveError> {
        let span = self.between(self.circuit.node(from)?, self.circuit.node(to)?);
        Ok((span.lowest, span.highest))
    }

    /// Mean voltage of a node against zero volts.
    pub(super) fn node(&self, node: Node) -> f64 {
        self.volts[node]
    }

    /// Lowest and highest voltage of one node against another over the sets of contacts that return.
    pub(super) fn between(&self, from: Node, to: Node) -> Span {
        let at = |volts: &[f64], node: Node| node.checked_sub(1).map_or(0.0, |node| volts[node]);
        let mut span = Span::steady(0.0);
        for phase in &self.phases {
            span.add(phase.share, phase.span(|volts| at(volts, from) - at(volts, to)));
        }
        span
    }

    /// What a signal comes to over the sets of contacts that return: nothing where it has no supply in one of them.
    pub(super) fn shown(&self, signal: &Signal) -> Option<(Quantity, Quantity)> {
        if self.restless.is_empty() {
            return signal.shown(|node| self.volts[node]).map(|value| (value, value));
        }
        // Of a data bus the phases are short, and the contacts are slow: a signal sees the mean of the phases.
        let most = self.phases.iter().map(|phase| phase.turns.len()).max().unwrap_or(1);
        let mut shown = Vec::with_capacity(most);
        for number in 0..most {
            let at = |node: Node| {
                let node = node.checked_sub(1)?;
                Some(
                    self.phases
                        .iter()
                        .map(|phase| phase.share * phase.turns[number % phase.turns.len()].volts[node])
                        .sum(),
                )
            };
            shown.push(signal.shown(|node| at(node).unwrap_or(0.0))?);
        }
        let lowest = shown.iter().copied().min_by(|a, b| a.si().total_cmp(&b.si()))?;
        let highest = shown.iter().copied().max_by(|a, b| a.si().total_cmp(&b.si()))?;
        Some((lowest, highest))
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
