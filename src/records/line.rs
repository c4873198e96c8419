//! Reads a journal line by line. A format belongs to a sitting: it is named where the record begins and where it goes on.

use super::format1;
use crate::model::ending::{Ending, Why};
use crate::model::event::{AnsweredBy, BEHAVIOR, Entry, Event, FIRST_FORMAT, FORMAT};
use crate::model::origin::Origin;
use serde::Deserialize;
use std::borrow::Cow;
use std::fmt;

/// Why a line can't be taken.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum LineProblem {
    /// Nothing stands in it.
    Empty,
    /// It is no event.
    Unreadable(String),
    /// It says what an event says, and this program would write it differently.
    NotAsWritten,
    /// It belongs to a sitting of a newer program.
    Newer(Newer),
}

/// What a newer program wrote: it is neither judged nor called damaged.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Newer {
    /// Program and version, if it says so.
    pub program: Option<String>,
    /// Its journal format.
    pub format: u32,
    /// Its behavior.
    pub behavior: u32,
}

impl fmt::Display for Newer {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { program, format, behavior } = self;
        f.write_str("written by a newer ohmwright")?;
        if let Some(program) = program.as_ref().filter(|program| program.len() <= LONGEST_PROGRAM) {
            write!(f, " ({program})")?;
        }
        write!(f, ": format {format}, behavior {behavior}; this one reads format {FORMAT}, behavior {BEHAVIOR}")
    }
}

/// No program has a longer name.
const LONGEST_PROGRAM: usize = 64;

impl fmt::Display for LineProblem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Empty => f.write_str("it is empty"),
            Self::Unreadable(problem) => f.write_str(problem),
            Self::NotAsWritten => {
                f.write_str("it has unknown, repeated or reordered fields, which ohmwright never writes")
            }
            Self::Newer(newer) => newer.fmt(f),
        }
    }
}

/// Which rules the lines of a sitting follow.
#[derive(Clone, Debug)]
enum Sitting {
    /// Of a program that knew format 1.
    First(AnsweredBy),
    /// Of a program like this one.
    Known,
    /// Of a newer one.
    Newer(Newer),
}

/// What every start of a sitting has, whatever else a newer program writes into it.
#[derive(Deserialize)]
struct Head<'a> {
    #[serde(borrow)]
    event: Cow<'a, str>,
    format: Option<u32>,
    #[serde(default)]
    behavior: u32,
    #[serde(default, borrow)]
    program: Option<Cow<'a, str>>,
}

/// Reads a journal's lines in their order.
#[derive(Clone, Debug, Default)]
pub struct LineReader {
    sitting: Option<Sitting>,
    written: Vec<u8>,
}

impl LineReader {
    /// From the first line of a journal.
    pub fn new() -> Self {
        Self::default()
    }

    /// Reads the next line, without its line end.
    ///
    /// # Errors
    /// The line is no event, or not as this program writes it, or belongs to a newer program.
    pub fn read(&mut self, line: &[u8]) -> Result<Entry, LineProblem> {
        if line.is_empty() {
            return Err(LineProblem::Empty);
        }
        if begins_a_sitting(line)
            && let Some(newer) = newer(line)
        {
            self.sitting = Some(Sitting::Newer(newer));
        }
        if let Some(Sitting::Newer(newer)) = &self.sitting {
            return Err(LineProblem::Newer(newer.clone()));
        }
        let mut entry: Entry =
            serde_json::from_slice(line).map_err(|error| LineProblem::Unreadable(error.to_string()))?;
        match &entry.event {
            Event::Started(started) if started.format == FIRST_FORMAT => {
                self.sitting = Some(Sitting::First(started.answered_by));
            }
            Event::Started(_) | Event::Continued(_) => self.sitting = Some(Sitting::Known),
            _ => {}
        }
        match &self.sitting {
            Some(Sitting::First(answered_by)) => format1::fill_in(&mut entry, *answered_by),
            // What was signed without a start is damage of its own, which is said elsewhere.
            None => {}
            Some(_) => {
                self.written.clear();
                let same = serde_json::to_writer(&mut self.written, &entry).is_ok() && self.written == line;
                if !same || is_of_format_1(&entry.event) {
                    return Err(LineProblem::NotAsWritten);
                }
            }
        }
        Ok(entry)
    }
}

/// Whether the line may begin a sitting: most need not be read twice for it.
fn begins_a_sitting(line: &[u8]) -> bool {
    const STARTED: &[u8] = b"\"started\"";
    const CONTINUED: &[u8] = b"\"continued\"";
    // The kind stands near the beginning, after the time and perhaps an id.
    let head = &line[..line.len().min(HEAD)];
    head.windows(STARTED.len()).any(|part| part == STARTED)
        || head.windows(CONTINUED.len()).any(|part| part == CONTINUED)
}

/// So far into a line its kind begins at the latest.
const HEAD: usize = 160;

fn newer(line: &[u8]) -> Option<Newer> {
    let head: Head<'_> = serde_json::from_slice(line).ok()?;
    let format = head.format?;
    let begins = matches!(&*head.event, "started" | "continued");
    let is_newer = begins && (format > FORMAT || format == FORMAT && head.behavior > BEHAVIOR);
    is_newer.then(|| Newer { program: head.program.map(Cow::into_owned), format, behavior: head.behavior })
}

/// What only a reader of format 1 makes.
const fn is_of_format_1(event: &Event) -> bool {
    match event {
        Event::Answered { origin, .. } | Event::SweepRead { origin, .. } => matches!(origin, Origin::NotSaid),
        Event::Ended { ending: Ending::Unfinished { why, .. } } => {
            matches!(why, Why::InWords { .. } | Why::NotDoneInWords { .. })
        }
        _ => false,
    }
}
