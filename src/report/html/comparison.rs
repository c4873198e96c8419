//! Before and after the repair, side by side.

use super::readings;
use crate::model::link_state::LinkState;
use crate::model::meter::Meter;
use crate::model::points::Points;
use crate::model::record::RunStatus;
use crate::model::record::given::Answered;
use crate::report::bar;
use crate::report::comparison::{Comparison, Pair, same_limits};
use crate::report::material::{Earlier, Material};
use crate::report::measured::limits_words;
use crate::report::one_line::{named, plain};
use crate::report::plot;
use crate::report::record::standing_text;
use maud::{Markup, PreEscaped, html};

/// The section; nothing where the record is no check after a repair.
pub fn comparison(material: &Material) -> Markup {
    let Some(earlier) = material.before_repair() else { return html! {} };
    let both = Comparison::of(&earlier.record, &material.record);
    let points = material.points.as_deref();
    let repaired = material.is_after_a_repair();
    let now = if repaired { "After" } else { "Now" };
    html! {
        section aria-labelledby="comparison" {
            h2 id="comparison" { @if repaired { "Before and after the repair" } @else { "First test and this one" } }
            p { "Before: " (named(&earlier.name)) ", " (plain(&earlier.record.began.short())) ". " (state_words(earlier.state)) }
            p { "What was found then: " (plain(&standing_text(&earlier.record.status))) "." }
            @if let RunStatus::Concluded(causes) = &earlier.record.status {
                p { "What was to be done: " @for cause in causes { (plain(&cause.correction)) ". " } }
            }
            @if both.pairs.is_empty() {
                p { "Nothing was measured again." }
            } @else {
                table class="comparison stacked" {
                    caption class="unseen" { "Readings before and now" }
                    thead { tr {
                        th scope="col" { "What" }
                        th scope="col" { "Before" }
                        th scope="col" { (now) }
                    } }
                    tbody {
                        @for pair in &both.pairs {
                            tr {
                                th scope="row" {
                                    (plain(&pair.after.prompt.text))
                                    span class="limits" { (plain(&limits_words(&pair.after.prompt.question).0)) }
                                }
                                td data-label="Before" { (cell(pair, earlier, points)) }
                                td data-label=(now) { (drawn(pair.after, material.meter.as_ref(), points, "after")) }
                            }
                            (plots(pair))
                        }
                    }
                }
            }
            @if !both.not_repeated.is_empty() {
                p class="small" {
                    "Not measured again: "
                    (both.not_repeated.iter().map(|answered| plain(&answered.prompt.text)).collect::<Vec<_>>().join("; ")) "."
                }
            }
        }
    }
}

fn cell(pair: &Pair<'_>, earlier: &Earlier, points: Option<&Points>) -> Markup {
    let Some(before) = pair.before else { return html! { span class="aside" { "not measured before" } } };
    let question = &before.prompt.question;
    html! {
        (drawn(before, earlier.meter.as_ref(), points, "before"))
        @if !same_limits(question, &pair.after.prompt.question) {
            span class="limits" { "limits then: " (plain(&limits_words(question).0)) }
        }
    }
}

fn drawn(answered: &Answered, meter: Option<&Meter>, points: Option<&Points>, when: &str) -> Markup {
    let id = format!("{when}-{}", answered.line);
    html! {
        (readings::value(answered, points))
        @if let Some(svg) = bar::svg(answered, meter, &id) { (PreEscaped(svg)) }
    }
}

/// Both sweeps, side by side where there is room.
fn plots(pair: &Pair<'_>) -> Markup {
    let svg = |answered: &Answered, when: &str| plot::svg(answered, &format!("{when}-{}-plot", answered.line));
    let before = pair.before.and_then(|answered| svg(answered, "before"));
    let sides = [("Before", before), ("After", svg(pair.after, "after"))];
    html! {
        @if sides.iter().any(|(_, svg)| svg.is_some()) {
            tr class="wide" { td colspan="3" { div class="sides" {
                @for (when, svg) in sides { @if let Some(svg) = svg {
                    figure { figcaption class="small" { (when) } (PreEscaped(svg)) }
                } }
            } } }
        }
    }
}

/// How the earlier record stands against the digest, in a sentence.
pub const fn state_words(state: LinkState) -> &'static str {
    match state {
        LinkState::Same => "It is unchanged since.",
        LinkState::Continued => "What it held then is unchanged; lines were added to it since.",
        LinkState::Changed => {
            "IT WAS CHANGED since this check was begun: what this page shows of it is not what it held then."
        }
    }
}
