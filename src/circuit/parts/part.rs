//! What a part is to the rest of the circuit. Each kind is a file beside this one.

use crate::circuit::decode::Kind;
use crate::circuit::effect::{Altered, Stuck};
use crate::circuit::gauge::Gauge;
use crate::circuit::movement::Condition;
use crate::circuit::nodes::Node;
use crate::circuit::sample::Spread;
use crate::circuit::solving::network_builder::NetworkBuilder;
use std::fmt::Debug;
use std::ops::Range;
use std::sync::Arc;

/// One part of a circuit.
#[derive(Clone, Debug)]
pub struct Part {
    /// Its name; of a connector's contact the name of its harness-side point, `C41.3`.
    pub id: String,
    /// What it is called in the file: `wire`, `fuse` …
    pub word: &'static str,
    /// What it does.
    pub kind: Arc<dyn PartKind>,
    /// Color, if it is a wire.
    pub color: Option<String>,
    /// Size, if it is a wire.
    pub gauge: Option<Gauge>,
    pub(in crate::circuit) span: Range<usize>,
}

/// What a kind of part does. Most kinds leave everything after `faults` as it is: it says what the part is to the meter, to
/// the names and to the file.
pub trait PartKind: Debug + Send + Sync {
    /// Every node at which the part ends, with the key that names it in the file.
    fn ends(&self) -> Vec<(&'static str, Node)>;

    /// Puts its elements into the network, as faults have altered it.
    fn build(&self, altered: &Altered, network: &mut NetworkBuilder);

    /// The faults that it can have.
    fn faults(&self) -> PartFaults;

    /// Pairs of ends, by their place in [`Self::ends`], that may not lie on one point.
    fn apart(&self) -> &'static [(usize, usize)] {
        &[(0, 1)]
    }

    /// Its two ends, if an ammeter can be put in line with it.
    fn in_line(&self) -> Option<(Node, Node)> {
        None
    }

    /// Its two ends, if it is there to connect them: a lead on one of them is a lead on the other.
    fn connection(&self) -> Option<(Node, Node)> {
        None
    }

    /// Its two ends and its resistance in ohms, if that is all it is, whatever is switched, unplugged or blown.
    fn fixed_resistance(&self) -> Option<(Node, Node, Spread)> {
        None
    }

    /// The connector, by number, of which it is a contact.
    fn connector(&self) -> Option<usize> {
        None
    }

    /// Whether it can be pulled out of a socket.
    fn has_socket(&self) -> bool {
        false
    }

    /// Positive and negative post, if it is a battery.
    fn posts(&self) -> Option<(Node, Node)> {
        None
    }

    /// Whether a point where it ends has its color and its gauge.
    fn colors_its_ends(&self) -> bool {
        false
    }

    /// Whether it opens when the battery's negative cable is taken off.
    fn is_battery_clamp(&self) -> bool {
        false
    }

    /// Whether it drives a data bus, which is dominant for a part of the time.
    fn drives_bus(&self) -> bool {
        false
    }

    /// Whether it comes and goes by itself as time passes.
    fn comes_and_goes(&self) -> bool {
        false
    }

    /// The condition that keeps it awake, if it falls asleep some time after that.
    fn awake_while(&self) -> Option<&Condition> {
        None
    }

    /// Its capacity in coulombs, if it is a battery that runs down.
    fn capacity(&self) -> Option<f64> {
        None
    }

    /// How it switches on and off all the time, if it does.
    fn switching(&self) -> Option<Switching> {
        None
    }
}

/// An output that switches on and off all the time.
#[derive(Clone, Copy, Debug)]
pub struct Switching {
    /// Share of the time that it is at its supply.
    pub at_supply: f64,
    /// How often it switches, in hertz; `None` if that is not said.
    pub frequency: Option<f64>,
}

/// Supply below which a module's output or a bus driver is off, in volts.
pub const MODULE_MINIMUM: f64 = 3.0;

/// Ohms of what is shorted inside a part.
pub const SHORTED: f64 = 0.01;

/// A value of a part: what it is in words, and its healthy limits in SI units.
pub type Healthy = (&'static str, Spread);

/// Which faults a part can have, and what it is like without them. Any part can be open as a whole.
pub struct PartFaults {
    /// Names of what can open by itself inside the part.
    pub branches: &'static [&'static str],
    /// Names of what can be shorted inside the part.
    pub shorts: &'static [&'static str],
    /// The resistance to which a fault may add, in ohms.
    pub added: Option<Healthy>,
    /// The value that a fault may replace.
    pub value: Option<Healthy>,
    /// Dimension of that value.
    pub value_kind: Kind,
    /// What drifts together; none of it, if nothing does.
    pub drifts: Vec<Spread>,
    /// Dimension of what drifts.
    pub drift_kind: Kind,
    /// Whether it may drift by an offset and not by a factor alone.
    pub takes_offset: bool,
    /// The words for where it may be stuck. One that moves may be stuck at each of its positions, too.
    pub stuck: &'static [(&'static str, Stuck)],
    /// The movement that moves it, by number.
    pub movement: Option<usize>,
    /// The contact that may wear along its travel, in ohms.
    pub contact: Option<Spread>,
    /// Whether it may be swapped with another one of its kind.
    pub swaps: bool,
}

impl PartFaults {
    /// Those of a part with one value, which may drift and be replaced by another one.
    pub fn of_value(what: &'static str, healthy: Spread, kind: Kind) -> Self {
        Self { value: Some((what, healthy)), drifts: vec![healthy], ..Self::of_kind(kind) }
    }

    /// Those of a part with no value, on a scale of this kind.
    pub fn of_kind(kind: Kind) -> Self {
        Self {
            branches: &[],
            shorts: &[],
            added: None,
            value: None,
            value_kind: kind,
            drifts: vec![],
            drift_kind: kind,
            takes_offset: true,
            stuck: &[],
            movement: None,
            contact: None,
            swaps: false,
        }
    }

    /// The same of a part whose one value is a resistance in line, to which a fault may add.
    pub fn in_line(self) -> Self {
        Self { added: self.value, ..self }
    }
}

/// The words for where contacts or an output may be stuck.
pub const STUCK_CONTACTS: &[(&str, Stuck)] =
    &[("open", Stuck::Open), ("off", Stuck::Open), ("closed", Stuck::Closed), ("on", Stuck::Closed)];
