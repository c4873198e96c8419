//! What of the customer's and the shop's data a report leaves out.

use super::detail::Detail;
use super::material::Material;
use crate::model::ending::{Ending, Why};
use crate::model::prompt::Answer;
use crate::model::record::{Item, Record, RunStatus};

/// The text where something was left out.
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
