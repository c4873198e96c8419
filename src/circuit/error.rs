//! The problems of a circuit file, and those of solving it.

use crate::model::dimension::Dimension;
use crate::model::quantity::Quantity;
use crate::model::vehicle::VehicleState;
use crate::model::words;
use std::fmt;
use std::ops::Range;

/// A circuit file that can't be used: which file, which part of it, what is wrong, where.
#[derive(Clone, Debug, PartialEq)]
pub struct CircuitError {
    /// The file's name, as it was given.
    pub file: String,
    /// The part, point, fault or section concerned, in words: `part `lamp``.
    pub place: Option<String>,
    /// What is wrong.
    pub problem: Box<Problem>,
    /// Bytes of the text that it concerns, where they are known.
    pub span: Option<Range<usize>>,
}

impl fmt::Display for CircuitError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: ", self.file)?;
        if let Some(place) = &self.place {
            write!(f, "{place}: ")?;
        }
        self.problem.fmt(f)
    }
}

impl std::error::Error for CircuitError {}

/// Keys that were written where another was meant.
fn strangers(keys: &[String]) -> String {
    match keys {
        [] => String::new(),
        [one] => format!("; `{one}` is not an end of a part"),
        several => {
            let several: Vec<_> = several.iter().map(|key| format!("`{key}`")).collect();
            format!("; {} are no ends of a part", words::all(&several))
        }
    }
}

/// A problem of a circuit file.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum Problem {
    /// Not TOML, or a key given twice.
    #[error("{message}")]
    Toml {
        /// The TOML reader's words.
        message: String,
    },
    /// More of something than is accepted.
    #[error("{count} {what} are more than the {limit} that are accepted")]
    TooMany {
        /// What there is too much of.
        what: &'static str,
        /// How many there are.
        count: usize,
        /// How many there may be.
        limit: usize,
    },
    /// A key that has no meaning here.
    #[error("`{key}` is not known here{}", words::did_you_mean(nearest.as_deref()))]
    UnknownKey {
        /// The key.
        key: String,
        /// The known key nearest to it.
        nearest: Option<String>,
    },
    /// A name that names nothing of its kind.
    #[error("there is no {what} `{name}`{}", words::did_you_mean(nearest.as_deref()))]
    UnknownName {
        /// Point, part, connector, movement …
        what: &'static str,
        /// The name.
        name: String,
        /// The known name nearest to it.
        nearest: Option<String>,
    },
    /// A key that has to be there.
    #[error("`{key}` is missing")]
    Missing {
        /// The key.
        key: &'static str,
    },
    /// A part of which one end leads nowhere.
    #[error("the part has one end only: `{end}` is missing{}", strangers(others))]
    OneEnd {
        /// The missing end's key.
        end: &'static str,
        /// Keys that name points, and that no part has.
        others: Vec<String>,
    },
    /// A part whose ends lie on one point.
    #[error("both ends lie on `{point}`, so the part has one end only")]
    SamePoint {
        /// The point.
        point: String,
    },
    /// A value of another kind than expected.
    #[error("`{key}` is not {expected}")]
    NotA {
        /// The key.
        key: String,
        /// The expected form, with an example.
        expected: &'static str,
    },
    /// A quantity outside what a vehicle's circuit holds.
    #[error("`{key}` is {value}, outside {lowest} to {highest}")]
    OutOfRange {
        /// The key.
        key: String,
        /// The given text.
        value: String,
        /// Lowest accepted.
        lowest: String,
        /// Highest accepted.
        highest: String,
    },
    /// A tolerance of which nobody knows whether it is a share or a quantity.
    #[error("the tolerance of `{key}` has no unit: write `\u{b1} {tolerance} {unit}` or `\u{b1} {tolerance} %`")]
    ToleranceWithoutUnit {
        /// The key.
        key: &'static str,
        /// As it is written.
        tolerance: String,
        /// A unit that fits.
        unit: String,
    },
    /// A tolerance that leaves nothing of the value.
    #[error("the tolerance of `{key}` is `{tolerance}`: with 100 % or more nothing is left of the value")]
    ToleranceTooWide {
        /// The key.
        key: &'static str,
        /// As it is written.
        tolerance: String,
    },
    /// A name used twice.
    #[error("there are two {what} `{name}`")]
    Twice {
        /// Points, parts, faults, roles …
        what: &'static str,
        /// The name.
        name: String,
    },
    /// A gauge that no conductor is made in.
    #[error("`{gauge}` is not a known gauge; write a cross section such as `0.75 mm2`, or `18 AWG`")]
    UnknownGauge {
        /// The given text.
        gauge: String,
    },
    /// A point at which no part ends.
    #[error("nothing reaches the point `{point}`{}", words::did_you_mean(nearest.as_deref()))]
    NothingReaches {
        /// The point.
        point: String,
        /// The one that may have been meant.
        nearest: Option<String>,
    },
    /// A node that no part connects with zero volts, whatever is switched on.
    #[error("node `{point}` floats: no part connects it with `{zero}`; add the wire that does, or take the point out")]
    Floats {
        /// The node.
        point: String,
        /// The point that is zero volts.
        zero: String,
    },
    /// A fault that a healthy part could have, too.
    #[error(
        "the fault leaves {what} at {value}, which lies inside the healthy {lowest} to {highest}; it would be no fault"
    )]
    InsideTolerance {
        /// Which value of which part.
        what: String,
        /// What the fault makes of it.
        value: String,
        /// Lowest healthy value.
        lowest: String,
        /// Highest healthy value.
        highest: String,
    },
    /// A fault of which two values have a range.
    #[error("two values of the fault are ranges: give one of them, and a fault of its own to the other")]
    TwoRanges,
    /// A fault of a kind that this part can't have.
    #[error("`{part}` is a {kind}, which can't {fault}")]
    NoSuchFault {
        /// The part.
        part: String,
        /// Its kind.
        kind: &'static str,
        /// What was asked of it.
        fault: &'static str,
    },
    /// A fault that does nothing.
    #[error("the fault changes nothing: say what it does, such as `open` or `short`")]
    EmptyFault,
    /// Two keys of which there can be one.
    #[error("`{key}` and `{other}` stand side by side: only one of them says where the thing can stand")]
    Beside {
        /// One key.
        key: &'static str,
        /// The other one.
        other: &'static str,
    },
    /// Two keys that both say the same thing.
    #[error("`{key}` and `{other}` both say it: leave one of them out")]
    BothSay {
        /// One key.
        key: &'static str,
        /// The other one.
        other: &'static str,
    },
    /// A transfer or a curve that does not rise step by step.
    #[error("the points of `{key}` are not in rising order")]
    NotRising {
        /// The key.
        key: &'static str,
    },
}

/// A circuit that can't be solved as it stands, or a question that it can't answer.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SolveError {
    /// A name in the question or in the vehicle's state that the circuit does not have.
    #[error("the circuit has no {what} `{name}`{}", words::did_you_mean(nearest.as_deref()))]
    UnknownName {
        /// Point, part, fault, position …
        what: &'static str,
        /// The name.
        name: String,
        /// The known name nearest to it.
        nearest: Option<String>,
    },
    /// A position that the moved thing can't take.
    #[error("`{movement}` can't stand at `{position}`; it stands {known}")]
    NoSuchPosition {
        /// The part that is moved.
        movement: String,
        /// Where it was said to stand.
        position: String,
        /// Where it can stand.
        known: String,
    },
    /// A jumper that is no resistance.
    #[error("the jumper from `{from}` to `{to}` has no usable resistance")]
    BadJumper {
        /// One end.
        from: String,
        /// The other end.
        to: String,
    },
    /// A look at which there is something to see that the question has no answer for.
    #[error("the look `{look}` of the circuit shows \"{seen}\", and the question of this name takes only {takes}")]
    NoSuchAnswer {
        /// The look.
        look: String,
        /// What there is to see.
        seen: String,
        /// The answers that the question takes.
        takes: String,
    },
    /// A severity that the fault can't have.
    #[error("the fault `{fault}` {}", range.as_ref().map_or_else(|| "has one severity only, so that none is given".to_owned(), |range| format!("has a severity of {range}")))]
    BadSeverity {
        /// The fault.
        fault: String,
        /// Its range, if it has one.
        range: Option<String>,
    },
    /// No voltage can be found for a node.
    #[error("node `{node}` floats")]
    Floats {
        /// The node.
        node: String,
    },
    /// No voltages were found that agree with themselves. A circuit that finds no rest is something else: that is a solution.
    #[error(
        "the circuit can't be solved: nothing was found that agrees with itself for {}{}",
        parts.join(", "),
        state.as_ref().map(|state| format!(" with {}", stands(state))).unwrap_or_default()
    )]
    Unsettled {
        /// The parts that kept changing.
        parts: Vec<String>,
        /// The vehicle's state in which they did, where it is known.
        state: Option<Box<VehicleState>>,
    },
    /// An ammeter, or a wire, through which a healthy vehicle drives what melts it.
    #[error("{what} from `{from}` to `{to}` shorts the supply{}", .fuse.as_ref().map_or_else(|| format!(": {amperes:.0} A would go through it"), |fuse| format!(": the fuse `{fuse}` blows")))]
    Shorted {
        /// What is put there.
        what: &'static str,
        /// One end.
        from: String,
        /// The other end.
        to: String,
        /// What would go through it.
        amperes: f64,
        /// The fuse that blows, where one does.
        fuse: Option<String>,
    },
    /// A meter can't be put in line here.
    #[error("an ammeter can't be put in line with `{name}`: it takes a fuse, a wire, a switch or a connector pin")]
    NotInLine {
        /// The part.
        name: String,
    },
    /// An alternating voltage at which a part does not stay as it rests.
    #[error(
        "AC volts can't be told here: they swing so far that `{part}` does not stay in the state in which it rests"
    )]
    Swings {
        /// The part.
        part: String,
    },
    /// AC volts of a circuit that finds no rest.
    #[error("AC volts can't be told here: `{part}` keeps changing")]
    Restless {
        /// The first part that does.
        part: String,
    },
    /// The meter's ranges are not made for this frequency.
    #[error("the meter `{meter}` shows AC volts {}; {}", hertz_limits(*lowest, *highest), hertz.map_or_else(|| "how often it switches here, the circuit does not say".to_owned(), |hertz| format!("here they have {}", in_hertz(hertz))))]
    OutsideHertz {
        /// The meter.
        meter: String,
        /// Frequency that is outside, in hertz; `None` if the circuit does not say it.
        hertz: Option<f64>,
        /// Lowest frequency, in hertz.
        lowest: f64,
        /// Highest frequency, in hertz.
        highest: f64,
    },
    /// More outputs switch at the same time than can be held against each other.
    #[error("{count} outputs switch at the same time; AC volts are told with {most} at most")]
    TooManySwitch {
        /// How many do.
        count: usize,
        /// How many may.
        most: usize,
    },
    /// The meter lacks the function.
    #[error("the meter `{meter}` has no range for {function}")]
    NoRange {
        /// The meter.
        meter: String,
        /// The function.
        function: &'static str,
    },
}

fn in_hertz(hertz: f64) -> String {
    Quantity::new(hertz, Dimension::FREQUENCY).to_string()
}

fn hertz_limits(lowest: f64, highest: f64) -> String {
    match (lowest > 0.0, highest.is_finite()) {
        (true, true) => format!("from {} to {}", in_hertz(lowest), in_hertz(highest)),
        (true, false) => format!("from {}", in_hertz(lowest)),
        _ => format!("up to {}", in_hertz(highest)),
    }
}

impl SolveError {
    /// The same, said of a state of the vehicle.
    pub(super) fn in_state(self, stands: &VehicleState) -> Self {
        match self {
            Self::Unsettled { parts, state: None } => Self::Unsettled { parts, state: Some(Box::new(stands.clone())) },
            other => other,
        }
    }

    /// What to do, where there is more to say than what is wrong.
    pub const fn hint(&self) -> Option<&'static str> {
        match self {
            Self::NoSuchAnswer { .. } => {
                Some("word `normal` and `sees` as the question's answers, or give the question another name")
            }
            Self::Shorted { .. } => Some("put the ammeter in line or round the wire, and connect through a load"),
            _ => None,
        }
    }
}

/// How the vehicle stands, as far as its circuit is concerned, in a line.
fn stands(state: &VehicleState) -> String {
    let mut words = vec![format!("key {}", state.key), format!("engine {}", state.engine)];
    words.push(format!("battery {}", state.battery));
    words.extend(state.unplugged.iter().map(|connector| format!("{connector} unplugged")));
    words.extend(state.removed.iter().map(|part| format!("{part} out")));
    words.extend(state.positions.iter().map(|(part, position)| format!("{part} at {position}")));
    words.extend(state.jumpers.iter().map(|jumper| format!("{} joined to {}", jumper.from, jumper.to)));
    words.join(", ")
}

/// A flaw found while a file is read; becomes a [`CircuitError`] once the file's name is put to it.
#[derive(Debug)]
pub(super) struct Flaw {
    pub place: Option<String>,
    pub problem: Box<Problem>,
    pub span: Option<Range<usize>>,
}

impl Flaw {
    pub fn new(problem: Problem) -> Self {
        Self { place: None, problem: Box::new(problem), span: None }
    }
    pub fn at(mut self, span: Range<usize>) -> Self {
        self.span.get_or_insert(span);
        self
    }
    pub fn of(mut self, place: impl FnOnce() -> String) -> Self {
        self.place.get_or_insert_with(place);
        self
    }
    pub fn in_file(self, file: &str) -> CircuitError {
        CircuitError { file: file.to_owned(), place: self.place, problem: self.problem, span: self.span }
    }
}

impl From<Problem> for Flaw {
    fn from(problem: Problem) -> Self {
        Self::new(problem)
    }
}
