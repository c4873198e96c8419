//! The job, before the first reading.

use super::quantity::Quantity;
use serde::{Deserialize, Deserializer, Serialize};
use std::fmt;

/// The vehicle, the complaint and the person.
#[derive(Clone, PartialEq, Eq, Debug, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Job {
    /// Vehicle or unit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub vehicle: Option<String>,
    /// The system's nominal voltage. A record has it beside its job.
    #[serde(default, skip_serializing)]
    pub nominal: Option<Nominal>,
    /// Odometer, with its unit, as read.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub odometer: Option<String>,
    /// The customer's words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub concern: Option<String>,
    /// Whether somebody saw it happen.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub verified: Option<bool>,
    /// Trouble codes.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub codes: Vec<String>,
    /// Who does it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub technician: Option<String>,
    /// The shop's name for the meter.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub meter: Option<String>,
    /// Weather and temperature: what the finding holds for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub conditions: Option<String>,
}

/// The nominal voltage of the vehicle's electrical system.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Nominal {
    /// 12 V.
    Twelve,
    /// 24 V.
    TwentyFour,
}

/// A text that names none.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{0}` is not a nominal system voltage: write 12 V or 24 V")]
pub struct NoNominal(String);

impl Nominal {
    /// In volts.
    pub fn quantity(self) -> Quantity {
        Quantity::volts(match self {
            Self::Twelve => 12.0,
            Self::TwentyFour => 24.0,
        })
    }

    /// The one of these volts.
    pub fn of(volts: Quantity) -> Option<Self> {
        [Self::Twelve, Self::TwentyFour].into_iter().find(|nominal| nominal.quantity() == volts)
    }
}

impl fmt::Display for Nominal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.quantity().fmt(f)
    }
}

impl std::str::FromStr for Nominal {
    type Err = NoNominal;

    /// `24 V`, `24V`, `24`.
    fn from_str(text: &str) -> Result<Self, NoNominal> {
        let number = text.trim().trim_end_matches(['V', 'v']).trim_end();
        match number {
            "12" => Ok(Self::Twelve),
            "24" => Ok(Self::TwentyFour),
            _ => Err(NoNominal(text.to_owned())),
        }
    }
}

impl<'de> Deserialize<'de> for Nominal {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        super::text::from_text(deserializer, str::parse)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_are_read_as_people_write_them_and_nothing_else_is() {
        for text in ["24 V", "24V", " 24 v ", "24"] {
            assert_eq!(text.parse(), Ok(Nominal::TwentyFour), "{text}");
        }
        assert_eq!(Nominal::of(Quantity::volts(12.0)), Some(Nominal::Twelve));
        assert_eq!(Nominal::of(Quantity::volts(13.0)), None);
        for text in ["", "13", "V", "12 A", "1 2", "24 V 12 V", "240"] {
            let words = format!("`{text}` is not a nominal system voltage: write 12 V or 24 V");
            assert_eq!(text.parse::<Nominal>().map_err(|error| error.to_string()), Err(words));
        }
    }
}
