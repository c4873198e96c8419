//! A reading that was taken: between which values the truth lies, given what the meter promises and the digits that were typed.

use crate::circuit::bench_current::IN_LINE_MOST;
use crate::model::meter::{Function, Meter, Range};

/// Ohms that the touch of the leads may add, each time anew. Common practice, no source: half an ohm with clean pins.
const TOUCH: f64 = 0.5;

/// What a reading says of the true value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Says {
    /// It lies between these, in SI units.
    Between(f64, f64),
    /// It is further from zero than this: `OL`.
    Beyond(f64),
}

impl Says {
    /// Of a number that the meter shows, half of whose last digit is `half_digit`. Without a range that is known, only the digit
    /// counts; so it is with a value that a module shows.
    pub fn of_number(meter: Option<&Meter>, function: Option<Function>, value: f64, half_digit: f64) -> Self {
        let ranges = function.zip(meter).map(|(function, meter)| ranges(meter, function)).unwrap_or_default();
        let first = ranges.iter().position(|range| value.abs() <= range.full_scale.si());
        let first = first.unwrap_or(ranges.len().saturating_sub(1));
        let (mut low, mut high) = (value - half_digit, value + half_digit);
        for range in &ranges[first.min(ranges.len())..] {
            let (percent, counts) = (range.percent / 100.0, range.counts * range.resolution.si());
            let digit = half_digit.max(range.resolution.si() / 2.0);
            // The promise is a share of the true value, which lies on either side of what is shown.
            let away = (value.abs() + counts + digit) / (1.0 - percent.min(0.9));
            let by = away - value.abs();
            low = low.min(value - by);
            high = high.max(value + by);
            // Near the end of a range the meter may have been on the next one.
            if away < range.full_scale.si() * (1.0 - percent) {
                break;
            }
        }
        Self::touched(function, low, high)
    }

    /// Of a number that an unnamed meter shows: `accuracy` is assumed of it.
    pub fn of_assumed(function: Option<Function>, value: f64, accuracy: f64) -> Self {
        Self::touched(function, value - accuracy, value + accuracy)
    }

    fn touched(function: Option<Function>, low: f64, high: f64) -> Self {
        let touch = if function == Some(Function::Ohms) { TOUCH } else { 0.0 };
        Self::Between(low - touch, high)
    }

    /// Of one that goes to and fro between two.
    pub fn spanning(lowest: Self, highest: Self) -> Self {
        let ends = |says| match says {
            Self::Between(low, high) => (low, high),
            Self::Beyond(from) => (from, from),
        };
        Self::Between(ends(lowest).0, ends(highest).1)
    }

    /// Of `OL`. Without a meter nothing is known of its ranges, and it says nothing; so it is with what a module shows.
    pub fn over_range(meter: Option<&Meter>, function: Option<Function>, in_line: bool) -> Self {
        let ranges = meter.zip(function).map(|(meter, function)| ranges(meter, function)).unwrap_or_default();
        let Some(highest) = ranges.last() else { return Self::Between(f64::NEG_INFINITY, f64::INFINITY) };
        let full = highest.full_scale.si();
        let full = if in_line { full.min(IN_LINE_MOST) } else { full };
        let away = full * highest.percent / 100.0 + (highest.counts + 0.5) * highest.resolution.si();
        Self::Beyond((full - away).max(0.0))
    }

    /// By how much a hull from `low` to `high` lies beside it: above zero where the two have nothing in common, and on which side
    /// the hull would have to reach further.
    pub fn beside(&self, low: f64, high: f64) -> Option<(f64, Side)> {
        match *self {
            Self::Between(_, highest) if highest < low => Some((low - highest, Side::Low)),
            Self::Between(lowest, _) if lowest > high => Some((lowest - high, Side::High)),
            Self::Beyond(from) if low > -from && high < from => {
                Some((from - high.max(-low), if -low > high { Side::Low } else { Side::High }))
            }
            _ => None,
        }
    }
}

/// An end of a hull.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Its lowest value.
    Low,
    /// Its highest value.
    High,
}

impl Side {
    /// The opposite end.
    pub const fn other(self) -> Self {
        match self {
            Self::Low => Self::High,
            Self::High => Self::Low,
        }
    }
}

/// Ranges of a function, lowest first.
fn ranges(meter: &Meter, function: Function) -> Vec<&Range> {
    let mut ranges: Vec<&Range> = meter.ranges.iter().filter(|range| range.function == function).collect();
    ranges.sort_by(|a, b| a.full_scale.si().total_cmp(&b.full_scale.si()));
    ranges
}
