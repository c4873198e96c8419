//! A fuse.

use super::keys::{PartKeys, PartRead, Reader};
use super::link::{ENDS, Link, LinkKeys};
use super::part::{PartFaults, PartKind};
use crate::circuit::decode::Kind;
use crate::circuit::effect::Altered;
use crate::circuit::nodes::Node;
use crate::circuit::solving::element::Element;
use crate::circuit::solving::network_builder::NetworkBuilder;
use std::sync::Arc;

pub const READER: Reader = Reader { words: &["fuse"], ends: ENDS, read };

#[derive(Debug)]
struct Fuse {
    link: Link,
    /// Current above which it blows, in amperes.
    blows: f64,
}

fn read(keys: &mut PartKeys) -> PartRead {
    let link = LinkKeys::read(keys, 0.05)?;
    let rating = keys.section.needed("rating", Kind::CURRENT)?;
    let resistance = link.given_or(keys, 0.08 / rating.max(1.0), 0.3);
    // From memory: blade fuses to ISO 8820 carry 110 % permanently and open at 135 % within minutes.
    Ok(Arc::new(Fuse { link: link.never_switched(keys, resistance)?, blows: rating * 1.35 }))
}

impl PartKind for Fuse {
    fn ends(&self) -> Vec<(&'static str, Node)> {
        self.link.named_ends()
    }
    fn build(&self, altered: &Altered, network: &mut NetworkBuilder) {
        let (a, b) = (network.at(self.link.from), network.at(self.link.to));
        let siemens = 1.0 / self.link.ohms(altered, network);
        network.element(Element::Fuse { a, b, siemens, blows: self.blows });
    }
    fn faults(&self) -> PartFaults {
        self.link.faults()
    }
    fn in_line(&self) -> Option<(Node, Node)> {
        Some(self.link.ends())
    }
    fn connection(&self) -> Option<(Node, Node)> {
        Some(self.link.ends())
    }
    fn has_socket(&self) -> bool {
        true
    }
}
