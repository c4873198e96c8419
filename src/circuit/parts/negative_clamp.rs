//! The clamp at the battery's negative post, which opens when the cable is taken off.

use super::keys::{PartKeys, PartRead, Reader};
use super::link::{ENDS, Link, LinkKeys};
use super::part::{PartFaults, PartKind};
use crate::circuit::effect::Altered;
use crate::circuit::nodes::Node;
use crate::circuit::solving::network_builder::NetworkBuilder;
use std::sync::Arc;

pub const READER: Reader = Reader { words: &["negative_clamp"], ends: ENDS, read };

#[derive(Debug)]
struct NegativeClamp(Link);

fn read(keys: &mut PartKeys) -> PartRead {
    let link = LinkKeys::read(keys, 0.05)?;
    let resistance = link.given_or(keys, 0.0005, 0.5);
    Ok(Arc::new(NegativeClamp(link.never_switched(keys, resistance)?)))
}

impl PartKind for NegativeClamp {
    fn ends(&self) -> Vec<(&'static str, Node)> {
        self.0.named_ends()
    }
    fn build(&self, altered: &Altered, network: &mut NetworkBuilder) {
        if !network.battery_is_off() {
            self.0.build(altered, network);
        }
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
    fn is_battery_clamp(&self) -> bool {
        true
    }
}
