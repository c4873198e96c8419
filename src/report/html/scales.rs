//! Numbers as one table shows them: one unit for one kind of quantity, and no more digits than say something.

use crate::model::limits::Limits;
use crate::model::prompt::Answer;
use crate::model::quantity::Quantity;
use crate::model::record::given::Answered;
use crate::model::typed::Shown;
use crate::model::unit::{Unit, significant};
use crate::report::measured;

/// A rounded limit may stand off by this part of the distance between both limits.
const ROUNDING: f64 = 0.02;
/// Digits that a limit has at least and at most.
const DIGITS: std::ops::RangeInclusive<usize> = 3..=5;
/// Decimals that a reading is shown with at most.
const MOST_DECIMALS: i32 = 6;

/// The unit of each kind of quantity in a table.
#[derive(Default)]
pub struct Scales(Vec<Unit>);

impl Scales {
    /// Of these answers: where their units differ by the prefix alone, the one in which the numbers are handiest.
    pub fn of(answers: &[&Answered]) -> Self {
        let mut found: Vec<(Unit, Vec<Unit>, Vec<f64>)> = Vec::new();
        for answered in answers {
            let Some(unit) = answered.prompt.question.unit() else { continue };
            let limits = measured::limits_of(&answered.prompt.question);
            let values = measured::values(answered).into_iter().filter_map(|shown| match shown {
                Shown::Value(value) => Some(value),
                Shown::OverRange | Shown::Unsteady { .. } => None,
            });
            let sizes = limits.into_iter().flat_map(|limits| [limits.low(), limits.high()]).flatten().chain(values);
            let sizes = sizes.map(|size| size.si().abs()).filter(|size| *size > 0.0);
            let bare = unit.without_prefix();
            match found.iter_mut().find(|(known, ..)| *known == bare) {
                Some((_, units, all)) => {
                    units.push(unit);
                    all.extend(sizes);
                }
                None => found.push((bare, vec![unit], sizes.collect())),
            }
        }
        let handiest = |(bare, units, sizes): (Unit, Vec<Unit>, Vec<f64>)| {
            // Between 1 and 1000 a number is read at a glance.
            let awkward = |unit: &Unit| -> f64 {
                sizes.iter().map(|size| (size / unit.quantity(1.0).si()).log10()).map(|tens| (tens - 1.5).abs()).sum()
            };
            units.into_iter().min_by(|one, other| awkward(one).total_cmp(&awkward(other))).unwrap_or(bare)
        };
        Self(found.into_iter().map(handiest).collect())
    }

    /// The unit that stands for this one in the table.
    fn unit(&self, unit: Unit) -> Unit {
        let same = |known: &&Unit| known.without_prefix() == unit.without_prefix();
        self.0.iter().find(same).copied().unwrap_or(unit)
    }

    /// The reading; empty if the meter showed no number.
    pub fn value(&self, answered: &Answered) -> Option<String> {
        let unit = self.unit(answered.prompt.question.unit()?);
        let values = measured::values(answered);
        let texts: Vec<&str> = match &answered.answer {
            Answer::Reading { typed } => typed.split(['\u{2026}']).flat_map(|part| part.split("...")).collect(),
            Answer::LowestHighest { lowest, highest } => vec![lowest, highest],
            _ => return None,
        };
        let numbers: Option<Vec<String>> = values
            .iter()
            .enumerate()
            .map(|(index, shown)| match shown {
                Shown::Value(value) => Some(as_typed(texts.get(index).or(texts.last())?, *value, unit)),
                Shown::OverRange | Shown::Unsteady { .. } => None,
            })
            .collect();
        let numbers = numbers.filter(|numbers| !numbers.is_empty())?;
        Some(unit.with_symbol(&numbers.join(" to ")))
    }

    /// The limits in words; empty without limits.
    pub fn limits(&self, limits: &Limits, values: &[Shown]) -> String {
        let unit = self.unit(limits.unit);
        let number = |limit: Quantity| significant(unit.number(limit), digits(limits, limit, unit, values));
        match (limits.low(), limits.high()) {
            // It only guards against leads the wrong way round.
            (Some(low), Some(high)) if low.si() < 0.0 && high.si() > 0.0 && -low.si() >= high.si() => {
                let number = unit.with_symbol(&number(high));
                format!("{number} or less")
            }
            (Some(low), Some(high)) => unit.with_symbol(&format!("{} to {}", number(low), number(high))),
            (Some(low), None) => format!("{} or more", unit.with_symbol(&number(low))),
            (None, Some(high)) => format!("{} or less", unit.with_symbol(&number(high))),
            (None, None) => String::new(),
        }
    }
}

/// A value with the digits that were typed, in another unit where one stands for the prompt's.
fn as_typed(text: &str, value: Quantity, unit: Unit) -> String {
    let number: String =
        text.trim().chars().take_while(|c| c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '\u{2212}')).collect();
    let number = number.replace(',', ".").replace('\u{2212}', "-");
    let in_unit = unit.number(value);
    let decimals =
        number.split_once('.').map_or(0, |(_, fraction)| i32::try_from(fraction.len()).unwrap_or(MOST_DECIMALS));
    let typed: f64 = number.parse().unwrap_or(0.0);
    let tens = if typed == 0.0 || in_unit == 0.0 { 0.0 } else { (in_unit / typed).abs().log10() };
    // Of `4k7` or `1e3` the digits are not where they are looked for.
    if (tens - tens.round()).abs() > 1e-6 {
        return significant(in_unit, 5);
    }
    let decimals = (decimals - tens.round() as i32).clamp(0, MOST_DECIMALS);
    format!("{in_unit:.*}", decimals as usize)
}

/// How many digits of a limit are shown: as few as say the same, seen from these values and from the other limit.
fn digits(limits: &Limits, limit: Quantity, unit: Unit, values: &[Shown]) -> usize {
    let exact = unit.number(limit);
    let width = match (limits.low(), limits.high()) {
        (Some(low), Some(high)) => unit.number(high) - unit.number(low),
        _ => exact.abs(),
    };
    let fits = |digits: &usize| {
        let Ok(rounded) = significant(exact, *digits).parse::<f64>() else { return false };
        let same_side = values.iter().all(|shown| match shown {
            Shown::Value(value) => {
                let value = unit.number(*value);
                value.total_cmp(&rounded) == value.total_cmp(&exact)
            }
            Shown::OverRange | Shown::Unsteady { .. } => true,
        });
        same_side && (rounded - exact).abs() <= ROUNDING * width.abs()
    };
    DIGITS.into_iter().find(fits).unwrap_or(*DIGITS.end())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn quantity(text: &str) -> Quantity {
        text.parse().unwrap()
    }

    fn limits(low: &str, high: &str) -> Limits {
        Limits::between(quantity(low), quantity(high)).unwrap()
    }

    #[test]
    fn a_limit_has_no_more_digits_than_say_something_and_never_fewer_than_the_verdict_needs() {
        let of = |low: &str, high: &str, value: &str| {
            let unit = limits(low, high).unit;
            Scales(vec![unit]).limits(&limits(low, high), &[Shown::Value(quantity(value))])
        };
        assert_eq!(of("462.18 mA", "693.27 mA", "512 mA"), "462 to 693 mA");
        assert_eq!(of("462.18 mA", "693.27 mA", "462.1 mA"), "462.2 to 693 mA");
        assert_eq!(of("4.975 V", "5.025 V", "5 V"), "4.975 to 5.025 V");
        assert_eq!(of("-0.4 V", "0.4 V", "0.2 V"), "400 mV or less");
    }

    #[test]
    fn what_was_typed_keeps_its_digits_in_another_unit() {
        let unit = |text: &str| text.parse::<Unit>().unwrap();
        assert_eq!(as_typed("85.0m", quantity("0.085 V"), unit("V")), "0.0850");
        assert_eq!(as_typed("0.5", quantity("0.5 A"), unit("mA")), "500");
        assert_eq!(as_typed("4.990", quantity("4.99 V"), unit("V")), "4.990");
        assert_eq!(as_typed("-0,02", quantity("-0.02 V"), unit("V")), "-0.02");
        assert_eq!(as_typed("4k7", quantity("4700 ohm"), unit("kohm")), "4.7");
    }
}
