//! The columns of a table: of the job, of the vehicle's state, of a simulated circuit, and prompts by id.

use crate::model::diagnostic::Diagnostic;
use crate::model::prompt::PromptId;
use crate::model::words;
use crate::script::check::PromptIds;
use crate::shop::error::ShopError;
use crate::shop::loaded::Loaded;
use crate::shop::vehicle_state::state_parts;

const JOB_COLUMNS: [&str; 9] =
    ["vehicle", "nominal", "odometer", "concern", "verified", "codes", "technician", "meter", "conditions"];
/// Before a prompt's id where a column of the job or of the vehicle's state has the same name.
const ANSWER: &str = "answer.";
/// The faults of a row's simulated vehicle.
pub const FAULT: &str = "fault";
/// Which simulated vehicle of many a row stands for.
pub const SEED: &str = "seed";

/// The columns of one table.
pub struct Columns {
    names: Vec<String>,
    bench: bool,
}

impl Columns {
    /// Of a header. A column that is neither known nor asked for by the procedure is refused before any row.
    pub fn of(file: &str, names: Vec<String>, loaded: &Loaded, bench: bool) -> Result<Self, ShopError> {
        let columns = Self { names, bench };
        let header_text = columns.names.join(",");
        let mut at = 0;
        let ids = loaded.procedure.prompt_ids();
        for (index, column) in columns.names.iter().enumerate() {
            if let Some((title, hint)) = columns.problem(index, column, &loaded.procedure.name, &ids) {
                let mut diagnostic = Diagnostic::at(file, &header_text, at..at + column.len(), title);
                diagnostic.hint = hint;
                return Err(ShopError::input(diagnostic));
            }
            at += column.len() + 1;
        }
        Ok(columns)
    }

    /// What is wrong with a column, and what to do.
    fn problem(
        &self,
        index: usize,
        column: &str,
        procedure: &str,
        ids: &PromptIds,
    ) -> Option<(String, Option<String>)> {
        if column.is_empty() {
            let hint = "write a prompt's id above it, or take the column out";
            return Some((format!("column {} has no name", index + 1), Some(hint.to_owned())));
        }
        if self.names[..index].iter().any(|name| name == column) {
            return Some((format!("the column `{column}` is there twice"), Some("keep one of them".to_owned())));
        }
        if self.bench && column == "meter" {
            let hint = "leave the column out: a simulated circuit is measured with a meter of its own";
            return Some(("the column `meter` has no use on a simulated circuit".to_owned(), Some(hint.to_owned())));
        }
        let id = self.prompt_of(column);
        if self.is_known(column) || id.is_some_and(|id| PromptId::is_plain(id) && ids.may_be(id)) {
            return None;
        }
        let title = format!("the column `{column}` is neither a prompt of `{procedure}` nor anything about the job");
        if [FAULT, SEED].contains(&column) {
            return Some((title, Some("it belongs to a simulated circuit: --simulate CIRCUIT".to_owned())));
        }
        if let Some(id) = id.filter(|id| !PromptId::is_plain(id))
            && words::nearest(id, ids.literal.iter().map(String::as_str)).is_none()
        {
            let hint = "a prompt's id has small letters, digits and _ only; write it alone, without the unit";
            return Some((title, Some(hint.to_owned())));
        }
        let known: Vec<&str> = self.known().collect();
        let all = ids.literal.iter().map(String::as_str).chain(known);
        let hint = match words::nearest(column, all) {
            Some(name) => format!("did you mean `{name}`?"),
            None if ids.literal.is_empty() => {
                "this procedure puts the ids of its prompts together: run it once to see them".to_owned()
            }
            None => {
                let all = ids.literal.iter().cloned().collect::<Vec<_>>().join(", ");
                // What is put together is known only once it is asked.
                let more = if ids.fragments.is_empty() {
                    ""
                } else {
                    "; and others, whose ids it puts together: run it once to see them"
                };
                format!("prompts of this procedure: {all}{more}")
            }
        };
        Some((title, Some(hint)))
    }

    fn known(&self) -> impl Iterator<Item = &'static str> {
        let simulated: &[&str] = if self.bench { &[FAULT, SEED] } else { &[] };
        JOB_COLUMNS.into_iter().chain(state_parts()).chain(simulated.iter().copied())
    }

    fn is_known(&self, column: &str) -> bool {
        self.known().any(|known| known == column)
    }

    /// The prompt that a column answers; `None` where it says something of the job or the vehicle.
    pub fn prompt_of<'c>(&self, column: &'c str) -> Option<&'c str> {
        column.strip_prefix(ANSWER).or_else(|| (!self.is_known(column)).then_some(column))
    }

    /// The column that answers a prompt, whether it is there or not.
    pub fn of_prompt(&self, id: &str) -> String {
        let marked = format!("{ANSWER}{id}");
        if self.is_known(id) || self.names.contains(&marked) { marked } else { id.to_owned() }
    }

    /// Their names, in order.
    pub fn names(&self) -> &[String] {
        &self.names
    }

    /// A cell with something in it.
    pub fn cell(&self, record: &csv::StringRecord, column: &str) -> Option<String> {
        let index = self.names.iter().position(|name| name == column)?;
        record.get(index).filter(|text| !text.is_empty()).map(str::to_owned)
    }
}
