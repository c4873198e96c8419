//! What a person sees of what is recorded, as it is written or read back.

use super::person::{Person, readings_in_a_line};
use crate::model::event::{Entry, Event};
use crate::model::limits::{Sureness, Verdict};
use crate::model::meter::assumed;
use crate::model::prompt::{Answer, Prompt, Question};
use crate::model::record::given::SweepReading;
use crate::model::typed::{self, Shown};
use crate::report::entry;
use crate::report::question;
use crate::report::sweep::sweep_words;
use crate::report::table::{harmless, wrapped};
use crate::report::verdict_line::{Beside, VerdictLine};

impl Person {
    /// The text beside a verdict's word.
    fn beside(&self, prompt: &Prompt, answer: &Answer, verdict: Option<Verdict>) -> (Option<Verdict>, Beside) {
        if let Some((verdict, accuracy)) = assumed::verdict(prompt, answer, verdict) {
            return (Some(verdict), Beside { accuracy: Some(accuracy), assumed: true, example: self.example });
        }
        let value = |text: &str| match typed::read_reading(text, prompt.question.unit()?) {
            Ok(Shown::Value(value)) => Some(value),
            _ => None,
        };
        let accuracy = match (verdict.map(|verdict| verdict.sureness), answer) {
            (Some(Sureness::Unsure { accuracy }), _) => Some(accuracy),
            (Some(Sureness::Sure), Answer::Reading { typed }) => prompt
                .question
                .function()
                .zip(value(typed))
                .and_then(|(function, value)| self.meter.accuracy(function, value).ok()),
            _ => None,
        };
        (verdict, Beside { accuracy, assumed: false, example: self.example })
    }

    /// Keeps up with what there is to go back to, and with the sweep that is being taken. Gives the readings of a sweep that
    /// is answered.
    fn follow(&mut self, event: &Event) -> Vec<SweepReading> {
        match event {
            // What still stands comes again from the top.
            Event::Struck { reading: None, .. } | Event::Changed { .. } => {
                self.sweep.clear();
                self.past.clear();
            }
            Event::SweepRead { text, position, .. } => {
                self.sweep.push(SweepReading { text: text.clone(), position: position.clone() });
            }
            Event::Struck { reading: Some(_), .. } => _ = self.sweep.pop(),
            Event::Answered { prompt, answer, verdict, .. } => {
                self.past.add(prompt, answer, *verdict);
                return std::mem::take(&mut self.sweep);
            }
            _ => {}
        }
        vec![]
    }

    /// An entry of the record that is taken up; a sweep in one piece, once it is whole.
    fn show_again(&mut self, entry: &Entry, sweep: &[SweepReading]) {
        match &entry.event {
            Event::SweepRead { .. } => {}
            Event::Answered { prompt, answer: Answer::Sweep { .. }, .. } => {
                if let Question::Sweep { ends, .. } = &prompt.question {
                    let (tone, words) = sweep_words(sweep, &SweepReading::shown(sweep, ends.unit), ends);
                    let text = format!("{}: {}: {words}", prompt.text, readings_in_a_line(sweep, ends.unit));
                    let width = self.output.width();
                    self.output.toned(tone, &wrapped(&harmless(&text), width, "  ", "    "));
                }
            }
            _ => self.show_entry(entry),
        }
    }

    fn show_entry(&mut self, entry: &Entry) {
        if let Some((tone, text)) = entry::line(entry, self.points.as_deref()) {
            let width = self.output.width();
            self.output.toned(tone, &wrapped(&text, width, "  ", "    "));
        }
    }

    /// The script runs again over what still stands.
    fn begin_again(&mut self) {
        self.step = 0;
        self.step_shown.clear();
        self.show_all_again();
        self.replaying = false;
    }

    pub(super) fn recorded(&mut self, entry: &Entry, replayed: bool) {
        let sweep = self.follow(&entry.event);
        if replayed {
            if self.replaying {
                self.show_again(entry, &sweep);
            }
            if let Event::StepBegan { title, .. } = &entry.event {
                self.step += 1;
                self.step_shown = title.clone();
            }
            return;
        }
        match &entry.event {
            Event::Answered { prompt, answer, verdict, origin } => {
                if origin.is_carried_over() {
                    self.show_entry(entry);
                } else if let (Question::Note, Answer::Skipped { reason }) = (&prompt.question, answer) {
                    // Where it could have been meant as text, it is seen.
                    self.indented(&format!("left out: {reason}"));
                } else if let (Question::Sweep { ends, .. }, Answer::Sweep { .. }) = (&prompt.question, answer) {
                    let (tone, words) = sweep_words(&sweep, &SweepReading::shown(&sweep, ends.unit), ends);
                    let (word, rest) = words.split_once(", ").unwrap_or((&words, ""));
                    let text = question::with_label(&word.to_uppercase(), rest, self.output.width());
                    self.output.verdict(tone, &word.to_uppercase(), &text);
                } else {
                    // As it was understood: a slip of the unit or of the point is seen before it is gone.
                    let (verdict, beside) = self.beside(prompt, answer, *verdict);
                    if let Some(line) = VerdictLine::of(prompt, answer, verdict, beside) {
                        self.show_verdict(&line);
                    }
                }
            }
            Event::Acted { already: true, .. } | Event::Noted { .. } => {
                self.show_entry(entry);
            }
            Event::Struck { id, reading: Some(reading), .. } => {
                self.indented(&format!("the reading {reading} of `{id}` is undone"));
            }
            Event::Struck { id, .. } => {
                self.say(&format!("Undone: `{id}` and all later answers. What was done at the vehicle stays done."));
                self.begin_again();
            }
            Event::Changed { .. } => self.begin_again(),
            _ => {}
        }
    }
}
