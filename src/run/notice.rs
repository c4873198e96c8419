//! What whoever answers is told, without being asked.

use super::request::Token;
use super::view::View;
use crate::model::caution::Rule;
use crate::model::event::Entry;
use crate::model::prompt::Prompt;
use crate::model::vehicle::VehicleState;
use serde::Serialize;

/// One thing that is told. It borrows, and only serializes.
#[derive(Clone, Copy, Debug, Serialize)]
#[serde(tag = "notice", rename_all = "snake_case")]
pub enum Notice<'a> {
    /// A step began.
    Step {
        /// What can be seen.
        view: View<'a>,
    },
    /// The author's words on why; they belong to the step.
    Why {
        /// The words.
        text: &'a str,
    },
    /// Text from the script that is not part of the record.
    Remark {
        /// The text.
        text: &'a str,
    },
    /// The next request is a wait, or readings are taken during one.
    Waits {
        /// Its remaining seconds.
        seconds: u64,
        /// When it ends, as a time of day.
        until: &'a str,
    },
    /// Cautions that were confirmed before and are true again: one line for each, and nothing to confirm.
    Reminded {
        /// Them, worst first.
        rules: &'a [&'a Rule],
    },
    /// What is asked for next is done while this is read: a chance to have the leads put on before it.
    Prepare {
        /// The question that follows.
        prompt: &'a Prompt,
    },
    /// The last reply can't be taken, and the same is asked again. Whoever has no other reply gives `Nobody` to that.
    Refused {
        /// What is wrong with it.
        problem: &'a str,
    },
    /// An entry went into the journal and is there, or was read from it.
    Recorded {
        /// Its line, from 1.
        line: usize,
        /// The entry.
        entry: &'a Entry,
        /// It was read from the journal.
        replayed: bool,
    },
    /// How the vehicle stands, apart from what the journal's entries do to it.
    Stands {
        /// So.
        vehicle: &'a VehicleState,
        /// The script begins from its start, and what was told before is told again as far as it still holds; or else
        /// somebody looked and corrected it.
        anew: bool,
    },
    /// The journal is read to its end: from here on, things are asked.
    Live,
    /// A question was answered elsewhere, and is no longer asked here.
    Withdrawn {
        /// Which.
        token: &'a Token,
    },
}
