//! Asking: one question, its doubts and its answer, from the journal or from whoever answers.

use super::doubt;
use super::events;
use super::meaning::{Asked, LEAST_OF_A_SWEEP, meaning, sweep_texts, take, values};
use super::notice::Notice;
use super::reply::{CameFrom, Form, Reply};
use super::request::Request;
use super::session::{Session, diverged};
use super::stop::{ScriptError, Stop};
use crate::model::doubt::Doubt;
use crate::model::ending::{Ending, Why};
use crate::model::event::Event;
use crate::model::limits::Verdict;
use crate::model::origin::Origin;
use crate::model::prompt::{Answer, Prompt, Question};
use crate::model::record::given::SweepReading;
use crate::model::typed::{self, Shown};
use crate::model::unit::Unit;
use std::sync::Arc;
use sweep_so_far::{SweepSoFar, dangerous_in_a_sweep, odd_in_a_sweep};

pub(in crate::run) mod sweep_so_far;

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
            self.answerer.notice(Notice::Recorded { line, entry: &entry, replayed: true });
            match entry.event {
                Event::SweepRead { text, position, .. } => {
                    let shown = prompt.question.unit().and_then(|unit| typed::read(&text, unit).ok());
                    sweep.push(line, SweepReading { text, position }, shown);
                }
                Event::Doubted { typed, doubt, .. } => {
                    doubted = Some(Doubted { line, typed, doubt, from: None, asked: None });
                }
                Event::Answered { answer, verdict, .. } => {
                    return self.understand(&prompt, answer, sweep, verdict, line);
                }
                _ => {}
            }
        }
        self.room()?;
        if self.kept.is_on()
            && let Some(asked) = self.keep(&prompt, &mut sweep, doubted.is_some())?
        {
            return Ok(asked);
        }
        self.bring_back(&prompt)?;
        self.do_pending_action(Some(&prompt))?;
        self.look_whether_fed(&prompt.question);
        self.caution_before_question(&prompt.question)?;
        let asked = if matches!(prompt.question, Question::Sweep { .. }) {
            self.ask_sweep(prompt, sweep)
        } else {
            self.ask_once(prompt, doubted)
        };
        self.kept.goes_on(&self.ids);
        asked
    }

    fn ask_once(&mut self, prompt: Arc<Prompt>, doubted: Option<Doubted>) -> Result<Asked, Stop> {
        // Broken off at the doubt: it is what was asked last.
        if let Some(doubted) = doubted
            && let Some((asked, from)) = self.settle(&prompt, doubted)?
        {
            return self.accept_doubted(prompt, asked, &from);
        }
        loop {
            let reply = self.put(Request::Answer { prompt: &prompt });
            let (text, from) = match self.text_of(&prompt, reply, None)? {
                None => continue,
                Some((Given::Skipped(reason), from)) => {
                    let asked = self.meant(&prompt, Answer::Skipped { reason })?;
                    return self.accept(prompt, asked, &from);
                }
                Some((Given::Text(text), from)) => (text, from),
            };
            let typed = Arc::clone(&text);
            let asked = match take(&prompt, text, &self.meter) {
                Ok(asked) => asked,
                Err(problem) => {
                    self.refuse(problem);
                    continue;
                }
            };
            if let Some(doubt) = self.doubt_about(&prompt, &asked) {
                self.record(Event::Doubted { id: prompt.id.clone(), typed: Arc::clone(&typed), doubt: doubt.clone() })?;
                let doubted = Doubted { line: self.lines(), typed, doubt, from: Some(from), asked: Some(asked) };
                let Some((asked, from)) = self.settle(&prompt, doubted)? else { continue };
                return self.accept_doubted(prompt, asked, &from);
            }
            return self.accept(prompt, asked, &from);
        }
    }

    /// Asks about a doubt until there is a second entry that can be taken; it stands. `None` when the first one is taken back.
    fn settle(&mut self, prompt: &Arc<Prompt>, doubted: Doubted) -> Result<Option<(Asked, CameFrom)>, Stop> {
        let Doubted { mut line, typed: mut first, mut doubt, from: mut first_from, asked: mut first_asked } = doubted;
        loop {
            let reply = self.put(Request::Doubt { prompt, typed: &first, doubt: &doubt });
            // Kept, it came from where it came from first.
            let mut first_or = |from: CameFrom| first_from.take().unwrap_or(from);
            match &reply.form {
                // Only an offer: a better range or a repeat. Nobody took it.
                Form::Nobody if matches!(doubt, Doubt::Unsure { .. }) && self.refused.is_none() => {
                    let asked = self.meant(prompt, Answer::Reading { typed: first })?;
                    return Ok(Some((asked, first_or(reply.came_from()))));
                }
                Form::Nobody => {
                    let problem = Some(doubt.to_string());
                    return Err(self.wait_for(prompt.id.to_string(), prompt.text.clone(), problem)?);
                }
                // The last one is the one that is asked about.
                Form::Back { to } if to.as_ref().is_none_or(|id| *id == prompt.id) => {
                    self.record(Event::Struck {
                        from_line: line,
                        id: prompt.id.clone(),
                        reading: Some(first.to_string()),
                    })?;
                    return Ok(None);
                }
                _ => {}
            }
            let keeps = reply.form.is_enter();
            match self.text_of(prompt, reply, Some(&first))? {
                None => {}
                Some((Given::Skipped(reason), from)) => {
                    return Ok(Some((self.meant(prompt, Answer::Skipped { reason })?, from)));
                }
                Some((Given::Text(text), from)) => {
                    let kept = first_asked.take_if(|_| keeps);
                    let typed = Arc::clone(&text);
                    match kept.map_or_else(|| take(prompt, text, &self.meter), Ok) {
                        Ok(asked) => {
                            if !keeps && let Some(odd) = self.still_odd(prompt, &asked, (&typed, &first), &doubt) {
                                let event = Event::Doubted {
                                    id: prompt.id.clone(),
                                    typed: Arc::clone(&typed),
                                    doubt: odd.clone(),
                                };
                                self.record(event)?;
                                (line, first, doubt) = (self.lines(), typed, odd);
                                (first_from, first_asked) = (Some(from), Some(asked));
                                continue;
                            }
                            return Ok(Some((asked, if keeps { first_or(from) } else { from })));
                        }
                        Err(problem) => self.refuse(problem),
                    }
                }
            }
        }
    }

    /// What is odd about an entry that replaces a doubted one. Typed the same again, it is meant; and that a reading is nearer to
    /// its limit than the meter can tell is said once.
    fn still_odd(&self, prompt: &Prompt, asked: &Asked, (typed, first): (&str, &str), doubt: &Doubt) -> Option<Doubt> {
        if !self.behavior.doubts_again() || typed.trim() == first.trim() {
            return None;
        }
        let is_unsure = |doubt: &Doubt| matches!(doubt, Doubt::Unsure { .. });
        self.doubt_about(prompt, asked).filter(|odd| !(is_unsure(odd) && is_unsure(doubt)))
    }

    fn ask_sweep(&mut self, prompt: Arc<Prompt>, mut sweep: SweepSoFar) -> Result<Asked, Stop> {
        let unit = prompt.question.unit().ok_or_else(|| script_error("a sweep has no unit"))?;
        let mut asked_about: Option<Arc<str>> = None;
        // A line about which something is odd, while that is asked about.
        let mut odd_line: Option<Reply> = None;
        loop {
            let mut reply = self.put(Request::NextOfSweep { prompt: &prompt, so_far: &sweep.readings });
            match odd_line.take() {
                // Nobody is there to say otherwise: it is taken as it is.
                Some(line) if reply.form == Form::Nobody => {
                    self.refused = None;
                    reply = line;
                }
                _ => {}
            }
            match &reply.form {
                Form::Back { to: None } => {
                    if let Some((from_line, reading)) = sweep.pop() {
                        let reading = Some(reading.text);
                        self.record(Event::Struck { from_line, id: prompt.id.clone(), reading })?;
                        continue;
                    }
                }
                Form::Back { to: Some(id) } if *id == prompt.id => {
                    // By its own name: the whole of it, from its first reading on.
                    if let Some(from_line) = sweep.lines.first().copied() {
                        self.record(Event::Struck { from_line, id: prompt.id.clone(), reading: None })?;
                        return Err(Stop::TakenBack);
                    }
                }
                _ => {}
            }
            let (text, from) = match self.text_of(&prompt, reply, Some(""))? {
                None => continue,
                Some((Given::Skipped(reason), from)) => {
                    let asked = self.meant(&prompt, Answer::Skipped { reason })?;
                    return self.accept(prompt, asked, &from);
                }
                Some((Given::Text(text), from)) => (text, from),
            };
            if text.trim().is_empty() {
                let readings = sweep.readings.len();
                if readings < LEAST_OF_A_SWEEP {
                    let problem = format!(
                        "a sweep needs at least {LEAST_OF_A_SWEEP} readings, and there {} {readings}: type more, or `skip` and why",
                        if readings == 1 { "is" } else { "are" },
                    );
                    self.refuse(problem);
                    continue;
                }
                if readings == LEAST_OF_A_SWEEP {
                    let text = "Two readings show the ends alone: a break between them would not be seen.";
                    self.answerer.notice(Notice::Remark { text });
                }
                let asked = self.meant(&prompt, Answer::Sweep { readings })?;
                let asked = self.understood_sweep(&prompt, asked, sweep, unit)?;
                return self.accept(prompt, asked, &from);
            }
            match sweep_texts(&text, unit) {
                Err(problem) if text.trim().contains([' ', ';']) => {
                    self.refuse(format!("{problem}; nothing of this line was taken"));
                }
                Err(problem) => self.refuse(problem),
                Ok(mut readings) => {
                    let stops = self.behavior.stops_at_dangerous_voltage();
                    let dangerous = dangerous_in_a_sweep(&prompt, &readings).filter(|_| stops);
                    let danger = dangerous.is_some();
                    let odd = if danger {
                        Some(Doubt::BeyondVehicle.to_string())
                    } else {
                        odd_in_a_sweep(&prompt, &readings)
                    };
                    // In the middle of a line it could not be taken back by itself; after a dangerous voltage nothing can.
                    if let Some(odd) = odd.as_ref().filter(|_| {
                        let asks = readings.len() > 1 || danger && self.behavior.asks_about_dangerous_sweep();
                        asks && asked_about.as_ref() != Some(&text)
                    }) {
                        let words = format!(
                            "{odd} Nothing of this line was taken: type it again as it should be, or once more as it is."
                        );
                        self.refuse(words);
                        asked_about = Some(Arc::clone(&text));
                        odd_line = Some(Reply { form: Form::Text(text), origin: from.origin, id: from.id });
                        continue;
                    }
                    let of_line = readings.len();
                    // It ends the run, as the last reading of the sweep.
                    readings.truncate(dangerous.map_or(of_line, |index| index + 1));
                    for (number, (reading, shown)) in readings.into_iter().enumerate() {
                        let from = of_reading(&from, number, of_line);
                        self.record_reply(events::sweep_read(prompt.id.clone(), reading.clone(), &from), from.id)?;
                        sweep.push(self.lines(), reading, Some(shown));
                    }
                    if danger {
                        self.answerer.notice(Notice::Remark { text: DANGEROUS_VOLTAGE });
                        let id = prompt.id.clone();
                        return Err(self.end(Ending::unfinished(Why::DangerousVoltage { id })));
                    }
                    if let Some(odd) = odd {
                        let text = format!("{odd} `back` takes it back.");
                        self.answerer.notice(Notice::Remark { text: &text });
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
    ) -> Result<Option<(Given, CameFrom)>, Stop> {
        let (form, from) = reply.parts();
        let given = match form {
            Form::Text(text) if text.trim_start().is_empty() => Given::Text(first.map_or(text, Arc::from)),
            Form::Text(text) => Given::Text(text),
            Form::Skip { reason } if reason.trim().is_empty() => {
                self.refuse("say why it is skipped: `skip` and the reason".to_owned());
                return Ok(None);
            }
            Form::Skip { reason } => Given::Skipped(reason),
            Form::Note(text) => {
                self.note(prompt.id.to_string(), text, &from)?;
                return Ok(None);
            }
            Form::Back { to } => {
                self.take_back(to.as_ref())?;
                return Ok(None);
            }
            Form::Change { id, new, reason } => {
                self.change(&id, new, &reason, &from)?;
                return Ok(None);
            }
            Form::Pause => return Err(self.pause()?),
            _ => return Err(self.wait_for(prompt.id.to_string(), prompt.text.clone(), None)?),
        };
        Ok(Some((given, from)))
    }

    pub(super) fn doubt_about(&self, prompt: &Prompt, asked: &Asked) -> Option<Doubt> {
        if let Some(doubt) = self.behavior.doubted_then(&prompt.id) {
            return Some(doubt);
        }
        let text = match &asked.answer {
            Answer::Reading { typed } => typed,
            _ => "",
        };
        let every = self.behavior.asks_every_doubt();
        let doubt = self.doubt_of_values(prompt, asked, text, every);
        if !self.behavior.stops_at_dangerous_voltage() {
            return doubt;
        }
        let is_24 = self.nominal().is_some_and(|nominal| nominal.si() > 20.0);
        let doubt = doubt.filter(|doubt| !(is_24 && doubt::is_high_on_24_volts(asked.shown.first(), doubt)));
        doubt.or_else(|| shows_danger(prompt, asked).then_some(Doubt::BeyondVehicle))
    }

    fn doubt_of_values(&self, prompt: &Prompt, asked: &Asked, text: &str, every: bool) -> Option<Doubt> {
        match (&prompt.question, asked.shown.as_slice()) {
            (Question::Reading { limits, .. }, [Shown::Value(value), ..]) => {
                match doubt::about(text, *value, limits, asked.verdict, every) {
                    None | Some(Doubt::Unsure { .. })
                        if self.behavior.doubts_again() && doubt::beyond_the_system(*value, limits, self.nominal) =>
                    {
                        Some(Doubt::BeyondVehicle)
                    }
                    doubt => doubt,
                }
            }
            (Question::LowestHighest { limits, .. }, [Shown::Value(lowest), Shown::Value(highest)]) if every => {
                doubt::of_two(*lowest, *highest, limits)
            }
            _ => None,
        }
    }

    /// What an answer means that is known to fit.
    pub(super) fn meant(&self, prompt: &Arc<Prompt>, answer: Answer) -> Result<Asked, Stop> {
        meaning(prompt, answer, &self.meter).map_err(|problem| script_error(&problem))
    }

    /// Writes the answer down and gives it to the script.
    pub(super) fn accept(&mut self, prompt: Arc<Prompt>, asked: Asked, from: &CameFrom) -> Result<Asked, Stop> {
        self.record_reply(events::answered(prompt, asked.answer.clone(), asked.verdict, from), from.id)?;
        self.answered += 1;
        self.asked_about.answered();
        Ok(asked)
    }

    /// The same after a doubt: a voltage that can kill ends the run.
    pub(super) fn accept_doubted(&mut self, prompt: Arc<Prompt>, asked: Asked, from: &CameFrom) -> Result<Asked, Stop> {
        let danger = self.behavior.stops_at_dangerous_voltage() && shows_danger(&prompt, &asked);
        let id = prompt.id.clone();
        let asked = self.accept(prompt, asked, from)?;
        if !danger {
            return Ok(asked);
        }
        self.answerer.notice(Notice::Remark { text: DANGEROUS_VOLTAGE });
        Err(self.end(Ending::unfinished(Why::DangerousVoltage { id })))
    }

    /// A recorded answer, given to the script again with the verdict that was recorded.
    fn understand(
        &mut self,
        prompt: &Arc<Prompt>,
        answer: Answer,
        sweep: SweepSoFar,
        verdict: Option<Verdict>,
        line: usize,
    ) -> Result<Asked, Stop> {
        self.answered += 1;
        self.asked_about.answered();
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

    pub(super) fn understood_sweep(
        &self,
        prompt: &Prompt,
        mut asked: Asked,
        sweep: SweepSoFar,
        unit: Unit,
    ) -> Result<Asked, Stop> {
        for (reading, shown) in sweep.readings.iter().zip(sweep.shown) {
            // What can't be read is read again for the words.
            let shown = shown
                .map_or_else(|| typed::read(&reading.text, unit), Ok)
                .map_err(|error| script_error(&format!("a reading of the sweep `{}`: {error}", prompt.id)))?;
            asked.shown.push(shown);
        }
        asked.sweep = sweep.readings;
        Ok(asked)
    }
}

/// Where one reading of a line came from that has `of` readings: where the meter showed as many, the one that belongs to it.
fn of_reading(from: &CameFrom, number: usize, of: usize) -> CameFrom {
    let own = match &from.origin {
        Origin::Bench { showed: Some(showed) } if of > 1 => {
            let mut shown = values(showed);
            (shown.len() == of).then(|| shown.swap_remove(number))
        }
        _ => None,
    };
    match own {
        Some(own) => CameFrom { origin: Origin::Bench { showed: Some(own.into()) }, id: from.id },
        None => from.clone(),
    }
}

/// A reading that is asked about: its line in the journal, what was typed, what is odd about it.
struct Doubted {
    line: usize,
    typed: Arc<str>,
    doubt: Doubt,
    /// Where it came from, unless it was read from the journal.
    from: Option<CameFrom>,
    /// What it means, unless it was read from the journal.
    asked: Option<Asked>,
}

enum Given {
    Text(Arc<str>),
    Skipped(String),
}

/// The order after a dangerous voltage.
const DANGEROUS_VOLTAGE: &str = "Stop. Hands and leads off. Find out what this voltage is.";

/// Whether a voltage was read that can kill, and that no limit of the prompt allows.
fn shows_danger(prompt: &Prompt, asked: &Asked) -> bool {
    let (Question::Reading { limits, .. } | Question::LowestHighest { limits, .. }) = &prompt.question else {
        return false;
    };
    asked.shown.iter().any(|shown| matches!(shown, Shown::Value(value) if doubt::is_dangerous(*value, limits)))
}

fn script_error(problem: &str) -> Stop {
    Stop::ScriptError(ScriptError::Text(problem.to_owned()))
}

fn asked_for(prompt: &Arc<Prompt>) -> Event {
    let answer = Answer::Note { words: String::new() };
    Event::Answered { prompt: Arc::clone(prompt), answer, verdict: None, origin: Origin::TYPED }
}
