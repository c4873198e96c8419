//! The time of a circuit: only waiting lets it pass.

use std::collections::BTreeMap;

/// The time that was waited, and what parts have become in it.
#[derive(Clone, Debug, Default, PartialEq)]
pub(in crate::circuit) struct Clock {
    /// Seconds waited since the vehicle was as it begins.
    pub seconds: f64,
    /// Of parts that fall asleep, by number: the second in which each was awake last.
    pub awake: BTreeMap<usize, f64>,
    /// Of batteries, by number.
    pub batteries: BTreeMap<usize, Cell>,
}

/// The present state of a battery.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::circuit) struct Cell {
    /// The share of its capacity that is gone. It only grows.
    pub taken: f64,
    /// How much of its surface voltage stands: 1 right after it was charged, 0 at rest, below that right after a load.
    pub surface: f64,
}

impl Cell {
    /// A battery right after the drive.
    pub const CHARGED: Self = Self { taken: 0.0, surface: 1.0 };
}

/// Which moment is read of what comes and goes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(in crate::circuit) enum Moment {
    /// The present one.
    #[default]
    Now,
    /// One in which all that comes and goes is there.
    There,
    /// One in which it is gone.
    Gone,
}

/// A stretch of waiting is looked at in so many steps at most, each of a minute at least.
const MOST_STEPS: f64 = 240.0;

/// Steps of a wait, in seconds each, and how many.
pub(in crate::circuit) fn steps(seconds: f64) -> (f64, usize) {
    let count = (seconds / 60.0).ceil().clamp(1.0, MOST_STEPS);
    (seconds / count, count as usize)
}

/// Hours' draw, as a share of the capacity, from which on a battery is loaded: below, its surface voltage comes to rest.
const LOADED: f64 = 0.05;
/// Seconds in which a load takes the surface voltage off, and in which it comes back to rest. Common practice, no source:
/// headlamps for a quarter of a minute take it off, and some minutes later it has recovered.
const TAKES_OFF: f64 = 15.0;
const RECOVERS: f64 = 180.0;

impl Cell {
    /// After so many seconds at so many amperes out of a capacity in coulombs.
    pub fn after(self, seconds: f64, amperes: f64, capacity: f64) -> Self {
        let loaded = amperes * 3600.0 / capacity > LOADED;
        let (towards, lasts) = if loaded { (-1.0, TAKES_OFF) } else { (0.0, RECOVERS) };
        Self {
            taken: (self.taken + (amperes * seconds / capacity).max(0.0)).min(1.0),
            surface: towards + (self.surface - towards) * (-seconds / lasts).exp(),
        }
    }
}
