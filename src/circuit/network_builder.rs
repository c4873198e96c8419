//! Turns a circuit, the vehicle's state, faults and a sample into a network with all its values.

use super::curve::interpolate;
use super::element::{Element, segments_through};
use super::error::SolveError;
use super::fault::{Effect, Stuck};
use super::movement::Resolved;
use super::netlist::Circuit;
use super::network::{Network, Owner};
use super::nodes::Node;
use super::parts::part::{Law, Opens, Part, PartKind};
use super::sample::{Sample, Spread};
use crate::model::dimension::Dimension;
use crate::model::vehicle::{Battery, VehicleState};
use std::collections::BTreeSet;

/// A plain jumper wire with its two clips.
pub(super) const PLAIN_JUMPER: f64 = 0.02;
/// Supply below which a module's output or a bus driver is off, in volts.
const MODULE_MINIMUM: f64 = 3.0;
/// Kelvin at zero degrees Celsius, and at 25.
const ZERO_CELSIUS: f64 = 273.15;

/// What the active faults have made of a part.
#[derive(Clone, Debug, Default)]
struct Altered {
    open: bool,
    open_branches: Vec<&'static str>,
    added: f64,
    gain: Option<f64>,
    offset: f64,
    set: Option<f64>,
    stuck: Option<Stuck>,
    worn: Vec<(f64, f64, f64)>,
    moved_end: Option<Node>,
}

/// A circuit in one state with one set of faults, ready to be solved.
#[derive(Clone, Debug)]
pub(super) struct Prepared {
    /// Shares of the time and the networks that hold meanwhile: one, or dominant and recessive of a data bus.
    pub phases: Vec<(f64, Network)>,
}

/// What a circuit is put into.
pub(super) struct Situation<'a> {
    pub state: &'a VehicleState,
    /// Active faults, by number.
    pub faults: &'a [usize],
    pub sample: Sample,
    /// Fuses that have blown earlier, by number of the part.
    pub blown: &'a BTreeSet<usize>,
}

pub(super) fn prepare(circuit: &Circuit, situation: &Situation) -> Result<Prepared, SolveError> {
    let state = situation.state;
    let resolved = Resolved::new(state, &circuit.start, &circuit.movements)?;
    let mut out = vec![false; circuit.connectors.len()];
    for connector in &state.unplugged {
        out[circuit.connector_number(connector)?] = true;
    }
    let mut removed = situation.blown.clone();
    for part in &state.removed {
        removed.insert(circuit.part_number(part)?);
    }
    let mut altered = vec![Altered::default(); circuit.parts.len()];
    let mut shorts = Vec::new();
    for fault in situation.faults.iter().map(|number| &circuit.faults[*number]) {
        if fault.only_while.as_ref().is_none_or(|condition| condition.holds(&resolved)) {
            for effect in &fault.effects {
                alter(circuit, effect, &mut altered, &mut shorts);
            }
        }
    }
    let clamp = |part: &Part| matches!(part.kind, PartKind::Link { opens: Opens::BatteryOff, .. });
    let mut lowering = NetworkBuilder {
        network: Network { size: circuit.nodes.len() - 1, ..Network::default() },
        resolved: &resolved,
        sample: situation.sample,
        out: &out,
        battery_off: resolved.battery == Battery::Disconnected,
        has_clamp: circuit.parts.iter().any(clamp),
        dominant: false,
    };
    let mut phases = Vec::new();
    let bus = circuit.parts.iter().any(|part| matches!(part.kind, PartKind::Transceiver { .. }));
    let share = if bus { circuit.share } else { 0.0 };
    for (share, dominant) in [(1.0 - share, false), (share, true)] {
        if share == 0.0 {
            continue;
        }
        lowering.network = Network { size: circuit.nodes.len() - 1, ..Network::default() };
        lowering.dominant = dominant;
        for (number, part) in circuit.parts.iter().enumerate() {
            if !removed.contains(&number) && !altered[number].open {
                lowering.part(number, part, &altered[number]);
            }
        }
        for &(from, to, ohms) in &shorts {
            lowering.conductance(Owner::Added, from, to, ohms);
        }
        for jumper in &state.jumpers {
            let (from, to) = (circuit.node(&jumper.from)?, circuit.node(&jumper.to)?);
            let ohms = match jumper.through {
                None => PLAIN_JUMPER,
                Some(through) if through.dimension() == Dimension::RESISTANCE && through.si() >= 0.0 => {
                    through.si().max(PLAIN_JUMPER)
                }
                Some(_) => {
                    return Err(SolveError::BadJumper { from: jumper.from.clone(), to: jumper.to.clone() });
                }
            };
            if from != to {
                lowering.conductance(Owner::Added, from, to, ohms);
            }
        }
        phases.push((share, std::mem::take(&mut lowering.network)));
    }
    Ok(Prepared { phases })
}

fn alter(circuit: &Circuit, effect: &Effect, altered: &mut [Altered], shorts: &mut Vec<(Node, Node, f64)>) {
    match *effect {
        Effect::Open { part, branch: None } => altered[part].open = true,
        Effect::Open { part, branch: Some(branch) } => altered[part].open_branches.push(branch),
        Effect::Short { from, to, ohms } => shorts.push((from, to, ohms)),
        Effect::Added { part, ohms } => altered[part].added += ohms,
        Effect::Drift { part, gain, offset } => {
            altered[part].gain = Some(altered[part].gain.unwrap_or(1.0) * gain);
            altered[part].offset += offset;
        }
        Effect::Set { part, value } => altered[part].set = Some(value),
        Effect::Stuck { part, at } => altered[part].stuck = Some(at),
        Effect::Worn { part, from, to, ohms } => altered[part].worn.push((from, to, ohms)),
        Effect::Swapped { one, other } => {
            if let (PartKind::Link { to: first, .. }, PartKind::Link { to: second, .. }) =
                (&circuit.parts[one].kind, &circuit.parts[other].kind)
            {
                let first = altered[one].moved_end.unwrap_or(*first);
                let second = altered[other].moved_end.unwrap_or(*second);
                altered[one].moved_end = Some(second);
                altered[other].moved_end = Some(first);
            }
        }
    }
}

struct NetworkBuilder<'a> {
    network: Network,
    resolved: &'a Resolved,
    sample: Sample,
    out: &'a [bool],
    battery_off: bool,
    has_clamp: bool,
    dominant: bool,
}

impl NetworkBuilder<'_> {
    /// The unknown that belongs to a node: zero volts is the last.
    fn at(&self, node: Node) -> usize {
        node.checked_sub(1).unwrap_or(self.network.size)
    }

    fn conductance(&mut self, owner: Owner, from: Node, to: Node, ohms: f64) {
        let (a, b) = (self.at(from), self.at(to));
        self.network.push(owner, Element::Conductance { a, b, siemens: 1.0 / ohms });
    }

    /// The value of a part that may have been set or have drifted.
    fn principal(&self, spread: Spread, altered: &Altered) -> f64 {
        // Nothing drifts through zero into a negative resistance.
        self.voltage(spread, altered).max(1e-6)
    }

    /// The voltage of a source that may have been set or have drifted; it may be negative.
    fn voltage(&self, spread: Spread, altered: &Altered) -> f64 {
        let value = altered.set.unwrap_or_else(|| self.sample.draw(spread));
        value * altered.gain.unwrap_or(1.0) + altered.offset
    }

    fn curve(&mut self, number: usize, from: Node, to: Node, points: &[(f64, f64)]) {
        let first = self.network.segments.len();
        segments_through(points, &mut self.network.segments);
        let count = self.network.segments.len() - first;
        let (a, b) = (self.at(from), self.at(to));
        self.network.push(Owner::Part(number), Element::Curve { a, b, first, count });
    }

    #[expect(clippy::too_many_arguments, reason = "three nodes and three values; a struct for one call says no more")]
    fn share(&mut self, number: usize, supply: Node, ground: Node, output: Node, share: f64, ohms: f64, minimum: f64) {
        let (supply, ground, output) = (self.at(supply), self.at(ground), self.at(output));
        let element = Element::Share { supply, ground, output, share, siemens: 1.0 / ohms, minimum };
        self.network.push(Owner::Part(number), element);
    }

    fn part(&mut self, number: usize, part: &Part, altered: &Altered) {
        let owner = Owner::Part(number);
        let open = |branch: &str| altered.open_branches.contains(&branch);
        match &part.kind {
            PartKind::Link { from, to, resistance, opens } => self.link(owner, *from, *to, *resistance, opens, altered),
            PartKind::Battery { positive, negative, volts, resistance } => {
                if self.battery_off && !self.has_clamp {
                    return;
                }
                let (plus, minus) = (self.at(*positive), self.at(*negative));
                let siemens = 1.0 / (self.sample.draw(*resistance) + altered.added);
                let volts = self.voltage(*volts, altered);
                self.network.push(owner, Element::Source { plus, minus, siemens, volts });
            }
            PartKind::Relay { .. } => self.relay(owner, &part.kind, altered),
            PartKind::Lamp { from, to, volts, amperes, cold } => {
                let amperes = self.principal(*amperes, altered);
                self.curve(number, *from, *to, &filament(*volts, amperes, self.sample.draw(*cold)));
            }
            PartKind::Diode { from, to, forward, resistance } => {
                let forward = self.principal(*forward, altered);
                let points = [(forward - 1.0, 0.0), (forward, 0.0), (forward + resistance, 1.0)];
                self.curve(number, *from, *to, &points);
            }
            PartKind::Motor { from, to, winding, load, slope } => {
                let winding = self.principal(*winding, altered) + altered.added;
                if altered.stuck == Some(Stuck::Stalled) {
                    return self.conductance(owner, *from, *to, winding);
                }
                let load = self.sample.draw(*load);
                let stall = load * winding;
                let far = (stall * 2.0, load + slope * stall);
                self.curve(number, *from, *to, &[(-far.0, -far.1), (-stall, -load), (stall, load), far]);
            }
            PartKind::Regulator { input, output, ground, volts, resistance, limit, dropout, works } => {
                if works.as_ref().is_none_or(|condition| condition.holds(self.resolved)) {
                    let element = Element::Regulator {
                        input: input.map(|node| self.at(node)),
                        output: self.at(*output),
                        ground: self.at(*ground),
                        volts: self.principal(*volts, altered),
                        siemens: 1.0 / (self.sample.draw(*resistance) + altered.added),
                        limit: self.sample.draw(*limit),
                        dropout: *dropout,
                    };
                    self.network.push(owner, element);
                }
            }
            PartKind::ModuleInput { pin, ground, resistance, pull } => {
                if let Some((to, spread)) = pull.filter(|_| !open("pull")) {
                    let ohms = self.principal(spread, altered);
                    self.conductance(owner, *pin, to, ohms);
                }
                if !open("input") {
                    let drawn = self.sample.draw(*resistance);
                    let ohms = if pull.is_some() { drawn } else { self.principal(*resistance, altered) };
                    self.conductance(owner, *pin, *ground, ohms);
                }
            }
            PartKind::ModuleOutput { pin, supply, ground, low_side, resistance, works, duty, .. } => {
                let works = works.as_ref().is_none_or(|condition| condition.holds(self.resolved));
                let duty = match altered.stuck {
                    Some(Stuck::Closed) => 1.0,
                    Some(_) => 0.0,
                    None if works => *duty,
                    None => 0.0,
                };
                if duty > 0.0 {
                    let ohms = self.principal(*resistance, altered) + altered.added;
                    let share = if *low_side { 1.0 - duty } else { duty };
                    self.share(number, *supply, *ground, *pin, share, ohms, MODULE_MINIMUM);
                }
            }
            PartKind::Potentiometer { low, high, wiper, junction, resistance, contact, movement, ends } => {
                let track = self.principal(*resistance, &Altered { gain: None, offset: 0.0, ..altered.clone() });
                let travel = self.travel(*movement, altered);
                // A share of nothing at the very end still leaves the end's terminal.
                let share = self.along(*movement, travel, *ends, altered).clamp(1e-4, 1.0 - 1e-4);
                if !open("track") {
                    self.conductance(owner, *low, *junction, track * share);
                    self.conductance(owner, *high, *junction, track * (1.0 - share));
                }
                if !open("wiper") {
                    let ohms = worn(travel, altered).unwrap_or_else(|| self.sample.draw(*contact)) + altered.added;
                    self.conductance(owner, *wiper, *junction, ohms);
                }
            }
            PartKind::ActiveSensor {
                supply,
                ground,
                output,
                load,
                resistance,
                movement,
                ends,
                saturates,
                minimum_supply,
            } => {
                if !open("supply") {
                    let ohms = self.sample.draw(*load);
                    self.conductance(owner, *supply, *ground, ohms);
                }
                if !open("output") {
                    let travel = self.travel(*movement, altered);
                    let share = self.along(*movement, travel, *ends, altered).clamp(saturates.0, saturates.1);
                    let ohms = worn(travel, altered).unwrap_or_else(|| self.sample.draw(*resistance)) + altered.added;
                    self.share(number, *supply, *ground, *output, share, ohms, *minimum_supply);
                }
            }
            PartKind::Variable { from, to, law, movement } => {
                let travel = self.travel(*movement, altered);
                let ohms = match law {
                    Law::Thermistor { at_25, beta } => {
                        let kelvin = travel + ZERO_CELSIUS;
                        let share = (beta * (1.0 / kelvin - 1.0 / (ZERO_CELSIUS + 25.0))).exp();
                        self.principal(*at_25, altered) * share
                    }
                    Law::Curve { points, factor } => interpolate(points, travel) * self.principal(*factor, altered),
                    Law::Ladder { steps, factor } => steps[travel as usize] * self.principal(*factor, altered),
                };
                self.conductance(owner, *from, *to, ohms);
            }
            PartKind::Transceiver { supply, ground, high, low, bias, driver, sends } => {
                let sends = match altered.stuck {
                    Some(Stuck::Closed) => true,
                    Some(_) => false,
                    None => self.dominant && sends.as_ref().is_none_or(|condition| condition.holds(self.resolved)),
                };
                let (bias, driver) = (self.sample.draw(*bias), self.principal(*driver, altered) + altered.added);
                for (branch, output, share) in [("high", *high, 1.0), ("low", *low, 0.0)] {
                    if !open(branch) {
                        self.share(number, *supply, *ground, output, 0.5, bias, MODULE_MINIMUM);
                        if sends {
                            self.share(number, *supply, *ground, output, share, driver, MODULE_MINIMUM);
                        }
                    }
                }
            }
        }
    }

    fn link(&mut self, owner: Owner, from: Node, to: Node, resistance: Spread, opens: &Opens, altered: &Altered) {
        let conducts = match opens {
            Opens::Never | Opens::Blown(_) => true,
            Opens::Unplugged(connector) => !self.out[*connector],
            Opens::BatteryOff => !self.battery_off,
            Opens::Unless(condition) => match altered.stuck {
                Some(Stuck::Closed) => true,
                Some(_) => false,
                None => condition.holds(self.resolved),
            },
        };
        if !conducts {
            return;
        }
        let ohms = self.principal(resistance, altered) + altered.added;
        let to = altered.moved_end.unwrap_or(to);
        match opens {
            Opens::Blown(blows) => {
                let (a, b) = (self.at(from), self.at(to));
                self.network.push(owner, Element::Fuse { a, b, siemens: 1.0 / ohms, blows: *blows });
            }
            _ => self.conductance(owner, from, to, ohms),
        }
    }

    fn relay(&mut self, owner: Owner, kind: &PartKind, altered: &Altered) {
        let PartKind::Relay { coil, resistance, common, normally_open, normally_closed, contact, pulls_in, drops_out } =
            kind
        else {
            return;
        };
        let coil_open = altered.open_branches.contains(&"coil");
        if !coil_open {
            let ohms = self.principal(*resistance, altered);
            self.conductance(owner, coil.0, coil.1, ohms);
        }
        if altered.open_branches.contains(&"contacts") {
            return;
        }
        let ohms = self.sample.draw(*contact) + altered.added;
        for (node, when_pulled) in [(normally_open, true), (normally_closed, false)] {
            let Some(node) = *node else { continue };
            let held = match altered.stuck {
                Some(Stuck::Closed) => Some(true),
                Some(_) => Some(false),
                None => coil_open.then_some(false),
            };
            match held {
                Some(pulled) if pulled == when_pulled => self.conductance(owner, *common, node, ohms),
                Some(_) => {}
                None => {
                    let coil = (self.at(coil.0), self.at(coil.1));
                    let (a, b) = (self.at(*common), self.at(node));
                    let (pulls_in, drops_out, siemens) = (*pulls_in, *drops_out, 1.0 / ohms);
                    let element = Element::Contact { coil, pulls_in, drops_out, a, b, siemens, when_pulled };
                    self.network.push(owner, element);
                }
            }
        }
    }

    fn travel(&self, movement: usize, altered: &Altered) -> f64 {
        match altered.stuck {
            Some(Stuck::At(at)) => at,
            _ => self.resolved.travel(movement),
        }
    }

    /// The share that belongs to a position: straight between the ends of the travel, then drifted.
    fn along(&self, movement: usize, travel: f64, ends: (Spread, Spread), altered: &Altered) -> f64 {
        let (from, to) = self.resolved.ends[movement];
        let (start, end) = (self.sample.draw(ends.0), self.sample.draw(ends.1));
        let share = start + (end - start) * (travel - from) / (to - from);
        share * altered.gain.unwrap_or(1.0) + altered.offset
    }
}

fn worn(travel: f64, altered: &Altered) -> Option<f64> {
    let here = altered.worn.iter().filter(|(from, to, _)| (*from..=*to).contains(&travel));
    here.map(|(_, _, ohms)| *ohms).reduce(f64::max)
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
