//! A meter's accuracy, and what may be said of a reading near a limit.

use super::door::{Any, Number, Ohms, Ratio, alike, helpers, not_below_zero, within};
use super::error::{Allowed, ArgumentError, Given};
use super::results::{Value, results};
use crate::model::quantity::{Quantity, rounding};
use std::fmt;

/// What may be said of a reading that has an accuracy.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Outcome {
    /// Further inside than the accuracy.
    SurelyIn,
    /// Inside, by no more than the accuracy.
    InUnsure,
    /// Outside, by no more than the accuracy.
    OutUnsure,
    /// Further outside than the accuracy.
    SurelyOut,
}

impl fmt::Display for Outcome {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::SurelyIn => "surely in",
            Self::InUnsure => "in but unsure",
            Self::OutUnsure => "out but unsure",
            Self::SurelyOut => "surely out",
        })
    }
}

impl From<Outcome> for Value {
    fn from(outcome: Outcome) -> Self {
        Self::Text(outcome.to_string())
    }
}

results! {
    /// A reading against its limits, with a guard band.
    pub struct Guarded = "guarded verdict" {
        /// `surely in`, `in but unsure`, `out but unsure` or `surely out`.
        outcome: Outcome,
        /// `in`, `low` or `high`, by the reading alone.
        verdict: &'static str,
        /// Whether the accuracy leaves no doubt.
        sure: bool,
        /// Distance to the nearer limit, below zero when outside.
        margin: Quantity,
    }
}

/// ILAC-G8:09/2019, non-binary statement: what lies on a limit or on the edge of the band is on its better side.
fn guarded(reading: Quantity, low: Option<f64>, high: Option<f64>, guard: f64) -> Guarded {
    let value = reading.si();
    let (below, above) =
        (low.map_or(f64::INFINITY, |low| value - low), high.map_or(f64::INFINITY, |high| high - value));
    let margin = below.min(above);
    let hair = rounding(&[value, low.unwrap_or(0.0), high.unwrap_or(0.0), guard]);
    let margin = if margin.abs() <= hair { 0.0 } else { margin };
    let outcome = match margin {
        margin if margin >= guard - hair => Outcome::SurelyIn,
        margin if margin >= 0.0 => Outcome::InUnsure,
        margin if margin >= -guard - hair => Outcome::OutUnsure,
        _ => Outcome::SurelyOut,
    };
    let verdict = match (margin < 0.0, below < above) {
        (false, _) => "in",
        (true, true) => "low",
        (true, false) => "high",
    };
    let sure = matches!(outcome, Outcome::SurelyIn | Outcome::SurelyOut);
    let margin = Quantity::new(margin, reading.dimension().difference());
    Guarded { outcome, verdict, sure, margin }
}

/// The amount in SI: of one kind with the reading (kelvin beside degrees) and not below zero.
pub(super) fn amount(argument: &'static str, amount: Quantity, reading: Quantity) -> Result<f64, ArgumentError> {
    if amount.dimension() != reading.dimension().difference() {
        return Err(ArgumentError::WrongDimension {
            argument,
            wanted: reading.dimension().difference(),
            given: amount,
        });
    }
    if amount.si() < 0.0 {
        let allowed = Allowed::AtLeast(Given::Quantity(amount.with_si(0.0)));
        return Err(ArgumentError::OutOfRange { argument, allowed, given: Given::Quantity(amount) });
    }
    Ok(amount.si())
}

/// Two limits of the reading's kind, in order.
pub(super) fn limits(reading: Quantity, low: Quantity, high: Quantity) -> Result<(f64, f64), ArgumentError> {
    alike(("reading", reading), ("low", low))?;
    alike(("reading", reading), ("high", high))?;
    if low.si() > high.si() {
        let (low, high) = (Given::Quantity(low), Given::Quantity(high));
        return Err(ArgumentError::Order { greater: "high", lesser: "low", high, low });
    }
    Ok((low.si(), high.si()))
}

helpers! { "Meter accuracy and verdicts";
    /// Worst-case accuracy of a reading, from the meter's figures for that range.
    ///
    /// Percent × reading + counts × resolution, in the reading's unit. Percent and counts stand in the meter's data for the
    /// range; the resolution is one count of the last digit.
    ///
    /// Errors: a percentage beyond 0 to 100 %; counts below zero; a resolution of another kind than the reading, or below zero.
    ///
    /// Source: the form ±(percent of reading + counts) in which manufacturers state accuracy; worked examples of instrument pages.
    ///
    /// ```rhai
    /// meter_accuracy(2.V, 0.5.pct, 3, 1.mV)  // 13 mV
    /// ```
    fn meter_accuracy(reading: Any, percent: Ratio, counts: Number, resolution: Any) -> Any {
        within::<Ratio>("percent", percent, 0.0, 1.0)?;
        if counts < 0.0 {
            return Err(ArgumentError::OutOfRange {
                argument: "counts",
                allowed: Allowed::AtLeast(Given::Number(0.0)),
                given: Given::Number(counts),
            });
        }
        let resolution = amount("resolution", resolution, reading)?;
        Ok(Quantity::new(percent * reading.si().abs() + counts * resolution, reading.dimension().difference()))
    }

    /// A reading against two limits, with the meter's accuracy as the guard band.
    ///
    /// Inside by the accuracy or more: `surely in`; inside by less: `in but unsure`; outside by no more than it: `out but
    /// unsure`; further outside: `surely out`. Fields: `outcome`, `verdict` (`in`, `low`, `high`), `sure`, `margin` (to the nearer
    /// limit, below zero when outside). Any kind of quantity; of temperatures the accuracy is in kelvin.
    ///
    /// Errors: limits of another kind than the reading; low above high; an accuracy of another kind, or below zero.
    ///
    /// Source: ILAC-G8:09/2019, pp. 8-10, non-binary statement with a guard band.
    ///
    /// ```rhai
    /// guard_band(4.755.V, 4.75.V, 5.25.V, 13.mV)  // outcome in but unsure, verdict in, sure no, margin 5 mV
    /// guard_band(4.7.V, 4.75.V, 5.25.V, 13.mV).outcome  // surely out
    /// ```
    fn guard_band(reading: Any, low: Any, high: Any, accuracy: Any) -> Guarded {
        let (low, high) = limits(reading, low, high)?;
        Ok(guarded(reading, Some(low), Some(high), amount("accuracy", accuracy, reading)?))
    }

    /// A reading that may be at most so much, with the meter's accuracy as the guard band.
    ///
    /// As `guard_band`, without a lower limit.
    ///
    /// Errors: a limit of another kind than the reading; an accuracy of another kind, or below zero.
    ///
    /// Source: ILAC-G8:09/2019, pp. 8-10.
    ///
    /// ```rhai
    /// guard_band_at_most(210.mV, 200.mV, 6.mV)  // outcome surely out, verdict high, sure yes, margin -10 mV
    /// ```
    fn guard_band_at_most(reading: Any, high: Any, accuracy: Any) -> Guarded {
        alike(("reading", reading), ("high", high))?;
        Ok(guarded(reading, None, Some(high.si()), amount("accuracy", accuracy, reading)?))
    }

    /// A reading that must be at least so much, with the meter's accuracy as the guard band.
    ///
    /// As `guard_band`, without an upper limit.
    ///
    /// Errors: a limit of another kind than the reading; an accuracy of another kind, or below zero.
    ///
    /// Source: ILAC-G8:09/2019, pp. 8-10.
    ///
    /// ```rhai
    /// guard_band_at_least(9.58.V, 9.6.V, 51.mV).outcome  // out but unsure
    /// ```
    fn guard_band_at_least(reading: Any, low: Any, accuracy: Any) -> Guarded {
        alike(("reading", reading), ("low", low))?;
        Ok(guarded(reading, Some(low.si()), None, amount("accuracy", accuracy, reading)?))
    }

    /// A resistance without that of the leads, as read with the leads held together.
    ///
    /// Reading − leads.
    ///
    /// Errors: a resistance below zero; leads above the reading (the leads made better contact at the part than together:
    /// clean them and read both again).
    ///
    /// Source: Lessons in Electric Circuits, vol. I (DC), ch. 8, "Kelvin (4-wire) resistance measurement".
    ///
    /// ```rhai
    /// without_leads(1.3.ohm, 0.2.ohm)  // 1.1 Ω
    /// ```
    fn without_leads(reading: Ohms, leads: Ohms) -> Ohms {
        not_below_zero::<Ohms>("leads", leads)?;
        within::<Ohms>("leads", leads, 0.0, not_below_zero::<Ohms>("reading", reading)?)?;
        Ok(reading - leads)
    }
}
