//! A control module's output, as the average of its switching.

use super::keys::{PartKeys, PartRead, Reader};
use super::part::{MODULE_MINIMUM, PartFaults, PartKind, STUCK_CONTACTS, Switching};
use crate::circuit::decode::Kind;
use crate::circuit::effect::Altered;
use crate::circuit::movement::Condition;
use crate::circuit::nodes::Node;
use crate::circuit::sample::Spread;
use crate::circuit::solving::element::Drive;
use crate::circuit::solving::network_builder::{NetworkBuilder, Output};
use std::sync::Arc;

pub const READER: Reader = Reader { words: &["module_output"], ends: &["pin", "supply", "ground"], read };

#[derive(Debug)]
struct ModuleOutput {
    pin: Node,
    /// Supply that it switches from, or that a low-side load is fed from.
    supply: Node,
    ground: Node,
    /// Whether it switches to ground.
    low_side: bool,
    /// Resistance while on, in ohms.
    resistance: Spread,
    works_when: Option<Condition>,
    /// Share of the time that it is on; 1 is steady.
    duty: f64,
    /// How often it switches, in hertz.
    frequency: Option<f64>,
}

fn read(keys: &mut PartKeys) -> PartRead {
    let section = keys.section;
    Ok(Arc::new(ModuleOutput {
        pin: keys.end("pin")?,
        supply: keys.end("supply")?,
        ground: keys.end("ground")?,
        low_side: match section.name("side")? {
            "low" => true,
            "high" => false,
            _ => return Err(section.not_a("side", "`low` or `high`")),
        },
        resistance: section.spread_or("resistance", Kind::RESISTANCE, 0.1, 0.3)?,
        works_when: keys.condition("works_when")?,
        duty: section.quantity("duty", Kind::SHARE)?.unwrap_or(1.0),
        frequency: section.quantity("frequency", Kind::FREQUENCY)?,
    }))
}

impl ModuleOutput {
    /// Share of the time at its supply, for a share of the time that it is on.
    fn at_supply(&self, duty: f64) -> f64 {
        if self.low_side { 1.0 - duty } else { duty }
    }
}

impl PartKind for ModuleOutput {
    fn ends(&self) -> Vec<(&'static str, Node)> {
        vec![("pin", self.pin), ("supply", self.supply), ("ground", self.ground)]
    }
    fn build(&self, altered: &Altered, network: &mut NetworkBuilder) {
        let duty = match altered.held() {
            Some(true) => 1.0,
            Some(false) => 0.0,
            None if network.holds(self.works_when.as_ref()) => self.duty,
            None => 0.0,
        };
        if duty > 0.0 {
            let ohms = network.value(self.resistance, altered) + altered.added;
            let (supply, ground, output) = (self.supply, self.ground, self.pin);
            // Between its pulses it is open: it takes nothing at the one end and lifts nothing at the other.
            let drive = match self.low_side {
                _ if duty >= 1.0 => Drive::Both,
                true => Drive::Down,
                false => Drive::Up,
            };
            let output = Output { supply, ground, output, minimum: MODULE_MINIMUM, drive };
            network.output(&output, self.at_supply(duty), ohms);
        }
    }
    fn faults(&self) -> PartFaults {
        PartFaults {
            stuck: STUCK_CONTACTS,
            ..PartFaults::of_value("the resistance while on", self.resistance, Kind::RESISTANCE).in_line()
        }
    }
    fn switching(&self) -> Option<Switching> {
        let switches = self.frequency.is_some() || (self.duty > 0.0 && self.duty < 1.0);
        switches.then(|| Switching { at_supply: self.at_supply(self.duty), frequency: self.frequency })
    }
}
