//! The customer's page in sentences: what was found, what it is worth, what a value should be.

use crate::model::answered_by::AnsweredBy;
use crate::model::dimension::Dimension;
use crate::model::ending::Ending;
use crate::model::event::NamedCause;
use crate::model::limits::Limits;
use crate::model::prompt::{Answer, Question};
use crate::model::record::{Answered, Record, RunStatus};
use crate::model::sweep::Shape;
use crate::model::typed::Shown;
use crate::model::unit::significant;
use crate::model::words;
use crate::report::comparison::is_measured;
use crate::report::material::{Material, correction, is_not_present};
use crate::report::measured::{self, Mark};
use crate::report::one_line::plain;
use crate::report::sweep::sweep_span;

/// How the page speaks: of a customer's vehicle, or of an exercise on a simulated circuit.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Words {
    /// A vehicle was tested.
    Vehicle,
    /// A vehicle was tested after its repair.
    Repaired,
    /// No vehicle was there.
    Exercise,
}

impl Words {
    /// Those that fit a record.
    pub fn of(material: &Material) -> Self {
        match (material.record.started.answered_by, material.is_check()) {
            (AnsweredBy::Bench, _) => Self::Exercise,
            (_, true) => Self::Repaired,
            (_, false) => Self::Vehicle,
        }
    }

    /// Over the page.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Vehicle => "What we found on your vehicle",
            Self::Repaired => "Your vehicle after the repair",
            Self::Exercise => "Exercise on a simulated circuit",
        }
    }

    /// Over the concern.
    pub const fn concern(self) -> &'static str {
        match self {
            Self::Vehicle | Self::Repaired => "What you told us",
            Self::Exercise => "The concern in this exercise",
        }
    }

    /// Whether somebody saw it happen.
    pub const fn seen(self, verified: Option<bool>) -> &'static str {
        match (self, verified) {
            (Self::Exercise, _) | (_, None) => "",
            (_, Some(true)) => " (We saw it happen, too.)",
            (_, Some(false)) => " (We did not see it ourselves.)",
        }
    }

    /// Where the rest is.
    pub const fn kept(self) -> &'static str {
        match self {
            Self::Vehicle | Self::Repaired => "The shop keeps the full record with every measurement.",
            Self::Exercise => "The full record has every reading.",
        }
    }
}

/// What was found, one sentence a paragraph.
pub fn found(standing: &RunStatus, conditions: Option<&str>) -> Vec<String> {
    match standing {
        RunStatus::Concluded(causes) if causes.len() == 1 && is_not_present(&causes[0]) => {
            let under = conditions.map(|conditions| format!(" ({})", plain(conditions))).unwrap_or_default();
            vec![format!("The trouble was not there while we tested{under}.")]
        }
        RunStatus::Concluded(causes) => {
            let wrong: Vec<&NamedCause> = causes.iter().filter(|cause| !is_not_present(cause)).collect();
            let perhaps_nothing = wrong.len() < causes.len();
            match wrong.as_slice() {
                [only] if perhaps_nothing => {
                    vec![stopped(&format!("Either nothing is wrong at present, or: {}", only.cause.trim()))]
                }
                [only] => vec![stopped(&only.cause)],
                several => {
                    let first = if perhaps_nothing {
                        "Either nothing is wrong at present, or it is one of these:"
                    } else {
                        "The measurements fit more than one cause:"
                    };
                    std::iter::once(first.to_owned()).chain(several.iter().map(|cause| stopped(&cause.cause))).collect()
                }
            }
        }
        RunStatus::Ended(Ending::Unconcluded) => vec!["The test ran to its end and did not show a cause.".to_owned()],
        RunStatus::Ended(ending @ Ending::Unfinished { .. }) => {
            vec![stopped(&format!("The test was not finished: {}", ending.reason().unwrap_or_default()))]
        }
        RunStatus::Ended(Ending::Failed { .. }) | RunStatus::Waiting { .. } | RunStatus::Open => {
            vec!["The test is not finished yet.".to_owned()]
        }
    }
}

/// What the causes ask for; after a repair nothing about what is no longer there.
pub fn to_do(standing: &RunStatus, check: bool) -> Vec<String> {
    let RunStatus::Concluded(causes) = standing else { return vec![] };
    let with_work = causes.iter().filter_map(|cause| Some((cause, correction(cause, check)?)));
    with_work
        .filter(|(cause, _)| causes.len() == 1 || !is_not_present(cause))
        .map(|(cause, correction)| match causes.len() {
            1 => stopped(correction),
            // What is to be done depends on which of them it is.
            _ => stopped(&format!("If it is \u{201c}{}\u{201d}: {correction}", cause.cause.trim())),
        })
        .collect()
}

/// As a sentence with its stop.
pub fn stopped(text: &str) -> String {
    let text = plain(text.trim());
    if text.ends_with(['.', '!', '?']) { text } else { format!("{text}.") }
}

/// No longer than so many characters, and where the rest is.
pub fn shortened(text: &str, longest: usize) -> String {
    let Some((end, _)) = text.char_indices().nth(longest) else { return text.to_owned() };
    let cut = text[..end].rfind(char::is_whitespace).unwrap_or(end);
    format!("{} \u{2026} (whole in the full record)", text[..cut].trim_end())
}

/// What the finding is worth, and what it is not.
pub fn meaning(material: &Material) -> Vec<String> {
    let measured: Vec<&Answered> = material.record.answers().filter(|answered| is_measured(answered)).collect();
    let worth = match &material.record.status {
        RunStatus::Concluded(causes) if causes.len() > 1 => {
            "The measurements fit each of the causes above. Which of them it is takes further work; nothing should be \
             replaced on a guess."
        }
        RunStatus::Concluded(causes) if causes.iter().any(is_not_present) => {
            "That is no promise that it will not come back: it holds for what we tested, and for how the vehicle stood then."
        }
        RunStatus::Concluded(_) if material.is_check() => "The measurements after the repair lead to this result.",
        RunStatus::Concluded(_) => "The measurements lead to this one cause.",
        _ => "No cause is proven yet. Nothing should be replaced on the strength of this test.",
    };
    let mut lines = vec![format!("{worth} {}", counted(&measured))];
    let unsure = measured.iter().filter(|answered| measured::is_unsure(answered)).count();
    if unsure > 0 {
        lines.push(
            "Too close to call: nearer to a limit than our meter can tell, so that it may lie on either side of it."
                .to_owned(),
        );
    }
    let mut unsettled: Vec<_> = measured.iter().filter_map(|answered| measured::calibration_words(answered)).collect();
    unsettled.sort_unstable();
    for same in unsettled.chunk_by(|a, b| a == b) {
        lines.push(format!(
            "How exact {} not known: {}.",
            words::count(same.len(), "measurement is, is", "measurements are, is"),
            same[0],
        ));
    }
    lines
}

fn counted(measured: &[&Answered]) -> String {
    let unsure = measured.iter().filter(|answered| measured::is_unsure(answered)).count();
    let bad = measured.iter().filter(|a| Mark::of(a).is_bad() && !measured::is_unsure(a)).count();
    if measured.is_empty() {
        return "Nothing was measured.".to_owned();
    }
    let number = |count: usize, what: &str| match count {
        0 => format!("none was {what}"),
        1 => format!("one was {what}"),
        more => format!("{more} were {what}"),
    };
    let close = if unsure > 0 { format!(", {}", number(unsure, "too close to call")) } else { String::new() };
    format!(
        "We took {}; {}{close}.",
        words::count(measured.len(), "measurement", "measurements"),
        number(bad, "out of line")
    )
}

/// A drawing's description.
pub fn bar_words(answered: &Answered) -> String {
    format!("{}; it should be {}.", verdict_words(answered), should_be(&answered.prompt.question))
}

/// What was measured.
pub fn value_words(answered: &Answered) -> String {
    if let Some((ends, _, _)) = measured::track(answered) {
        return match sweep_span(&answered.sweep, &answered.shown, ends) {
            Some((lowest, highest)) => format!("{lowest} to {highest}"),
            None => "nothing that the meter can show".to_owned(),
        };
    }
    if measured::values(answered).contains(&Shown::OverRange) {
        "off the meter's scale".to_owned()
    } else {
        measured::answer_words(answered).replace(" \u{2026} ", " to ")
    }
}

/// The verdict as one would say it to somebody who owns no meter.
pub fn verdict_words(answered: &Answered) -> &'static str {
    let resistance = answered.prompt.question.unit().is_some_and(|unit| unit.dimension() == Dimension::RESISTANCE);
    match (Mark::of(answered), measured::track(answered).map(|(_, _, track)| track.shape)) {
        (_, Some(Shape::Stuck)) => "does not move as it should",
        (_, Some(Shape::ShortOfEnd)) => "does not reach both ends",
        (_, Some(Shape::Dropout)) => "breaks off on the way",
        _ if measured::is_unsure(answered) => "too close to call",
        (Mark::Good, _) => "as it should be",
        (Mark::Low, _) => "too low",
        (Mark::High, _) => "too high",
        (Mark::Open, _) if resistance => "no connection",
        (Mark::Unsteady, _) => "does not keep still",
        (Mark::Open | Mark::Off, _) => "not as it should be",
        (Mark::Skipped, _) => "not measured",
        (Mark::Plain, _) => "written down, not judged",
    }
}

/// What a value should be.
pub fn should_be(question: &Question) -> String {
    let both = |limits: &Limits| match (limits.low(), limits.high()) {
        (Some(low), Some(high)) => {
            let number = |value| significant(limits.unit.number(value), 5);
            limits.unit.with_symbol(&format!("{} to {}", number(low), number(high)))
        }
        (Some(low), None) => format!("{} or more", limits.unit.show(low, 5)),
        (None, Some(high)) => format!("{} or less", limits.unit.show(high, 5)),
        (None, None) => String::new(),
    };
    match question {
        Question::Sweep { ends, .. } => {
            format!(
                "from about {} to about {}, without a break",
                ends.unit.show(ends.one, 4),
                ends.unit.show(ends.other, 4)
            )
        }
        other => measured::limits_of(other).map(both).unwrap_or_default(),
    }
}

/// What was left out, and what this test does not look at; `most` of what was left out by name.
pub fn untested(record: &Record, most: usize) -> Vec<String> {
    let mut lines: Vec<String> = record
        .answers()
        .filter_map(|answered| match &answered.answer {
            Answer::Skipped { reason } if reason.trim().is_empty() => Some(stopped(&answered.prompt.text)),
            Answer::Skipped { reason } => {
                Some(stopped(&format!("{}: {}", answered.prompt.text, shortened(reason, 120))))
            }
            _ => None,
        })
        .collect();
    if lines.len() > most {
        let more = lines.len() - most;
        lines.truncate(most);
        lines.push(format!("And {}; the full record has them.", words::count(more, "other", "others")));
    }
    lines.push(match &record.status {
        RunStatus::Concluded(_) | RunStatus::Ended(Ending::Unconcluded) => {
            "Only what this test asks for was tested. Nothing else on the vehicle was looked at.".to_owned()
        }
        RunStatus::Waiting { text, .. } => format!(
            "The rest of this test, from \u{201c}{}\u{201d} on. Nothing else on the vehicle was looked at.",
            plain(text)
        ),
        RunStatus::Ended(_) | RunStatus::Open => {
            "The rest of this test, which was not finished. Nothing else on the vehicle was looked at.".to_owned()
        }
    });
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::prompt::CauseId;

    fn causes(names: &[&str]) -> RunStatus {
        let named = |name: &&str| NamedCause {
            id: CauseId::new(*name),
            cause: name.replace('_', " "),
            correction: if *name == "repaired" { "None" } else { "Replace it" }.to_owned(),
        };
        RunStatus::Concluded(names.iter().map(named).collect())
    }

    #[test]
    fn nothing_wrong_is_one_of_the_causes_and_no_part_of_the_list() {
        assert_eq!(found(&causes(&["not_present", "pump"]), None), ["Either nothing is wrong at present, or: pump."]);
        assert_eq!(to_do(&causes(&["not_present", "pump"]), false), ["If it is \u{201c}pump\u{201d}: Replace it."]);
        assert_eq!(
            found(&causes(&["pump", "not_present", "wire"]), None),
            ["Either nothing is wrong at present, or it is one of these:", "pump.", "wire."]
        );
        assert_eq!(to_do(&causes(&["repaired"]), true), Vec::<String>::new());
    }

    #[test]
    fn what_is_long_says_where_the_rest_is() {
        assert_eq!(shortened("as it is", 8), "as it is");
        assert_eq!(shortened("the lamp comes on", 12), "the lamp \u{2026} (whole in the full record)");
        assert_eq!(shortened("\u{e4}\u{e4}\u{e4}\u{e4}", 2), "\u{e4}\u{e4} \u{2026} (whole in the full record)");
    }
}
