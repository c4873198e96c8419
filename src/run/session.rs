//! The session: what the script asks, answered from the journal while that lasts, and by somebody after.

use super::answerer::{Answerer, Answering, MeterInUse};
use super::asked_about::AskedAbout;
use super::at_vehicle::keeping::Keeping;
use super::at_vehicle::phase::{Hands, Phase, Then};
use super::at_vehicle::undo::{Done, Undo};
use super::behavior::Behavior;
use super::caution_monitor::CautionMonitor;
use super::events;
use super::journal::{Clock, Durability, Journal};
use super::notice::Notice;
use super::recorded_run::RecordedRun;
use super::replay::{Replay, Replayed};
use super::reply::{CameFrom, Form};
use super::request::{Request, Token};
use super::stop::{ScriptError, Stop};
use crate::model::answered_by::AnsweredBy;
use crate::model::caution::CautionRules;
use crate::model::event::{Entry, Event, MOST_EVENTS, NamedCause};
use crate::model::id::ReplyId;
use crate::model::points::Points;
use crate::model::prompt::{PromptId, Zone};
use crate::model::quantity::Quantity;
use crate::model::record::Record;
use crate::model::stamp::Stamp;
use crate::model::started::{Continued, Started};
use crate::model::vehicle::{Action, VehicleState};
use crate::model::words;
use std::collections::BTreeSet;
use std::sync::Arc;

/// One run of a procedure.
pub struct Session {
    pub(super) journal: Box<dyn Journal>,
    pub(super) answerer: Box<dyn Answerer>,
    pub(super) answering: Answering,
    pub(super) behavior: Behavior,
    pub(super) clock: Box<dyn Clock>,
    pub(super) rules: Arc<CautionRules>,
    pub(super) meter: Arc<MeterInUse>,
    pub(super) causes: Arc<Vec<NamedCause>>,
    pub(super) entries: Vec<Entry>,
    pub(super) replay: Replay,
    pub(super) phase: Phase,
    /// Which question is asked, or was asked last.
    pub(super) token: Token,
    /// What kind of question that is.
    pub(super) asked: &'static str,
    /// What was wrong with the last reply, until another one fits.
    pub(super) refused: Option<String>,
    pub(super) vehicle: VehicleState,
    /// The system's nominal voltage, as the script was told in this pass.
    pub(super) nominal: Option<Quantity>,
    /// What is done for as long as a reading takes: asked for when the reading's leads have been shown.
    pub(super) pending_action: Option<Action>,
    pub(super) monitor: CautionMonitor,
    /// How far the journal was looked through for a long silence.
    pub(super) silence_seen_to: usize,
    /// The circuit's names, where there is a circuit: what is fed, and what lies near its places.
    pub(super) points: Option<Arc<Points>>,
    /// What it said last, of the vehicle as it still stands.
    pub(super) fed: Option<bool>,
    pub(super) step: String,
    /// How many steps began.
    steps: usize,
    pub(super) near: Vec<Zone>,
    pub(super) why: String,
    pub(super) ids: BTreeSet<PromptId>,
    pub(super) skips_asked: BTreeSet<PromptId>,
    pub(super) over_ranges_asked: BTreeSet<PromptId>,
    pub(super) unsteady_asked: BTreeSet<PromptId>,
    pub(super) answered: usize,
    /// What undoes what was done in the author's words, in the author's words.
    pub(super) undos: Vec<Undo>,
    /// The last action in the author's words.
    pub(super) carried_out: Done,
    /// The way back is under way: to stop now leaves its rest open.
    pub(super) leaving: bool,
    /// After a change: the answers that may be kept.
    pub(super) kept: Keeping,
    /// The wait that lasts while readings are taken: when it began, and what ends it.
    pub(super) wait: Option<(Stamp, Action)>,
    /// The next action is one that the question after it tells to do.
    pub(super) told_by_question: bool,
    /// The answers that the script asked about in this pass.
    pub asked_about: AskedAbout,
    /// How this sitting begins, until its first event is written.
    sitting: Option<Continued>,
    /// How many events a run of this procedure may have.
    most_events: usize,
}

/// Everything that a session is made of.
pub struct Parts {
    /// Where events go.
    pub journal: Box<dyn Journal>,
    /// Who answers.
    pub answerer: Box<dyn Answerer>,
    /// What hangs on who answers.
    pub answering: Answering,
    /// The time.
    pub clock: Box<dyn Clock>,
    /// Caution rules.
    pub rules: Arc<CautionRules>,
    /// The meter's accuracy.
    pub meter: Arc<MeterInUse>,
    /// The causes that the procedure may name.
    pub causes: Arc<Vec<NamedCause>>,
    /// The record that is judged again; nothing else sets it.
    pub past: Option<RecordedRun>,
}

impl Session {
    /// A new run.
    ///
    /// # Errors
    /// When the journal can't be written.
    pub fn start(parts: Parts, started: Started) -> Result<Self, Stop> {
        let mut session = Self::empty(parts, started.vehicle.clone());
        session.token.record = started.record;
        session.tell_start();
        session.record(Event::Started(Box::new(started)))?;
        Ok(session)
    }

    /// A run taken up again: the journal's entries come first, then whoever answers.
    /// What it writes is a new sitting, which says how it begins before anything else; none where that is written already, or
    /// where a record is only judged again.
    pub fn resume(parts: Parts, entries: Vec<Entry>, sitting: Option<Continued>) -> Self {
        let (vehicle, record) = match entries.first().map(|entry| &entry.event) {
            Some(Event::Started(started)) => (started.vehicle.clone(), started.record),
            _ => (VehicleState::default(), None),
        };
        let mut session = Self::empty(parts, vehicle);
        session.token.record = record;
        session.replay = Replay::of(&entries);
        session.kept = Keeping::of(&entries);
        session.entries = entries;
        session.sitting = sitting;
        session.phase = Phase::ReadsBack(Then::Confirms(Hands::LetGo));
        session.tell_start();
        session
    }

    fn empty(parts: Parts, vehicle: VehicleState) -> Self {
        let Parts { journal, answerer, answering, clock, rules, meter, causes, past } = parts;
        Self {
            journal,
            answerer,
            answering,
            behavior: Behavior::of(past),
            clock,
            rules,
            meter,
            causes,
            // Most runs have fewer events.
            entries: Vec::with_capacity(64),
            replay: Replay::default(),
            phase: Phase::Live,
            token: Token::default(),
            asked: "",
            refused: None,
            vehicle,
            nominal: None,
            pending_action: None,
            monitor: CautionMonitor::default(),
            silence_seen_to: 0,
            points: None,
            fed: None,
            step: String::new(),
            steps: 0,
            near: Vec::new(),
            why: String::new(),
            ids: BTreeSet::new(),
            skips_asked: BTreeSet::new(),
            over_ranges_asked: BTreeSet::new(),
            unsteady_asked: BTreeSet::new(),
            answered: 0,
            undos: Vec::new(),
            carried_out: Done::default(),
            leaving: false,
            kept: Keeping::default(),
            wait: None,
            told_by_question: false,
            asked_about: AskedAbout::default(),
            sitting: None,
            most_events: MOST_EVENTS as usize,
        }
    }

    /// Asks this circuit what is fed, and what lies near its places.
    pub fn asks(&mut self, points: Arc<Points>) {
        self.points = Some(points);
    }

    /// Lets the run have so many events.
    pub const fn allow_events(&mut self, most: usize) {
        self.most_events = most;
    }

    /// Back to the top after an answer was taken back: the script runs again over what still stands.
    pub fn rewind(&mut self) {
        self.replay = Replay::of(&self.entries);
        self.kept = Keeping::of(&self.entries);
        if let Some(Event::Started(started)) = self.entries.first().map(|entry| &entry.event) {
            self.vehicle = started.vehicle.clone();
        }
        self.tell_start();
        self.pending_action = None;
        self.nominal = None;
        self.fed = None;
        // Where nothing was done at the vehicle since, it stands as it did, and what was said of it holds.
        self.phase = self.phase.rewound(self.was_moved_since_struck() || self.behavior.confirms_again());
        if matches!(self.phase, Phase::ReadsBack(Then::Confirms(_))) {
            self.monitor = CautionMonitor::default();
        } else if self.behavior.reminds() {
            // Nobody knows if a mistaken technician read them: they are confirmed again.
            self.monitor.forget();
        }
        self.step.clear();
        self.steps = 0;
        self.near.clear();
        self.why.clear();
        self.ids.clear();
        self.skips_asked.clear();
        self.over_ranges_asked.clear();
        self.unsteady_asked.clear();
        self.answered = 0;
        self.undos.clear();
        self.wait = None;
        self.told_by_question = false;
        self.asked_about = AskedAbout::default();
    }

    fn tell_start(&mut self) {
        self.answerer.notice(Notice::Stands { vehicle: &self.vehicle, anew: true });
    }

    /// What was recorded; the session is over.
    pub fn take_entries(&mut self) -> Vec<Entry> {
        std::mem::take(&mut self.entries)
    }

    /// The vehicle as it stands.
    pub fn vehicle(&self) -> &VehicleState {
        &self.vehicle
    }

    /// Whether what is asked for next is asked for the first time. What a record has, was accepted when it was made: what is
    /// refused only since then is refused only here.
    pub fn asks_anew(&self) -> bool {
        let is_new = self.answering.answered_by != AnsweredBy::Record || self.behavior.failed_here();
        self.replay.is_empty() && is_new
    }

    /// Whether there is room for what the script brings about next: a loop that asks nothing would fill the disk.
    pub(super) fn room(&self) -> Result<(), Stop> {
        if self.entries.len() < self.most_events || !self.asks_anew() {
            return Ok(());
        }
        Err(Stop::ScriptError(ScriptError::TooManyEvents(self.most_events)))
    }

    /// Text from the script that is not part of the record.
    pub fn remark(&mut self, text: &str) {
        if self.phase.is_live() {
            self.answerer.notice(Notice::Remark { text });
        }
    }

    /// A step begins.
    ///
    /// # Errors
    /// Unknown zone, divergence from the journal, or the journal can't be written.
    pub fn begin_step(&mut self, title: &str, near: &[String]) -> Result<(), Stop> {
        let zones = self.zones(near)?;
        self.do_pending_action(None)?;
        self.step.clear();
        self.step.push_str(title);
        self.near = zones;
        self.why.clear();
        self.steps += 1;
        let event = Event::StepBegan { title: title.to_owned(), near: self.near.clone() };
        if let Some((line, entry)) = self.next_recorded()? {
            return match &entry.event {
                Event::StepBegan { title: recorded, .. } if recorded == title => {
                    self.answerer.notice(Notice::Recorded { line, entry: &entry, replayed: true });
                    Ok(())
                }
                other => Err(diverged(line, other, &event)),
            };
        }
        self.room()?;
        self.monitor.begin_step(&self.rules, self.steps);
        self.record(event)?;
        if self.kept.is_on() {
            return Ok(());
        }
        self.tell_step();
        self.caution_at_step()
    }

    fn zones(&self, near: &[String]) -> Result<Vec<Zone>, Stop> {
        let mut zones = Vec::with_capacity(near.len());
        for zone in near {
            // Without rules, as when a procedure is proven, every zone is as good as another.
            if !self.rules.rules.is_empty()
                && !self.rules.rules.iter().any(|rule| rule.when.zones.iter().any(|known| known.as_str() == zone))
            {
                let known = self.rules.zones();
                let nearest = words::nearest(zone, known.iter().map(|zone| zone.as_str()));
                let known = known.iter().map(ToString::to_string).collect();
                return Err(Stop::ScriptError(ScriptError::UnknownZone { zone: zone.clone(), nearest, known }));
            }
            zones.push(Zone::new(zone.as_str()));
        }
        Ok(zones)
    }

    /// The author's words on why.
    pub fn why(&mut self, text: &str) {
        self.why.clear();
        self.why.push_str(text);
        if self.phase.is_live() {
            self.answerer.notice(Notice::Why { text });
        }
    }

    /// Takes an id for one prompt of this run.
    ///
    /// # Errors
    /// An id that is not plain, or that another prompt of the run has.
    pub(super) fn claim(&mut self, id: &PromptId) -> Result<(), Stop> {
        let text = id.as_str();
        if !PromptId::is_plain(text) {
            return Err(Stop::ScriptError(ScriptError::BadId(text.to_owned())));
        }
        if !self.ids.insert(id.clone()) {
            return Err(Stop::ScriptError(ScriptError::IdTwice(id.clone())));
        }
        Ok(())
    }

    // ---- what the live path is made of ----

    /// The next event that the script brought about, with its line; what stands before it beside the script is applied and
    /// shown. `None`: the journal is read to its end, and from here on things are asked.
    pub(super) fn next_recorded(&mut self) -> Result<Option<(usize, Entry)>, Stop> {
        while let Some((line, replayed)) = self.replay.pop() {
            match replayed {
                Replayed::Vehicle { state, corrected } => {
                    self.vehicle = *state;
                    self.tell_corrected(corrected);
                }
                Replayed::Back(entry) => {
                    if let Event::Acted { action, .. } = &entry.event {
                        self.vehicle = self.vehicle.after(action, Some(entry.at.minute()));
                        self.was_carried_out(action, true);
                    }
                    self.answerer.notice(Notice::Recorded { line, entry: &entry, replayed: true });
                }
                Replayed::Note(note) => {
                    self.answerer.notice(Notice::Recorded { line, entry: &note, replayed: true });
                }
                Replayed::Entry(entry) => return Ok(Some((line, *entry))),
            }
        }
        if !self.kept.is_on() {
            self.go_live()?;
        }
        Ok(None)
    }

    /// The journal is read to its end: show the vehicle as the record left it, to confirm or correct.
    pub(super) fn go_live(&mut self) -> Result<(), Stop> {
        let Phase::ReadsBack(then) = self.phase else { return Ok(()) };
        self.phase = Phase::Live;
        self.answerer.notice(Notice::Live);
        let hands = match then {
            Then::GoesOn => Hands::Hold,
            Then::Confirms(hands) => {
                self.confirm_vehicle()?;
                hands
            }
        };
        self.monitor.begin_step(&self.rules, self.steps);
        if !self.step.is_empty() {
            self.tell_step();
        }
        self.name_what_stays();
        self.phase = Phase::LooksFirst(hands);
        Ok(())
    }

    fn confirm_vehicle(&mut self) -> Result<(), Stop> {
        let left = Record::of(&self.entries).map_or_else(|_| self.vehicle.clone(), |record| record.vehicle);
        let (vehicle, seen) = match self.put(Request::ConfirmVehicle { left: &left }).form {
            Form::Vehicle { state, seen } => (*state, seen),
            Form::Nobody => (left.clone(), false),
            _ => return Err(self.pause()?),
        };
        let corrected = vehicle != left;
        self.vehicle.clone_from(&vehicle);
        self.tell_corrected(corrected);
        self.monitor.forget();
        self.record(Event::Resumed { vehicle: Box::new(vehicle), corrected, unseen: !seen })
    }

    fn tell_corrected(&mut self, corrected: bool) {
        if corrected {
            self.answerer.notice(Notice::Stands { vehicle: &self.vehicle, anew: false });
        }
    }

    pub(super) fn note(&mut self, at_prompt: String, text: String, from: &CameFrom) -> Result<(), Stop> {
        self.record_reply(events::noted(at_prompt, text, from), from.id)
    }

    pub(super) fn pause(&mut self) -> Result<Stop, Stop> {
        if self.leaving {
            return Ok(Stop::LeftOpen);
        }
        self.stop_keeping()?;
        self.leave()?;
        self.record(Event::Paused)?;
        Ok(Stop::Paused)
    }

    /// How many lines the journal has.
    pub(super) fn lines(&self) -> usize {
        self.entries.len()
    }

    /// Records an event with the time of now.
    pub(super) fn record(&mut self, event: Event) -> Result<(), Stop> {
        let at = self.clock.now();
        self.append(Entry::new(at, event))
    }

    /// Records an event that a reply brought about, with the reply's id where it has one.
    pub(super) fn record_reply(&mut self, event: Event, reply: Option<ReplyId>) -> Result<(), Stop> {
        let at = self.clock.now();
        self.append(Entry { at, reply, event })
    }

    pub(super) fn append(&mut self, entry: Entry) -> Result<(), Stop> {
        if let Some(sitting) = self.sitting.take() {
            let begins = Entry::new(entry.at.clone(), Event::Continued(Box::new(sitting)));
            self.journal.append(&begins, Durability::AtEnd).map_err(Stop::Journal)?;
            self.entries.push(begins);
        }
        let durability = match entry.event {
            // What nobody typed can be found again by running the script.
            Event::StepBegan { .. }
            | Event::Cautioned { .. }
            | Event::Reminded { .. }
            | Event::Acted { already: true, .. } => Durability::AtEnd,
            _ => self.answering.durability,
        };
        self.journal.append(&entry, durability).map_err(Stop::Journal)?;
        let line = self.entries.len() + 1;
        self.answerer.notice(Notice::Recorded { line, entry: &entry, replayed: false });
        self.entries.push(entry);
        Ok(())
    }
}

/// The divergence of a script from its journal.
pub(super) fn diverged(line: usize, recorded: &Event, attempted: &Event) -> Stop {
    Stop::Diverged { line, recorded: recorded.in_words(), attempted: attempted.in_words() }
}

/// An action in words.
pub(super) fn sentence(action: &Action) -> String {
    action.to_string()
}
