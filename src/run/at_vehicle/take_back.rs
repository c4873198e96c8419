//! Taking back, and the way back: what is asked again is asked of the vehicle as it stood when it was asked first.

use super::wait::with_discharge;
use crate::model::event::{Entry, Event};
use crate::model::prompt::{Prompt, PromptId};
use crate::model::record::Record;
use crate::model::vehicle::wait_for::WaitFor;
use crate::model::vehicle::{Action, Engine, VehicleState};
use crate::model::words;
use crate::run::at_vehicle::phase::{Hands, Phase};
use crate::run::notice::Notice;
use crate::run::replay::Replay;
use crate::run::session::Session;
use crate::run::stop::Stop;

impl Session {
    /// Strikes the last answer, or the one named, and all later ones. Returns normally when there is nothing to strike.
    pub(in crate::run) fn take_back(&mut self, to: Option<&PromptId>) -> Result<(), Stop> {
        let Some((line, id)) = self.standing_answer(to) else {
            let problem = match to {
                Some(id) => {
                    let answered = self.standing_ids();
                    let which = if answered.is_empty() {
                        "nothing is answered yet".to_owned()
                    } else {
                        format!(
                            "`back` alone takes back the last one, and answered so far are {}",
                            words::all(&answered)
                        )
                    };
                    format!("there is no answer to `{id}` that could be taken back: {which}")
                }
                None => "there is no answer yet that could be taken back".to_owned(),
            };
            self.refuse(problem);
            return Ok(());
        };
        // The readings of a sweep stand before the answer that closes it.
        let from_line = self.first_line_of(line, &id);
        self.record(Event::Struck { from_line, id, reading: None })?;
        Err(Stop::TakenBack)
    }

    /// The last answer that stands, or the one named, with its line.
    pub(in crate::run) fn standing_answer(&self, named: Option<&PromptId>) -> Option<(usize, PromptId)> {
        let record = Record::of(&self.entries).ok()?;
        let mut answers = record.answers();
        let found = match named {
            None => answers.last(),
            Some(id) => answers.find(|answered| answered.prompt.id == *id),
        };
        found.map(|answered| (answered.line, answered.prompt.id.clone()))
    }

    /// The ids of the answers that stand.
    fn standing_ids(&self) -> Vec<String> {
        let record = Record::of(&self.entries);
        record
            .map(|record| record.answers().map(|answered| answered.prompt.id.to_string()).collect())
            .unwrap_or_default()
    }

    pub(in crate::run) fn first_line_of(&self, line: usize, id: &PromptId) -> usize {
        let mut first = line;
        for (index, entry) in self.entries.iter().enumerate().take(line.saturating_sub(1)).rev() {
            match &entry.event {
                Event::SweepRead { id: of, .. } | Event::Doubted { id: of, .. } if of == id => first = index + 1,
                // A note, a caution, a reading of the sweep taken back, or the run put down and taken up again in between.
                event if !event.is_of_the_script() && !ends_an_answer(event) => {}
                _ => break,
            }
        }
        first
    }

    /// Whether anything was done at the vehicle since the answer that was taken back last, or said of how it stands: what
    /// was said is struck with the answers.
    pub(in crate::run) fn was_moved_since_struck(&self) -> bool {
        let from_line = self.entries.iter().rev().find_map(|entry| match entry.event {
            Event::Struck { from_line, reading: None, .. } | Event::Changed { from_line, .. } => Some(from_line),
            _ => None,
        });
        let since = from_line.map_or(0, |line| line.saturating_sub(1)).min(self.entries.len());
        let moves = |event: &Event| matches!(event, Event::Acted { already: false, .. } | Event::Resumed { .. });
        self.entries[since..].iter().any(|entry| moves(&entry.event))
    }

    /// Names what was done in the author's own words and can't be undone by the program.
    pub(in crate::run) fn name_what_stays(&mut self) {
        let by_hand = done_by_hand_since(&self.entries);
        if !by_hand.is_empty() {
            let done = words::all(&by_hand);
            let text = format!(
                "Done meanwhile, and not undone by taking an answer back: {done}. Undo by hand what the reading needs otherwise."
            );
            self.answerer.notice(Notice::Remark { text: &text });
        }
    }

    /// Before a question: has the vehicle brought back to where the script has it, as far as the script itself moved it.
    /// What the technician said of the rest stands.
    pub(in crate::run) fn bring_back(&mut self, prompt: &Prompt) -> Result<(), Stop> {
        let Phase::LooksFirst(hands) = self.phase else { return Ok(()) };
        self.phase = Phase::Live;
        let mut stands = self.vehicle.clone();
        // Nobody cranks on while an answer is taken back or the run is put down.
        if stands.engine == Engine::Cranking && !was_cranked_since(&self.entries) && self.behavior.starter_rests() {
            stands.engine = Engine::Stopped;
        }
        let scripted = scripted(&self.entries);
        // Nor does anybody hold a pedal for as long as a run is put down.
        if hands == Hands::LetGo {
            stands.positions.retain(|part, position| scripted.positions.get(part) != Some(position));
        }
        let mut way = self.way(&stands, &scripted);
        way.splice(0..0, self.done_again());
        let discharge = self.discharges_again();
        let is_discharging = discharge.is_some();
        if let Some(wait) = discharge {
            with_discharge(&mut way, wait);
        }
        let waited = if way.is_empty() { waited_on_the_way_back(&self.entries) } else { Some(0) };
        // What was only passed over was not waited for.
        let waited = waited.or_else(|| waited_since_passed_over(&self.entries));
        if let Some(waited) = waited {
            let mut waits = waits_before_the_question(&self.entries);
            if is_discharging {
                waits.retain(|wait| wait.waits_for() != Some(WaitFor::Discharged));
            }
            way.extend(waits.into_iter().skip(waited));
        }
        if way.is_empty() {
            self.vehicle.engine = stands.engine;
            return Ok(());
        }
        if !self.behavior.brings_back() {
            return Ok(());
        }
        self.vehicle = stands;
        self.go_back(way, Some(prompt))
    }

    /// Before something else is done: the same, without what is done for a reading. The question that follows looks again.
    pub(in crate::run) fn bring_back_for_an_action(&mut self) -> Result<(), Stop> {
        if !matches!(self.phase, Phase::LooksFirst(_)) {
            return Ok(());
        }
        let mut way = self.way(&self.vehicle, &scripted(&self.entries));
        way.splice(0..0, self.done_again());
        if let Some(wait) = self.discharges_again() {
            with_discharge(&mut way, wait);
        }
        if way.is_empty() || !self.behavior.brings_back() {
            return Ok(());
        }
        self.go_back(way, None)
    }

    /// What has to be done again or undone, of what the script had done.
    fn way(&self, stands: &VehicleState, scripted: &VehicleState) -> Vec<Action> {
        let moved: Vec<&Action> = actions(&self.entries).collect();
        let mut way = stands.way_to(scripted);
        way.retain(|action| moved.iter().any(|moved| moved.moves_what(action)));
        way
    }

    fn go_back(&mut self, way: Vec<Action>, prompt: Option<&Prompt>) -> Result<(), Stop> {
        let mut text = "What comes next needs the vehicle as it stood then. Bring it back:".to_owned();
        if self.kept.is_of_a_change() {
            let differs: Vec<String> = way
                .iter()
                .filter(|action| !matches!(action, Action::Wait { .. }))
                .map(|action| self.vehicle.differs_by(action))
                .collect();
            if !differs.is_empty() {
                text = format!("What differs: {}. {text}", differs.join(", "));
            }
        }
        self.answerer.notice(Notice::Remark { text: &text });
        for action in way {
            if self.behavior.goes_back_by(&action) {
                self.was_carried_out(&action, true);
                self.carry_out(action, true, prompt)?;
            } else {
                self.vehicle = self.vehicle.after(&action, None);
            }
        }
        Ok(())
    }
}

/// Whether the starter was called for since somebody last looked at the vehicle.
fn was_cranked_since(entries: &[Entry]) -> bool {
    let since = entries
        .iter()
        .rposition(|entry| {
            matches!(entry.event, Event::Struck { reading: None, .. } | Event::Changed { .. } | Event::Resumed { .. })
        })
        .unwrap_or(0);
    let cranks = |entry: &Entry| matches!(&entry.event, Event::Acted { action: Action::Crank, passed_over: false, .. });
    entries[since..].iter().any(cranks)
}

fn actions(entries: &[Entry]) -> impl Iterator<Item = &Action> {
    entries.iter().filter_map(|entry| match &entry.event {
        Event::Acted { action, .. } => Some(action),
        _ => None,
    })
}

/// The vehicle as the script has it: as it stood at the start, and what the script had done since that still stands.
fn scripted(entries: &[Entry]) -> VehicleState {
    let start = match entries.first().map(|entry| &entry.event) {
        Some(Event::Started(started)) => started.vehicle.clone(),
        _ => VehicleState::default(),
    };
    Replay::of(entries).actions().fold(start, |vehicle, entry| match &entry.event {
        Event::Acted { action, .. } => vehicle.after(action, Some(entry.at.minute())),
        _ => vehicle,
    })
}

/// What the script waited for between the last thing that it had done and the question that is asked again: modules that
/// fall asleep wake up on the way back.
fn waits_before_the_question(entries: &[Entry]) -> Vec<Action> {
    let replay = Replay::of(entries);
    let mut standing: Vec<&Action> = replay
        .actions()
        .filter_map(|entry| match &entry.event {
            Event::Acted { action, already: false, .. } | Event::Acted { action, passed_over: true, .. } => {
                Some(action)
            }
            _ => None,
        })
        .collect();
    let mut waits = Vec::new();
    while let Some(action @ (Action::Wait { .. } | Action::CarryOut { .. })) = standing.pop() {
        if matches!(action, Action::Wait { .. }) {
            waits.push(action.clone());
        }
    }
    waits.reverse();
    waits
}

/// How many waits were kept on the way back since a wait was passed over, where nothing was asked since.
fn waited_since_passed_over(entries: &[Entry]) -> Option<usize> {
    let mut waited = 0;
    for entry in entries.iter().rev() {
        match &entry.event {
            Event::Acted { action: Action::Wait { .. }, passed_over: true, .. } => return Some(waited),
            Event::Acted { action: Action::Wait { .. }, back: true, .. } => waited += 1,
            Event::Answered { .. } | Event::Acted { already: false, .. } => return None,
            _ => {}
        }
    }
    None
}

/// How many waits were kept since the vehicle was last moved on a way back that was broken off; `None` where there was none.
fn waited_on_the_way_back(entries: &[Entry]) -> Option<usize> {
    let mut waited = 0;
    for entry in entries.iter().rev() {
        match &entry.event {
            Event::Acted { action: Action::Wait { .. }, back: true, .. } => waited += 1,
            Event::Acted { back: true, .. } => return Some(waited),
            Event::Struck { reading: None, .. } | Event::Changed { .. } => return None,
            event if event.is_of_the_script() || matches!(event, Event::Doubted { .. } | Event::SweepRead { .. }) => {
                return None;
            }
            _ => {}
        }
    }
    None
}

/// What was done in the author's own words since the answer that was taken back last, and is asked for again.
fn done_by_hand_since(entries: &[Entry]) -> Vec<&str> {
    let last = entries.iter().rposition(|entry| {
        matches!(
            entry.event,
            Event::Struck { reading: None, .. }
                | Event::Changed { .. }
                | Event::Answered { .. }
                | Event::Acted { back: false, .. }
        )
    });
    match last.map(|last| (last, &entries[last].event)) {
        Some((last, Event::Struck { from_line, .. } | Event::Changed { from_line, .. })) => entries
            .get(from_line.saturating_sub(1)..last)
            .unwrap_or_default()
            .iter()
            .filter_map(|entry| match &entry.event {
                Event::Acted { action: Action::CarryOut { text, .. }, back: false, .. } => Some(text.as_str()),
                _ => None,
            })
            .collect(),
        _ => vec![],
    }
}

/// Nothing before this belongs to the answer that comes after it.
const fn ends_an_answer(event: &Event) -> bool {
    matches!(
        event,
        Event::Struck { reading: None, .. } | Event::Changed { .. } | Event::Kept { .. } | Event::Started(_)
    )
}
