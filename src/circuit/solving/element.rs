//! What the equations are made of: each part comes down to a few of these, linear in each of its states.

use super::matrix::Matrix;

/// A straight piece of a curve of current over voltage: `amperes + siemens × volts` between `low` and `high` volts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Segment {
    pub low: f64,
    pub high: f64,
    pub siemens: f64,
    pub amperes: f64,
}

/// The drive of a contact: volts across one or two windings, each by its factor; windings on one plunger may pull against each other.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pull {
    pub windings: [(usize, usize, f64); 2],
}

impl Pull {
    /// The volts across one coil.
    pub const fn of_coil((from, to): (usize, usize)) -> Self {
        Self { windings: [(from, to, 1.0), (from, to, 0.0)] }
    }

    /// How hard it pulls, whichever way.
    pub fn at(&self, volts: &[f64]) -> f64 {
        let of = |(from, to, factor): (usize, usize, f64)| factor * (volts[from] - volts[to]);
        self.windings.into_iter().map(of).sum::<f64>().abs()
    }
}

/// One element. Nodes are unknowns' numbers; the highest is zero volts.
#[derive(Clone, Debug, PartialEq)]
pub enum Element {
    /// A resistance.
    Conductance { a: usize, b: usize, siemens: f64 },
    /// A voltage in series with a resistance.
    Source { plus: usize, minus: usize, siemens: f64, volts: f64 },
    /// An output held at a share of the way from ground to supply while the supply is above `minimum`.
    Share { supply: usize, ground: usize, output: usize, share: f64, siemens: f64, minimum: f64, drive: Drive },
    /// A curve of current over voltage, never falling.
    Curve { a: usize, b: usize, first: usize, count: usize },
    /// A regulated voltage with a current limit.
    Regulator { input: Option<usize>, output: usize, ground: usize, volts: f64, siemens: f64, limit: f64, dropout: f64 },
    /// A contact that a coil moves, from a pull of `pulls_in` on until it is below `drops_out`.
    Contact { coil: Pull, pulls_in: f64, drops_out: f64, a: usize, b: usize, siemens: f64, when_pulled: bool },
    /// A resistance that is gone once more than `blows` amperes have gone through it.
    Fuse { a: usize, b: usize, siemens: f64, blows: f64 },
}

/// Which way the current of an output goes, and where it comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Drive {
    /// Both ways, from supply and ground in the proportion of its share: a switch that is closed, to the one or to the other.
    Both,
    /// The same, but only out of it: switched on and off at its supply, it takes nothing in.
    Up,
    /// The same, but only into it: switched on and off at its ground, it lifts nothing.
    Down,
    /// As an amplifier: what it gives comes all from the supply, and what it takes goes all into the ground.
    Amplifier,
}

impl Drive {
    /// Whether it differs between giving and taking current.
    pub const fn has_ways(self) -> bool {
        !matches!(self, Self::Both)
    }
}

/// Share: off, and it stays off, because its own load takes its supply away whenever it is on.
pub const COLLAPSED: u8 = 2;
/// Share: output on, and where it makes a difference giving current.
pub const ON: u8 = 1;
/// Share: output on and taking current in.
pub const TAKES: u8 = 3;
/// Fuse: gone.
pub const BLOWN: u8 = 1;

/// Regulator: a state is so many times that of its supply plus that of its output.
pub const OUTPUTS: u8 = 4;
/// No supply, so that its output and its limit say nothing.
pub const SUPPLY_OFF: u8 = 0;
/// Less supply than it needs, so that its output goes with it.
pub const SUPPLY_LOW: u8 = 1;
const SUPPLY_ENOUGH: u8 = 2;
const BLOCKED: u8 = 0;
const REGULATING: u8 = 1;
const LIMITED: u8 = 2;
/// The output is below ground: the current goes by the supply alone, or it would come with a step when the supply does.
const SUNK: u8 = 3;

impl Element {
    /// Whether it stays as it is between two thresholds: a contact or an output.
    pub fn is_contact(&self) -> bool {
        matches!(self, Self::Contact { .. } | Self::Share { .. })
    }

    /// Whether a contact or an output is on in this state.
    pub fn is_on(&self, state: u8) -> bool {
        matches!(state, ON | TAKES)
    }

    /// Of an output that is on: the parts of its current that come from supply and ground; nothing where it gives or takes none.
    pub fn rails(&self, state: u8) -> Option<[(usize, f64); 2]> {
        let Self::Share { supply, ground, share, drive, .. } = *self else { return None };
        let both = [(supply, share), (ground, 1.0 - share)];
        match (state, drive) {
            (ON, Drive::Both | Drive::Up) | (TAKES, Drive::Down) => Some(both),
            (ON, Drive::Amplifier) => Some([(supply, 1.0), (ground, 0.0)]),
            (TAKES, Drive::Amplifier) => Some([(supply, 0.0), (ground, 1.0)]),
            _ => None,
        }
    }

    /// Of an output that is on: whether it gives or takes; as it does where that agrees with the voltages.
    pub fn way(&self, state: u8, volts: &[f64], slack: f64) -> u8 {
        let Self::Share { supply, ground, output, share, drive, .. } = *self else { return state };
        if !drive.has_ways() {
            return ON;
        }
        let above = volts[supply] * share + volts[ground] * (1.0 - share) - volts[output];
        let slack = slack * (1.0 + volts[supply].abs());
        match state {
            ON if above >= -slack => ON,
            TAKES if above <= slack => TAKES,
            _ if above >= 0.0 => ON,
            _ => TAKES,
        }
    }

    /// Whether it is of straight pieces alone, which meet without a step.
    pub fn has_pieces(&self) -> bool {
        matches!(self, Self::Curve { .. } | Self::Regulator { .. })
    }

    /// Of a contact or an output: the volts that move it, from how many on it changes when it is off, and below how many when it
    /// is on.
    pub fn thresholds(&self, volts: &[f64]) -> Option<(f64, f64, f64)> {
        match *self {
            Self::Contact { coil, pulls_in, drops_out, .. } => Some((coil.at(volts), pulls_in, drops_out)),
            Self::Share { supply, ground, minimum, .. } => {
                Some((volts[supply] - volts[ground], minimum, stays_on(minimum)))
            }
            _ => None,
        }
    }

    /// Every state that it can be in at rest, whatever else holds; none of a thing that is gone.
    #[cfg(test)]
    pub fn every_state(&self) -> Vec<u8> {
        match self {
            Self::Curve { count, .. } => (0..*count as u8).collect(),
            Self::Regulator { input, .. } => {
                let supplies = if input.is_some() { SUPPLY_OFF..=SUPPLY_ENOUGH } else { SUPPLY_ENOUGH..=SUPPLY_ENOUGH };
                supplies.flat_map(|supply| (0..OUTPUTS).map(move |held| supply * OUTPUTS + held)).collect()
            }
            Self::Share { drive, .. } if drive.has_ways() => vec![0, ON, TAKES],
            Self::Contact { .. } | Self::Share { .. } => vec![0, ON],
            _ => vec![0],
        }
    }

    /// Whether it has more than one state.
    pub fn switches(&self) -> bool {
        !matches!(self, Self::Conductance { .. } | Self::Source { .. })
    }

    /// The state from which the search begins: nothing powered, nothing pulled in, every fuse whole.
    pub fn initial(&self, segments: &[Segment]) -> u8 {
        match self {
            Self::Curve { first, count, .. } => segment_of(&segments[*first..first + count], 0.0),
            Self::Regulator { input, .. } => {
                (if input.is_some() { SUPPLY_OFF } else { SUPPLY_ENOUGH }) * OUTPUTS + REGULATING
            }
            _ => 0,
        }
    }

    /// Adds itself to the equations, as it is in `state`.
    pub fn stamp(&self, state: u8, segments: &[Segment], matrix: &mut Matrix) {
        match *self {
            Self::Conductance { a, b, siemens } => matrix.conductance(a, b, siemens),
            Self::Source { plus, minus, siemens, volts } => {
                matrix.conductance(plus, minus, siemens);
                matrix.current(minus, plus, siemens * volts);
            }
            Self::Share { supply, ground, output, share, siemens, .. } => {
                // From supply and ground to the output, each its part of siemens × (held voltage − output).
                for (from, part) in self.rails(state).into_iter().flatten() {
                    if part != 0.0 {
                        matrix.controlled(from, output, supply, output, siemens * part * share);
                        matrix.controlled(from, output, ground, output, siemens * part * (1.0 - share));
                    }
                }
            }
            Self::Curve { a, b, first, .. } => {
                let segment = segments[first + usize::from(state)];
                matrix.conductance(a, b, segment.siemens);
                matrix.current(a, b, segment.amperes);
            }
            Self::Regulator { input, output, ground, volts, siemens, limit, dropout } => {
                let from = input.unwrap_or(ground);
                match (state / OUTPUTS, state % OUTPUTS) {
                    (_, BLOCKED) | (SUPPLY_OFF, _) => {}
                    (_, LIMITED) => matrix.current(from, output, limit),
                    (SUPPLY_LOW, SUNK) => {
                        matrix.controlled(from, output, from, ground, siemens);
                        matrix.current(from, output, -siemens * dropout);
                    }
                    (_, SUNK) => matrix.current(from, output, siemens * volts),
                    (SUPPLY_LOW, _) => {
                        matrix.conductance(from, output, siemens);
                        matrix.current(from, output, -siemens * dropout);
                    }
                    _ => {
                        matrix.controlled(from, output, ground, output, siemens);
                        matrix.current(from, output, siemens * volts);
                    }
                }
            }
            Self::Contact { a, b, siemens, when_pulled, .. } if (state == 1) == when_pulled => {
                matrix.conductance(a, b, siemens);
            }
            Self::Fuse { a, b, siemens, .. } if state != BLOWN => matrix.conductance(a, b, siemens),
            Self::Contact { .. } | Self::Fuse { .. } => {}
        }
    }

    /// The state that agrees with these node voltages; the present one where that does. What lies beyond the end of the present
    /// state by no more than `slack` (volts for each volt) counts as inside, for the sake of rounding.
    pub fn next(&self, state: u8, segments: &[Segment], volts: &[f64], slack: f64) -> u8 {
        match *self {
            Self::Share { .. } if state == COLLAPSED => COLLAPSED,
            Self::Share { supply, ground, minimum, .. } => {
                let across = volts[supply] - volts[ground];
                let on = self.is_on(state);
                let (threshold, edge) = if on { (stays_on(minimum), -slack) } else { (minimum, slack) };
                if across >= threshold * (1.0 + edge) { self.way(state, volts, slack) } else { 0 }
            }
            Self::Curve { a, b, first, count } => {
                let across = volts[a] - volts[b];
                let segments = &segments[first..first + count];
                let (present, slack) = (segments[usize::from(state)], slack * (1.0 + across.abs()));
                if (present.low - slack..=present.high + slack).contains(&across) {
                    state
                } else {
                    segment_of(segments, across)
                }
            }
            Self::Regulator { input, output, ground, volts: set, siemens, limit, dropout } => {
                let available = input.map_or(set, |input| volts[input] - volts[ground] - dropout);
                let (mut supply, mut held) = (state / OUTPUTS, state % OUTPUTS);
                let volts_slack = slack * (1.0 + set);
                let (off, enough) = (available < -volts_slack, available > set + volts_slack);
                supply = match supply {
                    _ if off => SUPPLY_OFF,
                    _ if enough => SUPPLY_ENOUGH,
                    SUPPLY_OFF if available < volts_slack => SUPPLY_OFF,
                    SUPPLY_ENOUGH if available > set - volts_slack => SUPPLY_ENOUGH,
                    _ => SUPPLY_LOW,
                };
                let out = volts[output] - volts[ground];
                let amperes = siemens * (available.clamp(0.0, set) - out.max(0.0));
                let slack = slack * (limit + siemens * set);
                let inside = match held {
                    _ if out < -volts_slack => SUNK,
                    SUNK if out < volts_slack => SUNK,
                    _ => REGULATING,
                };
                held = match held {
                    BLOCKED if amperes < slack => BLOCKED,
                    LIMITED if amperes > limit - slack => LIMITED,
                    // From one end to the other only by way of the middle, or the two take turns for ever.
                    BLOCKED | LIMITED => inside,
                    _ if amperes < -slack => BLOCKED,
                    _ if amperes > limit + slack => LIMITED,
                    _ => inside,
                };
                supply * OUTPUTS + held
            }
            Self::Contact { coil, pulls_in, drops_out, .. } => {
                u8::from(coil.at(volts) >= if state == 1 { drops_out } else { pulls_in })
            }
            _ => state,
        }
    }

    /// The node into which a fixed current is pressed in this state, whatever the voltage.
    pub fn pressed(&self, state: u8) -> Option<usize> {
        match *self {
            Self::Regulator { output, .. }
                if matches!(state % OUTPUTS, LIMITED | SUNK) && state / OUTPUTS != SUPPLY_OFF =>
            {
                Some(output)
            }
            _ => None,
        }
    }

    /// The state to take instead of one that presses a current into an island.
    pub fn released(&self, state: u8) -> u8 {
        state / OUTPUTS * OUTPUTS + REGULATING
    }

    /// How far the current is above what a whole fuse stands: 1 and more blows it. Zero for everything else.
    pub fn overload(&self, state: u8, volts: &[f64]) -> f64 {
        match *self {
            Self::Fuse { a, b, siemens, blows } if state != BLOWN => ((volts[a] - volts[b]) * siemens).abs() / blows,
            _ => 0.0,
        }
    }

    /// Tells which nodes hold each other's voltage in this state.
    pub fn joins(&self, state: u8, segments: &[Segment], join: &mut impl FnMut(usize, usize)) {
        match *self {
            Self::Conductance { a, b, siemens } if siemens > 0.0 => join(a, b),
            Self::Source { plus, minus, .. } => join(plus, minus),
            Self::Share { output, .. } => {
                for (from, part) in self.rails(state).into_iter().flatten() {
                    if part > 0.0 {
                        join(from, output);
                    }
                }
            }
            Self::Curve { a, b, first, .. } if segments[first + usize::from(state)].siemens > 0.0 => join(a, b),
            Self::Regulator { input, output, ground, .. } => match (state / OUTPUTS, state % OUTPUTS) {
                (SUPPLY_LOW, REGULATING) => join(input.unwrap_or(ground), output),
                (SUPPLY_ENOUGH, REGULATING) => join(ground, output),
                _ => {}
            },
            Self::Contact { a, b, when_pulled, .. } if (state == 1) == when_pulled => join(a, b),
            Self::Fuse { a, b, .. } if state != BLOWN => join(a, b),
            _ => {}
        }
    }

    /// Amperes from its first node to its second; of an output, out of it.
    pub fn amperes(&self, state: u8, segments: &[Segment], volts: &[f64]) -> f64 {
        match *self {
            Self::Conductance { a, b, siemens } => (volts[a] - volts[b]) * siemens,
            Self::Source { plus, minus, siemens, volts: held } => (held - (volts[plus] - volts[minus])) * siemens,
            Self::Share { supply, ground, output, share, siemens, .. } if self.rails(state).is_some() => {
                (volts[supply] * share + volts[ground] * (1.0 - share) - volts[output]) * siemens
            }
            Self::Curve { a, b, first, .. } => {
                let segment = segments[first + usize::from(state)];
                segment.siemens * (volts[a] - volts[b]) + segment.amperes
            }
            Self::Regulator { input, output, ground, volts: set, siemens, limit, dropout } => {
                match (state / OUTPUTS, state % OUTPUTS) {
                    (_, BLOCKED) | (SUPPLY_OFF, _) => 0.0,
                    (_, LIMITED) => limit,
                    (SUPPLY_LOW, SUNK) => (volts[input.unwrap_or(ground)] - dropout - volts[ground]) * siemens,
                    (_, SUNK) => set * siemens,
                    (SUPPLY_LOW, _) => (volts[input.unwrap_or(ground)] - dropout - volts[output]) * siemens,
                    _ => (set + volts[ground] - volts[output]) * siemens,
                }
            }
            Self::Contact { a, b, siemens, when_pulled, .. } if (state == 1) == when_pulled => {
                (volts[a] - volts[b]) * siemens
            }
            Self::Fuse { a, b, siemens, .. } if state != BLOWN => (volts[a] - volts[b]) * siemens,
            Self::Share { .. } | Self::Contact { .. } | Self::Fuse { .. } => 0.0,
        }
    }

    /// Adds to `sums` the current that leaves each node into this element, for the sum that Kirchhoff says is zero.
    pub fn leaving(&self, state: u8, segments: &[Segment], volts: &[f64], sums: &mut [f64]) {
        let amperes = self.amperes(state, segments, volts);
        let mut through = |from: usize, to: usize, amperes: f64| {
            sums[from] += amperes;
            sums[to] -= amperes;
        };
        match *self {
            Self::Conductance { a, b, .. }
            | Self::Curve { a, b, .. }
            | Self::Contact { a, b, .. }
            | Self::Fuse { a, b, .. } => through(a, b, amperes),
            Self::Source { plus, minus, .. } => through(minus, plus, amperes),
            Self::Share { output, .. } => {
                for (from, part) in self.rails(state).into_iter().flatten() {
                    through(from, output, amperes * part);
                }
            }
            Self::Regulator { input, output, ground, .. } => through(input.unwrap_or(ground), output, amperes),
        }
    }
}

/// An output that has come on at its least supply stays on down to a third of it, or one that pulls its own supply down would
/// take turns for ever. The third is chosen; no source.
pub fn stays_on(minimum: f64) -> f64 {
    minimum / 3.0
}

/// The number of the segment that holds this voltage.
fn segment_of(segments: &[Segment], volts: f64) -> u8 {
    segments.iter().position(|segment| volts <= segment.high).unwrap_or(segments.len() - 1) as u8
}

/// Straight pieces through points of volts and amperes in rising order, the outer two going on for ever.
pub fn segments_through(points: &[(f64, f64)], segments: &mut Vec<Segment>) {
    let last = points.len() - 2;
    for (index, pair) in points.windows(2).enumerate() {
        let ((v0, i0), (v1, i1)) = (pair[0], pair[1]);
        let siemens = (i1 - i0) / (v1 - v0);
        segments.push(Segment {
            low: if index == 0 { f64::NEG_INFINITY } else { v0 },
            high: if index == last { f64::INFINITY } else { v1 },
            siemens,
            amperes: i0 - siemens * v0,
        });
    }
}
