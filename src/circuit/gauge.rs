//! Wire sizes and the resistance of copper.

use super::error::Problem;
use crate::model::dimension::Dimension;
use crate::model::quantity::Quantity;
use std::fmt;

/// Resistivity of copper at 20 °C in Ω·m: 1/58 Ω·mm²/m, the international annealed copper standard (IEC 60028:1925).
pub const COPPER_RESISTIVITY: f64 = 1e-6 / 58.0;
/// Rise of copper's resistance per kelvin, from 20 °C (FAA AC 43.13-1B p. 11-22 uses 1/254.5, which rounds to it).
pub const COPPER_COEFFICIENT: f64 = 0.003_93;

/// Cross sections that vehicle wire is sold in, in mm².
const METRIC: &[f64] = &[
    0.13, 0.22, 0.35, 0.5, 0.75, 1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 16.0, 20.0, 25.0, 35.0, 50.0,
    70.0, 95.0, 120.0,
];

/// A conductor's size.
#[derive(Clone, Debug, PartialEq)]
pub struct Gauge {
    text: String,
    area: f64,
}

impl Gauge {
    /// Reads `0.75 mm2` or `18 AWG` (also `2/0 AWG`).
    pub fn parse(text: &str) -> Result<Self, Problem> {
        let unknown = || Problem::UnknownGauge { gauge: text.to_owned() };
        let trimmed = text.trim();
        let area = match trimmed.strip_suffix("AWG") {
            Some(number) => {
                let number = match number.trim().split_once('/') {
                    Some((zeros, "0")) => {
                        1 - zeros.parse::<i32>().ok().filter(|n| (1..=4).contains(n)).ok_or_else(unknown)?
                    }
                    Some(_) => return Err(unknown()),
                    None => number.trim().parse().map_err(|_| unknown())?,
                };
                if !(-3..=36).contains(&number) {
                    return Err(unknown());
                }
                // ASTM B258: 0.005 inch at 36, a factor of 92 over 39 steps.
                let diameter = 0.005 * 0.0254 * 92f64.powf(f64::from(36 - number) / 39.0);
                std::f64::consts::FRAC_PI_4 * diameter * diameter
            }
            None => {
                let area: Quantity = trimmed.parse().map_err(|_| unknown())?;
                let sold = METRIC.iter().any(|size| (size * 1e-6 - area.si()).abs() < 1e-12);
                if area.dimension() != Dimension::AREA || !sold {
                    return Err(unknown());
                }
                area.si()
            }
        };
        Ok(Self { text: trimmed.to_owned(), area })
    }

    /// Cross section in square meters.
    pub fn area(&self) -> f64 {
        self.area
    }

    /// Resistance of `length` meters of copper of this size at `celsius`, in ohms.
    ///
    /// ```
    /// use ohmwright::circuit::gauge::Gauge;
    /// // 14 AWG, 1000 ft: 2.525 Ω in the NBS copper wire table (hyperphysics.phy-astr.gsu.edu/hbase/Tables/wirega.html).
    /// let ohms = Gauge::parse("14 AWG").unwrap().resistance(304.8, 20.0);
    /// assert!((ohms - 2.525).abs() < 0.001);
    /// ```
    pub fn resistance(&self, length: f64, celsius: f64) -> f64 {
        COPPER_RESISTIVITY * length / self.area * (1.0 + COPPER_COEFFICIENT * (celsius - 20.0))
    }
}

impl fmt::Display for Gauge {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}
