//! Uncertainty: of a reading, through a ratio or a product, and how likely a value lies in its limits.

use super::accuracy::{amount, limits};
use super::door::{Any, Anys, Ratio, alike, helpers, within};
use super::error::{ArgumentError, Given};
use crate::model::quantity::{Quantity, QuantityError};
use std::f64::consts::{FRAC_1_SQRT_2, PI};

/// Complementary error function, to about 1e-15 of itself: a series near zero, a continued fraction further out.
pub(super) fn erfc(x: f64) -> f64 {
    if x < 0.0 {
        return 2.0 - erfc(-x);
    }
    if x < 2.0 {
        // erf = 2/√π · e^(−x²) · Σ 2ⁿ x^(2n+1) / (1·3·5…(2n+1)): all terms above zero, nothing cancels.
        let (mut term, mut sum, mut n) = (x, x, 0.0);
        while term > sum * 1e-17 {
            n += 1.0;
            term *= 2.0 * x * x / (2.0 * n + 1.0);
            sum += term;
        }
        return 1.0 - 2.0 / PI.sqrt() * (-x * x).exp() * sum;
    }
    if x > 27.0 {
        return 0.0;
    }
    // e^(−x²)/√π · 1/(x + ½/(x + 1/(x + 1½/(x + …)))), from the far end.
    let fraction = (1..=120).rev().fold(x, |inner, k| x + f64::from(k) / 2.0 / inner);
    (-x * x).exp() / PI.sqrt() / fraction
}

/// Share of a normal distribution below `z` standard deviations.
pub(super) fn below(z: f64) -> f64 {
    erfc(-z * FRAC_1_SQRT_2) / 2.0
}

/// What the arithmetic of quantities refuses, refused here too.
fn beyond(error: QuantityError) -> ArgumentError {
    match error {
        QuantityError::Point { quantity, .. } => ArgumentError::WrongKind {
            argument: "an argument",
            wanted: "an amount, not a point on a scale",
            given: quantity.to_string(),
        },
        _ => ArgumentError::NotFinite,
    }
}

/// Relative uncertainty; the value must not be zero.
fn relative(
    argument: &'static str,
    about: &'static str,
    value: Quantity,
    uncertainty: Quantity,
) -> Result<f64, ArgumentError> {
    if value.si() == 0.0 {
        return Err(ArgumentError::Same { one: about, other: "zero", value: Given::Quantity(value) });
    }
    Ok(amount(argument, uncertainty, value)? / value.si())
}

helpers! { "Uncertainty";
    /// Standard uncertainty that stands for a worst-case accuracy.
    ///
    /// Accuracy ÷ √3: the error may be anything within ±accuracy, all equally likely (a rectangular distribution).
    ///
    /// Errors: an accuracy below zero.
    ///
    /// Source: JCGM 100:2008, 4.3.7.
    ///
    /// ```rhai
    /// standard_uncertainty(13.mV)  // 7.506 mV
    /// ```
    fn standard_uncertainty(accuracy: Any) -> Any {
        let si = amount("accuracy", accuracy, accuracy)?;
        Ok(accuracy.with_si(si / 3f64.sqrt()))
    }

    /// Probability that what was read lies within two limits.
    ///
    /// Φ((high − reading) ÷ u) − Φ((low − reading) ÷ u), Φ the normal distribution and u the standard uncertainty; of a meter's
    /// accuracy take `standard_uncertainty(accuracy)`.
    ///
    /// Errors: limits of another kind than the reading; low above high; an uncertainty of another kind, or not above zero.
    ///
    /// Source: JCGM 106:2012, 7.2 to 7.4 (normal distribution, nothing known beforehand).
    ///
    /// ```rhai
    /// probability_in_limits(9.8.V, 9.V, 10.V, 0.1.V)  // 97.72 %
    /// probability_in_limits(4.755.V, 4.75.V, 5.25.V, standard_uncertainty(13.mV))  // 74.73 %
    /// ```
    fn probability_in_limits(reading: Any, low: Any, high: Any, uncertainty: Any) -> Ratio {
        let (low, high) = limits(reading, low, high)?;
        let u = amount("uncertainty", uncertainty, reading)?;
        if u == 0.0 {
            return Err(ArgumentError::Same { one: "uncertainty", other: "zero", value: Given::Quantity(uncertainty) });
        }
        let (above_low, above_high) = ((low - reading.si()) / u, (high - reading.si()) / u);
        // Far out on the upper side the difference of two numbers near one would lose its digits.
        Ok(if above_low > 0.0 { below(-above_low) - below(-above_high) } else { below(above_high) - below(above_low) })
    }

    /// Probability that what was read lies within two limits, all errors within the accuracy being equally likely.
    ///
    /// The part of reading ± accuracy that lies between the limits: the rectangular distribution itself, without the detour by
    /// the normal one.
    ///
    /// Errors: limits of another kind than the reading; low above high; an accuracy of another kind, or zero or below.
    ///
    /// Source: JCGM 100:2008, 4.3.7 (rectangular distribution); JCGM 106:2012, 7.1 (probability = the integral over the limits).
    ///
    /// ```rhai
    /// rectangular_probability(4.755.V, 4.75.V, 5.25.V, 13.mV)  // 69.23 %
    /// ```
    fn rectangular_probability(reading: Any, low: Any, high: Any, accuracy: Any) -> Ratio {
        let (low, high) = limits(reading, low, high)?;
        let half = amount("accuracy", accuracy, reading)?;
        if half == 0.0 {
            return Err(ArgumentError::Same { one: "accuracy", other: "zero", value: Given::Quantity(accuracy) });
        }
        let inside = high.min(reading.si() + half) - low.max(reading.si() - half);
        Ok((inside / (2.0 * half)).clamp(0.0, 1.0))
    }

    /// Uncertainties of a sum or a difference, together.
    ///
    /// √(u₁² + u₂² + …), for values that know nothing of each other.
    ///
    /// Errors: uncertainties of unlike kinds, or below zero; an empty list.
    ///
    /// Source: JCGM 100:2008, 5.1.2.
    ///
    /// ```rhai
    /// combined_uncertainty([3.mV, 4.mV])  // 5 mV
    /// ```
    fn combined_uncertainty(uncertainties: Anys) -> Any {
        let mut sum = 0.0;
        for uncertainty in &uncertainties {
            alike(("uncertainties", uncertainties[0]), ("another", *uncertainty))?;
            sum += amount("uncertainties", *uncertainty, *uncertainty)?.powi(2);
        }
        Ok(uncertainties[0].with_si(sum.sqrt()))
    }

    /// Uncertainty of a quotient, such as ohms from volts and amperes.
    ///
    /// Quotient × √((u₁ ÷ numerator)² + (u₂ ÷ denominator)²), for values that know nothing of each other. Give standard
    /// uncertainties; gives one, in the unit of the quotient.
    ///
    /// Errors: an uncertainty of another kind than its value, or below zero; a value of zero; a point on a scale.
    ///
    /// Source: JCGM 100:2008, 5.1.6.
    ///
    /// ```rhai
    /// ratio_uncertainty(12.6.V, 0.1.V, 3.A, 0.05.A)  // 77.53 mΩ
    /// ```
    fn ratio_uncertainty(
        numerator: Any,
        numerator_uncertainty: Any,
        denominator: Any,
        denominator_uncertainty: Any,
    ) -> Any {
        let one = relative("numerator_uncertainty", "numerator", numerator, numerator_uncertainty)?;
        let other = relative("denominator_uncertainty", "denominator", denominator, denominator_uncertainty)?;
        let quotient = numerator.over(denominator).map_err(beyond)?;
        Ok(quotient.with_si(quotient.si().abs() * one.hypot(other)))
    }

    /// Uncertainty of a quotient whose two values move together.
    ///
    /// Quotient × √(r₁² + r₂² − 2·correlation·r₁·r₂), r the relative uncertainties with their signs. A correlation of 100 % means
    /// that one error of the meter is in both values and cancels.
    ///
    /// Errors: as `ratio_uncertainty`; a correlation beyond −100 to 100 %.
    ///
    /// Source: JCGM 100:2008, 5.2.2.
    ///
    /// ```rhai
    /// correlated_ratio_uncertainty(12.6.V, 0.126.V, 3.V, 0.03.V, 100.pct)  // 0 %
    /// ```
    fn correlated_ratio_uncertainty(
        numerator: Any,
        numerator_uncertainty: Any,
        denominator: Any,
        denominator_uncertainty: Any,
        correlation: Ratio,
    ) -> Any {
        let one = relative("numerator_uncertainty", "numerator", numerator, numerator_uncertainty)?;
        let other = relative("denominator_uncertainty", "denominator", denominator, denominator_uncertainty)?;
        within::<Ratio>("correlation", correlation, -1.0, 1.0)?;
        let quotient = numerator.over(denominator).map_err(beyond)?;
        // (r₁ − r₂)² + 2(1 − c)·r₁·r₂: exactly zero where it should be.
        let square = (one - other).powi(2) + 2.0 * (1.0 - correlation) * one * other;
        Ok(quotient.with_si(quotient.si().abs() * square.max(0.0).sqrt()))
    }

    /// Uncertainty of a product, such as watts from volts and amperes.
    ///
    /// Product × √((u₁ ÷ one)² + (u₂ ÷ other)²), for values that know nothing of each other.
    ///
    /// Errors: an uncertainty of another kind than its value, or below zero; a value of zero; a point on a scale.
    ///
    /// Source: JCGM 100:2008, 5.1.6.
    ///
    /// ```rhai
    /// product_uncertainty(12.6.V, 0.1.V, 3.A, 0.05.A)  // 697.8 mW
    /// ```
    fn product_uncertainty(one: Any, one_uncertainty: Any, other: Any, other_uncertainty: Any) -> Any {
        let first = relative("one_uncertainty", "one", one, one_uncertainty)?;
        let second = relative("other_uncertainty", "other", other, other_uncertainty)?;
        let product = one.times(other).map_err(beyond)?;
        Ok(product.with_si(product.si().abs() * first.hypot(second)))
    }

    /// Worst case of a quotient: both accuracies against it at once.
    ///
    /// Quotient × (a₁ ÷ numerator + a₂ ÷ denominator), to first order: 1 % and 1 % make 2 %.
    ///
    /// Errors: an accuracy of another kind than its value, or below zero; a value of zero; a point on a scale.
    ///
    /// Source: Lessons in Electric Circuits, vol. I (DC), ch. 8, "Kelvin (4-wire) resistance measurement" (±1 % with ±1 % can
    /// give ±2 %).
    ///
    /// ```rhai
    /// ratio_worst_case(10.V, 0.1.V, 2.A, 20.mA)  // 100 mΩ
    /// ```
    fn ratio_worst_case(numerator: Any, numerator_accuracy: Any, denominator: Any, denominator_accuracy: Any) -> Any {
        let one = relative("numerator_accuracy", "numerator", numerator, numerator_accuracy)?;
        let other = relative("denominator_accuracy", "denominator", denominator, denominator_accuracy)?;
        let quotient = numerator.over(denominator).map_err(beyond)?;
        Ok(quotient.with_si(quotient.si().abs() * (one.abs() + other.abs())))
    }
}
