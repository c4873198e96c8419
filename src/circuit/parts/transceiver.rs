//! A data bus driver on two wires.

use super::keys::{PartKeys, PartRead, Reader};
use super::part::{MODULE_MINIMUM, PartFaults, PartKind};
use crate::circuit::decode::Kind;
use crate::circuit::effect::{Altered, Stuck};
use crate::circuit::movement::Condition;
use crate::circuit::nodes::Node;
use crate::circuit::sample::Spread;
use crate::circuit::solving::element::Drive;
use crate::circuit::solving::network_builder::{NetworkBuilder, Output};
use std::sync::Arc;

pub const READER: Reader = Reader { words: &["transceiver"], ends: &["supply", "ground", "high", "low"], read };

#[derive(Debug)]
struct Transceiver {
    supply: Node,
    ground: Node,
    /// Bus high.
    high: Node,
    /// Bus low.
    low: Node,
    /// From each wire to half the supply, in ohms.
    bias: Spread,
    /// Each driver while dominant, in ohms.
    driver: Spread,
    /// When it sends; `None`: whenever the bus is dominant.
    sends_when: Option<Condition>,
}

fn read(keys: &mut PartKeys) -> PartRead {
    Ok(Arc::new(Transceiver {
        supply: keys.end("supply")?,
        ground: keys.end("ground")?,
        high: keys.end("high")?,
        low: keys.end("low")?,
        bias: keys.section.spread_or("bias", Kind::RESISTANCE, 25e3, 0.2)?,
        driver: keys.section.spread_or("driver", Kind::RESISTANCE, 45.0, 0.1)?,
        sends_when: keys.condition("sends_when")?,
    }))
}

impl PartKind for Transceiver {
    fn ends(&self) -> Vec<(&'static str, Node)> {
        vec![("supply", self.supply), ("ground", self.ground), ("high", self.high), ("low", self.low)]
    }
    fn apart(&self) -> &'static [(usize, usize)] {
        &[(0, 1), (2, 3)]
    }
    fn build(&self, altered: &Altered, network: &mut NetworkBuilder) {
        let by_itself = || network.is_dominant() && network.holds(self.sends_when.as_ref());
        let sends = altered.held().unwrap_or_else(by_itself);
        let (bias, driver) = (network.drawn(self.bias), network.value(self.driver, altered) + altered.added);
        for (branch, output, share) in [("high", self.high, 1.0), ("low", self.low, 0.0)] {
            if !altered.is_open(branch) {
                let driven = |drive: Drive| Output {
                    supply: self.supply,
                    ground: self.ground,
                    output,
                    minimum: MODULE_MINIMUM,
                    drive,
                };
                network.output(&driven(Drive::Amplifier), 0.5, bias);
                if sends {
                    network.output(&driven(Drive::Both), share, driver);
                }
            }
        }
    }
    fn faults(&self) -> PartFaults {
        PartFaults {
            branches: &["high", "low"],
            stuck: &[("off", Stuck::Open), ("on", Stuck::Closed)],
            ..PartFaults::of_value("the driver's resistance", self.driver, Kind::RESISTANCE).in_line()
        }
    }
    fn drives_bus(&self) -> bool {
        true
    }
}
