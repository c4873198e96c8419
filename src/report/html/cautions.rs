//! Cautions as they were told, each once, with who acknowledged them; sign-offs.

use crate::model::prompt::CautionId;
use crate::model::record::Item;
use crate::report::material::Material;
use crate::report::one_line::{named, plain, when};
use crate::report::source_words::source_words;
use maud::{Markup, html};

/// A caution over the whole run.
struct Told<'a> {
    id: &'a CautionId,
    times: usize,
    acknowledged: usize,
    unread: bool,
    qualified: Vec<&'a str>,
}

fn told(material: &Material) -> Vec<Told<'_>> {
    let mut all: Vec<Told<'_>> = Vec::new();
    for item in material.record.items() {
        let Item::Cautioned { cautions, by_person, qualified } = item else { continue };
        for id in cautions {
            let at = match all.iter().position(|told| told.id == id) {
                Some(at) => at,
                None => {
                    all.push(Told { id, times: 0, acknowledged: 0, unread: false, qualified: vec![] });
                    all.len() - 1
                }
            };
            let told = &mut all[at];
            told.times += 1;
            told.acknowledged += usize::from(*by_person == Some(true));
            told.unread |= *by_person == Some(false);
            if let Some(name) = qualified.as_deref().filter(|name| !told.qualified.contains(name)) {
                told.qualified.push(name);
            }
        }
    }
    all
}

/// The table of cautions.
pub fn cautions(material: &Material) -> Markup {
    let all = told(material);
    html! {
        section aria-labelledby="cautions" {
            h2 id="cautions" { "Cautions" }
            @if all.is_empty() { p { "None was shown." } } @else {
                table class="cautions" {
                    caption class="unseen" { "Cautions that were shown, and whether the technician confirmed them" }
                    thead { tr {
                        th scope="col" { "Signal word" }
                        th scope="col" { "Caution" }
                        th scope="col" { "Confirmed" }
                    } }
                    tbody { @for one in &all { (row(material, one)) } }
                }
            }
        }
    }
}

fn row(material: &Material, told: &Told<'_>) -> Markup {
    let rule = material.rules.get(told.id);
    let word = material.signal_words.get(told.id).copied().or(rule.map(|rule| rule.word));
    html! {
        tr {
            th scope="row" { (word.map(|word| word.to_string()).unwrap_or_default()) }
            td {
                @match rule {
                    Some(rule) => { (plain(&rule.text)) span class="aside" { (plain(&source_words(&rule.source))) } }
                    None => { (plain(&told.id.as_str().replace('_', " "))) }
                }
            }
            td {
                (acknowledged(told))
                @for name in &told.qualified { span class="aside" { "qualified person: " (plain(name)) } }
            }
        }
    }
}

fn acknowledged(told: &Told<'_>) -> String {
    let times = |count: usize| if count == 1 { String::new() } else { format!(", {count} times") };
    match (told.acknowledged, told.unread) {
        (0, true) => "not confirmed by a person".to_owned(),
        (0, false) => format!("shown; needs no answer{}", times(told.times)),
        (count, true) => format!("the technician confirmed it{}; once it was not confirmed by a person", times(count)),
        (count, false) => format!("the technician confirmed it{}", times(count)),
    }
}

/// The table of sign-offs.
pub fn signoffs(material: &Material) -> Markup {
    html! {
        section aria-labelledby="signoffs" {
            h2 id="signoffs" { "Sign-offs" }
            @if material.signoffs.is_empty() { p { "Nobody has signed this record." } } @else {
                table class="signoffs stacked" {
                    caption class="unseen" { "Who signed, what it means, and whether the signature holds" }
                    thead { tr {
                        th scope="col" { "Name" }
                        th scope="col" { "Meaning" }
                        th scope="col" { "When" }
                        th scope="col" { "Signature" }
                    } }
                    tbody { @for line in &material.signoffs { tr {
                        th scope="row" { (named(&line.name)) span class="aside" { (named(&line.role)) } }
                        td { (plain(&line.meaning)) }
                        td { (when(&line.at)) }
                        td { @if line.holds { (plain(&line.state)) } @else { strong class="wrong" { (plain(&line.state)) } } }
                    } } }
                }
            }
        }
    }
}
