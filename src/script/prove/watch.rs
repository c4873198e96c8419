//! Who looks on while a proof goes on.

use crate::model::caution::CautionRules;
use crate::model::event::Entry;
use std::sync::Arc;

/// What a proof is at.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Stage {
    /// The healthy circuit and each fault.
    Cases,
    /// Every two faults together.
    Pairs,
    /// Slips.
    Slips,
    /// Answers that nobody can check: as many cases, each with up to [`super::answers::MOST_PATHS`] runs.
    Answers,
}

/// An observer of a proof.
pub trait Watch: Sync {
    /// A stage begins, with so many runs; with answers, so many cases.
    fn begins(&self, stage: Stage, runs: u64);
    /// One of them is over.
    fn ran(&self);
    /// The caution rules that the runs go by: none, since nobody is there. Who looks on for cautions gives them.
    fn rules(&self) -> Arc<CautionRules> {
        Arc::default()
    }
    /// What one run came to, whichever stage it belongs to.
    fn came(&self, _entries: &[Entry]) {}
}

/// Nobody.
#[derive(Clone, Copy, Debug)]
pub struct Unwatched;

impl Watch for Unwatched {
    fn begins(&self, _: Stage, _: u64) {}
    fn ran(&self) {}
}
