//! The travel of a sweep: where its readings leave their path, jump, turn back or stand still.

use super::results::{Spot, Value};
use crate::model::quantity::Quantity;
use std::fmt;

/// Which way the readings went.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Direction {
    /// Upward.
    Rising,
    /// Downward.
    Falling,
    /// No further than the noise.
    Flat,
}

impl fmt::Display for Direction {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Rising => "rising",
            Self::Falling => "falling",
            Self::Flat => "flat",
        })
    }
}

impl From<Direction> for Value {
    fn from(direction: Direction) -> Self {
        Self::Text(direction.to_string())
    }
}

/// Readings along their positions, under examination by the noise and the jump that the caller names.
///
/// It knows nothing of where a sweep should begin and end. Against known ends, and without positions, a procedure's sweep is
/// judged by `model::sweep::Track`: there a dropout is what lies outside the ends or leaps away from its neighbors by more
/// than their tolerance; here it is a jump off the path and a jump back onto it.
pub(super) struct Travel<'a> {
    pub(super) positions: &'a [Quantity],
    pub(super) readings: &'a [Quantity],
    noise: f64,
    jump: f64,
    /// Which readings are part of a dropout.
    dropped: Vec<bool>,
}

impl<'a> Travel<'a> {
    /// Nothing is known to be a dropout yet.
    pub(super) fn new(positions: &'a [Quantity], readings: &'a [Quantity], noise: f64, jump: f64) -> Self {
        Self { positions, readings, noise, jump, dropped: vec![false; readings.len()] }
    }

    /// The reading of this number, in SI units.
    pub(super) fn reading(&self, index: usize) -> f64 {
        self.readings[index].si()
    }

    /// A place from one number to another, with the reading that tells most.
    pub(super) fn spot(&self, from: usize, to: usize, worst: usize) -> Spot {
        Spot { from: self.positions[from], to: self.positions[to], reading: self.readings[worst] }
    }

    /// Where a reading leaves its path by more than `jump` and a later one is back on it. The path is the straight line
    /// between the last good reading and the first one after; the way out and the way back must both be jumps.
    pub(super) fn find_dropouts(&mut self) -> Vec<Spot> {
        let mut found = Vec::new();
        let count = self.readings.len();
        let mut last_good = 0;
        let mut index = 1;
        while index + 1 < count {
            let away = self.reading(index) - self.reading(last_good);
            let end = (away.abs() > self.jump)
                .then(|| (index + 1..count).find(|&back| self.is_back(last_good, index, back, away)))
                .flatten();
            match end {
                Some(back) => {
                    let worst = (index..back).fold(index, |worst, at| {
                        let off = |at: usize| (self.reading(at) - self.path(last_good, back, at)).abs();
                        if off(at) > off(worst) { at } else { worst }
                    });
                    found.push(self.spot(index, back - 1, worst));
                    self.dropped[index..back].fill(true);
                    last_good = back;
                    index = back + 1;
                }
                None => {
                    last_good = index;
                    index += 1;
                }
            }
        }
        found
    }

    fn path(&self, from: usize, to: usize, at: usize) -> f64 {
        let share = (self.positions[at].si() - self.positions[from].si())
            / (self.positions[to].si() - self.positions[from].si());
        self.reading(from) + share * (self.reading(to) - self.reading(from))
    }

    fn is_back(&self, good: usize, left: usize, back: usize, away: f64) -> bool {
        let returned = self.reading(back) - self.reading(back - 1);
        // A jump the other way, not a small part of the way out, and everything between is off the path.
        returned.abs() > self.jump
            && returned.signum() != away.signum()
            && (left..back).all(|at| (self.reading(at) - self.path(good, back, at)).abs() > self.jump / 2.0)
            && returned.abs() >= away.abs() / 2.0
    }

    /// The numbers of the readings that are no dropouts.
    pub(super) fn good(&self) -> Vec<usize> {
        (0..self.readings.len()).filter(|&index| !self.dropped[index]).collect()
    }

    /// Runs of good readings that stay within the noise of their first, `at_least` of them.
    pub(super) fn still(&self, good: &[usize], at_least: usize) -> Vec<(usize, usize)> {
        let mut runs = Vec::new();
        let mut start = 0;
        while start < good.len() {
            let end = (start..good.len())
                .take_while(|&at| (self.reading(good[at]) - self.reading(good[start])).abs() <= self.noise)
                .last()
                .unwrap_or(start);
            if end + 1 - start >= at_least {
                runs.push((start, end));
                start = end;
            }
            start += 1;
        }
        runs
    }

    /// Which way it went from its first good reading to its last.
    pub(super) fn direction(&self, good: &[usize]) -> Direction {
        match self.gone(good) {
            flat if flat.abs() <= self.noise => Direction::Flat,
            up if up > 0.0 => Direction::Rising,
            _ => Direction::Falling,
        }
    }

    /// How far it went from its first good reading to its last, in SI units.
    pub(super) fn gone(&self, good: &[usize]) -> f64 {
        match good {
            [first, .., last] => self.reading(*last) - self.reading(*first),
            _ => 0.0,
        }
    }

    /// Jumps that stay. Across a dropout the way is longer than from one neighbor to the next.
    pub(super) fn steps(&self, good: &[usize]) -> Vec<Spot> {
        good.windows(2)
            .map(|pair| (pair[0], pair[1]))
            .filter(|&(before, after)| {
                after == before + 1 && (self.reading(after) - self.reading(before)).abs() > self.jump
            })
            .map(|(before, after)| self.spot(before, after, after))
            .collect()
    }

    /// Where it went back by more than the noise.
    pub(super) fn reversals(&self, good: &[usize]) -> Vec<Spot> {
        let sign = if self.direction(good) == Direction::Falling { -1.0 } else { 1.0 };
        let mut reversals: Vec<Spot> = Vec::new();
        // The furthest that it has come: going back is measured from there, so that many small steps back count too.
        let Some((&first, rest)) = good.split_first() else { return reversals };
        let mut front = first;
        let mut going_back = false;
        for &at in rest {
            let ahead = sign * (self.reading(at) - self.reading(front));
            if ahead < -self.noise {
                match reversals.last_mut() {
                    Some(open) if going_back => self.extend(open, at, sign),
                    _ => reversals.push(self.spot(front, at, at)),
                }
                going_back = true;
            } else {
                if ahead > 0.0 {
                    front = at;
                }
                going_back = false;
            }
        }
        reversals
    }

    /// A reversal that goes on.
    fn extend(&self, open: &mut Spot, at: usize, sign: f64) {
        open.to = self.positions[at];
        if sign * (self.reading(at) - open.reading.si()) < 0.0 {
            open.reading = self.readings[at];
        }
    }
}
