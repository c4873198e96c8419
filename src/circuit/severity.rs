//! How bad a fault is: one value, or a range out of which each vehicle draws its own.

use super::effect::Effect;
use super::movement::Condition;
use crate::model::dimension::Dimension;
use crate::model::quantity::Quantity;

/// Which of an effect's values has a range.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Of {
    /// `ohms` or `through`.
    Ohms,
    /// `gain`.
    Gain,
    /// `value`.
    Value,
    /// `offset`.
    Offset,
}

/// The range of a fault's severity, in SI units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Severity {
    /// Which of the fault's effects, by number.
    pub(super) effect: usize,
    /// Which of its values.
    pub of: Of,
    /// Lowest value.
    pub low: f64,
    /// Highest value.
    pub high: f64,
    /// Dimension of both.
    pub dimension: Dimension,
}

impl Severity {
    /// Whether its draws lie evenly on a logarithmic scale.
    pub const fn is_logarithmic(&self) -> bool {
        matches!(self.of, Of::Ohms | Of::Gain)
    }

    /// The value at a share of the way from the lowest to the highest.
    pub fn at(&self, share: f64) -> f64 {
        let value = if self.is_logarithmic() {
            (self.low.ln() + (self.high.ln() - self.low.ln()) * share).exp()
        } else {
            self.low + (self.high - self.low) * share
        };
        value.clamp(self.low, self.high)
    }

    /// The value in the middle, for a caller that names no severity.
    pub fn middle(&self) -> f64 {
        self.at(0.5)
    }

    /// A number in SI units as a quantity.
    pub fn quantity(&self, value: f64) -> Quantity {
        Quantity::new(value, self.dimension)
    }

    /// The range in words: `5 ohm to 2 kohm`.
    pub fn text(&self) -> String {
        format!("{} to {}", self.quantity(self.low), self.quantity(self.high))
    }
}

/// A fault as it is put into a circuit: what it does, at one severity.
#[derive(Clone, Debug, PartialEq)]
pub struct Placed {
    pub(super) effects: Vec<Effect>,
    pub(super) only_while: Option<Condition>,
    /// How it changes the circuit's looks: the look and the answer.
    pub(super) sees: Vec<(String, String)>,
}

impl Effect {
    /// Puts another number in the place of one of its values.
    pub(super) fn set(&mut self, of: Of, to: f64) {
        match (self, of) {
            (Self::Short { ohms, .. } | Self::Added { ohms, .. } | Self::Worn { ohms, .. }, Of::Ohms) => *ohms = to,
            (Self::Drift { gain, .. }, Of::Gain) => *gain = to,
            (Self::Drift { offset, .. }, Of::Offset) => *offset = to,
            (Self::Set { value, .. }, Of::Value) => *value = to,
            _ => {}
        }
    }
}
