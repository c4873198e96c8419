//! The report for the customer: one page, in plain words.

use super::customer_words::{
    Words, bar_words, found, meaning, shortened, should_be, untested, value_words, verdict_words,
};
use super::scales::Scales;
use super::{frame, readings};
use crate::model::record::RunStatus;
use crate::model::record::given::Answered;
use crate::model::words;
use crate::report::bar;
use crate::report::comparison::{Comparison, Pair, is_measured};
use crate::report::decisive::decisive;
use crate::report::deference;
use crate::report::material::{Earlier, Later, Material, SignoffLine, was_attended};
use crate::report::measured::Mark;
use crate::report::one_line::{named, plain};
use crate::report::record::{NOT_SAID_HOW_LEFT, called, checked_again, how_it_is_left, says_how_it_was_left};
use maud::{Markup, PreEscaped, html};

/// So many readings, and no more, go into a page that somebody reads to its end.
const MOST_READINGS: usize = 5;
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
                h2 { (words.found()) }
                @for line in found(&record.status, record.started.job.conditions.as_deref()) { p class="cause" { (line) } }
                @for line in meaning(material) { p { (line) } }
                @if let Some(left) = how_it_is_left(record) { p { "Left changed on the vehicle: " (plain(&left)) "." } }
                @if !says_how_it_was_left(record) { p { (NOT_SAID_HOW_LEFT) } }
            }
            (checks(&material.checks, &record.status))
            @match material.before_repair() {
                Some(earlier) => { (before_and_after(material, earlier, words)) }
                None => { (table(material)) }
            }
            section {
                h2 { "What was not tested" }
                @for line in untested(material, MOST_READINGS) { p { (line) } }
            }
            @for line in &material.signoffs { p class="small" { (signed(line)) } }
            p class="small" { (deference::FIRST) }
            p class="small" { "Record " (called(material.number, &material.name)) ". The full record has every reading." }
        }
    };
    frame::page(title, "customer", &content)
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
        }
    }
}

/// What every later check came to, each with its day and time.
fn checks(checks: &[Later], standing: &RunStatus) -> Markup {
    html! {
        @if !checks.is_empty() {
            section {
                h2 { (checked_again(standing)) }
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

/// Which of all the readings a table shows. Where no cause is named, no reading decided one.
fn shown(shown: usize, all: usize, standing: &RunStatus) -> String {
    if shown >= all {
        "All readings of this test.".to_owned()
    } else if !matches!(standing, RunStatus::Concluded(_)) {
        format!("{shown} of {all} readings. The full record has the others.")
    } else {
        format!("The readings that decided, {shown} of {all}. The full record has the others.")
    }
}

fn table(material: &Material) -> Markup {
    let key = decisive(material.record.answers(), material.asked_about.as_ref(), MOST_READINGS);
    let all = material.record.answers().filter(|answered| is_measured(answered)).count();
    let scales = Scales::of(&key);
    let drawn = |answered: &Answered| {
        let (title, words) = (value_words(answered, &scales), bar_words(answered, &scales));
        bar::told(answered, material.meter.as_ref(), &format!("key-{}", answered.line), &title, &words)
    };
    let drawings: Vec<Option<String>> = key.iter().map(|answered| drawn(answered)).collect();
    html! {
        @if !key.is_empty() { section {
            h2 { "What we measured" }
            table class="readings stacked" {
                caption { (shown(key.len(), all, &material.record.status)) }
                thead { tr {
                    th scope="col" { "What" }
                    th scope="col" { "Reading" }
                    th scope="col" { "Our limits" }
                } }
                tbody { @for (answered, drawing) in key.iter().zip(&drawings) {
                    tr {
                        th scope="row" { (plain(&answered.prompt.text)) }
                        td { (value(answered, &scales)) }
                        td data-label="Our limits" {
                            @if let Some(svg) = drawing { (PreEscaped(svg)) }
                            span class="limits" { (should_be(answered, &scales)) }
                        }
                    }
                } }
            }
            @if key.iter().any(|answered| !should_be(answered, &scales).is_empty()) { p class="small" { (deference::LIMITS) } }
            @if drawings.iter().any(Option::is_some) {
                p class="small" { "In the drawings the shaded part is within the limits. The mark is the reading; a double arrow is a reading off the drawing." }
            }
        } }
    }
}

fn value(answered: &Answered, scales: &Scales) -> Markup {
    let mark = Mark::of(answered);
    let verdict = verdict_words(answered);
    html! {
        span class="value" { (value_words(answered, scales)) }
        @if !verdict.is_empty() {
            " " span class=(readings::verdict_class(answered, mark)) { span aria-hidden="true" { (mark.sign()) } " " (verdict) }
        }
    }
}

/// What was measured after the repair, beside what was measured at the same place before it.
fn before_and_after(material: &Material, earlier: &Earlier, words: Words) -> Markup {
    let both = Comparison::of(&earlier.record, &material.record);
    let all = both.pairs.len();
    // What was out of its limits before is what the check is for.
    let was_bad = |pair: &&Pair<'_>| pair.before.is_some_and(|before| Mark::of(before).is_bad());
    let mut key: Vec<&Pair<'_>> = both.pairs.iter().filter(was_bad).collect();
    key.truncate(MOST_READINGS);
    let chosen = decisive(both.pairs.iter().map(|pair| pair.after), material.asked_about.as_ref(), MOST_READINGS);
    let left = both.pairs.iter().filter(|pair| chosen.iter().any(|answered| answered.line == pair.after.line));
    for pair in left {
        if key.len() < MOST_READINGS && !key.iter().any(|known| known.after.line == pair.after.line) {
            key.push(pair);
        }
    }
    key.sort_by_key(|pair| pair.after.line);
    let answers: Vec<&Answered> = key.iter().flat_map(|pair| [pair.before, Some(pair.after)]).flatten().collect();
    let scales = Scales::of(&answers);
    let (title, now) = words.both();
    html! {
        @if !key.is_empty() { section {
            h2 { (title) }
            table class="readings stacked" {
                caption { (shown(key.len(), all, &material.record.status)) }
                thead { tr {
                    th scope="col" { "What" }
                    th scope="col" { "Before" }
                    th scope="col" { (now) }
                } }
                tbody { @for pair in &key {
                    tr {
                        th scope="row" {
                            (plain(&pair.after.prompt.text))
                            @let limits = should_be(pair.after, &scales);
                            @if !limits.is_empty() { span class="limits" { "our limits: " (limits) } }
                        }
                        td data-label="Before" { @match pair.before {
                            Some(before) => { (value(before, &scales)) }
                            None => { span class="aside" { "not measured before" } }
                        } }
                        td data-label=(now) { (value(pair.after, &scales)) }
                    }
                } }
            }
            @if answers.iter().any(|answered| !should_be(answered, &scales).is_empty()) { p class="small" { (deference::LIMITS) } }
        } }
    }
}
