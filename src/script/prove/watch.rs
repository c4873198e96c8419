//! Who looks on while a proof goes on.

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
}

/// Nobody.
#[derive(Clone, Copy, Debug)]
pub struct Unwatched;

impl Watch for Unwatched {
    fn begins(&self, _: Stage, _: u64) {}
    fn ran(&self) {}
}
