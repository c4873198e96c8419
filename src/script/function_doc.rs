//! A function or a property of the language, as help and the check know it.

use std::fmt;

/// A kind of value that functions take or give.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Kind {
    /// No value.
    Nothing,
    /// A text.
    Text,
    /// A list.
    List,
    /// A bare number.
    Number,
    /// A bare number without a point.
    WholeNumber,
    /// True or false.
    TrueOrFalse,
    /// A number with its unit.
    Quantity,
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
    /// A meter reading or a module value.
    Reading,
    /// Many readings of one point.
    Sweep,
    /// The meter's own lowest and highest.
    LowestHighest,
    /// The answer to a yes-or-no question.
    YesNo,
    /// One of several.
    Choice,
    /// Free text from the technician.
    Note,
}

impl Kind {
    /// The kinds that have a page of help: what gives them, what takes them, what they can be asked.
    pub const WITH_PAGE: [Self; 13] = [
        Self::Quantity,
        Self::Limits,
        Self::Leads,
        Self::Ends,
        Self::Near,
        Self::Methods,
        Self::Moving,
        Self::Reading,
        Self::Sweep,
        Self::LowestHighest,
        Self::YesNo,
        Self::Choice,
        Self::Note,
    ];

    /// The name of its page of help; what every language has, has none.
    pub const fn page(self) -> Option<&'static str> {
        Some(match self {
            Self::Nothing | Self::Text | Self::List | Self::Number | Self::WholeNumber | Self::TrueOrFalse => {
                return None;
            }
            Self::Quantity => "Quantity",
            Self::Limits => "Limits",
            Self::Leads => "Leads",
            Self::Ends => "Ends",
            Self::Near => "Near",
            Self::Methods => "Methods",
            Self::Moving => "Moving",
            Self::Reading => "Reading",
            Self::Sweep => "Sweep",
            Self::LowestHighest => "LowestHighest",
            Self::YesNo => "YesNo",
            Self::Choice => "Choice",
            Self::Note => "Note",
        })
    }
}

impl fmt::Display for Kind {
    /// As a technician would call it; what is asked for by the name of its page.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Nothing => "nothing",
            Self::Text => "text",
            Self::List => "list",
            Self::Number => "number",
            Self::WholeNumber => "whole number",
            Self::TrueOrFalse => "true or false",
            Self::Quantity => "quantity",
            other => other.page().unwrap_or_default(),
        })
    }
}

/// A function, or a property of a kind of value, with what help says of it.
#[derive(Clone, Copy, Debug)]
pub struct FunctionDoc {
    /// The kind that it is a property of; `None` for a function.
    pub of: Option<Kind>,
    /// Its name.
    pub name: &'static str,
    /// Names and kinds of its arguments.
    pub takes: &'static [(&'static str, Kind)],
    /// What it gives.
    pub gives: Kind,
    /// What it does, in a sentence.
    pub doc: &'static str,
}

impl FunctionDoc {
    /// A function.
    pub const fn function(
        name: &'static str,
        takes: &'static [(&'static str, Kind)],
        gives: Kind,
        doc: &'static str,
    ) -> Self {
        Self { of: None, name, takes, gives, doc }
    }

    /// A property, read after a point.
    pub const fn property(of: Kind, name: &'static str, gives: Kind, doc: &'static str) -> Self {
        Self { of: Some(of), name, takes: &[], gives, doc }
    }

    /// Its name, with the kind before it that it is a property of: `Sweep.lowest`.
    pub fn full_name(&self) -> String {
        match self.of {
            Some(of) => format!("{of}.{}", self.name),
            None => self.name.to_owned(),
        }
    }
}

impl fmt::Display for FunctionDoc {
    /// How it is called: `ask(id: text, text: text) → YesNo`, `Sweep.lowest → quantity`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.full_name())?;
        if self.of.is_none() {
            let takes: Vec<String> = self.takes.iter().map(|(name, kind)| format!("{name}: {kind}")).collect();
            write!(f, "({})", takes.join(", "))?;
        }
        if self.gives != Kind::Nothing {
            write!(f, " \u{2192} {}", self.gives)?;
        }
        Ok(())
    }
}
