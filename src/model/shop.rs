//! The shop: its people, meters and own cautions, as `shop.toml` says.

use super::caution::Rule;
use super::meter::Meter;
use serde::{Deserialize, Serialize};

/// A person who may sign.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Person {
    /// Printed name.
    pub name: String,
    /// Role, one of those under `[[role]]`.
    #[serde(default)]
    pub role: String,
    /// OpenSSH public key.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub key: Option<String>,
    /// First day on which it counts, `2026-01-01`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from: Option<String>,
    /// Last day on which it counts.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub until: Option<String>,
}

/// The meanings that a role may sign.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Role {
    /// Its name.
    pub name: String,
    /// Meanings of a signature that it may give: `performed`, `reviewed` …
    pub may_sign: Vec<String>,
}

/// The sign before a number's fraction.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub enum Decimal {
    /// `12.6`.
    #[serde(rename = ".")]
    Point,
    /// `12,6`.
    #[serde(rename = ",")]
    Comma,
}

/// Everything in `shop.toml`.
#[derive(Clone, PartialEq, Debug, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Shop {
    /// The shop's name.
    #[serde(default)]
    pub name: String,
    /// Address and the like, for reports.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub address: Option<String>,
    /// The meaning of a comma in a typed number; where it is not said, a number that could be read in two ways is asked about.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub decimal: Option<Decimal>,
    /// Verdicts are shown in letters three rows high.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub large: bool,
    /// Its people.
    #[serde(default, rename = "person")]
    pub people: Vec<Person>,
    /// The meanings that its roles may sign.
    #[serde(default, rename = "role")]
    pub roles: Vec<Role>,
    /// Its meters.
    #[serde(default, rename = "meter")]
    pub meters: Vec<Meter>,
    /// Its own cautions, besides the library's.
    #[serde(default, rename = "caution")]
    pub cautions: Vec<Rule>,
}
