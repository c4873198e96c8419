//! An answer as JSON: its numbers, limits, verdict, and a sweep's readings.

use super::csv::asked_word;
use super::measured;
use crate::model::limits::{LimitResult, Limits, NoAccuracy, Sureness, Verdict};
use crate::model::meter::Meter;
use crate::model::meter::assumed;
use crate::model::prompt::{Answer, Ends, LeadEnd, Question};
use crate::model::quantity::Quantity;
use crate::model::record::given::Answered;
use crate::model::sweep::Shape;
use crate::model::typed::Shown;
use crate::model::unit::Unit;
use serde::Serialize;

/// An answer with all that belongs to it.
#[derive(Serialize)]
pub struct AnswerFacts<'a> {
    line: usize,
    at: &'a str,
    id: &'a str,
    text: &'a str,
    asked: &'static str,
    leads: Vec<LeadFacts<'a>>,
    signal: Option<&'a str>,
    unit: Option<String>,
    answer: String,
    typed: Vec<&'a str>,
    values: Vec<Option<f64>>,
    limits: Option<LimitFacts<'a>>,
    verdict: Option<VerdictFacts>,
    sweep: Option<SweepFacts<'a>>,
    doubts: Vec<DoubtFacts<'a>>,
    skipped: Option<&'a str>,
    carried: bool,
    taken_back_at_line: Option<usize>,
}

#[derive(Serialize)]
struct LeadFacts<'a> {
    lead: &'static str,
    #[serde(flatten)]
    end: &'a LeadEnd,
}

#[derive(Serialize)]
struct LimitFacts<'a> {
    low: Option<f64>,
    high: Option<f64>,
    expected: Option<f64>,
    source: Option<&'a str>,
    words: String,
}

#[derive(Serialize)]
struct VerdictFacts {
    standing: LimitResult,
    sure: Option<bool>,
    why_unknown: Option<NoAccuracy>,
    accuracies: Vec<Option<f64>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    assumed_accuracy: Option<f64>,
}

#[derive(Serialize)]
struct SweepFacts<'a> {
    one_end: f64,
    other_end: f64,
    tolerance: f64,
    moving: &'a str,
    shape: &'static str,
    readings: Vec<SweepPoint<'a>>,
}

#[derive(Serialize)]
struct SweepPoint<'a> {
    typed: &'a str,
    value: Option<f64>,
    position: Option<&'a str>,
    breaks_off: bool,
    turns: bool,
}

#[derive(Serialize)]
struct DoubtFacts<'a> {
    typed: &'a str,
    question: String,
}

/// An answer as the schema has it; `meter` is the one that was kept with its record.
pub fn answer<'a>(answered: &'a Answered, meter: Option<&Meter>) -> AnswerFacts<'a> {
    let question = &answered.prompt.question;
    let typed = match &answered.answer {
        Answer::Reading { typed } => vec![&**typed],
        Answer::LowestHighest { lowest, highest } => vec![lowest.as_str(), highest.as_str()],
        Answer::Choice { option } => vec![option.as_str()],
        Answer::Note { words } => vec![words.as_str()],
        Answer::YesNo { yes } => vec![if *yes { "yes" } else { "no" }],
        Answer::Sweep { .. } | Answer::Skipped { .. } => vec![],
    };
    let leads = question.leads().map(crate::model::prompt::Leads::ends).unwrap_or_default();
    AnswerFacts {
        line: answered.line,
        at: answered.at.as_str(),
        id: answered.prompt.id.as_str(),
        text: &answered.prompt.text,
        asked: asked_word(question),
        leads: leads.into_iter().map(|(lead, end)| LeadFacts { lead, end }).collect(),
        signal: match question {
            Question::ModuleValue { signal, .. } => Some(signal),
            _ => None,
        },
        unit: question.unit().map(Unit::word),
        answer: measured::answer_words(answered),
        typed,
        values: measured::values(answered).into_iter().map(number).collect(),
        limits: measured::limits_of(question).map(limit_facts),
        verdict: answered.verdict.map(|verdict| verdict_facts(verdict, answered, meter)),
        sweep: sweep(answered),
        doubts: answered
            .doubts
            .iter()
            .map(|(typed, doubt)| DoubtFacts { typed, question: doubt.to_string() })
            .collect(),
        skipped: match &answered.answer {
            Answer::Skipped { reason } => Some(reason),
            _ => None,
        },
        carried: answered.origin.is_carried_over(),
        taken_back_at_line: answered.struck_at,
    }
}

fn number(shown: Shown) -> Option<f64> {
    match shown {
        Shown::Value(value) => Some(rounded(value)),
        Shown::OverRange | Shown::Unsteady { .. } => None,
    }
}

/// In SI units to twelve digits, without what reckoning in binary leaves behind them.
fn rounded(quantity: Quantity) -> f64 {
    format!("{:.11e}", quantity.si()).parse().unwrap_or_else(|_| quantity.si())
}

fn limit_facts(limits: &Limits) -> LimitFacts<'_> {
    LimitFacts {
        low: limits.low().map(rounded),
        high: limits.high().map(rounded),
        expected: limits.expected().map(rounded),
        source: limits.source.as_deref(),
        words: limits.to_string(),
    }
}

fn verdict_facts(verdict: Verdict, answered: &Answered, meter: Option<&Meter>) -> VerdictFacts {
    let (sure, why_unknown) = match verdict.sureness {
        Sureness::Sure => (Some(true), None),
        Sureness::Unsure { .. } => (Some(false), None),
        Sureness::Unknown { why } => (None, Some(why)),
    };
    let accuracies = measured::values(answered)
        .into_iter()
        .map(|shown| match shown {
            Shown::Value(value) => measured::accuracy(answered, value, meter).map(rounded),
            Shown::OverRange | Shown::Unsteady { .. } => None,
        })
        .collect();
    let assumed = assumed::verdict(&answered.prompt, &answered.answer, Some(verdict));
    let assumed_accuracy = assumed.map(|(_, accuracy)| rounded(accuracy));
    VerdictFacts { standing: verdict.standing, sure, why_unknown, accuracies, assumed_accuracy }
}

fn sweep(answered: &Answered) -> Option<SweepFacts<'_>> {
    let Question::Sweep { ends: Ends { one, other, tolerance, .. }, moving, .. } = &answered.prompt.question else {
        return None;
    };
    let (_, shown, track) = measured::track(answered)?;
    let readings = shown
        .into_iter()
        .zip(&answered.sweep)
        .enumerate()
        .map(|(index, (shown, reading))| SweepPoint {
            typed: &reading.text,
            value: number(shown),
            position: reading.position.as_deref(),
            breaks_off: track.dropouts.contains(&index),
            turns: track.turns.contains(&index),
        })
        .collect();
    let shape = match track.shape {
        Shape::Follows => "follows",
        Shape::Stuck => "stuck",
        Shape::ShortOfEnd => "short_of_end",
        Shape::Dropout => "dropout",
    };
    Some(SweepFacts {
        one_end: rounded(*one),
        other_end: rounded(*other),
        tolerance: rounded(*tolerance),
        moving,
        shape,
        readings,
    })
}
