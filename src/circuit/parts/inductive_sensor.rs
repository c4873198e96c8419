//! A two-wire speed sensor: a coil at a toothed wheel, which makes an alternating voltage while the wheel turns.

use super::keys::{PartKeys, PartRead, Reader};
use super::link::ENDS;
use super::part::{PartFaults, PartKind};
use crate::circuit::decode::Kind;
use crate::circuit::effect::Altered;
use crate::circuit::error::Flaw;
use crate::circuit::movement::ends;
use crate::circuit::nodes::Node;
use crate::circuit::sample::Spread;
use crate::circuit::solving::alternating::Alternating;
use crate::circuit::solving::network_builder::NetworkBuilder;
use crate::model::dimension::Dimension;
use std::f64::consts::TAU;
use std::sync::Arc;

pub const READER: Reader = Reader { words: &["inductive_sensor"], ends: ENDS, read };

#[derive(Debug)]
struct InductiveSensor {
    from: Node,
    to: Node,
    /// The coil's resistance, in ohms.
    resistance: Spread,
    /// The coil's inductance, in henries.
    inductance: f64,
    /// The movement that is the wheel's speed, by number.
    speed: usize,
    /// The highest speed of that movement, in radians per second.
    highest: f64,
    /// Teeth of the wheel.
    teeth: f64,
    /// Volts RMS that it makes at the highest speed and the gap as designed.
    volts: Spread,
    /// Air gap to the wheel, in meters.
    gap: Spread,
}

fn read(keys: &mut PartKeys) -> PartRead {
    let section = keys.section;
    let (speed, highest) = speed(keys)?;
    Ok(Arc::new(InductiveSensor {
        from: keys.end("from")?,
        to: keys.end("to")?,
        resistance: section.spread_needed("resistance", Kind::RESISTANCE, 0.1)?,
        inductance: section.quantity("inductance", Kind::INDUCTANCE)?.unwrap_or(0.5),
        speed,
        highest,
        teeth: section
            .number("teeth")?
            .filter(|teeth| teeth.fract() == 0.0 && (1.0..=1000.0).contains(teeth))
            .ok_or_else(|| section.not_a("teeth", "a whole number from 1 to 1000"))?,
        volts: section.spread_needed("volts", Kind::POSITIVE_VOLTAGE, 0.2)?,
        gap: section.spread_or("gap", Kind::GAP, 1e-3, 0.3)?,
    }))
}

/// The movement that is its speed, and how fast that goes at most.
fn speed(keys: &PartKeys) -> Result<(usize, f64), Flaw> {
    let movement = keys.movement("speed")?;
    match ends(&keys.movements[movement]) {
        Some((from, to, kind)) if kind.dimension == Dimension::ROTATION && from >= 0.0 => Ok((movement, to)),
        _ => Err(keys.section.not_a("speed", "a movement between two speeds, as `0 rpm` and `600 rpm`")),
    }
}

impl PartKind for InductiveSensor {
    fn ends(&self) -> Vec<(&'static str, Node)> {
        vec![("from", self.from), ("to", self.to)]
    }
    fn build(&self, altered: &Altered, network: &mut NetworkBuilder) {
        let ohms = network.drawn(self.resistance) + altered.added;
        network.resistance(self.from, self.to, ohms);
        network.alternating(|element| Alternating::Inductance { element, henries: self.inductance });
        // As the flux changes: in proportion to the speed (the law of induction). Against the gap: common practice, no source.
        let speed = network.travel(self.speed, altered);
        let gap = network.value(self.gap, altered);
        let volts = network.drawn(self.volts) * speed / self.highest * self.gap.nominal / gap;
        let hertz = speed / TAU * self.teeth;
        network.alternating(|element| Alternating::Voltage { element, volts, hertz });
    }
    fn faults(&self) -> PartFaults {
        PartFaults {
            added: Some(("the coil's resistance", self.resistance)),
            ..PartFaults::of_value("the air gap", self.gap, Kind::GAP)
        }
    }
    fn in_line(&self) -> Option<(Node, Node)> {
        Some((self.from, self.to))
    }
}
