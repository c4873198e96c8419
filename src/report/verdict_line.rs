//! A verdict as the person at the vehicle sees it: the word first, then the value, its limits, and by how much.

use super::entry::{Tone, answer_text, verdict_tone};
use super::measured::limits_of;
use super::question::limits_in_words;
use crate::model::limits::{LimitResult, Limits, Sureness, Verdict};
use crate::model::meter::Function;
use crate::model::prompt::{Answer, Leads, Prompt, Question};
use crate::model::quantity::Quantity;
use crate::model::typed::{self, Shown};
use crate::model::unit::significant;

/// Below so many volts the posts of a battery read nothing: even an empty one shows more (common practice, no source).
const NOTHING: f64 = 0.05;

/// A verdict in its parts.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct VerdictLine {
    /// How it catches the eye.
    pub tone: Tone,
    /// The word; empty where nothing is judged.
    pub word: &'static str,
    /// The value with its unit.
    pub value: String,
    /// What stands after it, each part kept in one piece where the width allows.
    pub rest: Vec<String>,
}

/// The facts besides the answer.
#[derive(Clone, Copy, Debug, Default)]
pub struct Beside {
    /// The meter's worst case at this reading.
    pub accuracy: Option<Quantity>,
    /// Nobody named the meter: the accuracy is an assumed one.
    pub assumed: bool,
    /// The limits are an example's.
    pub example: bool,
}

/// The one value of an answer that decides its verdict: of a lowest and a highest the worse one.
fn deciding(prompt: &Prompt, answer: &Answer) -> Option<Quantity> {
    let unit = prompt.question.unit()?;
    let limits = limits_of(&prompt.question)?;
    let value = |text: &str| match typed::read_reading(text, unit) {
        Ok(Shown::Value(value)) => Some(value),
        _ => None,
    };
    match answer {
        Answer::Reading { typed } => value(typed),
        Answer::LowestHighest { lowest, highest } => {
            let both = [value(lowest)?, value(highest)?];
            both.into_iter().max_by(|a, b| beyond(limits, *a).total_cmp(&beyond(limits, *b)))
        }
        _ => None,
    }
}

/// How far beyond its limits a value is; below zero inside.
fn beyond(limits: &Limits, value: Quantity) -> f64 {
    let below = limits.low().map(|low| low.si() - value.si());
    let above = limits.high().map(|high| value.si() - high.si());
    below.into_iter().chain(above).fold(f64::NEG_INFINITY, f64::max)
}

/// Whether a battery's own posts show nothing.
fn leads_may_be_off(prompt: &Prompt, value: Option<Quantity>) -> bool {
    let Question::Reading { function: Function::Volts, limits, leads: Leads::Across { red, black } } = &prompt.question
    else {
        return false;
    };
    let of_battery = |name: &str, side: &str| name.contains("battery") && name.contains(side);
    let at_posts = of_battery(&red.name, "positive") && of_battery(&black.name, "negative");
    let low = limits.low().is_some_and(|low| low.si() > 1.0);
    at_posts && low && value.is_some_and(|value| value.si().abs() < NOTHING)
}

/// The word alone, where something is judged.
pub fn word(prompt: &Prompt, answer: &Answer, verdict: Option<Verdict>) -> Option<&'static str> {
    if matches!(answer, Answer::Skipped { .. }) {
        return Some("SKIPPED");
    }
    let verdict = verdict?;
    if leads_may_be_off(prompt, deciding(prompt, answer)) {
        return Some("LEADS OFF?");
    }
    Some(match (verdict.standing, verdict.sureness) {
        (LimitResult::In | LimitResult::Low | LimitResult::High, Sureness::Unsure { .. }) => "NEAR THE LIMIT",
        (LimitResult::In, _) => "OK",
        (LimitResult::Low, _) => "LOW",
        (LimitResult::High, _) => "HIGH",
        (LimitResult::Open | LimitResult::OverRange, _) => "OL",
        (LimitResult::Unsteady, _) => "UNSTEADY",
    })
}

impl VerdictLine {
    /// Of an answer, where it has a value that the screen shows.
    pub fn of(prompt: &Prompt, answer: &Answer, verdict: Option<Verdict>, beside: Beside) -> Option<Self> {
        if !matches!(answer, Answer::Reading { .. } | Answer::LowestHighest { .. }) {
            return None;
        }
        let value = answer_text(prompt, answer).replace(" … ", " to ");
        let Some(word) = word(prompt, answer, verdict) else {
            return Some(Self { tone: Tone::Plain, word: "", value, rest: vec![] });
        };
        let mut rest = Vec::new();
        if let Some(limits) = limits_of(&prompt.question) {
            let example = if beside.example { ", example" } else { "" };
            rest.push(format!("({}{example})", limits_in_words(&limits.to_string())));
            rest.extend(deciding(prompt, answer).and_then(|value| by_how_much(limits, value, word, beside)));
        }
        let tone = if word == "LEADS OFF?" { Tone::Doubtful } else { verdict_tone(verdict) };
        Some(Self { tone, word, value, rest })
    }
}

/// By how much it is beyond its limit, or how near, and how far the meter may be off.
fn by_how_much(limits: &Limits, value: Quantity, word: &str, beside: Beside) -> Option<String> {
    let unit = limits.unit;
    // As a difference in the prompt's unit, which a scale of temperature has, too.
    let between = |one: Quantity, other: Quantity| {
        unit.with_symbol(&significant((unit.number(one) - unit.number(other)).abs(), 2))
    };
    let low = limits.low().filter(|low| value.si() < low.si());
    let high = limits.high().filter(|high| value.si() > high.si());
    let distance = match (word, low, high) {
        ("LOW" | "NEAR THE LIMIT" | "LEADS OFF?", Some(low), _) => format!("below by {}", between(value, low)),
        ("HIGH" | "NEAR THE LIMIT", _, Some(high)) => format!("above by {}", between(value, high)),
        ("NEAR THE LIMIT", ..) => {
            let nearest = [limits.low(), limits.high()]
                .into_iter()
                .flatten()
                .min_by(|a, b| (a.si() - value.si()).abs().total_cmp(&(b.si() - value.si()).abs()))?;
            format!("inside by {}", between(value, nearest))
        }
        _ => return None,
    };
    let meter = beside.accuracy.map(|accuracy| {
        let off = between(value.with_si(value.si() + accuracy.si()), value);
        let assumed = if beside.assumed { " (assumed meter)" } else { "" };
        format!(", meter ± {off}{assumed}")
    });
    Some(format!("{distance}{}", meter.unwrap_or_default()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::limits::NoAccuracy;
    use crate::model::prompt::{LeadEnd, PromptId};

    fn prompt(low: f64, high: f64, red: &str, black: &str) -> Prompt {
        let mut limits = Limits::between(Quantity::volts(low), Quantity::volts(high)).unwrap();
        limits.unit = limits.unit.without_prefix();
        let end = |name: &str| LeadEnd { name: name.into(), ..LeadEnd::default() };
        let leads = Leads::Across { red: end(red), black: end(black) };
        let question = Question::Reading { function: Function::Volts, limits, leads };
        Prompt { id: PromptId::new("ground_1"), text: "First ground".into(), question }
    }

    fn line(prompt: &Prompt, typed: &str, accuracy: Option<f64>, assumed: bool) -> VerdictLine {
        let limits = limits_of(&prompt.question).unwrap();
        let shown = typed::read_reading(typed, limits.unit).unwrap();
        let accuracy = accuracy.map(Quantity::volts);
        let verdict = limits.judge_on(Function::Volts, shown, accuracy.ok_or(NoAccuracy::NoMeter));
        let beside = Beside { accuracy, assumed, example: true };
        VerdictLine::of(prompt, &Answer::Reading { typed: typed.into() }, verdict, beside).unwrap()
    }

    #[test]
    fn the_word_comes_first_and_says_by_how_much() {
        let ground = prompt(-0.2, 0.2, "ground_1", "battery_negative");
        let high = line(&ground, "0.31", Some(0.03), false);
        assert_eq!((high.word, high.tone, high.value.as_str()), ("HIGH", Tone::Bad, "0.31 V"));
        assert_eq!(high.rest, ["(-0.2 to 0.2 V, example)", "above by 0.11 V, meter ± 0.03 V"]);
        let ok = line(&ground, "0.05", None, false);
        assert_eq!((ok.word, ok.rest), ("OK", vec!["(-0.2 to 0.2 V, example)".to_owned()]));
        let near = line(&ground, "0.19", Some(0.03), true);
        assert_eq!((near.word, near.tone), ("NEAR THE LIMIT", Tone::Doubtful));
        assert_eq!(near.rest[1], "inside by 0.01 V, meter ± 0.03 V (assumed meter)");
        assert_eq!(line(&ground, "-0.4", None, false).rest[1], "below by 0.2 V");
        assert_eq!(line(&ground, "OL", None, false).word, "OL");
        assert_eq!(line(&ground, "0.1...0.3", None, false).word, "UNSTEADY");
    }

    #[test]
    fn nothing_on_a_battery_is_a_verdict_of_its_own() {
        let battery = prompt(12.2, 13.5, "battery_positive", "battery_negative");
        assert_eq!(line(&battery, "0.00", None, false).word, "LEADS OFF?");
        assert_eq!(line(&battery, "6.0", None, false).word, "LOW");
        let feed = prompt(12.2, 13.5, "feed", "battery_negative");
        assert_eq!(line(&feed, "0.00", None, false).word, "LOW");
    }
}
