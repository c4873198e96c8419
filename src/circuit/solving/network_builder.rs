//! A network while the parts put their elements into it.

use super::alternating::Alternating;
use super::clock::{Cell, Clock, Moment};
use super::element::{Drive, Element, segments_through};
use super::network::{Network, Owner};
use crate::circuit::effect::{Altered, Stuck};
use crate::circuit::movement::{Condition, Resolved};
use crate::circuit::nodes::Node;
use crate::circuit::sample::{Sample, Spread};
use crate::model::vehicle::Battery;

/// Builds a network from parts, in one state of the vehicle. Resistances in ohms, voltages in volts.
pub struct NetworkBuilder<'a> {
    network: Network,
    /// Where the elements that come next belong.
    owner: Owner,
    state: &'a Resolved,
    sample: Sample,
    /// Shares that stand for the draws, by number of the tolerance.
    chosen: Option<&'a [f64]>,
    /// Whether each connector is apart.
    unplugged: &'a [bool],
    /// Whether a clamp connects the battery, which opens in its place when the cable is off.
    has_clamp: bool,
    /// Whether the data bus is dominant.
    dominant: bool,
    /// The time that was waited; none at the beginning.
    clock: Option<&'a Clock>,
    moment: Moment,
}

/// An output held at a share of the way from its ground to its supply.
pub struct Output {
    /// Supply.
    pub supply: Node,
    /// Ground.
    pub ground: Node,
    /// Output.
    pub output: Node,
    /// Supply below which it is off, in volts.
    pub minimum: f64,
    /// Which way its current goes.
    pub drive: Drive,
}

impl<'a> NetworkBuilder<'a> {
    /// A network of `size` unknown node voltages, with nothing in it.
    pub fn new(size: usize, state: &'a Resolved, sample: Sample, unplugged: &'a [bool]) -> Self {
        let network = Network { size, ..Network::default() };
        Self {
            network,
            owner: Owner::Added,
            state,
            sample,
            chosen: None,
            unplugged,
            has_clamp: false,
            dominant: false,
            clock: None,
            moment: Moment::Now,
        }
    }

    /// The same in a circuit that has a clamp at its battery, or has none.
    pub fn with_clamp(self, has_clamp: bool) -> Self {
        Self { has_clamp, ..self }
    }

    /// The same while the data bus is dominant, or is not.
    pub fn while_dominant(self, dominant: bool) -> Self {
        Self { dominant, ..self }
    }

    /// The same with chosen shares of the tolerances instead of drawn ones.
    pub fn choosing(self, chosen: Option<&'a [f64]>) -> Self {
        Self { chosen, ..self }
    }

    /// Says what time it is.
    pub(in crate::circuit) fn at_time(&mut self, clock: &'a Clock, moment: Moment) {
        (self.clock, self.moment) = (Some(clock), moment);
    }

    fn seconds(&self) -> f64 {
        self.clock.map_or(0.0, |clock| clock.seconds)
    }

    /// The clock's values of the part that is built.
    fn of_part<T: Copy>(&self, has: impl Fn(&Clock, usize) -> Option<T>) -> Option<T> {
        match self.owner {
            Owner::Part(part) => self.clock.and_then(|clock| has(clock, part)),
            Owner::Added => None,
        }
    }

    /// Whether something is there now that comes for `on` seconds and is gone for `off`; when it began, it was `at` seconds in it.
    pub fn is_there(&self, at: f64, on: f64, off: f64) -> bool {
        match self.moment {
            Moment::Now => (self.seconds() + at).rem_euclid(on + off) < on,
            Moment::There => true,
            Moment::Gone => false,
        }
    }

    /// Seconds since the part that is built was last kept awake.
    pub fn seconds_since_awake(&self) -> f64 {
        self.seconds() - self.of_part(|clock, part| clock.awake.get(&part).copied()).unwrap_or(0.0)
    }

    /// The present state of the battery that is built.
    pub(in crate::circuit) fn cell(&self) -> Cell {
        self.of_part(|clock, part| clock.batteries.get(&part).copied()).unwrap_or(Cell::CHARGED)
    }

    /// Says where the elements that come next belong.
    pub fn belongs_to(&mut self, owner: Owner) {
        self.owner = owner;
    }

    /// What has been built.
    pub fn built(self) -> Network {
        self.network
    }

    /// The unknown that belongs to a node: zero volts is the last.
    pub fn at(&self, node: Node) -> usize {
        node.checked_sub(1).unwrap_or(self.network.size)
    }

    /// Puts in an element, of which the nodes are unknowns as from [`Self::at`].
    pub fn element(&mut self, element: Element) {
        self.network.push(self.owner, element);
    }

    /// Says what the element that was put in last is to alternating current. Given is its number.
    pub fn alternating(&mut self, of_element: impl FnOnce(usize) -> Alternating) {
        let alternating = of_element(self.network.elements.len() - 1);
        self.network.alternating.push(alternating);
    }

    /// Puts in a resistance.
    pub fn resistance(&mut self, from: Node, to: Node, ohms: f64) {
        let (a, b) = (self.at(from), self.at(to));
        self.element(Element::Conductance { a, b, siemens: 1.0 / ohms });
    }

    /// Puts in a curve through points of volts and amperes in rising order.
    pub fn curve(&mut self, from: Node, to: Node, points: &[(f64, f64)]) {
        let first = self.network.segments.len();
        segments_through(points, &mut self.network.segments);
        let count = self.network.segments.len() - first;
        let (a, b) = (self.at(from), self.at(to));
        self.element(Element::Curve { a, b, first, count });
    }

    /// Puts in an output held at `share` of its supply, through a resistance.
    pub fn output(&mut self, output: &Output, share: f64, ohms: f64) {
        let (supply, ground, at) = (self.at(output.supply), self.at(output.ground), self.at(output.output));
        let (siemens, minimum, drive) = (1.0 / ohms, output.minimum, output.drive);
        self.element(Element::Share { supply, ground, output: at, share, siemens, minimum, drive });
    }

    /// The value that this vehicle has.
    pub fn drawn(&self, spread: Spread) -> f64 {
        match self.chosen.and_then(|shares| shares.get(spread.index as usize)) {
            Some(share) if spread.low != spread.high => spread.at(*share),
            _ => self.sample.draw(spread),
        }
    }

    /// A value that may have been set or have drifted. It stays above zero: nothing drifts into a negative resistance.
    pub fn value(&self, spread: Spread, altered: &Altered) -> f64 {
        self.voltage(spread, altered).max(1e-6)
    }

    /// The voltage of a source that may have been set or have drifted; it may be negative.
    pub fn voltage(&self, spread: Spread, altered: &Altered) -> f64 {
        altered.drifted(altered.set.unwrap_or_else(|| self.drawn(spread)))
    }

    /// Whether a condition holds; with none it always does.
    pub fn holds(&self, condition: Option<&Condition>) -> bool {
        condition.is_none_or(|condition| condition.holds(self.state))
    }

    /// Whether a connector, by number, is apart.
    pub fn is_unplugged(&self, connector: usize) -> bool {
        self.unplugged[connector]
    }

    /// Whether the battery's negative cable is off.
    pub fn battery_is_off(&self) -> bool {
        self.state.battery == Battery::Disconnected
    }

    /// Whether a clamp connects the battery, which opens in its place when the cable is off.
    pub fn has_clamp(&self) -> bool {
        self.has_clamp
    }

    /// Whether the data bus is dominant.
    pub fn is_dominant(&self) -> bool {
        self.dominant
    }

    /// How far a part has moved, in SI units; of a choice its number.
    pub fn travel(&self, movement: usize, altered: &Altered) -> f64 {
        match altered.stuck {
            Some(Stuck::At(at)) => at,
            _ => self.state.travel(movement),
        }
    }

    /// The share that belongs to a position: straight between the ends of the travel, then drifted.
    pub fn share_at(&self, movement: usize, travel: f64, ends: (Spread, Spread), altered: &Altered) -> f64 {
        let (from, to) = self.state.ends[movement];
        let (start, end) = (self.drawn(ends.0), self.drawn(ends.1));
        altered.drifted(start + (end - start) * (travel - from) / (to - from))
    }
}
