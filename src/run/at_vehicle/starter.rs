//! The starter's rest: how long it was turned in this run, and until when it rests.

use crate::model::event::{Entry, Event};
use crate::model::prompt::Answer;
use crate::model::stamp::Stamp;
use crate::model::vehicle::{Action, Engine, VehicleState};
use crate::run::journal::Durability;
use crate::run::notice::Notice;
use crate::run::session::Session;

/// The longest that an action asks to crank, in seconds; each is counted so, since nobody times it.
const CRANK: i64 = 15;
/// How long the starter cools after it, in seconds.
const REST: i64 = 120;
/// Where the rest is from (2 min after at most 30 s): the source of the caution `cranking`.
const SOURCE: &str = "Army TM 5-2420-230-24-1 p. 3-34";

impl Session {
    /// Before the starter turns again: says until when it rests, where it does.
    pub(in crate::run) fn say_starter_rests(&mut self) {
        if self.answers_only_what_is_written() || !self.behavior.leaves_in_order() {
            return;
        }
        let now = self.clock.now();
        let Some(rest) = rest(&self.entries, &now) else { return };
        let text = format!("Starter rests until {}: turned ≤ {} s ({SOURCE}).", rest.until, rest.turned);
        self.answerer.notice(Notice::Remark { text: &text });
    }

    /// Whether nobody is there: what is answered was written down.
    pub(in crate::run) fn answers_only_what_is_written(&self) -> bool {
        self.answering.durability == Durability::AtEnd
            && self.answering.answered_by != crate::model::answered_by::AnsweredBy::Record
    }
}

#[derive(PartialEq, Eq, Debug)]
struct Rest {
    until: String,
    turned: i64,
}

/// The rest of the starter's pause; undone readings turned it, too.
fn rest(entries: &[Entry], now: &Stamp) -> Option<Rest> {
    let mut vehicle = VehicleState::default();
    let (mut turned, mut last): (i64, Option<&Stamp>) = (0, None);
    // The reading for which it was turned counts with it.
    let mut is_first = false;
    for entry in entries {
        match &entry.event {
            Event::Acted { action, already: false, .. } => {
                vehicle = vehicle.after(action, None);
                if *action == Action::Crank {
                    (turned, last, is_first) = (turned + CRANK, Some(&entry.at), true);
                }
            }
            Event::Resumed { vehicle: then, .. } => vehicle.clone_from(then),
            Event::Answered { answer, prompt, .. }
                if vehicle.engine == Engine::Cranking
                    && prompt.question.leads().is_some()
                    && !matches!(answer, Answer::Skipped { .. }) =>
            {
                if !std::mem::take(&mut is_first) {
                    turned += CRANK;
                }
                last = Some(&entry.at);
            }
            _ => {}
        }
    }
    let last = last?;
    let since = now.second()? - last.second()?;
    (0..REST).contains(&since).then(|| last.time_of_day_after(REST)).flatten().map(|until| Rest { until, turned })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::answered_by::AnsweredBy;
    use crate::model::started::Started;

    fn at(time: &str, event: Event) -> Entry {
        Entry::new(Stamp::new(format!("2026-01-05T{time}Z")), event)
    }

    #[test]
    fn the_starter_rests_two_minutes_and_its_turns_are_summed() {
        let start = || at("08:00:00", Event::Started(Box::new(Started::of("p", "P", 1, AnsweredBy::Person))));
        let crank = |time| at(time, Event::acted(Action::Crank, false));
        let stop = |time| at(time, Event::acted(Action::StopEngine, false));
        let now = |time: &str| Stamp::new(format!("2026-01-05T{time}Z"));
        assert_eq!(rest(&[start()], &now("08:00:01")), None);
        let once = [start(), crank("14:30:00"), stop("14:30:20")];
        assert_eq!(rest(&once, &now("14:30:30")), Some(Rest { until: "14:32".into(), turned: 15 }));
        assert_eq!(rest(&once, &now("14:32:00")), None);
        let twice = [start(), crank("14:30:00"), stop("14:30:20"), crank("14:31:30"), stop("14:31:31")];
        assert_eq!(rest(&twice, &now("14:32:00")), Some(Rest { until: "14:34".into(), turned: 30 }));
        // A clock that went back says nothing of a rest.
        assert_eq!(rest(&twice, &now("14:00:00")), None);
    }
}
