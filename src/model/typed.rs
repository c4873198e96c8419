//! The readings that people type off a meter, and their meaning.

use super::dimension::Dimension;
use super::quantity::Quantity;
use super::unit::Unit;
use std::borrow::Cow;

/// One value as a meter shows it.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Shown {
    /// A number.
    Value(Quantity),
    /// `OL`: beyond what the meter can show on this function.
    OverRange,
    /// `9.1 … 12.3`: it goes to and fro between these.
    Unsteady {
        /// Lowest.
        lowest: Quantity,
        /// Highest.
        highest: Quantity,
    },
}

/// Text that can't be taken as a reading.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum TypedError {
    /// Nothing was typed.
    #[error("nothing was typed: type the reading, or `skip` and why")]
    Nothing,
    /// `4,998`: a decimal comma or a thousands separator.
    #[error("`{text}` can be read as {decimal} or as {thousands}: type it with a point, or without the comma")]
    Comma {
        /// The typed text.
        text: String,
        /// As a decimal comma.
        decimal: String,
        /// As a thousands separator.
        thousands: String,
    },
    /// No number in it.
    #[error("`{text}` is not a reading: type the number that the meter shows, such as {example}")]
    NoNumber {
        /// The typed text.
        text: String,
        /// One that would be taken.
        example: String,
    },
    /// A unit that nothing shows.
    #[error(
        "`{unit}` is not a unit that a meter shows: type the number alone for {wanted}, or the number and its unit"
    )]
    UnknownUnit {
        /// The text after the number.
        unit: String,
        /// The unit asked for.
        wanted: Unit,
    },
    /// `12.3 … 9.1`.
    #[error("`{text}` is not a range: type the lowest and the highest, such as 9.1 … 12.3")]
    Range {
        /// The typed text.
        text: String,
    },
    /// A unit of another kind than asked.
    #[error("`{text}` is {got}, but {wanted} were asked for: is the meter on the wrong function?")]
    WrongFunction {
        /// The typed text.
        text: String,
        /// Its dimension.
        got: Dimension,
        /// The dimension asked for.
        wanted: Dimension,
    },
}

/// Reads one value. A number without a unit is in `unit`, the one shown at the prompt; a lone prefix (`370m`) goes with it.
///
/// A numeric pad has no letters: `*` stands for `OL`.
///
/// ```
/// use ohmwright::model::typed::{Shown, read};
/// let volts = "V".parse().unwrap();
/// assert_eq!(read("370m", volts), Ok(Shown::Value("0.37 V".parse().unwrap())));
/// assert_eq!(read("OL", volts), Ok(Shown::OverRange));
/// assert!(read("4,998", volts).is_err());
/// assert!(read("12 ohm", volts).unwrap_err().to_string().contains("wrong function"));
/// ```
pub fn read(text: &str, unit: Unit) -> Result<Shown, TypedError> {
    let text = text.trim();
    if text.is_empty() {
        return Err(TypedError::Nothing);
    }
    if is_over_range(text) {
        return Ok(Shown::OverRange);
    }
    let plain: Cow<'_, str> = if text.is_ascii() { text.into() } else { text.replace(['−', '–'], "-").into() };
    let plain = decimal_point(plain)?;
    let example = || TypedError::NoNumber { text: text.to_owned(), example: unit.with_symbol("4.998") };
    let end = number_length(&plain);
    let (number, rest) = (&plain[..end], plain[end..].trim_start());
    let mut value: f64 = number.parse().map_err(|_| example())?;
    let mut in_unit = unit;
    if let Some((fraction, prefixed)) = prefix_as_point(number, rest, unit) {
        // 4k7 is 4.7 k, as resistors are marked (IEC 60062).
        value = format!("{number}.{fraction}").parse().map_err(|_| example())?;
        in_unit = prefixed;
    } else if !rest.is_empty() {
        in_unit = match unit.without_prefix().with_prefix(rest) {
            Some(prefixed) => prefixed,
            None => rest.parse().map_err(|_| TypedError::UnknownUnit { unit: rest.to_owned(), wanted: unit })?,
        };
    }
    let quantity = in_unit.quantity(value);
    if !quantity.si().is_finite() {
        return Err(example());
    }
    if quantity.dimension() != unit.dimension() {
        return Err(TypedError::WrongFunction {
            text: text.to_owned(),
            got: quantity.dimension(),
            wanted: unit.dimension(),
        });
    }
    Ok(Shown::Value(quantity))
}

/// Reads one reading: one value, or the lowest and the highest of one that does not rest, with `…` or `...` between.
/// A unit after the second goes with both.
///
/// ```
/// use ohmwright::model::typed::{Shown, read_reading};
/// let volts = "V".parse().unwrap();
/// let unsteady = Shown::Unsteady { lowest: "9.1 V".parse().unwrap(), highest: "12.3 V".parse().unwrap() };
/// assert_eq!(read_reading("9.1 … 12.3", volts), Ok(unsteady));
/// assert_eq!(read_reading("9100...12300 mV", volts), Ok(unsteady));
/// assert_eq!(read_reading("4.998", volts), Ok(Shown::Value("4.998 V".parse().unwrap())));
/// ```
pub fn read_reading(text: &str, unit: Unit) -> Result<Shown, TypedError> {
    let Some((lowest, highest)) = ends_of(text) else { return read(text, unit) };
    let not_a_range = || TypedError::Range { text: text.trim().to_owned() };
    let Shown::Value(high) = read(highest, unit)? else { return Err(not_a_range()) };
    let Shown::Value(low) = read(&with_unit_of(lowest, highest), unit)? else { return Err(not_a_range()) };
    if low.si() >= high.si() {
        return Err(not_a_range());
    }
    Ok(Shown::Unsteady { lowest: low, highest: high })
}

/// Two readings as the one that goes to and fro between them.
pub fn range(lowest: &str, highest: &str) -> String {
    format!("{lowest} … {highest}")
}

/// The two texts beside `…` or `...`.
fn ends_of(text: &str) -> Option<(&str, &str)> {
    text.split_once('…').or_else(|| text.split_once("..."))
}

/// The lowest with the unit or the prefix of the highest, where it has none of its own.
fn with_unit_of<'a>(lowest: &'a str, highest: &str) -> Cow<'a, str> {
    let highest = highest.trim();
    if !is_bare(lowest) || is_bare(highest) || lowest.trim().is_empty() {
        return lowest.into();
    }
    let end = highest.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '−' | '–' | '+')));
    end.map_or_else(|| lowest.into(), |end| format!("{}{}", lowest.trim_end(), &highest[end..]).into())
}

/// Typed text as people read it: the digits as they were typed, and always the unit.
///
/// ```
/// use ohmwright::model::typed::as_shown;
/// let volts = "V".parse().unwrap();
/// assert_eq!(as_shown("4.490", volts), "4.490 V");
/// assert_eq!(as_shown("12m", volts), "12 mV");
/// assert_eq!(as_shown("*", volts), "OL");
/// assert_eq!(as_shown("-*", volts), "-OL");
/// assert_eq!(as_shown("9.1...12.3", volts), "9.1 V … 12.3 V");
/// ```
pub fn as_shown(text: &str, unit: Unit) -> String {
    let text = text.trim();
    if let (Some((lowest, highest)), Ok(Shown::Unsteady { .. })) = (ends_of(text), read_reading(text, unit)) {
        return range(&as_shown(&with_unit_of(lowest, highest), unit), &as_shown(highest, unit));
    }
    if is_bare(text) {
        return unit.with_symbol(text);
    }
    match read(text, unit) {
        // The numeric pad's sign for it.
        Ok(Shown::OverRange) if matches!(text, "*" | "+*") => "OL".to_owned(),
        Ok(Shown::OverRange) if text == "-*" => "-OL".to_owned(),
        Ok(Shown::OverRange | Shown::Unsteady { .. }) | Err(_) => text.to_owned(),
        Ok(Shown::Value(_)) => {
            let plain = decimal_point(text.replace(['−', '–'], "-").into()).unwrap_or_else(|_| text.into());
            let end = number_length(&plain);
            let (number, rest) = (&plain[..end], plain[end..].trim());
            match prefix_as_point(number, rest, unit) {
                Some((fraction, prefixed)) => prefixed.with_symbol(&format!("{number}.{fraction}")),
                // `2e3`, in the prompt's unit.
                None if rest.is_empty() => unit.with_symbol(number),
                None => {
                    let typed = unit.without_prefix().with_prefix(rest).or_else(|| rest.parse().ok());
                    let typed = typed.unwrap_or(unit);
                    // A ratio has no symbol: without its word it would be the prompt's percent.
                    if typed.to_string().is_empty() && typed != unit {
                        format!("{number} {}", typed.word_without_prefix())
                    } else {
                        typed.with_symbol(number)
                    }
                }
            }
        }
    }
}

/// Whether a number was typed without any unit or prefix, so that the prompt's unit was taken.
pub fn is_bare(text: &str) -> bool {
    text.trim().chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '−' | '–' | '+'))
}

fn is_over_range(text: &str) -> bool {
    // A plain number, as nearly everything is.
    if text.bytes().all(|byte| byte.is_ascii_digit() || matches!(byte, b'.' | b'-' | b'+')) {
        return false;
    }
    let word: String = text.chars().filter(|c| !matches!(c, '.' | ' ')).collect::<String>().to_lowercase();
    let word = word.strip_prefix(['-', '+']).unwrap_or(&word);
    if word == "*" {
        return true;
    }
    match word.strip_prefix("ol").or_else(|| word.strip_prefix("0l")) {
        Some(rest) => {
            rest.is_empty()
                || rest == "l"
                || Unit::every()
                    .any(|(name, unit)| name.to_lowercase() == rest || unit.to_string().to_lowercase() == rest)
        }
        None => false,
    }
}

/// A decimal comma becomes a point; a comma before exactly three digits is asked about.
fn decimal_point(text: Cow<'_, str>) -> Result<Cow<'_, str>, TypedError> {
    if !text.contains(',') {
        return Ok(text);
    }
    let unclear = || TypedError::NoNumber { text: text.to_string(), example: "4.998".to_owned() };
    let (before, after) = text.split_once(',').ok_or_else(unclear)?;
    if after.contains(',') || before.contains('.') || after.contains('.') {
        return Err(unclear());
    }
    let digits: String = after.chars().take_while(char::is_ascii_digit).collect();
    let whole = before.trim_start_matches(['-', '+']);
    let leads_with_zero = whole.is_empty() || whole.starts_with('0');
    if digits.len() == 3 && !leads_with_zero && whole.len() <= 3 {
        return Err(TypedError::Comma {
            text: text.to_string(),
            decimal: text.replacen(',', ".", 1),
            thousands: text.replacen(',', "", 1),
        });
    }
    Ok(text.replacen(',', ".", 1).into())
}

/// How many bytes at the start are a number, exponent included.
fn number_length(text: &str) -> usize {
    let digit_follows = |rest: &str| {
        rest.starts_with(|c: char| c.is_ascii_digit())
            || (rest.starts_with(['-', '+']) && rest[1..].starts_with(|c: char| c.is_ascii_digit()))
    };
    for (index, c) in text.char_indices() {
        let ok = c.is_ascii_digit()
            || c == '.'
            || (matches!(c, '-' | '+') && (index == 0 || text[..index].ends_with(['e', 'E'])))
            || (matches!(c, 'e' | 'E') && index > 0 && digit_follows(&text[index + 1..]));
        if !ok {
            return index;
        }
    }
    text.len()
}

fn prefix_as_point<'a>(number: &str, rest: &'a str, unit: Unit) -> Option<(&'a str, Unit)> {
    let first = rest.chars().next()?;
    let fraction = &rest[first.len_utf8()..];
    if number.contains(['.', 'e', 'E']) || fraction.is_empty() || !fraction.bytes().all(|byte| byte.is_ascii_digit()) {
        return None;
    }
    let mut letter = [0; 4];
    if first == 'R' && unit.dimension() == Dimension::RESISTANCE {
        return Some((fraction, unit.without_prefix()));
    }
    Some((fraction, unit.without_prefix().with_prefix(first.encode_utf8(&mut letter))?))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn unit(text: &str) -> Unit {
        text.parse().unwrap()
    }

    #[test]
    fn what_people_type_off_a_meter() {
        for (text, asked, expected) in [
            ("4.998", "V", "4.998 V"),
            ("4,99", "V", "4.99 V"),
            ("0,370", "V", "0.37 V"),
            ("370m", "V", "0.37 V"),
            ("370 mV", "V", "0.37 V"),
            ("1.2M", "ohm", "1200000 ohm"),
            ("1.2M", "kohm", "1200000 ohm"),
            ("1.2", "kohm", "1200 ohm"),
            (".37", "V", "0.37 V"),
            ("-0.02", "V", "-0.02 V"),
            ("−20 mV", "V", "-0.02 V"),
            ("4k7", "ohm", "4700 ohm"),
            ("4R7", "ohm", "4.7 ohm"),
            ("3e-3 A", "A", "0.003 A"),
            ("68 %", "pct", "0.68 ratio"),
            ("68", "pct", "0.68 ratio"),
            ("+12.6", "V", "12.6 V"),
            ("21", "degC", "21 degC"),
            ("100 kΩ", "ohm", "100000 ohm"),
        ] {
            let expected: Quantity = expected.parse().unwrap();
            match read(text, unit(asked)) {
                Ok(Shown::Value(value)) => {
                    assert!((value.si() - expected.si()).abs() <= 1e-12 * expected.si().abs(), "{text}: {value}");
                }
                other => panic!("{text}: {other:?}"),
            }
        }
        for text in ["OL", "ol", "0L", "O.L", "OL MΩ", "0.L", "*", "OL ohm"] {
            assert_eq!(read(text, unit("ohm")), Ok(Shown::OverRange), "{text}");
        }
    }

    #[test]
    fn what_was_typed_is_shown_with_its_digits_and_its_unit() {
        for (text, asked, shown) in [
            ("4.490", "V", "4.490 V"),
            ("0.3m", "V", "0.3 mV"),
            ("12 m", "mV", "12 mV"),
            ("85.5", "mV", "85.5 mV"),
            ("370mV", "V", "370 mV"),
            ("4k7", "ohm", "4.7 kΩ"),
            ("4R7", "kohm", "4.7 Ω"),
            ("1.20M", "kohm", "1.20 MΩ"),
            ("−20 mV", "V", "-20 mV"),
            ("68", "pct", "68 %"),
            ("2e3", "mV", "2e3 mV"),
            ("0.5 ratio", "pct", "0.5 ratio"),
            ("OL ohm", "ohm", "OL ohm"),
            ("*", "ohm", "OL"),
            ("nonsense", "ohm", "nonsense"),
        ] {
            assert_eq!(as_shown(text, unit(asked)), shown, "{text}");
        }
    }

    #[test]
    fn what_can_not_be_taken_says_why() {
        assert_eq!(
            read("4,998", unit("V")).unwrap_err().to_string(),
            "`4,998` can be read as 4.998 or as 4998: type it with a point, or without the comma"
        );
        assert_eq!(
            read("12 A", unit("V")).unwrap_err().to_string(),
            "`12 A` is amperes, but volts were asked for: is the meter on the wrong function?"
        );
        assert!(matches!(read("abc", unit("V")), Err(TypedError::NoNumber { .. })));
        assert!(matches!(read("12 volts", unit("V")), Err(TypedError::UnknownUnit { .. })));
        assert!(matches!(read("1e999", unit("V")), Err(TypedError::NoNumber { .. })));
        assert!(matches!(read("1.2.3", unit("V")), Err(TypedError::NoNumber { .. })));
        assert!(matches!(read("1,234,567", unit("V")), Err(TypedError::NoNumber { .. })));
        assert_eq!(read("  ", unit("V")), Err(TypedError::Nothing));
    }

    proptest! {
        #[test]
        fn nothing_typed_makes_it_panic(text in "\\PC{0,20}") {
            for asked in ["V", "kohm"] {
                let _ = read(&text, unit(asked));
                let _ = as_shown(&text, unit(asked));
            }
        }

        #[test]
        fn what_is_shown_is_the_value_that_was_typed(number in -1e4f64..1e4, prefix in "(|m|k| mV| V|V)") {
            let text = format!("{number}{prefix}");
            let (typed, shown) = (read(&text, unit("mV")), read(&as_shown(&text, unit("mV")), unit("mV")));
            prop_assert_eq!(typed, shown);
        }
    }
}
