//! What a case adds up of each of its runs: readings, minutes, prompts and limits.

use super::came::Came;
use crate::circuit::names::MINUTES_A_READING;
use crate::circuit::netlist::Circuit;
use crate::model::event::{Entry, Event};
use crate::model::limits::LimitResult;
use crate::model::prompt::{Answer, Leads, Prompt, Question};
use crate::model::proof::case::Case;
use crate::model::typed::{self, Shown};
use crate::model::unit::Unit;
use crate::model::vehicle::Action;
use std::collections::{BTreeMap, BTreeSet};

/// Minutes at most to come back to a place that was opened before in the same run (common practice, no source).
const MINUTES_TO_COME_BACK: f64 = 1.0;

#[derive(Clone)]
pub(super) struct Limit {
    pub(super) low: Option<f64>,
    pub(super) high: Option<f64>,
    pub(super) unit: Unit,
    /// Another run had another limit, as where it follows from a reading before.
    pub(super) varies: bool,
}

impl Limit {
    pub(super) fn met(&mut self, other: &Self) {
        self.varies |= other.varies || (self.low, self.high) != (other.low, other.high);
    }
}

fn value_of(prompt: &Prompt, answer: &Answer) -> Option<f64> {
    match answer {
        Answer::Reading { typed } => match typed::read(typed, prompt.question.unit()?) {
            Ok(Shown::Value(value)) => Some(value.si()),
            _ => None,
        },
        _ => None,
    }
}

pub(super) fn tally(circuit: &Circuit, case: &mut Case, entries: &[Entry], limits: &mut BTreeMap<String, Limit>) {
    let mut last: Vec<String> = Vec::new();
    let mut opened: BTreeSet<String> = BTreeSet::new();
    let mut sweep: Vec<String> = Vec::new();
    for entry in entries {
        match &entry.event {
            Event::Acted { action: Action::Wait { time, .. }, .. } => case.minutes += time.si() / 60.0,
            Event::SweepRead { text, .. } => sweep.push(text.clone()),
            Event::Answered { prompt, answer, verdict, .. } => {
                let texts = std::mem::take(&mut sweep);
                if prompt.question.unit().is_none() {
                    continue;
                }
                case.readings += 1;
                case.minutes += MINUTES_A_READING;
                let mut places: Vec<String> = Vec::new();
                for (_, end) in prompt.question.leads().map(Leads::ends).unwrap_or_default() {
                    let place = circuit.place_of(&end.name);
                    if places.iter().any(|known| known == place) {
                        continue;
                    }
                    if !last.iter().any(|known| known == place) {
                        let minutes = circuit.minutes_to(&end.name);
                        let again = !opened.insert(place.to_owned());
                        case.minutes += if again { minutes.min(MINUTES_TO_COME_BACK) } else { minutes };
                    }
                    places.push(place.to_owned());
                }
                if !places.is_empty() {
                    last = places;
                }
                let asked = case.prompts.entry(prompt.id.to_string()).or_default();
                asked.asked += 1;
                let came = Came::of(prompt, *verdict, &texts);
                asked.out += u64::from(came.is_out());
                asked.low += u64::from(came == Came::Reading(Some(LimitResult::Low)));
                asked.high += u64::from(came == Came::Reading(Some(LimitResult::High)));
                let exact = prompt.question.unit().and_then(|unit| Unit::exact(unit.dimension()));
                asked.unit = exact.map(Unit::word_without_prefix);
                if let Some(value) = value_of(prompt, answer) {
                    asked.least = Some(asked.least.map_or(value, |least| least.min(value)));
                    asked.greatest = Some(asked.greatest.map_or(value, |greatest| greatest.max(value)));
                }
                if let Question::Reading { limits: bounds, .. }
                | Question::ModuleValue { limits: bounds, .. }
                | Question::Number { limits: bounds } = &prompt.question
                {
                    let limit = Limit {
                        low: bounds.low().map(|low| low.si()),
                        high: bounds.high().map(|high| high.si()),
                        unit: bounds.unit,
                        varies: false,
                    };
                    let known = limits.entry(prompt.id.to_string());
                    known.and_modify(|known| known.met(&limit)).or_insert(limit);
                }
            }
            _ => {}
        }
    }
}
