//! Helpers with more than one result give a small struct; its fields are reachable by name from a script.

use crate::model::quantity::Quantity;
use std::fmt;

/// The content of a field.
#[derive(Clone, PartialEq, Debug)]
pub enum Value {
    /// A quantity.
    Quantity(Quantity),
    /// A bare number.
    Number(f64),
    /// A whole number.
    Whole(i64),
    /// Yes or no.
    Truth(bool),
    /// A text or the word of a kind.
    Text(String),
    /// Whole numbers.
    Numbers(Vec<i64>),
    /// Places along a sweep.
    Spots(Vec<Spot>),
    /// Known not to be there.
    Nothing,
}

/// A field of a result: its name, what it means, how to reach it.
pub struct Field<T: 'static> {
    /// Name, as typed after the dot.
    pub name: &'static str,
    /// What it means.
    pub doc: &'static str,
    /// Its value.
    pub get: fn(&T) -> Value,
}

/// A result whose fields are known by name.
pub trait Fielded: Sized + Clone + Send + Sync + 'static {
    /// Its name in the trade.
    const NAME: &'static str;
    /// Its fields, in the order in which they are shown.
    const FIELDS: &'static [Field<Self>];
    /// Their names.
    const NAMES: &'static [&'static str];
}

impl fmt::Display for Value {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Quantity(quantity) => quantity.fmt(f),
            Self::Number(number) => f.write_str(&crate::model::unit::significant(*number, 7)),
            Self::Whole(number) => number.fmt(f),
            Self::Truth(truth) => f.write_str(if *truth { "yes" } else { "no" }),
            Self::Text(text) => f.write_str(text),
            Self::Numbers(numbers) => {
                f.write_str(&numbers.iter().map(|number| format!("{number:02X}")).collect::<Vec<_>>().join(" "))
            }
            Self::Spots(spots) if spots.is_empty() => f.write_str("none"),
            Self::Spots(spots) => f.write_str(&spots.iter().map(Spot::to_string).collect::<Vec<_>>().join("; ")),
            Self::Nothing => f.write_str("none"),
        }
    }
}

macro_rules! value_from {
    ($($type:ty => $variant:ident),+ $(,)?) => {
        $(impl From<$type> for Value {
            fn from(value: $type) -> Self {
                Self::$variant(value.into())
            }
        })+
    };
}
value_from!(Quantity => Quantity, f64 => Number, i64 => Whole, bool => Truth, String => Text, &'static str => Text,
    Vec<i64> => Numbers, Vec<Spot> => Spots);

impl<T: Into<Self>> From<Option<T>> for Value {
    fn from(value: Option<T>) -> Self {
        value.map_or(Self::Nothing, Into::into)
    }
}

/// Makes result structs: the struct, its table of fields, and how it prints (`volts 12 V, amperes 4 A`).
macro_rules! results {
    ($($(#[doc = $doc:literal])+ pub struct $name:ident = $word:literal {
        $($(#[doc = $about:literal])+ $field:ident: $type:ty),+ $(,)?
    })+) => {
        $(
            $(#[doc = $doc])+
            #[derive(Clone, PartialEq, Debug)]
            pub struct $name {
                $($(#[doc = $about])+ pub $field: $type,)+
            }
            impl $crate::electrical::results::Fielded for $name {
                const NAME: &'static str = $word;
                const FIELDS: &'static [$crate::electrical::results::Field<Self>] = &[$(
                    $crate::electrical::results::Field {
                        name: stringify!($field),
                        doc: concat!($($about),+),
                        get: |result| $crate::electrical::results::Value::from(result.$field.clone()),
                    }
                ),+];
                const NAMES: &'static [&'static str] = &[$(stringify!($field)),+];
            }
            impl std::fmt::Display for $name {
                fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                    $crate::electrical::results::show(self, f)
                }
            }
        )+
    };
}
pub(super) use results;

/// `volts 12 V, amperes 4 A`.
pub(super) fn show<T: Fielded>(result: &T, f: &mut fmt::Formatter<'_>) -> fmt::Result {
    for (index, field) in T::FIELDS.iter().enumerate() {
        if index > 0 {
            f.write_str(", ")?;
        }
        write!(f, "{} {}", field.name.replace('_', " "), (field.get)(result))?;
    }
    Ok(())
}

/// Where something happened along a sweep, and what was read there.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Spot {
    /// Where it begins.
    pub from: Quantity,
    /// Where it ends.
    pub to: Quantity,
    /// The reading there: the one furthest off, or the first of those that stayed the same.
    pub reading: Quantity,
}

impl Fielded for Spot {
    const NAME: &'static str = "a place along a sweep";
    const FIELDS: &'static [Field<Self>] = &[
        Field { name: "from", doc: "Where it begins.", get: |spot| Value::Quantity(spot.from) },
        Field { name: "to", doc: "Where it ends.", get: |spot| Value::Quantity(spot.to) },
        Field { name: "reading", doc: "What was read there.", get: |spot| Value::Quantity(spot.reading) },
    ];
    const NAMES: &'static [&'static str] = &["from", "to", "reading"];
}

impl fmt::Display for Spot {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.from == self.to {
            write!(f, "{} at {}", self.reading, self.from)
        } else {
            write!(f, "{} from {} to {}", self.reading, self.from, self.to)
        }
    }
}
