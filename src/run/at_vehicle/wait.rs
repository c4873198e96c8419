//! Waits: when they end, which of them can't be shortened, which are begun again, and readings meanwhile.

use crate::model::event::{Entry, Event};
use crate::model::quantity::Quantity;
use crate::model::stamp::Stamp;
use crate::model::vehicle::wait_for::WaitFor;
use crate::model::vehicle::{Action, Battery, Key};
use crate::run::notice::Notice;
use crate::run::replay::Replay;
use crate::run::session::{Session, diverged};
use crate::run::stop::{ScriptError, Stop};

impl Session {
    /// A wait begins, and readings are taken until it ends.
    ///
    /// # Errors
    /// It takes no readings, another one lasts, or the journal can't be written.
    pub fn begin_wait(&mut self, time: Quantity, because: WaitFor) -> Result<(), Stop> {
        if !because.takes_readings() {
            let problem =
                "readings disturb such a wait: they are taken meanwhile only where a battery is `rested` or `charged`";
            return Err(Stop::ScriptError(ScriptError::Wait(problem)));
        }
        if self.wait.is_some() {
            return Err(Stop::ScriptError(ScriptError::Wait(
                "a wait lasts already: write `end_wait()` before the next",
            )));
        }
        let (event, action) = (Event::WaitBegan { time, because }, Action::Wait { time, because: Some(because) });
        if let Some((line, entry)) = self.next_recorded()? {
            if entry.event != event {
                return Err(diverged(line, &entry.event, &event));
            }
            self.answerer.notice(Notice::Recorded { line, entry: &entry, replayed: true });
            self.wait = Some((entry.at, action));
            return Ok(());
        }
        self.room()?;
        self.stop_keeping()?;
        self.do_pending_action(None)?;
        self.bring_back_for_an_action()?;
        let at = self.clock.now();
        self.append(Entry::new(at.clone(), event))?;
        self.say_until(&action, &at);
        self.wait = Some((at, action));
        Ok(())
    }

    /// The wait that was begun is waited for to its end.
    ///
    /// # Errors
    /// None was begun, or whatever keeps an action from being done.
    pub fn end_wait(&mut self) -> Result<(), Stop> {
        let Some((began, action)) = self.wait.take() else {
            return Err(Stop::ScriptError(ScriptError::Wait(
                "no wait was begun: write `begin_wait(30.min, \"charged\")` first",
            )));
        };
        if let Some((line, entry)) = self.next_recorded()? {
            return match &entry.event {
                Event::Acted { action: recorded, .. } if *recorded == action => {
                    self.answerer.notice(Notice::Recorded { line, entry: &entry, replayed: true });
                    Ok(())
                }
                other => Err(diverged(line, other, &Event::acted(action, false))),
            };
        }
        self.room()?;
        self.stop_keeping()?;
        self.do_pending_action(None)?;
        self.bring_back_for_an_action()?;
        self.carry_out_since(action, false, None, Some(began))
    }

    /// Says when a wait ends.
    pub(in crate::run) fn say_until(&mut self, action: &Action, began: &Stamp) {
        let Some((seconds, until)) = rest_of(action, began, &self.clock.now()) else { return };
        self.answerer.notice(Notice::Waits { seconds, until: &until });
    }

    /// Says of a wait that can't be shortened when it ends.
    pub(in crate::run) fn refuse_to_shorten(&mut self, action: &Action, began: &Stamp) {
        let Some((_, until)) = rest_of(action, began, &self.clock.now()) else { return };
        self.refuse(format!("This wait can't be shortened. It ends at {until}."));
    }

    /// The wait for stored energy to run down that has to be begun again: the script waited for it, brought no energy back
    /// since, and at the vehicle it came back.
    pub(in crate::run) fn discharges_again(&self) -> Option<Action> {
        if self.behavior.leaves_in_order() { discharges_again(&self.entries) } else { None }
    }
}

/// The remaining seconds of a wait, and its end.
fn rest_of(action: &Action, began: &Stamp, now: &Stamp) -> Option<(u64, String)> {
    let Action::Wait { time, .. } = action else { return None };
    #[expect(clippy::cast_possible_truncation, reason = "no wait has so many seconds")]
    let whole = time.si().ceil() as i64;
    let waited = now.second()? - began.second()?;
    Some((u64::try_from(whole - waited.max(0)).unwrap_or(0), began.time_of_day_after(whole)?))
}

fn is_discharge(action: &Action) -> bool {
    action.waits_for() == Some(WaitFor::Discharged)
}

fn discharges_again(entries: &[Entry]) -> Option<Action> {
    let replay = Replay::of(entries);
    let mut waited = None;
    for entry in replay.actions() {
        if let Event::Acted { action, .. } = &entry.event {
            if is_discharge(action) {
                waited = Some(action.clone());
            } else if action.brings_energy() {
                waited = None;
            }
        }
    }
    let waited = waited?;
    let mut is_discharged = false;
    for entry in entries {
        match &entry.event {
            Event::Acted { action, already: false, .. } => {
                if is_discharge(action) {
                    is_discharged = true;
                } else if action.brings_energy() {
                    is_discharged = false;
                }
            }
            // What somebody found otherwise may have been live meanwhile.
            Event::Resumed { corrected: true, .. } => is_discharged = false,
            _ => {}
        }
    }
    (!is_discharged).then_some(waited)
}

/// The way, with this wait in it: after everything is off, and before anything is touched.
pub(in crate::run) fn with_discharge(way: &mut Vec<Action>, wait: Action) {
    let turns_off = |action: &Action| {
        matches!(
            action,
            Action::TurnKey { to: Key::Off }
                | Action::StopEngine
                | Action::MoveBatteryCable { to: Battery::Disconnected }
        )
    };
    let (mut off, rest): (Vec<Action>, Vec<Action>) = std::mem::take(way).into_iter().partition(turns_off);
    off.push(wait);
    off.extend(rest);
    *way = off;
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::answered_by::AnsweredBy;
    use crate::model::started::Started;
    use crate::model::vehicle::VehicleState;

    const OFF: Action = Action::MoveBatteryCable { to: Battery::Disconnected };
    const ON: Action = Action::MoveBatteryCable { to: Battery::Connected };

    fn wait() -> Action {
        Action::Wait { time: Quantity::seconds(180.0), because: Some(WaitFor::Discharged) }
    }

    fn entries(events: impl IntoIterator<Item = Event>) -> Vec<Entry> {
        let started = Event::Started(Box::new(Started::of("p", "P", 1, AnsweredBy::Person)));
        let at = Stamp::new("2026-01-05T08:00:00Z");
        [started].into_iter().chain(events).map(|event| Entry::new(at.clone(), event)).collect()
    }

    #[test]
    fn it_is_waited_again_only_where_energy_came_back() {
        let done = |action| Event::acted(action, false);
        let back = |action| match Event::acted(action, false) {
            Event::Acted { action, already, cut_short_after, passed_over, by_question, person, .. } => {
                Event::Acted { action, already, back: true, cut_short_after, passed_over, by_question, person }
            }
            other => other,
        };
        let resumed = |corrected| Event::Resumed { vehicle: Box::<VehicleState>::default(), corrected, unseen: false };
        assert_eq!(discharges_again(&entries([done(OFF), done(wait())])), None);
        assert_eq!(discharges_again(&entries([done(OFF), done(wait()), resumed(false)])), None);
        assert_eq!(discharges_again(&entries([done(OFF), done(wait()), resumed(true)])), Some(wait()));
        assert_eq!(discharges_again(&entries([done(OFF), done(wait()), back(ON), back(OFF)])), Some(wait()));
        assert_eq!(discharges_again(&entries([done(OFF), done(wait()), back(ON), back(OFF), back(wait())])), None);
        // The script itself brought it back.
        assert_eq!(discharges_again(&entries([done(OFF), done(wait()), done(ON)])), None);
    }

    #[test]
    fn it_is_waited_after_all_is_off_and_before_anything_is_touched() {
        let mut way = vec![Action::Unplug { connector: "C7".into() }, Action::TurnKey { to: Key::Off }, OFF];
        with_discharge(&mut way, wait());
        let words: Vec<String> = way.iter().map(ToString::to_string).collect();
        assert_eq!(words[2], "Wait 3 min: stored energy runs down");
        assert_eq!(words[3], "Unplug C7");
    }
}
