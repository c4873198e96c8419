//! What a journal of format 1 says in sentences or not at all, filled in after reading. Only this file reads old sentences.
//!
//! Format 1 is never written any more. Digests and signatures work on its bytes as they are, before any of this.

use crate::model::answered_by::AnsweredBy;
use crate::model::ending::{Ending, Why};
use crate::model::event::{Entry, Event};
use crate::model::origin::Origin;
use crate::model::prompt::{CautionId, PromptId};

/// Fills in what an entry of format 1 leaves to be understood. In format 1 a run says once who answers it.
pub fn fill_in(entry: &mut Entry, answered_by: AnsweredBy) {
    match &mut entry.event {
        Event::Answered { origin: origin @ Origin::NotSaid, .. }
        | Event::SweepRead { origin: origin @ Origin::NotSaid, .. } => *origin = origin_of(answered_by),
        Event::Ended { ending: Ending::Unfinished { why, words } } => {
            if let Why::InWords { reason } = why {
                let (understood, said) = why_of(reason);
                *why = understood;
                if words.is_none() {
                    *words = said;
                }
            }
        }
        _ => {}
    }
}

const fn origin_of(answered_by: AnsweredBy) -> Origin {
    match answered_by {
        AnsweredBy::Person | AnsweredBy::Record => Origin::TYPED,
        AnsweredBy::File => Origin::File,
        AnsweredBy::Table => Origin::Table,
        AnsweredBy::Bench => Origin::Bench { showed: None },
    }
}

/// A reason from its sentence, and what somebody said to it where that stands within the sentence.
fn why_of(reason: &str) -> (Why, Option<String>) {
    let why = |why| (why, None);
    if let Some(action) = reason.strip_prefix("not done: ") {
        return why(Why::NotDoneInWords { action: action.to_owned() });
    }
    if let Some(caution) = quoted(reason, "no qualified person was named for ") {
        return why(Why::NoQualifiedPerson { caution: CautionId::new(caution) });
    }
    let Some((id, rest)) = reason.strip_prefix('`').and_then(|rest| rest.split_once('`')) else {
        return why(Why::Author { text: reason.to_owned() });
    };
    let prompt = || PromptId::new(id);
    let said = || {
        let (said, needs) = rest.strip_prefix(" was skipped (")?.rsplit_once("), ")?;
        (needs == "and the procedure needs it").then(|| said.to_owned())
    };
    match rest {
        " was skipped, and the procedure needs it" => why(Why::Needs { id: prompt() }),
        " shows OL, and the procedure needs its value" => why(Why::NoValue { id: prompt() }),
        " shows OL, which says nothing of the circuit: look at the meter's dial, range and leads" => {
            why(Why::OverRange { id: prompt() })
        }
        _ => match said() {
            Some(said) => (Why::Needs { id: prompt() }, Some(said)),
            None => why(Why::Author { text: reason.to_owned() }),
        },
    }
}

/// What stands in quotation marks after these words, and nothing after it.
fn quoted<'a>(text: &'a str, words: &str) -> Option<&'a str> {
    text.strip_prefix(words)?.strip_prefix('`')?.strip_suffix('`')
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::stamp::Stamp;
    use crate::model::vehicle::Action;

    fn understood(line: &str) -> Ending {
        let mut entry: Entry = serde_json::from_str(line).unwrap();
        fill_in(&mut entry, AnsweredBy::Person);
        assert_eq!(entry.at, Stamp::new("2026-01-05T08:00:00Z"));
        match entry.event {
            Event::Ended { ending } => ending,
            other => panic!("{other:?}"),
        }
    }

    fn ended(rest: &str) -> Ending {
        understood(&format!(r#"{{"at":"2026-01-05T08:00:00Z","event":"ended","how":"unfinished",{rest}}}"#))
    }

    #[test]
    fn each_sentence_of_format_1_becomes_its_reason() {
        let id = || PromptId::new("fit");
        let alone = |why| Ending::Unfinished { why, words: None };
        let said = |why| Ending::Unfinished { why, words: Some("no light".to_owned()) };
        let needs = Why::Needs { id: id() };
        assert_eq!(ended(r#""reason":"`fit` was skipped, and the procedure needs it""#), alone(needs.clone()));
        assert_eq!(
            ended(r#""reason":"`fit` was skipped, and the procedure needs it","words":"no light""#),
            said(needs.clone())
        );
        assert_eq!(ended(r#""reason":"`fit` was skipped (no light), and the procedure needs it""#), said(needs));
        assert_eq!(
            ended(r#""reason":"`fit` shows OL, and the procedure needs its value""#),
            alone(Why::NoValue { id: id() })
        );
        assert_eq!(
            ended(
                r#""reason":"`fit` shows OL, which says nothing of the circuit: look at the meter's dial, range and leads""#
            ),
            alone(Why::OverRange { id: id() })
        );
        assert_eq!(
            ended(r#""reason":"no qualified person was named for `high_voltage`""#),
            alone(Why::NoQualifiedPerson { caution: CautionId::new("high_voltage") })
        );
        let author = "`fit` is worn out";
        assert_eq!(ended(&format!(r#""reason":"{author}""#)), Ending::author(author));
    }

    #[test]
    fn an_action_that_was_not_done_is_known_again_by_its_words() {
        let unplug = Action::Unplug { connector: "C41".into() };
        let newer = ended(r#""reason":"not done: Unplug C41","words":"seized (rust)""#);
        let oldest = ended(r#""reason":"not done: Unplug C41 (seized (rust))""#);
        for ending in [newer, oldest] {
            assert_eq!(ending.why_not_done(&unplug), Some("seized (rust)"));
            assert!(ending.is_the_same_as(&Ending::not_done(unplug.clone(), "seized (rust)")));
            assert!(!ending.is_the_same_as(&Ending::not_done(unplug.clone(), "rust")));
        }
    }

    #[test]
    fn an_answer_comes_from_whoever_the_run_says_answered_it() {
        let line = |carried: &str| {
            format!(
                r#"{{"at":"2026-01-05T08:00:00Z","event":"answered","id":"a","text":"b","ask":"note","answer":"note","words":"c"{carried}}}"#
            )
        };
        let origin = |line: &str, by| {
            let mut entry: Entry = serde_json::from_str(line).unwrap();
            fill_in(&mut entry, by);
            match entry.event {
                Event::Answered { origin, .. } => origin,
                other => panic!("{other:?}"),
            }
        };
        assert_eq!(origin(&line(""), AnsweredBy::Person), Origin::TYPED);
        assert_eq!(origin(&line(""), AnsweredBy::Bench), Origin::Bench { showed: None });
        assert_eq!(origin(&line(r#","carried":true"#), AnsweredBy::File), Origin::CarriedOver);
    }
}
