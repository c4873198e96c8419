//! Complex numbers, and equations of them, for alternating voltages.

use std::ops::{Add, Div, Mul, Sub};

/// A complex number.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Complex {
    pub real: f64,
    pub imaginary: f64,
}

impl Complex {
    pub const fn new(real: f64, imaginary: f64) -> Self {
        Self { real, imaginary }
    }

    /// How large it is.
    pub fn size(self) -> f64 {
        self.real.hypot(self.imaginary)
    }
}

impl From<f64> for Complex {
    fn from(real: f64) -> Self {
        Self { real, imaginary: 0.0 }
    }
}

impl Add for Complex {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self::new(self.real + other.real, self.imaginary + other.imaginary)
    }
}

impl Sub for Complex {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self::new(self.real - other.real, self.imaginary - other.imaginary)
    }
}

impl Mul for Complex {
    type Output = Self;
    fn mul(self, other: Self) -> Self {
        Self::new(
            self.real * other.real - self.imaginary * other.imaginary,
            self.real * other.imaginary + self.imaginary * other.real,
        )
    }
}

impl Div for Complex {
    type Output = Self;
    fn div(self, other: Self) -> Self {
        let square = other.real * other.real + other.imaginary * other.imaginary;
        let turned = self * Self::new(other.real, -other.imaginary);
        Self::new(turned.real / square, turned.imaginary / square)
    }
}

/// Solves `rows · x = right` by elimination with partial pivoting, in place. The error is the unknown without a pivot.
pub fn solve(rows: &mut [Vec<Complex>], right: &mut [Complex]) -> Result<(), usize> {
    let count = right.len();
    for column in 0..count {
        let largest = (column..count).max_by(|a, b| rows[*a][column].size().total_cmp(&rows[*b][column].size()));
        let pivot = largest.filter(|row| rows[*row][column].size() > 1e-15).ok_or(column)?;
        rows.swap(column, pivot);
        right.swap(column, pivot);
        let (above, below) = rows.split_at_mut(column + 1);
        let pivot = &above[column];
        for (offset, row) in below.iter_mut().enumerate() {
            let factor = row[column] / pivot[column];
            if factor == Complex::default() {
                continue;
            }
            for (cell, from) in row[column..].iter_mut().zip(&pivot[column..]) {
                *cell = *cell - factor * *from;
            }
            right[column + 1 + offset] = right[column + 1 + offset] - factor * right[column];
        }
    }
    for row in (0..count).rev() {
        let known = (row + 1..count).fold(Complex::default(), |sum, column| sum + rows[row][column] * right[column]);
        right[row] = (right[row] - known) / rows[row][row];
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_equations() {
        // (1 + i)·x + 2·y and i·x + y, made from a known x and y.
        let (a, b, c, d) = (Complex::new(1.0, 1.0), Complex::from(2.0), Complex::new(0.0, 1.0), Complex::from(1.0));
        let (x, y) = (Complex::new(1.0, 2.0), Complex::new(3.0, -1.0));
        let mut right = [a * x + b * y, c * x + d * y];
        solve(&mut [vec![a, b], vec![c, d]], &mut right).unwrap();
        for (found, wanted) in right.iter().zip([x, y]) {
            assert!((*found - wanted).size() < 1e-12, "{found:?}");
        }
        assert_eq!(solve(&mut [vec![a, b], vec![a, b]], &mut [x, y]), Err(1));
    }
}
