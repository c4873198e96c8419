//! Codes and bytes as open standards define them.

use super::door::{Numbers, Ratio, Rotation, Temperature, Text, Whole, helpers, whole_within, within};
use super::error::ArgumentError;
use super::results::results;
use std::f64::consts::PI;

results! {
    /// A diagnostic trouble code of four bytes.
    pub struct FaultCode = "fault code" {
        /// Suspect parameter number; none where the bytes don't tell how it is laid out.
        spn: Option<i64>,
        /// Failure mode identifier.
        fmi: i64,
        /// How often it occurred; none where that is not counted (127).
        occurrences: Option<i64>,
        /// Conversion method bit; 0 is the present one, by which the SPN is known.
        conversion_method: i64,
        /// What the failure mode means.
        meaning: &'static str,
    }

    /// The four lamps of a message of active or earlier codes.
    pub struct Lamps = "lamps" {
        /// Malfunction indicator lamp.
        malfunction: &'static str,
        /// Red stop lamp.
        red_stop: &'static str,
        /// Amber warning lamp.
        amber_warning: &'static str,
        /// Protect lamp.
        protect: &'static str,
    }
}

/// What a lamp's two bits say, with the two bits of how it flashes.
fn lamp(on: i64, flash: i64, shift: u32) -> &'static str {
    match (on >> shift & 3, flash >> shift & 3) {
        (0, _) => "off",
        (1, 0) => "slow flash",
        (1, 1) => "fast flash",
        // Reserved says nothing of flashing.
        (1, _) => "on",
        (2, _) => "error",
        _ => "not available",
    }
}

/// Who assigns codes, by the letter and the first digit; P3 and U3 are parted further.
const ISO: &str = "ISO/SAE";
const MANUFACTURER: &str = "manufacturer";
const SHARED: &str = "ISO/SAE or manufacturer";
const RESERVED: &str = "reserved";

const LETTERS: [char; 4] = ['P', 'C', 'B', 'U'];

/// Failure modes, 0 to 31, in short words.
const FAILURE_MODES: [&str; 32] = [
    "above normal, most severe",
    "below normal, most severe",
    "erratic or intermittent data",
    "voltage above normal, or shorted to a higher voltage",
    "voltage below normal, or shorted to a lower voltage",
    "current below normal, or open circuit",
    "current above normal, or grounded circuit",
    "mechanical system not responding",
    "abnormal frequency, pulse width or period",
    "abnormal update rate",
    "abnormal rate of change",
    "failure mode not identifiable",
    "bad device or component",
    "out of calibration",
    "special instructions",
    "above normal, least severe",
    "above normal, moderately severe",
    "below normal, least severe",
    "below normal, moderately severe",
    "network data in error",
    "data drifted high",
    "data drifted low",
    "reserved",
    "reserved",
    "reserved",
    "reserved",
    "reserved",
    "reserved",
    "reserved",
    "reserved",
    "reserved",
    "condition exists",
];

fn byte(argument: &'static str, value: i64) -> Result<i64, ArgumentError> {
    whole_within(argument, value, 0, 255)
}

/// A byte of SAE J1939-71 that holds a measurement: 0 to 250.
fn measured(value: i64) -> Result<f64, ArgumentError> {
    let meaning = match byte("byte", value)? {
        0..=250 => return Ok(value as f64),
        251..=253 => "reserved",
        254 => "an error of the sender",
        _ => "not available",
    };
    Err(ArgumentError::NoMeasurement { byte: value, meaning })
}

/// The nearest whole number, as a byte.
fn nearest(value: f64) -> i64 {
    value.round() as i64
}

helpers! { "Codes and bytes";
    /// The text of a two-byte trouble code.
    ///
    /// Bits 15-14 give the letter (P, C, B, U), bits 13-12 the first digit, the rest three hexadecimal digits: 0x01, 0x33 is P0133.
    /// Whole numbers from 0 to 255 give a text.
    ///
    /// Errors: a number that is no byte; 0x00, 0x00, which means that there is no code.
    ///
    /// Source: SAE J2012 / ISO 15031-6, by way of the same bit arithmetic in nine unrelated public programs; the standard
    /// was not seen.
    ///
    /// ```rhai
    /// trouble_code(0x01, 0x33)  // P0133
    /// trouble_code(0xC1, 0x00)  // U0100
    /// ```
    fn trouble_code(high_byte: Whole, low_byte: Whole) -> Text {
        let word = byte("high_byte", high_byte)? << 8 | byte("low_byte", low_byte)?;
        if word == 0 {
            return Err(ArgumentError::NoMeasurement { byte: 0, meaning: "0x0000 stands for no code" });
        }
        let letter = LETTERS[(word >> 14) as usize & 3];
        Ok(format!("{letter}{}{:03X}", word >> 12 & 3, word & 0xFFF))
    }

    /// The two bytes of a trouble code's text.
    ///
    /// The inverse of `trouble_code`; small letters and blanks around it are taken too. Gives a list of two whole
    /// numbers.
    ///
    /// Errors: a text that is not a letter of P, C, B, U, a digit from 0 to 3 and three hexadecimal digits; P0000.
    ///
    /// Source: SAE J2012 / ISO 15031-6, as `trouble_code`.
    ///
    /// ```rhai
    /// trouble_code_bytes("P0133")  // [1, 51]
    /// ```
    fn trouble_code_bytes(code: Text) -> Numbers {
        let unreadable =
            || ArgumentError::Unreadable { argument: "code", wanted: "a trouble code such as P0133", text: code.clone() };
        let text = code.trim().to_ascii_uppercase();
        let mut characters = text.chars();
        let letter = characters.next().and_then(|first| LETTERS.iter().position(|letter| *letter == first));
        let digits: Option<Vec<_>> = characters.map(|digit| digit.to_digit(16)).collect();
        let (Some(letter), Some([first @ 0..=3, a, b, c])) = (letter, digits.as_deref()) else {
            return Err(unreadable());
        };
        let high = (letter as i64) << 6 | i64::from(*first) << 4 | i64::from(*a);
        let low = i64::from(*b) << 4 | i64::from(*c);
        if high == 0 && low == 0 {
            return Err(unreadable());
        }
        Ok(vec![high, low])
    }

    /// Parameter, failure mode, count and conversion method of a four-byte trouble code.
    ///
    /// Byte 1: SPN bits 7-0; byte 2: bits 15-8; byte 3: bits 18-16 in its upper three bits, FMI in the lower five; byte 4:
    /// conversion method in its top bit, occurrences in the rest (127: not counted). Fields: `spn`, `fmi`, `occurrences`,
    /// `conversion_method`, `meaning`. With a conversion method of 1 an older sender laid the SPN out in one of three ways that
    /// the bytes don't tell apart: `spn` is none then, the rest holds.
    ///
    /// Errors: a number that is no byte; four zero bytes, with which a sender says that no code is active.
    ///
    /// Source: SAE J1939-73, by way of two public libraries that agree; meanings from four public lists, in short words; the four
    /// zero bytes: from memory.
    ///
    /// ```rhai
    /// fault_code(0x9F, 0x00, 0x03, 0x01)  // spn 159, fmi 3, occurrences 1, conversion method 0, meaning voltage above normal, or shorted to a higher voltage
    /// ```
    fn fault_code(byte_1: Whole, byte_2: Whole, byte_3: Whole, byte_4: Whole) -> FaultCode
    where since 3 {
        if [byte_1, byte_2, byte_3, byte_4] == [0; 4] { Err(ArgumentError::NoActiveCode) } else { Ok(()) }
    }
    {
        let (low, middle, third) = (byte("byte_1", byte_1)?, byte("byte_2", byte_2)?, byte("byte_3", byte_3)?);
        let fourth = byte("byte_4", byte_4)?;
        let fmi = third & 0x1F;
        let count = fourth & 0x7F;
        Ok(FaultCode {
            spn: (fourth & 0x80 == 0).then_some(low | middle << 8 | (third & 0xE0) << 11),
            fmi,
            occurrences: (count != 127).then_some(count),
            conversion_method: fourth >> 7,
            meaning: FAILURE_MODES[fmi as usize],
        })
    }

    /// The four bytes of a trouble code.
    ///
    /// The inverse of `fault_code`, with the present conversion method. Gives a list of four whole numbers.
    ///
    /// Errors: an SPN beyond 0 to 524287, an FMI beyond 0 to 31, occurrences beyond 0 to 127 (127: not counted); all three zero,
    /// which would give the four zero bytes for no active code.
    ///
    /// Source: SAE J1939-73, as `fault_code`.
    ///
    /// ```rhai
    /// fault_code_bytes(639, 2, 0)  // [127, 2, 2, 0]
    /// ```
    fn fault_code_bytes(spn: Whole, fmi: Whole, occurrences: Whole) -> Numbers
    where since 3 {
        if [spn, fmi, occurrences] == [0; 3] { Err(ArgumentError::NoActiveCode) } else { Ok(()) }
    }
    {
        whole_within("spn", spn, 0, 0x7_FFFF)?;
        whole_within("fmi", fmi, 0, 31)?;
        whole_within("occurrences", occurrences, 0, 127)?;
        Ok(vec![spn & 0xFF, spn >> 8 & 0xFF, spn >> 16 << 5 | fmi, occurrences])
    }

    /// Who assigns a trouble code: `ISO/SAE`, and it means the same on every vehicle, or the `manufacturer`.
    ///
    /// P0, P2, B0, C0, U0 and P34 to P3F: ISO/SAE. P1, B1, B2, C1, C2, U1, U2 and P30 to P33: manufacturer. B3 and C3: `reserved`. U3:
    /// `ISO/SAE or manufacturer`, since issues of the standard differ.
    ///
    /// Errors: as `trouble_code_bytes`.
    ///
    /// Source: SAE J2012 DEC2007, §5.2 to 5.7, and ISO 15031-6, headings seen in secondary copies; P30 to P3F: seen in one manual.
    ///
    /// ```rhai
    /// code_assigned_by("P0133")  // ISO/SAE
    /// code_assigned_by("P1133")  // manufacturer
    /// ```
    fn code_assigned_by(code: Text) -> Text {
        let bytes = trouble_code_bytes(code).map_err(|error| error.trouble)?;
        let (letter, first, second) = (bytes[0] >> 6 & 3, bytes[0] >> 4 & 3, bytes[0] & 0xF);
        let by = match (LETTERS[letter as usize], first, second) {
            ('P', 0 | 2, _) | ('C' | 'B' | 'U', 0, _) | ('P', 3, 4..) => ISO,
            ('C' | 'B', 3, _) => RESERVED,
            ('U', 3, _) => SHARED,
            _ => MANUFACTURER,
        };
        Ok(by.to_owned())
    }

    /// The lamps that a message of trouble codes (DM1, DM2) commands, from its first two bytes.
    ///
    /// Byte 1, two bits a lamp: protect (bits 1-0), amber warning, red stop, malfunction (bits 7-6); 00 off, 01 on, 10 error, 11 not
    /// available. Byte 2 says in the same places how a lamp that is on flashes: 00 slowly, 01 fast, 11 not at all. Fields:
    /// `malfunction`, `red_stop`, `amber_warning`, `protect`, each `off`, `on`, `slow flash`, `fast flash`, `error` or `not available`. The
    /// codes follow from byte 3 on, four bytes each: `fault_code`.
    ///
    /// Errors: a number that is no byte.
    ///
    /// Source: SAE J1939-73, by way of two public libraries that agree; error and flashing: from memory.
    ///
    /// ```rhai
    /// dm1_lamps(0x04, 0xFF)  // malfunction off, red stop off, amber warning on, protect off
    /// dm1_lamps(0x50, 0x1F).red_stop  // fast flash
    /// ```
    fn dm1_lamps(byte_1: Whole, byte_2: Whole) -> Lamps {
        let (on, flash) = (byte("byte_1", byte_1)?, byte("byte_2", byte_2)?);
        Ok(Lamps {
            malfunction: lamp(on, flash, 6),
            red_stop: lamp(on, flash, 4),
            amber_warning: lamp(on, flash, 2),
            protect: lamp(on, flash, 0),
        })
    }

    /// What a failure mode identifier means, in short words.
    ///
    /// Errors: a number beyond 0 to 31.
    ///
    /// Source: SAE J1939-73, by way of four public lists, in short words; 22 to 30 are reserved in older issues, and newer ones
    /// give some of them a meaning (from memory).
    ///
    /// ```rhai
    /// failure_mode(5)  // current below normal, or open circuit
    /// ```
    fn failure_mode(fmi: Whole) -> Text {
        Ok(FAILURE_MODES[whole_within("fmi", fmi, 0, 31)? as usize].to_owned())
    }

    /// Percent of a J1979 byte.
    ///
    /// Byte × 100 ÷ 255: 0 to 100 %. Load, throttle, pedal, level.
    ///
    /// Errors: a number that is no byte.
    ///
    /// Source: SAE J1979 / ISO 15031-5, service 01, PIDs 04 and 11, seen in three copies of the public table.
    ///
    /// ```rhai
    /// j1979_percent(0x80)  // 50.2 %
    /// ```
    fn j1979_percent(byte: Whole) -> Ratio {
        Ok(self::byte("byte", byte)? as f64 / 255.0)
    }

    /// The J1979 byte of a percentage, to the nearest.
    ///
    /// The inverse of `j1979_percent`.
    ///
    /// Errors: a percentage beyond 0 to 100 %.
    ///
    /// Source: SAE J1979 / ISO 15031-5, as `j1979_percent`.
    ///
    /// ```rhai
    /// j1979_percent_byte(50.pct)  // 128
    /// ```
    fn j1979_percent_byte(percent: Ratio) -> Whole {
        Ok(nearest(within::<Ratio>("percent", percent, 0.0, 1.0)? * 255.0))
    }

    /// Temperature of a J1979 byte.
    ///
    /// Byte − 40: −40 to 215 °C. Coolant, intake air, ambient air.
    ///
    /// Errors: a number that is no byte.
    ///
    /// Source: SAE J1979 / ISO 15031-5, service 01, PIDs 05 and 0F, seen in three copies of the public table.
    ///
    /// ```rhai
    /// j1979_temperature(0x7B)  // 83 °C
    /// ```
    fn j1979_temperature(byte: Whole) -> Temperature {
        Ok(self::byte("byte", byte)? as f64 - 40.0)
    }

    /// The J1979 byte of a temperature, to the nearest.
    ///
    /// The inverse of `j1979_temperature`.
    ///
    /// Errors: a temperature beyond −40 to 215 °C.
    ///
    /// Source: SAE J1979 / ISO 15031-5, as `j1979_temperature`.
    ///
    /// ```rhai
    /// j1979_temperature_byte(83.degC)  // 123
    /// ```
    fn j1979_temperature_byte(temperature: Temperature) -> Whole {
        Ok(nearest(within::<Temperature>("temperature", temperature, -40.0, 215.0)? + 40.0))
    }

    /// Fuel trim of a J1979 byte.
    ///
    /// (Byte − 128) × 100 ÷ 128: −100 to 99.2 %.
    ///
    /// Errors: a number that is no byte.
    ///
    /// Source: SAE J1979 / ISO 15031-5, service 01, PIDs 06 to 09, seen in three copies of the public table.
    ///
    /// ```rhai
    /// j1979_trim(0x85)  // 3.906 %
    /// ```
    fn j1979_trim(byte: Whole) -> Ratio {
        Ok((self::byte("byte", byte)? as f64 - 128.0) / 128.0)
    }

    /// Engine speed of two J1979 bytes.
    ///
    /// (256 × high + low) ÷ 4 turns per minute: 0 to 16383.75.
    ///
    /// Errors: a number that is no byte.
    ///
    /// Source: SAE J1979 / ISO 15031-5, service 01, PID 0C, seen in three copies of the public table.
    ///
    /// ```rhai
    /// j1979_engine_speed(0x0B, 0xB8)  // 750 rpm
    /// ```
    fn j1979_engine_speed(high_byte: Whole, low_byte: Whole) -> Rotation {
        let word = byte("high_byte", high_byte)? * 256 + byte("low_byte", low_byte)?;
        Ok(word as f64 / 4.0 * PI / 30.0)
    }

    /// Percent of a J1939 byte.
    ///
    /// Byte × 0.4 %: 0 to 100 % for 0 to 250. The bytes above are messages: 254 an error, 255 not available.
    ///
    /// Errors: a number that is no byte; 251 to 255.
    ///
    /// Source: SAE J1939-71, from memory.
    ///
    /// ```rhai
    /// j1939_percent(125)  // 50 %
    /// ```
    fn j1939_percent(byte: Whole) -> Ratio {
        Ok(measured(byte)? / 250.0)
    }

    /// The J1939 byte of a percentage, to the nearest.
    ///
    /// The inverse of `j1939_percent`.
    ///
    /// Errors: a percentage beyond 0 to 100 %.
    ///
    /// Source: SAE J1939-71, from memory.
    ///
    /// ```rhai
    /// j1939_percent_byte(50.pct)  // 125
    /// ```
    fn j1939_percent_byte(percent: Ratio) -> Whole {
        Ok(nearest(within::<Ratio>("percent", percent, 0.0, 1.0)? * 250.0))
    }

    /// Temperature of a J1939 byte.
    ///
    /// Byte − 40: −40 to 210 °C for 0 to 250. The bytes above are messages: 254 an error, 255 not available.
    ///
    /// Errors: a number that is no byte; 251 to 255.
    ///
    /// Source: SAE J1939-71, from memory.
    ///
    /// ```rhai
    /// j1939_temperature(130)  // 90 °C
    /// ```
    fn j1939_temperature(byte: Whole) -> Temperature {
        Ok(measured(byte)? - 40.0)
    }

    /// The J1939 byte of a temperature, to the nearest.
    ///
    /// The inverse of `j1939_temperature`.
    ///
    /// Errors: a temperature beyond −40 to 210 °C.
    ///
    /// Source: SAE J1939-71, from memory.
    ///
    /// ```rhai
    /// j1939_temperature_byte(90.degC)  // 130
    /// ```
    fn j1939_temperature_byte(temperature: Temperature) -> Whole {
        Ok(nearest(within::<Temperature>("temperature", temperature, -40.0, 210.0)? + 40.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::electrical::error::{Allowed, Given};

    #[test]
    fn every_two_byte_code_comes_back() {
        for word in 1..=0xFFFF_i64 {
            let text = trouble_code(word >> 8, word & 0xFF).unwrap();
            assert_eq!(trouble_code_bytes(text).unwrap(), [word >> 8, word & 0xFF]);
        }
    }

    #[test]
    fn an_older_layout_hides_the_parameter_but_not_the_failure_mode() {
        let old = fault_code(0x9F, 0x00, 0x03, 0x81).unwrap();
        assert_eq!((old.spn, old.fmi, old.occurrences, old.conversion_method), (None, 3, Some(1), 1));
    }

    #[test]
    fn what_is_no_code_is_refused() {
        for text in ["", "P", "P01", "P01333", "X0133", "P4133", "P0G33", "P0000", "P 133"] {
            assert!(trouble_code_bytes(text.to_owned()).is_err(), "{text}");
        }
        assert!(matches!(
            trouble_code(256, 0).unwrap_err().trouble,
            ArgumentError::OutOfRange { allowed: Allowed::Between(..), given: Given::Number(256.0), .. }
        ));
    }
}
