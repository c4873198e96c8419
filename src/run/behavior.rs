//! What a run does where older versions did something else: one question for each.

use super::recorded_run::RecordedRun;
use crate::model::doubt::Doubt;
use crate::model::format::BEHAVIOR;
use crate::model::prompt::PromptId;
use crate::model::vehicle::Action;

/// What a run does. A run of today does everything as now; a record that is judged again does as it did then.
///
/// A record of format 1 does not say which version wrote it, so that what it has tells what was done. From format 2 on each
/// sitting names its behavior by a number; what each number changed, `model/format.rs` says.
#[derive(Default)]
pub struct Behavior {
    past: Option<RecordedRun>,
}

impl Behavior {
    /// As in this record, where there is one.
    pub const fn of(past: Option<RecordedRun>) -> Self {
        Self { past }
    }

    /// The record, where its entries have to tell.
    fn past(&self) -> Option<&RecordedRun> {
        self.past.as_ref().filter(|past| past.format_of_sitting() == 1)
    }

    /// The number of the sitting that is run again, or of this program.
    pub(super) fn number(&self) -> u32 {
        self.past.as_ref().map_or(BEHAVIOR, RecordedRun::behavior_of_sitting)
    }

    /// Whether the record's script failed at this place: what was refused then is refused again.
    pub fn failed_here(&self) -> bool {
        self.past.as_ref().is_some_and(RecordedRun::failed_here)
    }

    /// Whether the circuit is asked what feeds a part that is measured with ohms, or the key alone tells.
    pub fn asks_whether_fed(&self) -> bool {
        self.past.as_ref().is_none_or(|past| past.behavior_of_sitting() >= 2)
    }

    /// Whether every ending offers the way back and writes what stays open.
    pub fn leaves_in_order(&self) -> bool {
        self.number() >= 4
    }

    /// Whether a caution is confirmed once and then reminded of, with the places' zones and the digest of its text, and whether
    /// only a person confirms.
    pub fn reminds(&self) -> bool {
        self.past.as_ref().is_none_or(|past| past.behavior_of_sitting() >= 4)
    }

    /// Whether a dangerous voltage that is accepted ends the run.
    pub fn stops_at_dangerous_voltage(&self) -> bool {
        self.reminds()
    }

    /// Whether a line of a sweep with a dangerous voltage is asked about: what a record has of one was typed twice.
    pub const fn asks_about_dangerous_sweep(&self) -> bool {
        self.past.is_none()
    }

    /// Whether the vehicle is confirmed again after taking back, though nothing was done at it since.
    pub fn confirms_again(&self) -> bool {
        self.past().is_some_and(RecordedRun::confirms_again)
    }

    /// Whether the vehicle is brought back to how it stood when what is asked again was asked first.
    pub fn brings_back(&self) -> bool {
        self.past().is_none_or(RecordedRun::brings_back)
    }

    /// Whether this is a part of the way back: older records have less of it.
    pub fn goes_back_by(&self, action: &Action) -> bool {
        self.past().is_none_or(|past| past.went_back_by(action))
    }

    /// Whether the starter stops turning while an answer is taken back.
    pub fn starter_rests(&self) -> bool {
        self.past().is_none_or(RecordedRun::starter_rests)
    }

    /// Whether an action that waits for its reading is done although the run ends before it.
    pub fn does_pending_action(&self, action: &Action) -> bool {
        self.past().is_some_and(|past| past.did_pending_action(action))
    }

    /// What was found odd about the answer when it was recorded: what is asked about changes from version to version.
    pub fn doubted_then(&self, id: &PromptId) -> Option<Doubt> {
        self.past()?.doubted_then(id)
    }

    /// Whether the entry that replaces a doubted one is looked at like a first one, and more volts than the system has are asked
    /// about.
    pub fn doubts_again(&self) -> bool {
        self.past.as_ref().is_none_or(|past| past.behavior_of_sitting() >= 4)
    }

    /// Whether everything is doubted that is found odd today.
    pub fn asks_every_doubt(&self) -> bool {
        self.past().is_none_or(RecordedRun::was_asked_every_doubt)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::answered_by::AnsweredBy;
    use crate::model::event::{Entry, Event};
    use crate::model::stamp::Stamp;
    use crate::model::started::Started;
    use crate::model::vehicle::VehicleState;
    use crate::run::answerer::Answerer;
    use crate::run::notice::Notice;
    use std::sync::Arc;

    /// A record that was begun and taken up again, run again as far as that.
    fn taken_up_again(format: u32) -> RecordedRun {
        let at = Stamp::new("2026-01-05T08:00:00Z");
        let started = Started { format, ..Started::of("p", "P", 1, AnsweredBy::Person) };
        let vehicle = Box::new(VehicleState::default());
        let resumed = Event::Resumed { vehicle, corrected: false, unseen: false };
        let entries: Vec<Entry> = [Event::Started(Box::new(started)), resumed]
            .into_iter()
            .map(|event| Entry::new(at.clone(), event))
            .collect();
        let mut past = RecordedRun::new(Arc::new(entries.clone()));
        past.notice(Notice::Recorded { line: 1, entry: &entries[0], replayed: false });
        past
    }

    #[test]
    fn a_record_of_format_1_tells_by_its_entries_and_all_else_is_as_now() {
        let behaviors = [Some(taken_up_again(1)), Some(taken_up_again(2)), None].map(Behavior::of);
        assert_eq!(behaviors.each_ref().map(Behavior::confirms_again), [true, false, false]);
        assert_eq!(behaviors.each_ref().map(Behavior::asks_every_doubt), [false, true, true]);
        for behavior in &behaviors {
            assert!(behavior.starter_rests() && behavior.brings_back());
            assert!(!behavior.does_pending_action(&Action::Crank));
            assert_eq!(behavior.doubted_then(&PromptId::new("a")), None);
        }
        assert_eq!(behaviors.map(|behavior| behavior.goes_back_by(&Action::Crank)), [false, true, true]);
    }
}
