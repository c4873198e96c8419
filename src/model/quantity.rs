//! A number with its dimension.

use super::dimension::Dimension;
use super::unit::{Unit, significant};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::cmp::Ordering;
use std::fmt;

/// How far two numbers may lie apart by the rounding of decimal figures alone, when they come from figures as large as these
/// by a few steps of arithmetic: 8.2 + 0.1 is not to decide about 8.3 by its last bit.
pub fn rounding(figures: &[f64]) -> f64 {
    8.0 * f64::EPSILON * figures.iter().map(|figure| figure.abs()).sum::<f64>()
}

/// The sum of two figures, without what their rounding leaves behind the digits that they have: 12.3 - 12.2 is 0.1.
pub fn summed(one: f64, other: f64) -> f64 {
    let sum = one + other;
    let largest = one.abs().max(other.abs());
    // Where nothing cancels, no digit is lost.
    if sum.abs() >= 0.5 * largest || !sum.is_finite() {
        return sum;
    }
    // Thirteen of the digits of the larger figure; a power of ten up to 22 is exact, and so is what is divided by it rounded once.
    #[expect(clippy::cast_possible_truncation, reason = "between -308 and 308")]
    let digits = 12 - largest.log10().floor() as i32;
    if !(0..=22).contains(&digits) {
        return sum;
    }
    let scale = 10f64.powi(digits);
    (sum * scale).round() / scale
}

/// Order of two numbers, equal within their [`rounding`]; `None` for what is no number.
pub fn order(one: f64, other: f64) -> Option<Ordering> {
    // Infinities have no rounding.
    let hair = rounding(&[one, other]);
    if hair.is_finite() && (one - other).abs() <= hair { Some(Ordering::Equal) } else { one.partial_cmp(&other) }
}

/// A value in SI units together with its dimension. Arithmetic carries the dimension and refuses nonsense.
///
/// ```
/// use ohmwright::model::quantity::Quantity;
/// let supply: Quantity = "12.6 V".parse().unwrap();
/// let load: Quantity = "4 ohm".parse().unwrap();
/// assert_eq!(supply.over(load).unwrap().to_string(), "3.15 A");
/// assert!(supply.plus(load).is_err());
/// ```
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Quantity {
    si: f64,
    dimension: Dimension,
}

/// Arithmetic that makes no sense, in words.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum QuantityError {
    /// Unlike things added, subtracted or compared.
    #[error("can't {verb} {left} and {right}: one is {}, the other {}", left.dimension(), right.dimension())]
    Unlike {
        /// `add`, `subtract`, `compare`.
        verb: &'static str,
        /// Left side.
        left: Quantity,
        /// Right side.
        right: Quantity,
    },
    /// A quantity where a bare number was expected or the other way around.
    #[error("can't {verb} {quantity} and the bare number {number}: give the number a unit")]
    Bare {
        /// `add`, `subtract`, `compare`.
        verb: &'static str,
        /// The side with a unit.
        quantity: Quantity,
        /// The side without.
        number: f64,
    },
    /// A point on a scale used as an amount.
    #[error("can't {verb} {quantity}: it is a point on a scale, not an amount")]
    Point {
        /// `multiply`, `divide`, `add`.
        verb: &'static str,
        /// The point.
        quantity: Quantity,
    },
    /// The result is not a finite number.
    #[error("{what} has no finite value")]
    NotFinite {
        /// The expression in words.
        what: String,
    },
    /// Exponents beyond anything that is measured.
    #[error("the dimension of {what} is beyond anything that is measured")]
    BeyondMeasure {
        /// The expression in words.
        what: String,
    },
    /// A text that is no quantity.
    #[error("`{text}` is not a quantity: write a number and its unit, such as `12.6 V`")]
    Unreadable {
        /// The given text.
        text: String,
    },
}

impl Quantity {
    /// A value in SI units.
    pub const fn new(si: f64, dimension: Dimension) -> Self {
        Self { si, dimension }
    }
    /// Volts.
    pub const fn volts(value: f64) -> Self {
        Self::new(value, Dimension::VOLTAGE)
    }
    /// Amperes.
    pub const fn amperes(value: f64) -> Self {
        Self::new(value, Dimension::CURRENT)
    }
    /// Ohms.
    pub const fn ohms(value: f64) -> Self {
        Self::new(value, Dimension::RESISTANCE)
    }
    /// A pure number: 0.05 is 5 %.
    pub const fn ratio(value: f64) -> Self {
        Self::new(value, Dimension::NONE)
    }
    /// Degrees Celsius.
    pub const fn celsius(value: f64) -> Self {
        Self::new(value, Dimension::TEMPERATURE)
    }
    /// Seconds.
    pub const fn seconds(value: f64) -> Self {
        Self::new(value, Dimension::TIME)
    }

    /// Value in SI units; of a temperature on its scale, in degrees Celsius.
    pub const fn si(self) -> f64 {
        self.si
    }
    /// Dimension.
    pub const fn dimension(self) -> Dimension {
        self.dimension
    }
    /// The same dimension, another value.
    pub const fn with_si(self, si: f64) -> Self {
        Self { si, dimension: self.dimension }
    }
    /// Without its sign.
    pub fn absolute_value(self) -> Self {
        self.with_si(self.si.abs())
    }

    fn finite(self, what: impl FnOnce() -> String) -> Result<Self, QuantityError> {
        if self.si.is_finite() { Ok(self) } else { Err(QuantityError::NotFinite { what: what() }) }
    }

    /// Sum. A difference may be added to a point on a scale, not a point to a point.
    pub fn plus(self, other: Self) -> Result<Self, QuantityError> {
        let dimension = match (self.dimension.is_absolute(), other.dimension.is_absolute()) {
            (true, true) if self.dimension == other.dimension => {
                return Err(QuantityError::Point { verb: "add", quantity: other });
            }
            (true, false) if self.dimension.difference() == other.dimension => self.dimension,
            (false, true) if other.dimension.difference() == self.dimension => other.dimension,
            _ if self.dimension == other.dimension => self.dimension,
            _ => return Err(QuantityError::Unlike { verb: "add", left: self, right: other }),
        };
        Self::new(summed(self.si, other.si), dimension).finite(|| format!("{self} + {other}"))
    }

    /// Difference. Two points on a scale give a difference.
    pub fn minus(self, other: Self) -> Result<Self, QuantityError> {
        let dimension = if self.dimension == other.dimension {
            self.dimension.difference()
        } else if self.dimension.is_absolute() && self.dimension.difference() == other.dimension {
            self.dimension
        } else {
            return Err(QuantityError::Unlike { verb: "subtract", left: self, right: other });
        };
        Self::new(summed(self.si, -other.si), dimension).finite(|| format!("{self} - {other}"))
    }

    /// Product.
    pub fn times(self, other: Self) -> Result<Self, QuantityError> {
        self.amount("multiply")?;
        other.amount("multiply")?;
        let what = || format!("{self} × {other}");
        let dimension =
            self.dimension.times(other.dimension).ok_or_else(|| QuantityError::BeyondMeasure { what: what() })?;
        Self::new(self.si * other.si, dimension).finite(what)
    }

    /// Quotient.
    pub fn over(self, other: Self) -> Result<Self, QuantityError> {
        self.amount("divide")?;
        other.amount("divide by")?;
        let what = || format!("{self} ÷ {other}");
        let dimension =
            self.dimension.over(other.dimension).ok_or_else(|| QuantityError::BeyondMeasure { what: what() })?;
        Self::new(self.si / other.si, dimension).finite(what)
    }

    /// Multiplied by a bare number.
    pub fn scaled(self, factor: f64) -> Result<Self, QuantityError> {
        self.amount("multiply")?;
        self.with_si(self.si * factor).finite(|| format!("{self} × {factor}"))
    }

    /// The other way around: −5 V for 5 V.
    pub const fn negated(self) -> Self {
        // `-5.degC` is written so in scripts: minus five on the scale.
        self.with_si(-self.si)
    }

    fn amount(self, verb: &'static str) -> Result<(), QuantityError> {
        if self.dimension.is_absolute() { Err(QuantityError::Point { verb, quantity: self }) } else { Ok(()) }
    }

    /// Order of two quantities of one dimension: equal, where nothing but the rounding of decimal figures parts them.
    ///
    /// ```
    /// use ohmwright::model::quantity::Quantity;
    /// let sum = Quantity::volts(0.1).plus(Quantity::volts(0.2)).unwrap();
    /// assert!(sum.compare(Quantity::volts(0.3)).unwrap().is_eq());
    /// ```
    ///
    /// # Errors
    /// Quantities of different dimensions.
    pub fn compare(self, other: Self) -> Result<Ordering, QuantityError> {
        if self.dimension != other.dimension {
            return Err(QuantityError::Unlike { verb: "compare", left: self, right: other });
        }
        order(self.si, other.si).ok_or_else(|| QuantityError::NotFinite { what: format!("{self} or {other}") })
    }

    /// The unit, with prefix, that an auto-ranging meter would show it in.
    pub fn natural_unit(self) -> Option<Unit> {
        Unit::of(self.dimension).map(|unit| match self.dimension {
            // A wait is written in minutes or hours as soon as it has them.
            Dimension::TIME if self.si.abs() >= 3600.0 => "h".parse().unwrap_or(unit),
            Dimension::TIME if self.si.abs() >= 60.0 => "min".parse().unwrap_or(unit),
            // Wires and conductors are measured in millimeters.
            Dimension::LENGTH if self.si != 0.0 && self.si.abs() < 1.0 => "mm".parse().unwrap_or(unit),
            _ => unit.scaled_to(self.si),
        })
    }

    /// With about `digits` significant digits, in the prefix that a meter would show.
    pub fn show(self, digits: usize) -> String {
        match self.natural_unit() {
            Some(unit) => unit.show(self, digits),
            None => format!("{} {}", significant(self.si, digits), self.dimension),
        }
    }
}

impl fmt::Display for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.show(4))
    }
}

impl std::str::FromStr for Quantity {
    type Err = QuantityError;

    /// A plain number and a unit, as written in configuration files: `12.6 V`, `0.5 %`, `40 min`, `2.2kohm`.
    fn from_str(text: &str) -> Result<Self, QuantityError> {
        let unreadable = || QuantityError::Unreadable { text: text.to_owned() };
        let trimmed = text.trim();
        let end = trimmed
            .char_indices()
            .find(|&(index, c)| {
                let exponent = matches!(c, 'e' | 'E')
                    && trimmed[index + 1..]
                        .starts_with(|next: char| next.is_ascii_digit() || next == '-' || next == '+');
                let sign = matches!(c, '-' | '+') && (index == 0 || trimmed[..index].ends_with(['e', 'E']));
                !(c.is_ascii_digit() || c == '.' || exponent || sign)
            })
            .map_or(trimmed.len(), |(index, _)| index);
        let number: f64 = trimmed[..end].parse().map_err(|_| unreadable())?;
        let unit: Unit = trimmed[end..].parse().map_err(|_| unreadable())?;
        let quantity = unit.quantity(number);
        if quantity.si.is_finite() { Ok(quantity) } else { Err(unreadable()) }
    }
}

impl Serialize for Quantity {
    /// As the number of a unit that loses no bit, and that unit: `4.75 V`.
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match Unit::exact(self.dimension) {
            Some(unit) => {
                serializer.collect_str(&format_args!("{} {}", unit.number(*self), unit.word_without_prefix()))
            }
            None => Err(serde::ser::Error::custom(format!("{self} can't be written as a number and a unit"))),
        }
    }
}

impl<'de> Deserialize<'de> for Quantity {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        super::text::from_text(deserializer, str::parse)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_difference_of_decimal_figures_is_the_decimal_difference() {
        for tenths in 60..300 {
            for less in [1, 3, 7] {
                let (high, low) = (f64::from(tenths) / 10.0, f64::from(tenths - less) / 10.0);
                let difference = Quantity::volts(high).minus(Quantity::volts(low)).unwrap();
                assert_eq!(difference.si(), f64::from(less) / 10.0, "{high} - {low}");
            }
        }
        assert_eq!(summed(0.1, 0.2), 0.1 + 0.2, "nothing cancels");
        assert_eq!(summed(1e300, -1e300), 0.0);
        assert_eq!(summed(5e-9, -4.9e-9), 1e-10);
        assert!(summed(f64::MAX, f64::MAX).is_infinite());
    }

    use proptest::prelude::*;

    #[test]
    fn temperatures_are_points_and_differences() {
        let (warm, cold) = (Quantity::celsius(25.0), Quantity::celsius(20.0));
        let difference = warm.minus(cold).unwrap();
        assert_eq!(difference.show(4), "5 K");
        assert_eq!(cold.plus(difference).unwrap().show(4), "25 °C");
        assert!(warm.plus(cold).is_err());
        assert!(warm.scaled(2.0).is_err());
        assert_eq!(Quantity::celsius(5.0).negated().show(4), "-5 °C");
    }

    #[test]
    fn unlike_things_are_refused_in_words() {
        let error = Quantity::volts(5.0).plus(Quantity::amperes(1.0)).unwrap_err();
        assert_eq!(error.to_string(), "can't add 5 V and 1 A: one is volts, the other amperes");
        assert!(Quantity::volts(1.0).over(Quantity::ohms(0.0)).is_err());
    }

    proptest! {
        #[test]
        fn reading_text_never_panics(text in "\\PC{0,24}") { let _ = text.parse::<Quantity>(); }

        #[test]
        fn a_written_quantity_reads_back(value in -1e9f64..1e9) {
            let quantity = Quantity::volts(value);
            let json = serde_json::to_string(&quantity).unwrap();
            prop_assert_eq!(serde_json::from_str::<Quantity>(&json).unwrap(), quantity);
        }
    }
}
