//! The parts that a circuit is made of.

use crate::circuit::gauge::Gauge;
use crate::circuit::movement::Condition;
use crate::circuit::nodes::Node;
use crate::circuit::sample::Spread;
use std::ops::Range;

/// One part of a circuit.
#[derive(Clone, Debug)]
pub struct Part {
    /// Its name; of a connector's contact the name of its harness-side point, `C41.3`.
    pub id: String,
    /// What it is called in the file: `wire`, `fuse` …
    pub word: &'static str,
    /// What it does.
    pub kind: PartKind,
    /// Colour, if it is a wire.
    pub colour: Option<String>,
    /// Size, if it is a wire.
    pub gauge: Option<Gauge>,
    pub(in crate::circuit) span: Range<usize>,
}

/// When a two-ended resistance does not conduct.
#[derive(Clone, Debug)]
pub enum Opens {
    /// It always conducts.
    Never,
    /// While this connector (by number) is apart.
    Unplugged(usize),
    /// While the battery's negative cable is off.
    BatteryOff,
    /// While the condition does not hold.
    Unless(Condition),
    /// Once more than this many amperes have gone through it.
    Blown(f64),
}

/// How a resistance follows what is moved.
#[derive(Clone, Debug)]
pub enum Law {
    /// Negative temperature coefficient: value at 25 °C, and the beta constant in kelvin.
    Thermistor {
        /// Ohms at 25 °C.
        at_25: Spread,
        /// Kelvin.
        beta: f64,
    },
    /// Position and ohms, straight lines between; the draw multiplies all of them.
    Curve {
        /// Position in SI units, ohms.
        points: Vec<(f64, f64)>,
        /// The draw.
        factor: Spread,
    },
    /// Ohms for each choice; the draw multiplies all of them.
    Ladder {
        /// Ohms by the number of the choice.
        steps: Vec<f64>,
        /// The draw.
        factor: Spread,
    },
}

/// What a part does. Resistances in ohms, voltages in volts, currents in amperes.
#[derive(Clone, Debug)]
pub enum PartKind {
    /// Wire, joint, contact, fuse, switch, resistor, coil: a resistance between two nodes.
    Link {
        /// One end.
        from: Node,
        /// The other end.
        to: Node,
        /// Resistance.
        resistance: Spread,
        /// When it does not conduct.
        opens: Opens,
    },
    /// A voltage behind a resistance.
    Battery {
        /// Positive post.
        positive: Node,
        /// Negative post.
        negative: Node,
        /// Open-circuit voltage.
        volts: Spread,
        /// Source resistance.
        resistance: Spread,
    },
    /// A coil that moves contacts.
    Relay {
        /// Coil ends.
        coil: (Node, Node),
        /// Coil resistance.
        resistance: Spread,
        /// Common contact.
        common: Node,
        /// Contact that closes when the coil pulls in.
        normally_open: Option<Node>,
        /// Contact that opens when the coil pulls in.
        normally_closed: Option<Node>,
        /// Contact resistance.
        contact: Spread,
        /// Coil voltage at which it pulls in.
        pulls_in: f64,
        /// Coil voltage below which it lets go.
        drops_out: f64,
    },
    /// A filament: a low resistance cold, a high one hot.
    Lamp {
        /// One end.
        from: Node,
        /// The other end.
        to: Node,
        /// Rated voltage.
        volts: f64,
        /// Current at the rated voltage.
        amperes: Spread,
        /// Resistance cold.
        cold: Spread,
    },
    /// Conducts from `from` to `to` above its forward voltage.
    Diode {
        /// Anode.
        from: Node,
        /// Cathode.
        to: Node,
        /// Voltage from which it conducts.
        forward: Spread,
        /// Resistance above that.
        resistance: f64,
    },
    /// A direct-current motor: its winding alone until the current moves the load, then the load's current.
    Motor {
        /// One end.
        from: Node,
        /// The other end.
        to: Node,
        /// Winding resistance.
        winding: Spread,
        /// Current that its load takes while it turns.
        load: Spread,
        /// Rise of current above that, in siemens.
        slope: f64,
    },
    /// A regulated voltage with a current limit, from an input node or (an alternator) from the engine.
    Regulator {
        /// Where the current is taken from; `None` for an alternator.
        input: Option<Node>,
        /// Output.
        output: Node,
        /// Ground.
        ground: Node,
        /// Set voltage.
        volts: Spread,
        /// Output resistance.
        resistance: Spread,
        /// Highest current; more is not given, into a dead short either.
        limit: Spread,
        /// How much the input has to be above the output.
        dropout: f64,
        /// When it works.
        works: Option<Condition>,
    },
    /// A control module's input: a resistance to its ground, and perhaps one that pulls it up or down.
    ModuleInput {
        /// Pin.
        pin: Node,
        /// Module ground.
        ground: Node,
        /// Input resistance.
        resistance: Spread,
        /// Pulled to where, through what.
        pull: Option<(Node, Spread)>,
    },
    /// A control module's output, as the average of its switching.
    ModuleOutput {
        /// Pin.
        pin: Node,
        /// Supply that it switches from, or that a low-side load is fed from.
        supply: Node,
        /// Module ground.
        ground: Node,
        /// Whether it switches to ground.
        low_side: bool,
        /// Resistance while on.
        resistance: Spread,
        /// When it works.
        works: Option<Condition>,
        /// Share of the time that it is on; 1 is steady.
        duty: f64,
        /// How often it switches, in hertz.
        frequency: Option<f64>,
    },
    /// A track with a wiper.
    Potentiometer {
        /// End from which travel counts.
        low: Node,
        /// Other end.
        high: Node,
        /// Wiper terminal.
        wiper: Node,
        /// Where the wiper touches the track.
        junction: Node,
        /// Track.
        resistance: Spread,
        /// Wiper contact.
        contact: Spread,
        /// What moves it.
        movement: usize,
        /// Share of the track at the start and at the end of the travel.
        ends: (Spread, Spread),
    },
    /// A three-wire sensor: its output is a share of its own supply.
    ActiveSensor {
        /// Supply terminal.
        supply: Node,
        /// Ground terminal.
        ground: Node,
        /// Signal terminal.
        output: Node,
        /// What it draws, as a resistance.
        load: Spread,
        /// Output resistance.
        resistance: Spread,
        /// What moves it.
        movement: usize,
        /// Share of the supply at the start and at the end of the travel.
        ends: (Spread, Spread),
        /// Lowest and highest share that it can put out.
        saturates: (f64, f64),
        /// Supply below which its output is off.
        minimum_supply: f64,
    },
    /// A resistance that follows what is moved.
    Variable {
        /// One end.
        from: Node,
        /// The other end.
        to: Node,
        /// How.
        law: Law,
        /// What moves it.
        movement: usize,
    },
    /// A data bus driver on two wires.
    Transceiver {
        /// Supply.
        supply: Node,
        /// Ground.
        ground: Node,
        /// Bus high.
        high: Node,
        /// Bus low.
        low: Node,
        /// From each wire to half the supply.
        bias: Spread,
        /// Each driver, while dominant.
        driver: Spread,
        /// Whether it is the one that sends.
        sends: Option<Condition>,
    },
}

impl PartKind {
    /// Every node at which the part ends, with the key that names it in the file.
    pub fn ends(&self) -> Vec<(&'static str, Node)> {
        match *self {
            Self::Link { from, to, .. }
            | Self::Lamp { from, to, .. }
            | Self::Diode { from, to, .. }
            | Self::Motor { from, to, .. }
            | Self::Variable { from, to, .. } => vec![("from", from), ("to", to)],
            Self::Battery { positive, negative, .. } => vec![("positive", positive), ("negative", negative)],
            Self::Relay { coil, common, normally_open, normally_closed, .. } => {
                let mut ends = vec![("coil_from", coil.0), ("coil_to", coil.1), ("common", common)];
                ends.extend(normally_open.map(|node| ("normally_open", node)));
                ends.extend(normally_closed.map(|node| ("normally_closed", node)));
                ends
            }
            Self::Regulator { input, output, ground, .. } => {
                let mut ends = vec![("output", output), ("ground", ground)];
                ends.extend(input.map(|node| ("input", node)));
                ends
            }
            Self::ModuleInput { pin, ground, ref pull, .. } => {
                let mut ends = vec![("pin", pin), ("ground", ground)];
                ends.extend(pull.iter().map(|(node, _)| ("pull_to", *node)));
                ends
            }
            Self::ModuleOutput { pin, supply, ground, .. } => {
                vec![("pin", pin), ("supply", supply), ("ground", ground)]
            }
            Self::Potentiometer { low, high, wiper, junction, .. } => {
                vec![("low", low), ("high", high), ("wiper", wiper), ("junction", junction)]
            }
            Self::ActiveSensor { supply, ground, output, .. } => {
                vec![("supply", supply), ("ground", ground), ("output", output)]
            }
            Self::Transceiver { supply, ground, high, low, .. } => {
                vec![("supply", supply), ("ground", ground), ("high", high), ("low", low)]
            }
        }
    }

    /// Names of what can open by itself inside the part; empty if only the whole can.
    pub fn branches(&self) -> &'static [&'static str] {
        match self {
            Self::Relay { .. } => &["coil", "contacts"],
            Self::Potentiometer { .. } => &["track", "wiper"],
            Self::ModuleInput { .. } => &["input", "pull"],
            Self::ActiveSensor { .. } => &["supply", "output"],
            Self::Transceiver { .. } => &["high", "low"],
            _ => &[],
        }
    }

    /// The value that drifts, is set or grows by an added resistance, and its healthy limits.
    pub fn principal(&self) -> Option<(&'static str, Spread)> {
        Some(match self {
            Self::Link { resistance, .. } => ("the resistance", *resistance),
            Self::Battery { volts, .. } | Self::Regulator { volts, .. } => ("the voltage", *volts),
            Self::Relay { resistance, .. } => ("the coil's resistance", *resistance),
            Self::Lamp { amperes, .. } => ("the current", *amperes),
            Self::Diode { forward, .. } => ("the forward voltage", *forward),
            Self::Motor { winding, .. } => ("the winding's resistance", *winding),
            Self::ModuleInput { pull, resistance, .. } => match pull {
                Some((_, spread)) => ("the pull resistance", *spread),
                None => ("the input resistance", *resistance),
            },
            Self::ModuleOutput { resistance, .. } => ("the resistance while on", *resistance),
            Self::Potentiometer { resistance, .. } => ("the track's resistance", *resistance),
            Self::Variable { law, .. } => match law {
                Law::Thermistor { at_25, .. } => ("the resistance at 25 °C", *at_25),
                Law::Curve { factor, .. } | Law::Ladder { factor, .. } => {
                    ("its share of the nominal resistance", *factor)
                }
            },
            Self::ActiveSensor { .. } => return None,
            Self::Transceiver { driver, .. } => ("the driver's resistance", *driver),
        })
    }

    /// The resistance to which a fault may add, and its healthy limits.
    pub fn series(&self) -> Option<(&'static str, Spread)> {
        match self {
            Self::Battery { resistance, .. } | Self::Regulator { resistance, .. } => {
                Some(("the source resistance", *resistance))
            }
            Self::Relay { contact, .. } => Some(("the contacts' resistance", *contact)),
            Self::Potentiometer { contact, .. } => Some(("the wiper's contact", *contact)),
            Self::ActiveSensor { resistance, .. } => Some(("the output resistance", *resistance)),
            Self::Link { .. } | Self::ModuleOutput { .. } | Self::Motor { .. } | Self::Transceiver { .. } => {
                self.principal()
            }
            Self::ModuleInput { .. } | Self::Lamp { .. } | Self::Diode { .. } | Self::Variable { .. } => None,
        }
    }
}
