//! The report for the customer: one page, in plain words.

use super::{frame, readings};
use crate::model::dimension::Dimension;
use crate::model::event::{Ending, LinkKind};
use crate::model::limits::Limits;
use crate::model::prompt::{Answer, Question};
use crate::model::record::{Answered, Standing};
use crate::model::sweep::Shape;
use crate::model::typed::Shown;
use crate::model::unit::significant;
use crate::model::words;
use crate::report::bar;
use crate::report::comparison::is_measured;
use crate::report::material::Material;
use crate::report::measured::{self, Mark, plain};
use maud::{Markup, PreEscaped, html};

/// The cause that says that nothing was wrong while testing.
const NOT_PRESENT: &str = "not_present";
/// The causes by which a check after the repair says that all is well.
const GONE: [&str; 2] = [NOT_PRESENT, "repaired"];
/// So many readings, and no more, go into a page that somebody reads to its end.
const KEY_READINGS: usize = 5;

/// As an HTML page.
pub fn page(material: &Material) -> String {
    let record = &material.record;
    let job = &record.started.job;
    let facts = [
        ("Vehicle", job.vehicle.as_deref().map(plain)),
        ("Odometer", job.odometer.as_deref().map(plain)),
        ("Tested", Some(plain(record.began.as_str().get(..10).unwrap_or_default()))),
        ("By", job.technician.as_deref().map(plain)),
    ];
    let title = if is_check(material) { "Your vehicle after the repair" } else { "What we found on your vehicle" };
    let key = key_readings(material);
    let content = html! {
        header { (frame::shop(material)) h1 { (title) } }
        main {
            (frame::notices(material))
            dl class="facts" {
                @for (label, value) in &facts { @if let Some(value) = value { div { dt { (label) } dd { (value) } } } }
            }
            @if let Some(concern) = &job.concern {
                section { h2 { "What you told us" } p { (plain(concern)) (seen(job.verified)) } }
            }
            @if let Some(earlier) = material.before_repair() {
                section {
                    h2 { "What was found before" }
                    @for line in found(&earlier.record.standing, None) { p { (line) } }
                    @for line in to_do(&earlier.record.standing, false) { p { "To be done then: " (line) } }
                }
            }
            section {
                h2 { @if is_check(material) { "What we found after the repair" } @else { "What we found" } }
                @for line in found(&record.standing, job.conditions.as_deref()) { p class="cause" { (line) } }
            }
            @for check in &material.checks {
                section {
                    h2 { "Checked again after the repair" }
                    p { "On " (plain(check.record.began.as_str().get(..10).unwrap_or_default())) ":" }
                    @for line in found(&check.record.standing, check.record.started.job.conditions.as_deref()) { p { (line) } }
                }
            }
            section { h2 { "What it means" } p { (meaning(material)) } }
            @let steps = to_do(&record.standing, is_check(material));
            @if !steps.is_empty() {
                section { h2 { (if found_gone(material) { "What was to be done" } else { "What should be done" }) } @for line in &steps { p { (line) } } }
            }
            @if !key.is_empty() { (table(material, &key)) }
            section {
                h2 { "What was not tested" }
                @for line in untested(material) { p { (line) } }
            }
            @for line in &material.signoffs {
                p class="small" { "Signed: " (plain(&line.name)) ", " (plain(&line.role)) ", " (plain(&line.at.short())) ". " (plain(&line.state)) }
            }
            p class="small" { "Record " (plain(&material.name)) ". The shop keeps the full record with every measurement." }
        }
    };
    frame::page(title, "customer", &content)
}

fn is_check(material: &Material) -> bool {
    material.record.started.link.as_ref().is_some_and(|link| link.kind == LinkKind::AfterRepair)
}

/// Whether the last check after the repair found that the trouble is gone.
fn found_gone(material: &Material) -> bool {
    material.checks.last().is_some_and(|check| is_gone(&check.record.standing))
}

/// Whether a check came to this: what was wrong is wrong no longer.
fn is_gone(standing: &Standing) -> bool {
    matches!(standing, Standing::Concluded(causes) if causes.iter().all(|cause| GONE.contains(&cause.id.as_str())))
}

const fn seen(verified: Option<bool>) -> &'static str {
    match verified {
        Some(true) => " (We saw it happen, too.)",
        Some(false) => " (It did not happen while we looked.)",
        None => "",
    }
}

/// What was found, one sentence a paragraph.
fn found(standing: &Standing, conditions: Option<&str>) -> Vec<String> {
    match standing {
        Standing::Concluded(causes) if causes.len() == 1 && causes[0].id.as_str() == NOT_PRESENT => {
            let under = conditions.map(|conditions| format!(" ({})", plain(conditions))).unwrap_or_default();
            vec![format!("The trouble was not there while we tested{under}.")]
        }
        Standing::Concluded(causes) => {
            let several = (causes.len() > 1).then(|| "The measurements fit more than one cause:".to_owned());
            several.into_iter().chain(causes.iter().map(|cause| stopped(&cause.cause))).collect()
        }
        Standing::Ended(Ending::Unconcluded) => vec!["The test ran to its end and did not show a cause.".to_owned()],
        Standing::Ended(ending @ Ending::Unfinished { .. }) => {
            vec![stopped(&format!("The test was not finished: {}", ending.reason().unwrap_or_default()))]
        }
        Standing::Ended(Ending::Failed { .. }) | Standing::Waiting { .. } | Standing::Open => {
            vec!["The test is not finished yet.".to_owned()]
        }
    }
}

fn to_do(standing: &Standing, check: bool) -> Vec<String> {
    match standing {
        // After a repair there is nothing left to do about what is no longer there.
        gone if check && is_gone(gone) => vec![],
        Standing::Concluded(causes) => causes
            .iter()
            .filter(|cause| !cause.correction.trim().is_empty())
            .map(|cause| match causes.len() {
                1 => stopped(&cause.correction),
                // What is to be done depends on which of them it is.
                _ => stopped(&format!("If it is \u{201c}{}\u{201d}: {}", cause.cause.trim(), cause.correction)),
            })
            .collect(),
        _ => vec![],
    }
}

fn stopped(text: &str) -> String {
    let text = plain(text.trim());
    if text.ends_with(['.', '!', '?']) { text } else { format!("{text}.") }
}

/// What the finding is worth, and what it is not.
fn meaning(material: &Material) -> String {
    let measured: Vec<&Answered> = material.record.answers().filter(|answered| is_measured(answered)).collect();
    let bad = measured.iter().filter(|answered| Mark::of(answered).is_bad()).count();
    let worth = match &material.record.standing {
        Standing::Concluded(causes) if causes.len() > 1 => {
            "The measurements fit each of the causes above. Which of them it is takes further work; nothing should be \
             replaced on a guess."
        }
        Standing::Concluded(causes) if causes.iter().any(|cause| cause.id.as_str() == NOT_PRESENT) => {
            "That is no promise that it will not come back: it holds for what we tested, and for how the vehicle stood then."
        }
        Standing::Concluded(_) => "The measurements lead to this one cause.",
        _ => "No cause is proven yet. Nothing should be replaced on the strength of this test.",
    };
    let counted = match (measured.len(), bad) {
        (0, _) => "Nothing was measured.".to_owned(),
        (all, 0) => format!("We took {}; none was out of line.", words::count(all, "measurement", "measurements")),
        (all, 1) => format!("We took {}; one was out of line.", words::count(all, "measurement", "measurements")),
        (all, bad) => format!("We took {all} measurements; {bad} were out of line."),
    };
    format!("{worth} {counted}")
}

/// The readings that matter most: those out of line, then those too near to call, then the latest; in their order.
fn key_readings(material: &Material) -> Vec<&Answered> {
    let mut measured: Vec<&Answered> = material.record.answers().filter(|answered| is_measured(answered)).collect();
    let weight = |answered: &Answered| match (Mark::of(answered), measured::is_unsure(answered)) {
        (mark, _) if mark.is_bad() => 0,
        (_, true) => 1,
        (Mark::Good, _) => 2,
        _ => 3,
    };
    measured.sort_by_key(|answered| (weight(answered), std::cmp::Reverse(answered.line)));
    measured.truncate(KEY_READINGS);
    measured.sort_by_key(|answered| answered.line);
    measured
}

fn table(material: &Material, key: &[&Answered]) -> Markup {
    html! {
        section {
            h2 { "What we measured" }
            table class="readings" {
                caption class="unseen" { "The measurements that matter most" }
                thead { tr {
                    th scope="col" { "Where" }
                    th scope="col" { "We measured" }
                    th scope="col" { "It should be" }
                } }
                tbody { @for answered in key {
                    @let mark = Mark::of(answered);
                    tr {
                        th scope="row" { (plain(&answered.prompt.text)) }
                        td {
                            span class="value" { (value_words(answered)) } " "
                            span class=(readings::verdict_class(answered, mark)) {
                                span aria-hidden="true" { (mark.sign()) } " " (verdict_words(answered))
                            }
                        }
                        td {
                            @let (title, words) = (value_words(answered), bar_words(answered));
                            @if let Some(svg) = bar::told(answered, material.meter.as_ref(), &format!("key-{}", answered.line), &title, &words) {
                                (PreEscaped(svg))
                            }
                            span class="limits" { (should_be(&answered.prompt.question)) }
                        }
                    }
                } }
            }
            p class="small" { "In the drawings the shaded part is what is good; the mark is what we measured, a double arrow something off the drawing." }
        }
    }
}

fn bar_words(answered: &Answered) -> String {
    format!("{}; it should be {}.", verdict_words(answered), should_be(&answered.prompt.question))
}

fn value_words(answered: &Answered) -> String {
    if let Some((ends, _, track)) = measured::track(answered) {
        return match (track.lowest(), track.highest()) {
            (Some(lowest), Some(highest)) => format!("{} to {}", ends.unit.show(lowest, 4), ends.unit.show(highest, 4)),
            _ => "nothing that the meter can show".to_owned(),
        };
    }
    let over = measured::values(answered).contains(&Shown::OverRange);
    if over {
        "off the meter's scale".to_owned()
    } else {
        measured::answer_words(answered).replace(" \u{2026} ", " to ")
    }
}

/// The verdict as one would say it to somebody who owns no meter.
fn verdict_words(answered: &Answered) -> &'static str {
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
        (Mark::Open | Mark::Off, _) => "not as it should be",
        (Mark::Skipped, _) => "not measured",
        (Mark::Plain, _) => "written down, not judged",
    }
}

fn should_be(question: &Question) -> String {
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

fn untested(material: &Material) -> Vec<String> {
    let record = &material.record;
    let mut lines: Vec<String> = record
        .answers()
        .filter_map(|answered| match &answered.answer {
            Answer::Skipped { reason } if reason.trim().is_empty() => Some(stopped(&answered.prompt.text)),
            Answer::Skipped { reason } => Some(stopped(&format!("{}: {reason}", answered.prompt.text))),
            _ => None,
        })
        .collect();
    if lines.len() > KEY_READINGS {
        let more = lines.len() - KEY_READINGS;
        lines.truncate(KEY_READINGS);
        lines.push(format!("And {}; the full record has them.", words::count(more, "other", "others")));
    }
    lines.push("Only what this test asks for was tested. Nothing else on the vehicle was looked at.".to_owned());
    lines
}
