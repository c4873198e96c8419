//! A circuit in one state of the vehicle, with faults and a draw from its tolerances, as networks with all their values.

use super::clock::{Clock, Moment};
use super::element::Element;
use super::network::{Network, NetworkError, Owner, Workspace};
use super::network_builder::NetworkBuilder;
use crate::circuit::effect::{Altered, Effect};
use crate::circuit::error::SolveError;
use crate::circuit::memory::Memory;
use crate::circuit::movement::Resolved;
use crate::circuit::netlist::Circuit;
use crate::circuit::nodes::Node;
use crate::circuit::sample::Sample;
use crate::circuit::severity::Placed;
use crate::model::dimension::Dimension;
use crate::model::vehicle::{Jumper, VehicleState};
use std::collections::BTreeSet;

/// Resistance of a plain jumper wire with its two clips, in ohms.
pub(in crate::circuit) const PLAIN_JUMPER: f64 = 0.02;

/// A circuit in one state with one set of faults, ready to be solved.
#[derive(Clone, Debug)]
pub(in crate::circuit) struct Prepared {
    /// Shares of the time and the networks that hold meanwhile: one, or dominant and recessive of a data bus.
    pub phases: Vec<(f64, Network)>,
}

/// What a circuit is put into.
pub(in crate::circuit) struct Situation<'a> {
    pub state: &'a VehicleState,
    /// Active faults.
    pub faults: &'a [Placed],
    pub sample: Sample,
    /// Where each tolerance lies, as a share of the way from its lowest to its highest value; as `sample` has it without.
    pub chosen: Option<&'a [f64]>,
    /// Fuses that have blown earlier, by number of the part.
    pub blown: &'a BTreeSet<usize>,
    pub clock: &'a Clock,
    pub moment: Moment,
}

impl Circuit {
    /// Whether it knows everything that a state of the vehicle names.
    ///
    /// # Errors
    /// The first name or position that it does not know.
    pub fn knows(&self, state: &VehicleState) -> Result<(), SolveError> {
        Resolved::new(state, &self.start, &self.movements)?;
        state.unplugged.iter().try_for_each(|connector| self.connector_number(connector).map(drop))?;
        state.removed.iter().try_for_each(|part| self.part_number(part).map(drop))?;
        for jumper in &state.jumpers {
            self.node(&jumper.from)?;
            self.node(&jumper.to)?;
            ohms_of(jumper)?;
        }
        Ok(())
    }
}

pub(in crate::circuit) fn prepare(circuit: &Circuit, situation: &Situation) -> Result<Prepared, SolveError> {
    let state = situation.state;
    let resolved = Resolved::new(state, &circuit.start, &circuit.movements)?;
    let mut unplugged = vec![false; circuit.connectors.len()];
    for connector in &state.unplugged {
        unplugged[circuit.connector_number(connector)?] = true;
    }
    let mut removed = situation.blown.clone();
    for part in &state.removed {
        removed.insert(circuit.part_number(part)?);
    }
    let mut altered = vec![Altered::default(); circuit.parts.len()];
    let mut shorts = Vec::new();
    for fault in situation.faults {
        if fault.only_while.as_ref().is_none_or(|condition| condition.holds(&resolved)) {
            for effect in &fault.effects {
                alter(circuit, effect, &mut altered, &mut shorts);
            }
        }
    }
    let has_clamp = circuit.parts.iter().any(|part| part.kind.is_battery_clamp());
    let has_bus = circuit.parts.iter().any(|part| part.kind.drives_bus());
    let dominant_share = if has_bus { circuit.share } else { 0.0 };
    let mut phases = Vec::new();
    for (share, dominant) in [(1.0 - dominant_share, false), (dominant_share, true)] {
        if share == 0.0 {
            continue;
        }
        let builder = NetworkBuilder::new(circuit.nodes.len() - 1, &resolved, situation.sample, &unplugged);
        let mut builder = builder.with_clamp(has_clamp).while_dominant(dominant).choosing(situation.chosen);
        builder.at_time(situation.clock, situation.moment);
        for (number, part) in circuit.parts.iter().enumerate() {
            if !removed.contains(&number) && !altered[number].open {
                builder.belongs_to(Owner::Part(number));
                part.kind.build(&altered[number], &mut builder);
            }
        }
        builder.belongs_to(Owner::Added);
        for &(from, to, ohms) in &shorts {
            builder.resistance(from, to, ohms);
        }
        for jumper in &state.jumpers {
            let (from, to) = (circuit.node(&jumper.from)?, circuit.node(&jumper.to)?);
            let ohms = ohms_of(jumper)?;
            if from != to {
                builder.resistance(from, to, ohms);
            }
        }
        phases.push((share, builder.built()));
    }
    Ok(Prepared { phases })
}

/// What a jumper puts between its two points, in ohms.
fn ohms_of(jumper: &Jumper) -> Result<f64, SolveError> {
    match jumper.through {
        None => Ok(PLAIN_JUMPER),
        Some(through) if through.dimension() == Dimension::RESISTANCE && through.si() >= 0.0 => {
            Ok(through.si().max(PLAIN_JUMPER))
        }
        Some(_) => Err(SolveError::BadJumper { from: jumper.from.clone(), to: jumper.to.clone() }),
    }
}

fn alter(circuit: &Circuit, effect: &Effect, altered: &mut [Altered], shorts: &mut Vec<(Node, Node, f64)>) {
    match *effect {
        Effect::Open { part, branch: None } => altered[part].open = true,
        Effect::Open { part, branch: Some(branch) } => altered[part].open_branches.push(branch),
        Effect::Shorted { part, branch } => altered[part].shorted_branches.push(branch),
        Effect::Short { from, to, ohms } => shorts.push((from, to, ohms)),
        Effect::Added { part, ohms } => altered[part].added += ohms,
        Effect::Drift { part, gain, offset } => {
            altered[part].gain = Some(altered[part].gain.unwrap_or(1.0) * gain);
            altered[part].offset += offset;
        }
        Effect::Set { part, value } => altered[part].set = Some(value),
        Effect::Stuck { part, at } => altered[part].stuck = Some(at),
        Effect::Worn { part, from, to, ohms } => altered[part].worn.push((from, to, ohms)),
        Effect::Swapped { one, other } => {
            if let (Some((_, first)), Some((_, second))) =
                (circuit.parts[one].kind.in_line(), circuit.parts[other].kind.in_line())
            {
                let first = altered[one].moved_end.unwrap_or(first);
                let second = altered[other].moved_end.unwrap_or(second);
                altered[one].moved_end = Some(second);
                altered[other].moved_end = Some(first);
            }
        }
    }
}

impl Prepared {
    /// Solves each phase and hands out its number, its share of the time and its solution. `extra` are a meter's elements;
    /// contacts and outputs begin as they are remembered.
    pub fn solved(
        &self,
        circuit: &Circuit,
        extra: &[Element],
        memory: &Memory,
        work: &mut Workspace,
        mut each: impl FnMut(usize, f64, &Network, &Workspace),
    ) -> Result<(), SolveError> {
        for (number, (share, network)) in self.phases.iter().enumerate() {
            let solved = network.solve(extra, memory.contacts(number), work);
            solved.map_err(|error| in_words(circuit, error, &network.owners))?;
            each(number, *share, network, work);
        }
        Ok(())
    }
}

/// The parts that these elements come from.
pub(in crate::circuit) fn parts_of(elements: Vec<usize>, owners: &[Owner]) -> BTreeSet<usize> {
    let part = |element: usize| match owners[element] {
        Owner::Part(part) => Some(part),
        Owner::Added => None,
    };
    elements.into_iter().filter_map(part).collect()
}

/// Why a network has no solution, in the circuit's own names.
pub(in crate::circuit) fn in_words(circuit: &Circuit, error: NetworkError, owners: &[Owner]) -> SolveError {
    match error {
        NetworkError::Floats(unknown) => SolveError::Floats { node: circuit.nodes[unknown + 1].clone() },
        NetworkError::Unsettled(elements) => {
            let parts = parts_of(elements, owners).into_iter();
            SolveError::Unsettled { parts: parts.map(|part| circuit.parts[part].id.clone()).collect(), state: None }
        }
    }
}
