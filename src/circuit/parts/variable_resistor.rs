//! A resistance that follows a curve over what moves it.

use super::keys::{PartKeys, PartRead, Reader};
use super::link::ENDS;
use super::part::{PartFaults, PartKind};
use crate::circuit::curve::interpolate;
use crate::circuit::decode::{Kind, pairs};
use crate::circuit::effect::Altered;
use crate::circuit::movement::ends;
use crate::circuit::nodes::Node;
use crate::circuit::sample::Spread;
use crate::circuit::solving::network_builder::NetworkBuilder;
use std::sync::Arc;

pub const READER: Reader = Reader { words: &["variable_resistor"], ends: ENDS, read };

#[derive(Debug)]
struct VariableResistor {
    from: Node,
    to: Node,
    /// Position in SI units, and ohms.
    curve: Vec<(f64, f64)>,
    /// Multiplies all of them.
    factor: Spread,
    /// The movement that moves it, by number.
    movement: usize,
}

fn read(keys: &mut PartKeys) -> PartRead {
    let section = keys.section;
    let movement = keys.travelled("moves")?;
    let Some((_, _, kind)) = ends(&keys.movements[movement]) else { return Err(section.missing("moves")) };
    let curve = pairs(section, "curve", kind, Kind::RESISTANCE)?;
    let factor = keys.tolerance(0.05)?;
    Ok(Arc::new(VariableResistor { from: keys.end("from")?, to: keys.end("to")?, curve, factor, movement }))
}

impl PartKind for VariableResistor {
    fn ends(&self) -> Vec<(&'static str, Node)> {
        vec![("from", self.from), ("to", self.to)]
    }
    fn build(&self, altered: &Altered, network: &mut NetworkBuilder) {
        let travel = network.travel(self.movement, altered);
        let ohms = interpolate(&self.curve, travel) * network.value(self.factor, altered);
        network.resistance(self.from, self.to, ohms);
    }
    fn faults(&self) -> PartFaults {
        PartFaults {
            drifts: vec![self.factor],
            takes_offset: false,
            movement: Some(self.movement),
            ..PartFaults::of_kind(Kind::RESISTANCE)
        }
    }
}
