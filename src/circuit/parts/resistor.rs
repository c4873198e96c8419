//! A resistance that does work or holds back: a resistor, a bus terminator, a load. Something may switch it.

use super::keys::{PartKeys, PartRead, Reader};
use super::link::{ENDS, Link, LinkKeys};
use super::part::{PartFaults, PartKind};
use super::switch::Switch;
use crate::circuit::effect::Altered;
use crate::circuit::nodes::Node;
use crate::circuit::sample::Spread;
use crate::circuit::solving::network_builder::NetworkBuilder;
use std::sync::Arc;

pub const READER: Reader = Reader { words: &["resistor", "terminator", "load"], ends: ENDS, read };

#[derive(Debug)]
struct Resistor(Link);

fn read(keys: &mut PartKeys) -> PartRead {
    let link = LinkKeys::read(keys, 0.05)?;
    let resistance = link.given.ok_or_else(|| keys.section.missing("resistance"))?;
    let resistor = link.with(resistance);
    Ok(match link.closed_when {
        // Whatever switches it is part of it, so that it may be stuck like a switch.
        Some(closed_when) => Arc::new(Switch { link: resistor, closed_when }),
        None => Arc::new(Resistor(resistor)),
    })
}

impl PartKind for Resistor {
    fn ends(&self) -> Vec<(&'static str, Node)> {
        self.0.named_ends()
    }
    fn build(&self, altered: &Altered, network: &mut NetworkBuilder) {
        self.0.build(altered, network);
    }
    fn faults(&self) -> PartFaults {
        self.0.faults()
    }
    fn in_line(&self) -> Option<(Node, Node)> {
        Some(self.0.ends())
    }
    fn fixed_resistance(&self) -> Option<(Node, Node, Spread)> {
        Some((self.0.from, self.0.to, self.0.resistance))
    }
}
