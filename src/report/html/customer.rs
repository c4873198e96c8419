//! The report for the customer: one page, in plain words.

use super::customer_words::{
    Words, bar_words, found, meaning, shortened, should_be, to_do, untested, value_words, verdict_words,
};
use super::{frame, readings};
use crate::model::record::Answered;
use crate::model::words;
use crate::report::bar;
use crate::report::comparison::{Comparison, Pair, is_measured};
use crate::report::material::{Earlier, Later, Material, SignoffLine, is_gone, was_attended};
use crate::report::measured::{self, Mark};
use crate::report::one_line::{named, plain};
use maud::{Markup, PreEscaped, html};

/// So many readings, and no more, go into a page that somebody reads to its end.
const KEY_READINGS: usize = 5;
/// So much of what the customer said, in characters; the full record has the rest.
const LONGEST_CONCERN: usize = 300;

/// As an HTML page.
pub fn page(material: &Material) -> String {
    let record = &material.record;
    let words = Words::of(material);
    let title = words.title();
    let test = plain(record.started.title());
    let content = html! {
        header { (frame::shop(material)) h1 { (title) } p class="kind" { "Test: " (test) } }
        main {
            (frame::banner(material))
            (frame::notices(material))
            (facts(material))
            @if let Some(concern) = &record.started.job.concern {
                section {
                    h2 { (words.concern()) }
                    p { (plain(&shortened(concern, LONGEST_CONCERN))) (words.seen(record.started.job.verified)) }
                }
            }
            @if let Some(earlier) = material.before_repair() { (found_before(earlier)) }
            section {
                h2 { @if material.is_check() { "What we found after the repair" } @else { "What we found" } }
                @for line in found(&record.status, record.started.job.conditions.as_deref()) { p class="cause" { (line) } }
                p class="small" { "By the test \u{201c}" (test) "\u{201d}." }
            }
            (checks(&material.checks))
            section { h2 { "What it means" } @for line in meaning(material) { p { (line) } } }
            @let steps = to_do(&record.status, material.is_check());
            @if !steps.is_empty() {
                section {
                    h2 { @if found_gone(material) { "What was to be done" } @else { "What should be done" } }
                    @for line in &steps { p { (line) } }
                }
            }
            @match material.before_repair() {
                Some(earlier) => { (before_and_after(material, earlier)) }
                None => { (table(material)) }
            }
            section {
                h2 { "What was not tested" }
                @for line in untested(record, KEY_READINGS) { p { (line) } }
            }
            @for line in &material.signoffs { p class="small" { (signed(line)) } }
            p class="small" { "Record " (named(&material.name)) ". " (words.kept()) }
        }
    };
    frame::page(title, "customer", &content)
}

/// Whether the last check after the repair found that the trouble is gone.
fn found_gone(material: &Material) -> bool {
    material.checks.last().is_some_and(|check| is_gone(&check.record.status))
}

fn facts(material: &Material) -> Markup {
    let (record, job) = (&material.record, &material.record.started.job);
    let day = Some(plain(record.began.as_str().get(..10).unwrap_or_default()));
    let facts = [
        ("Vehicle", job.vehicle.as_deref().map(named)),
        ("Odometer", job.odometer.as_deref().map(plain)),
        (if was_attended(record.started.answered_by) { "Tested" } else { "Entered on" }, day),
        ("By", job.technician.as_deref().map(named)),
    ];
    html! {
        dl class="facts" {
            @for (label, value) in &facts { @if let Some(value) = value { div { dt { (label) } dd { (value) } } } }
        }
    }
}

fn found_before(earlier: &Earlier) -> Markup {
    html! {
        section {
            h2 { "What was found before" }
            @for line in found(&earlier.record.status, None) { p { (line) } }
            @for line in to_do(&earlier.record.status, false) { p { "What was to be done: " (line) } }
        }
    }
}

/// What every later check came to, each with its day and time.
fn checks(checks: &[Later]) -> Markup {
    html! {
        @if !checks.is_empty() {
            section {
                h2 { "Checked again after the repair" }
                @for check in checks {
                    @let conditions = check.record.started.job.conditions.as_deref();
                    @let attended = was_attended(check.record.started.answered_by);
                    p { @if !attended { "Entered on " } (plain(&check.record.began.short())) ": " (found(&check.record.status, conditions).join(" ")) }
                }
            }
        }
    }
}

/// A sign-off in a sentence, and whether it holds.
fn signed(line: &SignoffLine) -> Markup {
    html! {
        "Signed as " (plain(&line.meaning)) " by " (named(&line.name)) ", " (named(&line.role)) ", " (plain(&line.at.short()))
        @if !line.holds { ": " strong { "this signature " (plain(&line.nameless)) } }
        @if line.holds && line.unsigned_behind > 0 {
            "; what was added later (" (words::count(line.unsigned_behind, "line", "lines")) ") is not signed"
        }
        "."
    }
}

/// How much a reading matters: those out of line, then those too near to call and those that were held against each other
/// rather than against limits, then the good ones.
fn weight(answered: &Answered) -> u8 {
    match (Mark::of(answered), measured::is_unsure(answered)) {
        (mark, false) if mark.is_bad() => 0,
        (_, true) => 1,
        (Mark::Good, _) => 2,
        _ => 1,
    }
}

/// The readings that matter most, the latest of a kind first, in their order.
fn key_readings(material: &Material) -> Vec<&Answered> {
    let mut measured: Vec<&Answered> = material.record.answers().filter(|answered| is_measured(answered)).collect();
    measured.sort_by_key(|answered| (weight(answered), std::cmp::Reverse(answered.line)));
    measured.truncate(KEY_READINGS);
    measured.sort_by_key(|answered| answered.line);
    measured
}

/// Which of all the measurements a table shows.
fn shown(shown: usize, all: usize) -> String {
    if shown == all {
        "All that was measured.".to_owned()
    } else {
        format!("The measurements that matter most, {shown} of {all}; the full record has the others.")
    }
}

fn table(material: &Material) -> Markup {
    let key = key_readings(material);
    let all = material.record.answers().filter(|answered| is_measured(answered)).count();
    html! {
        @if !key.is_empty() { section {
            h2 { "What we measured" }
            table class="readings stacked" {
                caption { (shown(key.len(), all)) }
                thead { tr {
                    th scope="col" { "Where" }
                    th scope="col" { "We measured" }
                    th scope="col" { "It should be" }
                } }
                tbody { @for answered in &key {
                    tr {
                        th scope="row" { (plain(&answered.prompt.text)) }
                        td { (value(answered)) }
                        td data-label="It should be" {
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
        } }
    }
}

fn value(answered: &Answered) -> Markup {
    let mark = Mark::of(answered);
    html! {
        span class="value" { (value_words(answered)) } " "
        span class=(readings::verdict_class(answered, mark)) {
            span aria-hidden="true" { (mark.sign()) } " " (verdict_words(answered))
        }
    }
}

/// What was measured after the repair, beside what was measured at the same place before it.
fn before_and_after(material: &Material, earlier: &Earlier) -> Markup {
    let both = Comparison::of(&earlier.record, &material.record);
    let all = both.pairs.len();
    let mut key: Vec<&Pair<'_>> = both.pairs.iter().collect();
    key.sort_by_key(|pair| {
        let before = pair.before.map_or(3, weight);
        (pair.before.is_none(), weight(pair.after).min(before), std::cmp::Reverse(pair.after.line))
    });
    key.truncate(KEY_READINGS);
    key.sort_by_key(|pair| pair.after.line);
    html! {
        @if !key.is_empty() { section {
            h2 { "Before and after the repair" }
            table class="readings stacked" {
                caption { (shown(key.len(), all)) }
                thead { tr {
                    th scope="col" { "Where" }
                    th scope="col" { "Before" }
                    th scope="col" { "After" }
                } }
                tbody { @for pair in &key {
                    tr {
                        th scope="row" {
                            (plain(&pair.after.prompt.text))
                            @let should = should_be(&pair.after.prompt.question);
                            @if !should.is_empty() { span class="limits" { "should be " (should) } }
                        }
                        td data-label="Before" { @match pair.before {
                            Some(before) => { (value(before)) }
                            None => { span class="aside" { "not measured before" } }
                        } }
                        td data-label="After" { (value(pair.after)) }
                    }
                } }
            }
        } }
    }
}
