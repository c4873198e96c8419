//! An alternator: a regulated voltage from the engine, with a current limit that falls with each phase or diode that is lost.

use super::keys::{PartKeys, PartRead, Reader};
use super::part::{PartFaults, PartKind};
use crate::circuit::decode::Kind;
use crate::circuit::effect::Altered;
use crate::circuit::movement::Condition;
use crate::circuit::nodes::Node;
use crate::circuit::sample::Spread;
use crate::circuit::solving::alternating::Alternating;
use crate::circuit::solving::element::Element;
use crate::circuit::solving::network_builder::NetworkBuilder;
use std::sync::Arc;

pub const READER: Reader = Reader { words: &["alternator"], ends: &["output", "ground"], read };

/// Shares of the limit that are left without one diode and without one phase. Common practice, no source; the phase from the
/// middle of what is told, a half to two thirds.
const LEFT: (f64, f64) = (0.8, 0.6);

/// Ripple, whole and with a diode or a phase lost, in volts RMS. Common practice, no source: a tenth of a volt across the battery
/// is good, half a volt is bad.
const RIPPLE: (f64, f64) = (0.05, 0.5);

/// Frequency of the ripple while it is whole, in hertz: six pulses from each of six pairs of poles, at 2000 rpm (from memory).
const RIPPLE_FREQUENCY: f64 = 1200.0;

/// Ohms in series with the ripple: few, so that the load hardly changes it.
const RIPPLE_OHMS: f64 = 0.001;

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
    /// Ripple at its terminals, whole and with something lost, in volts RMS.
    ripple: (f64, f64),
    /// Frequency of the ripple while it is whole, in hertz.
    ripple_frequency: f64,
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
        ripple: (
            section.quantity("ripple", Kind::POSITIVE_VOLTAGE)?.unwrap_or(RIPPLE.0),
            section.quantity("ripple_lost", Kind::POSITIVE_VOLTAGE)?.unwrap_or(RIPPLE.1),
        ),
        ripple_frequency: section.quantity("ripple_frequency", Kind::FREQUENCY)?.unwrap_or(RIPPLE_FREQUENCY),
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
        let (output, ground) = (network.at(self.output), network.at(self.ground));
        network.element(Element::Regulator {
            input: None,
            output,
            ground,
            volts: network.value(self.volts, altered),
            siemens: 1.0 / (network.drawn(self.resistance) + altered.added),
            limit,
            dropout: 0.0,
        });
        // Its regulator is slower than its ripple. Without a phase two pulses of a period are left, without a diode one is missing.
        network.alternating(|element| Alternating::Slow { element, siemens: Some(0.0) });
        let (volts, hertz) = match (altered.is_open("diode"), altered.is_open("phase")) {
            (false, false) => (self.ripple.0, self.ripple_frequency),
            (false, true) => (self.ripple.1, self.ripple_frequency / 3.0),
            (true, _) => (self.ripple.1, self.ripple_frequency / 6.0),
        };
        let siemens = 1.0 / RIPPLE_OHMS;
        network.alternating(|_| Alternating::Ripple { plus: output, minus: ground, siemens, volts, hertz });
    }
    fn faults(&self) -> PartFaults {
        PartFaults {
            branches: &["diode", "phase"],
            added: Some(("the source resistance", self.resistance)),
            ..PartFaults::of_value("the voltage", self.volts, Kind::POSITIVE_VOLTAGE)
        }
    }
}
