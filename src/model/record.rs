//! A run as it happened: a fold over its journal.

use super::doubt::Doubt;
use super::ending::Ending;
use super::event::{Entry, Event, NamedCause};
use super::origin::Origin;
use super::prompt::{CautionId, PromptId, Zone};
use super::signoff::Statement;
use super::stamp::Stamp;
use super::started::{Continued, Started};
use super::vehicle::{Action, VehicleState};
use given::{Answered, Change, SweepReading, shown};
use std::sync::Arc;

pub mod given;

/// Something in a step, in the order in which it happened.
#[derive(Clone, PartialEq, Debug)]
pub enum Item {
    /// The vehicle was changed.
    Acted {
        /// How.
        action: Action,
        /// It stood so already.
        already: bool,
        /// When.
        at: Stamp,
        /// A wait that was said to be over before its time: after how many seconds.
        cut_short_after: Option<u64>,
    },
    /// A question was answered.
    Answered(Box<Answered>),
    /// The technician wrote something down.
    Noted {
        /// The words.
        text: String,
    },
    /// Cautions were told, and by whom they were acknowledged.
    Cautioned {
        /// Which.
        cautions: Vec<CautionId>,
        /// Whether somebody said that they were read; `None` where none needed it.
        by_person: Option<bool>,
        /// The qualified person who was named.
        qualified: Option<String>,
        /// The reply came from a pipe or file at the standard input: nobody is known to have read them.
        from_input: bool,
    },
    /// Cautions that were confirmed before and were true again: one line for each.
    Reminded {
        /// Which.
        cautions: Vec<CautionId>,
    },
    /// Put down.
    Paused {
        /// When.
        at: Stamp,
    },
    /// Taken up again.
    Resumed {
        /// When.
        at: Stamp,
        /// The technician corrected what the record showed.
        corrected: bool,
        /// Nobody was there to look.
        unseen: bool,
        /// The vehicle as it stood then.
        vehicle: Box<VehicleState>,
    },
    /// A line that had not been written whole was dropped.
    TornLineDropped {
        /// How many bytes it had.
        bytes: usize,
    },
    /// An answer and all later ones were taken back, or one reading of a sweep.
    Struck {
        /// The first prompt.
        id: PromptId,
        /// Only this reading of the sweep, as typed.
        reading: Option<String>,
        /// When.
        at: Stamp,
    },
}

/// Something with its place in the journal. What was done at the vehicle stays done when answers are taken back, but it
/// belongs to a path that did not lead to the cause.
#[derive(Clone, PartialEq, Debug)]
pub struct Placed {
    /// Its line in the journal, from 1.
    pub line: usize,
    /// The line at which the path that it belongs to was taken back.
    pub struck_at: Option<usize>,
    /// The event.
    pub item: Item,
}

/// A step with what happened in it. What comes before the first step stands in one without a title.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Step {
    /// The line in the journal at which it was come to.
    pub line: usize,
    /// The line at which the path that came to it was taken back.
    pub struck_at: Option<usize>,
    /// Its heading.
    pub title: String,
    /// Where the technician was.
    pub near: Vec<Zone>,
    /// The event.
    pub items: Vec<Placed>,
}

impl Step {
    /// Its events, to be changed.
    pub fn items_mut(&mut self) -> impl DoubleEndedIterator<Item = &mut Item> {
        self.items.iter_mut().map(|placed| &mut placed.item)
    }
}

/// How a run stands.
#[derive(Clone, PartialEq, Debug)]
pub enum RunStatus {
    /// A cause was named, or several that the evidence can't part.
    Concluded(Vec<NamedCause>),
    /// It ended without one.
    Ended(Ending),
    /// It waits for an answer that nobody gave.
    Waiting {
        /// The prompt.
        prompt: String,
        /// Its words.
        text: String,
    },
    /// It was put down or broken off.
    Open,
}

/// Somebody signed, or said that they would.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct SignOff {
    /// The statement's line in the journal, from 1.
    pub line: usize,
    /// When.
    pub at: Stamp,
    /// Who, as what.
    pub statement: Statement,
    /// The signature as recorded, not verified; `None` where the statement was left without one.
    pub signature: Option<String>,
}

/// The run as it happened.
#[derive(Clone, PartialEq, Debug)]
pub struct Record {
    /// How it began.
    pub started: Started,
    /// When it began.
    pub began: Stamp,
    /// When the last thing happened.
    pub last: Stamp,
    /// The events, by step.
    pub steps: Vec<Step>,
    /// How it stands.
    pub status: RunStatus,
    /// The vehicle as the record left it.
    pub vehicle: VehicleState,
    /// What the last ending or pause left changed at the vehicle: what would put it back, in its order.
    pub left_changed: Vec<Action>,
    /// The answers that were changed, in order.
    pub changes: Vec<Change>,
    /// The sittings after the first, each with its line.
    pub sittings: Vec<(usize, Continued)>,
    /// Who signed it, in order. Whether the signatures hold is for the bytes to say.
    pub sign_offs: Vec<SignOff>,
}

/// A journal that does not begin with a start.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("the journal does not begin with the start of a run")]
pub struct NoStart;

impl Record {
    /// Folds a journal.
    pub fn of(entries: &[Entry]) -> Result<Self, NoStart> {
        Self::taking(entries.iter().cloned())
    }

    /// Folds a journal that nobody needs any more.
    pub fn taking(entries: impl IntoIterator<Item = Entry>) -> Result<Self, NoStart> {
        let mut entries = entries.into_iter();
        let Some(Entry { at, event: Event::Started(started), .. }) = entries.next() else {
            return Err(NoStart);
        };
        let mut record = Self {
            began: at.clone(),
            last: at,
            steps: vec![Step::default()],
            status: RunStatus::Open,
            vehicle: started.vehicle.clone(),
            left_changed: Vec::new(),
            changes: Vec::new(),
            sittings: Vec::new(),
            sign_offs: Vec::new(),
            started: *started,
        };
        let mut sweep = Vec::new();
        let mut doubts = Vec::new();
        let mut kept = None;
        for (index, entry) in entries.enumerate() {
            record.last = entry.at.clone();
            match entry.event {
                Event::Kept { line } => kept = Some(line),
                Event::Struck { .. } | Event::Changed { .. } => kept = None,
                _ => {}
            }
            let is_answer = matches!(entry.event, Event::Answered { .. });
            record.apply(index + 2, entry, &mut sweep, &mut doubts);
            if is_answer && let Some(answered) = record.last_answer() {
                answered.kept_from = kept.take();
            }
        }
        record.steps.retain(|step| !step.title.is_empty() || !step.items.is_empty());
        Ok(record)
    }

    fn apply(&mut self, line: usize, entry: Entry, sweep: &mut Vec<SweepReading>, doubts: &mut Vec<(Arc<str>, Doubt)>) {
        let Entry { at, event, .. } = entry;
        let mendable = matches!(self.status, RunStatus::Ended(Ending::Failed { .. }));
        let is_over = !mendable && matches!(self.status, RunStatus::Concluded(_) | RunStatus::Ended(_));
        // What is signed is not changed by it.
        if !is_over && !event.is_of_a_sign_off() {
            self.status = RunStatus::Open;
        }
        match event {
            Event::Started(_) | Event::WaitBegan { .. } => {}
            Event::Stated(statement) => {
                self.sign_offs.push(SignOff { line, at, statement: *statement, signature: None });
            }
            Event::Signed { signature } => {
                if let Some(last) = self.sign_offs.last_mut().filter(|last| last.line + 1 == line) {
                    last.signature = Some(signature);
                }
            }
            Event::StepBegan { title, near } => {
                self.steps.push(Step { line, struck_at: None, title, near, items: Vec::new() });
            }
            Event::Cautioned { cautions } => self.push(
                line,
                Item::Cautioned {
                    cautions: cautions.into_iter().map(|told| told.id).collect(),
                    by_person: None,
                    qualified: None,
                    from_input: false,
                },
            ),
            Event::Reminded { cautions } => {
                let cautions = cautions.into_iter().map(|told| told.id).collect();
                self.push(line, Item::Reminded { cautions });
            }
            Event::Acknowledged { by_person, qualified, origin, .. } => {
                if let Some(Item::Cautioned { by_person: slot, qualified: who, from_input, .. }) = self
                    .steps
                    .last_mut()
                    .and_then(|step| step.items_mut().rev().find(|item| matches!(item, Item::Cautioned { .. })))
                {
                    *slot = Some(by_person);
                    *who = qualified;
                    *from_input = matches!(origin, Some(Origin::Input));
                }
            }
            // Nothing was done here: the vehicle was as the entries around it say.
            Event::Acted { passed_over: true, .. } => {}
            Event::Acted { action, already, cut_short_after, back, .. } => {
                if back && let Some(done) = self.left_changed.iter().position(|open| *open == action) {
                    self.left_changed.remove(done);
                }
                if !already {
                    self.vehicle = self.vehicle.after(&action, Some(at.minute()));
                }
                self.push(line, Item::Acted { action, already, at, cut_short_after });
            }
            Event::Doubted { typed, doubt, .. } => doubts.push((typed, doubt)),
            Event::SweepRead { text, position, .. } => {
                sweep.push(SweepReading { text, position });
            }
            Event::Answered { prompt, answer, verdict, origin } => {
                let sweep = std::mem::take(sweep);
                let answered = Answered {
                    line,
                    at,
                    shown: shown(&prompt, &answer, &sweep),
                    prompt,
                    answer,
                    verdict,
                    sweep,
                    doubts: std::mem::take(doubts),
                    origin,
                    struck_at: None,
                    kept_from: None,
                };
                self.push(line, Item::Answered(Box::new(answered)));
            }
            Event::Noted { text, .. } => self.push(line, Item::Noted { text }),
            Event::Paused => self.push(line, Item::Paused { at }),
            Event::Continued(continued) => self.sittings.push((line, *continued)),
            Event::Resumed { vehicle, corrected, unseen } => {
                self.left_changed.clear();
                self.vehicle.clone_from(&vehicle);
                self.push(line, Item::Resumed { at, corrected, unseen, vehicle });
            }
            Event::TornLineDropped { bytes } => self.push(line, Item::TornLineDropped { bytes }),
            Event::Struck { id, reading: Some(reading), .. } => {
                // The last one of the sweep that goes on.
                sweep.pop();
                self.push(line, Item::Struck { id, reading: Some(reading), at });
            }
            Event::Kept { .. } => {}
            Event::Changed { from_line, id, old, new, reason, origin: _, line: _ } => {
                self.changes.push(Change { line, at: at.clone(), id: id.clone(), old, new, reason });
                self.take_back_from(from_line, line, id, at, sweep, doubts);
            }
            Event::Struck { from_line, id, reading: None } => {
                self.take_back_from(from_line, line, id, at, sweep, doubts);
            }
            Event::LeftChanged { open } => self.left_changed = open,
            Event::Waited { prompt, text } => {
                self.status = RunStatus::Waiting { prompt, text };
            }
            Event::Concluded { causes } => self.status = RunStatus::Concluded(causes),
            Event::Ended { ending } => self.status = RunStatus::Ended(ending),
        }
    }

    /// Strikes everything from a line on, at another.
    fn take_back_from(
        &mut self,
        from_line: usize,
        line: usize,
        id: PromptId,
        at: Stamp,
        sweep: &mut Vec<SweepReading>,
        doubts: &mut Vec<(Arc<str>, Doubt)>,
    ) {
        sweep.clear();
        doubts.clear();
        let back_to = self.step_of(from_line);
        self.strike(from_line, line);
        if let Some((title, near)) = back_to {
            self.steps.push(Step { line, struck_at: None, title, near, items: Vec::new() });
        }
        self.status = RunStatus::Open;
        self.push(line, Item::Struck { id, reading: None, at });
    }

    /// The answer that came last.
    fn last_answer(&mut self) -> Option<&mut Answered> {
        match self.steps.last_mut()?.items.last_mut().map(|placed| &mut placed.item) {
            Some(Item::Answered(answered)) => Some(answered),
            _ => None,
        }
    }

    /// Heading and zones of the step that has the first answer to be struck, unless the run is in it: what is asked again belongs to the step
    /// in which it was asked first, not to the one that was reached since.
    fn step_of(&self, from_line: usize) -> Option<(String, Vec<Zone>)> {
        let is_struck = |placed: &Placed| matches!(&placed.item, Item::Answered(answered) if answered.line >= from_line && answered.struck_at.is_none());
        let index = self.steps.iter().position(|step| step.items.iter().any(is_struck))?;
        let step = self.steps.get(index)?;
        (index + 1 < self.steps.len()).then(|| (step.title.clone(), step.near.clone()))
    }

    /// Marks everything from a line on as taken back at another, steps that were come to since included.
    fn strike(&mut self, from_line: usize, at_line: usize) {
        let mark = |line: usize, struck_at: &mut Option<usize>| {
            if line >= from_line && struck_at.is_none() {
                *struck_at = Some(at_line);
            }
        };
        for step in &mut self.steps {
            mark(step.line, &mut step.struck_at);
            for placed in &mut step.items {
                mark(placed.line, &mut placed.struck_at);
                if let Item::Answered(answered) = &mut placed.item {
                    mark(answered.line, &mut answered.struck_at);
                }
            }
        }
    }

    fn push(&mut self, line: usize, item: Item) {
        if let Some(step) = self.steps.last_mut() {
            step.items.push(Placed { line, struck_at: None, item });
        }
    }

    /// Who is at it: as its last sitting says, else as it began.
    pub fn technician(&self) -> Option<&str> {
        let last = self.sittings.iter().rev().find_map(|(_, sitting)| sitting.technician.as_deref());
        last.or(self.started.job.technician.as_deref())
    }

    /// Everything that happened, whichever step it was in.
    pub fn items(&self) -> impl Iterator<Item = &Item> {
        self.steps.iter().flat_map(|step| &step.items).map(|placed| &placed.item)
    }

    /// The same, to be changed.
    pub fn items_mut(&mut self) -> impl Iterator<Item = &mut Item> {
        self.steps.iter_mut().flat_map(Step::items_mut)
    }

    /// Every answer, those taken back included.
    pub fn every_answer(&self) -> impl Iterator<Item = &Answered> {
        self.items().filter_map(|item| match item {
            Item::Answered(answered) => Some(&**answered),
            _ => None,
        })
    }

    /// The answers that stand, each with the vehicle as it was then.
    pub fn answers_with_vehicle(&self) -> Vec<(&Answered, VehicleState)> {
        let mut vehicle = self.started.vehicle.clone();
        let mut answers = Vec::new();
        // What was kept was given with the vehicle as it stood then.
        let mut given: Vec<(usize, VehicleState)> = Vec::new();
        let is_kept_of = |line: usize| self.every_answer().any(|answered| answered.kept_from == Some(line));
        for item in self.items() {
            match item {
                Item::Acted { action, already: false, at, .. } => vehicle = vehicle.after(action, Some(at.minute())),
                Item::Resumed { vehicle: then, .. } => vehicle.clone_from(then),
                Item::Answered(answered) => {
                    if answered.struck_at.is_none() {
                        let then = given.iter().find(|(line, _)| answered.kept_from == Some(*line));
                        answers.push((&**answered, then.map_or_else(|| vehicle.clone(), |(_, then)| then.clone())));
                    } else if is_kept_of(answered.line) {
                        given.push((answered.line, vehicle.clone()));
                    }
                }
                _ => {}
            }
        }
        answers
    }

    /// The answers that stand.
    pub fn answers(&self) -> impl Iterator<Item = &Answered> {
        self.every_answer().filter(|answered| answered.struck_at.is_none())
    }
}
