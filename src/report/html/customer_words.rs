//! The customer's page in sentences: what was found, what it is worth, what a value should be.

use super::scales::Scales;
use crate::model::answered_by::AnsweredBy;
use crate::model::dimension::Dimension;
use crate::model::ending::Ending;
use crate::model::event::{LONGEST_FOR_A_CUSTOMER, NamedCause};
use crate::model::prompt::{Answer, Question};
use crate::model::quantity::Quantity;
use crate::model::record::RunStatus;
use crate::model::record::given::Answered;
use crate::model::sweep::Shape;
use crate::model::typed::Shown;
use crate::model::words;
use crate::report::comparison::{Comparison, Pair, is_measured};
use crate::report::material::{Material, is_gone, is_not_present};
use crate::report::measured::{self, Mark};
use crate::report::one_line::plain;

/// How the page speaks: of a customer's vehicle, or of an exercise on a simulated circuit.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Words {
    /// A vehicle was tested.
    Vehicle,
    /// A vehicle was tested after its repair.
    Repaired,
    /// A vehicle was tested again, and nothing had been found that could be repaired.
    Again,
    /// No vehicle was there.
    Exercise,
}

impl Words {
    /// Those that fit a record.
    pub fn of(material: &Material) -> Self {
        match (material.record.started.answered_by, material.is_check()) {
            (AnsweredBy::Bench, _) => Self::Exercise,
            (_, true) if material.is_after_a_repair() => Self::Repaired,
            (_, true) => Self::Again,
            (_, false) => Self::Vehicle,
        }
    }

    /// Over the page.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Vehicle => "What we found on your vehicle",
            Self::Repaired => "Your vehicle after the repair",
            Self::Again => "Your vehicle, tested again",
            Self::Exercise => "Exercise on a simulated circuit",
        }
    }

    /// Over the concern.
    pub const fn concern(self) -> &'static str {
        match self {
            Self::Vehicle | Self::Repaired | Self::Again => "What you told us",
            Self::Exercise => "The concern in this exercise",
        }
    }

    /// Whether somebody saw it happen. That nobody did is no news where there is nothing to see, as at a yearly check.
    pub const fn seen(self, verified: Option<bool>) -> &'static str {
        match (self, verified) {
            (Self::Exercise, _) | (_, None | Some(false)) => "",
            (_, Some(true)) => " (We saw it happen, too.)",
        }
    }

    /// Over what was found.
    pub const fn found(self) -> &'static str {
        match self {
            Self::Vehicle | Self::Exercise => "What we found",
            Self::Repaired => "What we found after the repair",
            Self::Again => "What we found this time",
        }
    }

    /// Over the two columns of a check, and over the second one.
    pub const fn both(self) -> (&'static str, &'static str) {
        match self {
            Self::Again => ("First test and this one", "This time"),
            _ => ("Before and after the repair", "After"),
        }
    }
}

/// What was found, one sentence a paragraph.
pub fn found(standing: &RunStatus, conditions: Option<&str>) -> Vec<String> {
    match standing {
        RunStatus::Concluded(causes) if causes.len() == 1 && is_not_present(&causes[0]) => {
            let under = conditions.map(|conditions| format!(" ({})", plain(conditions))).unwrap_or_default();
            vec![format!("The fault did not show during this test{under}.")]
        }
        RunStatus::Concluded(causes) => {
            let wrong: Vec<&NamedCause> = causes.iter().filter(|cause| !is_not_present(cause)).collect();
            let perhaps_nothing = wrong.len() < causes.len();
            match wrong.as_slice() {
                [only] if perhaps_nothing => {
                    vec![stopped(&format!(
                        "Either the fault did not show during this test, or: {}",
                        in_plain_words(only)
                    ))]
                }
                [only] => vec![stopped(&in_plain_words(only))],
                several => {
                    let first = if perhaps_nothing {
                        "Either the fault did not show during this test, or it is one of these:"
                    } else {
                        "The readings fit more than one cause:"
                    };
                    std::iter::once(first.to_owned())
                        .chain(several.iter().map(|cause| stopped(&in_plain_words(cause))))
                        .collect()
                }
            }
        }
        RunStatus::Ended(Ending::Unconcluded) => vec!["The test came to its end.".to_owned()],
        // Why is the shop's business: the reason may be an instruction to the technician, or somebody's words.
        RunStatus::Ended(Ending::Unfinished { .. }) => vec!["The test was not finished.".to_owned()],
        RunStatus::Ended(Ending::Failed { .. }) | RunStatus::Waiting { .. } | RunStatus::Open => {
            vec!["The test is not finished yet.".to_owned()]
        }
    }
}

/// What the procedure's author wrote for an owner, and else the shop's words.
fn in_plain_words(cause: &NamedCause) -> String {
    let text = cause.customer.as_deref().map(str::trim).filter(|text| !text.is_empty());
    shortened(text.unwrap_or_else(|| cause.cause.trim()), LONGEST_FOR_A_CUSTOMER)
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
    let mut lines = vec![format!("{} {}", worth(material, &measured), counted(&measured))];
    let names_work = matches!(&material.record.status, RunStatus::Concluded(_)) && !is_gone(&material.record.status);
    if names_work && Words::of(material) != Words::Exercise {
        lines.push("Ask us which work we recommend, and why.".to_owned());
    }
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
            "How accurate {} not known: {}.",
            words::count(same.len(), "reading is, is", "readings are, is"),
            same[0],
        ));
    }
    lines
}

/// What follows from the readings, and how far.
fn worth(material: &Material, measured: &[&Answered]) -> &'static str {
    let RunStatus::Concluded(causes) = &material.record.status else {
        return "This test names no cause.";
    };
    if causes.len() > 1 {
        return "The readings fit each of these. Further testing has to tell which of them it is.";
    }
    if is_gone(&material.record.status) {
        if !causes.iter().any(is_not_present) {
            return repaired(material, measured);
        }
        return "That holds for what was tested, and for the conditions during the test. A fault that comes and goes can \
                come back.";
    }
    "The readings of this test point to this cause. Other faults may be there besides it."
}

/// The readings after a repair, and no more.
fn repaired(material: &Material, measured: &[&Answered]) -> &'static str {
    let judged = measured.iter().filter(|answered| Mark::of(answered) != Mark::Plain).count();
    let is_well = measured.iter().all(|answered| !Mark::of(answered).is_bad() && !measured::is_unsure(answered));
    let mends = |pair: &Pair<'_>| {
        pair.before.is_some_and(|before| Mark::of(before).is_bad()) && Mark::of(pair.after) == Mark::Good
    };
    let was_bad = material
        .before_repair()
        .is_some_and(|earlier| Comparison::of(&earlier.record, &material.record).pairs.iter().any(mends));
    match (is_well && judged > 0, was_bad) {
        (true, true) => "The readings that were outside the limits and were taken again are now within them.",
        (true, false) => "The readings of this check that have limits are within them.",
        (false, _) => "That is the result of this check, under the conditions during it.",
    }
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
        words::count(measured.len(), "reading", "readings"),
        number(bad, "outside the limits")
    )
}

/// A drawing's description.
pub fn bar_words(answered: &Answered, scales: &Scales) -> String {
    let words = verdict_words(answered);
    format!("{words}; the limits are {}.", should_be(answered, scales))
}

/// The reading or the answer.
pub fn value_words(answered: &Answered, scales: &Scales) -> String {
    if let Some((ends, _, _)) = measured::track(answered) {
        // Both in the limits' unit, whatever the meter's range was.
        let values = answered.shown.iter().flatten().filter_map(|shown| match shown {
            Shown::Value(value) => Some(*value),
            Shown::OverRange | Shown::Unsteady { .. } => None,
        });
        let order = |one: &Quantity, other: &Quantity| one.si().total_cmp(&other.si());
        let ends_of = values.clone().min_by(order).zip(values.max_by(order));
        return match ends_of {
            Some((lowest, highest)) => format!("{} to {}", ends.unit.show(lowest, 4), ends.unit.show(highest, 4)),
            None => "nothing that the meter can show".to_owned(),
        };
    }
    if measured::values(answered).contains(&Shown::OverRange) {
        "off the meter's scale".to_owned()
    } else {
        scales.value(answered).unwrap_or_else(|| measured::answer_words(answered))
    }
}

/// The verdict as one would say it to somebody who owns no meter; nothing where there is none to say.
pub fn verdict_words(answered: &Answered) -> &'static str {
    let resistance = answered.prompt.question.unit().is_some_and(|unit| unit.dimension() == Dimension::RESISTANCE);
    match (Mark::of(answered), measured::track(answered).map(|(_, _, track)| track.shape)) {
        (_, Some(Shape::Stuck)) => "does not follow the movement",
        (_, Some(Shape::ShortOfEnd)) => "does not reach both ends",
        (_, Some(Shape::Dropout)) => "drops out over part of its travel",
        (_, Some(Shape::Follows)) => "follows the movement",
        _ if measured::is_unsure(answered) => "too close to call",
        (Mark::Good, _) => "within the limits",
        (Mark::Low, _) => "below the limits",
        (Mark::High, _) => "above the limits",
        (Mark::Open, _) if resistance => "no connection",
        (Mark::Unsteady, _) => "unsteady",
        (Mark::Open | Mark::Off, _) => "outside the limits",
        (Mark::Skipped, _) => "not measured",
        (Mark::Plain, _) if answered.prompt.question.unit().is_none() => "",
        (Mark::Plain, _) => "recorded, no limits",
    }
}

/// The shop's limits in words; empty without limits.
pub fn should_be(answered: &Answered, scales: &Scales) -> String {
    match &answered.prompt.question {
        Question::Sweep { ends, .. } => format!(
            "from about {} to about {}, without a break",
            ends.unit.show(ends.one, 3),
            ends.unit.show(ends.other, 3)
        ),
        other => measured::limits_of(other)
            .map(|limits| scales.limits(limits, &measured::values(answered)))
            .unwrap_or_default(),
    }
}

/// What was left out, and what this test does not look at; `most` of what was left out by name.
pub fn untested(material: &Material, most: usize) -> Vec<String> {
    let record = &material.record;
    // Why it was left out is in the full record: the words are the technician's, to the shop.
    let skipped = record.answers().filter(|answered| matches!(answered.answer, Answer::Skipped { .. }));
    let mut lines: Vec<String> = skipped.map(|answered| stopped(&answered.prompt.text)).collect();
    // A reading that was bad before the repair and was not repeated proves nothing now.
    if let Some(earlier) = material.before_repair() {
        let not_repeated = Comparison::of(&earlier.record, record).not_repeated;
        let bad = not_repeated.into_iter().filter(|answered| Mark::of(answered).is_bad());
        lines.extend(
            bad.map(|answered| format!("Not measured again after the repair: {}", stopped(&answered.prompt.text))),
        );
    }
    if lines.len() > most {
        let more = lines.len() - most;
        lines.truncate(most);
        lines.push(format!("And {}; the full record has them.", words::count(more, "other", "others")));
    }
    let scope = "This page covers this test only.";
    lines.push(match &record.status {
        RunStatus::Concluded(_) | RunStatus::Ended(Ending::Unconcluded) => scope.to_owned(),
        RunStatus::Waiting { text, .. } => {
            format!("The rest of this test, from \u{201c}{}\u{201d} on. {scope}", plain(text))
        }
        RunStatus::Ended(_) | RunStatus::Open => format!("The rest of this test, which was not finished. {scope}"),
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
            customer: (*name == "bus").then(|| "A data wire is broken".to_owned()),
        };
        RunStatus::Concluded(names.iter().map(named).collect())
    }

    #[test]
    fn nothing_wrong_is_one_of_the_causes_and_no_part_of_the_list() {
        assert_eq!(
            found(&causes(&["not_present", "pump"]), None),
            ["Either the fault did not show during this test, or: pump."]
        );
        assert_eq!(
            found(&causes(&["pump", "not_present", "wire"]), None),
            ["Either the fault did not show during this test, or it is one of these:", "pump.", "wire."]
        );
    }

    #[test]
    fn an_owner_reads_the_words_that_were_written_for_one() {
        assert_eq!(found(&causes(&["bus"]), None), ["A data wire is broken."]);
        assert_eq!(
            found(&causes(&["bus", "wire"]), None),
            ["The readings fit more than one cause:", "A data wire is broken.", "wire."]
        );
    }

    #[test]
    fn what_is_long_says_where_the_rest_is() {
        assert_eq!(shortened("as it is", 8), "as it is");
        assert_eq!(shortened("the lamp comes on", 12), "the lamp \u{2026} (whole in the full record)");
        assert_eq!(shortened("\u{e4}\u{e4}\u{e4}\u{e4}", 2), "\u{e4}\u{e4} \u{2026} (whole in the full record)");
    }
}
