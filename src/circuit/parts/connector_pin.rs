//! A connector's pin: the contact between its two halves. It comes with the connector and has no `[[part]]` of its own.

use super::link::Link;
use super::part::{PartFaults, PartKind};
use crate::circuit::effect::Altered;
use crate::circuit::nodes::Node;
use crate::circuit::sample::Spread;
use crate::circuit::solving::network_builder::NetworkBuilder;

/// Its name in errors.
pub const WORD: &str = "connector pin";

#[derive(Debug)]
pub struct ConnectorPin {
    link: Link,
    /// By number.
    connector: usize,
}

impl ConnectorPin {
    /// The contact between the harness's side and the component's; the resistance in ohms.
    pub fn new([from, to]: [Node; 2], resistance: Spread, connector: usize) -> Self {
        Self { link: Link { from, to, resistance }, connector }
    }
}

impl PartKind for ConnectorPin {
    fn ends(&self) -> Vec<(&'static str, Node)> {
        self.link.named_ends()
    }
    fn build(&self, altered: &Altered, network: &mut NetworkBuilder) {
        if !network.is_unplugged(self.connector) {
            let ohms = self.link.ohms(altered, network);
            network.resistance(self.link.from, altered.moved_end.unwrap_or(self.link.to), ohms);
        }
    }
    fn faults(&self) -> PartFaults {
        PartFaults { swaps: true, ..self.link.faults() }
    }
    fn in_line(&self) -> Option<(Node, Node)> {
        Some(self.link.ends())
    }
    fn connection(&self) -> Option<(Node, Node)> {
        Some(self.link.ends())
    }
    fn connector(&self) -> Option<usize> {
        Some(self.connector)
    }
}
