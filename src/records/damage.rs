//! What is not as it was signed: which line, and what it is.

use crate::model::words;
use crate::records::bounded::MOST_SIGN_OFFS;
use crate::run::signature::Broken;
use std::fmt;

/// Something about the lines that is not as it was signed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Problem {
    /// A line that is no event.
    Unreadable {
        /// Its number.
        line: usize,
        /// Why.
        problem: String,
    },
    /// Lines without anything in them.
    Empty {
        /// The first.
        first: usize,
        /// How many more there are, there or further down.
        more: usize,
    },
    /// There are more sign-offs than a record has.
    SignOffs {
        /// The line of the first that is too many.
        line: usize,
    },
    /// A line is other than it was.
    Changed {
        /// Its number.
        line: usize,
        /// What it is now.
        what: String,
    },
    /// Lines are missing.
    Dropped {
        /// The line before them; 0 for the beginning.
        after: usize,
        /// How many.
        count: usize,
    },
    /// Lines too many.
    Inserted {
        /// The first and what it is.
        first: (usize, String),
        /// How many.
        count: usize,
    },
    /// Lines in another order.
    Reordered {
        /// First.
        first: usize,
        /// Last.
        last: usize,
        /// What they are.
        what: Vec<String>,
    },
    /// Several changes at once.
    Block {
        /// First line.
        first: usize,
        /// Last line.
        last: usize,
        /// How many there were.
        were: usize,
        /// What they are now.
        what: Vec<String>,
    },
    /// The statement or its signature was changed.
    Signature {
        /// The statement's line.
        line: usize,
        /// Who stated.
        name: String,
        /// What is wrong.
        why: Broken,
    },
    /// A signature with no statement above it.
    Alone {
        /// Its line.
        line: usize,
    },
    /// The journal does not begin with the start of a run.
    NoStart,
}

impl Problem {
    /// The line that it is about.
    pub const fn line(&self) -> usize {
        match self {
            Self::NoStart => 1,
            Self::Empty { first: line, .. }
            | Self::SignOffs { line }
            | Self::Unreadable { line, .. }
            | Self::Changed { line, .. }
            | Self::Signature { line, .. }
            | Self::Alone { line } => *line,
            Self::Dropped { after, .. } => *after + 1,
            Self::Inserted { first: (first, _), .. } | Self::Reordered { first, .. } | Self::Block { first, .. } => {
                *first
            }
        }
    }
}

fn range(first: usize, last: usize) -> String {
    if first == last { format!("line {first}") } else { format!("lines {first} to {last}") }
}

fn listed(what: &[String]) -> String {
    const MOST: usize = 4;
    let mut shown: Vec<_> = what.iter().take(MOST).cloned().collect();
    if what.len() > MOST {
        shown.push(words::count(what.len() - MOST, "other", "others"));
    }
    words::all(&shown)
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoStart => f.write_str("line 1 is not the start of a run"),
            Self::Unreadable { line, problem } => write!(f, "line {line} can't be read: {problem}"),
            Self::Empty { first, more: 0 } => write!(f, "line {first} is empty"),
            Self::Empty { first, more } => write!(f, "line {first} is empty, and {more} more"),
            Self::SignOffs { line } => {
                write!(f, "line {line} is one sign-off too many: a record has at most {MOST_SIGN_OFFS}")
            }
            Self::Changed { line, what } => write!(f, "line {line} was changed after it was signed: {what}"),
            Self::Dropped { after: 0, count } => {
                write!(f, "{} missing before line 1", words::count(*count, "line is", "lines are"))
            }
            Self::Dropped { after, count } => {
                write!(f, "{} missing after line {after}", words::count(*count, "line is", "lines are"))
            }
            Self::Inserted { first: (first, what), count: 1 } => write!(f, "line {first} was put in: {what}"),
            Self::Inserted { first: (first, what), count } => {
                write!(f, "{} were put in, from line {first} on: {what} …", words::count(*count, "line", "lines"))
            }
            Self::Reordered { first, last, what } => {
                write!(f, "{} were put into another order: {}", range(*first, *last), listed(what))
            }
            Self::Block { first, last, were, what } => write!(
                f,
                "{} stand where {} signed: {}",
                range(*first, *last),
                words::count(*were, "other line was", "other lines were"),
                listed(what)
            ),
            Self::Signature { line, name, why } => write!(
                f,
                "line {line} (the statement of {name}) or line {} (its signature) was changed: {why}",
                line + 1
            ),
            Self::Alone { line } => write!(f, "line {line} is a signature with no statement above it"),
        }
    }
}
