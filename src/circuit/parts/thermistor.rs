//! A resistance that falls as it gets warmer.

use super::keys::{PartKeys, PartRead, Reader};
use super::link::ENDS;
use super::part::{PartFaults, PartKind};
use crate::circuit::decode::Kind;
use crate::circuit::effect::Altered;
use crate::circuit::error::Flaw;
use crate::circuit::movement::ends;
use crate::circuit::nodes::Node;
use crate::circuit::sample::Spread;
use crate::circuit::solving::network_builder::NetworkBuilder;
use std::sync::Arc;

pub const READER: Reader = Reader { words: &["thermistor"], ends: ENDS, read };

/// Kelvin at zero degrees Celsius.
const ZERO_CELSIUS: f64 = 273.15;

#[derive(Debug)]
struct Thermistor {
    from: Node,
    to: Node,
    /// Resistance at 25 °C, in ohms.
    at_25: Spread,
    /// Beta constant, in kelvin.
    beta: f64,
    /// The movement that is its temperature, by number.
    temperature: usize,
}

fn read(keys: &mut PartKeys) -> PartRead {
    let section = keys.section;
    Ok(Arc::new(Thermistor {
        from: keys.end("from")?,
        to: keys.end("to")?,
        at_25: section.spread_needed("at_25", Kind::RESISTANCE, 0.03)?,
        beta: section
            .number("beta")?
            .filter(|beta| (500.0..=10_000.0).contains(beta))
            .ok_or_else(|| section.not_a("beta", "a number of kelvin between 500 and 10000"))?,
        temperature: temperature(keys)?,
    }))
}

fn temperature(keys: &PartKeys) -> Result<usize, Flaw> {
    let index = keys.movement("temperature")?;
    match ends(&keys.movements[index]) {
        Some((from, to, kind)) if kind.dimension == Kind::TEMPERATURE.dimension && from >= -60.0 && to <= 250.0 => {
            Ok(index)
        }
        _ => Err(keys.section.not_a("temperature", "a movement between two temperatures, -60 to 250 °C")),
    }
}

impl PartKind for Thermistor {
    fn ends(&self) -> Vec<(&'static str, Node)> {
        vec![("from", self.from), ("to", self.to)]
    }
    fn build(&self, altered: &Altered, network: &mut NetworkBuilder) {
        let kelvin = network.travel(self.temperature, altered) + ZERO_CELSIUS;
        let share = (self.beta * (1.0 / kelvin - 1.0 / (ZERO_CELSIUS + 25.0))).exp();
        let ohms = network.value(self.at_25, altered) * share;
        network.resistance(self.from, self.to, ohms);
    }
    fn faults(&self) -> PartFaults {
        PartFaults {
            movement: Some(self.temperature),
            ..PartFaults::of_value("the resistance at 25 °C", self.at_25, Kind::RESISTANCE)
        }
    }
}
