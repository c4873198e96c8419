//! A record as text, with what the edge found beside it.

use super::comparison::Comparison;
use super::deference;
use super::example;
use super::html::frame;
use super::material::{Material, was_attended};
use super::measured::{answer_words, limits_words, verdict_words};
use super::one_line::plain;
use super::record;
use super::source_words::source_words;
use super::table::{table, wrapped};
use crate::model::caution::FIRST_WORD;
use crate::model::prompt::CautionId;
use crate::model::record::Item;
use crate::model::record::given::Answered;
use crate::model::words;
use std::fmt::Write;

/// The whole, in `width` columns.
pub fn text(material: &Material, width: usize) -> String {
    let mut out = String::new();
    if let Some((head, says)) = frame::banner_words(material) {
        let _ = writeln!(out, "{}\n", wrapped(&format!("{head} {says}"), width, "", ""));
    }
    if !material.withheld.is_empty() {
        let left_out: Vec<String> = material.withheld.iter().map(ToString::to_string).collect();
        let says = format!("Left out of this report on purpose: {}.", words::all(&left_out));
        let _ = writeln!(out, "{}\n", wrapped(&says, width, "", ""));
    }
    if !was_attended(material.record.started.answered_by) {
        let _ = writeln!(out, "{}\n", wrapped(frame::TYPED_IN, width, "", ""));
    }
    if material.is_example {
        let _ = writeln!(out, "{}\n", wrapped(&format!("{} {}", example::HEAD, example::SAYS), width, "", ""));
    }
    out.push_str(&record::text(
        (material.number, &material.name),
        &material.record,
        material.points.as_deref(),
        &material.checks,
        width,
    ));
    out.push_str(&comparison(material, width));
    out.push_str(&cautions(material, width));
    let limits = if frame::shows_limits(material) { format!(" {}", deference::LIMITS) } else { String::new() };
    let _ = writeln!(out, "\n{}", wrapped(&format!("{}{limits}", deference::FIRST), width, "", ""));
    out
}

/// Both sides of a check after a repair; nothing where there is none.
fn comparison(material: &Material, width: usize) -> String {
    let Some(earlier) = material.before_repair() else { return String::new() };
    let both = Comparison::of(&earlier.record, &material.record);
    if both.pairs.is_empty() {
        return String::new();
    }
    let side = |answered: &Answered| {
        let verdict = verdict_words(answered);
        let comma = if verdict.is_empty() { "" } else { ", " };
        plain(&format!("{}{comma}{verdict}", answer_words(answered)))
    };
    let row = |pair: &super::comparison::Pair<'_>| {
        let question = &pair.after.prompt.question;
        let limits = limits_words(question).0;
        let asked = if limits.is_empty() {
            pair.after.prompt.text.clone()
        } else {
            format!("{}: {limits}", pair.after.prompt.text)
        };
        vec![plain(&asked), pair.before.map_or_else(|| "not measured before".to_owned(), side), side(pair.after)]
    };
    let rows: Vec<Vec<String>> = both.pairs.iter().map(row).collect();
    let (title, now) = match material.is_after_a_repair() {
        true => ("Before and after the repair", "after"),
        false => ("First test and this one", "now"),
    };
    let mut out = format!("\n{title}:\n");
    let _ = writeln!(out, "{}", table(width, &["what", "before", now], &rows, &[]));
    if !both.not_repeated.is_empty() {
        let which: Vec<String> = both.not_repeated.iter().map(|answered| plain(&answered.prompt.text)).collect();
        let says = format!("Not measured again: {}.", which.join("; "));
        let _ = writeln!(out, "{}", wrapped(&says, width, "", "  "));
    }
    out
}

/// What the cautions said that were told, each once.
fn cautions(material: &Material, width: usize) -> String {
    let mut told: Vec<&CautionId> = Vec::new();
    for item in material.record.items() {
        let (Item::Cautioned { cautions, .. } | Item::Reminded { cautions }) = item else { continue };
        for id in cautions {
            if !told.contains(&id) {
                told.push(id);
            }
        }
    }
    let mut lines = String::new();
    for id in told {
        let Some(rule) = material.rules.get(id) else { continue };
        let word = material.signal_words.get(id).copied().unwrap_or_else(|| rule.word());
        let says =
            format!("{word}, {}: {} ({})", id.as_str().replace('_', " "), rule.says(), source_words(&rule.source));
        let _ = writeln!(lines, "{}", wrapped(&plain(&says), width, "  ", "    "));
    }
    if lines.is_empty() {
        return lines;
    }
    let first_word = wrapped(FIRST_WORD, width, "  ", "  ");
    format!("\nWhat the cautions said:\n{lines}{first_word}\n")
}
