//! The dimension of a quantity: exponents of the base units that electrical and mechanical readings need.

use std::fmt;

/// Exponents of kilogram, meter, second, ampere, kelvin and radian.
///
/// The angle is kept as a dimension of its own so that a shaft's degrees are not taken for a percentage.
/// `absolute` marks a point on a scale (25 °C) as against a difference (5 K).
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
pub struct Dimension {
    exponents: [i8; 6],
    absolute: bool,
}

impl Dimension {
    /// A pure number: a ratio, a percentage.
    pub const NONE: Self = Self::of([0, 0, 0, 0, 0, 0]);
    /// Volt.
    pub const VOLTAGE: Self = Self::of([1, 2, -3, -1, 0, 0]);
    /// Ampere.
    pub const CURRENT: Self = Self::of([0, 0, 0, 1, 0, 0]);
    /// Ohm.
    pub const RESISTANCE: Self = Self::of([1, 2, -3, -2, 0, 0]);
    /// Watt.
    pub const POWER: Self = Self::of([1, 2, -3, 0, 0, 0]);
    /// Joule.
    pub const ENERGY: Self = Self::of([1, 2, -2, 0, 0, 0]);
    /// Newton meter: joules for each radian, which keeps it from energy.
    pub const TORQUE: Self = Self::of([1, 2, -2, 0, 0, -1]);
    /// Coulomb; ampere-hours.
    pub const CHARGE: Self = Self::of([0, 0, 1, 1, 0, 0]);
    /// Hertz.
    pub const FREQUENCY: Self = Self::of([0, 0, -1, 0, 0, 0]);
    /// Farad.
    pub const CAPACITANCE: Self = Self::of([-1, -2, 4, 2, 0, 0]);
    /// Henry.
    pub const INDUCTANCE: Self = Self::of([1, 2, -2, -2, 0, 0]);
    /// Second.
    pub const TIME: Self = Self::of([0, 0, 1, 0, 0, 0]);
    /// Meter.
    pub const LENGTH: Self = Self::of([0, 1, 0, 0, 0, 0]);
    /// Square meter; a conductor's cross section.
    pub const AREA: Self = Self::of([0, 2, 0, 0, 0, 0]);
    /// Ohm meter.
    pub const RESISTIVITY: Self = Self::of([1, 3, -3, -2, 0, 0]);
    /// Ohm per meter.
    pub const RESISTANCE_PER_LENGTH: Self = Self::of([1, 1, -3, -2, 0, 0]);
    /// Pascal.
    pub const PRESSURE: Self = Self::of([1, -1, -2, 0, 0, 0]);
    /// Meter per second.
    pub const SPEED: Self = Self::of([0, 1, -1, 0, 0, 0]);
    /// A temperature difference, in kelvin.
    pub const TEMPERATURE_DIFFERENCE: Self = Self::of([0, 0, 0, 0, 1, 0]);
    /// A temperature on its scale, held in degrees Celsius.
    pub const TEMPERATURE: Self = Self { exponents: [0, 0, 0, 0, 1, 0], absolute: true };
    /// Radian; shown in degrees.
    pub const ANGLE: Self = Self::of([0, 0, 0, 0, 0, 1]);
    /// Radian per second; shown in revolutions per minute.
    pub const ROTATION: Self = Self::of([0, 0, -1, 0, 0, 1]);

    const fn of(exponents: [i8; 6]) -> Self {
        Self { exponents, absolute: false }
    }

    /// Whether this is a point on a scale, as 25 °C is.
    pub const fn is_absolute(self) -> bool {
        self.absolute
    }

    /// The dimension of a difference between two quantities of this dimension.
    pub const fn difference(self) -> Self {
        Self { exponents: self.exponents, absolute: false }
    }

    /// The dimension of a product; `None` for points on a scale and for exponents beyond what fits.
    pub fn times(self, other: Self) -> Option<Self> {
        self.combined(other, i8::checked_add)
    }

    /// The dimension of a quotient; `None` for points on a scale and for exponents beyond what fits.
    pub fn over(self, other: Self) -> Option<Self> {
        self.combined(other, i8::checked_sub)
    }

    fn combined(self, other: Self, exponent: impl Fn(i8, i8) -> Option<i8>) -> Option<Self> {
        if self.absolute || other.absolute {
            return None;
        }
        let mut exponents = [0; 6];
        for (slot, (a, b)) in exponents.iter_mut().zip(self.exponents.iter().zip(other.exponents)) {
            *slot = exponent(*a, b)?;
        }
        Some(Self::of(exponents))
    }

    /// What a technician calls it: "volts", "ohms"; `None` where the trade has no word for it.
    pub fn name(self) -> Option<&'static str> {
        Some(match self {
            Self::NONE => "a ratio",
            Self::VOLTAGE => "volts",
            Self::CURRENT => "amperes",
            Self::RESISTANCE => "ohms",
            Self::POWER => "watts",
            Self::ENERGY => "joules",
            Self::TORQUE => "a torque",
            Self::CHARGE => "ampere-hours",
            Self::FREQUENCY => "hertz",
            Self::CAPACITANCE => "farads",
            Self::INDUCTANCE => "henries",
            Self::TIME => "a time",
            Self::LENGTH => "a length",
            Self::AREA => "a cross section",
            Self::RESISTIVITY => "a resistivity",
            Self::RESISTANCE_PER_LENGTH => "ohms per meter",
            Self::PRESSURE => "a pressure",
            Self::SPEED => "a speed",
            Self::TEMPERATURE_DIFFERENCE => "a temperature difference",
            Self::TEMPERATURE => "a temperature",
            Self::ANGLE => "an angle",
            Self::ROTATION => "a rotational speed",
            _ => return None,
        })
    }
}

impl fmt::Display for Dimension {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(name) = self.name() {
            return f.write_str(name);
        }
        let mut first = true;
        for (symbol, exponent) in ["kg", "m", "s", "A", "K", "rad"].iter().zip(self.exponents) {
            if exponent != 0 {
                if !first {
                    f.write_str("·")?;
                }
                first = false;
                f.write_str(symbol)?;
                if exponent != 1 {
                    write!(f, "^{exponent}")?;
                }
            }
        }
        Ok(())
    }
}
