//! Which rivals could have given all the readings, and which reading excludes each of the others.

use super::contradiction::fewest;
use super::held::Reading;
use super::table::Table;
use crate::circuit::error::SolveError;

/// How one rival stands.
#[derive(Clone, Debug, PartialEq)]
pub enum Standing {
    /// It could have given all the readings, at these slices of its severity, by their places in the table.
    Possible {
        /// The slices.
        slices: Vec<usize>,
    },
    /// It could not, at any severity.
    Excluded {
        /// By these readings, each for a part of its severities; most often by one.
        by: Vec<usize>,
        /// How far the last of them lies beside what the rival can show, beyond the meter's accuracy, in SI units.
        beyond: f64,
    },
}

/// How all rivals stand after some readings.
#[derive(Clone, Debug, PartialEq)]
pub struct Possible {
    /// In the table's order: the healthy vehicle first.
    pub rivals: Vec<Standing>,
    /// The fewest readings that can't be true together, where nothing is possible. No cause: a slip, a second fault, or one that
    /// nobody listed.
    pub contradiction: Option<Vec<usize>>,
}

impl Possible {
    /// Whether a rival is still possible.
    pub fn has(&self, rival: usize) -> bool {
        matches!(self.rivals.get(rival), Some(Standing::Possible { .. }))
    }

    /// The slices that are still possible, of all rivals.
    pub fn slices(&self) -> impl Iterator<Item = usize> {
        self.rivals.iter().flat_map(|standing| match standing {
            Standing::Possible { slices } => slices.clone(),
            Standing::Excluded { .. } => vec![],
        })
    }
}

/// The slices of one rival that could have given all the readings, by their places in the table.
///
/// # Errors
/// A state that the circuit does not know.
pub fn slices_left(table: &mut Table, rival: usize, readings: &[Reading]) -> Result<Vec<usize>, SolveError> {
    let own: Vec<bool> = table.slices().iter().map(|slice| slice.rival == rival).collect();
    let gives_all = table.look(
        |slice| own[slice],
        |_, look| {
            for reading in readings {
                if look.excluded_by(reading)?.is_some() {
                    return Ok(false);
                }
            }
            Ok(true)
        },
    )?;
    Ok(gives_all.iter().enumerate().filter(|(_, all)| **all == Some(true)).map(|(slice, _)| slice).collect())
}

/// Holds readings against all rivals, in their order: a slice is excluded by the first reading that it can't have given.
///
/// # Errors
/// A state that the circuit does not know.
pub fn possible(table: &mut Table, readings: &[Reading]) -> Result<Possible, SolveError> {
    let excluded = table.look(
        |_| true,
        |_, look| {
            for (place, reading) in readings.iter().enumerate() {
                if let Some(by) = look.excluded_by(reading)? {
                    return Ok(Some((place, by)));
                }
            }
            Ok(None)
        },
    )?;
    let excluded: Vec<Option<(usize, f64)>> = excluded.into_iter().flatten().collect();
    let mut rivals = Vec::with_capacity(table.rivals().len());
    for rival in 0..table.rivals().len() {
        let own = || table.slices().iter().enumerate().filter(move |(_, slice)| slice.rival == rival);
        let slices: Vec<usize> = own().filter(|(number, _)| excluded[*number].is_none()).map(|one| one.0).collect();
        if !slices.is_empty() {
            rivals.push(Standing::Possible { slices });
            continue;
        }
        let fell: Vec<(usize, f64)> = own().filter_map(|(number, _)| excluded[number]).collect();
        let mut by: Vec<usize> = fell.iter().map(|(place, _)| *place).collect();
        by.sort_unstable();
        by.dedup();
        let last = by.last().copied();
        let of_last = fell.iter().filter(|(place, _)| Some(*place) == last).map(|(_, beyond)| *beyond);
        let beyond = of_last.fold(f64::INFINITY, f64::min);
        rivals.push(Standing::Excluded { by: by.into_iter().map(|place| readings[place].number).collect(), beyond });
    }
    let mut possible = Possible { rivals, contradiction: None };
    if possible.slices().next().is_none() {
        possible.contradiction = Some(fewest(table, readings)?);
    }
    Ok(possible)
}
