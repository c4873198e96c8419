//! Looks: what a person sees at the vehicle, and how sure that is.

use super::decode::{Section, check_name, text_of};
use super::error::{Flaw, Problem};
use crate::model::words::nearest;
use std::ops::Range;

/// How often of a hundred a person sees it right, if nothing is said.
const USUALLY_SURE: f64 = 90.0;

/// Something to look at: a procedure's `ask` and `choose` may name it.
#[derive(Clone, Debug)]
pub struct Look {
    /// Its name.
    pub id: String,
    /// What there is to see, in words.
    pub what: String,
    /// The answer on a healthy vehicle: `yes`, `no`, or an option of `choose`.
    pub normal: String,
    /// How often of a hundred a person sees it right.
    pub sure: f64,
    pub(super) span: Range<usize>,
}

impl Look {
    pub(super) fn decode(section: &Section) -> Result<Self, Flaw> {
        let id = section.name("id")?.to_owned();
        check_name(&id).map_err(|problem| Flaw::new(problem).at(section.span()))?;
        let place = || format!("look `{id}`");
        let read = || -> Result<Self, Flaw> {
            let what = section.name("what")?.to_owned();
            let normal = section.name("normal")?.to_owned();
            let sure = section.number("sure")?.unwrap_or(USUALLY_SURE);
            if !(50.0..=100.0).contains(&sure) {
                return Err(section.not_a("sure", "a number from 50 to 100: how often of a hundred it is seen right"));
            }
            section.finish()?;
            Ok(Self { id: id.clone(), what, normal, sure, span: section.span() })
        };
        read().map_err(|flaw| flaw.at(section.span()).of(place))
    }
}

impl Look {
    /// What there is to see on a vehicle whose faults make so much of its looks.
    pub(super) fn answer<'a>(&'a self, sees: impl IntoIterator<Item = &'a [(String, String)]>) -> &'a str {
        let seen = |sees: &'a [(String, String)]| sees.iter().find(|(seen, _)| *seen == self.id);
        sees.into_iter().find_map(seen).map_or(self.normal.as_str(), |(_, answer)| answer)
    }
}

/// Reads `sees = { LOOK = "answer" }` of a fault.
pub(super) fn seen(section: &Section, looks: &[Look]) -> Result<Vec<(String, String)>, Flaw> {
    let mut seen = Vec::new();
    for (name, span, item) in section.named_entries("sees")? {
        let Some(look) = looks.iter().find(|look| look.id == name) else {
            let nearest = nearest(name, looks.iter().map(|look| look.id.as_str()));
            return Err(Flaw::new(Problem::UnknownName { what: "look", name: name.to_owned(), nearest }).at(span));
        };
        let answer = text_of("sees", item)?;
        if answer == look.normal {
            let expected = "another answer than the healthy vehicle's: leave it out";
            return Err(Flaw::new(Problem::NotA { key: name.to_owned(), expected }).at(item.span()));
        }
        seen.push((name.to_owned(), answer.to_owned()));
    }
    Ok(seen)
}
