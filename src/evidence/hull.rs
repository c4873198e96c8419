//! The lowest and the highest value of one candidate over the healthy tolerances, for one slice of a rival's severity.

use super::reading::Side;

/// What a slice's vehicles show at one candidate. Nothing where none of them shows anything.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hull {
    /// Lowest value, in SI units.
    pub low: f64,
    /// Highest value.
    pub high: f64,
    /// The vehicle with the lowest value, and that with the highest, by number.
    pub(super) at: [u16; 2],
    /// The climb was made from them.
    pub(super) climbed: [bool; 2],
}

impl Hull {
    pub(super) const EMPTY: Self =
        Self { low: f64::INFINITY, high: f64::NEG_INFINITY, at: [0; 2], climbed: [false; 2] };

    /// Takes in what one vehicle shows.
    pub(super) fn take(&mut self, (low, high): (f64, f64), vehicle: usize) {
        if low < self.low {
            (self.low, self.at[0]) = (low, vehicle as u16);
        }
        if high > self.high {
            (self.high, self.at[1]) = (high, vehicle as u16);
        }
    }

    /// Reaches as far as a value on one side.
    pub(super) fn reach(&mut self, side: Side, value: f64) {
        match side {
            Side::Low => self.low = self.low.min(value),
            Side::High => self.high = self.high.max(value),
        }
    }
}

/// One vehicle as it is climbed with: where each tolerance lies and the severity, all as shares.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Spot {
    pub shares: Vec<f64>,
    /// A share of the fault's range.
    pub severity: f64,
}

/// Improvements, as a share of the value, that end the climb.
const LEAST_STEP: f64 = 1e-9;
/// Halvings of the way between two severities.
const HALVINGS: usize = 10;
/// Rounds over all tolerances.
const MOST_ROUNDS: usize = 4;

/// Climbs from a vehicle to one that shows more: each tolerance in turn goes to the end that shows more, and the severity to any
/// of some places in its slice, until nothing helps. `value` is what a vehicle shows, the larger the further out; it says
/// nothing of a vehicle that shows nothing. Which tolerances have a width is `movable`, and how far each goes `ends`.
pub(super) fn climb(
    spot: &mut Spot,
    movable: &[usize],
    ends: [f64; 2],
    severities: &[f64],
    mut value: impl FnMut(&Spot) -> Option<f64>,
) -> Option<f64> {
    let mut best = value(spot)?;
    for _ in 0..MOST_ROUNDS {
        let before = best;
        for &number in movable {
            for end in ends {
                let now = spot.shares[number];
                if now == end {
                    continue;
                }
                spot.shares[number] = end;
                match value(spot) {
                    Some(found) if found > best => best = found,
                    _ => spot.shares[number] = now,
                }
            }
        }
        for &severity in severities {
            let now = std::mem::replace(&mut spot.severity, severity);
            match value(spot) {
                Some(found) if found > best => best = found,
                _ => spot.severity = now,
            }
        }
        // Where a part changes its piece the reading may turn, between two of those places.
        let (low, high) = severities.iter().fold((1.0f64, 0.0f64), |(low, high), at| (low.min(*at), high.max(*at)));
        let mut step = (high - low) / 4.0;
        for _ in 0..if step > 0.0 { HALVINGS } else { 0 } {
            step /= 2.0;
            for by in [-step, step] {
                let now = spot.severity;
                spot.severity = (now + by).clamp(low, high);
                match value(spot) {
                    Some(found) if found > best => best = found,
                    _ => spot.severity = now,
                }
            }
        }
        if best - before <= LEAST_STEP * (1.0 + best.abs()) {
            break;
        }
    }
    Some(best)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_climb_finds_the_corner_of_any_linear_reading_and_goes_over_a_step() {
        let factors = [1.0, -2.0, 0.5, 0.0, 3.0];
        let mut spot = Spot { shares: vec![0.5; 5], severity: 0.3 };
        let linear = |spot: &Spot| {
            Some(spot.shares.iter().zip(factors).map(|(share, factor)| share * factor).sum::<f64>() - spot.severity)
        };
        assert_eq!(climb(&mut spot, &[0, 1, 2, 3, 4], [0.0, 1.0], &[0.25, 0.3], linear), Some(4.25));
        // A part that tips over only with another one at its end.
        let tips = |spot: &Spot| Some(spot.shares[0] + if spot.shares[0] + spot.shares[1] > 1.9 { 100.0 } else { 0.0 });
        let mut spot = Spot { shares: vec![0.5; 2], severity: 0.0 };
        assert_eq!(climb(&mut spot, &[0, 1], [0.0, 1.0], &[], tips), Some(101.0));
        assert_eq!(climb(&mut spot, &[0], [0.0, 1.0], &[], |_| None), None);
    }
}
