//! A small dense system of equations, solved in place in buffers that are used again.

/// Equations for `size` node voltages. One spare row and column takes what concerns the zero-volt node and is never read.
#[derive(Clone, Debug, Default)]
pub struct Matrix {
    size: usize,
    stride: usize,
    cells: Vec<f64>,
    /// Of each row, the last column that is not empty; only kept while the matrix is dominant.
    reach: Vec<usize>,
    /// Made of positive conductances alone: symmetric, and no cell of a column is larger than the one on the diagonal. That
    /// stays so while it is eliminated, so there is no pivot to look for, and one half of the cells tells the other.
    dominant: bool,
    /// Right-hand side; after [`Matrix::solve`] the solution, its last entry the zero-volt node's 0.
    pub rhs: Vec<f64>,
}

impl Matrix {
    /// Zeroes everything for `size` unknowns. Allocates only when it grows.
    pub fn clear(&mut self, size: usize) {
        self.size = size;
        self.stride = size + 1;
        self.cells.clear();
        self.cells.resize(self.stride * self.stride, 0.0);
        self.rhs.clear();
        self.rhs.resize(self.stride, 0.0);
        self.reach.clear();
        self.reach.extend(0..size);
        self.dominant = true;
    }

    #[inline]
    fn add(&mut self, row: usize, column: usize, value: f64) {
        self.cells[row * self.stride + column] += value;
    }

    /// What stands in a cell, as long as nothing was solved.
    pub fn cell(&self, row: usize, column: usize) -> f64 {
        self.cells[row * self.stride + column]
    }

    /// A conductance between two nodes, in siemens.
    #[inline]
    pub fn conductance(&mut self, a: usize, b: usize, siemens: f64) {
        self.add(a, a, siemens);
        self.add(b, b, siemens);
        self.add(a, b, -siemens);
        self.add(b, a, -siemens);
        self.dominant &= siemens >= 0.0;
        let (first, last) = (a.min(b), a.max(b));
        if last < self.size {
            self.reach[first] = self.reach[first].max(last);
        }
    }

    /// A current that leaves `from` and enters `to`, in amperes.
    #[inline]
    pub fn current(&mut self, from: usize, to: usize, amperes: f64) {
        self.rhs[from] -= amperes;
        self.rhs[to] += amperes;
    }

    /// A current from `from` to `to` of `siemens` times the voltage at `plus` against `minus`.
    #[inline]
    pub fn controlled(&mut self, from: usize, to: usize, plus: usize, minus: usize, siemens: f64) {
        self.dominant = false;
        self.add(from, plus, siemens);
        self.add(from, minus, -siemens);
        self.add(to, plus, -siemens);
        self.add(to, minus, siemens);
    }

    /// Gauss elimination. The error is the unknown for which no pivot is left.
    pub fn solve(&mut self) -> Result<(), usize> {
        if self.dominant { self.solve_dominant() } else { self.solve_with_pivots() }
    }

    /// The inverse of what stands in the cells, as long as nothing was solved, into `inverse`: row by row, with the zero-volt
    /// node's row and column of zeros. False where no pivot is left.
    pub fn inverse(&self, inverse: &mut Vec<f64>, order: &mut Vec<usize>) -> bool {
        let (n, stride) = (self.size, self.stride);
        inverse.clear();
        inverse.extend_from_slice(&self.cells);
        for k in 0..stride {
            inverse[k * stride + n] = 0.0;
            inverse[n * stride + k] = 0.0;
        }
        order.clear();
        for k in 0..n {
            let size = |row: &usize| inverse[row * stride + k].abs();
            let pivot_row =
                if self.dominant { k } else { (k..n).max_by(|a, b| size(a).total_cmp(&size(b))).unwrap_or(k) };
            if size(&pivot_row) < 1e-15 || !size(&pivot_row).is_finite() {
                return false;
            }
            order.push(pivot_row);
            if pivot_row != k {
                for column in 0..n {
                    inverse.swap(k * stride + column, pivot_row * stride + column);
                }
            }
            let (above, from) = inverse.split_at_mut(k * stride);
            let (pivot, below) = from.split_at_mut(stride);
            let one_over = 1.0 / pivot[k];
            pivot[k] = 1.0;
            pivot[..n].iter_mut().for_each(|cell| *cell *= one_over);
            for row in above.chunks_exact_mut(stride).chain(below.chunks_exact_mut(stride)).take(n - 1) {
                let factor = row[k];
                if factor != 0.0 {
                    row[k] = 0.0;
                    row[..n].iter_mut().zip(&pivot[..n]).for_each(|(cell, of_pivot)| *cell -= factor * of_pivot);
                }
            }
        }
        for (k, pivot_row) in order.iter().enumerate().rev().filter(|(k, row)| k != *row) {
            for row in 0..n {
                inverse.swap(row * stride + k, row * stride + pivot_row);
            }
        }
        true
    }

    /// Along the diagonal, in the half above it, as far as each row reaches.
    fn solve_dominant(&mut self) -> Result<(), usize> {
        let (n, stride) = (self.size, self.stride);
        for k in 0..n {
            let reach = self.reach[k];
            let (upper, lower) = self.cells.split_at_mut((k + 1) * stride);
            let pivot = &mut upper[k * stride + k..=k * stride + reach];
            if pivot[0].abs() < 1e-15 || !pivot[0].is_finite() {
                return Err(k);
            }
            // Only its inverse is wanted from here on.
            pivot[0] = 1.0 / pivot[0];
            let known = self.rhs[k] * pivot[0];
            for offset in 1..pivot.len() {
                if pivot[offset] == 0.0 {
                    continue;
                }
                let (row, factor) = (k + offset, pivot[offset] * pivot[0]);
                let start = (offset - 1) * stride + row;
                let cells = &mut lower[start..=start + reach - row];
                for (cell, above) in cells.iter_mut().zip(&pivot[offset..]) {
                    *cell -= factor * above;
                }
                self.rhs[row] -= pivot[offset] * known;
                self.reach[row] = self.reach[row].max(reach);
            }
        }
        for k in (0..n).rev() {
            let row = &self.cells[k * stride + k..=k * stride + self.reach[k]];
            let known: f64 = row[1..].iter().zip(&self.rhs[k + 1..n]).map(|(cell, volts)| cell * volts).sum();
            self.rhs[k] = (self.rhs[k] - known) * row[0];
        }
        self.rhs[n] = 0.0;
        Ok(())
    }

    /// With partial pivoting.
    fn solve_with_pivots(&mut self) -> Result<(), usize> {
        let (n, stride) = (self.size, self.stride);
        for k in 0..n {
            let mut pivot_row = k;
            let mut largest = self.cells[k * stride + k].abs();
            for row in k + 1..n {
                let size = self.cells[row * stride + k].abs();
                if size > largest {
                    (pivot_row, largest) = (row, size);
                }
            }
            if largest < 1e-15 || !largest.is_finite() {
                return Err(k);
            }
            if pivot_row != k {
                for column in k..n {
                    self.cells.swap(k * stride + column, pivot_row * stride + column);
                }
                self.rhs.swap(k, pivot_row);
            }
            let (upper, lower) = self.cells.split_at_mut((k + 1) * stride);
            let pivot = &upper[k * stride + k..k * stride + n];
            let inverse = 1.0 / pivot[0];
            for (row, cells) in (k + 1..n).zip(lower.chunks_exact_mut(stride)) {
                let cells = &mut cells[k..n];
                if cells[0] == 0.0 {
                    continue;
                }
                let factor = cells[0] * inverse;
                for (cell, above) in cells[1..].iter_mut().zip(&pivot[1..]) {
                    *cell -= factor * above;
                }
                self.rhs[row] -= factor * self.rhs[k];
            }
        }
        for k in (0..n).rev() {
            let row = &self.cells[k * stride + k..k * stride + n];
            let known: f64 = row[1..].iter().zip(&self.rhs[k + 1..n]).map(|(cell, volts)| cell * volts).sum();
            self.rhs[k] = (self.rhs[k] - known) / row[0];
        }
        self.rhs[n] = 0.0;
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::Matrix;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn along_the_diagonal_comes_out_what_pivots_give(
            branches in proptest::collection::vec((0usize..9, 0usize..9, 1e-6f64..1e3), 8..40),
            currents in proptest::collection::vec((0usize..9, 0usize..9, -10.0f64..10.0), 1..4),
        ) {
            let size = 8;
            let mut matrix = Matrix::default();
            matrix.clear(size);
            // Every node has a way to the zero-volt node, if a thin one.
            for node in 0..size {
                matrix.conductance(node, size, 1e-3);
            }
            for (a, b, siemens) in branches.into_iter().filter(|(a, b, _)| a != b) {
                matrix.conductance(a, b, siemens);
            }
            for (from, to, amperes) in currents {
                matrix.current(from, to, amperes);
            }
            let mut pivoted = matrix.clone();
            prop_assert!(matrix.dominant);
            matrix.solve_dominant().unwrap();
            pivoted.solve_with_pivots().unwrap();
            for (one, other) in matrix.rhs.iter().zip(&pivoted.rhs) {
                prop_assert!((one - other).abs() <= 1e-7 * other.abs().max(1.0), "{one} against {other}");
            }
        }
    }

    proptest! {
        #[test]
        fn the_inverse_gives_what_elimination_gives(
            branches in proptest::collection::vec((0usize..9, 0usize..9, 1e-3f64..1e3), 8..40),
            controlled in proptest::collection::vec((0usize..9, 0usize..9, 0usize..9, 0usize..9, 1e-3f64..1.0), 0..3),
            currents in proptest::collection::vec((0usize..9, 0usize..9, -10.0f64..10.0), 1..4),
        ) {
            let mut matrix = Matrix::default();
            matrix.clear(8);
            for node in 0..8 {
                matrix.conductance(node, 8, 1e-1);
            }
            for (a, b, siemens) in branches.into_iter().filter(|(a, b, _)| a != b) {
                matrix.conductance(a, b, siemens);
            }
            for (from, to, plus, minus, siemens) in controlled {
                matrix.controlled(from, to, plus, minus, siemens);
            }
            for (from, to, amperes) in currents {
                matrix.current(from, to, amperes);
            }
            let (mut inverse, mut order) = (Vec::new(), Vec::new());
            let there = matrix.inverse(&mut inverse, &mut order);
            let known = matrix.rhs.clone();
            let solved = matrix.solve().is_ok();
            prop_assert_eq!(there, solved);
            if solved {
                let largest = matrix.rhs.iter().fold(1.0, |largest: f64, volts| largest.max(volts.abs()));
                for (row, volts) in matrix.rhs[..8].iter().enumerate() {
                    let found: f64 = (0..8).map(|column| inverse[row * 9 + column] * known[column]).sum();
                    prop_assert!((found - volts).abs() <= 1e-6 * largest, "{} against {}", found, volts);
                }
            }
        }
    }

    #[test]
    fn what_nothing_holds_has_no_voltage() {
        let mut matrix = Matrix::default();
        matrix.clear(2);
        matrix.conductance(0, 2, 1.0);
        assert_eq!(matrix.solve(), Err(1));
    }
}
