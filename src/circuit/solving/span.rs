//! What a value comes to in a circuit that may find no rest.

/// Lowest, mean and highest over the sets of contacts that return; all the same where the circuit rests.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span {
    pub lowest: f64,
    pub mean: f64,
    pub highest: f64,
}

impl Span {
    /// Of a circuit that rests.
    pub const fn steady(value: f64) -> Self {
        Self { lowest: value, mean: value, highest: value }
    }

    /// Over one value for each set of the cycle.
    pub fn over(values: impl Iterator<Item = f64>) -> Self {
        let (mut span, mut count) = (Self { lowest: f64::INFINITY, mean: 0.0, highest: f64::NEG_INFINITY }, 0.0);
        for value in values {
            span.lowest = span.lowest.min(value);
            span.highest = span.highest.max(value);
            span.mean += value;
            count += 1.0;
        }
        span.mean /= count;
        span
    }

    /// Adds what holds for a share of the time.
    pub fn add(&mut self, share: f64, other: Self) {
        self.lowest += share * other.lowest;
        self.mean += share * other.mean;
        self.highest += share * other.highest;
    }

    /// The same of a function that never falls.
    pub fn rising(self, function: impl Fn(f64) -> f64) -> Self {
        Self { lowest: function(self.lowest), mean: function(self.mean), highest: function(self.highest) }
    }

    /// The one further from zero.
    pub fn largest(self) -> f64 {
        self.lowest.abs().max(self.highest.abs())
    }
}
