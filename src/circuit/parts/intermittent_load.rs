//! A load that comes and goes by itself: a compressor, a heater of a filter, a module that looks about.

use super::keys::{PartKeys, PartRead, Reader};
use super::link::{ENDS, Link, LinkKeys};
use super::part::{PartFaults, PartKind, STUCK_CONTACTS};
use crate::circuit::decode::Kind;
use crate::circuit::effect::Altered;
use crate::circuit::movement::Condition;
use crate::circuit::nodes::Node;
use crate::circuit::sample::Spread;
use crate::circuit::solving::network_builder::NetworkBuilder;
use std::sync::Arc;

pub const READER: Reader = Reader { words: &["intermittent_load"], ends: ENDS, read };

#[derive(Debug)]
struct IntermittentLoad {
    link: Link,
    /// How long it is there, and how long it is gone, in seconds.
    on: f64,
    off: f64,
    /// Where in that the vehicle is when it begins, in seconds: each vehicle elsewhere.
    phase: Spread,
    closed_when: Option<Condition>,
}

fn read(keys: &mut PartKeys) -> PartRead {
    let link = LinkKeys::read(keys, 0.05)?;
    let section = keys.section;
    let resistance = link.given.ok_or_else(|| section.missing("resistance"))?;
    let (on, off) = (section.needed("on", Kind::TIME)?, section.needed("off", Kind::TIME)?);
    let phase = Spread { nominal: 0.0, ..section.spread_of(0.0, 0.0, on + off) };
    let closed_when = link.closed_when.clone();
    Ok(Arc::new(IntermittentLoad { link: link.with(resistance), on, off, phase, closed_when }))
}

impl PartKind for IntermittentLoad {
    fn ends(&self) -> Vec<(&'static str, Node)> {
        self.link.named_ends()
    }
    fn build(&self, altered: &Altered, network: &mut NetworkBuilder) {
        let at = network.drawn(self.phase);
        let comes = || network.is_there(at, self.on, self.off);
        let there = altered.held().unwrap_or_else(|| network.holds(self.closed_when.as_ref()) && comes());
        if there {
            self.link.build(altered, network);
        }
    }
    fn faults(&self) -> PartFaults {
        PartFaults { stuck: STUCK_CONTACTS, ..self.link.faults() }
    }
    fn in_line(&self) -> Option<(Node, Node)> {
        Some(self.link.ends())
    }
    fn comes_and_goes(&self) -> bool {
        true
    }
}
