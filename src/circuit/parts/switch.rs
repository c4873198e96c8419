//! A switch: contacts that are together while a condition holds.

use super::keys::{PartKeys, PartRead, Reader};
use super::link::{ENDS, Link, LinkKeys};
use super::part::{PartFaults, PartKind, STUCK_CONTACTS};
use crate::circuit::effect::Altered;
use crate::circuit::movement::Condition;
use crate::circuit::nodes::Node;
use crate::circuit::solving::network_builder::NetworkBuilder;
use std::sync::Arc;

pub const READER: Reader = Reader { words: &["switch"], ends: ENDS, read };

#[derive(Debug)]
pub struct Switch {
    pub link: Link,
    pub closed_when: Condition,
}

fn read(keys: &mut PartKeys) -> PartRead {
    let link = LinkKeys::read(keys, 0.05)?;
    let closed_when = link.closed_when.clone().ok_or_else(|| keys.section.missing("closed_when"))?;
    let resistance = link.given_or(keys, 0.01, 0.5);
    Ok(Arc::new(Switch { link: link.with(resistance), closed_when }))
}

impl PartKind for Switch {
    fn ends(&self) -> Vec<(&'static str, Node)> {
        self.link.named_ends()
    }
    fn build(&self, altered: &Altered, network: &mut NetworkBuilder) {
        if altered.held().unwrap_or_else(|| network.holds(Some(&self.closed_when))) {
            self.link.build(altered, network);
        }
    }
    fn faults(&self) -> PartFaults {
        PartFaults { stuck: STUCK_CONTACTS, ..self.link.faults() }
    }
    fn in_line(&self) -> Option<(Node, Node)> {
        Some(self.link.ends())
    }
}
