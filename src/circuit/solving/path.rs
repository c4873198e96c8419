//! Buffers of the way from zero: the lines on which the voltages go in one set of pieces, and their solution.

/// Buffers of the search.
#[derive(Clone, Debug, Default)]
pub(in crate::circuit) struct Path {
    pub(in crate::circuit) cells: Vec<f64>,
    pub(in crate::circuit) fixed: Vec<f64>,
    pub(in crate::circuit) rate: Vec<f64>,
    /// Piece of each element.
    pub(in crate::circuit) pieces: Vec<u8>,
}

/// A sum over node voltages, plus a constant, plus so much for each share of the sources.
#[derive(Clone, Copy, Default)]
pub(in crate::circuit) struct Form {
    pub(in crate::circuit) terms: [(usize, f64); 2],
    pub(in crate::circuit) fixed: f64,
    pub(in crate::circuit) rate: f64,
}

impl Form {
    pub(in crate::circuit) fn between(plus: usize, minus: usize, shift: f64) -> Self {
        Self { terms: [(plus, 1.0), (minus, -1.0)], fixed: shift, rate: 0.0 }
    }

    pub(in crate::circuit) const fn constant(fixed: f64, rate: f64) -> Self {
        Self { terms: [(0, 0.0); 2], fixed, rate }
    }

    pub(in crate::circuit) fn at(&self, volts: &[f64]) -> f64 {
        self.terms.iter().map(|(node, factor)| factor * volts[*node]).sum()
    }
}

impl Path {
    pub(in crate::circuit) fn clear(&mut self, size: usize) {
        self.cells.clear();
        self.cells.resize((size + 1) * (size + 1), 0.0);
        for side in [&mut self.fixed, &mut self.rate] {
            side.clear();
            side.resize(size + 1, 0.0);
        }
    }

    /// A current from one node to another of `siemens` times the form.
    pub(in crate::circuit) fn flows(
        &mut self,
        size: usize,
        from: usize,
        to: usize,
        siemens: f64,
        forms: &[(f64, Form)],
    ) {
        let stride = size + 1;
        for (sign, form) in forms {
            let factor = sign * siemens;
            for (node, term) in form.terms {
                self.cells[from * stride + node] += factor * term;
                self.cells[to * stride + node] -= factor * term;
            }
            self.fixed[from] -= factor * form.fixed;
            self.fixed[to] += factor * form.fixed;
            self.rate[from] -= factor * form.rate;
            self.rate[to] += factor * form.rate;
        }
    }

    /// Both right-hand sides at once.
    pub(in crate::circuit) fn solve(&mut self, n: usize) -> bool {
        let stride = n + 1;
        for k in 0..n {
            let (mut best, mut largest) = (k, 0.0);
            for row in k..n {
                let here = self.cells[row * stride + k].abs();
                if here > largest {
                    (best, largest) = (row, here);
                }
            }
            if largest < 1e-30 || !largest.is_finite() {
                return false;
            }
            if best != k {
                for column in k..n {
                    self.cells.swap(k * stride + column, best * stride + column);
                }
                self.fixed.swap(k, best);
                self.rate.swap(k, best);
            }
            let (upper, lower) = self.cells.split_at_mut((k + 1) * stride);
            let pivot = &upper[k * stride + k..k * stride + n];
            for (row, cells) in (k + 1..n).zip(lower.chunks_exact_mut(stride)) {
                if cells[k] == 0.0 {
                    continue;
                }
                let factor = cells[k] / pivot[0];
                for (cell, above) in cells[k + 1..n].iter_mut().zip(&pivot[1..]) {
                    *cell -= factor * above;
                }
                self.fixed[row] -= factor * self.fixed[k];
                self.rate[row] -= factor * self.rate[k];
            }
        }
        for k in (0..n).rev() {
            let row = &self.cells[k * stride + k..k * stride + n];
            for side in [&mut self.fixed, &mut self.rate] {
                let known: f64 = row[1..].iter().zip(&side[k + 1..n]).map(|(cell, value)| cell * value).sum();
                side[k] = (side[k] - known) / row[0];
            }
        }
        self.fixed[n] = 0.0;
        self.rate[n] = 0.0;
        true
    }
}
