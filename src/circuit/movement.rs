//! What can be moved, turned or switched by hand or by the weather, and the conditions that depend on it.

use super::decode::{Kind, Section, check_name, text_of, words_of};
use super::error::{Flaw, Problem, SolveError};
use crate::model::points::{Positions, on_travel};
use crate::model::quantity::Quantity;
use crate::model::unit::Unit;
use crate::model::vehicle::{Battery, Engine, Key, STATE_PARTS, StatePart, VehicleState};
use crate::model::words::nearest;
use std::str::FromStr;

/// Something that takes positions: a shaft, a switch, a temperature, a wire that can be wiggled.
#[derive(Clone, Debug, PartialEq)]
pub struct Movement {
    /// Its name, as in `VehicleState::positions`.
    pub id: String,
    /// Its description.
    pub what: String,
    /// How it moves.
    pub travel: Travel,
    /// A switch or a command: no hand moves a part through a travel.
    pub switched: bool,
    /// Where it stands when nobody holds it.
    pub start: Place,
}

/// How a thing moves.
#[derive(Clone, Debug, PartialEq)]
pub enum Travel {
    /// From one end to the other, with named stops.
    Between {
        /// One end.
        from: Quantity,
        /// The other end.
        to: Quantity,
        /// Names of positions on the way.
        stops: Vec<(String, f64)>,
    },
    /// Between named positions only.
    Choices(Vec<String>),
}

/// Where a thing stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Place {
    /// On its travel, in SI units.
    At(f64),
    /// The number of its choice.
    Choice(usize),
}

impl Movement {
    pub(super) fn decode(section: &Section) -> Result<Self, Flaw> {
        let id = section.name("id")?.to_owned();
        check_name(&id)?;
        let what = section.text("what")?.unwrap_or(&id).to_owned();
        let choices = section.words("choices")?;
        let switched = section.flag("switched")?;
        let (from, to) = (section.text("from")?, section.text("to")?);
        for (key, other) in [("from", from.is_some()), ("to", to.is_some()), ("stops", section.item("stops").is_some())]
        {
            if other && !choices.is_empty() {
                return Err(Flaw::new(Problem::Beside { key: "choices", other: key }).at(section.span()));
            }
        }
        let travel = match (from, to) {
            (None, None) if choices.len() >= 2 => {
                Travel::Choices(choices.iter().map(|(word, _)| (*word).to_owned()).collect())
            }
            (None, None) if !choices.is_empty() => {
                return Err(section.not_a("choices", "a list of at least two positions, as `[\"off\", \"on\"]`"));
            }
            (None, None) => return Err(section.missing("choices")),
            (Some(_), None) => return Err(section.missing("to")),
            (None, Some(_)) => return Err(section.missing("from")),
            (Some(from), Some(to)) => {
                let from: Quantity = from.parse().map_err(|_| section.not_a("from", "a quantity such as `0 %`"))?;
                let to: Quantity = to.parse().map_err(|_| section.not_a("to", "a quantity such as `100 %`"))?;
                if from.dimension() != to.dimension() || from.si() >= to.si() {
                    return Err(Flaw::new(Problem::NotRising { key: "to" }).at(section.span()));
                }
                Travel::Between { from, to, stops: Vec::new() }
            }
        };
        let mut movement = Self { id, what, travel, switched, start: Place::Choice(0) };
        for (name, span, item) in section.named_entries("stops")? {
            let at = text_of("stops", item)?;
            let place = movement.place(at).map_err(|_| section.not_a("stops", "a position on the travel").at(span))?;
            if let (Travel::Between { stops, .. }, Place::At(at)) = (&mut movement.travel, place) {
                stops.push((name.to_owned(), at));
            }
        }
        let start = section.name("start")?;
        movement.start = movement.place(start).map_err(|_| section.not_a("start", "one of the positions"))?;
        section.finish()?;
        Ok(movement)
    }

    /// The name of the position in which nobody holds it; `None` of what is moved along a travel.
    pub fn rest(&self) -> Option<String> {
        match (&self.travel, self.start) {
            (Travel::Choices(choices), Place::Choice(index)) => choices.get(index).cloned(),
            _ => None,
        }
    }

    /// The place that a text names: a stop, a choice, or a quantity on the travel (a bare number is in the unit of its ends).
    pub fn place(&self, text: &str) -> Result<Place, SolveError> {
        let text = text.trim();
        let found = match &self.travel {
            Travel::Choices(choices) => choices.iter().position(|choice| choice == text).map(Place::Choice),
            Travel::Between { from, to, stops } => {
                let stop = stops.iter().find(|(name, _)| name == text).map(|(_, at)| *at);
                stop.or_else(|| on_travel(*from, *to, text)).map(Place::At)
            }
        };
        found.ok_or_else(|| SolveError::NoSuchPosition {
            movement: self.id.clone(),
            position: text.to_owned(),
            known: self.positions(),
        })
    }

    /// Where it can stand, in words.
    pub fn positions(&self) -> String {
        match &self.travel {
            Travel::Choices(choices) => choices.join(" or "),
            Travel::Between { from, to, stops } => {
                let mut words = format!("from {from} to {to}");
                for (name, at) in stops {
                    words.push_str(&format!(", {name} ({})", from.with_si(*at)));
                }
                words
            }
        }
    }

    /// The positions that it can have, for a caller without the circuit.
    pub fn known_positions(&self) -> Positions {
        let (named, travel) = match &self.travel {
            Travel::Choices(choices) => (choices.clone(), None),
            Travel::Between { from, to, stops } => {
                (stops.iter().map(|(name, _)| name.clone()).collect(), Some((*from, *to)))
            }
        };
        Positions { named, travel, switched: self.switched, in_words: self.positions() }
    }

    /// `count` positions from end to end, or every choice, as they are written in `VehicleState::positions`.
    pub fn sweep(&self, count: usize) -> Vec<String> {
        match &self.travel {
            Travel::Choices(choices) => choices.clone(),
            Travel::Between { from, to, .. } => {
                let last = count.max(2) - 1;
                let unit = Unit::of(from.dimension());
                (0..=last)
                    .map(|step| {
                        let at = from.with_si(from.si() + (to.si() - from.si()) * step as f64 / last as f64);
                        unit.map_or_else(|| at.to_string(), |unit| format!("{} {}", unit.number(at), unit.word()))
                    })
                    .collect()
            }
        }
    }
}

/// The vehicle's state with every word turned into what the parts ask for.
#[derive(Clone, Debug, PartialEq)]
pub struct Resolved {
    /// Key; never unknown.
    pub key: Key,
    /// Engine; never unknown.
    pub engine: Engine,
    /// Battery; never unknown.
    pub battery: Battery,
    /// Where each movement stands, in the circuit's order.
    pub places: Vec<Place>,
    /// Ends of each movement's travel, in SI units; of choices the first and the last number.
    pub ends: Vec<(f64, f64)>,
}

impl Resolved {
    /// Whatever is unknown is as in `start`.
    pub fn new(state: &VehicleState, start: &VehicleState, movements: &[Movement]) -> Result<Self, SolveError> {
        let mut places: Vec<Place> = movements.iter().map(|movement| movement.start).collect();
        for (name, position) in &state.positions {
            let Some(index) = movements.iter().position(|movement| movement.id == *name) else {
                return Err(SolveError::UnknownName {
                    what: "movement",
                    name: name.clone(),
                    nearest: nearest(name, movements.iter().map(|movement| movement.id.as_str())),
                });
            };
            places[index] = movements[index].place(position)?;
        }
        let ends = movements.iter().map(|movement| match &movement.travel {
            Travel::Between { from, to, .. } => (from.si(), to.si()),
            Travel::Choices(choices) => (0.0, choices.len() as f64 - 1.0),
        });
        let known = |key, start| if key == Key::Unknown { start } else { key };
        Ok(Self {
            key: known(state.key, start.key),
            engine: if state.engine == Engine::Unknown { start.engine } else { state.engine },
            battery: if state.battery == Battery::Unknown { start.battery } else { state.battery },
            ends: ends.collect(),
            places,
        })
    }

    /// How far a movement has gone, in SI units; of a choice its number.
    pub fn travel(&self, movement: usize) -> f64 {
        match self.places[movement] {
            Place::At(at) => at,
            Place::Choice(number) => number as f64,
        }
    }
}

/// What has to be true of the vehicle: any one of the alternatives, each of which holds when all of its terms do.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Condition {
    alternatives: Vec<Vec<Term>>,
}

#[derive(Clone, Debug, PartialEq)]
enum Term {
    Key(Vec<Key>),
    Engine(Vec<Engine>),
    Position { movement: usize, ranges: Vec<(f64, f64)> },
    Choice { movement: usize, among: Vec<usize> },
}

impl Condition {
    /// Reads `{ key = "on", flap = "50 % to 100 %" }` or an array of such tables; `None` if the key is absent.
    pub(super) fn decode(section: &Section, key: &'static str, movements: &[Movement]) -> Result<Option<Self>, Flaw> {
        use toml::de::DeValue;
        let Some(item) = section.item(key) else { return Ok(None) };
        let tables: Vec<_> = match item.get_ref() {
            DeValue::Array(items) => items.iter().collect(),
            _ => vec![item],
        };
        let mut alternatives = Vec::new();
        for table in tables {
            let DeValue::Table(entries) = table.get_ref() else {
                return Err(section.not_a(key, "a table such as `{ key = \"on\" }`"));
            };
            let mut terms = Vec::new();
            for (name, value) in entries {
                let words = words_of(name.get_ref(), value)?;
                terms.push(
                    Term::decode(name.get_ref(), &words.iter().map(|(word, _)| *word).collect::<Vec<_>>(), movements)
                        .map_err(|problem| Flaw::new(problem).at(name.span()))?,
                );
            }
            alternatives.push(terms);
        }
        Ok(Some(Self { alternatives }))
    }

    /// Whether it holds.
    pub fn holds(&self, state: &Resolved) -> bool {
        self.alternatives.iter().any(|terms| terms.iter().all(|term| term.holds(state)))
    }
}

impl Term {
    fn decode(name: &str, words: &[&str], movements: &[Movement]) -> Result<Self, Problem> {
        fn each<T: FromStr>(name: &str, words: &[&str], expected: &'static str) -> Result<Vec<T>, Problem> {
            let problem = |_| Problem::NotA { key: name.to_owned(), expected };
            words.iter().map(|word| word.parse().map_err(|_| ()).map_err(problem)).collect()
        }
        if matches!(name, "key" | "engine") && words.contains(&"unknown") {
            let expected = "a state that it can stand in: what a circuit does is always known";
            return Err(Problem::NotA { key: name.to_owned(), expected });
        }
        match name {
            "key" => return Ok(Self::Key(each(name, words, "`off`, `accessory` or `on`")?)),
            "engine" => return Ok(Self::Engine(each(name, words, "`stopped`, `cranking` or `running`")?)),
            _ => {}
        }
        let Some(movement) = movements.iter().position(|movement| movement.id == name) else {
            let known = ["key", "engine"].into_iter().chain(movements.iter().map(|movement| movement.id.as_str()));
            return Err(Problem::UnknownName {
                what: "movement",
                name: name.to_owned(),
                nearest: nearest(name, known),
            });
        };
        let place = |text: &str| {
            movements[movement]
                .place(text)
                .map_err(|_| Problem::NotA { key: name.to_owned(), expected: "a position that it can take" })
        };
        let (mut ranges, mut among) = (Vec::new(), Vec::new());
        for word in words {
            if let Some((from, to)) = word.split_once(" to ")
                && let (Place::At(from), Place::At(to)) = (place(from)?, place(to)?)
            {
                ranges.push((from - 1e-12, to + 1e-12));
                continue;
            }
            match place(word)? {
                Place::At(at) => ranges.push((at - 1e-12, at + 1e-12)),
                Place::Choice(number) => among.push(number),
            }
        }
        // A movement has positions along its travel or choices, not both.
        Ok(if among.is_empty() { Self::Position { movement, ranges } } else { Self::Choice { movement, among } })
    }

    fn holds(&self, state: &Resolved) -> bool {
        match self {
            Self::Key(keys) => keys.contains(&state.key),
            Self::Engine(engines) => engines.contains(&state.engine),
            Self::Position { movement, ranges } => {
                let travel = state.travel(*movement);
                ranges.iter().any(|(from, to)| (*from..=*to).contains(&travel))
            }
            Self::Choice { movement, among } => {
                matches!(state.places[*movement], Place::Choice(number) if among.contains(&number))
            }
        }
    }
}

/// What a circuit can't be solved without; the other parts of the vehicle may stay unknown.
const NEEDED: [&str; 3] = ["key", "engine", "battery"];

/// Reads `[start]`.
pub(super) fn start(section: &Section) -> Result<VehicleState, Flaw> {
    let (key, engine, battery) = (Key::Off, Engine::Stopped, Battery::Connected);
    let mut state = VehicleState { key, engine, battery, ..VehicleState::default() };
    let (needed, others): (Vec<StatePart>, Vec<StatePart>) =
        STATE_PARTS.into_iter().partition(|part| NEEDED.contains(&part.name));
    for part in needed.iter().chain(&others) {
        if let Some(word) = section.text(part.name)? {
            let problem = |_| section.not_a(part.name, "a state that is known here");
            part.set(&mut state, word).map_err(problem)?;
        }
    }
    section.finish()?;
    match needed.iter().find(|part| !part.is_known(&state)) {
        Some(part) => Err(section.not_a(part.name, "a known state: the start of a simulation has to say it")),
        None => Ok(state),
    }
}

/// The range of a movement's travel and its dimension, for parts that follow it.
pub(super) fn ends(movement: &Movement) -> Option<(f64, f64, Kind)> {
    match &movement.travel {
        Travel::Between { from, to, .. } => Some((from.si(), to.si(), Kind::of(from.dimension()))),
        Travel::Choices(_) => None,
    }
}
