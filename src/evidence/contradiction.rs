//! The fewest readings that can't be true together, where no single fault and no healthy vehicle gives all of them.

use super::held::Reading;
use super::table::Table;
use crate::circuit::error::SolveError;

/// Readings of a set that is looked for by trying all sets; above that one is added after the other.
const MOST_TRIED: usize = 4;

/// The numbers of the fewest readings of which each slice contradicts at least one.
///
/// # Errors
/// A state that the circuit does not know.
pub fn fewest(table: &mut Table, readings: &[Reading]) -> Result<Vec<usize>, SolveError> {
    let excludes = table.look(
        |_| true,
        |_, look| {
            readings
                .iter()
                .map(|reading| look.excluded_by(reading).map(|by| by.is_some()))
                .collect::<Result<Vec<_>, _>>()
        },
    )?;
    let by_slice: Vec<Vec<bool>> = excludes.into_iter().flatten().collect();
    Ok(cover(&by_slice, readings.len()).into_iter().map(|place| readings[place].number).collect())
}

/// The fewest columns that have a mark in each of the rows, the first such set in order. Every row has a mark.
fn cover(rows: &[Vec<bool>], columns: usize) -> Vec<usize> {
    let words = rows.len().div_ceil(64);
    let sets: Vec<Vec<u64>> = (0..columns)
        .map(|column| {
            let mut set = vec![0u64; words];
            for (row, marks) in rows.iter().enumerate().filter(|(_, marks)| marks[column]) {
                debug_assert_eq!(marks.len(), columns);
                set[row / 64] |= 1 << (row % 64);
            }
            set
        })
        .collect();
    let missing = |chosen: &[usize]| -> usize {
        (0..rows.len())
            .filter(|row| !chosen.iter().any(|column| sets[*column][row / 64] >> (row % 64) & 1 == 1))
            .count()
    };
    for size in 1..=MOST_TRIED.min(columns) {
        let mut chosen = Vec::with_capacity(size);
        if let Some(found) = try_all(&sets, rows.len(), size, 0, &vec![0; words], &mut chosen) {
            return found;
        }
    }
    let mut chosen: Vec<usize> = Vec::new();
    while missing(&chosen) > 0 {
        let fewer = (0..columns).filter(|column| !chosen.contains(column)).min_by_key(|column| {
            let mut more = chosen.clone();
            more.push(*column);
            missing(&more)
        });
        let Some(next) = fewer else { break };
        chosen.push(next);
    }
    // One that came early may have become needless.
    for column in chosen.clone() {
        let without: Vec<usize> = chosen.iter().copied().filter(|other| *other != column).collect();
        if missing(&without) == 0 {
            chosen = without;
        }
    }
    chosen.sort_unstable();
    chosen
}

fn try_all(
    sets: &[Vec<u64>],
    rows: usize,
    size: usize,
    from: usize,
    covered: &[u64],
    chosen: &mut Vec<usize>,
) -> Option<Vec<usize>> {
    if size == 0 {
        let count: u32 = covered.iter().map(|word| word.count_ones()).sum();
        return (count as usize == rows).then(|| chosen.clone());
    }
    for column in from..sets.len() {
        let more: Vec<u64> = covered.iter().zip(&sets[column]).map(|(one, other)| one | other).collect();
        chosen.push(column);
        let found = try_all(sets, rows, size - 1, column + 1, &more, chosen);
        if found.is_some() {
            return found;
        }
        chosen.pop();
    }
    None
}

#[cfg(test)]
mod tests {
    use super::cover;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn the_set_covers_everything_and_none_smaller_does(
            marks in proptest::collection::vec(proptest::collection::vec(proptest::bool::weighted(0.3), 7), 1..90),
        ) {
            let marks: Vec<Vec<bool>> = marks.into_iter().filter(|row| row.contains(&true)).collect();
            prop_assume!(!marks.is_empty());
            let found = cover(&marks, 7);
            let covers = |set: &[usize]| marks.iter().all(|row| set.iter().any(|column| row[*column]));
            prop_assert!(covers(&found));
            let least = (0u32..128).filter(|bits| {
                let set: Vec<usize> = (0..7).filter(|column| bits >> column & 1 == 1).collect();
                covers(&set)
            }).map(u32::count_ones).min().unwrap() as usize;
            // Above four, one after the other may need one more.
            prop_assert!(found.len() == least || least > 4 && found.len() <= least + 1, "{} against {}", found.len(), least);
        }
    }
}
