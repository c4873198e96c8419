//! When a driver notices a fault: what is seen in some state of the vehicle, held against limits, on true values.

use super::decode::{Kind, Section, text_of, words_of};
use super::error::{Flaw, Problem};
use super::nodes::Node;
use super::surroundings::Surroundings;
use crate::model::dimension::Dimension;
use crate::model::vehicle::{Engine, Key, VehicleState};
use crate::model::words::nearest;
use std::ops::Range;

/// States of one entry that are accepted.
const MOST_STATES: usize = 64;

/// When a driver notices that something is wrong: any one of the complaints suffices.
#[derive(Clone, Debug, PartialEq)]
pub struct Shows {
    pub(super) complaints: Vec<Complaint>,
}

#[derive(Clone, Debug, PartialEq)]
pub(super) struct Complaint {
    /// The states in which it is looked for, one after the other.
    pub states: Vec<VehicleState>,
    pub what: What,
    /// Below this, in SI units, it shows.
    pub below: Option<f64>,
    /// Above this it shows.
    pub above: Option<f64>,
    pub span: Range<usize>,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum What {
    /// The value that the module shows; a module without a supply counts as showing.
    Signal(usize),
    /// Volts of one node against another.
    Volts(Node, Node),
    /// AC volts between two nodes.
    AcVolts(Node, Node),
    /// Amperes through a part.
    Amperes(usize),
}

impl Shows {
    /// Reads `shows`; `None` if there is none.
    pub(super) fn decode(section: &Section, around: &Surroundings) -> Result<Option<Self>, Flaw> {
        let sections = section.sections("shows")?;
        let mut complaints = Vec::new();
        for inner in &sections {
            complaints.push(Complaint::decode(inner, around).map_err(|flaw| flaw.at(inner.span()))?);
        }
        Ok((!complaints.is_empty()).then_some(Self { complaints }))
    }
}

impl Complaint {
    fn decode(section: &Section, around: &Surroundings) -> Result<Self, Flaw> {
        let mut states = vec![around.start.clone()];
        for (name, span, item) in section.entries() {
            match name {
                "signal" | "from" | "to" | "ac" | "current" | "below" | "above" => {}
                "key" => {
                    let expected = "`off`, `accessory` or `on`";
                    let key: Key = word(text_of(name, item)?, name, expected, Key::Unknown)?;
                    states.iter_mut().for_each(|state| state.key = key);
                }
                "engine" => {
                    let expected = "`stopped`, `cranking` or `running`";
                    let engine: Engine = word(text_of(name, item)?, name, expected, Engine::Unknown)?;
                    states.iter_mut().for_each(|state| state.engine = engine);
                }
                moved => {
                    let Some(movement) = around.movements.iter().find(|movement| movement.id == moved) else {
                        let known = ["key", "engine", "signal", "from", "to", "ac", "current", "below", "above"];
                        let known = known.into_iter().chain(around.movements.iter().map(|known| known.id.as_str()));
                        let (name, nearest) = (moved.to_owned(), nearest(moved, known));
                        return Err(Flaw::new(Problem::UnknownName { what: "movement", name, nearest }).at(span));
                    };
                    let positions = words_of(moved, item)?;
                    for (position, span) in &positions {
                        if movement.place(position).is_err() {
                            let expected = "a position that it can take";
                            let problem = Problem::NotA { key: moved.to_owned(), expected };
                            return Err(Flaw::new(problem).at(span.clone()));
                        }
                    }
                    let at = |state: &VehicleState, position: &str| {
                        let mut state = state.clone();
                        state.positions.insert(moved.to_owned(), position.to_owned());
                        state
                    };
                    let each = |state: &VehicleState| {
                        positions.iter().map(|(position, _)| at(state, position)).collect::<Vec<_>>()
                    };
                    states = states.iter().flat_map(each).collect();
                }
            }
        }
        if states.is_empty() || states.len() > MOST_STATES {
            return Err(Problem::TooMany { what: "states", count: states.len(), limit: MOST_STATES }.into());
        }
        let (what, kind) = Self::what(section, around)?;
        let (below, above) = (section.quantity("below", kind)?, section.quantity("above", kind)?);
        if below.is_none() && above.is_none() {
            return Err(section.missing("below"));
        }
        if let (Some(below), Some(above)) = (below, above)
            && below >= above
        {
            return Err(Problem::NotRising { key: "above" }.into());
        }
        Ok(Self { states, what, below, above, span: section.span() })
    }

    fn what(section: &Section, around: &Surroundings) -> Result<(What, Kind), Flaw> {
        let node = |name: &str| match around.roles.iter().find(|(role, _)| role == name) {
            Some((_, node)) => Ok(*node),
            None => around.nodes.find(name),
        };
        let (from, to) = (section.text("from")?, section.text("to")?);
        let (signal, current) = (section.text("signal")?, section.text("current")?);
        let ac = section.flag("ac")?;
        if ac && from.is_none() {
            return Err(section.not_a("ac", "there with `from` and `to`: AC volts are seen between two points"));
        }
        match (signal, from, to, current) {
            (Some(name), None, None, None) => {
                let found = around.signals.iter().position(|signal| signal.id == name);
                let Some(number) = found else {
                    let nearest = nearest(name, around.signals.iter().map(|signal| signal.id.as_str()));
                    return Err(Problem::UnknownName { what: "signal", name: name.to_owned(), nearest }.into());
                };
                Ok((What::Signal(number), Kind::of(around.signals[number].unit.dimension())))
            }
            (None, Some(from), Some(to), None) => {
                let (from, to) = (node(from)?, node(to)?);
                Ok((if ac { What::AcVolts(from, to) } else { What::Volts(from, to) }, Kind::VOLTAGE))
            }
            (None, None, None, Some(name)) => {
                let Some(number) = around.parts.iter().position(|part| part.id == name) else {
                    let nearest = nearest(name, around.parts.iter().map(|part| part.id.as_str()));
                    return Err(Problem::UnknownName { what: "part", name: name.to_owned(), nearest }.into());
                };
                Ok((What::Amperes(number), Kind::of(Dimension::CURRENT)))
            }
            _ => {
                let expected = "enough to say what is seen: give `signal`, or `from` and `to`, or `current`";
                Err(section.not_a("shows", expected))
            }
        }
    }
}

fn word<T: std::str::FromStr + PartialEq>(
    text: &str,
    key: &str,
    expected: &'static str,
    unknown: T,
) -> Result<T, Problem> {
    let problem = || Problem::NotA { key: key.to_owned(), expected };
    text.parse().ok().filter(|word| *word != unknown).ok_or_else(problem)
}
