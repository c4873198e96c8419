//! `possible`: the faults that the readings so far exclude and leave. The technician may then ask for the reading that would tell
//! most. Ohmwright shows neither unasked.

use crate::cli::terminal::person::Person;
use crate::model::record::Record;
use crate::report::still_possible as shown;
use crate::shop::still_possible::{Found, settled};

/// What comes after it.
pub(super) enum After {
    /// The prompt again.
    Prompt,
    /// The prompt, with a line that was typed for it.
    Line(String),
    /// The input ended.
    End,
}

impl Person {
    /// Shows what is still possible, and on request the reading that would tell most.
    pub(super) fn still_possible(&mut self) -> After {
        let Some(found) = self.found_possible().filter(|found| found.still.choices() > 1) else {
            return After::Prompt;
        };
        let asked = "1 the reading that would tell most, Enter: back to the prompt > ";
        match self.input.line(asked, &mut self.output) {
            None => return After::End,
            Some(line) if line.trim().is_empty() => return After::Prompt,
            Some(line) if line.trim() != "1" => return After::Line(line),
            Some(_) => {}
        }
        let width = self.output.width();
        match self.evidence.as_mut().map(|evidence| evidence.next(&found)) {
            Some(Ok(next)) => self.output.text(&shown::next(next.as_ref(), width)),
            Some(Err(error)) => self.indented(&error.to_string()),
            None => {}
        }
        After::Prompt
    }

    fn found_possible(&mut self) -> Option<Found> {
        let Ok(record) = Record::taking(self.entries.values().cloned()) else {
            self.indented("Nothing is recorded yet.");
            return None;
        };
        if self.evidence.is_none() {
            self.indented("Working out every single fault of the circuit. The first time takes some seconds.");
            match self.makes_evidence.as_ref().and_then(|make| make(settled(&self.meter), self.bench)) {
                Some(Ok(evidence)) => self.evidence = Some(evidence),
                Some(Err(error)) => {
                    self.indented(&error.to_string());
                    return None;
                }
                None => {}
            }
        }
        let Some(evidence) = &mut self.evidence else {
            self.indented("This procedure names no circuit, so that nothing can be worked out.");
            return None;
        };
        let found = match evidence.after(&record) {
            Ok(found) => found,
            Err(error) => {
                self.indented(&error.to_string());
                return None;
            }
        };
        let width = self.output.width();
        self.output.text(&shown::text(&found.still, true, width));
        Some(found)
    }
}
