//! What of the customer's and the shop's data a report leaves out.

use super::material::Material;
use crate::model::ending::{Ending, Why};
use crate::model::prompt::Answer;
use crate::model::record::{Item, Record, RunStatus};
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

/// What stands where something was left out.
pub const LEFT_OUT: &str = "left out of this report";

impl Material {
    /// Without these details, wherever they stand.
    pub fn without(mut self, details: &[Detail]) -> Self {
        self.withheld = details.to_vec();
        self.withheld.sort_unstable();
        self.withheld.dedup();
        withhold(&mut self.record, details);
        if let Some(earlier) = &mut self.earlier {
            withhold(&mut earlier.record, details);
        }
        for check in &mut self.checks {
            withhold(&mut check.record, details);
        }
        for detail in details {
            match detail {
                // A record's folder is named after the vehicle.
                Detail::Vehicle => {
                    self.name = anonymous(&self.journal_sha256);
                    if let (Some(earlier), Some(link)) = (&mut self.earlier, &self.record.started.link) {
                        earlier.name.clone_from(&link.record);
                    }
                    for check in &mut self.checks {
                        check.name = anonymous(&check.journal_sha256);
                    }
                }
                Detail::Technician => {
                    for signoff in &mut self.signoffs {
                        signoff.name = LEFT_OUT.to_owned();
                        signoff.state.clone_from(&signoff.nameless);
                    }
                    for sign_off in &mut self.record.sign_offs {
                        sign_off.statement.name = LEFT_OUT.to_owned();
                    }
                }
                Detail::Shop => {
                    self.shop_name.clear();
                    self.shop_address = None;
                }
                _ => {}
            }
        }
        self
    }
}

/// A record's name without the vehicle's in it.
pub fn anonymous(sha256: &str) -> String {
    format!("record-{}", sha256.get(..12).unwrap_or(sha256))
}

fn withhold(record: &mut Record, details: &[Detail]) {
    for detail in details {
        let job = &mut record.started.job;
        match detail {
            Detail::Vehicle => {
                job.vehicle = None;
                if let Some(link) = &mut record.started.link {
                    link.record = anonymous(&link.sha256);
                }
                record.started.row = None;
            }
            Detail::Odometer => job.odometer = None,
            Detail::Concern => (job.concern, job.verified) = (None, None),
            Detail::Codes => job.codes.clear(),
            Detail::Technician => {
                job.technician = None;
                for item in record.items_mut() {
                    if let Item::Cautioned { qualified: Some(name), .. } = item {
                        LEFT_OUT.clone_into(name);
                    }
                }
            }
            Detail::Conditions => job.conditions = None,
            Detail::Notes => {
                if let RunStatus::Ended(Ending::Unfinished { why, words }) = &mut record.status {
                    // Where they have no place of their own, somebody's words may stand within the reason: a procedure puts
                    // its own together, and so did this program once.
                    match (words, why) {
                        (Some(words), _) => LEFT_OUT.clone_into(words),
                        (None, why) => *why = Why::Author { text: LEFT_OUT.to_owned() },
                    }
                }
                for item in record.items_mut() {
                    match item {
                        Item::Noted { text } => LEFT_OUT.clone_into(text),
                        Item::Answered(answered) => {
                            if let Answer::Note { words } | Answer::Skipped { reason: words } = &mut answered.answer {
                                LEFT_OUT.clone_into(words);
                            }
                            for reading in &mut answered.sweep {
                                reading.position = None;
                            }
                        }
                        _ => {}
                    }
                }
            }
            Detail::Shop => {}
        }
    }
}
