//! A regulated voltage with a current limit, from an input.

use super::keys::{PartKeys, PartRead, Reader};
use super::part::{PartFaults, PartKind};
use crate::circuit::decode::Kind;
use crate::circuit::effect::Altered;
use crate::circuit::movement::Condition;
use crate::circuit::nodes::Node;
use crate::circuit::sample::Spread;
use crate::circuit::solving::element::Element;
use crate::circuit::solving::network_builder::NetworkBuilder;
use std::sync::Arc;

pub const READER: Reader = Reader { words: &["regulator"], ends: &["input", "output", "ground"], read };

#[derive(Debug)]
struct Regulator {
    /// Where the current is taken from.
    input: Node,
    output: Node,
    ground: Node,
    /// Set voltage, in volts.
    volts: Spread,
    /// Output resistance, in ohms.
    resistance: Spread,
    /// Highest current, in amperes; more is not given, into a dead short either.
    limit: Spread,
    /// How much the input has to be above the output, in volts.
    dropout: f64,
    works_when: Option<Condition>,
}

fn read(keys: &mut PartKeys) -> PartRead {
    let section = keys.section;
    Ok(Arc::new(Regulator {
        input: keys.end("input")?,
        output: keys.end("output")?,
        ground: keys.end("ground")?,
        volts: section.spread_needed("volts", Kind::POSITIVE_VOLTAGE, 0.01)?,
        resistance: section.spread_or("resistance", Kind::RESISTANCE, 0.1, 0.2)?,
        limit: section.spread_needed("limit", Kind::CURRENT, 0.1)?,
        dropout: section.quantity("dropout", Kind::POSITIVE_VOLTAGE)?.unwrap_or(0.5),
        works_when: keys.condition("works_when")?,
    }))
}

impl PartKind for Regulator {
    fn ends(&self) -> Vec<(&'static str, Node)> {
        vec![("output", self.output), ("ground", self.ground), ("input", self.input)]
    }
    fn build(&self, altered: &Altered, network: &mut NetworkBuilder) {
        if network.holds(self.works_when.as_ref()) {
            network.element(Element::Regulator {
                input: Some(network.at(self.input)),
                output: network.at(self.output),
                ground: network.at(self.ground),
                volts: network.value(self.volts, altered),
                siemens: 1.0 / (network.drawn(self.resistance) + altered.added),
                limit: network.drawn(self.limit),
                dropout: self.dropout,
            });
        }
    }
    fn faults(&self) -> PartFaults {
        PartFaults {
            added: Some(("the source resistance", self.resistance)),
            ..PartFaults::of_value("the voltage", self.volts, Kind::POSITIVE_VOLTAGE)
        }
    }
}
