//! The prompts of a procedure, and their answers.

use super::limits::Limits;
use super::meter::Function;
use super::quantity::Quantity;
use super::unit::Unit;
use serde::{Deserialize, Deserializer, Serialize};
use std::convert::Infallible;
use std::fmt;
use std::sync::Arc;

macro_rules! id {
    ($(#[$about:meta])* $name:ident) => {
        $(#[$about])*
        #[derive(Clone, PartialEq, Eq, Hash, Debug, PartialOrd, Ord, Serialize)]
        #[serde(transparent)]
        pub struct $name(Arc<str>);
        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                super::text::from_text(deserializer, |text| Ok::<_, Infallible>(Self::new(text)))
            }
        }
        impl $name {
            /// Takes the text as it is.
            pub fn new(text: impl Into<Arc<str>>) -> Self { Self(text.into()) }
            /// The text.
            pub fn as_str(&self) -> &str { &self.0 }
        }
        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result { f.write_str(&self.0) }
        }
    };
}
id!(/// A prompt's stable name: answers files, tables and records know it by this.
    PromptId);
id!(/// A cause's name in the header of a procedure.
    CauseId);
id!(/// A caution rule's name.
    CautionId);
id!(/// Where the body is: `lift`, `exhaust`, `driveline` …
    Zone);

impl PromptId {
    /// Whether a text can be an id: small letters, digits and `_`, beginning with a letter, 64 at most.
    ///
    /// ```
    /// use ohmwright::model::prompt::PromptId;
    /// assert!(PromptId::is_plain("feed_2"));
    /// assert!(!PromptId::is_plain("feed (V)"));
    /// ```
    pub fn is_plain(text: &str) -> bool {
        text.starts_with(|c: char| c.is_ascii_lowercase())
            && text.len() <= 64
            && text.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_')
    }
}

impl CauseId {
    /// Built in: what is not there while it is tested for is never called "no fault".
    pub const NOT_PRESENT: &str = "not_present";
    /// The library's for a check after a repair that found all well.
    pub const REPAIRED: &str = "repaired";
}

/// A place where a lead can go, as the circuit file describes it.
#[derive(Clone, PartialEq, Debug, Default, Serialize, Deserialize)]
pub struct LeadEnd {
    /// What the procedure calls it: a role, a point, or plain text.
    pub name: Arc<str>,
    /// Connector and pin.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub point: Option<Arc<str>>,
    /// Wire color.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wire: Option<Arc<str>>,
    /// Where it is on the vehicle.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<Arc<str>>,
}

/// Where the leads go.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(tag = "leads", rename_all = "snake_case", try_from = "super::answered::LeadsFields")]
pub enum Leads {
    /// Red and black across two points.
    Across {
        /// Red lead.
        red: LeadEnd,
        /// Black lead.
        black: LeadEnd,
    },
    /// Meter in line.
    Through {
        /// Where the circuit is opened.
        at: LeadEnd,
    },
    /// Clamp round a wire, which stays whole.
    Clamp {
        /// Which.
        at: LeadEnd,
    },
    /// Not said.
    Nowhere,
}

/// Where a sweep should begin and end.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Ends {
    /// One end.
    pub one: Quantity,
    /// The other.
    pub other: Quantity,
    /// How far off either end may be.
    pub tolerance: Quantity,
    /// Unit shown at the prompt.
    pub unit: Unit,
    /// Where they come from.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub source: Option<String>,
}

/// The kind of answer.
#[derive(Clone, PartialEq, Debug, Serialize)]
#[serde(tag = "ask", rename_all = "snake_case")]
pub enum Question {
    /// One meter value.
    Reading {
        /// The meter's function.
        function: Function,
        /// Its limits.
        limits: Limits,
        /// Where the leads go.
        leads: Leads,
    },
    /// The value that the control module reports for a signal.
    ModuleValue {
        /// The signal, as a circuit file names it.
        signal: String,
        /// Its limits.
        limits: Limits,
    },
    /// The meter's own lowest and highest, recorded over a while.
    LowestHighest {
        /// The meter's function.
        function: Function,
        /// The limits of both.
        limits: Limits,
        /// Where the leads go.
        leads: Leads,
        /// The part that is moved, heated or loaded meanwhile.
        meanwhile: String,
    },
    /// Many readings while something is moved end to end.
    Sweep {
        /// The meter's function.
        function: Function,
        /// Where it should begin and end.
        ends: Ends,
        /// Where the leads go.
        leads: Leads,
        /// The part that is moved.
        moving: String,
    },
    /// Yes or no.
    YesNo,
    /// One of several.
    Choice {
        /// The options.
        options: Vec<String>,
    },
    /// Free text.
    Note,
    /// A value that no circuit answers: a length, a pressure, a torque, a temperature.
    Number {
        /// Its limits.
        limits: Limits,
    },
}

/// A question with its stable name and its words.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Prompt {
    /// Stable name.
    pub id: PromptId,
    /// Words; may change without breaking anything.
    pub text: String,
    /// The kind of answer.
    #[serde(flatten)]
    pub question: Question,
}

/// An answer; readings keep the typed text.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
#[serde(tag = "answer", rename_all = "snake_case")]
pub enum Answer {
    /// One value.
    Reading {
        /// As typed.
        typed: Arc<str>,
    },
    /// Two values.
    LowestHighest {
        /// As typed.
        lowest: String,
        /// As typed.
        highest: String,
    },
    /// The sweep is over; its readings are events of their own.
    Sweep {
        /// How many there were.
        readings: usize,
    },
    /// Yes or no.
    YesNo {
        /// Whether yes.
        yes: bool,
    },
    /// The option chosen.
    Choice {
        /// Its words.
        option: String,
    },
    /// Free text.
    Note {
        /// The words.
        words: String,
    },
    /// Left out.
    Skipped {
        /// Why.
        reason: String,
    },
}

impl Question {
    /// The unit of a bare number typed here; `None` where no number is asked for.
    pub fn unit(&self) -> Option<Unit> {
        match self {
            Self::Reading { limits, .. }
            | Self::ModuleValue { limits, .. }
            | Self::LowestHighest { limits, .. }
            | Self::Number { limits } => Some(limits.unit),
            Self::Sweep { ends, .. } => Some(ends.unit),
            Self::YesNo | Self::Choice { .. } | Self::Note => None,
        }
    }

    /// The answers from which one is chosen; none where something else is asked for.
    pub fn answers(&self) -> Vec<String> {
        match self {
            Self::YesNo => vec!["yes".to_owned(), "no".to_owned()],
            Self::Choice { options } => options.clone(),
            _ => vec![],
        }
    }

    /// Where the leads go, if anywhere.
    pub fn leads(&self) -> Option<&Leads> {
        match self {
            Self::Reading { leads, .. } | Self::LowestHighest { leads, .. } | Self::Sweep { leads, .. } => Some(leads),
            Self::ModuleValue { .. } | Self::YesNo | Self::Choice { .. } | Self::Note | Self::Number { .. } => None,
        }
    }

    /// What the meter is switched to, if one is read.
    pub fn function(&self) -> Option<Function> {
        match self {
            Self::Reading { function, .. } | Self::LowestHighest { function, .. } | Self::Sweep { function, .. } => {
                Some(*function)
            }
            Self::ModuleValue { .. } | Self::YesNo | Self::Choice { .. } | Self::Note | Self::Number { .. } => None,
        }
    }

    /// Whether an answer to `other` is also one to this: the same kind, quantity and points. Words and limits may differ.
    pub fn asks_the_same_as(&self, other: &Self) -> bool {
        let same_choice = match (self, other) {
            (Self::Choice { options: mine }, Self::Choice { options: theirs }) => mine == theirs,
            (Self::ModuleValue { signal: mine, .. }, Self::ModuleValue { signal: theirs, .. }) => mine == theirs,
            _ => std::mem::discriminant(self) == std::mem::discriminant(other),
        };
        same_choice
            && self.unit().map(Unit::dimension) == other.unit().map(Unit::dimension)
            && self.function() == other.function()
            && self.leads() == other.leads()
    }
}

impl Prompt {
    /// The question in few words: its kind, id, quantity and points.
    pub fn in_words(&self) -> String {
        let kind = match &self.question {
            Question::Reading { .. } => "the reading",
            Question::ModuleValue { .. } => "the module value",
            Question::LowestHighest { .. } => "the lowest and highest of",
            Question::Sweep { .. } => "the sweep",
            Question::YesNo => "the yes-or-no question",
            Question::Choice { .. } => "the choice",
            Question::Note => "the note",
            Question::Number { .. } => "the number",
        };
        let mut words = format!("{kind} `{}`", self.id);
        if let Some(unit) = self.question.unit() {
            words.push_str(&format!(" in {}", unit.without_prefix()));
        }
        let ends: Vec<_> =
            self.question.leads().map(Leads::ends).unwrap_or_default().into_iter().map(|(_, end)| &*end.name).collect();
        if !ends.is_empty() {
            words.push_str(&format!(" at {}", super::words::all(&ends)));
        }
        words
    }
}

impl Leads {
    /// The ends with the lead that goes there.
    pub fn ends(&self) -> Vec<(&'static str, &LeadEnd)> {
        match self {
            Self::Across { red, black } => vec![("red", red), ("black", black)],
            Self::Through { at } => vec![("in line", at)],
            Self::Clamp { at } => vec![("clamp round", at)],
            Self::Nowhere => vec![],
        }
    }
}
