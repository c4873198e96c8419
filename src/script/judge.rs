//! A record judged again: by the very copies that it was run with, or by a newer procedure.

use super::execute::{EntryPoint, Outcome, execute};
use super::procedure::Procedure;
use crate::model::answered_by::AnsweredBy;
use crate::model::caution::CautionRules;
use crate::model::event::{Entry, Event};
use crate::model::limits::Verdict;
use crate::model::points::Points;
use crate::model::prompt::{Prompt, PromptId};
use crate::model::record::given::Answered;
use crate::model::record::{NoStart, Record};
use crate::model::signoff::day_of;
use crate::model::typed::Shown;
use crate::run::answerer::{Answering, MeterInUse};
use crate::run::asked_about::AskedAbout;
use crate::run::carried_answers::CarriedAnswers;
use crate::run::journal::{FixedClock, Nowhere};
use crate::run::recorded_run::{Difference, RecordedRun};
use crate::run::session::{Parts, Session};
use crate::run::unattended::Unattended;
use jiff::civil::Date;
use std::collections::BTreeMap;
use std::sync::Arc;

/// What a record is judged by.
#[derive(Clone, Copy)]
pub struct Judge<'a> {
    /// The procedure.
    pub procedure: &'a Procedure,
    /// The circuit's names.
    pub points: Option<&'a Arc<Points>>,
    /// Caution rules.
    pub rules: &'a Arc<CautionRules>,
    /// The meter as it was on a day.
    pub meter: &'a dyn Fn(Option<Date>) -> Arc<MeterInUse>,
}

/// What came out the same.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Same {
    /// How many answers have a verdict.
    pub verdicts: usize,
    /// How many times cautions were told.
    pub cautions: usize,
    /// Whether a cause was named.
    pub concluded: bool,
    /// The answers that the procedure asked about.
    pub asked_about: AskedAbout,
}

/// A prompt that the newer procedure asks, too.
#[derive(Clone, Debug, PartialEq)]
pub struct Now {
    /// As it is asked now.
    pub prompt: Arc<Prompt>,
    /// The verdict now.
    pub verdict: Option<Verdict>,
    /// What the answer is in the unit in which it is asked now.
    pub shown: Vec<Option<Shown>>,
}

/// An answer of the record, and what it comes to.
#[derive(Clone, Copy, Debug)]
pub struct Rejudged<'a> {
    /// As it was recorded.
    pub then: &'a Answered,
    /// What it is now; `None` where it is no longer asked, or not in the same way.
    pub now: Option<&'a Now>,
}

/// A newer procedure over a record's answers.
#[derive(Clone, Debug)]
pub struct Over {
    /// The record.
    pub record: Record,
    /// How the newer procedure comes out.
    pub outcome: Outcome,
    now: BTreeMap<PromptId, Now>,
}

impl Over {
    /// The record's answers that stand, and what they come to.
    pub fn answers(&self) -> impl Iterator<Item = Rejudged<'_>> {
        self.record.answers().map(|then| Rejudged { then, now: self.now.get(&then.prompt.id) })
    }
}

impl Judge<'_> {
    fn parts(&self, course: &RecordedRun, day: Option<Date>) -> Parts {
        Parts {
            journal: Box::new(Nowhere),
            answerer: Box::new(course.clone()),
            answering: Answering::unattended(AnsweredBy::Record),
            clock: Box::new(course.clone()),
            rules: Arc::clone(self.rules),
            meter: (self.meter)(day),
            causes: Arc::clone(&self.procedure.causes),
            past: Some(course.clone()),
        }
    }

    /// Runs a record again, sitting by sitting, and compares event by event.
    ///
    /// # Errors
    /// The first line at which something else comes out.
    pub fn again(&self, entries: &Arc<Vec<Entry>>) -> Result<Same, Difference> {
        let course = RecordedRun::new(Arc::clone(entries));
        let Some(Event::Started(started)) = entries.first().map(|entry| &entry.event) else {
            return Err(Difference { line: 1, recorded: "no start".to_owned(), now: "the start of a run".to_owned() });
        };
        let mut asked_about = AskedAbout::default();
        loop {
            course.next_sitting();
            let position = course.position();
            if position == entries.len() {
                break;
            }
            let day = entries.get(position).and_then(|entry| day_of(&entry.at));
            let parts = self.parts(&course, day);
            let session = if position == 0 {
                Session::start(parts, (**started).clone()).map_err(|stop| Difference {
                    line: 1,
                    recorded: "the start of the run".to_owned(),
                    now: format!("{stop:?}"),
                })?
            } else {
                Session::resume(parts, entries[..position].to_vec(), None)
            };
            let finished = execute(self.procedure, EntryPoint::of(started), session, self.points.cloned());
            asked_about = finished.asked_about;
            if let Some(difference) = course.difference() {
                return Err(difference);
            }
            if course.position() == position {
                let now = match finished.outcome {
                    Outcome::Diverged { line, recorded, attempted } => {
                        return Err(Difference { line, recorded, now: attempted });
                    }
                    Outcome::Failed(diagnostic) => format!("an error: {}", diagnostic.title),
                    Outcome::Concluded(_) => "nothing more: the procedure has named its cause".to_owned(),
                    _ => "nothing more".to_owned(),
                };
                let recorded = entries[position].event.kind_in_words();
                return Err(Difference { line: position + 1, recorded, now });
            }
        }
        let counted = |which: fn(&Event) -> bool| entries.iter().filter(|entry| which(&entry.event)).count();
        Ok(Same {
            verdicts: counted(|event| matches!(event, Event::Answered { verdict: Some(_), .. })),
            cautions: counted(|event| matches!(event, Event::Cautioned { .. })),
            concluded: counted(|event| matches!(event, Event::Concluded { .. })) > 0,
            asked_about,
        })
    }

    /// Runs this procedure over the answers of a record of another revision of it.
    ///
    /// # Errors
    /// When the record does not begin with a start.
    pub fn over(&self, entries: Vec<Entry>) -> Result<Over, NoStart> {
        let entries = Arc::new(entries);
        let Some(Entry { at: began, event: Event::Started(then), .. }) = entries.first() else { return Err(NoStart) };
        let unattended = Unattended::of(&entries);
        let parts = Parts {
            journal: Box::new(Nowhere),
            answerer: Box::new(CarriedAnswers::new(Arc::clone(&entries), Box::new(unattended))),
            answering: Answering::unattended(AnsweredBy::Record),
            clock: Box::new(FixedClock::at(began.clone())),
            rules: Arc::clone(self.rules),
            meter: (self.meter)(day_of(began)),
            causes: Arc::clone(&self.procedure.causes),
            past: None,
        };
        let mut started = (**then).clone();
        if let Some(run) = started.procedure_mut() {
            run.name.clone_from(&self.procedure.name);
            run.revision = self.procedure.header.revision;
        }
        started.link = None;
        let entry_point = EntryPoint::of(&started);
        let Ok(session) = Session::start(parts, started) else { return Err(NoStart) };
        let finished = execute(self.procedure, entry_point, session, self.points.cloned());
        // Nobody takes anything back here: every answer of this run stands.
        let now = Record::taking(finished.entries)?
            .every_answer()
            .map(|Answered { prompt, verdict, shown, .. }| {
                let now = Now { prompt: Arc::clone(prompt), verdict: *verdict, shown: shown.clone() };
                (prompt.id.clone(), now)
            })
            .collect();
        let record = Record::taking(Arc::unwrap_or_clone(entries))?;
        Ok(Over { record, outcome: finished.outcome, now })
    }
}
