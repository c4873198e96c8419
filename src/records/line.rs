//! Reads a journal line by line. A format belongs to a sitting: it is named where the record begins and where it goes on.

use super::format1;
use crate::model::answered_by::AnsweredBy;
use crate::model::event::{Entry, Event};
use crate::model::format::{BEHAVIOR, FIRST_FORMAT, FORMAT};
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

/// A newer program's line: it is neither judged nor called damaged.
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
        // Looked through as a whole, its texts need not be one by one.
        let read = match std::str::from_utf8(line) {
            Ok(text) => serde_json::from_str(text),
            Err(_) => serde_json::from_slice(line),
        };
        let mut entry: Entry = read.map_err(|error| LineProblem::Unreadable(error.to_string()))?;
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
                if !same || entry.event.is_of_format_1() {
                    return Err(LineProblem::NotAsWritten);
                }
            }
        }
        Ok(entry)
    }
}

/// Whether the line may begin a sitting: most need not be read twice for it.
fn begins_a_sitting(line: &[u8]) -> bool {
    // The kind stands near the beginning, after the time and perhaps an id.
    let mut head = &line[..line.len().min(HEAD)];
    while let Some(at) = head.iter().position(|byte| *byte == b'"') {
        head = &head[at + 1..];
        if head.starts_with(b"started\"") || head.starts_with(b"continued\"") {
            return true;
        }
    }
    false
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::answered_by::AnsweredBy;
    use crate::model::id::RecordId;
    use crate::model::origin::Origin;
    use crate::model::stamp::Stamp;
    use crate::model::started::{Continued, Started};

    const AT: &str = "2026-01-05T08:00:00Z";

    fn line(event: Event) -> String {
        serde_json::to_string(&Entry::new(Stamp::new(AT), event)).unwrap()
    }

    fn started(format: u32, behavior: u32) -> String {
        let record = (format > FIRST_FORMAT).then_some(RecordId::new(1));
        let started = Started { format, behavior, record, ..Started::of("p", "P", 1, AnsweredBy::Person) };
        line(Event::Started(Box::new(started)))
    }

    fn sweep_read(origin: &str) -> String {
        format!(r#"{{"at":"{AT}","event":"sweep_read","id":"a","text":"1.5"{origin}}}"#)
    }

    fn read(lines: &[&str]) -> Result<Vec<Entry>, LineProblem> {
        let mut reader = LineReader::new();
        lines.iter().map(|line| reader.read(line.as_bytes())).collect()
    }

    const FORMAT_1: &str = r#"{"at":"2026-01-05T08:00:00Z","event":"started","format":1,"program":"ohmwright 0.1.0","procedure":"p","title":"P","revision":1,"sources":[],"answered_by":"table","job":{},"vehicle":{}}"#;

    #[test]
    fn a_line_of_format_2_is_taken_only_as_it_would_be_written() {
        let begun = started(FORMAT, BEHAVIOR);
        let good = sweep_read(r#","origin":{"from":"typed"}"#);
        assert!(read(&[&begun, &good]).is_ok());
        let paused = |fields: &str| format!(r#"{{"at":"{AT}","event":"paused"{fields}}}"#);
        for other in [
            sweep_read(""),
            sweep_read(r#","origin":{"from":"typed"},"more":1"#),
            sweep_read(r#","origin":{"from":"not_said"}"#),
            sweep_read(r#","origin": {"from":"typed"}"#),
            format!(r#"{{"at":"{AT}","event":"sweep_read","text":"1.5","id":"a","origin":{{"from":"typed"}}}}"#),
            paused(r#","event":"paused""#),
            paused(r#","more":{}"#),
            format!(" {}", paused("")),
        ] {
            let problem = read(&[&begun, &other]).unwrap_err();
            assert!(matches!(problem, LineProblem::NotAsWritten | LineProblem::Unreadable(_)), "{other}: {problem}");
        }
    }

    #[test]
    fn a_format_belongs_to_a_sitting() {
        let continued = line(Event::Continued(Box::new(Continued::here(None, None, AnsweredBy::Person))));
        let entries = read(&[FORMAT_1, &sweep_read(""), &continued, &sweep_read(r#","origin":{"from":"typed"}"#)]);
        let origins: Vec<Origin> = entries
            .unwrap()
            .into_iter()
            .filter_map(|entry| match entry.event {
                Event::SweepRead { origin, .. } => Some(origin),
                _ => None,
            })
            .collect();
        assert_eq!(origins, [Origin::Table, Origin::TYPED]);
        // What format 1 leaves out is missing from there on.
        assert_eq!(read(&[FORMAT_1, &continued, &sweep_read("")]), Err(LineProblem::NotAsWritten));
    }

    #[test]
    fn a_newer_program_is_named_and_nothing_of_it_is_read() {
        for newer in [started(FORMAT + 1, 0), started(FORMAT, BEHAVIOR + 1)] {
            let newer = newer.replace(r#""event":"started""#, r#""event":"started","novelty":[1]"#);
            let problem = read(&[&newer]).unwrap_err();
            assert!(problem.to_string().starts_with("written by a newer ohmwright (ohmwright "), "{problem}");
        }
        let sitting = Continued { behavior: BEHAVIOR + 1, ..Continued::here(None, None, AnsweredBy::Person) };
        let continued = line(Event::Continued(Box::new(sitting)));
        let mut reader = LineReader::new();
        assert!(reader.read(started(FORMAT, BEHAVIOR).as_bytes()).is_ok());
        for line in [&*continued, r#"{"at":"x","event":"something new"}"#] {
            assert!(matches!(reader.read(line.as_bytes()), Err(LineProblem::Newer(_))), "{line}");
        }
    }
}
