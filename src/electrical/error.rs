//! Why a helper refuses, in words.

use crate::model::dimension::Dimension;
use crate::model::quantity::Quantity;
use std::fmt;

/// The most, in SI units, that a helper takes or gives: nothing at a vehicle comes near it.
pub const MOST: f64 = 1e15;

/// A helper that refuses, and why.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{helper}: {trouble}")]
pub struct HelperError {
    /// The helper's name, as typed in a script.
    pub helper: &'static str,
    /// Why.
    pub trouble: ArgumentError,
}

/// What was given to a helper.
#[derive(Clone, Debug, PartialEq)]
pub enum Given {
    /// A quantity.
    Quantity(Quantity),
    /// A bare number.
    Number(f64),
    /// A text.
    Text(String),
}

impl fmt::Display for Given {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Quantity(quantity) => quantity.fmt(f),
            Self::Number(number) => number.fmt(f),
            Self::Text(text) => write!(f, "`{text}`"),
        }
    }
}

/// What a value may be.
#[derive(Clone, Debug, PartialEq)]
pub enum Allowed {
    /// More than this.
    Above(Given),
    /// This or more.
    AtLeast(Given),
    /// This or less.
    AtMost(Given),
    /// From one to the other, both included.
    Between(Given, Given),
    /// One of these.
    OneOf(&'static [&'static str]),
}

impl fmt::Display for Allowed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Above(low) => write!(f, "above {low}"),
            Self::AtLeast(low) => write!(f, "{low} or more"),
            Self::AtMost(high) => write!(f, "{high} or less"),
            Self::Between(low, high) => write!(f, "from {low} to {high}"),
            Self::OneOf(words) => write!(f, "one of {}", words.join(", ")),
        }
    }
}

/// Why a helper refuses.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ArgumentError {
    /// A quantity of another dimension.
    #[error("{argument} must be {wanted}, and {given} is {}", given.dimension())]
    WrongDimension {
        /// Which argument.
        argument: &'static str,
        /// What it must be.
        wanted: Dimension,
        /// What it is.
        given: Quantity,
    },
    /// A bare number where a unit is needed.
    #[error("{argument} must be {wanted}: give {number} its unit{}", example(*number, *wanted))]
    BareNumber {
        /// Which argument.
        argument: &'static str,
        /// What it must be.
        wanted: Dimension,
        /// The number.
        number: f64,
    },
    /// Something that is not of the wanted kind at all.
    #[error("{argument} must be {wanted}, not {given}")]
    WrongKind {
        /// Which argument.
        argument: &'static str,
        /// What it must be.
        wanted: &'static str,
        /// What it is.
        given: String,
    },
    /// Beyond what the formula or the table holds for.
    #[error("{argument} must be {allowed}, and it is {given}")]
    OutOfRange {
        /// Which argument.
        argument: &'static str,
        /// Its limits.
        allowed: Allowed,
        /// What it is.
        given: Given,
    },
    /// Two arguments that must be of one dimension and are not.
    #[error("{one} and {other} must be of one kind, and they are {left} and {right}")]
    Unlike {
        /// An argument.
        one: &'static str,
        /// Another.
        other: &'static str,
        /// Dimension of the one.
        left: Dimension,
        /// Dimension of the other.
        right: Dimension,
    },
    /// Two arguments that must differ and do not, so that there is nothing to work with.
    #[error("{one} and {other} are both {value}, and nothing follows from that")]
    Same {
        /// An argument.
        one: &'static str,
        /// Another.
        other: &'static str,
        /// What both are.
        value: Given,
    },
    /// One argument must be greater than another.
    #[error("{greater} must be above {lesser}, and they are {high} and {low}")]
    Order {
        /// The argument that must be greater.
        greater: &'static str,
        /// The argument that must be lesser.
        lesser: &'static str,
        /// What the first is.
        high: Given,
        /// What the second is.
        low: Given,
    },
    /// Two quantities from which the rest does not follow.
    #[error("two of volts, amperes, ohms and watts are needed, and {left} and {right} are not two of them")]
    NotTwoOfFour {
        /// One.
        left: Quantity,
        /// The other.
        right: Quantity,
    },
    /// Volts and amperes, or the like, whose signs contradict each other.
    #[error("{left} and {right} can't belong to one load")]
    NoLoad {
        /// One.
        left: Quantity,
        /// The other.
        right: Quantity,
    },
    /// Too few values in a list.
    #[error("{argument} needs {wanted} values or more, and has {given}")]
    TooFew {
        /// Which list.
        argument: &'static str,
        /// How many it needs.
        wanted: usize,
        /// How many it has.
        given: usize,
    },
    /// Two lists of unequal length.
    #[error("{one} has {left} values and {other} has {right}: each needs its partner")]
    UnequalLength {
        /// A list.
        one: &'static str,
        /// Another.
        other: &'static str,
        /// Length of the one.
        left: usize,
        /// Length of the other.
        right: usize,
    },
    /// A list that must run one way and turns back.
    #[error("{argument} must run one way, and turns back at value {at}, {value}")]
    TurnsBack {
        /// Which list.
        argument: &'static str,
        /// Which value, counted from 1.
        at: usize,
        /// That value.
        value: Quantity,
    },
    /// A list that must rise and does not.
    #[error("{argument} must rise, lowest first, and does not at value {at}, {value}")]
    DoesNotRise {
        /// Which list.
        argument: &'static str,
        /// Which value, counted from 1.
        at: usize,
        /// That value.
        value: Quantity,
    },
    /// No wire of the table is thick enough.
    #[error("no wire of {table} is thick enough: its thickest, {thickest}, drops {drop}")]
    NoneThickEnough {
        /// Which table.
        table: &'static str,
        /// Its thickest wire.
        thickest: String,
        /// What that drops.
        drop: Quantity,
    },
    /// A cross section that the table does not have.
    #[error("{table} has no {given}: it has {known}")]
    NotInTable {
        /// Which table.
        table: &'static str,
        /// What was asked for.
        given: Given,
        /// What it has.
        known: String,
    },
    /// A text that can't be read.
    #[error("{argument} must be {wanted}, and `{text}` is not")]
    Unreadable {
        /// Which argument.
        argument: &'static str,
        /// What it must look like.
        wanted: &'static str,
        /// What it is.
        text: String,
    },
    /// Points that fix no curve.
    #[error("these points fix no curve that a sensor of this kind can have")]
    NoCurve,
    /// A value in a byte that the standard keeps for a message, not for a measurement.
    #[error("{byte:#04X} is not a measurement: {meaning}")]
    NoMeasurement {
        /// The byte.
        byte: i64,
        /// What it means.
        meaning: &'static str,
    },
    /// Leads the wrong way around: a sign that no reading of this kind has.
    #[error("{argument} is {given}, below zero: are red and black swapped? Swap them and read again")]
    Swapped {
        /// Which argument.
        argument: &'static str,
        /// What it is.
        given: Quantity,
    },
    /// A place far beyond the ends of a span.
    #[error(
        "{signal} is {place} of the way from at_start to at_end, and no stop is that far off: are the ends those of this sensor?"
    )]
    FarBeyondEnds {
        /// The signal.
        signal: Quantity,
        /// Where it would be.
        place: Quantity,
    },
    /// A resistance that does not fall as it gets hotter.
    #[error("resistances must fall as it gets hotter, and from {colder} to {hotter} they go from {first} to {second}")]
    DoesNotFall {
        /// The colder point's temperature.
        colder: Quantity,
        /// Its resistance.
        first: Quantity,
        /// The hotter point's temperature.
        hotter: Quantity,
        /// Its resistance.
        second: Quantity,
    },
    /// A beta that no thermistor has.
    #[error("{what} is {given}: a thermistor's lies from 100 K to 10000 K, below zero for one that rises")]
    NoBeta {
        /// Which argument, or the result.
        what: &'static str,
        /// What it is.
        given: Quantity,
    },
    /// More than there is at any vehicle.
    #[error("{what} is {}, beyond the {} that helpers reckon with", plain(*given), plain(given.with_si(MOST)))]
    TooLarge {
        /// Which argument, or the result.
        what: &'static str,
        /// What it is.
        given: Quantity,
    },
    /// A bare number that is too large.
    #[error("{what} is {given:e}, beyond the {:e} that helpers reckon with", MOST)]
    NumberTooLarge {
        /// Which argument, or the result.
        what: &'static str,
        /// What it is.
        given: f64,
    },
    /// Colder than it can be.
    #[error("{what} is {given}, below absolute zero (-273.15 °C)")]
    BelowAbsoluteZero {
        /// Which argument, or the result.
        what: &'static str,
        /// What it is.
        given: Quantity,
    },
    /// Bytes that say that there is no code.
    #[error("four zero bytes stand for no active code")]
    NoActiveCode,
    /// The result is beyond any finite number.
    #[error("these values have no finite result")]
    NotFinite,
}

/// In the plain unit, without a prefix.
fn plain(quantity: Quantity) -> String {
    crate::model::unit::Unit::of(quantity.dimension())
        .map_or_else(|| quantity.to_string(), |unit| unit.show(quantity, 4))
}

/// ", such as 10.A".
fn example(number: f64, wanted: Dimension) -> String {
    crate::model::unit::Unit::of(wanted).map_or_else(String::new, |unit| format!(", such as {number}.{}", unit.word()))
}

impl ArgumentError {
    /// Refused by this helper.
    pub fn within(self, helper: &'static str) -> HelperError {
        HelperError { helper, trouble: self }
    }
}
