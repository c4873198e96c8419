//! A filament lamp: a low resistance cold, a high one hot.

use super::keys::{PartKeys, PartRead, Reader};
use super::link::ENDS;
use super::part::{PartFaults, PartKind};
use crate::circuit::decode::Kind;
use crate::circuit::effect::Altered;
use crate::circuit::nodes::Node;
use crate::circuit::sample::Spread;
use crate::circuit::solving::alternating::Alternating;
use crate::circuit::solving::network_builder::NetworkBuilder;
use std::sync::Arc;

pub const READER: Reader = Reader { words: &["lamp"], ends: ENDS, read };

#[derive(Debug)]
struct Lamp {
    from: Node,
    to: Node,
    /// Rated voltage, in volts.
    volts: f64,
    /// Current at the rated voltage, in amperes.
    amperes: Spread,
    /// Resistance cold, in ohms.
    cold: Spread,
}

fn read(keys: &mut PartKeys) -> PartRead {
    let section = keys.section;
    let volts = section.needed("volts", Kind::POSITIVE_VOLTAGE)?;
    let amperes = section.spread_needed("amperes", Kind::CURRENT, 0.08)?;
    // LIEC ch 2 and OpenStax m42714: a headlamp of 4.80 Ω hot has 0.350 Ω cold, about a fourteenth.
    let cold = section.spread_or("cold", Kind::RESISTANCE, volts / amperes.nominal / 13.7, 0.1)?;
    if cold.high >= volts / amperes.high {
        return Err(section.not_a("cold", "a resistance below that of the hot filament"));
    }
    Ok(Arc::new(Lamp { from: keys.end("from")?, to: keys.end("to")?, volts, amperes, cold }))
}

impl PartKind for Lamp {
    fn ends(&self) -> Vec<(&'static str, Node)> {
        vec![("from", self.from), ("to", self.to)]
    }
    fn build(&self, altered: &Altered, network: &mut NetworkBuilder) {
        let amperes = network.value(self.amperes, altered);
        let points = filament(self.volts, amperes, network.drawn(self.cold));
        network.curve(self.from, self.to, &points);
        network.alternating(|element| Alternating::Slow { element, siemens: None });
    }
    fn faults(&self) -> PartFaults {
        PartFaults::of_value("the current", self.amperes, Kind::CURRENT)
    }
}

/// Volts and amperes of a filament lamp: its cold resistance up to where the hot curve takes over, from there a current that
/// rises with the 0.55th power of the voltage (from memory: the usual rule for tungsten).
fn filament(volts: f64, amperes: f64, cold: f64) -> Vec<(f64, f64)> {
    const POWER: f64 = 0.55;
    let hot = volts / amperes;
    let meeting = volts * (cold / hot).powf(1.0 / (1.0 - POWER));
    let mut half = vec![(meeting, meeting / cold)];
    for share in [0.01, 0.02, 0.05, 0.1, 0.2, 0.35, 0.5, 0.75, 1.0, 1.25, 1.6] {
        if share * volts > meeting * 1.05 {
            half.push((share * volts, amperes * f64::powf(share, POWER)));
        }
    }
    half.iter().rev().map(|(v, i)| (-v, -i)).chain(half.iter().copied()).collect()
}
