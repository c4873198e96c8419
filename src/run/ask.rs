//! Asking: one question, its doubts and its answer, from the journal or from whoever answers.

use super::answerer::Reply;
use super::doubt;
use super::meaning::{Asked, LEAST_OF_A_SWEEP, meaning, sweep_texts, take};
use super::session::{Session, diverged};
use super::stop::{ScriptError, Stop};
use crate::model::caution::Method;
use crate::model::doubt::Doubt;
use crate::model::event::Event;
use crate::model::limits::Verdict;
use crate::model::prompt::{Answer, Prompt, Question};
use crate::model::record::SweepReading;
use crate::model::typed::{self, Shown};
use crate::model::unit::Unit;
use std::sync::Arc;

impl Session {
    /// Asks one question.
    ///
    /// # Errors
    /// Whatever keeps it from being answered.
    pub fn ask(&mut self, prompt: Arc<Prompt>) -> Result<Asked, Stop> {
        self.claim(&prompt.id)?;
        let mut sweep = SweepSoFar::default();
        let mut doubted: Option<Doubted> = None;
        while let Some((line, entry)) = self.next_recorded()? {
            let is_of_it = match &entry.event {
                Event::SweepRead { id, .. } | Event::Doubted { id, .. } => *id == prompt.id,
                Event::Answered { prompt: recorded, .. } => {
                    recorded.id == prompt.id && recorded.question.asks_the_same_as(&prompt.question)
                }
                _ => false,
            };
            if !is_of_it {
                return Err(diverged(line, &entry.event, &asked_for(&prompt)));
            }
            self.answerer.recorded(&entry, true);
            match entry.event {
                Event::SweepRead { text, position, .. } => sweep.push(line, SweepReading { text, position }),
                Event::Doubted { typed, doubt, .. } => doubted = Some(Doubted { line, typed, doubt }),
                Event::Answered { answer, verdict, .. } => {
                    return self.understand(&prompt, answer, sweep.readings, verdict, line);
                }
                _ => {}
            }
        }
        self.room()?;
        self.bring_back(&prompt)?;
        self.do_pending_action(Some(&prompt))?;
        let methods = Method::of_question(&prompt.question);
        self.caution(None, &methods)?;
        if matches!(prompt.question, Question::Sweep { .. }) {
            self.ask_sweep(prompt, sweep)
        } else {
            self.ask_once(prompt, doubted)
        }
    }

    fn ask_once(&mut self, prompt: Arc<Prompt>, doubted: Option<Doubted>) -> Result<Asked, Stop> {
        // Broken off at the doubt: it is what was asked last.
        if let Some(doubted) = doubted
            && let Some(answer) = self.settle(&prompt, &doubted)?
        {
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
            let typed = Arc::clone(&text);
            let asked = match take(&prompt, text, &self.meter) {
                Ok(asked) => asked,
                Err(problem) => {
                    self.refuse(&prompt, problem)?;
                    continue;
                }
            };
            if let Some(doubt) = self.doubt_about(&prompt, &asked) {
                self.record(Event::Doubted { id: prompt.id.clone(), typed: Arc::clone(&typed), doubt: doubt.clone() })?;
                let Some(answer) = self.settle(&prompt, &Doubted { line: self.lines(), typed, doubt })? else {
                    continue;
                };
                let asked = self.meant(&prompt, answer)?;
                return self.accept(prompt, asked);
            }
            return self.accept(prompt, asked);
        }
    }

    /// Asks about a doubt until there is a second entry that can be taken; it stands. `None` when the first one is taken back.
    fn settle(&mut self, prompt: &Arc<Prompt>, doubted: &Doubted) -> Result<Option<Answer>, Stop> {
        let Doubted { line, typed: first, doubt } = doubted;
        loop {
            let reply = self.with_view(|answerer, view| answerer.doubt(prompt, first, doubt, view));
            match &reply {
                // Only an offer: a better range or a repeat. Nobody took it.
                Reply::Nobody if matches!(doubt, Doubt::Unsure { .. }) => {
                    return Ok(Some(Answer::Reading { typed: Arc::clone(first) }));
                }
                // The last one is the one that is asked about.
                Reply::Back { to } if to.as_ref().is_none_or(|id| *id == prompt.id) => {
                    self.record(Event::Struck {
                        from_line: *line,
                        id: prompt.id.clone(),
                        reading: Some(first.to_string()),
                    })?;
                    return Ok(None);
                }
                _ => {}
            }
            let problem = doubt.to_string();
            match self.text_of(prompt, reply, Some(first), Some(problem))? {
                None => {}
                Some(Given::Skipped(reason)) => return Ok(Some(Answer::Skipped { reason })),
                Some(Given::Text(text)) => match take(prompt, text, &self.meter) {
                    Ok(asked) => return Ok(Some(asked.answer)),
                    Err(problem) => self.refuse(prompt, problem)?,
                },
            }
        }
    }

    fn ask_sweep(&mut self, prompt: Arc<Prompt>, mut sweep: SweepSoFar) -> Result<Asked, Stop> {
        let unit = prompt.question.unit().ok_or_else(|| script_error("a sweep has no unit"))?;
        let mut asked_about: Option<Arc<str>> = None;
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
                Reply::Back { to: Some(id) } if *id == prompt.id => {
                    // By its own name: the whole of it, from its first reading on.
                    if let Some(from_line) = sweep.lines.first().copied() {
                        self.record(Event::Struck { from_line, id: prompt.id.clone(), reading: None })?;
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
                if readings < LEAST_OF_A_SWEEP {
                    let problem = format!(
                        "a sweep needs at least {LEAST_OF_A_SWEEP} readings, and there {} {readings}: type more, or `skip` and why",
                        if readings == 1 { "is" } else { "are" },
                    );
                    self.refuse(&prompt, problem)?;
                    continue;
                }
                if readings == LEAST_OF_A_SWEEP {
                    self.answerer.remark("Two readings show the ends alone: a break between them would not be seen.");
                }
                let asked = self.meant(&prompt, Answer::Sweep { readings })?;
                let asked = self.understood_sweep(&prompt, asked, sweep.readings, unit)?;
                return self.accept(prompt, asked);
            }
            match sweep_texts(&text, unit) {
                Err(problem) if text.trim().contains([' ', ';']) => {
                    self.refuse(&prompt, format!("{problem}; nothing of this line was taken"))?;
                }
                Err(problem) => self.refuse(&prompt, problem)?,
                Ok(readings) => {
                    let odd = odd_in_a_sweep(&prompt, &readings);
                    // In the middle of a line it could not be taken back by itself.
                    if let Some(odd) =
                        odd.as_ref().filter(|_| readings.len() > 1 && asked_about.as_ref() != Some(&text))
                    {
                        let words = format!(
                            "{odd} Nothing of this line was taken: type it again as it should be, or once more as it is."
                        );
                        if self.answerer.refused(&words) {
                            asked_about = Some(text);
                            continue;
                        }
                    }
                    for reading in readings {
                        let SweepReading { text, position } = reading.clone();
                        self.record(Event::SweepRead { id: prompt.id.clone(), text, position })?;
                        sweep.push(self.lines(), reading);
                    }
                    if let Some(odd) = odd {
                        self.answerer.remark(&format!("{odd} `back` takes it back."));
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
            Reply::Text(text) if text.trim_start().is_empty() => Ok(Some(Given::Text(first.map_or(text, Arc::from)))),
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
                self.take_back(to.as_ref())?;
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

    fn doubt_about(&self, prompt: &Prompt, asked: &Asked) -> Option<Doubt> {
        if let Some(doubt) = self.answerer.doubted_then(&prompt.id) {
            return Some(doubt);
        }
        let text = match &asked.answer {
            Answer::Reading { typed } => typed,
            _ => "",
        };
        let every = self.answerer.is_asked_every_doubt();
        match (&prompt.question, asked.shown.as_slice()) {
            (Question::Reading { limits, .. }, [Shown::Value(value), ..]) => {
                doubt::about(text, *value, limits, asked.verdict, every)
            }
            (Question::LowestHighest { limits, .. }, [Shown::Value(lowest), Shown::Value(highest)]) if every => {
                doubt::of_two(*lowest, *highest, limits)
            }
            _ => None,
        }
    }

    /// What an answer means that is known to fit.
    fn meant(&self, prompt: &Arc<Prompt>, answer: Answer) -> Result<Asked, Stop> {
        meaning(prompt, answer, &self.meter).map_err(|problem| script_error(&problem))
    }

    /// Writes the answer down and gives it to the script.
    fn accept(&mut self, prompt: Arc<Prompt>, asked: Asked) -> Result<Asked, Stop> {
        let carried = self.answerer.carried();
        let (answer, verdict) = (asked.answer.clone(), asked.verdict);
        self.record(Event::Answered { prompt, answer, verdict, carried })?;
        self.answered += 1;
        Ok(asked)
    }

    /// A recorded answer, given to the script again with the verdict that was recorded.
    fn understand(
        &mut self,
        prompt: &Arc<Prompt>,
        answer: Answer,
        sweep: Vec<SweepReading>,
        verdict: Option<Verdict>,
        line: usize,
    ) -> Result<Asked, Stop> {
        self.answered += 1;
        let mut asked = meaning(prompt, answer, &self.meter).map_err(|problem| Stop::Diverged {
            line,
            recorded: problem,
            attempted: prompt.in_words(),
        })?;
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
                .map_err(|error| script_error(&format!("a reading of the sweep `{}`: {error}", prompt.id)))?;
            asked.shown.push(shown);
        }
        asked.sweep = sweep;
        Ok(asked)
    }
}

/// The first of these readings about which something is odd, with what is.
fn odd_in_a_sweep(prompt: &Prompt, readings: &[SweepReading]) -> Option<String> {
    let Question::Sweep { ends, .. } = &prompt.question else { return None };
    readings.iter().find_map(|reading| match typed::read(&reading.text, ends.unit) {
        Ok(Shown::Value(value)) => {
            let odd = doubt::of_a_sweep(value, ends)?;
            Some(format!("{}: {odd}", typed::as_shown(&reading.text, ends.unit)))
        }
        _ => None,
    })
}

/// A reading that is asked about: its line in the journal, what was typed, and what is odd about it.
struct Doubted {
    line: usize,
    typed: Arc<str>,
    doubt: Doubt,
}

/// A sweep that is being taken: its readings, and the line of each in the journal.
#[derive(Default)]
struct SweepSoFar {
    readings: Vec<SweepReading>,
    lines: Vec<usize>,
}

impl SweepSoFar {
    fn push(&mut self, line: usize, reading: SweepReading) {
        self.lines.push(line);
        self.readings.push(reading);
    }

    fn pop(&mut self) -> Option<(usize, SweepReading)> {
        self.lines.pop().zip(self.readings.pop())
    }
}

enum Given {
    Text(Arc<str>),
    Skipped(String),
}

fn script_error(problem: &str) -> Stop {
    Stop::ScriptError(ScriptError::Text(problem.to_owned()))
}

fn asked_for(prompt: &Arc<Prompt>) -> Event {
    let answer = Answer::Note { words: String::new() };
    Event::Answered { prompt: Arc::clone(prompt), answer, verdict: None, carried: false }
}
