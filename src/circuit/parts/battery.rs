//! A battery: a voltage in series with a resistance. Either may follow from its state of charge.

use super::keys::{PartKeys, PartRead, Reader};
use super::part::{PartFaults, PartKind};
use crate::circuit::curve::interpolate;
use crate::circuit::decode::Kind;
use crate::circuit::effect::Altered;
use crate::circuit::error::{Flaw, Problem};
use crate::circuit::nodes::Node;
use crate::circuit::sample::Spread;
use crate::circuit::solving::element::Element;
use crate::circuit::solving::network_builder::NetworkBuilder;
use std::sync::Arc;

pub const READER: Reader = Reader { words: &["battery"], ends: &["positive", "negative"], read };

#[derive(Debug)]
struct Battery {
    positive: Node,
    negative: Node,
    volts: Volts,
    /// Source resistance, in ohms; with a state of charge, that of the full battery.
    resistance: Spread,
    /// Its full charge, in coulombs; `None` if it does not run down.
    capacity: Option<f64>,
    /// What it has above its volts at rest right after the drive, in volts.
    surface: f64,
}

/// What its open-circuit voltage comes from.
#[derive(Clone, Copy, Debug)]
enum Volts {
    /// Itself, in volts.
    Open(Spread),
    /// The state of charge, a share of full, of so many batteries of 12 V in series.
    Charge(Spread, f64),
}

/// Volts at rest of a 12 V lead-acid battery at 25 °C by its state of charge: US Army TM 5-3805-262-20, p. 5-142.
const REST_VOLTS: [(f64, f64); 5] = [(0.0, 11.7), (0.25, 12.0), (0.5, 12.2), (0.75, 12.4), (1.0, 12.6)];

/// Source resistance against that of the full battery by its state of charge. Common practice, no source: it changes little in
/// the upper half and several times towards empty, as the acid thins out.
const REST_OHMS: [(f64, f64); 6] = [(0.0, 5.0), (0.1, 3.0), (0.25, 1.8), (0.5, 1.3), (0.75, 1.1), (1.0, 1.0)];

fn read(keys: &mut PartKeys) -> PartRead {
    Ok(Arc::new(Battery {
        positive: keys.end("positive")?,
        negative: keys.end("negative")?,
        volts: volts(keys)?,
        resistance: keys.section.spread_or("resistance", Kind::RESISTANCE, 0.01, 0.2)?,
        capacity: only_with_charge(keys, "capacity", Kind::CAPACITY)?,
        surface: only_with_charge(keys, "surface", Kind::POSITIVE_VOLTAGE)?.unwrap_or(0.0),
    }))
}

/// A key that has a meaning only where the state of charge is given.
fn only_with_charge(keys: &PartKeys, key: &'static str, kind: Kind) -> Result<Option<f64>, Flaw> {
    let value = keys.section.quantity(key, kind)?;
    match value {
        Some(_) if keys.section.item("charge").is_none() => Err(keys.section.not_a(key, "a key without `charge`")),
        value => Ok(value),
    }
}

fn volts(keys: &PartKeys) -> Result<Volts, Flaw> {
    let section = keys.section;
    let nominal = section.quantity("nominal", Kind::POSITIVE_VOLTAGE)?;
    let Some(charge) = section.spread("charge", Kind::SHARE, 0.05)? else {
        return match nominal {
            None => section.spread_needed("volts", Kind::VOLTAGE, 0.01).map(Volts::Open),
            Some(_) => Err(section.not_a("nominal", "a key beside `volts`: it says of how many volts `charge` is")),
        };
    };
    if section.item("volts").is_some() {
        return Err(Flaw::new(Problem::BothSay { key: "volts", other: "charge" }).at(section.span()));
    }
    let batteries = nominal.unwrap_or(12.0) / 12.0;
    if ![0.5, 1.0, 2.0, 3.0, 4.0].contains(&batteries) {
        return Err(section.not_a("nominal", "6, 12, 24, 36 or 48 V"));
    }
    Ok(Volts::Charge(Spread { high: charge.high.min(1.0), ..charge }, batteries))
}

impl PartKind for Battery {
    fn ends(&self) -> Vec<(&'static str, Node)> {
        vec![("positive", self.positive), ("negative", self.negative)]
    }
    fn build(&self, altered: &Altered, network: &mut NetworkBuilder) {
        if network.battery_is_off() && !network.has_clamp() {
            return;
        }
        let (plus, minus) = (network.at(self.positive), network.at(self.negative));
        let ohms = network.drawn(self.resistance);
        let (volts, ohms) = match self.volts {
            Volts::Open(volts) => (network.voltage(volts, altered), ohms),
            Volts::Charge(charge, batteries) => {
                let cell = network.cell();
                let charge = (network.voltage(charge, altered).min(1.0) - cell.taken).max(0.0);
                let volts = batteries * interpolate(&REST_VOLTS, charge) + self.surface * cell.surface;
                (volts, ohms * interpolate(&REST_OHMS, charge))
            }
        };
        network.element(Element::Source { plus, minus, siemens: 1.0 / (ohms + altered.added), volts });
    }
    fn faults(&self) -> PartFaults {
        let value = match self.volts {
            Volts::Open(volts) => PartFaults::of_value("the voltage", volts, Kind::POSITIVE_VOLTAGE),
            Volts::Charge(charge, _) => PartFaults::of_value("the state of charge", charge, Kind::SHARE),
        };
        PartFaults { added: Some(("the source resistance", self.resistance)), ..value }
    }
    fn capacity(&self) -> Option<f64> {
        // A surface voltage comes to rest in a battery of any size.
        self.capacity.or_else(|| (self.surface > 0.0).then_some(f64::INFINITY))
    }
    fn posts(&self) -> Option<(Node, Node)> {
        Some((self.positive, self.negative))
    }
}
