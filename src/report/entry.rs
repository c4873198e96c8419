//! One entry in a line: the live view, replay and the report print it through this.

use super::action;
use super::one_line::when;
use super::table::harmless;
use super::vehicle;
use crate::model::clean::Clean;
use crate::model::ending::Ending;
use crate::model::event::{Entry, Event};
use crate::model::limits::{LimitResult, Sureness, Verdict};
use crate::model::origin::Origin;
use crate::model::points::Points;
use crate::model::prompt::{Answer, Prompt, Question};
use crate::model::signoff::Statement;
use crate::model::stamp::Stamp;
use crate::model::typed;
use crate::model::vehicle::{Action, VehicleState};
use crate::model::words;

/// How an entry should catch the eye; the words say it, too.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Tone {
    /// As it should be.
    Good,
    /// As it should not be.
    Bad,
    /// To be looked at.
    Doubtful,
    /// Nothing to say about it.
    Plain,
}

/// An answer as people read it: the value in the prompt's unit, or the words.
pub fn answer_text(prompt: &Prompt, answer: &Answer) -> String {
    let value = |text: &str| match prompt.question.unit() {
        Some(unit) => typed::as_shown(text, unit),
        None => text.trim().to_owned(),
    };
    harmless(&match answer {
        Answer::Reading { typed } => value(typed),
        Answer::LowestHighest { lowest, highest } => format!("{} … {}", value(lowest), value(highest)),
        Answer::Sweep { readings } => words::count(*readings, "reading", "readings"),
        Answer::YesNo { yes } => if *yes { "yes" } else { "no" }.to_owned(),
        Answer::Choice { option } => option.clone(),
        Answer::Note { words } => words.clone(),
        Answer::Skipped { reason } => format!("skipped: {reason}"),
    })
}

/// The limits of a question in words; empty where it has none.
pub fn limits_text(question: &Question) -> String {
    match question {
        Question::Reading { limits, .. }
        | Question::ModuleValue { limits, .. }
        | Question::Number { limits }
        | Question::LowestHighest { limits, .. } => limits.to_string(),
        Question::Sweep { ends, .. } => {
            let number = |quantity| crate::model::unit::significant(ends.unit.number(quantity), 5);
            let tolerance = crate::model::unit::significant(
                ends.unit.number(ends.one.with_si(ends.one.si() + ends.tolerance.si())) - ends.unit.number(ends.one),
                3,
            );
            ends.unit.with_symbol(&format!("{} … {} (ends ± {tolerance})", number(ends.one), number(ends.other)))
        }
        Question::YesNo | Question::Choice { .. } | Question::Note => String::new(),
    }
}

/// The verdict in words; empty where there is none.
pub fn verdict_text(verdict: Option<Verdict>) -> String {
    verdict.map_or_else(String::new, |verdict| verdict.to_string())
}

/// How a verdict catches the eye.
pub fn verdict_tone(verdict: Option<Verdict>) -> Tone {
    match verdict {
        None => Tone::Plain,
        Some(Verdict { sureness: Sureness::Unsure { .. }, .. }) => Tone::Doubtful,
        Some(Verdict { standing: LimitResult::In, .. }) => Tone::Good,
        Some(_) => Tone::Bad,
    }
}

/// An entry in a line, if it is one that people read; in the circuit's words, where there is one.
pub fn line(entry: &Entry, points: Option<&Points>) -> Option<(Tone, String)> {
    let (tone, text) = match &entry.event {
        Event::Continued(_) => return None,
        Event::Started(started) => (Tone::Plain, format!("{} (revision {})", started.title(), started.revision())),
        Event::StepBegan { title, .. } => (Tone::Plain, format!("Step: {title}")),
        Event::Cautioned { .. } | Event::Reminded { .. } => return None,
        Event::Acknowledged { cautions, by_person, qualified, origin, .. } => {
            let names: Vec<_> = cautions.iter().map(|id| id.as_str().replace('_', " ")).collect();
            let who = match (by_person, qualified) {
                (true, Some(name)) => format!("confirmed; qualified person: {}", Clean::name(name)),
                (true, None) => "confirmed".to_owned(),
                (false, _) if matches!(origin, Some(Origin::Input)) => {
                    "answered from input, not confirmed by a person".to_owned()
                }
                (false, _) => "not shown: the answers came from a file".to_owned(),
            };
            (if *by_person { Tone::Plain } else { Tone::Doubtful }, format!("Cautions {}: {who}", words::all(&names)))
        }
        Event::Acted { action: Action::TurnKey { to }, already: true, passed_over: false, .. } => {
            (Tone::Plain, format!("Key is already {to}"))
        }
        Event::Acted { action, already, cut_short_after, passed_over, .. } => {
            let done = if *passed_over {
                "Passed over"
            } else if *already {
                "Already done"
            } else {
                "Done"
            };
            (Tone::Plain, format!("{done}: {}", action::done(action, points, *cut_short_after)))
        }
        Event::Doubted { typed, doubt, .. } => (Tone::Doubtful, format!("{typed}? {doubt}")),
        Event::SweepRead { text, position, .. } => (
            Tone::Plain,
            match position {
                Some(position) => format!("{text} at {position}"),
                None => text.clone(),
            },
        ),
        Event::Answered { prompt, answer, verdict, origin } => {
            let mut text = format!("{}: {}", prompt.text, answer_text(prompt, answer));
            let verdict_words = verdict_text(*verdict);
            if !verdict_words.is_empty() {
                text.push_str(&format!(", {verdict_words} ({})", limits_text(&prompt.question)));
            }
            if origin.is_carried_over() {
                text.push_str(", taken over from the earlier record");
            }
            let tone = if matches!(answer, Answer::Skipped { .. }) { Tone::Doubtful } else { verdict_tone(*verdict) };
            (tone, text)
        }
        Event::Noted { text, .. } => (Tone::Plain, format!("Note: {text}")),
        Event::WaitBegan { time, because } => (Tone::Plain, format!("A wait of {time} began: {}", because.reason())),
        Event::Changed { id, old, new, reason, .. } => (
            Tone::Doubtful,
            match new {
                Some(new) => format!("Changed: `{id}` was {old}, mistyped for {new}. Reason: {reason}"),
                None => format!("Measured again: `{id}` was {old}. Reason: {reason}"),
            },
        ),
        Event::Kept { .. } => return None,
        Event::LeftChanged { open } => {
            let words: Vec<String> = open.iter().map(ToString::to_string).collect();
            (Tone::Doubtful, format!("Left changed. To put it back: {}", words.join("; ")))
        }
        Event::Paused => (Tone::Plain, format!("Paused {}", entry.at.short())),
        Event::Resumed { vehicle, corrected, unseen } => {
            (Tone::Plain, format!("Taken up {}: {}", entry.at.short(), vehicle_words(vehicle, *corrected, *unseen)))
        }
        Event::TornLineDropped { bytes } => (
            Tone::Doubtful,
            format!("A line that was not written whole ({}) was dropped", words::count(*bytes, "byte", "bytes")),
        ),
        Event::Struck { id, reading: Some(reading), .. } => {
            (Tone::Doubtful, format!("Taken back: the reading {reading} of `{id}`"))
        }
        Event::Struck { id, .. } => (Tone::Doubtful, format!("Taken back: `{id}` and all later answers")),
        Event::Waited { prompt, .. } => (Tone::Doubtful, format!("Waits for `{prompt}`")),
        Event::Concluded { causes } => {
            let named: Vec<_> = causes.iter().map(|cause| cause.cause.as_str()).collect();
            (Tone::Plain, format!("Cause: {}", named.join("; or: ")))
        }
        Event::Ended { ending } => (Tone::Doubtful, ending_text(ending)),
        Event::Stated(statement) => (Tone::Plain, format!("Signed off: {}", sign_off_text(statement, &entry.at))),
        Event::Signed { .. } => return None,
    };
    Some((tone, harmless(&text)))
}

/// A sign-off in words: meaning, printed name, role, date and time.
pub fn sign_off_text(statement: &Statement, at: &Stamp) -> String {
    let unfinished = if statement.unfinished { " (unfinished)" } else { "" };
    let Statement { name, role, meaning, .. } = statement;
    let (meaning, name, role) = (Clean::name(meaning.as_str()), Clean::name(name), Clean::name(role));
    harmless(&format!("{meaning}{unfinished}, {name}, {role}, {}", when(at)))
}

/// How the vehicle was looked at when a run was taken up again.
pub fn vehicle_words(vehicle: &VehicleState, corrected: bool, unseen: bool) -> String {
    match (unseen, corrected) {
        (true, _) => "nobody was there to look at the vehicle".to_owned(),
        (false, true) => format!("the vehicle's state was corrected: {}", vehicle::words(vehicle)),
        (false, false) => "the vehicle's state was confirmed".to_owned(),
    }
}

/// How a run ended without a cause.
pub fn ending_text(ending: &Ending) -> String {
    match ending {
        Ending::Unconcluded => "Unconcluded: the procedure came to its end without a cause".to_owned(),
        Ending::Unfinished { .. } => format!("Unfinished: {}", ending.reason().unwrap_or_default()),
        Ending::Failed { message } => format!("The procedure has an error: {message}"),
    }
}
