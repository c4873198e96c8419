//! An alternator: a regulated voltage from the engine, with a current limit that falls with each phase or diode that is lost.

use super::keys::{PartKeys, PartRead, Reader};
use super::part::{PartFaults, PartKind};
use crate::circuit::decode::Kind;
use crate::circuit::effect::Altered;
use crate::circuit::element::Element;
use crate::circuit::movement::Condition;
use crate::circuit::network_builder::NetworkBuilder;
use crate::circuit::nodes::Node;
use crate::circuit::sample::Spread;
use std::sync::Arc;

pub const READER: Reader = Reader { words: &["alternator"], ends: &["output", "ground"], read };

/// Shares of the limit that are left without one diode and without one phase. Common practice, no source; the phase from the
/// middle of what is told, a half to two thirds.
const LEFT: (f64, f64) = (0.8, 0.6);

#[derive(Debug)]
struct Alternator {
    output: Node,
    ground: Node,
    /// Set voltage, in volts.
    volts: Spread,
    /// Output resistance, in ohms.
    resistance: Spread,
    /// Highest current, in amperes; more is not given, into a dead short either.
    limit: Spread,
    /// Share of the limit that is left without one diode.
    diode_lost: f64,
    /// Share of the limit that is left without one phase.
    phase_lost: f64,
    works_when: Option<Condition>,
}

fn read(keys: &mut PartKeys) -> PartRead {
    let section = keys.section;
    Ok(Arc::new(Alternator {
        output: keys.end("output")?,
        ground: keys.end("ground")?,
        volts: section.spread_needed("volts", Kind::POSITIVE_VOLTAGE, 0.01)?,
        resistance: section.spread_or("resistance", Kind::RESISTANCE, 0.1, 0.2)?,
        limit: section.spread_needed("limit", Kind::CURRENT, 0.1)?,
        diode_lost: section.quantity("diode_lost", Kind::SHARE)?.unwrap_or(LEFT.0),
        phase_lost: section.quantity("phase_lost", Kind::SHARE)?.unwrap_or(LEFT.1),
        works_when: keys.condition("works_when")?,
    }))
}

impl PartKind for Alternator {
    fn ends(&self) -> Vec<(&'static str, Node)> {
        vec![("output", self.output), ("ground", self.ground)]
    }
    fn build(&self, altered: &Altered, network: &mut NetworkBuilder) {
        if !network.holds(self.works_when.as_ref()) {
            return;
        }
        let mut limit = network.drawn(self.limit);
        for (branch, left) in [("diode", self.diode_lost), ("phase", self.phase_lost)] {
            limit *= if altered.is_open(branch) { left } else { 1.0 };
        }
        network.element(Element::Regulator {
            input: None,
            output: network.at(self.output),
            ground: network.at(self.ground),
            volts: network.value(self.volts, altered),
            siemens: 1.0 / (network.drawn(self.resistance) + altered.added),
            limit,
            dropout: 0.0,
        });
    }
    fn faults(&self) -> PartFaults {
        PartFaults {
            branches: &["diode", "phase"],
            added: Some(("the source resistance", self.resistance)),
            ..PartFaults::of_value("the voltage", self.volts, Kind::POSITIVE_VOLTAGE)
        }
    }
}
