//! A coil: a resistance, of which alternating current sees the inductance, too. Something may switch it.

use super::keys::{PartKeys, PartRead, Reader};
use super::link::{ENDS, Link, LinkKeys};
use super::part::{PartFaults, PartKind};
use super::switch::Switch;
use crate::circuit::decode::Kind;
use crate::circuit::effect::Altered;
use crate::circuit::nodes::Node;
use crate::circuit::sample::Spread;
use crate::circuit::solving::alternating::Alternating;
use crate::circuit::solving::network_builder::NetworkBuilder;
use std::sync::Arc;

pub const READER: Reader = Reader { words: &["coil"], ends: ENDS, read };

#[derive(Debug)]
struct Coil {
    link: Link,
    /// In henries.
    inductance: Option<f64>,
}

fn read(keys: &mut PartKeys) -> PartRead {
    let link = LinkKeys::read(keys, 0.05)?;
    let resistance = link.given.ok_or_else(|| keys.section.missing("resistance"))?;
    let inductance = keys.section.quantity("inductance", Kind::INDUCTANCE)?;
    let coil = link.with(resistance);
    Ok(match (link.closed_when, inductance) {
        // Whatever switches it is part of it, so that it may be stuck like a switch.
        (Some(closed_when), None) => Arc::new(Switch { link: coil, closed_when }),
        (Some(_), Some(_)) => {
            return Err(keys.section.not_a("inductance", "a key beside `closed_when`: write the switch as a part"));
        }
        (None, inductance) => Arc::new(Coil { link: coil, inductance }),
    })
}

impl PartKind for Coil {
    fn ends(&self) -> Vec<(&'static str, Node)> {
        self.link.named_ends()
    }
    fn build(&self, altered: &Altered, network: &mut NetworkBuilder) {
        self.link.build(altered, network);
        if let Some(henries) = self.inductance {
            network.alternating(|element| Alternating::Inductance { element, henries });
        }
    }
    fn faults(&self) -> PartFaults {
        self.link.faults()
    }
    fn in_line(&self) -> Option<(Node, Node)> {
        Some(self.link.ends())
    }
    fn fixed_resistance(&self) -> Option<(Node, Node, Spread)> {
        Some((self.link.from, self.link.to, self.link.resistance))
    }
}
