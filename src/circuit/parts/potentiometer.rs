//! A potentiometer: a track with a wiper.

use super::keys::{PartKeys, PartRead, Reader};
use super::part::{PartFaults, PartKind};
use crate::circuit::decode::Kind;
use crate::circuit::effect::Altered;
use crate::circuit::nodes::Node;
use crate::circuit::sample::Spread;
use crate::circuit::solving::network_builder::NetworkBuilder;
use std::sync::Arc;

pub const READER: Reader = Reader { words: &["potentiometer"], ends: &["low", "high", "wiper"], read };

#[derive(Debug)]
struct Potentiometer {
    /// End from which travel counts.
    low: Node,
    /// Other end.
    high: Node,
    /// Wiper terminal.
    wiper: Node,
    /// Where the wiper touches the track.
    junction: Node,
    /// Track, in ohms.
    resistance: Spread,
    /// Wiper contact, in ohms.
    contact: Spread,
    /// The movement that moves it, by number.
    movement: usize,
    /// Share of the track at the start and at the end of the travel.
    shares: (Spread, Spread),
}

fn read(keys: &mut PartKeys) -> PartRead {
    let section = keys.section;
    Ok(Arc::new(Potentiometer {
        low: keys.end("low")?,
        high: keys.end("high")?,
        wiper: keys.end("wiper")?,
        junction: keys.inside("track"),
        resistance: section.spread_needed("resistance", Kind::RESISTANCE, 0.1)?,
        contact: section.spread_or("wiper_contact", Kind::RESISTANCE, 100.0, 0.5)?,
        movement: keys.travelled("moves")?,
        shares: keys.shares(0.02, 0.98)?,
    }))
}

impl PartKind for Potentiometer {
    fn ends(&self) -> Vec<(&'static str, Node)> {
        vec![("low", self.low), ("high", self.high), ("wiper", self.wiper), ("junction", self.junction)]
    }
    fn build(&self, altered: &Altered, network: &mut NetworkBuilder) {
        // What drifts is the share, not the track.
        let track = altered.set.unwrap_or_else(|| network.drawn(self.resistance)).max(1e-6);
        let travel = network.travel(self.movement, altered);
        // A share of nothing at the very end still leaves the end's terminal.
        let share = network.share_at(self.movement, travel, self.shares, altered).clamp(1e-4, 1.0 - 1e-4);
        if !altered.is_open("track") {
            network.resistance(self.low, self.junction, track * share);
            network.resistance(self.high, self.junction, track * (1.0 - share));
        }
        if !altered.is_open("wiper") {
            let contact = altered.worn_at(travel).unwrap_or_else(|| network.drawn(self.contact));
            network.resistance(self.wiper, self.junction, contact + altered.added);
        }
    }
    fn faults(&self) -> PartFaults {
        PartFaults {
            branches: &["track", "wiper"],
            added: Some(("the wiper's contact", self.contact)),
            value: Some(("the track's resistance", self.resistance)),
            value_kind: Kind::RESISTANCE,
            drifts: vec![self.shares.0, self.shares.1],
            movement: Some(self.movement),
            contact: Some(self.contact),
            ..PartFaults::of_kind(Kind::SHARE)
        }
    }
}
