//! The severity of a fault that each vehicle draws.

use super::error::SolveError;
use super::fault::{Fault, FaultId};
use super::sample::fraction;
use super::severity::Placed;

impl Fault {
    /// The fault at a severity in SI units; without one at the middle of its range.
    ///
    /// # Errors
    /// A severity that lies outside of the fault's range, or that a fault without a range can't have.
    pub fn placed(&self, severity: Option<f64>) -> Result<Placed, SolveError> {
        let mut effects = self.effects.clone();
        match (self.severity, severity) {
            (None, None) => {}
            (None, Some(_)) => {
                return Err(SolveError::BadSeverity { fault: self.id.0.clone(), range: None });
            }
            (Some(range), severity) => {
                let value = severity.unwrap_or_else(|| range.middle());
                let slack = 1e-9 * range.low.abs().max(range.high.abs());
                if !(range.low - slack..=range.high + slack).contains(&value) {
                    return Err(SolveError::BadSeverity { fault: self.id.0.clone(), range: Some(range.text()) });
                }
                effects[range.effect].set(range.of, value);
            }
        }
        Ok(Placed { effects, only_while: self.only_while.clone(), sees: self.sees.clone() })
    }

    /// What vehicle `vehicle` (from 1) of `of` draws: the value lies in a slice of the range of its own, of `of` equal ones.
    /// `None` where the fault has no range.
    pub fn drawn(&self, vehicle: u64, of: u64, seed: u64) -> Option<f64> {
        let range = self.severity?;
        let (of, vehicle) = (of.max(1), vehicle.saturating_sub(1));
        let key = key_of(&self.id, seed);
        let slice = shuffled(vehicle % of, of, key);
        Some(range.at((slice as f64 + fraction(key, vehicle)) / of as f64))
    }

    /// A further draw of a vehicle out of the whole range.
    pub fn drawn_again(&self, vehicle: u64, seed: u64, attempt: u64) -> Option<f64> {
        let key = key_of(&self.id, seed);
        Some(self.severity?.at(fraction(fraction_key(key, vehicle), attempt)))
    }

    /// What one vehicle alone draws out of the whole range.
    pub fn drawn_alone(&self, seed: u64) -> Option<f64> {
        self.drawn(1, 1, seed)
    }
}

/// A number of its own for each fault and seed: FNV-1a over the name.
fn key_of(fault: &FaultId, seed: u64) -> u64 {
    let hash = fault
        .0
        .bytes()
        .fold(0xCBF2_9CE4_8422_2325u64, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01B3));
    fraction_key(hash, seed)
}

fn fraction_key(one: u64, other: u64) -> u64 {
    fraction(one, other).to_bits() ^ one.rotate_left(17) ^ other.wrapping_mul(0x9E37_79B9_7F4A_7C15)
}

/// Where `index` lies among `count` after they are shuffled: four rounds of a Feistel network over the next power of four,
/// again and again until the number is one of them. So no list of all of them is needed.
fn shuffled(index: u64, count: u64, key: u64) -> u64 {
    if count < 2 {
        return 0;
    }
    let half = (64 - (count - 1).leading_zeros()).div_ceil(2).max(1);
    let mask = (1u64 << half) - 1;
    let mut number = index;
    loop {
        for round in 0..4 {
            let (left, right) = (number >> half, number & mask);
            let mixed = (fraction(key ^ round << 60, right) * (mask + 1) as f64) as u64;
            number = right << half | (left ^ mixed) & mask;
        }
        if number < count {
            return number;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::effect::Effect;
    use crate::circuit::severity::{Of, Severity};
    use crate::model::dimension::Dimension;

    fn fault(of: Of, low: f64, high: f64) -> Fault {
        let effects = vec![match of {
            Of::Ohms => Effect::Added { part: 0, ohms: 1.0 },
            Of::Gain | Of::Offset => Effect::Drift { part: 0, gain: 1.0, offset: 0.0 },
            Of::Value => Effect::Set { part: 0, value: 1.0 },
        }];
        let severity = Some(Severity { effect: 0, of, low, high, dimension: Dimension::NONE });
        Fault { effects, severity, ..Fault::nameless("some") }
    }

    #[test]
    fn each_vehicle_draws_in_a_slice_of_its_own() {
        for count in [1u64, 2, 3, 7, 20, 64, 65, 200] {
            let mut slices: Vec<u64> = (0..count).map(|index| shuffled(index, count, 12345 + count)).collect();
            slices.sort_unstable();
            assert_eq!(slices, (0..count).collect::<Vec<_>>());
        }
        let linear = fault(Of::Value, 2.0, 4.0);
        let mut drawn: Vec<f64> = (1..=50).map(|vehicle| linear.drawn(vehicle, 50, 9).unwrap()).collect();
        assert_ne!(drawn, {
            let mut sorted = drawn.clone();
            sorted.sort_by(f64::total_cmp);
            sorted
        });
        assert_eq!(drawn, (1..=50).map(|vehicle| linear.drawn(vehicle, 50, 9).unwrap()).collect::<Vec<_>>());
        drawn.sort_by(f64::total_cmp);
        for (slice, value) in drawn.iter().enumerate() {
            let (from, to) = (2.0 + 0.04 * slice as f64, 2.0 + 0.04 * (slice + 1) as f64);
            assert!((from..=to).contains(value), "{value} is not in {from} to {to}");
        }
        assert_ne!(linear.drawn(1, 50, 9), linear.drawn(1, 50, 10));
    }

    #[test]
    fn ohms_and_gains_are_drawn_on_a_logarithmic_scale_and_values_and_offsets_on_a_linear_one() {
        for (of, middle) in [(Of::Ohms, 10.0), (Of::Gain, 10.0), (Of::Value, 50.5), (Of::Offset, 50.5)] {
            let fault = fault(of, 1.0, 100.0);
            assert!((fault.severity.unwrap().middle() - middle).abs() < 1e-9);
            let below = (1..=200).filter(|vehicle| fault.drawn(*vehicle, 200, 3).unwrap() < middle).count();
            assert_eq!(below, 100, "{of:?}");
            let again = (1..=400).filter(|n| fault.drawn_again(1, 3, *n).unwrap() < middle).count();
            assert!((150..=250).contains(&again), "{again} of 400 further draws lie below the middle");
        }
    }

    #[test]
    fn a_severity_outside_of_the_range_is_refused_and_one_inside_is_what_the_effect_has() {
        let corroded = fault(Of::Ohms, 5.0, 2000.0);
        assert_eq!(corroded.placed(Some(7.0)).unwrap().effects, [Effect::Added { part: 0, ohms: 7.0 }]);
        let [Effect::Added { ohms, .. }] = corroded.placed(None).unwrap().effects[..] else { panic!("nothing added") };
        assert!((ohms - 100.0).abs() < 1e-9);
        assert!(corroded.placed(Some(4.0)).is_err());
        let plain = Fault { severity: None, ..corroded };
        assert!(plain.placed(Some(7.0)).is_err());
        assert_eq!(plain.placed(None).unwrap().effects, [Effect::Added { part: 0, ohms: 1.0 }]);
    }
}
