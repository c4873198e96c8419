//! What a report can leave out of the customer's and the shop's data.

use std::fmt;

/// Something that a report can leave out.
#[derive(Clone, Copy, PartialEq, Eq, Debug, PartialOrd, Ord)]
pub enum Detail {
    /// Vehicle or unit, and the record's name, which carries it.
    Vehicle,
    /// Odometer.
    Odometer,
    /// The concern.
    Concern,
    /// Trouble codes.
    Codes,
    /// The technician, the qualified person and who signed.
    Technician,
    /// Weather and temperature.
    Conditions,
    /// Whatever somebody wrote in words of their own: remarks, answers in words, why something was skipped or not done,
    /// where the moving part of a sweep stood.
    Notes,
    /// The shop.
    Shop,
}

impl Detail {
    /// Every one with its word on the command line.
    pub const TABLE: &[(&'static str, Self)] = &[
        ("vehicle", Self::Vehicle),
        ("odometer", Self::Odometer),
        ("concern", Self::Concern),
        ("codes", Self::Codes),
        ("technician", Self::Technician),
        ("conditions", Self::Conditions),
        ("notes", Self::Notes),
        ("shop", Self::Shop),
    ];

    /// The one that a word names.
    pub fn named(word: &str) -> Option<Self> {
        Self::TABLE.iter().find(|(name, _)| *name == word).map(|(_, detail)| *detail)
    }
}

impl fmt::Display for Detail {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(Self::TABLE.iter().find(|(_, detail)| detail == self).map_or("", |(name, _)| name))
    }
}
