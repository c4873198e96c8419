//! The units that a meter shows and a shop types, with their SI prefixes.

use super::dimension::Dimension;
use super::quantity::Quantity;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::fmt;

/// A unit without its prefix.
#[derive(Debug, PartialEq)]
struct Base {
    /// As shown: `Ω`.
    symbol: &'static str,
    /// As typed in a script or on a keyboard: `ohm`.
    word: &'static str,
    dimension: Dimension,
    /// SI value of one of it.
    factor: f64,
    /// Value of its zero: a temperature is held in degrees Celsius, so that of the degree Fahrenheit is −17.8.
    zero: f64,
    /// Whether it takes SI prefixes.
    prefixed: bool,
}

const fn base(symbol: &'static str, word: &'static str, dimension: Dimension, factor: f64, prefixed: bool) -> Base {
    Base { symbol, word, dimension, factor, zero: 0.0, prefixed }
}

/// The first of each dimension is the one that a bare quantity is shown in.
const BASES: &[Base] = &[
    base("V", "V", Dimension::VOLTAGE, 1.0, true),
    base("A", "A", Dimension::CURRENT, 1.0, true),
    base("Ω", "ohm", Dimension::RESISTANCE, 1.0, true),
    base("W", "W", Dimension::POWER, 1.0, true),
    base("J", "J", Dimension::ENERGY, 1.0, true),
    base("Hz", "Hz", Dimension::FREQUENCY, 1.0, true),
    base("F", "F", Dimension::CAPACITANCE, 1.0, true),
    base("H", "H", Dimension::INDUCTANCE, 1.0, true),
    base("s", "s", Dimension::TIME, 1.0, true),
    base("min", "min", Dimension::TIME, 60.0, false),
    base("h", "h", Dimension::TIME, 3600.0, false),
    base("Ah", "Ah", Dimension::CHARGE, 3600.0, true),
    base("C", "C", Dimension::CHARGE, 1.0, false),
    base("%", "pct", Dimension::NONE, 0.01, false),
    base("", "ratio", Dimension::NONE, 1.0, false),
    base("ppm", "ppm", Dimension::NONE, 1e-6, false),
    base("°C", "degC", Dimension::TEMPERATURE, 1.0, false),
    Base {
        symbol: "°F",
        word: "degF",
        dimension: Dimension::TEMPERATURE,
        factor: 5.0 / 9.0,
        zero: -160.0 / 9.0,
        prefixed: false,
    },
    base("K", "K", Dimension::TEMPERATURE_DIFFERENCE, 1.0, false),
    base("m", "m", Dimension::LENGTH, 1.0, false),
    base("mm", "mm", Dimension::LENGTH, 1e-3, false),
    base("cm", "cm", Dimension::LENGTH, 1e-2, false),
    base("km", "km", Dimension::LENGTH, 1e3, false),
    base("in", "inch", Dimension::LENGTH, 0.0254, false),
    base("ft", "ft", Dimension::LENGTH, 0.3048, false),
    base("mm²", "mm2", Dimension::AREA, 1e-6, false),
    base("m²", "m2", Dimension::AREA, 1.0, false),
    // The circle of one mil (0.001 in) in diameter.
    base("cmil", "cmil", Dimension::AREA, std::f64::consts::FRAC_PI_4 * 2.54e-5 * 2.54e-5, false),
    base("Ω·m", "ohm_m", Dimension::RESISTIVITY, 1.0, false),
    base("Ω/m", "ohm_per_m", Dimension::RESISTANCE_PER_LENGTH, 1.0, true),
    base("Ω/km", "ohm_per_km", Dimension::RESISTANCE_PER_LENGTH, 1e-3, false),
    base("Ω/1000 ft", "ohm_per_kft", Dimension::RESISTANCE_PER_LENGTH, 1.0 / 304.8, false),
    base("kPa", "kPa", Dimension::PRESSURE, 1e3, false),
    base("Pa", "Pa", Dimension::PRESSURE, 1.0, false),
    base("bar", "bar", Dimension::PRESSURE, 1e5, true),
    base("psi", "psi", Dimension::PRESSURE, 6_894.757_293_168, false),
    base("N·m", "Nm", Dimension::TORQUE, 1.0, false),
    base("km/h", "kmh", Dimension::SPEED, 1.0 / 3.6, false),
    base("m/s", "m_per_s", Dimension::SPEED, 1.0, false),
    base("mph", "mph", Dimension::SPEED, 0.447_04, false),
    base("°", "deg", Dimension::ANGLE, std::f64::consts::PI / 180.0, false),
    base("rad", "rad", Dimension::ANGLE, 1.0, false),
    base("rpm", "rpm", Dimension::ROTATION, std::f64::consts::PI / 30.0, false),
    base("rad/s", "rad_per_s", Dimension::ROTATION, 1.0, false),
];

/// An SI prefix: as shown, as typed, factor.
const PREFIXES: &[(&str, &str, f64)] = &[
    ("p", "p", 1e-12),
    ("n", "n", 1e-9),
    ("µ", "u", 1e-6),
    ("m", "m", 1e-3),
    ("", "", 1.0),
    ("k", "k", 1e3),
    ("M", "M", 1e6),
    ("G", "G", 1e9),
];
const NO_PREFIX: usize = 4;

/// A unit with its prefix: volts, millivolts, kilohms.
///
/// ```
/// use ohmwright::model::unit::Unit;
/// let unit: Unit = "kohm".parse().unwrap();
/// assert_eq!(unit.to_string(), "kΩ");
/// assert_eq!(unit.quantity(2.2).si(), 2200.0);
/// assert!("volts".parse::<Unit>().is_err());
/// ```
#[derive(Clone, Copy, Debug)]
pub struct Unit {
    base: &'static Base,
    prefix: usize,
}

impl PartialEq for Unit {
    fn eq(&self, other: &Self) -> bool {
        self.prefix == other.prefix && self.base == other.base
    }
}

/// A text that names no unit.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{0}` is not a unit that a meter shows")]
pub struct UnknownUnit(pub String);

impl Unit {
    /// The unit that a quantity of this dimension is shown in when nothing says otherwise, without a prefix.
    pub fn of(dimension: Dimension) -> Option<Self> {
        BASES.iter().find(|base| base.dimension == dimension).map(|base| Self { base, prefix: NO_PREFIX })
    }

    /// Every unit with every prefix that it takes, for a script's getters: word and unit.
    pub fn every() -> impl Iterator<Item = (String, Self)> {
        BASES.iter().flat_map(|base| {
            let prefixes = if base.prefixed { 0..PREFIXES.len() } else { NO_PREFIX..NO_PREFIX + 1 };
            prefixes.map(move |prefix| (format!("{}{}", PREFIXES[prefix].1, base.word), Self { base, prefix }))
        })
    }

    /// The unit in which a quantity of this dimension is written down without losing a bit; `None` if there is none.
    pub fn exact(dimension: Dimension) -> Option<Self> {
        let base = BASES.iter().find(|base| base.dimension == dimension && base.factor == 1.0 && base.zero == 0.0)?;
        Some(Self { base, prefix: NO_PREFIX })
    }

    /// As typed in a script, without its prefix: `ohm`, `V`, `pct`.
    pub fn word_without_prefix(self) -> &'static str {
        self.base.word
    }

    /// The dimension that it measures.
    pub fn dimension(self) -> Dimension {
        self.base.dimension
    }

    /// `number` of this unit.
    pub fn quantity(self, number: f64) -> Quantity {
        Quantity::new(number * self.base.factor * PREFIXES[self.prefix].2 + self.base.zero, self.base.dimension)
    }

    /// How many of this unit a quantity is; the caller knows that the dimensions agree.
    pub fn number(self, quantity: Quantity) -> f64 {
        (quantity.si() - self.base.zero) / (self.base.factor * PREFIXES[self.prefix].2)
    }

    /// The same unit with the prefix `text` (as typed: `k`, `m`, `M`, `u`); `None` if it takes no prefix or no such prefix exists.
    pub fn with_prefix(self, text: &str) -> Option<Self> {
        // Of resistances many write a large K; nothing else is meant by it there.
        let text = if text == "K" && self.base.dimension == Dimension::RESISTANCE { "k" } else { text };
        let prefix = PREFIXES.iter().position(|(shown, typed, _)| *shown == text || *typed == text)?;
        (self.base.prefixed).then_some(Self { base: self.base, prefix })
    }

    /// Whether it has a prefix, as mV has.
    pub const fn has_prefix(self) -> bool {
        self.prefix != NO_PREFIX
    }

    /// The same unit without its prefix.
    pub fn without_prefix(self) -> Self {
        Self { base: self.base, prefix: NO_PREFIX }
    }

    /// The prefix that puts `magnitude` (in SI) between 1 and 1000, as an auto-ranging meter does.
    pub fn scaled_to(self, magnitude: f64) -> Self {
        if !self.base.prefixed || magnitude == 0.0 || !magnitude.is_finite() {
            return self;
        }
        let magnitude = magnitude.abs() / self.base.factor;
        // A reading that rounds up to 1000 belongs to the next prefix.
        let prefix = (0..PREFIXES.len()).rev().find(|&index| magnitude >= PREFIXES[index].2 * 0.999_95).unwrap_or(0);
        Self { base: self.base, prefix }
    }

    /// As typed in a script: `kohm`, `mV`, `pct`.
    pub fn word(self) -> String {
        format!("{}{}", PREFIXES[self.prefix].1, self.base.word)
    }

    /// The number of this unit, written as a meter would with about `digits` significant digits, and the unit.
    pub fn show(self, quantity: Quantity, digits: usize) -> String {
        self.with_symbol(&significant(self.number(quantity), digits))
    }

    /// A number's text followed by the unit.
    pub fn with_symbol(self, number: &str) -> String {
        match self.to_string() {
            symbol if symbol.is_empty() => number.to_owned(),
            symbol if symbol == "°" => format!("{number}{symbol}"),
            symbol => format!("{number} {symbol}"),
        }
    }
}

/// A number with about `digits` significant digits, without an exponent where it can be helped and without trailing noise.
pub fn significant(number: f64, digits: usize) -> String {
    if number == 0.0 || !number.is_finite() {
        return if number == 0.0 { "0".to_owned() } else { number.to_string() };
    }
    let exponent = format!("{number:.*e}", digits.saturating_sub(1))
        .rsplit('e')
        .next()
        .and_then(|text| text.parse::<i32>().ok())
        .unwrap_or(0);
    if !(-7..15).contains(&exponent) {
        return format!("{number:.*e}", digits.saturating_sub(1));
    }
    let decimals = (digits as i32 - 1 - exponent).max(0) as usize;
    let text = format!("{number:.decimals$}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

/// `Ohm`, `ohms` or `KOhm` in the one spelling that is known: `ohm`, `kohm`.
fn ohm_as_people_write_it(text: &str) -> Option<String> {
    let lower = text.to_ascii_lowercase();
    let word = lower.strip_suffix('s').unwrap_or(&lower).strip_suffix("ohm")?;
    let prefix = match text.get(..word.len())? {
        "K" => "k",
        prefix => prefix,
    };
    let plain = format!("{prefix}ohm");
    (plain != text).then_some(plain)
}

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{}", PREFIXES[self.prefix].0, self.base.symbol)
    }
}

impl std::str::FromStr for Unit {
    type Err = UnknownUnit;

    fn from_str(text: &str) -> Result<Self, UnknownUnit> {
        let text = text.trim();
        Self::known_as(text)
            .or_else(|unknown| ohm_as_people_write_it(text).map_or(Err(unknown), |ohm| Self::known_as(&ohm)))
    }
}

impl Unit {
    fn known_as(text: &str) -> Result<Self, UnknownUnit> {
        let named = |name: &str, base: &Base| base.symbol == name || base.word == name;
        // Exact names first: `min` is not milli-in.
        if let Some(base) = BASES.iter().find(|base| named(text, base)) {
            return Ok(Self { base, prefix: NO_PREFIX });
        }
        let unknown = || UnknownUnit(text.to_owned());
        let first = text.chars().next().ok_or_else(unknown)?;
        // U+03BC and U+00B5 are both typed for micro; U+2126 is the other ohm sign.
        let typed = if first == 'μ' { "µ".to_owned() } else { first.to_string() };
        let rest = text[first.len_utf8()..].replace('\u{2126}', "Ω");
        let whole = text.replace('\u{2126}', "Ω");
        if whole != text
            && let Some(base) = BASES.iter().find(|base| named(&whole, base))
        {
            return Ok(Self { base, prefix: NO_PREFIX });
        }
        let prefix = PREFIXES
            .iter()
            .position(|(shown, word, _)| !word.is_empty() && (*shown == typed || *word == typed))
            .ok_or_else(unknown)?;
        let base = BASES.iter().find(|base| base.prefixed && named(&rest, base)).ok_or_else(unknown)?;
        Ok(Self { base, prefix })
    }
}

impl Serialize for Unit {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(&format_args!("{}{}", PREFIXES[self.prefix].1, self.base.word))
    }
}

impl<'de> Deserialize<'de> for Unit {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        super::text::from_text(deserializer, str::parse)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_unit_is_found_again_by_its_word_and_its_symbol() {
        for (word, unit) in Unit::every() {
            assert_eq!(word.parse::<Unit>(), Ok(unit), "{word}");
            let symbol = unit.to_string();
            let again: Unit = symbol.parse().unwrap();
            assert_eq!(again.quantity(1.0), unit.quantity(1.0), "{symbol}");
        }
    }

    #[test]
    fn ohms_are_read_as_people_write_them() {
        let unit = |text: &str| text.parse::<Unit>().map(|unit| unit.word());
        for (written, known) in
            [("Ohm", "ohm"), ("ohms", "ohm"), ("OHM", "ohm"), ("kOhm", "kohm"), ("Kohms", "kohm"), ("MOhm", "Mohm")]
        {
            assert_eq!(unit(written), Ok(known.to_owned()), "{written}");
        }
        for wrong in ["xohm", "ohm ohm", "äohm", "ohmss"] {
            assert!(unit(wrong).is_err(), "{wrong}");
        }
        let ohms: Unit = "ohm".parse().unwrap();
        assert_eq!(ohms.with_prefix("K").map(|unit| unit.word()), Some("kohm".to_owned()));
        let volts: Unit = "V".parse().unwrap();
        assert_eq!(volts.with_prefix("K"), None);
    }

    #[test]
    fn numbers_read_as_a_meter_shows_them() {
        for (number, digits, text) in [
            (22.727_27, 4, "22.73"),
            (0.37, 4, "0.37"),
            (1234.6, 4, "1235"),
            (99_996.0, 4, "99996"),
            (0.0, 4, "0"),
            (-0.02, 4, "-0.02"),
        ] {
            assert_eq!(significant(number, digits), text);
        }
    }
}
