//! A joint of wires, or a ground stud.

use super::keys::{PartKeys, PartRead, Reader};
use super::link::{ENDS, Link, LinkKeys};
use super::part::{PartFaults, PartKind};
use crate::circuit::effect::Altered;
use crate::circuit::nodes::Node;
use crate::circuit::sample::Spread;
use crate::circuit::solving::network_builder::NetworkBuilder;
use std::sync::Arc;

pub const READER: Reader = Reader { words: &["joint", "ground_stud"], ends: ENDS, read };

#[derive(Debug)]
struct Joint(Link);

fn read(keys: &mut PartKeys) -> PartRead {
    let link = LinkKeys::read(keys, 0.05)?;
    let resistance = link.given_or(keys, 0.002, 0.5);
    Ok(Arc::new(Joint(link.never_switched(keys, resistance)?)))
}

impl PartKind for Joint {
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
}
