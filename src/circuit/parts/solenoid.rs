//! A starter's solenoid: a pull-in and a hold-in winding on one plunger, whose contact feeds the motor.

use super::keys::{PartKeys, PartRead, Reader};
use super::part::{PartFaults, PartKind, STUCK_CONTACTS};
use crate::circuit::decode::Kind;
use crate::circuit::effect::Altered;
use crate::circuit::nodes::Node;
use crate::circuit::sample::Spread;
use crate::circuit::solving::element::{Element, Pull};
use crate::circuit::solving::network_builder::NetworkBuilder;
use std::sync::Arc;

pub const READER: Reader = Reader { words: &["solenoid"], ends: &["control", "supply", "motor", "ground"], read };

#[derive(Debug)]
struct Solenoid {
    /// Where both windings begin: terminal S or 50.
    control: Node,
    /// Where the contact is fed: terminal B or 30.
    supply: Node,
    /// Where the contact and the pull-in winding end: the motor's terminal.
    motor: Node,
    /// Where the hold-in winding ends: the case.
    ground: Node,
    /// Resistance of the pull-in winding, in ohms.
    pull_in: Spread,
    /// Resistance of the hold-in winding, in ohms.
    hold_in: Spread,
    /// Turns of the pull-in winding for each one of the hold-in winding.
    turns: f64,
    /// Contact resistance, in ohms.
    contact: Spread,
    /// Volts at the control terminal at which it pulls in while the motor's terminal is at ground.
    pulls_in: f64,
    /// Volts at the control terminal below which it lets go while its contact is closed: the hold-in winding alone.
    drops_out: f64,
}

fn read(keys: &mut PartKeys) -> PartRead {
    let section = keys.section;
    let pulls_in = section.needed("pulls_in", Kind::POSITIVE_VOLTAGE)?;
    let drops_out = section.quantity("drops_out", Kind::POSITIVE_VOLTAGE)?.unwrap_or(pulls_in * 0.3);
    let solenoid = Solenoid {
        control: keys.end("control")?,
        supply: keys.end("supply")?,
        motor: keys.end("motor")?,
        ground: keys.end("ground")?,
        pull_in: section.spread_needed("pull_in", Kind::RESISTANCE, 0.1)?,
        hold_in: section.spread_needed("hold_in", Kind::RESISTANCE, 0.1)?,
        turns: section.number("turns")?.unwrap_or(1.0),
        contact: section.spread_or("contact", Kind::RESISTANCE, 0.0003, 0.5)?,
        pulls_in,
        drops_out,
    };
    if !(0.1..=10.0).contains(&solenoid.turns) {
        return Err(
            section.not_a("turns", "a number from 0.1 to 10: turns of the pull-in winding for one of the hold-in")
        );
    }
    // As much as one volt at the control terminal makes, each way.
    let (hold, both) = solenoid.of_one_volt(solenoid.pull_in.nominal, solenoid.hold_in.nominal);
    if drops_out * hold >= pulls_in * both {
        return Err(section
            .not_a("drops_out", "a voltage at which the hold-in winding alone is weaker than both at `pulls_in`"));
    }
    Ok(Arc::new(solenoid))
}

impl Solenoid {
    /// Ampere-turns of one volt, by turns of the hold-in winding: of that one alone, and of both.
    fn of_one_volt(&self, pull_in: f64, hold_in: f64) -> (f64, f64) {
        (1.0 / hold_in, 1.0 / hold_in + self.turns / pull_in)
    }
}

impl PartKind for Solenoid {
    fn ends(&self) -> Vec<(&'static str, Node)> {
        vec![("control", self.control), ("supply", self.supply), ("motor", self.motor), ("ground", self.ground)]
    }
    fn apart(&self) -> &'static [(usize, usize)] {
        &[(0, 2), (0, 3), (1, 2)]
    }
    fn build(&self, altered: &Altered, network: &mut NetworkBuilder) {
        let (pull_in, hold_in) = (network.drawn(self.pull_in), network.value(self.hold_in, altered));
        let mut windings = [(0, 0, 0.0); 2];
        for (place, (name, to, ohms, turns)) in
            [("pull_in", self.motor, pull_in, self.turns), ("hold_in", self.ground, hold_in, 1.0)]
                .into_iter()
                .enumerate()
        {
            if !altered.is_open(name) {
                network.resistance(self.control, to, ohms);
                windings[place] = (network.at(self.control), network.at(to), turns / ohms);
            }
        }
        if altered.is_open("contacts") {
            return;
        }
        let ohms = network.drawn(self.contact) + altered.added;
        match altered.held() {
            Some(true) => network.resistance(self.supply, self.motor, ohms),
            Some(false) => {}
            None => {
                // The spring is as it was designed, whatever the windings are now.
                let (hold, both) = self.of_one_volt(self.pull_in.nominal, self.hold_in.nominal);
                network.element(Element::Contact {
                    coil: Pull { windings },
                    pulls_in: self.pulls_in * both,
                    drops_out: self.drops_out * hold,
                    a: network.at(self.supply),
                    b: network.at(self.motor),
                    siemens: 1.0 / ohms,
                    when_pulled: true,
                });
            }
        }
    }
    fn faults(&self) -> PartFaults {
        PartFaults {
            branches: &["pull_in", "hold_in", "contacts"],
            added: Some(("the contact's resistance", self.contact)),
            stuck: STUCK_CONTACTS,
            ..PartFaults::of_value("the hold-in winding's resistance", self.hold_in, Kind::RESISTANCE)
        }
    }
}
