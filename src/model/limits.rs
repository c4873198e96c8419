//! What a reading may be, and the verdict on what it is.

use super::dimension::Dimension;
use super::meter::Function;
use super::quantity::{Quantity, QuantityError, order, rounding, summed};
use super::typed::Shown;
use super::unit::{Unit, significant};
use serde::{Deserialize, Serialize};
use std::cmp::Ordering;
use std::fmt;

/// The bounds of a reading, both ends included.
#[derive(Clone, Copy, PartialEq, Debug, Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Bounds {
    /// From low to high.
    Between {
        /// Lowest that is good.
        low: Quantity,
        /// Highest that is good.
        high: Quantity,
    },
    /// A stated value and how far off it may be.
    Within {
        /// The expected value.
        nominal: Quantity,
        /// How far off, either way.
        tolerance: Quantity,
    },
    /// No more than this.
    AtMost {
        /// Highest that is good.
        high: Quantity,
    },
    /// No less than this.
    AtLeast {
        /// Lowest that is good.
        low: Quantity,
    },
    /// Written down, not judged.
    Unlimited,
}

/// Bounds with the unit in which the meter will show the reading, and where they come from.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(try_from = "super::answered::LimitsFields")]
pub struct Limits {
    /// The bounds.
    #[serde(flatten)]
    pub bounds: Bounds,
    /// The unit shown at the prompt; a bare number typed there is in it.
    pub unit: Unit,
    /// The expected value, where the author says one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub expected: Option<Quantity>,
    /// Where the bounds come from.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub source: Option<String>,
}

/// Limits that make no sense, in words.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum LimitsError {
    /// Low above high.
    #[error("the lower limit {low} is above the upper limit {high}")]
    Crossed {
        /// Lower.
        low: Quantity,
        /// Upper.
        high: Quantity,
    },
    /// Ends of different dimensions.
    #[error(transparent)]
    Unlike(#[from] QuantityError),
    /// A dimension that no meter shows.
    #[error("no meter shows {dimension}: limits need a unit such as V, A or ohm")]
    NoUnit {
        /// The dimension.
        dimension: Dimension,
    },
    /// A tolerance that is not positive.
    #[error("a tolerance must be above zero, not {tolerance}")]
    Tolerance {
        /// The given text.
        tolerance: Quantity,
    },
}

impl Limits {
    /// From `low` to `high`.
    pub fn between(low: Quantity, high: Quantity) -> Result<Self, LimitsError> {
        if low.compare(high)?.is_gt() {
            return Err(LimitsError::Crossed { low, high });
        }
        Self::of(Bounds::Between { low, high }, larger(low, high))
    }

    /// `nominal`, give or take `tolerance`: a quantity of the same kind, or a share of the nominal value.
    pub fn within(nominal: Quantity, tolerance: Quantity) -> Result<Self, LimitsError> {
        let difference = nominal.dimension().difference();
        let tolerance = match tolerance.dimension() {
            Dimension::NONE if nominal.dimension() != Dimension::NONE && !nominal.dimension().is_absolute() => {
                nominal.with_si(nominal.si().abs() * tolerance.si())
            }
            dimension if dimension == difference => tolerance,
            _ => {
                return Err(QuantityError::Unlike { verb: "allow", left: nominal, right: tolerance }.into());
            }
        };
        if tolerance.si() <= 0.0 || !tolerance.si().is_finite() {
            return Err(LimitsError::Tolerance { tolerance });
        }
        Self::of(Bounds::Within { nominal, tolerance }, nominal)
    }

    /// No more than `high`.
    pub fn at_most(high: Quantity) -> Result<Self, LimitsError> {
        Self::of(Bounds::AtMost { high }, high)
    }

    /// No less than `low`.
    pub fn at_least(low: Quantity) -> Result<Self, LimitsError> {
        Self::of(Bounds::AtLeast { low }, low)
    }

    /// Written down, not judged.
    pub const fn unlimited(unit: Unit) -> Self {
        Self { bounds: Bounds::Unlimited, unit, expected: None, source: None }
    }

    fn of(bounds: Bounds, scale: Quantity) -> Result<Self, LimitsError> {
        if !scale.si().is_finite() {
            return Err(QuantityError::NotFinite { what: "a limit".to_owned() }.into());
        }
        let unit = Unit::of(scale.dimension()).ok_or(LimitsError::NoUnit { dimension: scale.dimension() })?;
        Ok(Self { bounds, unit: unit.scaled_to(scale.si()), expected: None, source: None })
    }

    /// Lowest that is good.
    pub fn low(&self) -> Option<Quantity> {
        match self.bounds {
            Bounds::Between { low, .. } | Bounds::AtLeast { low } => Some(low),
            Bounds::Within { nominal, tolerance } => Some(nominal.with_si(summed(nominal.si(), -tolerance.si()))),
            Bounds::AtMost { .. } | Bounds::Unlimited => None,
        }
    }

    /// Highest that is good.
    pub fn high(&self) -> Option<Quantity> {
        match self.bounds {
            Bounds::Between { high, .. } | Bounds::AtMost { high } => Some(high),
            Bounds::Within { nominal, tolerance } => Some(nominal.with_si(summed(nominal.si(), tolerance.si()))),
            Bounds::AtLeast { .. } | Bounds::Unlimited => None,
        }
    }

    /// The expected value, where it is stated.
    pub fn expected(&self) -> Option<Quantity> {
        self.expected.or(match self.bounds {
            Bounds::Within { nominal, .. } => Some(nominal),
            _ => None,
        })
    }

    /// Whether a value lies inside, ends included.
    pub fn hold(&self, value: Quantity) -> bool {
        self.standing_of(value) == LimitResult::In
    }

    /// Where a value stands, ends included; only the rounding of decimal figures puts nothing outside.
    fn standing_of(&self, value: Quantity) -> LimitResult {
        let beside = |limit: Option<Quantity>| limit.and_then(|limit| order(value.si(), limit.si()));
        if beside(self.low()) == Some(Ordering::Less) {
            LimitResult::Low
        } else if beside(self.high()) == Some(Ordering::Greater) {
            LimitResult::High
        } else {
            LimitResult::In
        }
    }

    /// Narrow enough that a slip of the decimal point shows: an expected value, or upper ÷ lower limit below 2.
    pub fn are_narrow(&self) -> bool {
        if self.expected().is_some() {
            return true;
        }
        match (self.low(), self.high()) {
            (Some(low), Some(high)) => {
                let (small, large) =
                    if low.si() < 0.0 && high.si() < 0.0 { (-high.si(), -low.si()) } else { (low.si(), high.si()) };
                small > 0.0 && large / small < 2.0
            }
            _ => false,
        }
    }

    /// How far the value is from the nearer limit, inside or outside; `None` without limits.
    pub fn distance(&self, value: Quantity) -> Option<Quantity> {
        [self.low(), self.high()]
            .into_iter()
            .flatten()
            .map(|limit| (value.si() - limit.si()).abs())
            .min_by(f64::total_cmp)
            .map(|distance| Quantity::new(distance, value.dimension().difference()))
    }

    /// The verdict on what the meter shows on this function. `accuracy` is its worst case for this reading, where it is known.
    pub fn judge_on(
        &self,
        function: Function,
        shown: Shown,
        accuracy: Result<Quantity, NoAccuracy>,
    ) -> Option<Verdict> {
        let opens = matches!(function, Function::Ohms | Function::Diode);
        self.verdict(shown, accuracy, opens)
    }

    /// The same without a meter's function: what opens is told by the unit. `accuracy` is the meter's worst case for this reading, where it is known.
    pub fn judge(&self, shown: Shown, accuracy: Result<Quantity, NoAccuracy>) -> Option<Verdict> {
        self.verdict(shown, accuracy, self.unit.dimension() == Dimension::RESISTANCE)
    }

    fn verdict(&self, shown: Shown, accuracy: Result<Quantity, NoAccuracy>, opens: bool) -> Option<Verdict> {
        if self.bounds == Bounds::Unlimited {
            return None;
        }
        let value = match shown {
            Shown::Value(value) => value,
            Shown::OverRange => {
                let standing = match self.bounds {
                    // Insulation: more than the meter can show is more than enough.
                    Bounds::AtLeast { .. } if opens => LimitResult::In,
                    _ if opens => LimitResult::Open,
                    _ => LimitResult::OverRange,
                };
                return Some(Verdict { standing, sureness: Sureness::Sure });
            }
            Shown::Unsteady { .. } => {
                return Some(Verdict { standing: LimitResult::Unsteady, sureness: Sureness::Sure });
            }
        };
        let standing = self.standing_of(value);
        let sureness = match accuracy {
            Err(why) => Sureness::Unknown { why },
            Ok(accuracy) => match self.distance(value) {
                Some(distance) if distance.si() <= accuracy.si() + rounding(&[value.si(), accuracy.si()]) => {
                    Sureness::Unsure { accuracy }
                }
                _ => Sureness::Sure,
            },
        };
        Some(Verdict { standing, sureness })
    }
}

fn larger(a: Quantity, b: Quantity) -> Quantity {
    if a.si().abs() > b.si().abs() { a } else { b }
}

impl fmt::Display for Limits {
    /// In the unit that the meter will show.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let number = |value: Quantity| significant(self.unit.number(value), 5);
        match self.bounds {
            Bounds::Between { low, high } => {
                f.write_str(&self.unit.with_symbol(&format!("{} … {}", number(low), number(high))))
            }
            Bounds::Within { .. } => {
                let ends = [self.low(), self.high()].map(|end| end.map(number).unwrap_or_default());
                f.write_str(&self.unit.with_symbol(&format!("{} … {}", ends[0], ends[1])))
            }
            Bounds::AtMost { high } => write!(f, "at most {}", self.unit.with_symbol(&number(high))),
            Bounds::AtLeast { low } => write!(f, "at least {}", self.unit.with_symbol(&number(low))),
            Bounds::Unlimited => write!(f, "no limits; recorded in {}", self.unit),
        }
    }
}

/// Where a reading stands.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LimitResult {
    /// Inside the limits.
    In,
    /// Below.
    Low,
    /// Above.
    High,
    /// `OL` on ohms or diode.
    Open,
    /// `OL` on anything else.
    OverRange,
    /// It goes to and fro, which is neither inside nor outside.
    Unsteady,
}

/// Why nothing is known of a reading's accuracy.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum NoAccuracy {
    /// No meter was named.
    NoMeter,
    /// The meter's calibration is past its date.
    CalibrationPast,
    /// Nobody says until when the meter's calibration is good.
    NoCalibrationDate,
    /// The meter's figures say nothing of this range.
    NoRange,
    /// It was not a meter that showed it.
    NotAMeter,
}

/// How sure a verdict is.
#[derive(Clone, Copy, PartialEq, Debug, Serialize)]
#[serde(tag = "how", rename_all = "snake_case")]
pub enum Sureness {
    /// Further from the limit than the meter's worst-case accuracy.
    Sure,
    /// Nearer to the limit than that.
    Unsure {
        /// The worst case.
        accuracy: Quantity,
    },
    /// Nobody can tell.
    Unknown {
        /// Why.
        why: NoAccuracy,
    },
}

/// The verdict on a reading.
#[derive(Clone, Copy, PartialEq, Debug, Serialize, Deserialize)]
#[serde(try_from = "super::answered::VerdictFields")]
pub struct Verdict {
    /// Where it stands.
    pub standing: LimitResult,
    /// How sure that is.
    #[serde(flatten)]
    pub sureness: Sureness,
}

impl Verdict {
    /// How much speaks against the reading: from surely in, over what can't be told, to surely out.
    pub const fn badness(&self) -> u8 {
        match (self.standing, self.sureness) {
            (LimitResult::In, Sureness::Sure) => 0,
            (LimitResult::In, Sureness::Unknown { .. }) => 1,
            (LimitResult::In, Sureness::Unsure { .. }) => 2,
            (_, Sureness::Unsure { .. }) => 3,
            (_, Sureness::Unknown { .. }) => 4,
            (_, Sureness::Sure) => 5,
        }
    }
}

impl Verdict {
    /// Whether two verdicts are the same. Older records have of a meter without a date that it was past its date.
    pub fn says_the_same_as(&self, now: &Self) -> bool {
        use NoAccuracy::{CalibrationPast, NoCalibrationDate};
        let why = |verdict: &Self| match verdict.sureness {
            Sureness::Unknown { why } => Some(why),
            Sureness::Sure | Sureness::Unsure { .. } => None,
        };
        self == now
            || self.standing == now.standing
                && (why(self), why(now)) == (Some(CalibrationPast), Some(NoCalibrationDate))
    }
}

impl fmt::Display for LimitResult {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::In => "OK",
            Self::Low => "LOW",
            Self::High => "HIGH",
            Self::Open => "OPEN",
            Self::OverRange => "OVER RANGE",
            Self::Unsteady => "UNSTEADY",
        })
    }
}

impl fmt::Display for Verdict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.standing)?;
        match self.sureness {
            Sureness::Unsure { .. } => f.write_str(", unsure"),
            Sureness::Sure | Sureness::Unknown { .. } => Ok(()),
        }
    }
}

impl fmt::Display for NoAccuracy {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::NoMeter => "no meter was named",
            Self::CalibrationPast => "the meter's calibration is past its date",
            Self::NoCalibrationDate => "the meter has no calibration date",
            Self::NoRange => "the meter's figures say nothing of this range",
            Self::NotAMeter => "no meter showed it",
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn volts(value: f64) -> Quantity {
        Quantity::volts(value)
    }

    #[test]
    fn limits_read_in_the_unit_that_the_meter_will_show() {
        assert_eq!(Limits::between(volts(4.75), volts(5.25)).unwrap().to_string(), "4.75 … 5.25 V");
        assert_eq!(Limits::at_most(volts(0.2)).unwrap().to_string(), "at most 200 mV");
        assert_eq!(
            Limits::within(Quantity::ohms(2200.0), Quantity::ratio(0.05)).unwrap().to_string(),
            "2.09 … 2.31 kΩ"
        );
        assert_eq!(Limits::between(volts(0.5), volts(4.5)).unwrap().to_string(), "0.5 … 4.5 V");
        assert!(Limits::between(volts(5.0), volts(4.0)).is_err());
        assert!(Limits::between(volts(5.0), Quantity::ohms(6.0)).is_err());
        assert!(Limits::within(volts(5.0), volts(0.0)).is_err());
    }

    #[test]
    fn what_lies_on_a_limit_is_in_whatever_the_last_bit_says() {
        let judge =
            |limits: Limits, value: f64| limits.judge(Shown::Value(volts(value)), Err(NoAccuracy::NoMeter)).unwrap();
        for (nominal, tolerance) in [(8.2, 0.1), (0.7, 0.1), (4.75, 0.013), (12.6, 0.7)] {
            let limits = Limits::within(volts(nominal), volts(tolerance)).unwrap();
            for (typed, standing) in [(nominal + tolerance, LimitResult::In), (nominal - tolerance, LimitResult::In)] {
                // As it is read from its decimal figures.
                let typed: f64 = format!("{typed:.3}").parse().unwrap();
                assert_eq!(judge(limits.clone(), typed).standing, standing, "{typed} V in {limits}");
            }
            let beyond: f64 = format!("{:.6}", nominal + tolerance + 1e-6).parse().unwrap();
            assert_eq!(judge(limits, beyond).standing, LimitResult::High, "a millionth of a volt is no rounding");
        }
        let sum = Quantity::volts(0.1).plus(volts(0.2)).unwrap();
        assert_eq!(judge(Limits::at_least(sum).unwrap(), 0.3).standing, LimitResult::In);
        assert_eq!(judge(Limits::at_most(volts(0.3)).unwrap(), 0.1 + 0.2).standing, LimitResult::In);
        // As far from the limit as the meter may be off: it can't tell.
        let near = Limits::between(volts(4.75), volts(5.25)).unwrap();
        let verdict = near.judge(Shown::Value(volts(4.763)), Ok(volts(0.013))).unwrap();
        assert_eq!(verdict.sureness, Sureness::Unsure { accuracy: volts(0.013) });
        for value in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
            assert!(Limits::at_most(volts(value)).is_err() && Limits::at_least(volts(value)).is_err());
            assert!(Limits::between(volts(1.0), volts(value)).is_err());
            assert!(Limits::within(volts(1.0), volts(value)).is_err());
        }
    }

    #[test]
    fn a_good_reference_is_in_and_ol_is_open_on_ohms_only() {
        let limits = Limits::between(volts(4.75), volts(5.25)).unwrap();
        // Common practice, no source: 4.998 V against sensor ground, connector mated, is a good 5 V reference.
        let verdict = limits.judge(Shown::Value(volts(4.998)), Ok(volts(0.03))).unwrap();
        assert_eq!(verdict, Verdict { standing: LimitResult::In, sureness: Sureness::Sure });
        let near = limits.judge(Shown::Value(volts(4.76)), Ok(volts(0.03))).unwrap();
        assert_eq!(near.to_string(), "OK, unsure");
        assert_eq!(limits.judge(Shown::OverRange, Ok(volts(0.0))).unwrap().standing, LimitResult::OverRange);
        let junction = Limits::between(volts(0.4), volts(0.8)).unwrap();
        let on = |function| junction.judge_on(function, Shown::OverRange, Err(NoAccuracy::NoMeter)).unwrap().standing;
        assert_eq!((on(Function::Diode), on(Function::Volts)), (LimitResult::Open, LimitResult::OverRange));
        let coil = Limits::between(Quantity::ohms(60.0), Quantity::ohms(90.0)).unwrap();
        assert_eq!(coil.judge(Shown::OverRange, Err(NoAccuracy::NoMeter)).unwrap().standing, LimitResult::Open);
        let insulation = Limits::at_least(Quantity::ohms(1e6)).unwrap();
        assert_eq!(insulation.judge(Shown::OverRange, Err(NoAccuracy::NoMeter)).unwrap().standing, LimitResult::In);
    }

    #[test]
    fn narrow_limits_are_those_in_which_a_slipped_decimal_point_shows() {
        assert!(Limits::between(volts(3.5), volts(3.9)).unwrap().are_narrow());
        assert!(!Limits::between(volts(0.5), volts(4.5)).unwrap().are_narrow());
        assert!(!Limits::at_most(volts(0.2)).unwrap().are_narrow());
        assert!(Limits::within(volts(3.7), volts(0.2)).unwrap().are_narrow());
    }
}
