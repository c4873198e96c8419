//! One vehicle out of many: where each part lies inside its healthy tolerance, and how the meter errs.

/// A draw from every part's tolerance, repeatable from its seed.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Sample {
    seed: Option<u64>,
}

/// A value with its healthy limits, in SI units.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Spread {
    /// As designed.
    pub nominal: f64,
    /// Lowest healthy value.
    pub low: f64,
    /// Highest healthy value.
    pub high: f64,
    /// Tells its draw from every other.
    pub(super) index: u32,
}

impl Sample {
    /// Every part at its nominal value and a meter that does not err.
    pub const NOMINAL: Self = Self { seed: None };

    /// The vehicle and meter of this seed.
    pub const fn of_seed(seed: u64) -> Self {
        Self { seed: Some(seed) }
    }

    /// Vehicle `vehicle` (from 1) of those that are drawn from one seed.
    pub const fn of_vehicle(seed: u64, vehicle: u64) -> Self {
        Self::of_seed(seed.wrapping_add(vehicle.saturating_sub(1)))
    }

    /// The value that this vehicle has, evenly spread between the healthy limits.
    pub fn draw(self, spread: Spread) -> f64 {
        match self.seed {
            None => spread.nominal,
            Some(_) if spread.low == spread.high => spread.nominal,
            Some(seed) => spread.low + (spread.high - spread.low) * fraction(seed, u64::from(spread.index)),
        }
    }

    /// A number between −1 and 1 that belongs to `index` of the meter; zero for the nominal sample.
    pub(super) fn error(self, index: u64) -> f64 {
        self.seed.map_or(0.0, |seed| 2.0 * fraction(seed, index | 1 << 40) - 1.0)
    }
}

/// An even draw from 0 to 1: two rounds of the splitmix64 finalizer over seed and index.
pub(super) fn fraction(seed: u64, index: u64) -> f64 {
    let mixed = mix(mix(seed.wrapping_add(0x9E37_79B9_7F4A_7C15)) ^ index.wrapping_mul(0xD1B5_4A32_D192_ED03));
    (mixed >> 11) as f64 / (1u64 << 53) as f64
}

fn mix(mut z: u64) -> u64 {
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}

impl Spread {
    /// The value at a share of the way from the lowest to the highest healthy one. A share below 0 or above 1 lies outside of
    /// them; what is above zero when healthy stays so.
    pub fn at(self, share: f64) -> f64 {
        let value = self.low + (self.high - self.low) * share;
        if self.low > 0.0 { value.max(0.1 * self.low) } else { value }
    }

    /// Whether a value would pass for a healthy one.
    pub fn holds(self, value: f64) -> bool {
        (self.low..=self.high).contains(&value)
    }
}
