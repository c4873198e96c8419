//! The engine's names of types in words, for sentences.

use std::fmt;

/// A type of the language.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum TypeName<'a> {
    /// No value.
    Nothing,
    /// A text.
    Text,
    /// A single letter.
    Letter,
    /// True or false.
    TrueOrFalse,
    /// A number without a unit.
    Number,
    /// A number with its unit.
    Quantity,
    /// A range of numbers.
    Range,
    /// A list.
    List,
    /// A map.
    Map,
    /// A function.
    Function,
    /// A meter reading or a module value.
    Reading,
    /// A sweep.
    Sweep,
    /// The meter's own lowest and highest.
    LowestHighest,
    /// An answer to a yes-or-no question.
    YesNo,
    /// One of several.
    Choice,
    /// Free text from the technician.
    Note,
    /// What a reading may be.
    Limits,
    /// Where the leads go.
    Leads,
    /// Where a sweep begins and ends.
    Ends,
    /// Where the body is.
    Near,
    /// Methods.
    Methods,
    /// The part that is moved.
    Moving,
    /// Any other, by the last part of its name.
    Other(&'a str),
}

impl<'a> TypeName<'a> {
    /// By the engine's name of a type; outside of its own messages a type goes by its path in the program.
    pub fn of(name: &'a str) -> Self {
        let (outer, inner) = name.split_once('<').unwrap_or((name, ""));
        match outer.rsplit("::").next().unwrap_or(outer) {
            "()" => Self::Nothing,
            "string" | "&str" | "ImmutableString" => Self::Text,
            "char" => Self::Letter,
            "bool" => Self::TrueOrFalse,
            "i64" | "f64" | "int" | "float" => Self::Number,
            "Quantity" => Self::Quantity,
            "Range" | "RangeInclusive" => Self::Range,
            "array" => Self::List,
            "Vec" if !inner.is_empty() => Self::List,
            "map" => Self::Map,
            "FnPtr" | "Fn" => Self::Function,
            "Reading" => Self::Reading,
            "Sweep" | "Swept" => Self::Sweep,
            "LowestHighest" => Self::LowestHighest,
            "YesNo" | "Confirmed" => Self::YesNo,
            "Choice" | "Chosen" => Self::Choice,
            "Note" | "Written" => Self::Note,
            "Limits" => Self::Limits,
            "Leads" => Self::Leads,
            "Ends" => Self::Ends,
            "Near" => Self::Near,
            "Methods" => Self::Methods,
            "Moving" => Self::Moving,
            other => Self::Other(other),
        }
    }
}

impl fmt::Display for TypeName<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Nothing => "nothing",
            Self::Text => "a text",
            Self::Letter => "a single letter",
            Self::TrueOrFalse => "true or false",
            Self::Number => "a bare number",
            Self::Quantity => "a quantity",
            Self::Range => "a range of numbers",
            Self::List => "a list",
            Self::Map => "a map",
            Self::Function => "a function",
            Self::Reading => "a reading",
            Self::Sweep => "a sweep",
            Self::LowestHighest => "a lowest and highest",
            Self::YesNo => "a yes or no",
            Self::Choice => "a choice",
            Self::Note => "a note",
            Self::Limits => "limits",
            Self::Leads => "a place for the leads",
            Self::Ends => "the ends of a sweep",
            Self::Near => "a place near hazards",
            Self::Methods => "what the hands do",
            Self::Moving => "something that is moved",
            Self::Other(name) => name,
        })
    }
}
