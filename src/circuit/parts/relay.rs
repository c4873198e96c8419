//! A relay: a coil that moves contacts, perhaps with a diode or a resistor beside it that takes up the coil's voltage peak.

use super::keys::{PartKeys, PartRead, Reader};
use super::part::{PartFaults, PartKind, SHORTED, STUCK_CONTACTS};
use crate::circuit::decode::Kind;
use crate::circuit::effect::Altered;
use crate::circuit::error::Flaw;
use crate::circuit::nodes::Node;
use crate::circuit::sample::Spread;
use crate::circuit::solving::element::{Element, Pull};
use crate::circuit::solving::network_builder::NetworkBuilder;
use std::sync::Arc;

pub const READER: Reader =
    Reader { words: &["relay"], ends: &["coil_from", "coil_to", "common", "normally_closed", "normally_open"], read };

#[derive(Debug)]
struct Relay {
    /// Ends of the coil.
    coil: (Node, Node),
    /// Coil resistance, in ohms.
    resistance: Spread,
    common: Node,
    /// Contact that closes when the coil pulls in.
    normally_open: Option<Node>,
    /// Contact that opens when the coil pulls in.
    normally_closed: Option<Node>,
    /// Contact resistance, in ohms.
    contact: Spread,
    /// Coil voltage at which it pulls in, in volts.
    pulls_in: f64,
    /// Coil voltage below which it lets go, in volts.
    drops_out: f64,
    suppression: Option<Suppression>,
}

/// What takes up the voltage peak when the coil is switched off.
#[derive(Clone, Copy, Debug)]
enum Suppression {
    /// A diode, its cathode at `coil_from`.
    Diode,
    /// A resistance, in ohms.
    Resistor(Spread),
}

/// Volts from which the suppression diode conducts, and its ohms above that: a silicon diode (common practice, no source).
const DIODE: (f64, f64) = (0.6, 0.1);

fn suppression(keys: &PartKeys) -> Result<Option<Suppression>, Flaw> {
    let section = keys.section;
    match section.item("suppression").and_then(|item| item.get_ref().as_str()) {
        Some("diode") => Ok(Some(Suppression::Diode)),
        _ => Ok(section.spread("suppression", SUPPRESSION, 0.1)?.map(Suppression::Resistor)),
    }
}

const SUPPRESSION: Kind = Kind { expected: "`diode`, or a resistance such as `680 ohm`", ..Kind::RESISTANCE };

fn read(keys: &mut PartKeys) -> PartRead {
    let section = keys.section;
    let (normally_open, normally_closed) = (keys.end_if("normally_open")?, keys.end_if("normally_closed")?);
    if normally_open.is_none() && normally_closed.is_none() {
        return Err(keys.one_end("normally_open"));
    }
    let pulls_in = section.needed("pulls_in", Kind::POSITIVE_VOLTAGE)?;
    let drops_out = section.quantity("drops_out", Kind::POSITIVE_VOLTAGE)?.unwrap_or(pulls_in * 0.3);
    if drops_out >= pulls_in {
        return Err(section.not_a("drops_out", "a voltage below `pulls_in`"));
    }
    Ok(Arc::new(Relay {
        coil: (keys.end("coil_from")?, keys.end("coil_to")?),
        resistance: section.spread_needed("coil", Kind::RESISTANCE, 0.1)?,
        common: keys.end("common")?,
        normally_open,
        normally_closed,
        contact: section.spread_or("contact", Kind::RESISTANCE, 0.01, 0.5)?,
        pulls_in,
        drops_out,
        suppression: suppression(keys)?,
    }))
}

impl PartKind for Relay {
    fn ends(&self) -> Vec<(&'static str, Node)> {
        let mut ends = vec![("coil_from", self.coil.0), ("coil_to", self.coil.1), ("common", self.common)];
        ends.extend(self.normally_open.map(|node| ("normally_open", node)));
        ends.extend(self.normally_closed.map(|node| ("normally_closed", node)));
        ends
    }
    fn build(&self, altered: &Altered, network: &mut NetworkBuilder) {
        let coil_open = altered.is_open("coil");
        if !coil_open {
            let ohms = network.value(self.resistance, altered);
            network.resistance(self.coil.0, self.coil.1, ohms);
        }
        if !altered.is_open("contacts") {
            self.build_contacts(coil_open, altered, network);
        }
        self.build_suppression(altered, network);
    }
    fn faults(&self) -> PartFaults {
        let all = PartFaults {
            branches: &["coil", "contacts"],
            added: Some(("the contacts' resistance", self.contact)),
            stuck: STUCK_CONTACTS,
            ..PartFaults::of_value("the coil's resistance", self.resistance, Kind::RESISTANCE)
        };
        match self.suppression {
            None => all,
            Some(_) => PartFaults { branches: &["coil", "contacts", "suppression"], shorts: &["suppression"], ..all },
        }
    }
    fn has_socket(&self) -> bool {
        true
    }
}

impl Relay {
    fn build_contacts(&self, coil_open: bool, altered: &Altered, network: &mut NetworkBuilder) {
        let ohms = network.drawn(self.contact) + altered.added;
        let held = altered.held().or_else(|| coil_open.then_some(false));
        for (node, when_pulled) in [(self.normally_open, true), (self.normally_closed, false)] {
            let Some(node) = node else { continue };
            match held {
                Some(pulled) if pulled == when_pulled => network.resistance(self.common, node, ohms),
                Some(_) => {}
                None => {
                    let coil = Pull::of_coil((network.at(self.coil.0), network.at(self.coil.1)));
                    let (a, b) = (network.at(self.common), network.at(node));
                    let (pulls_in, drops_out, siemens) = (self.pulls_in, self.drops_out, 1.0 / ohms);
                    network.element(Element::Contact { coil, pulls_in, drops_out, a, b, siemens, when_pulled });
                }
            }
        }
    }

    fn build_suppression(&self, altered: &Altered, network: &mut NetworkBuilder) {
        let Some(suppression) = self.suppression else { return };
        if altered.is_shorted("suppression") {
            return network.resistance(self.coil.0, self.coil.1, SHORTED);
        }
        if altered.is_open("suppression") {
            return;
        }
        match suppression {
            Suppression::Diode => {
                let (forward, ohms) = DIODE;
                network.curve(self.coil.1, self.coil.0, &[(forward - 1.0, 0.0), (forward, 0.0), (forward + ohms, 1.0)]);
            }
            Suppression::Resistor(ohms) => {
                let ohms = network.drawn(ohms);
                network.resistance(self.coil.0, self.coil.1, ohms);
            }
        }
    }
}
