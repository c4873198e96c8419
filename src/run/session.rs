//! The session: what the script asks, answered from the journal while that lasts, and by somebody after.

use super::answerer::{Answerer, MeterInUse, Reply, View};
use super::caution_monitor::CautionMonitor;
use super::journal::{Clock, Durability, Journal};
use super::replay::{Replay, Replayed};
use super::stop::{ScriptError, Stop};
use crate::model::caution::{CautionRules, Method};
use crate::model::event::{AnsweredBy, Ending, Entry, Event, MOST_EVENTS, NamedCause, Started};
use crate::model::prompt::{Prompt, PromptId, Zone};
use crate::model::record::Record;
use crate::model::stamp::Stamp;
use crate::model::vehicle::{Action, VehicleState};
use crate::model::words;
use std::collections::BTreeSet;
use std::sync::Arc;

/// One run of a procedure.
pub struct Session {
    pub(super) journal: Box<dyn Journal>,
    pub(super) answerer: Box<dyn Answerer>,
    pub(super) clock: Box<dyn Clock>,
    pub(super) rules: Arc<CautionRules>,
    pub(super) meter: Arc<MeterInUse>,
    pub(super) causes: Arc<Vec<NamedCause>>,
    pub(super) entries: Vec<Entry>,
    pub(super) replay: Replay,
    went_live: bool,
    confirm_first: bool,
    rewound: bool,
    /// Before the next question the vehicle has to be looked at: it may stand otherwise than the script has it.
    pub(super) way_back: bool,
    /// It was put down or broken off since anything was last asked: what somebody held is held no longer.
    pub(super) interrupted: bool,
    pub(super) vehicle: VehicleState,
    /// What is done for as long as a reading takes: asked for when the reading's leads have been shown.
    pub(super) pending_action: Option<Action>,
    /// The script itself says that it ends.
    pub(super) script_ends: bool,
    pub(super) monitor: CautionMonitor,
    pub(super) step: String,
    /// How many steps began.
    steps: usize,
    pub(super) near: Vec<Zone>,
    why: String,
    ids: BTreeSet<PromptId>,
    pub(super) skips_asked: BTreeSet<PromptId>,
    pub(super) over_ranges_asked: BTreeSet<PromptId>,
    pub(super) answered: usize,
    /// How many events a run of this procedure may have.
    most_events: usize,
}

/// Everything that a session is made of.
pub struct Parts {
    /// Where events go.
    pub journal: Box<dyn Journal>,
    /// Who answers.
    pub answerer: Box<dyn Answerer>,
    /// The time.
    pub clock: Box<dyn Clock>,
    /// Caution rules.
    pub rules: Arc<CautionRules>,
    /// The meter's accuracy.
    pub meter: Arc<MeterInUse>,
    /// The causes that the procedure may name.
    pub causes: Arc<Vec<NamedCause>>,
}

impl Session {
    /// A new run.
    ///
    /// # Errors
    /// When the journal can't be written.
    pub fn start(parts: Parts, started: Started) -> Result<Self, Stop> {
        let mut session = Self::empty(parts, started.vehicle.clone());
        session.went_live = true;
        session.record(Event::Started(Box::new(started)))?;
        Ok(session)
    }

    /// A run taken up again: the journal's entries come first, then whoever answers.
    pub fn resume(parts: Parts, entries: Vec<Entry>) -> Self {
        let vehicle = match entries.first().map(|entry| &entry.event) {
            Some(Event::Started(started)) => started.vehicle.clone(),
            _ => VehicleState::default(),
        };
        let mut session = Self::empty(parts, vehicle);
        session.replay = Replay::of(&entries);
        session.entries = entries;
        session.confirm_first = true;
        session.interrupted = true;
        session
    }

    fn empty(parts: Parts, vehicle: VehicleState) -> Self {
        let Parts { journal, answerer, clock, rules, meter, causes } = parts;
        Self {
            journal,
            answerer,
            clock,
            rules,
            meter,
            causes,
            // Most runs have fewer events.
            entries: Vec::with_capacity(64),
            replay: Replay::default(),
            went_live: false,
            confirm_first: false,
            rewound: false,
            way_back: false,
            interrupted: false,
            vehicle,
            pending_action: None,
            script_ends: false,
            monitor: CautionMonitor::default(),
            step: String::new(),
            steps: 0,
            near: Vec::new(),
            why: String::new(),
            ids: BTreeSet::new(),
            skips_asked: BTreeSet::new(),
            over_ranges_asked: BTreeSet::new(),
            answered: 0,
            most_events: MOST_EVENTS as usize,
        }
    }

    /// Lets the run have so many events.
    pub const fn allow_events(&mut self, most: usize) {
        self.most_events = most;
    }

    /// Back to the top after an answer was taken back: the script runs again over what still stands.
    pub fn rewind(&mut self) {
        self.replay = Replay::of(&self.entries);
        if let Some(Event::Started(started)) = self.entries.first().map(|entry| &entry.event) {
            self.vehicle = started.vehicle.clone();
        }
        self.went_live = false;
        self.rewound = true;
        self.pending_action = None;
        self.script_ends = false;
        // Where nothing was done at the vehicle since, it stands as it did, and what was said of it holds.
        if self.was_moved_since_struck() || self.answerer.confirms_again() {
            self.confirm_first = true;
            self.monitor = CautionMonitor::default();
        }
        self.step.clear();
        self.steps = 0;
        self.near.clear();
        self.why.clear();
        self.ids.clear();
        self.skips_asked.clear();
        self.over_ranges_asked.clear();
        self.answered = 0;
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
        self.replay.is_empty() && (self.answerer.answered_by() != AnsweredBy::Record || self.answerer.failed_here())
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
        if self.went_live {
            self.answerer.remark(text);
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
                    self.answerer.recorded(&entry, true);
                    Ok(())
                }
                other => Err(diverged(line, other, &event)),
            };
        }
        self.room()?;
        self.monitor.begin_step(&self.rules, self.steps);
        self.record(event)?;
        let view = View {
            step: &self.step,
            near: &self.near,
            why: &self.why,
            vehicle: &self.vehicle,
            answered: self.answered,
        };
        self.answerer.step(view);
        self.caution(None, &[])
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
        if self.went_live {
            self.answerer.why(text);
        }
    }

    /// Something to do at the vehicle.
    ///
    /// # Errors
    /// Whatever keeps it from being done.
    pub fn act(&mut self, action: Action) -> Result<(), Stop> {
        if let Some((line, entry)) = self.next_recorded()? {
            return match &entry.event {
                Event::Acted { action: recorded, already, .. } if *recorded == action => {
                    if !already {
                        self.vehicle = self.vehicle.after(&action, Some(entry.at.minute()));
                    }
                    self.answerer.recorded(&entry, true);
                    Ok(())
                }
                other => Err(diverged(line, other, &Event::acted(action, false))),
            };
        }
        self.room()?;
        self.do_pending_action(None)?;
        self.bring_back_for_an_action()?;
        let after = self.vehicle.after(&action, Some(self.clock.now().minute()));
        let lasting = !matches!(action, Action::Wait { .. } | Action::CarryOut { .. });
        if lasting && after == self.vehicle {
            return self.record(Event::acted(action, true));
        }
        if action.is_for_a_reading() {
            self.pending_action = Some(action);
            return Ok(());
        }
        self.carry_out(action, false, None)
    }

    /// Has done what waited for the next reading's leads; `prompt` is that reading.
    pub(super) fn do_pending_action(&mut self, prompt: Option<&Prompt>) -> Result<(), Stop> {
        match self.pending_action.take() {
            Some(action) => self.carry_out(action, false, prompt),
            None => Ok(()),
        }
    }

    /// Has something done at the vehicle, with its cautions before it, and before it the leads of the reading that it is
    /// done for.
    pub(super) fn carry_out(&mut self, action: Action, back: bool, prompt: Option<&Prompt>) -> Result<(), Stop> {
        let after = self.vehicle.after(&action, Some(self.clock.now().minute()));
        let methods: Vec<_> = Method::of_action(&action).into_iter().collect();
        self.caution(Some(&after), &methods)?;
        if let Some(prompt) = prompt.filter(|_| action.is_for_a_reading()) {
            self.answerer.prepare(prompt);
        }
        let asked_for = self.clock.now();
        let mut cut_short_after = None;
        loop {
            match self.with_view(|answerer, view| answerer.act(&action, view)) {
                Reply::Text(_) if cut_short_after.is_none() => {
                    let Some(seconds) = seconds_too_few(&action, &asked_for, &self.clock.now()) else { break };
                    if !self.answerer.cut_short(seconds) {
                        break;
                    }
                    cut_short_after = Some(seconds);
                }
                Reply::Text(_) => {
                    // Asked about, it may have been waited for after all.
                    cut_short_after = seconds_too_few(&action, &asked_for, &self.clock.now());
                    break;
                }
                Reply::Skip { reason } => {
                    match self.answerer.left_out() {
                        Reply::Back { .. } => continue,
                        Reply::Pause => return Err(self.pause()?),
                        _ => {}
                    }
                    return Err(self.end(Ending::not_done(&sentence(&action), &reason)));
                }
                Reply::Note(text) => self.note(sentence(&action), text)?,
                Reply::Back { to } => self.take_back(to.as_ref())?,
                Reply::Pause => return Err(self.pause()?),
                Reply::Nobody => return Err(self.wait_for(sentence(&action), String::new(), None)?),
            }
        }
        let done = self.clock.now();
        self.vehicle = self.vehicle.after(&action, Some(done.minute()));
        self.append(Entry { at: done, event: Event::Acted { action, already: false, back, cut_short_after } })
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
                Replayed::Vehicle(vehicle) => self.vehicle = *vehicle,
                Replayed::Back(entry) => {
                    if let Event::Acted { action, .. } = &entry.event {
                        self.vehicle = self.vehicle.after(action, Some(entry.at.minute()));
                    }
                    self.answerer.recorded(&entry, true);
                }
                Replayed::Note(note) => self.answerer.recorded(&note, true),
                Replayed::Entry(entry) => return Ok(Some((line, *entry))),
            }
        }
        self.go_live()?;
        Ok(None)
    }

    /// The journal is read to its end: show the vehicle as the record left it, to confirm or correct.
    fn go_live(&mut self) -> Result<(), Stop> {
        if self.went_live {
            return Ok(());
        }
        self.went_live = true;
        self.answerer.live();
        if std::mem::take(&mut self.confirm_first) {
            self.confirm_vehicle()?;
        } else if !std::mem::take(&mut self.rewound) {
            return Ok(());
        }
        self.rewound = false;
        self.monitor.begin_step(&self.rules, self.steps);
        if !self.step.is_empty() {
            self.with_view(|answerer, view| answerer.step(view));
        }
        self.name_what_stays();
        self.way_back = true;
        Ok(())
    }

    fn confirm_vehicle(&mut self) -> Result<(), Stop> {
        let left = Record::of(&self.entries).map_or_else(|_| self.vehicle.clone(), |record| record.vehicle);
        let Some(vehicle) = self.answerer.confirm_vehicle(&left) else {
            return Err(self.pause()?);
        };
        let corrected = vehicle != left;
        self.vehicle.clone_from(&vehicle);
        self.monitor.forget();
        let unseen = !self.answerer.vehicle_was_seen();
        self.record(Event::Resumed { vehicle: Box::new(vehicle), corrected, unseen })
    }

    /// Calls the answerer with what it may see.
    pub(super) fn with_view<T>(&mut self, call: impl FnOnce(&mut dyn Answerer, View<'_>) -> T) -> T {
        let view = View {
            step: &self.step,
            near: &self.near,
            why: &self.why,
            vehicle: &self.vehicle,
            answered: self.answered,
        };
        call(&mut *self.answerer, view)
    }

    pub(super) fn note(&mut self, at_prompt: String, text: String) -> Result<(), Stop> {
        self.record(Event::Noted { at_prompt, text })
    }

    pub(super) fn pause(&mut self) -> Result<Stop, Stop> {
        self.record(Event::Paused)?;
        Ok(Stop::Paused)
    }

    pub(super) fn wait_for(&mut self, prompt: String, text: String, problem: Option<String>) -> Result<Stop, Stop> {
        self.record(Event::Waited { prompt: prompt.clone(), text: text.clone() })?;
        Ok(Stop::Waiting { prompt, text, problem })
    }

    /// How many lines the journal has.
    pub(super) fn lines(&self) -> usize {
        self.entries.len()
    }

    /// Records an event with the time of now.
    pub(super) fn record(&mut self, event: Event) -> Result<(), Stop> {
        let at = self.clock.now();
        self.append(Entry { at, event })
    }

    fn append(&mut self, entry: Entry) -> Result<(), Stop> {
        let durability = match entry.event {
            // What nobody typed can be found again by running the script.
            Event::StepBegan { .. } | Event::Cautioned { .. } | Event::Acted { already: true, .. } => Durability::AtEnd,
            _ => self.answerer.durability(),
        };
        self.journal.append(&entry, durability).map_err(Stop::Journal)?;
        self.answerer.recorded(&entry, false);
        self.entries.push(entry);
        Ok(())
    }
}

/// After how many seconds a wait was said to be over, where that was before its time.
fn seconds_too_few(action: &Action, asked_for: &Stamp, now: &Stamp) -> Option<u64> {
    let Action::Wait { time } = action else { return None };
    let waited = u64::try_from(now.second()? - asked_for.second()?).unwrap_or(0);
    // Either time has lost its part of a second.
    let enough = time.si() - 1.0;
    #[expect(clippy::cast_precision_loss, reason = "no wait has so many seconds")]
    let is_too_few = (waited as f64) < enough;
    is_too_few.then_some(waited)
}

/// The divergence of a script from its journal.
pub(super) fn diverged(line: usize, recorded: &Event, attempted: &Event) -> Stop {
    Stop::Diverged { line, recorded: recorded.in_words(), attempted: attempted.in_words() }
}

/// An action in words.
pub(super) fn sentence(action: &Action) -> String {
    action.to_string()
}
