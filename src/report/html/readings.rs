//! What happened, step by step: readings with limits, verdict and bar; what was done between them.

use crate::model::points::Points;
use crate::model::prompt::{PromptId, Question};
use crate::model::record::given::Answered;
use crate::model::record::{Item, Placed, Step};
use crate::model::vehicle::Action;
use crate::model::words;
use crate::report::action::{done, moved};
use crate::report::bar;
use crate::report::material::{Material, was_attended};
use crate::report::measured::{self, Mark};
use crate::report::one_line::plain;
use crate::report::plot;
use crate::report::record::with_path;
use maud::{Markup, PreEscaped, html};

/// Every step with what happened in it.
pub fn steps(material: &Material) -> Markup {
    html! {
        section aria-labelledby="readings" {
            h2 id="readings" { "Steps and readings" }
            @if material.record.steps.is_empty() { p { "Nothing was measured." } }
            @for (number, step) in material.record.steps.iter().enumerate() {
                // A step that was reached and left again by taking back says nothing; the last one says how far it came.
                @if number + 1 == material.record.steps.len() || step.items.iter().any(is_shown) {
                    @let again = material.record.steps[..number].iter().any(|earlier| is_same_step(earlier, step));
                    (one_step(material, number + 1, step, again))
                }
            }
            p class="small" {
                "How to read the bars: the shaded band is within the limits; the tall lines are the limits. A dot is a reading \
                 within, a diamond one outside, a hollow mark one nearer to a limit than the meter can tell. A double arrow is \
                 a reading off the scale. The thin line with ends is the meter's worst-case accuracy."
            }
        }
    }
}

fn is_same_step(earlier: &Step, step: &Step) -> bool {
    earlier.title == step.title && earlier.items.iter().any(is_shown)
}

fn one_step(material: &Material, number: usize, step: &Step, again: bool) -> Markup {
    let near: Vec<String> = step.near.iter().map(|zone| zone.as_str().replace('_', " ")).collect();
    let title = if step.title.is_empty() { "Before the first step".to_owned() } else { plain(&step.title) };
    html! {
        section class="step" aria-labelledby={ "step-" (number) } {
            h3 id={ "step-" (number) } { (with_path(&title, step.struck_at)) @if again { ", again" } }
            @if !near.is_empty() { p class="small" { "Near " (plain(&words::all(&near))) "." } }
            @if step.items.iter().any(is_shown) {
                table class="readings stacked" {
                    caption class="unseen" { "Readings and actions of: " (title) @if again { ", again" } }
                    thead { tr {
                        th scope="col" { "What" }
                        th scope="col" { "Reading" }
                        th scope="col" { "Limits" }
                    } }
                    tbody { @for placed in &step.items { (row(material, placed)) } }
                }
            } @else { p class="small" { "Nothing was recorded in this step." } }
        }
    }
}

const fn is_shown(placed: &Placed) -> bool {
    !matches!(placed.item, Item::Acted { already: true, .. })
}

fn row(material: &Material, placed: &Placed) -> Markup {
    let between = |label: &str, text: &str, at: Option<&str>| between(placed, label, text, at);
    let told = |action: &Action, cut_short| done(action, material.points.as_deref(), cut_short).replace('_', " ");
    let asked = |id: &PromptId| {
        let found = material.record.every_answer().find(|answered| answered.prompt.id == *id);
        found.map_or_else(|| id.to_string(), |answered| format!("\u{201c}{}\u{201d}", answered.prompt.text))
    };
    match &placed.item {
        Item::Answered(answered) => answer(answered, material),
        Item::Acted { already: true, .. } => html! {},
        Item::Acted { action, at, cut_short_after, .. } if was_attended(material.record.started.answered_by) => {
            between("Done", &told(action, *cut_short_after), Some(&at.short()))
        }
        // Nobody knows whether it was done, and when.
        Item::Acted { action, .. } => between("Asked for", &told(action, None), None),
        Item::Noted { text } => between("Note", text, None),
        Item::Reminded { cautions } => {
            let names: Vec<String> = cautions.iter().map(|id| id.as_str().replace('_', " ")).collect();
            between("Reminded of the cautions", &words::all(&names), None)
        }
        Item::Cautioned { cautions, by_person, from_input, .. } => {
            let names: Vec<String> = cautions.iter().map(|id| id.as_str().replace('_', " ")).collect();
            let how = match by_person {
                Some(true) => "The technician confirmed",
                Some(false) if *from_input => "Answered from input, not confirmed by a person",
                Some(false) => "Not confirmed by a person",
                None => "Cautions shown",
            };
            between(how, &words::all(&names), None)
        }
        Item::Paused { at } => between("Paused", "", Some(&at.short())),
        Item::Resumed { at, corrected, unseen, vehicle } => {
            between("Resumed", &crate::report::entry::vehicle_words(vehicle, *corrected, *unseen), Some(&at.short()))
        }
        Item::TornLineDropped { .. } => between("Line dropped", "an incomplete line", None),
        Item::Struck { id, reading: Some(reading), at } => {
            between("Undone", &format!("the reading {reading} of {}", asked(id)), Some(&at.short()))
        }
        Item::Struck { id, at, .. } => {
            between("Undone", &format!("{} and all later answers", asked(id)), Some(&at.short()))
        }
    }
}

fn between(placed: &Placed, label: &str, text: &str, at: Option<&str>) -> Markup {
    html! {
        tr class=(if placed.struck_at.is_some() { "between astray" } else { "between" }) { td colspan="3" {
            strong { (with_path(label, placed.struck_at)) } @if !text.is_empty() { ": " (plain(text)) }
            @if let Some(at) = at { " " span class="aside" { (plain(at)) } }
        } }
    }
}

/// The row of an answer; a sweep's drawing stands in a row of its own below.
fn answer(answered: &Answered, material: &Material) -> Markup {
    let (limits, source) = measured::limits_words(&answered.prompt.question);
    let id = format!("line-{}", answered.line);
    let struck = answered.struck_at.is_some();
    html! {
        tr class=[struck.then_some("struck")] {
            th scope="row" {
                (plain(&answered.prompt.text)) " " code { (plain(answered.prompt.id.as_str())) }
                (leads(&answered.prompt.question))
            }
            td { (value(answered, material.points.as_deref())) }
            td {
                @if let Some(svg) = bar::svg(answered, material.meter.as_ref(), &id) { (PreEscaped(svg)) }
                @if !limits.is_empty() { span class="limits" { (plain(&limits)) } }
                @if let Some(source) = source { span class="aside" { (source) } }
            }
        }
        @if let Some(svg) = plot::svg(answered, &format!("plot-{}", answered.line)) {
            tr class=(if struck { "wide struck" } else { "wide" }) { td colspan="3" { (figure(answered, &svg)) } }
        }
    }
}

/// The value, the verdict with its sign, and what else is to be said of it.
pub fn value(answered: &Answered, points: Option<&Points>) -> Markup {
    let mark = Mark::of(answered);
    let verdict = plain(&measured::verdict_words(answered));
    let reached = match &answered.prompt.question {
        Question::LowestHighest { meanwhile, .. } => Some(format!("lowest and highest while: {meanwhile}")),
        Question::Sweep { moving, .. } => Some(format!("moving: {}", moved(moving, points))),
        _ => None,
    };
    html! {
        @if mark == Mark::Skipped {
            span class="verdict open" { (mark.sign()) " " (measured::answer_words(answered)) }
        } @else {
            span class="value" { (measured::answer_words(answered)) }
            @if !verdict.is_empty() {
                " " span class=(verdict_class(answered, mark)) { span aria-hidden="true" { (mark.sign()) } " " (verdict) }
            }
        }
        @if let Some(reached) = reached { span class="aside" { (plain(&reached)) } }
        @if let Some(words) = measured::calibration_words(answered) { span class="aside" { (words) } }
        @if answered.origin.is_carried_over() { span class="aside" { "carried over from the earlier record" } }
        @if let Some(line) = answered.struck_at { span class="aside" { "undone (journal, line " (line) ")" } }
    }
}

/// The class of a verdict: good, bad or unsure.
pub fn verdict_class(answered: &Answered, mark: Mark) -> &'static str {
    match (measured::is_unsure(answered), mark.is_bad()) {
        (true, _) => "verdict unsure",
        (false, true) => "verdict bad",
        (false, false) => "verdict good",
    }
}

/// Where the leads went.
pub fn leads(question: &Question) -> Markup {
    let ends = measured::leads(question);
    html! {
        @if !ends.is_empty() {
            span class="leads" {
                @for (index, (lead, end)) in ends.iter().enumerate() {
                    @if index > 0 { "; " }
                    (lead) ": " (end)
                }
            }
        } @else if let Question::ModuleValue { signal, .. } = question {
            span class="leads" { "as the control module shows it: " (plain(&signal.replace('_', " "))) }
        }
    }
}

/// A sweep's drawing with its legend, and its readings as text.
pub fn figure(answered: &Answered, svg: &str) -> Markup {
    html! {
        figure {
            (PreEscaped(svg))
            figcaption class="small" {
                "Dots: readings. Diamonds: where the direction turned. Crosses: where the signal drops out. Shaded: the \
                 limits of both ends. " (measured::sweep_list(answered))
            }
        }
    }
}
