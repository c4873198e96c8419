//! A battery: a voltage behind a resistance.

use super::keys::{PartKeys, PartRead, Reader};
use super::part::{PartFaults, PartKind};
use crate::circuit::decode::Kind;
use crate::circuit::effect::Altered;
use crate::circuit::element::Element;
use crate::circuit::network_builder::NetworkBuilder;
use crate::circuit::nodes::Node;
use crate::circuit::sample::Spread;
use std::sync::Arc;

pub const READER: Reader = Reader { words: &["battery"], ends: &["positive", "negative"], read };

#[derive(Debug)]
struct Battery {
    positive: Node,
    negative: Node,
    /// Open-circuit voltage, in volts.
    volts: Spread,
    /// Source resistance, in ohms.
    resistance: Spread,
}

fn read(keys: &mut PartKeys) -> PartRead {
    Ok(Arc::new(Battery {
        positive: keys.end("positive")?,
        negative: keys.end("negative")?,
        volts: keys.section.spread_needed("volts", Kind::VOLTAGE, 0.01)?,
        resistance: keys.section.spread_or("resistance", Kind::RESISTANCE, 0.01, 0.2)?,
    }))
}

impl PartKind for Battery {
    fn ends(&self) -> Vec<(&'static str, Node)> {
        vec![("positive", self.positive), ("negative", self.negative)]
    }
    fn build(&self, altered: &Altered, network: &mut NetworkBuilder) {
        if network.battery_is_off() && !network.has_clamp() {
            return;
        }
        let (plus, minus) = (network.at(self.positive), network.at(self.negative));
        let siemens = 1.0 / (network.drawn(self.resistance) + altered.added);
        let volts = network.voltage(self.volts, altered);
        network.element(Element::Source { plus, minus, siemens, volts });
    }
    fn faults(&self) -> PartFaults {
        PartFaults {
            added: Some(("the source resistance", self.resistance)),
            ..PartFaults::of_value("the voltage", self.volts, Kind::POSITIVE_VOLTAGE)
        }
    }
    fn posts(&self) -> Option<(Node, Node)> {
        Some((self.positive, self.negative))
    }
}
