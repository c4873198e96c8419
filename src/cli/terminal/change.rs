//! Changes an answer: which one, its new value, and why.

use super::person::Person;
use crate::model::prompt::PromptId;
use crate::report::table::harmless;
use crate::run::reply::Form;

impl Person {
    /// Asks which answer to change, and how; `None` if the technician changes nothing after all.
    pub(super) fn change(&mut self, named: &str) -> Option<Form> {
        let ids: Vec<PromptId> = self.past.in_order();
        if ids.is_empty() {
            self.indented("There is no answer yet that could be changed.");
            return None;
        }
        let id = if named.is_empty() { self.which(&ids)? } else { PromptId::new(named) };
        if !ids.contains(&id) {
            self.indented(&format!("`{}` is not answered yet.", harmless(id.as_str())));
            return None;
        }
        self.indented("1  I mistyped it: the value is changed, nothing is measured");
        self.indented("2  measure it again");
        let new = match self.typed("  number > ")?.as_str() {
            "1" => Some(self.typed("  what was meant > ")?.into()),
            "2" => None,
            _ => {
                self.indented("Type 1 or 2. Nothing is changed.");
                return None;
            }
        };
        let reason = self.typed("  why > ")?;
        Some(Form::Change { id, new, reason })
    }

    fn which(&mut self, ids: &[PromptId]) -> Option<PromptId> {
        let lines = self.past.lines();
        for (index, id) in ids.iter().enumerate() {
            self.indented(&format!("{}  {}", index + 1, lines.get(index).map_or(id.as_str(), String::as_str)));
        }
        let typed = self.typed("  which answer? > ")?;
        let numbered = typed.parse::<usize>().ok().and_then(|number| ids.get(number.checked_sub(1)?));
        Some(numbered.cloned().unwrap_or_else(|| PromptId::new(typed)))
    }

    /// The typed text; `None` if Enter alone, or the end of the input, leaves the answer as it is.
    fn typed(&mut self, prompt: &str) -> Option<String> {
        let typed = self.input.line(prompt, &mut self.output)?;
        let typed = typed.trim();
        if typed.is_empty() {
            self.indented("Nothing is changed.");
            return None;
        }
        Some(typed.to_owned())
    }
}
