//! A small dense system of equations, solved in place in buffers that are used again.

/// Equations for `size` node voltages. One spare row and column takes what concerns the zero-volt node and is never read.
#[derive(Clone, Debug, Default)]
pub struct Matrix {
    size: usize,
    stride: usize,
    cells: Vec<f64>,
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
    }

    /// Adds to one cell.
    #[inline]
    pub fn add(&mut self, row: usize, column: usize, value: f64) {
        self.cells[row * self.stride + column] += value;
    }

    /// A conductance between two nodes, in siemens.
    #[inline]
    pub fn conductance(&mut self, a: usize, b: usize, siemens: f64) {
        self.add(a, a, siemens);
        self.add(b, b, siemens);
        self.add(a, b, -siemens);
        self.add(b, a, -siemens);
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
        self.add(from, plus, siemens);
        self.add(from, minus, -siemens);
        self.add(to, plus, -siemens);
        self.add(to, minus, siemens);
    }

    /// Gauss elimination with partial pivoting. The error is the unknown for which no pivot is left.
    pub fn solve(&mut self) -> Result<(), usize> {
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
