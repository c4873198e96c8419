//! The answers that a script asked about.

use crate::model::prompt::PromptId;

/// The prompts whose answers a script asked about, the one that it asked about last at the end.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct AskedAbout {
    ids: Vec<PromptId>,
    /// From here on: asked about since the last answer was given.
    since: usize,
}

impl AskedAbout {
    /// The script asked what this answer is.
    pub fn ask(&mut self, id: &PromptId) {
        // Nearly always the one that it asked about just now.
        if self.since < self.ids.len() && self.ids.last() == Some(id) {
            return;
        }
        let known = self.ids.iter().position(|known| known == id);
        if let Some(index) = known {
            self.since -= usize::from(index < self.since);
        }
        let id = known.map_or_else(|| id.clone(), |index| self.ids.remove(index));
        self.ids.push(id);
    }

    /// An answer was given to the script.
    pub const fn answered(&mut self) {
        self.since = self.ids.len();
    }

    /// Those that it asked about before the last answer was given, in their order.
    pub fn before(&self) -> &[PromptId] {
        self.ids.get(..self.since).unwrap_or_default()
    }

    /// Those that it asked about since: what it did then hung on them.
    pub fn last(&self) -> &[PromptId] {
        self.ids.get(self.since..).unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_asked_about_since_the_last_answer_stands_last() {
        let id = |name: &str| PromptId::new(name);
        let mut asked = AskedAbout::default();
        asked.answered();
        asked.ask(&id("a"));
        asked.answered();
        asked.ask(&id("b"));
        asked.ask(&id("b"));
        asked.answered();
        assert_eq!((asked.before(), asked.last()), (&[id("a"), id("b")][..], &[][..]));
        // The last way hangs on the newest answer and on one of long ago.
        asked.ask(&id("c"));
        asked.ask(&id("a"));
        asked.ask(&id("c"));
        assert_eq!((asked.before(), asked.last()), (&[id("b")][..], &[id("a"), id("c")][..]));
    }
}
