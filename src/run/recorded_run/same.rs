//! Whether a record and its run again say the same.

use crate::model::ending::Ending;
use crate::model::event::{Event, Told};
use crate::model::limits::Verdict;
use crate::model::words;

/// Whether two events say the same. How a failure of the script is worded may change.
pub(super) fn same(then: &Event, now: &Event) -> bool {
    match (then, now) {
        (Event::Ended { ending: Ending::Failed { .. } }, Event::Ended { ending: Ending::Failed { .. } }) => true,
        (Event::Ended { ending: then }, Event::Ended { ending: now }) => then.is_the_same_as(now),
        (
            Event::Answered { prompt, answer, verdict: Some(verdict), origin },
            Event::Answered { prompt: prompt_now, answer: answer_now, verdict: Some(verdict_now), origin: origin_now },
        ) => verdict.says_the_same_as(verdict_now) && (prompt, answer, origin) == (prompt_now, answer_now, origin_now),
        // How long somebody waited is not seen again.
        (Event::Acted { action, already, back, .. }, now) => {
            matches!(now, Event::Acted { action: action_now, already: already_now, back: back_now, .. }
                if (action, already, back) == (action_now, already_now, back_now))
        }
        _ => then == now,
    }
}

/// Two events, each in the words that set it apart from the other.
pub(super) fn in_contrast(then: &Event, now: &Event) -> (String, String) {
    let told = |cautions: &[Told]| {
        let names: Vec<_> = cautions.iter().map(|told| told.id.as_str()).collect();
        format!("the cautions {}", words::all(&names))
    };
    match (then, now) {
        (
            Event::Answered { prompt, answer, verdict, .. },
            Event::Answered { prompt: prompt_now, answer: answer_now, verdict: verdict_now, .. },
        ) if prompt.id == prompt_now.id => {
            let verdict_words = |verdict: &Option<Verdict>| {
                verdict.map_or_else(|| "without a verdict".to_owned(), |verdict| format!("the verdict {verdict}"))
            };
            if verdict != verdict_now {
                let of = |words: String| format!("{words} at `{}`", prompt.id);
                (of(verdict_words(verdict)), of(verdict_words(verdict_now)))
            } else if answer == answer_now {
                (
                    format!("{} as it was asked then", prompt.in_words()),
                    format!("{} asked otherwise", prompt_now.in_words()),
                )
            } else {
                (format!("another answer to `{}`", prompt.id), format!("the answer to `{}` read otherwise", prompt.id))
            }
        }
        (Event::Cautioned { cautions }, Event::Cautioned { cautions: cautions_now }) => {
            (told(cautions), told(cautions_now))
        }
        (Event::Reminded { cautions }, Event::Reminded { cautions: cautions_now }) => {
            (format!("a reminder of {}", told(cautions)), format!("a reminder of {}", told(cautions_now)))
        }
        (_, Event::Cautioned { cautions }) => (then.kind_in_words(), told(cautions)),
        (Event::Cautioned { cautions }, _) => (told(cautions), now.kind_in_words()),
        _ => (then.kind_in_words(), now.kind_in_words()),
    }
}
