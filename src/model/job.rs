//! What is known of the job before the first reading.

use serde::{Deserialize, Serialize};

/// The vehicle, the complaint and the person.
#[derive(Clone, PartialEq, Eq, Debug, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Job {
    /// Vehicle or unit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub vehicle: Option<String>,
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
