//! A wire: copper of a gauge and a length, or a resistance.

use super::keys::{PartKeys, PartRead, Reader};
use super::link::{ENDS, Link, LinkKeys};
use super::part::{PartFaults, PartKind};
use crate::circuit::decode::Kind;
use crate::circuit::effect::Altered;
use crate::circuit::nodes::Node;
use crate::circuit::sample::Spread;
use crate::circuit::solving::network_builder::NetworkBuilder;
use std::sync::Arc;

pub const READER: Reader = Reader { words: &["wire"], ends: ENDS, read };

#[derive(Debug)]
struct Wire(Link);

fn read(keys: &mut PartKeys) -> PartRead {
    let section = keys.section;
    let link = LinkKeys::read(keys, 0.1)?;
    let length = section.quantity("length", Kind::LENGTH)?;
    let celsius = section.quantity("at", Kind::TEMPERATURE)?.unwrap_or(20.0);
    let resistance = match (section.gauge("gauge")?, length, link.given) {
        (_, None, Some(given)) => given,
        (Some(gauge), Some(length), None) => link.given_or(keys, gauge.resistance(length, celsius).max(1e-6), 0.1),
        (None, _, None) => return Err(section.missing("gauge")),
        (_, None, None) => return Err(section.missing("length")),
        (_, Some(_), Some(_)) => {
            return Err(section.not_a("resistance", "needed where gauge and length are given"));
        }
    };
    Ok(Arc::new(Wire(link.never_switched(keys, resistance)?)))
}

impl PartKind for Wire {
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
    fn connection(&self) -> Option<(Node, Node)> {
        Some(self.0.ends())
    }
    fn fixed_resistance(&self) -> Option<(Node, Node, Spread)> {
        Some((self.0.from, self.0.to, self.0.resistance))
    }
    fn colors_its_ends(&self) -> bool {
        true
    }
}
