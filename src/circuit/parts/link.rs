//! A resistance between two ends: what wires, contacts, switches and the like have in common.

use super::keys::PartKeys;
use super::part::PartFaults;
use crate::circuit::decode::Kind;
use crate::circuit::effect::Altered;
use crate::circuit::error::Flaw;
use crate::circuit::movement::Condition;
use crate::circuit::nodes::Node;
use crate::circuit::sample::Spread;
use crate::circuit::solving::network_builder::NetworkBuilder;

/// Keys of its ends.
pub const ENDS: &[&str] = &["from", "to"];

/// A resistance between two ends.
#[derive(Debug)]
pub struct Link {
    /// One end.
    pub from: Node,
    /// The other end.
    pub to: Node,
    /// In ohms.
    pub resistance: Spread,
}

impl Link {
    pub fn named_ends(&self) -> Vec<(&'static str, Node)> {
        vec![("from", self.from), ("to", self.to)]
    }

    pub fn ends(&self) -> (Node, Node) {
        (self.from, self.to)
    }

    /// Its resistance with what faults have added, in ohms.
    pub fn ohms(&self, altered: &Altered, network: &NetworkBuilder) -> f64 {
        network.value(self.resistance, altered) + altered.added
    }

    /// Puts it into the network.
    pub fn build(&self, altered: &Altered, network: &mut NetworkBuilder) {
        let ohms = self.ohms(altered, network);
        network.resistance(self.from, self.to, ohms);
    }

    pub fn faults(&self) -> PartFaults {
        PartFaults::of_value("the resistance", self.resistance, Kind::RESISTANCE).in_line()
    }
}

/// The keys of a link before its kind has looked at them.
pub struct LinkKeys {
    from: Node,
    to: Node,
    /// Resistance, if it is given.
    pub given: Option<Spread>,
    /// When it conducts, if that is given.
    pub closed_when: Option<Condition>,
}

impl LinkKeys {
    /// Reads them. A bare resistance has the tolerance `usual`, a fraction.
    pub fn read(keys: &PartKeys, usual: f64) -> Result<Self, Flaw> {
        Ok(Self {
            from: keys.end("from")?,
            to: keys.end("to")?,
            given: keys.section.spread("resistance", Kind::RESISTANCE, usual)?,
            closed_when: keys.condition("closed_when")?,
        })
    }

    /// The given resistance, else this one in ohms with its tolerance, a fraction.
    pub fn given_or(&self, keys: &PartKeys, ohms: f64, tolerance: f64) -> Spread {
        let usual = || keys.section.spread_of(ohms, ohms * (1.0 - tolerance), ohms * (1.0 + tolerance));
        self.given.unwrap_or_else(usual)
    }

    /// The link with this resistance.
    pub fn with(&self, resistance: Spread) -> Link {
        Link { from: self.from, to: self.to, resistance }
    }

    /// The same of a kind that nothing switches.
    pub fn never_switched(&self, keys: &PartKeys, resistance: Spread) -> Result<Link, Flaw> {
        match self.closed_when {
            None => Ok(self.with(resistance)),
            Some(_) => Err(keys.section.not_a("closed_when", "a key of this kind of part")),
        }
    }
}
