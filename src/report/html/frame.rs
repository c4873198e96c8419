//! The page around a report: head, style, heading, notices, foot.

use crate::model::answered_by::AnsweredBy;
use crate::model::link::LinkKind;
use crate::report::deference;
use crate::report::detail::Detail;
use crate::report::example;
use crate::report::material::{Integrity, Material};
use crate::report::measured::limits_words;
use crate::report::one_line::{named, plain};
use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::style::STYLE;

/// Nothing is fetched and nothing runs, whatever stands in the page.
const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'";

/// Of a record whose answers were written down elsewhere.
pub const TYPED_IN: &str = "The readings were typed in later. The record does not say on which day they were taken.";

/// A page with a title, the class of its form, and what stands in it.
pub fn page(title: &str, form: &str, content: &Markup) -> String {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta http-equiv="Content-Security-Policy" content=(POLICY);
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { (plain(title)) }
                style { (PreEscaped(STYLE)) }
            }
            body class=(form) { (content) }
        }
    }
    .into_string()
}

/// The shop over the page; nothing where there is none or it is left out.
pub fn shop(material: &Material) -> Markup {
    html! {
        @if !material.shop_name.is_empty() {
            p class="shop" {
                strong { (named(&material.shop_name)) }
                @if let Some(address) = &material.shop_address { br; span { (plain(address)) } }
            }
        }
    }
}

/// What stands over everything else where a record is not what it was: in a few words, and where to look.
pub fn banner_words(material: &Material) -> Option<(&'static str, String)> {
    let (head, says) = match material.integrity {
        Integrity::Whole => return None,
        Integrity::Changed => {
            ("THIS RECORD WAS CHANGED", "after it was written: what this page shows is not what was signed.")
        }
        Integrity::Doubtful => {
            ("SOMETHING IS WRONG WITH THIS RECORD:", "it is not proven to be what was written then.")
        }
    };
    Some((head, format!("{says} `ohmwright verify {}` says where.", named(&material.name))))
}

/// The same as a box.
pub fn banner(material: &Material) -> Markup {
    html! {
        @if let Some((head, says)) = banner_words(material) {
            p class="banner" role="alert" { strong { (head) } " " (says) }
        }
    }
}

/// What a reader must know before the rest: no vehicle, a clock set by hand, an earlier record that changed.
pub fn notices(material: &Material) -> Markup {
    let sentences = notice_sentences(material);
    html! {
        @if !sentences.is_empty() {
            div class="notices" {
                @for (head, text) in &sentences { p { strong { (head) } " " (text) } }
            }
        }
    }
}

/// Whose word comes before the report's, and whose limits it shows.
pub fn deference(material: &Material) -> Markup {
    html! {
        p class="small" { (deference::FIRST) @if shows_limits(material) { " " (deference::LIMITS) } }
    }
}

/// Whether a reading of the record has limits.
pub fn shows_limits(material: &Material) -> bool {
    material.record.every_answer().any(|answered| !limits_words(&answered.prompt.question).0.is_empty())
}

/// The notices as sentences: what it is about, and what to know.
pub fn notice_sentences(material: &Material) -> Vec<(&'static str, String)> {
    let started = &material.record.started;
    let mut notices = Vec::new();
    match (started.answered_by, started.circuit()) {
        (AnsweredBy::Bench, Some(circuit)) => notices.push((
            "SIMULATED. No vehicle was measured.",
            format!(
                "A simulated circuit ({}) gave the readings. They say nothing about a vehicle.",
                plain(material.circuit.as_deref().unwrap_or(&circuit.replace('_', " ")))
            ),
        )),
        (AnsweredBy::Bench, None) => notices.push((
            "SIMULATED. No vehicle was measured.",
            "A simulated circuit gave the readings. They say nothing about a vehicle.".to_owned(),
        )),
        (AnsweredBy::File, _) => notices.push(("Readings came from a file.", TYPED_IN.to_owned())),
        (AnsweredBy::Table, _) => notices.push(("Readings came from a table.", TYPED_IN.to_owned())),
        (AnsweredBy::Record, _) => notices
            .push(("Readings came from an earlier record.", "Nothing was measured again for this one.".to_owned())),
        (AnsweredBy::Person, _) => {}
    }
    if material.is_example {
        notices.push((example::HEAD, example::SAYS.to_owned()));
    }
    if started.clock_set_by_hand {
        notices.push(("The clock was set by hand.", "Dates and times are not those at which it happened.".to_owned()));
    }
    if material.torn > 0 {
        notices.push((
            "The record's last line is not whole.",
            format!("{} are left out here.", crate::model::words::count(material.torn, "byte", "bytes")),
        ));
    }
    if let Some(link) = started.link.as_ref().filter(|link| link.kind == LinkKind::AfterRepair)
        && material.earlier.is_none()
    {
        notices
            .push(("The record before the repair is missing.", format!("{} could not be read.", named(&link.record))));
    }
    if !material.withheld.is_empty() {
        let words: Vec<String> = material.withheld.iter().map(Detail::to_string).collect();
        notices.push(("Left out of this report on purpose:", format!("{}.", crate::model::words::all(&words))));
    }
    notices
}
