//! Asking: one question, its doubts and its answer, from the journal or from whoever answers.

use super::answerer::Reply;
use super::doubt;
use super::session::{Session, diverged};
use super::stop::{Misuse, Stop};
use crate::model::caution::Method;
use crate::model::event::{Doubt, Event};
use crate::model::limits::{Limits, NoAccuracy, Verdict};
use crate::model::prompt::{Answer, Prompt, PromptId, Question};
use crate::model::record::SweepReading;
use crate::model::typed::{self, Shown};
use crate::model::unit::Unit;

/// An answer with its meaning.
#[derive(Clone, PartialEq, Debug)]
pub struct Asked {
    /// The prompt's name.
    pub id: PromptId,
    /// As recorded.
    pub answer: Answer,
    /// What was shown: one value of a reading, two of lowest and highest, all of a sweep.
    pub shown: Vec<Shown>,
    /// The readings of a sweep, as typed.
    pub sweep: Vec<SweepReading>,
    /// The verdict, where there are limits.
    pub verdict: Option<Verdict>,
}

/// How an answer fits its question.
enum Taken {
    /// It does.
    Yes(Box<Asked>),
    /// It can't be taken, in words.
    No(String),
}

impl Session {
    /// Asks one question.
    ///
    /// # Errors
    /// Whatever keeps it from being answered.
    pub fn ask(&mut self, prompt: Prompt) -> Result<Asked, Stop> {
        self.claim(&prompt.id)?;
        let mut sweep = Taking::default();
        let mut doubted: Option<(String, Doubt)> = None;
        while self.next_replayed()? {
            let Some((line, entry)) = self.replay.pop() else { break };
            match &entry.event {
                Event::SweepRead { id, text, position } if *id == prompt.id => {
                    sweep.push(line, SweepReading { text: text.clone(), position: position.clone() });
                    self.answerer.recorded(&entry, true);
                }
                Event::Doubted { id, typed, doubt } if *id == prompt.id => {
                    doubted = Some((typed.clone(), doubt.clone()));
                    self.answerer.recorded(&entry, true);
                }
                Event::Answered { prompt: recorded, answer, verdict, .. }
                    if recorded.id == prompt.id && recorded.question.asks_the_same_as(&prompt.question) =>
                {
                    self.answerer.recorded(&entry, true);
                    return self.understand(&prompt, answer.clone(), sweep.readings, *verdict, line);
                }
                other => {
                    let attempted = asked_for(&prompt);
                    return Err(diverged(line, other, &attempted));
                }
            }
        }
        let methods = Method::of_question(&prompt.question);
        self.caution(None, &methods)?;
        if matches!(prompt.question, Question::Sweep { .. }) {
            self.ask_sweep(prompt, sweep)
        } else {
            self.ask_once(prompt, doubted)
        }
    }

    fn ask_once(&mut self, prompt: Prompt, doubted: Option<(String, Doubt)>) -> Result<Asked, Stop> {
        if let Some((first, doubt)) = doubted {
            // Broken off at the doubt: it is what was asked last.
            let answer = self.settle(&prompt, &first, &doubt)?;
            let asked = self.meant(&prompt, answer)?;
            return self.accept(prompt, asked);
        }
        loop {
            let reply = self.with_view(|answerer, view| answerer.answer(&prompt, view));
            let text = match self.text_of(&prompt, reply, None, None)? {
                None => continue,
                Some(Given::Skipped(reason)) => {
                    let asked = self.meant(&prompt, Answer::Skipped { reason })?;
                    return self.accept(prompt, asked);
                }
                Some(Given::Text(text)) => text,
            };
            let asked = match self.take(&prompt, &text) {
                Taken::Yes(asked) => *asked,
                Taken::No(problem) => {
                    self.refuse(&prompt, problem)?;
                    continue;
                }
            };
            if let Some(doubt) = self.doubt_about(&prompt, &text, &asked) {
                self.record(Event::Doubted { id: prompt.id.clone(), typed: text.clone(), doubt: doubt.clone() })?;
                let answer = self.settle(&prompt, &text, &doubt)?;
                let asked = self.meant(&prompt, answer)?;
                return self.accept(prompt, asked);
            }
            return self.accept(prompt, asked);
        }
    }

    /// Asks about a doubt until there is a second entry that can be taken; it stands.
    fn settle(&mut self, prompt: &Prompt, first: &str, doubt: &Doubt) -> Result<Answer, Stop> {
        loop {
            let reply = self.with_view(|answerer, view| answerer.doubt(prompt, first, doubt, view));
            if reply == Reply::Nobody && matches!(doubt, Doubt::Unsure { .. }) {
                // Only an offer: a better range or a repeat. Nobody took it.
                return Ok(Answer::Reading { typed: first.to_owned() });
            }
            let problem = doubt.to_string();
            match self.text_of(prompt, reply, Some(first), Some(problem))? {
                None => {}
                Some(Given::Skipped(reason)) => return Ok(Answer::Skipped { reason }),
                Some(Given::Text(text)) => match self.take(prompt, &text) {
                    Taken::Yes(asked) => return Ok(asked.answer),
                    Taken::No(problem) => self.refuse(prompt, problem)?,
                },
            }
        }
    }

    fn ask_sweep(&mut self, prompt: Prompt, mut sweep: Taking) -> Result<Asked, Stop> {
        let unit = prompt.question.unit().ok_or_else(|| misuse("a sweep has no unit"))?;
        loop {
            let reply = self.with_view(|answerer, view| answerer.next_of_sweep(&prompt, &sweep.readings, view));
            match &reply {
                Reply::Back { to: None } => {
                    if let Some((from_line, reading)) = sweep.pop() {
                        let reading = Some(reading.text);
                        self.record(Event::Struck { from_line, id: prompt.id.clone(), reading })?;
                        continue;
                    }
                }
                Reply::Back { to: Some(id) } if id == prompt.id.as_str() => {
                    // By its own name: the whole of it, from its first reading on.
                    if let Some(from_line) = sweep.lines.first().copied() {
                        self.record(Event::Struck { from_line, id: prompt.id, reading: None })?;
                        return Err(Stop::TakenBack);
                    }
                }
                _ => {}
            }
            let text = match self.text_of(&prompt, reply, Some(""), None)? {
                None => continue,
                Some(Given::Skipped(reason)) => {
                    let asked = self.meant(&prompt, Answer::Skipped { reason })?;
                    return self.accept(prompt, asked);
                }
                Some(Given::Text(text)) => text,
            };
            if text.trim().is_empty() {
                let readings = sweep.readings.len();
                if readings < 2 {
                    let problem = format!(
                        "a sweep needs at least 2 readings, and there {} {readings}: type more, or `skip` and why",
                        if readings == 1 { "is" } else { "are" },
                    );
                    self.refuse(&prompt, problem)?;
                    continue;
                }
                let asked = self.meant(&prompt, Answer::Sweep { readings })?;
                let asked = self.understood_sweep(&prompt, asked, sweep.readings, unit)?;
                return self.accept(prompt, asked);
            }
            match sweep_texts(&text, unit) {
                Err(problem) => self.refuse(&prompt, problem)?,
                Ok(readings) => {
                    for reading in readings {
                        let SweepReading { text, position } = reading.clone();
                        self.record(Event::SweepRead { id: prompt.id.clone(), text, position })?;
                        sweep.push(self.lines(), reading);
                    }
                }
            }
        }
    }

    /// Deals with what is not an answer. Empty text keeps `first`, where there is one.
    fn text_of(
        &mut self,
        prompt: &Prompt,
        reply: Reply,
        first: Option<&str>,
        problem: Option<String>,
    ) -> Result<Option<Given>, Stop> {
        match reply {
            Reply::Text(text) if text.trim().is_empty() => Ok(Some(Given::Text(first.map_or(text, str::to_owned)))),
            Reply::Text(text) => Ok(Some(Given::Text(text))),
            Reply::Skip { reason } if reason.trim().is_empty() => {
                self.refuse(prompt, "say why it is skipped: `skip` and the reason".to_owned())?;
                Ok(None)
            }
            Reply::Skip { reason } => Ok(Some(Given::Skipped(reason))),
            Reply::Note(text) => {
                self.note(prompt.id.to_string(), text)?;
                Ok(None)
            }
            Reply::Back { to } => {
                self.take_back(to.as_deref())?;
                Ok(None)
            }
            Reply::Pause => Err(self.pause()?),
            Reply::Nobody => Err(self.wait_for(prompt.id.to_string(), prompt.text.clone(), problem)?),
        }
    }

    fn refuse(&mut self, prompt: &Prompt, problem: String) -> Result<(), Stop> {
        if self.answerer.refused(&problem) {
            return Ok(());
        }
        Err(self.wait_for(prompt.id.to_string(), prompt.text.clone(), Some(problem))?)
    }

    fn doubt_about(&self, prompt: &Prompt, text: &str, asked: &Asked) -> Option<Doubt> {
        let Question::Reading { limits, .. } = &prompt.question else { return None };
        match asked.shown.first() {
            Some(Shown::Value(value)) => doubt::about(text, *value, limits, asked.verdict),
            _ => None,
        }
    }

    /// What an answer means that is known to fit.
    fn meant(&self, prompt: &Prompt, answer: Answer) -> Result<Asked, Stop> {
        match self.meaning(prompt, answer) {
            Taken::Yes(asked) => Ok(*asked),
            Taken::No(problem) => Err(misuse(&problem)),
        }
    }

    /// Writes the answer down and gives it to the script.
    fn accept(&mut self, prompt: Prompt, asked: Asked) -> Result<Asked, Stop> {
        let carried = self.answerer.carried();
        let (answer, verdict) = (asked.answer.clone(), asked.verdict);
        self.record(Event::Answered { prompt, answer, verdict, carried })?;
        self.answered += 1;
        Ok(asked)
    }

    /// A recorded answer, given to the script again with the verdict that was recorded.
    fn understand(
        &mut self,
        prompt: &Prompt,
        answer: Answer,
        sweep: Vec<SweepReading>,
        verdict: Option<Verdict>,
        line: usize,
    ) -> Result<Asked, Stop> {
        self.answered += 1;
        let mut asked = match self.meaning(prompt, answer) {
            Taken::Yes(asked) => *asked,
            Taken::No(problem) => {
                return Err(Stop::Diverged { line, recorded: problem, attempted: prompt.in_words() });
            }
        };
        if verdict.is_some() {
            asked.verdict = verdict;
        }
        match (&prompt.question, prompt.question.unit()) {
            (Question::Sweep { .. }, Some(unit)) => self.understood_sweep(prompt, asked, sweep, unit),
            _ => Ok(asked),
        }
    }

    fn understood_sweep(
        &self,
        prompt: &Prompt,
        mut asked: Asked,
        sweep: Vec<SweepReading>,
        unit: Unit,
    ) -> Result<Asked, Stop> {
        for reading in &sweep {
            let shown = typed::read(&reading.text, unit)
                .map_err(|error| misuse(&format!("a reading of the sweep `{}`: {error}", prompt.id)))?;
            asked.shown.push(shown);
        }
        asked.sweep = sweep;
        Ok(asked)
    }

    /// Understands text typed at a prompt.
    fn take(&self, prompt: &Prompt, text: &str) -> Taken {
        let answer = match &prompt.question {
            Question::Reading { .. } | Question::ModuleValue { .. } => {
                Answer::Reading { typed: text.trim().to_owned() }
            }
            Question::LowestHighest { limits, .. } => match two_values(text, limits.unit) {
                Ok((lowest, highest)) => Answer::LowestHighest { lowest, highest },
                Err(problem) => return Taken::No(problem),
            },
            Question::YesNo => match yes_or_no(text) {
                Some(yes) => Answer::YesNo { yes },
                None => return Taken::No(format!("`{}` is neither yes (1) nor no (2)", text.trim())),
            },
            Question::Choice { options } => match chosen(text, options) {
                Some(option) => Answer::Choice { option },
                None => {
                    return Taken::No(format!(
                        "`{}` is none of the choices: type a number from 1 to {}, or its words",
                        text.trim(),
                        options.len()
                    ));
                }
            },
            Question::Note => match text.trim() {
                "" => return Taken::No("type a few words, or `skip` and why".to_owned()),
                words => Answer::Note { words: words.to_owned() },
            },
            Question::Sweep { .. } => return Taken::No("a sweep is taken reading by reading".to_owned()),
        };
        self.meaning(prompt, answer)
    }

    /// What an answer means to this question, with its verdict.
    fn meaning(&self, prompt: &Prompt, answer: Answer) -> Taken {
        let mut asked = Asked { id: prompt.id.clone(), answer, shown: vec![], sweep: vec![], verdict: None };
        let read = |text: &str, limits: &Limits| typed::read(text, limits.unit).map_err(|error| error.to_string());
        let outcome = match (&prompt.question, &asked.answer) {
            (Question::Reading { limits, function, .. }, Answer::Reading { typed }) => {
                read(typed, limits).map(|shown| {
                    let accuracy = match shown {
                        Shown::Value(value) => self.meter.accuracy(*function, value),
                        Shown::OverRange => Err(NoAccuracy::NoRange),
                    };
                    asked.verdict = limits.judge(shown, accuracy);
                    asked.shown.push(shown);
                })
            }
            (Question::ModuleValue { limits, .. }, Answer::Reading { typed }) => read(typed, limits).map(|shown| {
                asked.verdict = limits.judge(shown, Err(NoAccuracy::NotAMeter));
                asked.shown.push(shown);
            }),
            (Question::LowestHighest { limits, function, .. }, Answer::LowestHighest { lowest, highest }) => {
                read(lowest, limits).and_then(|low| read(highest, limits).map(|high| (low, high))).map(|(low, high)| {
                    asked.shown = vec![low, high];
                    let judged = [low, high].map(|shown| {
                        let accuracy = match shown {
                            Shown::Value(value) => self.meter.accuracy(*function, value),
                            Shown::OverRange => Err(NoAccuracy::NoRange),
                        };
                        limits.judge(shown, accuracy)
                    });
                    // The worse of the two stands for both.
                    asked.verdict = judged
                        .into_iter()
                        .flatten()
                        .max_by_key(|verdict| verdict.standing != crate::model::limits::Standing::In);
                })
            }
            (Question::YesNo, Answer::YesNo { .. })
            | (Question::Note, Answer::Note { .. })
            | (Question::Sweep { .. }, Answer::Sweep { .. })
            | (_, Answer::Skipped { .. }) => Ok(()),
            (Question::Choice { options }, Answer::Choice { option }) => {
                if options.contains(option) {
                    Ok(())
                } else {
                    Err(format!("`{option}` is none of the choices"))
                }
            }
            _ => Err("an answer of another kind than the question".to_owned()),
        };
        match outcome {
            Ok(()) => Taken::Yes(Box::new(asked)),
            Err(problem) => Taken::No(problem),
        }
    }
}

/// A sweep that is being taken: its readings, and the line of each in the journal.
#[derive(Default)]
struct Taking {
    readings: Vec<SweepReading>,
    lines: Vec<usize>,
}

impl Taking {
    fn push(&mut self, line: usize, reading: SweepReading) {
        self.lines.push(line);
        self.readings.push(reading);
    }

    fn pop(&mut self) -> Option<(usize, SweepReading)> {
        self.lines.pop().zip(self.readings.pop())
    }
}

enum Given {
    Text(String),
    Skipped(String),
}

fn misuse(problem: &str) -> Stop {
    Stop::Misuse(Misuse::Text(problem.to_owned()))
}

fn asked_for(prompt: &Prompt) -> Event {
    let answer = Answer::Note { words: String::new() };
    Event::Answered { prompt: prompt.clone(), answer, verdict: None, carried: false }
}

fn yes_or_no(text: &str) -> Option<bool> {
    match text.trim().to_lowercase().as_str() {
        "1" | "y" | "yes" | "true" => Some(true),
        "2" | "n" | "no" | "false" => Some(false),
        _ => None,
    }
}

/// The option by its words, else by its number from 1.
fn chosen(text: &str, options: &[String]) -> Option<String> {
    let text = text.trim();
    options
        .iter()
        .find(|option| option.as_str() == text)
        .or_else(|| options.iter().find(|option| option.eq_ignore_ascii_case(text)))
        .or_else(|| text.parse::<usize>().ok().and_then(|number| options.get(number.checked_sub(1)?)))
        .cloned()
}

/// Words of a line that stand for one value each: a unit goes with the number before it.
pub(super) fn values(text: &str) -> Vec<String> {
    let mut values: Vec<String> = Vec::new();
    for word in text.split([' ', '\t', ';']).filter(|word| !word.is_empty()) {
        let begins = word.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '.' | '-' | '+' | '−' | '*' | ','))
            || word.to_uppercase().starts_with("OL");
        match values.last_mut() {
            Some(last) if !begins => {
                last.push(' ');
                last.push_str(word);
            }
            _ => values.push(word.to_owned()),
        }
    }
    values
}

fn two_values(text: &str, unit: Unit) -> Result<(String, String), String> {
    let values = values(text);
    let [lowest, highest] = values.as_slice() else {
        return Err(format!("type the lowest and the highest, with a space between: {} {}", "4.91", "5.02"));
    };
    let read = |text: &str| typed::read(text, unit).map_err(|error| error.to_string());
    if let (Shown::Value(low), Shown::Value(high)) = (read(lowest)?, read(highest)?)
        && low.si() > high.si()
    {
        return Err(format!("the lowest, {low}, is above the highest, {high}: type the lowest first"));
    }
    Ok((lowest.clone(), highest.clone()))
}

/// The readings of one typed or pasted line: `0.52`, `0.52 @ 10 %`, `0.52 0.9 1.3`.
fn sweep_texts(text: &str, unit: Unit) -> Result<Vec<SweepReading>, String> {
    let (readings, position) = match text.split_once('@') {
        Some((reading, position)) => (reading, Some(position.trim().to_owned()).filter(|text| !text.is_empty())),
        None => (text, None),
    };
    let texts = values(readings);
    if position.is_some() && texts.len() != 1 {
        return Err("a position goes with one reading: `0.52 @ half open`".to_owned());
    }
    let mut list = Vec::with_capacity(texts.len());
    for text in texts {
        // A pasted list may have commas between its readings.
        let plain = text.strip_suffix(',').unwrap_or(&text).to_owned();
        typed::read(&plain, unit).map_err(|error| error.to_string())?;
        list.push(SweepReading { text: plain, position: position.clone() });
    }
    if list.is_empty() { Err("there is no reading before the `@`".to_owned()) } else { Ok(list) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pasted_list_is_read_value_by_value() {
        let volts: Unit = "V".parse().unwrap();
        let texts =
            |text: &str| sweep_texts(text, volts).map(|list| list.into_iter().map(|r| r.text).collect::<Vec<_>>());
        assert_eq!(texts("0.5 0.9;1.3"), Ok(vec!["0.5".into(), "0.9".into(), "1.3".into()]));
        assert_eq!(texts("0.5 V 900 mV"), Ok(vec!["0.5 V".into(), "900 mV".into()]));
        assert_eq!(texts("0.52, 0.9, 1.3"), Ok(vec!["0.52".into(), "0.9".into(), "1.3".into()]));
        assert!(texts("0.5 abc").is_err());
        let with = sweep_texts("0.52 @ half open", volts).unwrap();
        assert_eq!(with[0].position.as_deref(), Some("half open"));
    }

    #[test]
    fn a_choice_by_words_comes_before_its_number() {
        let options: Vec<String> = ["2", "1", "back"].map(Into::into).to_vec();
        assert_eq!(chosen("2", &options).as_deref(), Some("2"));
        assert_eq!(chosen("BACK", &options).as_deref(), Some("back"));
        assert_eq!(chosen("3", &options).as_deref(), Some("back"));
        assert_eq!(chosen("4", &options), None);
        assert_eq!(chosen("0", &options), None);
    }
}
