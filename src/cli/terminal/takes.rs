//! The lines that a prompt takes.

use crate::model::unit::Unit;

/// The lines that this kind of prompt takes, besides those of every prompt.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Takes {
    /// Enter: it is done.
    Done,
    /// An action and its reading in one.
    DoneAndReading(Unit),
    /// A value.
    Reading(Unit),
    /// The lowest and the highest.
    TwoReadings(Unit),
    /// Readings until Enter.
    Sweep(Unit),
    /// Yes or no.
    YesNo,
    /// One of so many.
    Choice(usize),
    /// Text.
    Note,
    /// `+` accepts the doubted value, another value replaces it.
    Doubt(Option<Unit>),
    /// Enter accepts the conclusion.
    End,
}

impl Takes {
    /// The unit of a number that is typed here.
    pub const fn unit(self) -> Option<Unit> {
        match self {
            Self::DoneAndReading(unit) | Self::Reading(unit) | Self::TwoReadings(unit) | Self::Sweep(unit) => {
                Some(unit)
            }
            Self::Doubt(unit) => unit,
            Self::Done | Self::YesNo | Self::Choice(_) | Self::Note | Self::End => None,
        }
    }

    /// Whether it can be skipped.
    pub const fn can_be_skipped(self) -> bool {
        !matches!(self, Self::End)
    }

    /// What help says of it.
    pub fn help(self, simulated: bool) -> Vec<(&'static str, String)> {
        let of_unit = |unit: Unit| {
            let unit = if unit.to_string().is_empty() { String::new() } else { format!(" in {unit}") };
            vec![
                ("12.3", format!("the reading{unit}; 370m or 1.2M with a prefix; 0,37 is 0.37")),
                ("* or OL", "the meter shows over range; -* the same below zero".to_owned()),
                ("9 ... 12", "it does not rest: lowest ... highest".to_owned()),
            ]
        };
        let enter = |what: &str| ("Enter", what.to_owned());
        let mut rows = match self {
            Self::Done => vec![enter("it is done")],
            Self::DoneAndReading(unit) => [vec![enter("it is done")], of_unit(unit)].concat(),
            Self::Reading(unit) => of_unit(unit),
            Self::TwoReadings(_) => vec![("4.9 5.1", "the lowest and the highest".to_owned())],
            Self::Sweep(_) => vec![
                ("0.5 0.9", "one reading a line, or many with spaces between".to_owned()),
                ("0.5 @ half", "a reading and where the part stood".to_owned()),
                enter("the sweep ends"),
            ],
            Self::YesNo => vec![("1 or yes", "yes".to_owned()), ("2 or no", "no".to_owned())],
            Self::Choice(count) => vec![("1", format!("the first one; the last one is {count}; or its words"))],
            Self::Note => vec![
                ("words", "the note".to_owned()),
                ("\"skip …\"", "a note that begins with one of the words below".to_owned()),
            ],
            Self::Doubt(_) => vec![("+", "the value counts as it is".to_owned()), ("12.3", "another value".to_owned())],
            Self::End => vec![enter("the conclusion is accepted")],
        };
        if simulated && matches!(self, Self::Reading(_) | Self::TwoReadings(_) | Self::DoneAndReading(_)) {
            rows.insert(0, enter("connect the leads and read"));
        }
        rows
    }
}
