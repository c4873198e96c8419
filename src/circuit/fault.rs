//! Faults: what each does to the circuit, and that it does something a healthy vehicle does not.

use super::decode::{Kind, Section, check_name};
use super::effect::{Effect, Stuck};
use super::error::{Flaw, Problem};
use super::movement::{Condition, Movement, Place};
use super::nodes::Nodes;
use super::parts::part::Part;
use super::sample::Spread;
use crate::model::quantity::Quantity;
use crate::model::words::nearest;
use std::fmt;

/// A fault's name.
#[derive(Clone, PartialEq, Eq, Hash, Debug, PartialOrd, Ord)]
pub struct FaultId(pub String);

impl fmt::Display for FaultId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl From<&str> for FaultId {
    fn from(name: &str) -> Self {
        Self(name.to_owned())
    }
}

/// One fault that the circuit can have.
#[derive(Clone, Debug)]
pub struct Fault {
    /// Its name.
    pub id: FaultId,
    /// What it is, in words.
    pub what: String,
    /// The causes that a procedure may rightly conclude from it.
    pub causes: Vec<String>,
    /// How common it is against the circuit's other faults; 1 if not said.
    pub how_common: f64,
    /// What it does.
    pub effects: Vec<Effect>,
    /// While what it shows; always, if nothing is said.
    pub only_while: Option<Condition>,
}

/// What a fault may refer to.
pub(super) struct Surroundings<'a> {
    pub nodes: &'a dyn Nodes,
    pub parts: &'a [Part],
    pub movements: &'a [Movement],
    pub insulation: f64,
}

impl Fault {
    /// The parts that it changes, by their numbers; a short between two points changes none.
    pub fn parts(&self) -> impl Iterator<Item = usize> {
        self.effects.iter().flat_map(|effect| match *effect {
            Effect::Open { part, .. }
            | Effect::Shorted { part, .. }
            | Effect::Added { part, .. }
            | Effect::Drift { part, .. }
            | Effect::Set { part, .. }
            | Effect::Stuck { part, .. }
            | Effect::Worn { part, .. } => vec![part],
            Effect::Swapped { one, other } => vec![one, other],
            Effect::Short { .. } => vec![],
        })
    }

    pub(super) fn decode(section: &Section, around: &Surroundings) -> Result<Self, Flaw> {
        let id = section.name("id")?;
        check_name(id).map_err(|problem| Flaw::new(problem).at(section.span()))?;
        Self::read(section, around, id).map_err(|flaw| flaw.at(section.span()).of(|| format!("fault `{id}`")))
    }

    fn read(section: &Section, around: &Surroundings, id: &str) -> Result<Self, Flaw> {
        let mut causes: Vec<String> = section.words("cause")?.into_iter().map(|(word, _)| word.to_owned()).collect();
        causes.extend(section.words("causes")?.into_iter().map(|(word, _)| word.to_owned()));
        if causes.is_empty() {
            return Err(section.missing("cause"));
        }
        for cause in &causes {
            check_name(cause)?;
        }
        let how_common = section.number("how_common")?.unwrap_or(1.0);
        if !(1e-9..=1e9).contains(&how_common) {
            return Err(section.not_a("how_common", "a number above zero, up to 1e9"));
        }
        let mut effects = Vec::new();
        for (name, span) in section.words("open")? {
            effects.push(around.open(name).map_err(|problem| Flaw::new(problem).at(span))?);
        }
        for (name, span) in section.words("shorted")? {
            effects.push(around.shorted(name).map_err(|flaw| flaw.at(span))?);
        }
        for inner in section.sections("short")? {
            effects.push(around.short(&inner).map_err(|flaw| flaw.at(inner.span()))?);
        }
        for inner in section.sections("added_resistance")? {
            effects.push(around.added(&inner).map_err(|flaw| flaw.at(inner.span()))?);
        }
        for inner in section.sections("drift")? {
            effects.push(around.drift(&inner).map_err(|flaw| flaw.at(inner.span()))?);
        }
        for inner in section.sections("set")? {
            effects.push(around.set(&inner).map_err(|flaw| flaw.at(inner.span()))?);
        }
        for inner in section.sections("stuck")? {
            effects.push(around.stuck(&inner).map_err(|flaw| flaw.at(inner.span()))?);
        }
        for inner in section.sections("worn")? {
            effects.push(around.worn(&inner).map_err(|flaw| flaw.at(inner.span()))?);
        }
        let swapped = section.words("swapped")?;
        match swapped[..] {
            [] => {}
            [(one, _), (other, _)] => effects.push(around.swapped(one, other)?),
            _ => return Err(section.not_a("swapped", "two pins such as `[\"C41.1\", \"C41.2\"]`")),
        }
        if effects.is_empty() {
            return Err(Problem::EmptyFault.into());
        }
        let only_while = Condition::decode(section, "only_while", around.movements)?;
        let what = section.text("what")?.unwrap_or(id).to_owned();
        section.finish()?;
        Ok(Self { id: FaultId(id.to_owned()), what, causes, how_common, effects, only_while })
    }
}

impl Surroundings<'_> {
    fn part(&self, name: &str) -> Result<(usize, &Part), Problem> {
        self.parts.iter().enumerate().find(|(_, part)| part.id == name).ok_or_else(|| Problem::UnknownName {
            what: "part",
            name: name.to_owned(),
            nearest: nearest(name, self.parts.iter().map(|part| part.id.as_str())),
        })
    }

    fn open(&self, name: &str) -> Result<Effect, Problem> {
        let whole = self.part(name);
        if let (Err(_), Some((owner, asked))) = (&whole, name.rsplit_once('.'))
            && let Ok((part, found)) = self.part(owner)
            && let Some(branch) = found.kind.faults().branches.iter().find(|branch| **branch == asked)
        {
            return Ok(Effect::Open { part, branch: Some(branch) });
        }
        whole.map(|(part, _)| Effect::Open { part, branch: None })
    }

    /// A branch inside a part, such as `K1.suppression`.
    fn shorted(&self, name: &str) -> Result<Effect, Flaw> {
        let (owner, asked) = name.rsplit_once('.').unwrap_or((name, ""));
        let (part, found) = self.part(if asked.is_empty() || self.part(owner).is_err() { name } else { owner })?;
        match found.kind.faults().shorts.iter().find(|branch| **branch == asked) {
            Some(branch) => Ok(Effect::Shorted { part, branch }),
            None => Err(cannot(found, "be shorted inside like this")),
        }
    }

    fn short(&self, section: &Section) -> Result<Effect, Flaw> {
        let (from, to) = (self.nodes.find(section.name("from")?)?, self.nodes.find(section.name("to")?)?);
        let ohms = section.quantity("through", Kind::RESISTANCE)?.unwrap_or(0.01);
        section.finish()?;
        if from == to {
            return Err(Problem::SamePoint { point: section.name("from")?.to_owned() }.into());
        }
        if ohms >= self.insulation {
            return Err(inside("the insulation", ohms, self.insulation, Kind::RESISTANCE.highest, Kind::RESISTANCE));
        }
        for part in self.parts {
            if let Some((one, other, resistance)) = part.kind.fixed_resistance()
                && ((one, other) == (from, to) || (one, other) == (to, from))
            {
                let beside = ohms * resistance.nominal / (ohms + resistance.nominal);
                if resistance.holds(beside) {
                    let what = format!("the resistance of `{}`", part.id);
                    return Err(inside(&what, beside, resistance.low, resistance.high, Kind::RESISTANCE));
                }
            }
        }
        Ok(Effect::Short { from, to, ohms })
    }

    fn added(&self, section: &Section) -> Result<Effect, Flaw> {
        let (part, found) = self.part(section.name("part")?)?;
        let ohms = section.needed("ohms", Kind::RESISTANCE)?;
        section.finish()?;
        let Some((what, spread)) = found.kind.faults().added else { return Err(cannot(found, "gain resistance")) };
        if spread.holds(spread.low + ohms) {
            let what = format!("{what} of `{}`", found.id);
            return Err(inside(&what, spread.low + ohms, spread.low, spread.high, Kind::RESISTANCE));
        }
        Ok(Effect::Added { part, ohms })
    }

    fn drift(&self, section: &Section) -> Result<Effect, Flaw> {
        let (part, found) = self.part(section.name("part")?)?;
        let gain = section.number("gain")?.unwrap_or(1.0);
        if !(1e-6..=1e6).contains(&gain) {
            return Err(section.not_a("gain", "a factor above zero"));
        }
        let faults = found.kind.faults();
        let kind = faults.drift_kind;
        let offset = section.quantity("offset", Kind { lowest: -kind.highest, ..kind })?.unwrap_or(0.0);
        section.finish()?;
        if offset != 0.0 && !faults.takes_offset {
            return Err(section.not_a("offset", "possible here: give a `gain`"));
        }
        let Some(first) = faults.drifts.first() else { return Err(cannot(found, "drift")) };
        let told = |spread: &Spread| {
            let (low, high) = (spread.low * gain + offset, spread.high * gain + offset);
            low > spread.high || high < spread.low
        };
        if !faults.drifts.iter().any(told) {
            let what = format!("the value of `{}`", found.id);
            return Err(inside(&what, first.nominal * gain + offset, first.low, first.high, kind));
        }
        Ok(Effect::Drift { part, gain, offset })
    }

    fn set(&self, section: &Section) -> Result<Effect, Flaw> {
        let (part, found) = self.part(section.name("part")?)?;
        let faults = found.kind.faults();
        let kind = faults.value_kind;
        let value = section.needed("value", kind)?;
        section.finish()?;
        match faults.value {
            None => Err(cannot(found, "have another value set")),
            Some((what, spread)) if spread.holds(value) => {
                Err(inside(&format!("{what} of `{}`", found.id), value, spread.low, spread.high, kind))
            }
            Some(_) => Ok(Effect::Set { part, value }),
        }
    }

    fn stuck(&self, section: &Section) -> Result<Effect, Flaw> {
        let (part, found) = self.part(section.name("part")?)?;
        let at = section.name("at")?;
        section.finish()?;
        let faults = found.kind.faults();
        let stuck = faults.stuck.iter().find(|(word, _)| *word == at);
        let at = match (stuck, faults.movement.map(|movement| self.movements[movement].place(at))) {
            (Some((_, stuck)), _) => *stuck,
            (None, Some(Ok(Place::At(at)))) => Stuck::At(at),
            (None, Some(Ok(Place::Choice(number)))) => Stuck::At(number as f64),
            (None, Some(Err(_))) => return Err(section.not_a("at", "a position that it can take")),
            (None, None) => return Err(cannot(found, "be stuck there")),
        };
        Ok(Effect::Stuck { part, at })
    }

    fn worn(&self, section: &Section) -> Result<Effect, Flaw> {
        let (part, found) = self.part(section.name("part")?)?;
        let faults = found.kind.faults();
        let (Some(movement), Some(healthy)) = (faults.movement, faults.contact) else {
            return Err(cannot(found, "wear"));
        };
        let place = |key: &'static str| match self.movements[movement].place(section.name(key)?) {
            Ok(Place::At(at)) => Ok(at),
            _ => Err(section.not_a(key, "a position that it can take")),
        };
        let (from, to) = (place("from")?, place("to")?);
        let ohms = section.needed("ohms", Kind::RESISTANCE)?;
        section.finish()?;
        if from >= to {
            return Err(Problem::NotRising { key: "to" }.into());
        }
        if ohms <= healthy.high {
            let what = format!("the contact of `{}`", found.id);
            return Err(inside(&what, ohms, healthy.low, healthy.high, Kind::RESISTANCE));
        }
        Ok(Effect::Worn { part, from, to, ohms })
    }

    fn swapped(&self, one: &str, other: &str) -> Result<Effect, Flaw> {
        let ((one, first), (other, second)) = (self.part(one)?, self.part(other)?);
        for part in [first, second] {
            if !part.kind.faults().swaps {
                return Err(cannot(part, "be swapped: it is no connector's pin"));
            }
        }
        if one == other {
            return Err(Problem::EmptyFault.into());
        }
        Ok(Effect::Swapped { one, other })
    }
}

fn cannot(part: &Part, fault: &'static str) -> Flaw {
    Problem::NoSuchFault { part: part.id.clone(), kind: part.word, fault }.into()
}

fn inside(what: &str, value: f64, lowest: f64, highest: f64, kind: Kind) -> Flaw {
    let show = |value| Quantity::new(value, kind.dimension).to_string();
    let (value, lowest, highest) = (show(value), show(lowest), show(highest));
    Problem::InsideTolerance { what: what.to_owned(), value, lowest, highest }.into()
}
