//! A module that falls asleep: it draws one current while it is awake, and another some minutes after what keeps it awake is over.

use super::keys::{PartKeys, PartRead, Reader};
use super::link::ENDS;
use super::part::{PartFaults, PartKind};
use crate::circuit::decode::Kind;
use crate::circuit::effect::{Altered, Stuck};
use crate::circuit::movement::Condition;
use crate::circuit::nodes::Node;
use crate::circuit::sample::Spread;
use crate::circuit::solving::network_builder::NetworkBuilder;
use std::sync::Arc;

pub const READER: Reader = Reader { words: &["sleeping_load"], ends: ENDS, read };

#[derive(Debug)]
struct SleepingLoad {
    from: Node,
    to: Node,
    /// Resistance while it is awake and asleep, in ohms.
    awake: Spread,
    asleep: Spread,
    /// How long after what kept it awake it falls asleep, in seconds.
    after: Spread,
    /// The condition that keeps it awake: the key, a door.
    awake_while: Condition,
}

/// The words for where it may be stuck.
const STUCK: &[(&str, Stuck)] = &[("awake", Stuck::Closed), ("asleep", Stuck::Open)];

fn read(keys: &mut PartKeys) -> PartRead {
    let section = keys.section;
    let (awake, asleep) = (
        section.spread_needed("awake", Kind::RESISTANCE, 0.1)?,
        section.spread_needed("asleep", Kind::RESISTANCE, 0.1)?,
    );
    if awake.high >= asleep.low {
        return Err(section.not_a("asleep", "a resistance above that of `awake`"));
    }
    Ok(Arc::new(SleepingLoad {
        from: keys.end("from")?,
        to: keys.end("to")?,
        awake,
        asleep,
        after: section.spread_needed("after", Kind::TIME, 0.2)?,
        awake_while: keys.condition("awake_while")?.ok_or_else(|| section.missing("awake_while"))?,
    }))
}

impl PartKind for SleepingLoad {
    fn ends(&self) -> Vec<(&'static str, Node)> {
        vec![("from", self.from), ("to", self.to)]
    }
    fn build(&self, altered: &Altered, network: &mut NetworkBuilder) {
        let is_awake = altered.held().unwrap_or_else(|| {
            network.holds(Some(&self.awake_while)) || network.seconds_since_awake() < network.drawn(self.after)
        });
        let ohms = if is_awake { network.drawn(self.awake) } else { network.value(self.asleep, altered) };
        network.resistance(self.from, self.to, ohms);
    }
    fn faults(&self) -> PartFaults {
        PartFaults { stuck: STUCK, ..PartFaults::of_value("the resistance asleep", self.asleep, Kind::RESISTANCE) }
    }
    fn awake_while(&self) -> Option<&Condition> {
        Some(&self.awake_while)
    }
}
