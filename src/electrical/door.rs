//! The door of every helper: what may enter is of the right dimension and of a size that there is, and so is what leaves.

use super::age::Age;
use super::error::{Allowed, ArgumentError, Given, MOST};
use super::helper::Kind;
use super::results::{Fielded, Value};
use crate::model::dimension::Dimension;
use crate::model::quantity::Quantity;

/// What enters a helper as `Given` and is used inside as `Inside`.
pub trait Door {
    /// As given by the caller.
    type Given;
    /// As used in the formula.
    type Inside;
    /// What it is, for the reference.
    const KIND: Kind;
    /// Checked.
    fn enter(age: Age, argument: &'static str, given: Self::Given) -> Result<Self::Inside, ArgumentError>;
}

/// What leaves a helper.
pub trait Answer {
    /// As the formula gives it.
    type Inside;
    /// As the caller gets it.
    type Out;
    /// What it is, for the reference.
    const ANSWER: Kind;
    /// Checked.
    fn leave(age: Age, inside: Self::Inside) -> Result<Self::Out, ArgumentError>;
}

/// Since this behavior, what is larger than [`MOST`] or colder than absolute zero is refused.
const SIZES_SINCE: u32 = 3;
/// °C; a little below, for what rounding leaves of degrees Fahrenheit.
const ABSOLUTE_ZERO: f64 = -273.15 - 1e-9;
/// The name of a result where it is refused.
const RESULT: &str = "the result";

/// The SI value of a quantity that must be of one dimension. Every quantity of every helper passes here.
pub fn admit(age: Age, argument: &'static str, wanted: Dimension, given: Quantity) -> Result<f64, ArgumentError> {
    if given.dimension() != wanted {
        return Err(ArgumentError::WrongDimension { argument, wanted, given });
    }
    sized(age, argument, given).map(Quantity::si)
}

/// Refused where it is not finite or of no size that there is.
fn sized(age: Age, what: &'static str, given: Quantity) -> Result<Quantity, ArgumentError> {
    if !given.si().is_finite() {
        return Err(ArgumentError::NotFinite);
    }
    if !age.refuses(SIZES_SINCE) {
        return Ok(given);
    }
    if given.si().abs() > MOST {
        return Err(ArgumentError::TooLarge { what, given });
    }
    if given.dimension() == Dimension::TEMPERATURE && given.si() < ABSOLUTE_ZERO {
        return Err(ArgumentError::BelowAbsoluteZero { what, given });
    }
    Ok(given)
}

fn sized_number(age: Age, what: &'static str, given: f64) -> Result<f64, ArgumentError> {
    match given {
        given if !given.is_finite() => Err(ArgumentError::NotFinite),
        given if age.refuses(SIZES_SINCE) && given.abs() > MOST => Err(ArgumentError::NumberTooLarge { what, given }),
        given => Ok(given),
    }
}

macro_rules! kinds {
    ($($(#[doc = $doc:literal])+ $name:ident = $dimension:ident),+ $(,)?) => {
        $(
            $(#[doc = $doc])+
            pub enum $name {}
            impl Door for $name {
                type Given = Quantity;
                type Inside = f64;
                const KIND: Kind = Kind::Quantity(Dimension::$dimension);
                fn enter(age: Age, argument: &'static str, given: Quantity) -> Result<f64, ArgumentError> {
                    admit(age, argument, Dimension::$dimension, given)
                }
            }
            impl Answer for $name {
                type Inside = f64;
                type Out = Quantity;
                const ANSWER: Kind = Kind::Quantity(Dimension::$dimension);
                fn leave(age: Age, inside: f64) -> Result<Quantity, ArgumentError> {
                    sized(age, RESULT, Quantity::new(inside, Dimension::$dimension))
                }
            }
            impl OneDimension for $name {
                const DIMENSION: Dimension = Dimension::$dimension;
            }
        )+
    };
}

/// A kind that stands for one dimension.
pub trait OneDimension {
    /// That dimension.
    const DIMENSION: Dimension;
}

kinds! {
    /// Volts.
    Volts = VOLTAGE,
    /// Amperes.
    Amperes = CURRENT,
    /// Ohms.
    Ohms = RESISTANCE,
    /// Watts.
    Watts = POWER,
    /// Ampere-hours, in coulombs.
    Charge = CHARGE,
    /// Hertz.
    Hertz = FREQUENCY,
    /// Seconds.
    Seconds = TIME,
    /// Meters.
    Length = LENGTH,
    /// Square meters.
    Area = AREA,
    /// Ohm meters.
    Resistivity = RESISTIVITY,
    /// Ohms per meter.
    OhmsPerLength = RESISTANCE_PER_LENGTH,
    /// A point on the Celsius scale.
    Temperature = TEMPERATURE,
    /// Kelvin, as a difference.
    Kelvins = TEMPERATURE_DIFFERENCE,
    /// A ratio; 1 % is 0.01.
    Ratio = NONE,
    /// Radians per second.
    Rotation = ROTATION,
    /// Meters per second.
    Speed = SPEED,
}

/// Any quantity that is finite; the formula looks at its dimension.
pub enum Any {}
impl Door for Any {
    type Given = Quantity;
    type Inside = Quantity;
    const KIND: Kind = Kind::Any;
    fn enter(age: Age, argument: &'static str, given: Quantity) -> Result<Quantity, ArgumentError> {
        sized(age, argument, given)
    }
}
impl Answer for Any {
    type Inside = Quantity;
    type Out = Quantity;
    const ANSWER: Kind = Kind::Any;
    fn leave(age: Age, inside: Quantity) -> Result<Quantity, ArgumentError> {
        sized(age, RESULT, inside)
    }
}

/// A list of quantities of the same kind, one or more.
pub struct List<T>(std::marker::PhantomData<T>);
impl<T: OneDimension> Door for List<T> {
    type Given = Vec<Quantity>;
    type Inside = Vec<f64>;
    const KIND: Kind = Kind::Quantities(T::DIMENSION);
    fn enter(age: Age, argument: &'static str, given: Vec<Quantity>) -> Result<Vec<f64>, ArgumentError> {
        if given.is_empty() {
            return Err(ArgumentError::TooFew { argument, wanted: 1, given: 0 });
        }
        given.into_iter().map(|quantity| admit(age, argument, T::DIMENSION, quantity)).collect()
    }
}
/// A list of quantities of one dimension, whichever; one or more.
pub enum Anys {}
impl Door for Anys {
    type Given = Vec<Quantity>;
    type Inside = Vec<Quantity>;
    const KIND: Kind = Kind::AnyQuantities;
    fn enter(age: Age, argument: &'static str, given: Vec<Quantity>) -> Result<Vec<Quantity>, ArgumentError> {
        let first = given.first().ok_or(ArgumentError::TooFew { argument, wanted: 1, given: 0 })?.dimension();
        for quantity in &given {
            admit(age, argument, first, *quantity)?;
        }
        Ok(given)
    }
}

/// A bare number.
pub enum Number {}
impl Door for Number {
    type Given = f64;
    type Inside = f64;
    const KIND: Kind = Kind::Number;
    fn enter(age: Age, argument: &'static str, given: f64) -> Result<f64, ArgumentError> {
        sized_number(age, argument, given)
    }
}

/// A whole number.
pub enum Whole {}
impl Door for Whole {
    type Given = i64;
    type Inside = i64;
    const KIND: Kind = Kind::Whole;
    fn enter(_: Age, _: &'static str, given: i64) -> Result<i64, ArgumentError> {
        Ok(given)
    }
}
impl Answer for Whole {
    type Inside = i64;
    type Out = i64;
    const ANSWER: Kind = Kind::Whole;
    fn leave(_: Age, inside: i64) -> Result<i64, ArgumentError> {
        Ok(inside)
    }
}

/// A text.
pub enum Text {}
impl Door for Text {
    type Given = String;
    type Inside = String;
    const KIND: Kind = Kind::Text;
    fn enter(_: Age, _: &'static str, given: String) -> Result<String, ArgumentError> {
        Ok(given)
    }
}
impl Answer for Text {
    type Inside = String;
    type Out = String;
    const ANSWER: Kind = Kind::Text;
    fn leave(_: Age, inside: String) -> Result<String, ArgumentError> {
        Ok(inside)
    }
}

/// Whole numbers.
pub enum Numbers {}
impl Answer for Numbers {
    type Inside = Vec<i64>;
    type Out = Vec<i64>;
    const ANSWER: Kind = Kind::Numbers;
    fn leave(_: Age, inside: Vec<i64>) -> Result<Vec<i64>, ArgumentError> {
        Ok(inside)
    }
}

/// A wire gauge as it is written: 14, or `4/0`.
#[derive(Clone, PartialEq, Debug)]
pub enum Gauge {
    /// A number; 0 is 1/0, −3 is 4/0.
    Number(i64),
    /// A text: `14`, `2/0`, `0000`.
    Text(String),
}
/// The gauge's number, −3 for 4/0.
pub enum GaugeNumber {}
impl Door for GaugeNumber {
    type Given = Gauge;
    type Inside = i64;
    const KIND: Kind = Kind::Gauge;
    fn enter(_: Age, argument: &'static str, given: Gauge) -> Result<i64, ArgumentError> {
        let unreadable = |text: &str| ArgumentError::Unreadable {
            argument,
            wanted: "a gauge such as 14, `2/0` or `0000`",
            text: text.to_owned(),
        };
        let number = match &given {
            Gauge::Number(number) => *number,
            Gauge::Text(text) => match text.trim() {
                zeros if zeros.len() > 1 && zeros.chars().all(|c| c == '0') => 1 - zeros.len() as i64,
                aught if aught.ends_with("/0") => {
                    let count = aught.strip_suffix("/0").and_then(|count| count.parse::<i64>().ok());
                    1 - count.filter(|count| (1..=4).contains(count)).ok_or_else(|| unreadable(text))?
                }
                plain => plain.parse().map_err(|_| unreadable(text))?,
            },
        };
        // The defining formula is laid down from 4/0 to 56.
        if (-3..=56).contains(&number) {
            return Ok(number);
        }
        let allowed = Allowed::Between(Given::Text("4/0 (-3)".to_owned()), Given::Number(56.0));
        Err(ArgumentError::OutOfRange { argument, allowed, given: Given::Number(number as f64) })
    }
}

impl<T: Fielded> Answer for T {
    type Inside = T;
    type Out = T;
    const ANSWER: Kind = Kind::Fields(T::NAME, T::NAMES);
    fn leave(age: Age, inside: T) -> Result<T, ArgumentError> {
        for field in T::FIELDS {
            match (field.get)(&inside) {
                Value::Quantity(quantity) => _ = sized(age, field.name, quantity)?,
                Value::Number(number) => _ = sized_number(age, field.name, number)?,
                _ => {}
            }
        }
        Ok(inside)
    }
}

/// Refused unless above zero; `value` is in SI.
pub fn above_zero<T: OneDimension>(argument: &'static str, value: f64) -> Result<f64, ArgumentError> {
    let zero = Given::Quantity(Quantity::new(0.0, T::DIMENSION));
    if value > 0.0 { Ok(value) } else { Err(out_of_range::<T>(argument, Allowed::Above(zero), value)) }
}

/// Refused if below zero.
pub fn not_below_zero<T: OneDimension>(argument: &'static str, value: f64) -> Result<f64, ArgumentError> {
    let zero = Given::Quantity(Quantity::new(0.0, T::DIMENSION));
    if value >= 0.0 { Ok(value) } else { Err(out_of_range::<T>(argument, Allowed::AtLeast(zero), value)) }
}

/// Refused unless within these bounds, both included; all in SI.
pub fn within<T: OneDimension>(argument: &'static str, value: f64, low: f64, high: f64) -> Result<f64, ArgumentError> {
    if (low..=high).contains(&value) {
        return Ok(value);
    }
    let bound = |si| Given::Quantity(Quantity::new(si, T::DIMENSION));
    Err(out_of_range::<T>(argument, Allowed::Between(bound(low), bound(high)), value))
}

/// Refused unless this whole number is within these bounds, both included.
pub fn whole_within(argument: &'static str, value: i64, low: i64, high: i64) -> Result<i64, ArgumentError> {
    if (low..=high).contains(&value) {
        return Ok(value);
    }
    let allowed = Allowed::Between(Given::Number(low as f64), Given::Number(high as f64));
    Err(ArgumentError::OutOfRange { argument, allowed, given: Given::Number(value as f64) })
}

/// Refused unless the second, in SI, is above the first.
pub fn in_order<T: OneDimension>(
    (lesser, low): (&'static str, f64),
    (greater, high): (&'static str, f64),
) -> Result<(), ArgumentError> {
    if low < high {
        return Ok(());
    }
    let given = |si| Given::Quantity(Quantity::new(si, T::DIMENSION));
    Err(ArgumentError::Order { greater, lesser, high: given(high), low: given(low) })
}

/// Refused unless two quantities are of one dimension.
pub fn alike(
    (one, left): (&'static str, Quantity),
    (other, right): (&'static str, Quantity),
) -> Result<(), ArgumentError> {
    if left.dimension() == right.dimension() {
        Ok(())
    } else {
        Err(ArgumentError::Unlike { one, other, left: left.dimension(), right: right.dimension() })
    }
}

fn out_of_range<T: OneDimension>(argument: &'static str, allowed: Allowed, value: f64) -> ArgumentError {
    ArgumentError::OutOfRange { argument, allowed, given: Given::Quantity(Quantity::new(value, T::DIMENSION)) }
}

/// Makes helpers: the documented function, its door and its line in the table that `help()` and the reference read.
/// What a helper refuses only since a behavior stands before its body: `where since 3 { … }`. A module of the same name has the
/// helper as it was at an age.
macro_rules! helpers {
    ($topic:literal; $(
        $(#[doc = $doc:literal])+
        fn $name:ident($($argument:ident: $kind:ty),* $(,)?) -> $answer:ty
        $(where since $since:literal $refusal:block)?
        $body:block
    )+) => {
        $(
            $(#[doc = $doc])+
            pub fn $name(
                $($argument: <$kind as $crate::electrical::door::Door>::Given),*
            ) -> Result<
                <$answer as $crate::electrical::door::Answer>::Out,
                $crate::electrical::error::HelperError,
            > {
                $name::at($crate::electrical::age::Age::TODAY, $($argument),*)
            }

            #[doc = concat!("`", stringify!($name), "`, as it was at an age.")]
            pub mod $name {
                use super::*;
                use $crate::electrical::age::Age;
                use $crate::electrical::door::{Answer, Door};
                use $crate::electrical::error;

                #[doc = concat!("`", stringify!($name), "` at this age.")]
                pub fn at(
                    age: Age,
                    $($argument: <$kind as Door>::Given),*
                ) -> Result<<$answer as Answer>::Out, error::HelperError> {
                    let refused = |trouble: error::ArgumentError| trouble.within(stringify!($name));
                    $(let $argument = <$kind as Door>::enter(age, stringify!($argument), $argument).map_err(refused)?;)*
                    $(
                        if age.refuses($since) {
                            let refusal = || -> Result<(), error::ArgumentError> { $refusal };
                            refusal().map_err(refused)?;
                        }
                    )?
                    inside($($argument),*).and_then(|inside| <$answer as Answer>::leave(age, inside)).map_err(refused)
                }

                fn inside(
                    $($argument: <$kind as Door>::Inside),*
                ) -> Result<<$answer as Answer>::Inside, error::ArgumentError> $body
            }
        )+
        /// The helpers of this topic, as `help()` and the reference show them.
        pub const HELPERS: &[$crate::electrical::helper::Helper] = &[$(
            $crate::electrical::helper::Helper {
                name: stringify!($name),
                topic: $topic,
                parameters: &[$((
                    stringify!($argument),
                    <$kind as $crate::electrical::door::Door>::KIND,
                )),*],
                answer: <$answer as $crate::electrical::door::Answer>::ANSWER,
                doc: concat!($($doc, "\n"),+),
            }
        ),+];
    };
}
pub(super) use helpers;
