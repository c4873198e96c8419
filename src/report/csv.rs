//! A record as CSV: one line a reading; a sweep's readings each have a line of their own, and so has what was typed first and
//! doubted, and a reading of a sweep that was taken back.

use super::material::Material;
use super::measured;
use super::one_line::plain;
use crate::model::doubt::Doubt;
use crate::model::prompt::{Answer, Leads, Question};
use crate::model::quantity::Quantity;
use crate::model::record::Item;
use crate::model::record::given::Answered;
use crate::model::typed::{self, Shown};
use crate::model::unit::Unit;
use std::sync::Arc;

/// The columns, in their order. Numbers are in the unit of their line.
pub const COLUMNS: [&str; 24] = [
    "record",
    "at",
    "step",
    "id",
    "text",
    "asked",
    "number",
    "red",
    "black",
    "typed",
    "value",
    "unit",
    "low",
    "high",
    "source",
    "verdict",
    "sure",
    "accuracy",
    "position",
    "mark",
    "carried",
    "taken_back",
    "reason",
    "simulated",
];

/// One line.
#[derive(Clone, Default)]
struct Line {
    number: String,
    typed: String,
    value: String,
    accuracy: String,
    position: String,
    mark: String,
    /// Why it was skipped or doubted.
    reason: String,
    /// It does not stand, so that the verdict is not its.
    is_withdrawn: bool,
    /// It was one reading of a sweep that was taken back.
    is_taken_back: bool,
}

/// The table as text, with its heading.
///
/// # Errors
/// Never in practice: the lines are all of one length, and memory does not fail to be written to.
pub fn text(material: &Material) -> Result<String, csv::Error> {
    let mut writer = csv::WriterBuilder::new().from_writer(Vec::new());
    writer.write_record(COLUMNS)?;
    for step in &material.record.steps {
        for placed in &step.items {
            match &placed.item {
                Item::Answered(answered) => {
                    for line in doubted(answered).into_iter().chain(lines(answered, material)) {
                        writer.write_record(row(material, &step.title, answered, line))?;
                    }
                }
                Item::Struck { id, reading: Some(reading), .. } => {
                    let asked = |answered: &&Answered| answered.prompt.id == *id && answered.line > placed.line;
                    // A sweep that was not ended has no question in the record.
                    if let Some(answered) = material.record.every_answer().find(asked) {
                        let line = Line {
                            mark: "taken back".to_owned(),
                            is_taken_back: true,
                            ..typed_line(answered, reading)
                        };
                        writer.write_record(row(material, &step.title, answered, line))?;
                    }
                }
                _ => {}
            }
        }
    }
    let bytes = writer.into_inner().map_err(|error| csv::Error::from(error.into_error()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

/// What was typed, as a line that does not stand.
fn typed_line(answered: &Answered, text: &str) -> Line {
    let unit = answered.prompt.question.unit();
    let shown = unit.and_then(|unit| typed::read(text, unit).ok());
    let value = shown.map(|shown| number(shown, unit)).unwrap_or_default();
    Line { typed: text.to_owned(), value, is_withdrawn: true, ..Line::default() }
}

/// What was typed first, and why it was doubted.
fn doubted(answered: &Answered) -> Vec<Line> {
    let line = |(text, doubt): &(Arc<str>, Doubt)| Line {
        mark: "doubted".to_owned(),
        reason: doubt.to_string(),
        ..typed_line(answered, text)
    };
    answered.doubts.iter().map(line).collect()
}

fn lines(answered: &Answered, material: &Material) -> Vec<Line> {
    let unit = answered.prompt.question.unit();
    if let Some((ends, shown, track)) = measured::track(answered) {
        return shown
            .iter()
            .zip(&answered.sweep)
            .enumerate()
            .map(|(index, (shown, reading))| Line {
                number: (index + 1).to_string(),
                typed: reading.text.clone(),
                value: number(*shown, Some(ends.unit)),
                position: reading.position.clone().unwrap_or_default(),
                mark: if track.dropouts.contains(&index) {
                    "breaks off"
                } else if track.turns.contains(&index) {
                    "turns"
                } else {
                    ""
                }
                .to_owned(),
                ..Line::default()
            })
            .collect();
    }
    let texts: Vec<(&str, &str)> = match &answered.answer {
        Answer::Reading { typed } => vec![("", typed)],
        Answer::LowestHighest { lowest, highest } => vec![("lowest", lowest), ("highest", highest)],
        Answer::Choice { option } => vec![("", option)],
        Answer::Note { words } => vec![("", words)],
        Answer::Skipped { reason } => {
            return vec![Line { mark: "skipped".to_owned(), reason: reason.clone(), ..Line::default() }];
        }
        Answer::YesNo { yes } => {
            return vec![Line { typed: if *yes { "yes" } else { "no" }.to_owned(), ..Line::default() }];
        }
        Answer::Sweep { .. } => return vec![Line::default()],
    };
    let values = measured::values(answered);
    let with_value = |index: usize, (mark, typed): (&str, &str)| {
        let shown = values.get(index).copied();
        let accuracy = match shown {
            Some(Shown::Value(value)) => measured::accuracy(answered, value, material.meter.as_ref()),
            _ => None,
        };
        Line {
            typed: typed.to_owned(),
            value: shown.map(|shown| number(shown, unit)).unwrap_or_default(),
            accuracy: accuracy.zip(unit).map(|(accuracy, unit)| difference(accuracy, unit)).unwrap_or_default(),
            mark: mark.to_owned(),
            ..Line::default()
        }
    };
    texts.into_iter().enumerate().map(|(index, text)| with_value(index, text)).collect()
}

fn row(material: &Material, step: &str, answered: &Answered, line: Line) -> Vec<String> {
    let question = &answered.prompt.question;
    let (low, high) = bounds(question);
    let (red, black) = match question.leads() {
        Some(Leads::Across { red, black }) => (red.name.to_string(), black.name.to_string()),
        Some(Leads::Through { at } | Leads::Clamp { at }) => (at.name.to_string(), String::new()),
        Some(Leads::Nowhere) | None => (String::new(), String::new()),
    };
    let stands = !line.is_withdrawn;
    let sure = answered.verdict.filter(|_| stands).map_or("", |verdict| sure_word(verdict.sureness));
    let verdict = if stands { measured::verdict_words(answered) } else { String::new() };
    let taken_back = answered.struck_at.is_some() || line.is_taken_back;
    let yes = |flag: bool| if flag { "yes" } else { "" }.to_owned();
    [
        material.name.clone(),
        answered.at.to_string(),
        step.to_owned(),
        answered.prompt.id.to_string(),
        answered.prompt.text.clone(),
        asked_word(question).to_owned(),
        line.number,
        red,
        black,
        line.typed,
        line.value,
        question.unit().map(Unit::word).unwrap_or_default(),
        low,
        high,
        measured::source_of(question).unwrap_or_default().to_owned(),
        verdict,
        sure.to_owned(),
        line.accuracy,
        line.position,
        line.mark,
        yes(answered.origin.is_carried_over()),
        yes(taken_back),
        line.reason,
        if material.record.started.circuit().is_some() { "SIMULATED" } else { "" }.to_owned(),
    ]
    .map(|cell| tame(&plain(&cell)))
    .to_vec()
}

/// Lower and upper limit in the prompt's unit; of a sweep, its lower and upper end.
fn bounds(question: &Question) -> (String, String) {
    if let Question::Sweep { ends, .. } = question {
        let (one, other) = (ends.unit.number(ends.one), ends.unit.number(ends.other));
        return (trimmed(one.min(other)), trimmed(one.max(other)));
    }
    let Some(limits) = measured::limits_of(question) else { return (String::new(), String::new()) };
    let text = |limit: Option<Quantity>| limit.map(|limit| trimmed(limits.unit.number(limit))).unwrap_or_default();
    (text(limits.low()), text(limits.high()))
}

/// What a question asks for, in a word.
pub const fn asked_word(question: &Question) -> &'static str {
    match question {
        Question::Reading { .. } => "reading",
        Question::ModuleValue { .. } => "module value",
        Question::LowestHighest { .. } => "lowest and highest",
        Question::Sweep { .. } => "sweep",
        Question::YesNo => "yes or no",
        Question::Choice { .. } => "choice",
        Question::Note => "note",
        Question::Number { .. } => "number",
    }
}

/// How sure a verdict is, in a word.
pub const fn sure_word(sureness: crate::model::limits::Sureness) -> &'static str {
    match sureness {
        crate::model::limits::Sureness::Sure => "sure",
        crate::model::limits::Sureness::Unsure { .. } => "unsure",
        crate::model::limits::Sureness::Unknown { .. } => "unknown",
    }
}

fn number(shown: Shown, unit: Option<Unit>) -> String {
    match (shown, unit) {
        (Shown::OverRange, _) => "OL".to_owned(),
        (Shown::Unsteady { lowest, highest }, unit) => {
            let [lowest, highest] = [lowest, highest].map(|value| number(Shown::Value(value), unit));
            typed::range(&lowest, &highest)
        }
        (Shown::Value(value), Some(unit)) => trimmed(unit.number(value)),
        (Shown::Value(value), None) => trimmed(value.si()),
    }
}

/// An amount in a unit, whatever the unit's zero.
fn difference(amount: Quantity, unit: Unit) -> String {
    let zero = unit.quantity(0.0);
    trimmed(unit.number(zero.with_si(zero.si() + amount.si())))
}

fn trimmed(number: f64) -> String {
    crate::model::unit::significant(number, 9)
}

/// Where spreadsheets of many countries split a line, instead of at commas.
const ALSO_SPLIT_AT: char = ';';

/// A cell that no spreadsheet takes for a formula, wherever it splits the line: what begins like one and is no reading is led by an apostrophe.
///
/// ```
/// use ohmwright::report::csv::tame;
/// assert_eq!(tame("=1+1"), "'=1+1");
/// assert_eq!(tame("-0.02 V"), "-0.02 V");
/// ```
pub fn tame(cell: &str) -> String {
    let begins = ['=', '+', '-', '@', '\u{ff1d}', '\u{ff0b}', '\u{ff0d}', '\u{ff20}'];
    let mut characters = cell.chars();
    let is_reading = characters.next().is_some_and(|c| matches!(c, '-' | '+'))
        && characters.next().is_some_and(|c| c.is_ascii_digit() || c == '.')
        && characters.all(|c| c.is_alphanumeric() || matches!(c, '.' | ' ' | '%' | '\u{b0}'));
    let formula = |part: &str| part.trim_start_matches([' ', '"', '\'']).starts_with(begins);
    let mut parts = cell.split(ALSO_SPLIT_AT);
    let mut tame = String::with_capacity(cell.len() + 1);
    if let Some(first) = parts.next() {
        if (cell.starts_with(['\t', '\r']) || first.trim_start().starts_with(begins)) && !is_reading {
            tame.push('\'');
        }
        tame.push_str(first);
    }
    // A spreadsheet that splits there takes each part for a cell, quoted or not.
    for part in parts {
        tame.push(ALSO_SPLIT_AT);
        if formula(part) {
            tame.push('\'');
        }
        tame.push_str(part);
    }
    tame
}

#[cfg(test)]
mod tests {
    use super::tame;

    #[test]
    fn no_cell_is_a_formula_and_a_negative_number_stays_one() {
        assert_eq!(tame("=1+1"), "'=1+1");
        assert_eq!(tame(" @x"), "' @x");
        assert_eq!(tame("-0.02"), "-0.02");
        assert_eq!(tame("-20 mV"), "-20 mV");
        assert_eq!(tame("-2+cmd|' /C calc'!A0"), "'-2+cmd|' /C calc'!A0");
        assert_eq!(tame("4.998"), "4.998");
        assert_eq!(tame("ok;=1+1"), "ok;'=1+1");
        assert_eq!(tame("ok; @x;\"=y\""), "ok;' @x;'\"=y\"");
        assert_eq!(tame("loose; dirty; -0.02"), "loose; dirty;' -0.02");
        assert_eq!(tame("loose; dirty"), "loose; dirty");
    }
}
