//! The single faults that the readings of a record leave possible. It never concludes.

use super::prompt::PromptId;
use serde::Serialize;

/// How all faults stand after some readings.
#[derive(Clone, PartialEq, Debug, Default, Serialize)]
pub struct StillPossible {
    /// So many single faults were held against the readings.
    pub considered: usize,
    /// The readings in their order, each with the faults that it excludes and that none before it did.
    pub readings: Vec<ReadingExcludes>,
    /// The faults that could have given all the readings, by place.
    pub left: Vec<LeftAt>,
    /// A vehicle without a fault could have given them, too.
    pub healthy: bool,
    /// The numbers of the fewest readings that can't be true together, where nothing could have given all of them.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub contradiction: Option<Vec<usize>>,
    /// Readings that say nothing here, with the reason in words.
    pub not_used: Vec<(PromptId, String)>,
    /// The circuit is an example, and a vehicle was measured: its tolerances are taken so many times as wide.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub widened: Option<f64>,
    /// No meter with known figures was named: the accuracy that is assumed, in words.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub assumed_meter: Option<String>,
}

impl StillPossible {
    /// So many are left, a vehicle without a fault among them.
    pub fn choices(&self) -> usize {
        self.left.iter().map(|at| at.faults.len()).sum::<usize>() + usize::from(self.healthy)
    }
}

/// One reading, and what it excludes.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct ReadingExcludes {
    /// Its number, from 1.
    pub number: usize,
    /// Its prompt.
    pub id: PromptId,
    /// The prompt's words.
    pub about: String,
    /// The value as it was read.
    pub value: String,
    /// The faults.
    pub excluded: Vec<ExcludedFault>,
}

/// A fault that can't have given a reading.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct ExcludedFault {
    /// Its id.
    pub id: String,
    /// In words.
    pub what: String,
    /// How far the reading lies beside what the fault can show, beyond the meter's accuracy: `beyond by 0.31 V`.
    pub beyond: String,
    /// Earlier readings that exclude it only together with this one: each for a part of its severities.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub with: Vec<usize>,
}

/// The faults at one place.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct LeftAt {
    /// The place.
    pub place: String,
    /// The faults there, in words.
    pub faults: Vec<String>,
}

/// A reading that would tell apart what is left. Nobody has to take it.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct NextReading {
    /// The reading and its place: `DC volts, red on C41.1, black on battery negative`.
    pub what: String,
    /// The change at the vehicle before it, if one is needed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub first: Option<String>,
    /// Its minutes, with what is changed first.
    pub minutes: f64,
    /// The faults that are left, in groups: the reading would differ from group to group.
    pub parts: Vec<Vec<String>>,
}
