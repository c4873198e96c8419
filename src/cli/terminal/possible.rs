//! `possible`: the faults that the readings so far exclude and leave. The technician may then ask for the reading that would tell
//! most. Ohmwright shows neither unasked.

use crate::cli::terminal::person::Person;
use crate::model::record::Record;
use crate::report::still_possible as shown;
use crate::shop::still_possible::settled;

impl Person {
    pub(super) fn still_possible(&mut self) {
        let Ok(record) = Record::taking(self.entries.values().cloned()) else {
            return self.indented("Nothing is recorded yet.");
        };
        if self.evidence.is_none() {
            self.indented("Working out every single fault of the circuit. The first time takes some seconds.");
            match self.makes_evidence.as_ref().and_then(|make| make(settled(&self.meter), self.bench)) {
                Some(Ok(evidence)) => self.evidence = Some(evidence),
                Some(Err(error)) => return self.indented(&error.to_string()),
                None => {}
            }
        }
        let Some(evidence) = &mut self.evidence else {
            return self.indented("This procedure names no circuit, so that nothing can be worked out.");
        };
        let found = match evidence.after(&record) {
            Ok(found) => found,
            Err(error) => return self.indented(&error.to_string()),
        };
        let width = self.output.width();
        self.output.text(&shown::text(&found.still, true, width));
        if found.still.choices() < 2 {
            return;
        }
        let wants =
            self.input.line("1 the reading that would tell most, Enter: back to the prompt > ", &mut self.output);
        if wants.as_deref().map(str::trim) != Some("1") {
            return;
        }
        let next = self.evidence.as_mut().map(|evidence| evidence.next(&found));
        match next {
            Some(Ok(next)) => self.output.text(&shown::next(next.as_ref(), width)),
            Some(Err(error)) => self.indented(&error.to_string()),
            None => {}
        }
    }
}
