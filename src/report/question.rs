//! A question as a person reads it: where the leads go, what the meter is switched to, what it should show.

use super::action;
use super::measured::{limits_of, limits_words};
use super::table::{fits, harmless, table, wrapped};
use crate::model::limits::Bounds;
use crate::model::meter::Function;
use crate::model::prompt::{Leads, Prompt, Question};

/// What is asked, in the procedure's words.
pub fn heading(prompt: &Prompt, width: usize) -> String {
    wrapped(&harmless(&prompt.text), width, "", "  ")
}

/// What stands below it: leads, limits, choices.
pub fn details(prompt: &Prompt, width: usize) -> Vec<String> {
    let indented = |text: &str| wrapped(&harmless(text), width, "  ", "  ");
    let mut lines = Vec::new();
    let question = &prompt.question;
    if let Some(leads) = question.leads().filter(|leads| !leads.ends().is_empty()) {
        if let Some(function) = question.function() {
            lines.push(indented(&format!("meter on {}", function_words(function))));
        }
        lines.extend(leads_lines(leads, width));
    }
    let (limits, source) = limits_words(question);
    if !limits.is_empty() {
        let source = source.map(|source| format!("  [{source}]")).unwrap_or_default();
        let judged = limits_of(question).is_none_or(|limits| limits.bounds != Bounds::Unlimited);
        lines.push(indented(&format!("{}{limits}{source}", if judged { "should be " } else { "" })));
    }
    if let Question::Choice { options } = question {
        lines.extend(options.iter().enumerate().map(|(index, option)| indented(&format!("{}  {option}", index + 1))));
    }
    lines
}

/// In how many lines a lead's row in the table may be at most, on average.
const LINES_OF_A_ROW: usize = 3;

/// Where the leads go: a table; where that would break words, a line for each.
fn leads_lines(leads: &Leads, width: usize) -> Vec<String> {
    let ends = leads.ends();
    let all = ["lead", "to", "pin", "wire", "where"];
    let cells: Vec<[String; 5]> = ends
        .iter()
        .map(|(lead, end)| {
            let name = action::name_of(end);
            [Some(*lead), Some(name.as_str()), action::pin_of(end), end.wire.as_deref(), end.place.as_deref()]
                .map(|text| harmless(text.unwrap_or("")))
        })
        .collect();
    // A column in which nothing stands only makes the others narrow.
    let columns: Vec<usize> =
        (0..all.len()).filter(|column| cells.iter().any(|row| !row[*column].is_empty())).collect();
    let heading: Vec<&str> = columns.iter().map(|column| all[*column]).collect();
    let rows: Vec<Vec<String>> =
        cells.iter().map(|row| columns.iter().map(|column| row[*column].clone()).collect()).collect();
    if fits(width, &heading, &rows) {
        let drawn = table(width, &heading, &rows, &[]);
        // Squeezed until a cell runs down the screen, a sentence is read more easily.
        if drawn.lines().count() <= 4 + LINES_OF_A_ROW * rows.len() {
            return vec![drawn];
        }
    }
    let line = |(lead, end)| wrapped(&harmless(&format!("{lead} to {}", action::place(end))), width, "  ", "    ");
    ends.into_iter().map(line).collect()
}

/// What stands before the cursor: the unit, or what can be typed. On a simulated circuit, what Enter does.
pub fn cursor(question: &Question, at_bench: bool) -> String {
    if at_bench && !matches!(question, Question::YesNo | Question::Choice { .. } | Question::Note) {
        let module = matches!(question, Question::ModuleValue { .. });
        return if module { "  Enter reads the module > " } else { "  Enter puts the leads there > " }.to_owned();
    }
    match question.unit() {
        Some(unit) if !unit.to_string().is_empty() => format!("{unit} > "),
        _ => match question {
            Question::YesNo => "1 yes, 2 no > ".to_owned(),
            Question::Choice { .. } => "number > ".to_owned(),
            _ => "> ".to_owned(),
        },
    }
}

/// What a meter is switched to, in words.
const fn function_words(function: Function) -> &'static str {
    match function {
        Function::Volts => "volts DC",
        Function::Amperes => "amperes DC",
        Function::Ohms => "ohms",
        Function::Diode => "diode test",
        Function::Hertz => "hertz",
        Function::Duty => "duty, in %",
        Function::Temperature => "temperature",
        Function::Time => "time",
    }
}
