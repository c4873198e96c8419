//! Doubts about a typed reading.

use super::quantity::Quantity;
use super::unit::Unit;
use serde::{Deserialize, Serialize};
use std::fmt;

/// Something odd about what was typed; asked about once.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(tag = "doubt", rename_all = "snake_case")]
pub enum Doubt {
    /// Out by a clean power of ten that would be in.
    PowerOfTen {
        /// The factor that would make it fit.
        factor: f64,
        /// The value that would fit.
        would_be: Quantity,
    },
    /// The sign of the limits reversed, or further below zero than it may be above.
    LeadsSwapped,
    /// A bare number that fits in two units.
    Unit {
        /// The one shown at the prompt.
        shown: Unit,
        /// The other one.
        other: Unit,
    },
    /// More volts than a vehicle's low-voltage circuits have.
    BeyondVehicle,
    /// Nearer to the limit than the meter can tell.
    Unsure {
        /// The meter's worst case.
        accuracy: Quantity,
    },
}

impl fmt::Display for Doubt {
    /// As a question to the person who typed it.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::PowerOfTen { would_be, .. } => {
                write!(f, "Expected about {would_be}. Decimal slip, or wrong range?")
            }
            Self::LeadsSwapped => f.write_str("The sign is not as expected. Red and black swapped?"),
            Self::Unit { shown, other } => write!(f, "Is that {shown} or {other}? Type it with its unit"),
            Self::BeyondVehicle => {
                f.write_str("This vehicle's system does not have that many volts. Decimal slip, or wrong range?")
            }
            Self::Unsure { accuracy } => write!(
                f,
                "Nearer to the limit than the meter can tell (±{}). Read it again, on a better range if there is one",
                accuracy.show(2)
            ),
        }
    }
}
