//! The mistakes that people make at the vehicle, and their results in a proof.

use crate::model::event::Entry;
use serde::Serialize;
use std::collections::BTreeMap;

/// One mistake, made once in a run.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum SlipKind {
    /// The answer was left out.
    Skipped,
    /// The red lead is where the black one belongs, and the black one where the red one does.
    LeadsSwapped,
    /// A lead touches nothing: 0 on volts and amperes, `OL` on ohms and diode test.
    NoContact,
    /// The meter shows `OL`.
    OverRange,
    /// A look was seen wrong.
    SeenWrong,
    /// The action was refused.
    Declined,
    /// The action was confirmed, and not done.
    NotDone,
}

impl SlipKind {
    /// In words, after "with" and before the place.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Skipped => "skipped",
            Self::LeadsSwapped => "red and black swapped",
            Self::NoContact => "a lead without contact",
            Self::OverRange => "OL on the meter",
            Self::SeenWrong => "seen wrong",
            Self::Declined => "not done and said so",
            Self::NotDone => "confirmed and not done",
        }
    }

    /// Whether a good part replaced for it fails the proof. Nothing that a procedure asks can see what somebody only says.
    pub const fn counts(self) -> bool {
        !matches!(self, Self::NotDone)
    }
}

/// A slip after which a good part would be replaced, or at which the script stops with an error.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct SlipFound {
    /// The mistake.
    pub slip: SlipKind,
    /// At which prompt or action; of a look with what was said of it.
    pub at: String,
    /// Whether it was made in the check after the repair.
    pub after_repair: bool,
    /// How many runs came to it.
    pub runs: u64,
    /// The faults in the circuit in the first of them; none in the healthy one.
    pub faults: Vec<String>,
    /// The vehicle of the first of them.
    pub seed: u64,
    /// Its result.
    pub came_to: String,
    /// The first of them, reading by reading.
    pub path: Vec<Entry>,
}

/// The results of slips.
#[derive(Clone, PartialEq, Debug, Default, Serialize)]
pub struct Slips {
    /// Runs with one slip each.
    pub runs: u64,
    /// The same by kind.
    pub by_kind: BTreeMap<SlipKind, u64>,
    /// Slips after which a good part would be replaced.
    pub replaces_good: Vec<SlipFound>,
    /// Slips after which the check after the repair calls a fault repaired that is still in: they replace nothing, and fail no
    /// proof.
    pub called_repaired: Vec<SlipFound>,
    /// The same of actions that were confirmed and not done: they fail no proof.
    pub not_done: Vec<SlipFound>,
    /// Slips at which the script stopped with an error.
    pub errors: Vec<SlipFound>,
}

impl Slips {
    /// Whether none of them fails the proof.
    pub fn is_clean(&self) -> bool {
        self.replaces_good.is_empty() && self.errors.is_empty()
    }
}

/// An answer to a question that nothing on the circuit can check.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct Said {
    /// The question.
    pub prompt: String,
    /// The answer.
    pub answer: String,
}

/// A conclusion that rests on what somebody said alone.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct RestsOnAnswer {
    /// The faults in the circuit; none in the healthy one.
    pub faults: Vec<String>,
    /// The vehicle.
    pub seed: u64,
    /// The answer.
    pub said: Vec<Said>,
    /// Its result.
    pub came_to: String,
    /// How many paths of this case came to it.
    pub runs: u64,
    /// The first of them, reading by reading.
    pub path: Vec<Entry>,
}

/// The results of answers that nobody can check.
#[derive(Clone, PartialEq, Debug, Default, Serialize)]
pub struct Answers {
    /// Runs in which such questions were answered.
    pub runs: u64,
    /// Cases with more ways to answer than were tried; each by its faults.
    pub cut: Vec<Vec<String>>,
    /// The parts that an answer alone condemned.
    pub rests_on_an_answer: Vec<RestsOnAnswer>,
    /// Answers at which the script stopped with an error.
    pub errors: Vec<RestsOnAnswer>,
}

impl Answers {
    /// Whether none of them fails the proof.
    pub fn is_clean(&self) -> bool {
        self.rests_on_an_answer.is_empty() && self.errors.is_empty()
    }
}
