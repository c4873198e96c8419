//! Cautions as they were told, each once, with who acknowledged them; sign-offs.

use crate::model::caution::{FIRST_WORD, Rule};
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
    reminded: usize,
    acknowledged: usize,
    from_input: bool,
    unread: bool,
    qualified: Vec<&'a str>,
}

fn told(material: &Material) -> Vec<Told<'_>> {
    let mut all: Vec<Told<'_>> = Vec::new();
    for item in material.record.items() {
        let (cautions, by_person, qualified, from_input) = match item {
            Item::Cautioned { cautions, by_person, qualified, from_input } => {
                (cautions, *by_person, qualified.as_deref(), *from_input)
            }
            Item::Reminded { cautions } => {
                for told in &mut all {
                    told.reminded += cautions.iter().filter(|id| *id == told.id).count();
                }
                continue;
            }
            _ => continue,
        };
        for id in cautions {
            let at = match all.iter().position(|told| told.id == id) {
                Some(at) => at,
                None => {
                    all.push(Told {
                        id,
                        times: 0,
                        reminded: 0,
                        acknowledged: 0,
                        from_input: false,
                        unread: false,
                        qualified: vec![],
                    });
                    all.len() - 1
                }
            };
            let told = &mut all[at];
            told.times += 1;
            told.acknowledged += usize::from(by_person == Some(true));
            told.from_input |= from_input;
            told.unread |= by_person == Some(false) && !from_input;
            if let Some(name) = qualified.filter(|name| !told.qualified.contains(name)) {
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
                p class="aside" { (FIRST_WORD) }
            }
        }
    }
}

fn row(material: &Material, told: &Told<'_>) -> Markup {
    let rule = material.rules.get(told.id);
    let word = material.signal_words.get(told.id).copied().or_else(|| rule.map(Rule::word));
    html! {
        tr {
            th scope="row" { (word.map(|word| word.to_string()).unwrap_or_default()) }
            td {
                @match rule {
                    Some(rule) => { (plain(&rule.says())) span class="aside" { (plain(&source_words(&rule.source))) } }
                    None => { (plain(&told.id.as_str().replace('_', " "))) }
                }
            }
            td {
                (confirmed(told, rule.map_or("", |rule| rule.confirm_text.trim())))
                @for name in &told.qualified { span class="aside" { "qualified person: " (plain(name)) } }
            }
        }
    }
}

/// What is known of it: what somebody said, never that it was safe.
fn confirmed(told: &Told<'_>, confirm_text: &str) -> String {
    let times = |count: usize| if count == 1 { String::new() } else { format!(" ({count} times)") };
    let mut says = Vec::new();
    match (told.acknowledged, told.unread || told.from_input) {
        (0, true) => {}
        (0, false) => says.push(format!("Shown; needs no answer{}.", times(told.times))),
        (count, _) if confirm_text.is_empty() => says.push(format!("The technician confirmed it{}.", times(count))),
        (count, _) => says.push(format!("The technician confirmed: {confirm_text}{}.", times(count))),
    }
    if told.from_input {
        says.push("Answered from input, not confirmed by a person.".to_owned());
    }
    if told.unread {
        says.push("Not shown: the answers came from a file.".to_owned());
    }
    if told.reminded > 0 {
        says.push(format!("Reminded{}.", times(told.reminded)));
    }
    says.join(" ")
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
