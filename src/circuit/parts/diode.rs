//! A diode, or one that shines: it conducts from `from` to `to` above its forward voltage.

use super::keys::{PartKeys, PartRead, Reader};
use super::link::ENDS;
use super::part::{PartFaults, PartKind};
use crate::circuit::decode::Kind;
use crate::circuit::effect::Altered;
use crate::circuit::nodes::Node;
use crate::circuit::sample::Spread;
use crate::circuit::solving::network_builder::NetworkBuilder;
use std::sync::Arc;

pub const READER: Reader = Reader { words: &["diode", "led"], ends: ENDS, read };

#[derive(Debug)]
struct Diode {
    /// Anode.
    from: Node,
    /// Cathode.
    to: Node,
    /// Voltage from which it conducts, in volts.
    forward: Spread,
    /// Resistance above that, in ohms.
    resistance: f64,
}

fn read(keys: &mut PartKeys) -> PartRead {
    let (forward, resistance) = if keys.word == "led" { (1.9, 15.0) } else { (0.6, 0.05) };
    Ok(Arc::new(Diode {
        from: keys.end("from")?,
        to: keys.end("to")?,
        forward: keys.section.spread_or("forward", Kind::POSITIVE_VOLTAGE, forward, 0.05)?,
        resistance: keys.section.quantity("resistance", Kind::RESISTANCE)?.unwrap_or(resistance),
    }))
}

impl PartKind for Diode {
    fn ends(&self) -> Vec<(&'static str, Node)> {
        vec![("from", self.from), ("to", self.to)]
    }
    fn build(&self, altered: &Altered, network: &mut NetworkBuilder) {
        let forward = network.value(self.forward, altered);
        let points = [(forward - 1.0, 0.0), (forward, 0.0), (forward + self.resistance, 1.0)];
        network.curve(self.from, self.to, &points);
    }
    fn faults(&self) -> PartFaults {
        PartFaults::of_value("the forward voltage", self.forward, Kind::POSITIVE_VOLTAGE)
    }
}
