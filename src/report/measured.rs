//! A reading as reports need it: its values, limits, accuracy and verdict in numbers and in words.

use super::action::{name_of, pin_of};
use super::entry::{answer_text, limits_text, verdict_text};
use super::one_line::plain;
use super::source_words::source_words;
use super::sweep::sweep_text;
use crate::model::limits::{LimitResult, Limits, NoAccuracy, Sureness};
use crate::model::meter::assumed;
use crate::model::meter::{Function, Meter};
use crate::model::prompt::{Answer, Ends, LeadEnd, Question};
use crate::model::quantity::Quantity;
use crate::model::record::given::Answered;
use crate::model::sweep::{self, Shape, Track};
use crate::model::typed::{self, Shown};

/// The limits that a question's values are held against.
pub const fn limits_of(question: &Question) -> Option<&Limits> {
    match question {
        Question::Reading { limits, .. }
        | Question::ModuleValue { limits, .. }
        | Question::Number { limits }
        | Question::LowestHighest { limits, .. } => Some(limits),
        Question::Sweep { .. } | Question::YesNo | Question::Choice { .. } | Question::Note => None,
    }
}

/// The values of an answer, one or two, of a reading that does not rest its lowest and highest; none where no number was asked
/// for or it was skipped.
pub fn values(answered: &Answered) -> Vec<Shown> {
    match answered.prompt.question {
        Question::Sweep { .. } => vec![],
        _ => answered
            .shown
            .iter()
            .flatten()
            .flat_map(|shown| match *shown {
                Shown::Unsteady { lowest, highest } => vec![Shown::Value(lowest), Shown::Value(highest)],
                one => vec![one],
            })
            .collect(),
    }
}

/// The meter's worst case at a value: as the journal has it, else from the meter's figures; `None` where nobody knows.
pub fn accuracy(answered: &Answered, value: Quantity, meter: Option<&Meter>) -> Option<Quantity> {
    let from_figures = |function: Function| Some(meter?.range_for(function, value)?.worst_case(value));
    match answered.verdict?.sureness {
        Sureness::Unknown { .. } => None,
        Sureness::Unsure { accuracy } => match &answered.answer {
            Answer::Reading { .. } => Some(accuracy),
            _ => answered.prompt.question.function().and_then(from_figures),
        },
        Sureness::Sure => answered.prompt.question.function().and_then(from_figures),
    }
}

/// Whether a leads description was given, and the ends in words: lead, name, and where that is.
pub fn leads(question: &Question) -> Vec<(&'static str, String)> {
    let ends = question.leads().map(crate::model::prompt::Leads::ends).unwrap_or_default();
    ends.into_iter().map(|(lead, end)| (lead, end_text(end, end.place.as_deref()))).collect()
}

fn end_text(end: &LeadEnd, place: Option<&str>) -> String {
    let details: Vec<&str> = [pin_of(end), end.wire.as_deref(), place].into_iter().flatten().collect();
    let name = name_of(end);
    plain(&if details.is_empty() { name } else { format!("{name} ({})", details.join(", ")) })
}

/// A sweep's readings, those that can be read, held against its ends.
pub fn track(answered: &Answered) -> Option<(&Ends, Vec<Shown>, Track)> {
    let Question::Sweep { ends, .. } = &answered.prompt.question else { return None };
    if matches!(answered.answer, Answer::Skipped { .. }) {
        return None;
    }
    let shown: Vec<Shown> = answered.shown.iter().flatten().copied().collect();
    let mut track = Track::of(&shown, ends);
    // A signal that breaks off has not turned there.
    let sound: Vec<Option<f64>> = shown
        .iter()
        .enumerate()
        .map(|(index, shown)| match shown {
            Shown::Value(value) if !track.dropouts.contains(&index) => Some(value.si()),
            _ => None,
        })
        .collect();
    track.turns = sweep::turns(&sound);
    (!shown.is_empty()).then_some((ends, shown, track))
}

/// How an answer stands, beyond its words: what reports mark, sort and count by.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Mark {
    /// Inside the limits, or follows.
    Good,
    /// Below.
    Low,
    /// Above.
    High,
    /// `OL`.
    Open,
    /// The sweep is not as it should be.
    Off,
    /// It does not rest.
    Unsteady,
    /// Left out.
    Skipped,
    /// Not judged.
    Plain,
}

impl Mark {
    /// Of an answer.
    pub fn of(answered: &Answered) -> Self {
        if matches!(answered.answer, Answer::Skipped { .. }) {
            return Self::Skipped;
        }
        if let Some((_, _, track)) = track(answered) {
            return if track.shape == Shape::Follows { Self::Good } else { Self::Off };
        }
        answered.verdict.map_or(Self::Plain, |verdict| match verdict.standing {
            LimitResult::In => Self::Good,
            LimitResult::Low => Self::Low,
            LimitResult::High => Self::High,
            LimitResult::Open | LimitResult::OverRange => Self::Open,
            LimitResult::Unsteady => Self::Unsteady,
        })
    }

    /// Whether something was found that should not be so.
    pub const fn is_bad(self) -> bool {
        matches!(self, Self::Low | Self::High | Self::Open | Self::Off | Self::Unsteady)
    }

    /// A sign beside the words, so that a verdict is not told by color.
    pub const fn sign(self) -> &'static str {
        match self {
            Self::Good => "\u{2022}",
            Self::Low => "\u{25bc}",
            Self::High => "\u{25b2}",
            Self::Open | Self::Off | Self::Unsteady => "\u{25c6}",
            Self::Skipped => "\u{2013}",
            Self::Plain => "",
        }
    }
}

/// Whether the verdict is nearer to a limit than the meter can tell.
pub fn is_unsure(answered: &Answered) -> bool {
    matches!(answered.verdict, Some(verdict) if matches!(verdict.sureness, Sureness::Unsure { .. }))
}

/// What is wrong with the meter's calibration, if nothing can be built on it.
pub fn calibration_words(answered: &Answered) -> Option<&'static str> {
    match answered.verdict?.sureness {
        Sureness::Unknown { why: NoAccuracy::CalibrationPast } => Some("the meter's calibration was past its date"),
        Sureness::Unknown { why: NoAccuracy::NoCalibrationDate } => Some("the meter has no calibration date"),
        _ => None,
    }
}

/// The verdict in words: of a sweep, whether it follows.
pub fn verdict_words(answered: &Answered) -> String {
    if matches!(answered.answer, Answer::Skipped { .. }) {
        return "skipped".to_owned();
    }
    match &answered.prompt.question {
        Question::Sweep { ends, .. } => sweep_text(&answered.sweep, &answered.shown, ends),
        _ => verdict_text(answered.verdict) + near_for_assumed(answered),
    }
}

/// What follows a verdict that no named meter was behind, where a common meter could not tell it from its limit.
pub fn near_for_assumed(answered: &Answered) -> &'static str {
    let verdict = assumed::verdict(&answered.prompt, &answered.answer, answered.verdict);
    match verdict.map(|(verdict, _)| verdict.sureness) {
        Some(Sureness::Unsure { .. }) => ", near the limit (assumed meter)",
        _ => "",
    }
}

/// What was answered, in words.
pub fn answer_words(answered: &Answered) -> String {
    plain(&answer_text(&answered.prompt, &answered.answer))
}

/// The limits in words, and their source as a page says it.
pub fn limits_words(question: &Question) -> (String, Option<String>) {
    let source = source_of(question).map(|source| plain(&source_words(source)));
    (limits_text(question), source.filter(|source| !source.is_empty()))
}

/// Where a question's limits come from, as their author wrote it.
pub fn source_of(question: &Question) -> Option<&str> {
    match question {
        Question::Sweep { ends, .. } => ends.source.as_deref(),
        other => limits_of(other).and_then(|limits| limits.source.as_deref()),
    }
}

/// A sweep's readings in their order, as they were typed; nothing where it is none.
pub fn sweep_list(answered: &Answered) -> String {
    let Some((ends, _, track)) = track(answered) else { return String::new() };
    let readable =
        answered.sweep.iter().zip(&answered.shown).filter_map(|(reading, shown)| shown.as_ref().map(|_| reading));
    let words: Vec<String> = readable
        .enumerate()
        .map(|(index, reading)| {
            let mut word = typed::as_shown(&reading.text, ends.unit);
            if let Some(position) = &reading.position {
                word.push_str(&format!(" at {position}"));
            }
            if track.dropouts.contains(&index) {
                word.push_str(" (breaks off)");
            } else if track.turns.contains(&index) {
                word.push_str(" (turns)");
            }
            word
        })
        .collect();
    plain(&format!("In order: {}.", words.join(", ")))
}

/// The question in words with its name, and below it where the leads go: pin and wire, since a line has no room for more.
pub fn question_words(answered: &Answered) -> String {
    let question = &answered.prompt.question;
    let mut lines = vec![plain(&format!("{} ({})", answered.prompt.text, answered.prompt.id))];
    if let Question::ModuleValue { signal, .. } = question {
        lines.push(plain(&format!("as the control module shows it: {}", signal.replace('_', " "))));
    }
    let ends = question.leads().map(crate::model::prompt::Leads::ends).unwrap_or_default();
    lines.extend(ends.into_iter().map(|(lead, end)| format!("{lead}: {}", end_text(end, None))));
    lines.join("\n")
}
