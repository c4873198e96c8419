//! What came of a run, in the first sentence that somebody reads: `Found: …. Do: ….`

use super::entry::ending_text;
use super::material::{correction, is_gone, is_not_present};
use super::one_line::plain;
use super::table::harmless;
use crate::model::event::NamedCause;
use crate::model::record::{Record, RunStatus};

/// The record's words if its procedure has none of its own.
const NOT_SEEN: &str = "Not present while tested";

/// The finding and the correction of a record, with a prompt's words where the sentence has its id.
pub fn of_record(record: &Record, check: bool) -> Vec<String> {
    let lines = lines(&record.status, check);
    match record.status {
        RunStatus::Ended(_) => lines.into_iter().map(|line| with_prompt_words(&line, record)).collect(),
        RunStatus::Concluded(_) | RunStatus::Waiting { .. } | RunStatus::Open => lines,
    }
}

/// A sentence that names a prompt by its id, with the prompt's words in the id's place.
pub fn with_prompt_words(sentence: &str, record: &Record) -> String {
    let id = sentence.split('`').nth(1);
    let asked = id.and_then(|id| record.answers().find(|answered| answered.prompt.id.as_str() == id));
    match (id, asked) {
        (Some(id), Some(asked)) => {
            let words = format!("\u{201c}{}\u{201d}", harmless(&plain(&asked.prompt.text)));
            sentence.replacen(&format!("`{id}`"), &words, 1)
        }
        _ => sentence.to_owned(),
    }
}

/// The finding and the correction; several lines if the readings fit more than one cause. `check`: after a repair.
pub fn lines(standing: &RunStatus, check: bool) -> Vec<String> {
    match standing {
        RunStatus::Concluded(causes) => match causes.as_slice() {
            [only] => vec![with_work(&found(only, is_gone(standing)), only, check)],
            several => {
                let one = |(index, cause): (usize, &NamedCause)| {
                    format!("{}. {}", index + 1, with_work(&found(cause, true), cause, check))
                };
                let first = "Found: the readings fit more than one cause.".to_owned();
                std::iter::once(first).chain(several.iter().enumerate().map(one)).collect()
            }
        },
        RunStatus::Ended(ending) => vec![stopped(&ending_text(ending))],
        RunStatus::Waiting { prompt, text } => {
            vec![stopped(&format!("Not finished. It waits for: {text} (`{prompt}`)"))]
        }
        RunStatus::Open => vec!["Not finished. It was paused or broken off.".to_owned()],
    }
}

/// A cause at the prompt that asks whether it is accepted.
pub fn in_words(cause: &NamedCause) -> String {
    if is_not_present(cause) && cause.cause == NOT_SEEN {
        "The fault did not show during this test".to_owned()
    } else {
        cause.cause.clone()
    }
}

fn found(cause: &NamedCause, bare: bool) -> String {
    match (is_not_present(cause), bare) {
        (true, _) if cause.cause == NOT_SEEN => "The fault did not show during this test.".to_owned(),
        (true, _) => format!("The fault did not show during this test. {}", stopped(&cause.cause)),
        (false, true) => stopped(&cause.cause),
        (false, false) => format!("Found: {}", stopped(&cause.cause)),
    }
}

fn with_work(found: &str, cause: &NamedCause, check: bool) -> String {
    match correction(cause, check) {
        Some(correction) => format!("{found} Do: {}", stopped(correction)),
        None => found.to_owned(),
    }
}

/// As a sentence with its stop.
fn stopped(text: &str) -> String {
    let text = harmless(&plain(text.trim()));
    if text.ends_with(['.', '!', '?']) { text } else { format!("{text}.") }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::prompt::CauseId;

    fn concluded(ids: &[&str]) -> RunStatus {
        let cause = |id: &&str| NamedCause {
            id: CauseId::new(*id),
            cause: format!("The {id} is open"),
            correction: if *id == "repaired" { "None" } else { "Replace it" }.to_owned(),
            customer: Some("For an owner".to_owned()),
        };
        RunStatus::Concluded(ids.iter().map(cause).collect())
    }

    #[test]
    fn the_first_sentence_names_what_was_found_and_what_to_do() {
        assert_eq!(lines(&concluded(&["wire"]), false), ["Found: The wire is open. Do: Replace it."]);
        assert_eq!(lines(&concluded(&["repaired"]), true), ["The repaired is open."]);
        assert_eq!(
            lines(&concluded(&["not_present"]), true),
            ["The fault did not show during this test. The not_present is open."]
        );
        assert_eq!(
            lines(&concluded(&["wire", "pin"]), false),
            [
                "Found: the readings fit more than one cause.",
                "1. The wire is open. Do: Replace it.",
                "2. The pin is open. Do: Replace it."
            ]
        );
        assert_eq!(lines(&RunStatus::Open, false), ["Not finished. It was paused or broken off."]);
    }
}
