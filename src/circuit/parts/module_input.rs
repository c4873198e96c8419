//! A control module's input: a resistance to its ground, and perhaps one that pulls it up or down.

use super::keys::{PartKeys, PartRead, Reader};
use super::part::{PartFaults, PartKind};
use crate::circuit::decode::Kind;
use crate::circuit::effect::Altered;
use crate::circuit::nodes::Node;
use crate::circuit::sample::Spread;
use crate::circuit::solving::network_builder::NetworkBuilder;
use std::sync::Arc;

pub const READER: Reader = Reader { words: &["module_input"], ends: &["pin", "ground", "pull_to"], read };

#[derive(Debug)]
struct ModuleInput {
    pin: Node,
    ground: Node,
    /// Input resistance, in ohms.
    resistance: Spread,
    /// Pulled to where, through how many ohms.
    pull: Option<(Node, Spread)>,
}

fn read(keys: &mut PartKeys) -> PartRead {
    let section = keys.section;
    Ok(Arc::new(ModuleInput {
        pin: keys.end("pin")?,
        ground: keys.end("ground")?,
        resistance: section.spread_or("resistance", Kind::RESISTANCE, 220e3, 0.05)?,
        pull: match (keys.end_if("pull_to")?, section.spread("pull", Kind::RESISTANCE, 0.02)?) {
            (Some(node), Some(spread)) => Some((node, spread)),
            (None, None) => None,
            (Some(_), None) => return Err(section.missing("pull")),
            (None, Some(_)) => return Err(section.missing("pull_to")),
        },
    }))
}

impl PartKind for ModuleInput {
    fn ends(&self) -> Vec<(&'static str, Node)> {
        let mut ends = vec![("pin", self.pin), ("ground", self.ground)];
        ends.extend(self.pull.map(|(node, _)| ("pull_to", node)));
        ends
    }
    fn build(&self, altered: &Altered, network: &mut NetworkBuilder) {
        if let Some((to, spread)) = self.pull.filter(|_| !altered.is_open("pull")) {
            let ohms = network.value(spread, altered);
            network.resistance(self.pin, to, ohms);
        }
        if !altered.is_open("input") {
            // A fault's value is that of the pull, where there is one.
            let ohms = match self.pull {
                Some(_) => network.drawn(self.resistance),
                None => network.value(self.resistance, altered),
            };
            network.resistance(self.pin, self.ground, ohms);
        }
    }
    fn faults(&self) -> PartFaults {
        let (what, healthy) = match self.pull {
            Some((_, pull)) => ("the pull resistance", pull),
            None => ("the input resistance", self.resistance),
        };
        PartFaults { branches: &["input", "pull"], ..PartFaults::of_value(what, healthy, Kind::RESISTANCE) }
    }
}
