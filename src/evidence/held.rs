//! A reading held against one slice of a rival's severity.

use super::reading::Says;
use super::table::{Cell, Look};
use crate::circuit::error::SolveError;

/// A reading that was taken, as it is held against the rivals.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// Its number for people, from 1.
    pub number: usize,
    /// Where it may have been taken: one cell, or those along the travel of what was moved meanwhile.
    pub cells: Vec<Cell>,
    /// What it says of the true value.
    pub says: Says,
}

impl Look<'_> {
    /// By how much a reading excludes the slice; `None` where it does not, after climbing where it first seems to.
    pub(super) fn excluded_by(&mut self, reading: &Reading) -> Result<Option<f64>, SolveError> {
        let mut least = None;
        for cell in &reading.cells {
            let hull = self.hull(*cell)?;
            let Some((mut by, side)) = reading.says.beside(hull.low, hull.high) else { return Ok(None) };
            if hull.low <= hull.high {
                // `OL` may be met at either end.
                let ends = [Some(side), matches!(reading.says, Says::Beyond(_)).then(|| side.other())];
                for side in ends.into_iter().flatten() {
                    let hull = self.climbed(*cell, side)?;
                    match reading.says.beside(hull.low, hull.high) {
                        None => return Ok(None),
                        Some((beyond, _)) => by = beyond,
                    }
                }
            }
            least = Some(least.map_or(by, |least: f64| least.min(by)));
        }
        Ok(least)
    }
}
