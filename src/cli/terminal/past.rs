//! The earlier answers, for looking back and undoing.

use crate::model::limits::Verdict;
use crate::model::prompt::{Answer, Prompt, PromptId};
use crate::report::entry::answer_text;
use crate::report::verdict_line;
use std::collections::BTreeSet;

/// The answers that still count, in their order.
#[derive(Default)]
pub struct Past {
    given: Vec<Given>,
    ids: BTreeSet<PromptId>,
}

struct Given {
    id: PromptId,
    about: String,
    value: String,
    word: &'static str,
}

impl Past {
    /// One more.
    pub fn add(&mut self, prompt: &Prompt, answer: &Answer, verdict: Option<Verdict>) {
        self.ids.insert(prompt.id.clone());
        self.given.push(Given {
            id: prompt.id.clone(),
            about: prompt.text.clone(),
            value: answer_text(prompt, answer),
            word: verdict_line::word(prompt, answer, verdict).unwrap_or(""),
        });
    }

    /// The script begins anew: what still counts comes again.
    pub fn clear(&mut self) {
        self.given.clear();
        self.ids.clear();
    }

    /// The ids that can be undone by name.
    pub const fn ids(&self) -> &BTreeSet<PromptId> {
        &self.ids
    }

    /// The same in the order of the answers.
    pub fn in_order(&self) -> Vec<PromptId> {
        self.given.iter().map(|given| given.id.clone()).collect()
    }

    /// Whether nothing can be undone.
    pub const fn is_empty(&self) -> bool {
        self.given.is_empty()
    }

    /// The last answer in words.
    pub fn last(&self) -> Option<String> {
        self.given.last().map(|given| format!("{}: {} ({})", given.about, given.value, given.id))
    }

    /// A line for each answer.
    pub fn lines(&self) -> Vec<String> {
        let line = |given: &Given| {
            let word = if given.word.is_empty() { String::new() } else { format!("{}  ", given.word) };
            format!("{word}{}  {}: {}", given.value, given.id, given.about)
        };
        self.given.iter().map(line).collect()
    }
}
