//! Faults: what each does to the circuit, and that it does something a healthy vehicle does not.

use super::decode::{Kind, Section, check_name};
use super::effect::{Effect, Stuck};
use super::error::{Flaw, Problem};
use super::look::{self, Look};
use super::movement::{Condition, Place};
use super::parts::part::Part;
use super::sample::Spread;
use super::severity::{Of, Severity};
use super::shows::Shows;
use super::surroundings::Surroundings;
use crate::model::dimension::Dimension;
use crate::model::quantity::Quantity;
use crate::model::words::nearest;
use std::fmt;
use std::ops::Range;

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
    /// Its description.
    pub what: String,
    /// The causes that a procedure may rightly conclude from it.
    pub causes: Vec<String>,
    /// How common it is against the circuit's other faults; 1 if not said.
    pub how_common: f64,
    /// What it does.
    pub effects: Vec<Effect>,
    /// While what it shows; always, if nothing is said.
    pub only_while: Option<Condition>,
    /// The range of its severity; `None` if it has one value only.
    pub severity: Option<Severity>,
    /// When a driver notices it; as the circuit says, if it says nothing of its own.
    pub shows: Option<Shows>,
    /// How it changes the circuit's looks: the look and the answer.
    pub sees: Vec<(String, String)>,
    /// Whether it belongs to the generated family.
    pub is_generated: bool,
    /// Where it is: of each effect the parts, by number, of which any one may be the faulty one.
    pub(super) places: Vec<Vec<usize>>,
    pub(super) span: Range<usize>,
}

/// An effect, and the range of its severity if it has one.
type Ranged = (Effect, Option<Severity>);

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
        if causes.is_empty() && !around.has_causes {
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
        let mut severity = None;
        for (name, span) in section.words("open")? {
            effects.push(around.open(name).map_err(|problem| Flaw::new(problem).at(span))?);
        }
        for (name, span) in section.words("shorted")? {
            effects.push(around.shorted(name).map_err(|flaw| flaw.at(span))?);
        }
        type Read = fn(&Surroundings, &Section) -> Result<Ranged, Flaw>;
        let readers: [(&'static str, Read); 6] = [
            ("short", |around, inner| around.short(inner)),
            ("added_resistance", |around, inner| around.added(inner)),
            ("drift", |around, inner| around.drift(inner)),
            ("set", |around, inner| around.set(inner)),
            ("stuck", |around, inner| Ok((around.stuck(inner)?, None))),
            ("worn", |around, inner| around.worn(inner)),
        ];
        for (key, read) in readers {
            for inner in section.sections(key)? {
                let (effect, range) = read(around, &inner).map_err(|flaw| flaw.at(inner.span()))?;
                if let Some(range) = range {
                    let range = Severity { effect: effects.len(), ..range };
                    if severity.replace(range).is_some() {
                        return Err(Flaw::new(Problem::TwoRanges).at(inner.span()));
                    }
                }
                effects.push(effect);
            }
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
        let shows = Shows::decode(section, around)?;
        let sees = look::seen(section, around.looks)?;
        section.finish()?;
        let (id, span) = (FaultId(id.to_owned()), section.span());
        let places = Vec::new();
        let is_generated = false;
        Ok(Self {
            id,
            what,
            causes,
            how_common,
            effects,
            only_while,
            severity,
            shows,
            sees,
            is_generated,
            places,
            span,
        })
    }

    /// A fault that does nothing yet.
    pub(super) fn nameless(id: &str) -> Self {
        Self {
            id: FaultId(id.to_owned()),
            what: String::new(),
            causes: Vec::new(),
            how_common: 1.0,
            effects: Vec::new(),
            only_while: None,
            severity: None,
            shows: None,
            sees: Vec::new(),
            is_generated: false,
            places: Vec::new(),
            span: 0..0,
        }
    }

    /// The answer to a look on a vehicle with these faults.
    pub fn answer_to<'a>(look: &'a Look, faults: impl IntoIterator<Item = &'a Self>) -> &'a str {
        look.answer(faults.into_iter().map(|fault| fault.sees.as_slice()))
    }

    /// Where it is: of each effect the parts, by number, of which any one may be the faulty one.
    pub fn places(&self) -> &[Vec<usize>] {
        &self.places
    }
}

/// The range of a value, if it is more than one value.
fn ranged(of: Of, (low, high): (f64, f64), kind: Kind) -> Option<Severity> {
    (low < high).then_some(Severity { effect: 0, of, low, high, dimension: kind.dimension })
}

/// The value in the middle of a range, which an effect has until a vehicle draws its own.
fn middle(range: Option<Severity>, (low, _): (f64, f64)) -> f64 {
    range.map_or(low, |range| range.middle())
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

    fn short(&self, section: &Section) -> Result<Ranged, Flaw> {
        let (from, to) = (self.nodes.find(section.name("from")?)?, self.nodes.find(section.name("to")?)?);
        let through = section.range("through", Kind::RESISTANCE)?.unwrap_or((0.01, 0.01));
        section.finish()?;
        // The highest is the nearest to a healthy circuit.
        let ohms = through.1;
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
        let range = ranged(Of::Ohms, through, Kind::RESISTANCE);
        Ok((Effect::Short { from, to, ohms: middle(range, through) }, range))
    }

    fn added(&self, section: &Section) -> Result<Ranged, Flaw> {
        let (part, found) = self.part(section.name("part")?)?;
        let given = section.range("ohms", Kind::RESISTANCE)?.ok_or_else(|| section.missing("ohms"))?;
        section.finish()?;
        // The lowest is the nearest to a healthy part.
        let ohms = given.0;
        let Some((what, spread)) = found.kind.faults().added else { return Err(cannot(found, "gain resistance")) };
        if spread.holds(spread.low + ohms) {
            let what = format!("{what} of `{}`", found.id);
            return Err(inside(&what, spread.low + ohms, spread.low, spread.high, Kind::RESISTANCE));
        }
        let range = ranged(Of::Ohms, given, Kind::RESISTANCE);
        Ok((Effect::Added { part, ohms: middle(range, given) }, range))
    }

    fn drift(&self, section: &Section) -> Result<Ranged, Flaw> {
        let (part, found) = self.part(section.name("part")?)?;
        let gains = section.number_range("gain")?.unwrap_or((1.0, 1.0));
        if !(1e-6..=1e6).contains(&gains.0) || !(1e-6..=1e6).contains(&gains.1) {
            return Err(section.not_a("gain", "a factor above zero"));
        }
        let faults = found.kind.faults();
        let kind = faults.drift_kind;
        let offsets = section.range("offset", Kind { lowest: -kind.highest, ..kind })?.unwrap_or((0.0, 0.0));
        section.finish()?;
        if offsets != (0.0, 0.0) && !faults.takes_offset {
            return Err(section.not_a("offset", "possible here: give a `gain`"));
        }
        let Some(first) = faults.drifts.first() else { return Err(cannot(found, "drift")) };
        let ends = |spread: f64| {
            let all = [gains.0, gains.1].map(|gain| [spread * gain + offsets.0, spread * gain + offsets.1]);
            let all = all.into_iter().flatten();
            all.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| (low.min(value), high.max(value)))
        };
        // Over the whole range on the same side of what is healthy.
        let told = |spread: &Spread| ends(spread.low).0 > spread.high || ends(spread.high).1 < spread.low;
        if !faults.drifts.iter().any(told) {
            let what = format!("the value of `{}`", found.id);
            let (low, high) = ends(first.nominal);
            return Err(inside(&what, first.nominal.clamp(low, high), first.low, first.high, kind));
        }
        let of_gain = ranged(Of::Gain, gains, Kind::of(Dimension::NONE));
        let of_offset = ranged(Of::Offset, offsets, kind);
        if of_gain.is_some() && of_offset.is_some() {
            return Err(Problem::TwoRanges.into());
        }
        let (gain, offset) = (middle(of_gain, gains), middle(of_offset, offsets));
        Ok((Effect::Drift { part, gain, offset }, of_gain.or(of_offset)))
    }

    fn set(&self, section: &Section) -> Result<Ranged, Flaw> {
        let (part, found) = self.part(section.name("part")?)?;
        let faults = found.kind.faults();
        let kind = faults.value_kind;
        let values = section.range("value", kind)?.ok_or_else(|| section.missing("value"))?;
        section.finish()?;
        match faults.value {
            None => Err(cannot(found, "have another value set")),
            Some((what, spread)) if values.0 <= spread.high && values.1 >= spread.low => {
                let value = values.0.max(spread.low);
                Err(inside(&format!("{what} of `{}`", found.id), value, spread.low, spread.high, kind))
            }
            Some(_) => {
                let range = ranged(Of::Value, values, kind);
                Ok((Effect::Set { part, value: middle(range, values) }, range))
            }
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

    fn worn(&self, section: &Section) -> Result<Ranged, Flaw> {
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
        let given = section.range("ohms", Kind::RESISTANCE)?.ok_or_else(|| section.missing("ohms"))?;
        section.finish()?;
        let ohms = given.0;
        if from >= to {
            return Err(Problem::NotRising { key: "to" }.into());
        }
        if ohms <= healthy.high {
            let what = format!("the contact of `{}`", found.id);
            return Err(inside(&what, ohms, healthy.low, healthy.high, Kind::RESISTANCE));
        }
        let range = ranged(Of::Ohms, given, Kind::RESISTANCE);
        Ok((Effect::Worn { part, from, to, ohms: middle(range, given) }, range))
    }

    fn swapped(&self, one: &str, other: &str) -> Result<Effect, Flaw> {
        let ((one, first), (other, second)) = (self.part(one)?, self.part(other)?);
        for part in [first, second] {
            if !part.kind.faults().swaps {
                return Err(cannot(part, "be swapped: it is not a connector's pin"));
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
