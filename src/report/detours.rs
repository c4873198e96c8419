//! What did not go straight: skipped, taken back, doubted, broken off.

use super::measured::{answer_words, verdict_words};
use super::one_line::plain;
use super::withhold::LEFT_OUT;
use crate::model::prompt::{Answer, Question};
use crate::model::record::given::Answered;
use crate::model::record::{Item, Record};
use crate::model::typed;

/// One of them.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Detour {
    /// What happened: `skipped`, `taken back`, `doubted`.
    pub what: &'static str,
    /// At which prompt, in its words; its name behind them.
    pub at: String,
    /// Why, or what stood there.
    pub detail: String,
}

/// All of a record, in their order.
pub fn of(record: &Record) -> Vec<Detour> {
    let mut detours = Vec::new();
    for item in record.items() {
        match item {
            Item::Answered(answered) => of_answer(&mut detours, record, answered),
            Item::TornLineDropped { bytes } => detours.push(Detour {
                what: "line dropped",
                at: "The record".to_owned(),
                detail: format!(
                    "An incomplete line ({}) was dropped when the run was resumed.",
                    crate::model::words::count(*bytes, "byte", "bytes")
                ),
            }),
            Item::Struck { id, reading: Some(reading), .. } => {
                let asked = record.every_answer().find(|answered| answered.prompt.id == *id);
                let words = asked.map_or_else(String::new, |answered| format!("{} ", plain(&answered.prompt.text)));
                let was = asked.map_or_else(|| reading.clone(), |answered| in_unit(answered, reading));
                detours.push(Detour {
                    what: "undone",
                    at: format!("{words}({})", plain(id.as_str())),
                    detail: plain(&format!("One reading. Was: {was}.")),
                });
            }
            Item::Struck { id, reading: None, at } => {
                let Some(change) = record.changes.iter().find(|change| change.at == *at && change.id == *id) else {
                    continue;
                };
                let reason = plain(&change.reason);
                detours.push(Detour {
                    what: "changed",
                    at: plain(id.as_str()),
                    detail: plain(&match &change.new {
                        Some(new) => format!("Mistyped: {} instead of {new}. Reason: {reason}.", change.old),
                        None => format!("Measured again. Was: {}. Reason: {reason}.", change.old),
                    }),
                });
            }
            Item::Resumed { at, corrected: true, .. } => detours.push(Detour {
                what: "corrected",
                at: "The vehicle's state".to_owned(),
                detail: format!("Corrected when the run was resumed, {}.", at.short()),
            }),
            _ => {}
        }
    }
    detours
}

fn of_answer(detours: &mut Vec<Detour>, record: &Record, answered: &Answered) {
    let at = format!("{} ({})", plain(&answered.prompt.text), plain(answered.prompt.id.as_str()));
    for (first, doubt) in &answered.doubts {
        let first = in_unit(answered, first);
        let stands = answer_words(answered);
        let kept =
            if stands == first { "The same was entered again.".to_owned() } else { format!("Then entered: {stands}.") };
        detours.push(Detour {
            what: "doubted",
            at: at.clone(),
            detail: plain(&format!("First entered: {first}. Doubted: {} {kept}", sentence(&doubt.to_string()))),
        });
    }
    if let Answer::Skipped { reason } = &answered.answer {
        let reason = if reason.trim().is_empty() { "no reason was given" } else { reason.trim() };
        detours.push(Detour { what: "skipped", at: at.clone(), detail: sentence(&plain(reason)) });
    }
    // What was kept after a change stands: it was not taken back.
    if answered.struck_at.is_some() && answered.line >= later_kept(record, answered) {
        let verdict = verdict_words(answered);
        let was = match &answered.answer {
            Answer::Note { words } if words == LEFT_OUT => LEFT_OUT.to_owned(),
            _ => answer_words(answered),
        };
        let verdict = if verdict.is_empty() || verdict == "skipped" { String::new() } else { format!(", {verdict}") };
        let again =
            match record.answers().find(|later| later.line > answered.line && later.prompt.id == answered.prompt.id) {
                Some(later) => format!("Answered again: {}.", answer_words(later)),
                None => "Not answered again.".to_owned(),
            };
        detours.push(Detour { what: "undone", at, detail: plain(&format!("Was: {was}{verdict}. {again}")) });
    }
}

/// The line at which the same answer was kept last; 0 where it was not.
fn later_kept(record: &Record, answered: &Answered) -> usize {
    let given = Some(answered.kept_from.unwrap_or(answered.line));
    record.every_answer().filter(|later| later.kept_from == given).map(|later| later.line).max().unwrap_or(0)
}

/// As typed, with its unit.
fn in_unit(answered: &Answered, text: &str) -> String {
    match (&answered.prompt.question, answered.prompt.question.unit()) {
        (Question::YesNo | Question::Choice { .. } | Question::Note, _) | (_, None) => text.trim().to_owned(),
        (_, Some(unit)) => typed::as_shown(text, unit),
    }
}

/// With a capital at the start and a stop at the end.
fn sentence(text: &str) -> String {
    let mut characters = text.chars();
    let mut sentence: String = characters.next().into_iter().flat_map(char::to_uppercase).chain(characters).collect();
    if !sentence.ends_with(['.', '?', '!']) {
        sentence.push('.');
    }
    sentence
}
