//! The accuracy of a meter that nobody named: an assumption, so that a reading near its limit is seen as one (common practice, no
//! source). It is for screens and reports; a record's verdicts and a script never use it.

use super::Function;
use crate::model::limits::{NoAccuracy, Sureness, Verdict};
use crate::model::prompt::{Answer, Leads, Prompt, Question};
use crate::model::quantity::Quantity;
use crate::model::typed::{self, Shown};
use crate::model::unit::Unit;

/// The assumption in words.
pub const IN_WORDS: &str =
    "DC volts 0.5 % + 3 digits, ohms 1 % + 5, DC amperes 1.5 % + 5, clamp 3 % + 5 (common practice, no source)";

/// A part of the reading, and digits of the last place.
const fn figures(function: Function, leads: &Leads) -> Option<(f64, f64)> {
    match (function, leads) {
        (Function::Volts, _) => Some((0.005, 3.0)),
        (Function::Ohms, _) => Some((0.01, 5.0)),
        (Function::Amperes, Leads::Clamp { .. }) => Some((0.03, 5.0)),
        (Function::Amperes, _) => Some((0.015, 5.0)),
        _ => None,
    }
}

/// The same number with a point before its fraction: `12,60` is `12.60`, and `4k70` is `4.70k`.
fn with_a_point(typed: &str) -> String {
    let digits = |text: &str| text.chars().take_while(char::is_ascii_digit).count();
    let sign = typed.len() - typed.trim_start_matches(['+', '-']).len();
    let whole = sign + digits(&typed[sign..]);
    let Some(letter) = typed[whole..].chars().next().filter(|c| c.is_ascii_alphabetic() && !matches!(c, 'e' | 'E'))
    else {
        return typed.replacen(',', ".", 1);
    };
    let after = whole + letter.len_utf8();
    let fraction = after + digits(&typed[after..]);
    if whole == sign || fraction == after {
        return typed.to_owned();
    }
    format!("{}.{}{letter}{}", &typed[..whole], &typed[after..fraction], &typed[fraction..])
}

/// One of the last place that was typed: of `12.6` in volts it is 0.1 V.
pub fn last_place(typed: &str, unit: Unit) -> Option<Quantity> {
    let typed = with_a_point(typed.trim());
    let is_of_number = |c: char| c.is_ascii_digit() || matches!(c, '+' | '-' | '.');
    let end = typed.find(|c| !is_of_number(c)).unwrap_or(typed.len());
    let (number, rest) = typed.split_at(end);
    let last = number.rfind(|c: char| c.is_ascii_digit())?;
    let one: String = number
        .char_indices()
        .map(|(at, c)| match c {
            '0'..='9' if at == last => '1',
            '0'..='9' => '0',
            '-' => '+',
            c => c,
        })
        .collect();
    let read = |number: &str| match typed::read(&format!("{number}{rest}"), unit) {
        Ok(Shown::Value(value)) => Some(value),
        _ => None,
    };
    // A degree Fahrenheit is no 255 K: what the unit's zero is goes off.
    let (one, zero) = (read(one.trim_start_matches('+'))?, read("0")?);
    Some(one.with_si(one.si() - zero.si()))
}

/// The assumed worst case of a reading as it was typed; `None` of a function for which nothing is assumed.
pub fn accuracy(question: &Question, typed: &str, value: Quantity) -> Option<Quantity> {
    let (part, digits) = figures(question.function()?, question.leads().unwrap_or(&Leads::Nowhere))?;
    let place = last_place(typed, question.unit()?)?;
    Some(value.with_si(part * value.si().abs() + digits * place.si()))
}

/// The verdict on a reading with the assumed accuracy, where no meter was named for it, and that accuracy.
pub fn verdict(prompt: &Prompt, answer: &Answer, recorded: Option<Verdict>) -> Option<(Verdict, Quantity)> {
    let Sureness::Unknown { why: NoAccuracy::NoMeter } = recorded?.sureness else { return None };
    let (Answer::Reading { typed }, Question::Reading { limits, function, .. }) = (answer, &prompt.question) else {
        return None;
    };
    let shown = typed::read_reading(typed, limits.unit).ok()?;
    let Shown::Value(value) = shown else { return None };
    let accuracy = accuracy(&prompt.question, typed, value)?;
    Some((limits.judge_on(*function, shown, Ok(accuracy))?, accuracy))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::limits::{LimitResult, Limits};
    use crate::model::prompt::{LeadEnd, PromptId};

    fn prompt(function: Function, low: Quantity, high: Quantity, leads: Leads) -> Prompt {
        let mut limits = Limits::between(low, high).unwrap();
        limits.unit = limits.unit.without_prefix();
        let question = Question::Reading { function, limits, leads };
        Prompt { id: PromptId::new("a"), text: "A".into(), question }
    }

    fn of(prompt: &Prompt, typed: &str, why: NoAccuracy) -> Option<(Sureness, f64)> {
        let answer = Answer::Reading { typed: typed.into() };
        let recorded = Verdict { standing: LimitResult::In, sureness: Sureness::Unknown { why } };
        verdict(prompt, &answer, Some(recorded)).map(|(verdict, accuracy)| (verdict.sureness, accuracy.si()))
    }

    fn worst(prompt: &Prompt, typed: &str) -> f64 {
        of(prompt, typed, NoAccuracy::NoMeter).unwrap().1
    }

    #[test]
    fn the_last_place_typed_and_the_function_tell_how_far_off_it_may_be() {
        let volts = prompt(Function::Volts, Quantity::volts(12.2), Quantity::volts(13.5), Leads::Nowhere);
        for (typed, want) in [("12.40", 0.092), ("12.4", 0.362), ("-12.40", 0.092), ("370m", 0.00485), ("0.00", 0.03)] {
            assert!((worst(&volts, typed) - want).abs() < 1e-9, "{typed}: {}", worst(&volts, typed));
        }
        let ohms = prompt(Function::Ohms, Quantity::ohms(1000.0), Quantity::ohms(5000.0), Leads::Nowhere);
        assert!((worst(&ohms, "4.70k") - (47.0 + 50.0)).abs() < 1e-9);
        let amperes = |leads| prompt(Function::Amperes, Quantity::amperes(1.0), Quantity::amperes(5.0), leads);
        assert!((worst(&amperes(Leads::Nowhere), "2.00") - (0.03 + 0.05)).abs() < 1e-9);
        let clamp = Leads::Clamp { at: LeadEnd::default() };
        assert!((worst(&amperes(clamp), "2.00") - (0.06 + 0.05)).abs() < 1e-9);
    }

    #[test]
    fn only_a_reading_without_a_meter_has_it() {
        let volts = prompt(Function::Volts, Quantity::volts(12.2), Quantity::volts(13.5), Leads::Nowhere);
        let sureness = |typed| of(&volts, typed, NoAccuracy::NoMeter).unwrap().0;
        assert!(matches!(sureness("12.25"), Sureness::Unsure { .. }));
        assert_eq!(sureness("12.80"), Sureness::Sure);
        assert_eq!(of(&volts, "12.25", NoAccuracy::CalibrationPast), None);
        let junction = prompt(Function::Diode, Quantity::volts(0.4), Quantity::volts(0.8), Leads::Nowhere);
        assert_eq!(of(&junction, "0.45", NoAccuracy::NoMeter), None);
    }

    #[test]
    fn the_last_place_is_that_of_the_number_however_its_fraction_is_written() {
        let of = |typed: &str, unit: &str| last_place(typed, unit.parse().unwrap()).unwrap().si();
        for (typed, unit, place) in [
            ("12.60", "V", 0.01),
            ("12,60", "V", 0.01),
            ("0,31 V", "V", 0.01),
            ("-0.02", "V", 0.01),
            ("4k7", "ohm", 100.0),
            ("4k70", "ohm", 10.0),
            ("4.70k", "ohm", 10.0),
            ("470", "ohm", 1.0),
        ] {
            assert!((of(typed, unit) - place).abs() < 1e-9 * place.max(1.0), "{typed}: {}", of(typed, unit));
        }
    }
}
