//! A three-wire sensor: its output is a share of its own supply.

use super::keys::{PartKeys, PartRead, Reader};
use super::part::{PartFaults, PartKind};
use crate::circuit::decode::Kind;
use crate::circuit::effect::Altered;
use crate::circuit::error::Problem;
use crate::circuit::nodes::Node;
use crate::circuit::sample::Spread;
use crate::circuit::solving::element::Drive;
use crate::circuit::solving::network_builder::{NetworkBuilder, Output};
use std::sync::Arc;

pub const READER: Reader = Reader { words: &["active_sensor"], ends: &["supply", "ground", "output"], read };

#[derive(Debug)]
struct ActiveSensor {
    supply: Node,
    ground: Node,
    output: Node,
    /// Its supply current, as a resistance in ohms.
    load: Spread,
    /// Output resistance, in ohms.
    resistance: Spread,
    /// The movement that moves it, by number.
    movement: usize,
    /// Share of the supply at the start and at the end of the travel.
    shares: (Spread, Spread),
    /// Lowest and highest share that it can put out.
    saturates: (f64, f64),
    /// Supply below which its output is off, in volts.
    minimum_supply: f64,
}

fn read(keys: &mut PartKeys) -> PartRead {
    let section = keys.section;
    let (lowest, highest) = (section.quantity("lowest", Kind::SHARE)?, section.quantity("highest", Kind::SHARE)?);
    let saturates = (lowest.unwrap_or(0.02), highest.unwrap_or(0.98));
    if saturates.0 >= saturates.1 {
        return Err(Problem::NotRising { key: "highest" }.into());
    }
    Ok(Arc::new(ActiveSensor {
        supply: keys.end("supply")?,
        ground: keys.end("ground")?,
        output: keys.end("output")?,
        load: section.spread_or("load", Kind::RESISTANCE, 600.0, 0.1)?,
        resistance: section.spread_or("resistance", Kind::RESISTANCE, 50.0, 0.2)?,
        movement: keys.travelled("moves")?,
        shares: keys.shares(0.1, 0.9)?,
        saturates,
        minimum_supply: section.quantity("minimum_supply", Kind::POSITIVE_VOLTAGE)?.unwrap_or(3.0),
    }))
}

impl PartKind for ActiveSensor {
    fn ends(&self) -> Vec<(&'static str, Node)> {
        vec![("supply", self.supply), ("ground", self.ground), ("output", self.output)]
    }
    fn apart(&self) -> &'static [(usize, usize)] {
        &[(0, 1), (1, 2)]
    }
    fn build(&self, altered: &Altered, network: &mut NetworkBuilder) {
        if !altered.is_open("supply") {
            let ohms = network.drawn(self.load);
            network.resistance(self.supply, self.ground, ohms);
        }
        if !altered.is_open("output") {
            let travel = network.travel(self.movement, altered);
            let share = network.share_at(self.movement, travel, self.shares, altered);
            let share = share.clamp(self.saturates.0, self.saturates.1);
            let ohms = altered.worn_at(travel).unwrap_or_else(|| network.drawn(self.resistance)) + altered.added;
            let (supply, ground, output) = (self.supply, self.ground, self.output);
            let (minimum, drive) = (self.minimum_supply, Drive::Amplifier);
            network.output(&Output { supply, ground, output, minimum, drive }, share, ohms);
        }
    }
    fn faults(&self) -> PartFaults {
        PartFaults {
            branches: &["supply", "output"],
            added: Some(("the output resistance", self.resistance)),
            drifts: vec![self.shares.0, self.shares.1],
            movement: Some(self.movement),
            contact: Some(self.resistance),
            ..PartFaults::of_kind(Kind::SHARE)
        }
    }
}
