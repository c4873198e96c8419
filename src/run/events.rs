//! What is written down of a reply. Each of these knows where the reply came from: it is put into the event here, and nowhere
//! else.

use super::reply::CameFrom;
use crate::model::event::Event;
use crate::model::limits::Verdict;
use crate::model::origin::Origin;
use crate::model::prompt::{Answer, CautionId, Prompt, PromptId};
use crate::model::record::given::SweepReading;
use crate::model::vehicle::Action;
use std::sync::Arc;

/// A question was answered.
pub fn answered(prompt: Arc<Prompt>, answer: Answer, verdict: Option<Verdict>, from: &CameFrom) -> Event {
    Event::Answered { prompt, answer, verdict, origin: from.origin.clone() }
}

/// One reading of a sweep was taken.
pub fn sweep_read(id: PromptId, reading: SweepReading, from: &CameFrom) -> Event {
    Event::SweepRead { id, text: reading.text, position: reading.position, origin: from.origin.clone() }
}

/// Something was done at the vehicle.
pub fn acted(action: Action, back: bool, cut_short_after: Option<u64>, from: &CameFrom) -> Event {
    Event::Acted {
        action,
        already: false,
        back,
        cut_short_after,
        passed_over: false,
        by_question: false,
        person: person(from),
    }
}

/// Cautions were read, or nobody was there.
pub fn acknowledged(cautions: Vec<CautionId>, by_person: bool, qualified: Option<String>, from: &CameFrom) -> Event {
    // Where it was no person, where it came from is said.
    let origin =
        matches!(from.origin, Origin::Input | Origin::Bench { .. }).then(|| from.origin.clone()).filter(|_| !by_person);
    Event::Acknowledged { cautions, by_person, qualified, person: person(from), origin }
}

/// Something was written down.
pub fn noted(at_prompt: String, text: String, from: &CameFrom) -> Event {
    Event::Noted { at_prompt, text, person: person(from) }
}

/// Who it was, where more than one screen answers.
fn person(from: &CameFrom) -> Option<String> {
    from.origin.person().map(str::to_owned)
}
