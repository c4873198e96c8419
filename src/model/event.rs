//! The events of a run: facts, in the past tense, one a line of the journal.

use super::caution::signal_word::SignalWord;
use super::doubt::Doubt;
use super::ending::{Ending, Why};
use super::id::ReplyId;
use super::limits::Verdict;
use super::origin::Origin;
use super::prompt::{Answer, CauseId, CautionId, Prompt, PromptId, Zone};
use super::quantity::Quantity;
use super::signoff::Statement;
use super::stamp::Stamp;
use super::started::{Continued, Started};
use super::vehicle::wait_for::WaitFor;
use super::vehicle::{Action, VehicleState};
use serde::{Deserialize, Serialize};
use std::sync::Arc;

/// Events that a run may have where its procedure's header says nothing of it.
pub const MOST_EVENTS: u32 = 10_000;
/// Where a note was written that was written at a caution.
pub const AT_A_CAUTION: &str = "a caution";

/// A caution as it was told.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Told {
    /// The rule.
    pub id: CautionId,
    /// Its signal word.
    pub word: SignalWord,
    /// SHA-256 of the text as it was shown; none in a record of behavior 3 and before.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub digest: Option<String>,
}

/// So many characters an owner reads of a cause.
pub const LONGEST_FOR_A_CUSTOMER: usize = 300;

/// A cause that the procedure named.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct NamedCause {
    /// Its name in the header.
    pub id: CauseId,
    /// The fault, in the shop's words.
    pub cause: String,
    /// The repair.
    pub correction: String,
    /// For an owner, in place of the shop's words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub customer: Option<String>,
}

/// Writes an enum down once and derives two things from it: how it is written, with its kind as one field among the others,
/// and how it is read where the kind is known before the rest, which then need not be put aside.
macro_rules! read_by_kind {
    ($(#[$outer:meta])* enum $name:ident as $reader:ident { $($body:tt)* }) => {
        $(#[$outer])*
        #[derive(Serialize)]
        #[serde(tag = "event", rename_all = "snake_case")]
        pub enum $name { $($body)* }

        #[derive(Deserialize)]
        #[serde(remote = "Event", rename_all = "snake_case")]
        pub(super) enum $reader { $($body)* }
    };
}

read_by_kind! {
/// One thing that happened.
#[derive(Clone, PartialEq, Debug)]
enum Event as EventOfKind {
    /// The run began.
    Started(Box<Started>),
    /// A step began.
    StepBegan {
        /// Its heading.
        title: String,
        /// Where the technician is.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        near: Vec<Zone>,
    },
    /// Safety messages were told.
    Cautioned {
        /// Which.
        cautions: Vec<Told>,
    },
    /// Somebody said that they were read, or nobody was there.
    Acknowledged {
        /// Which.
        cautions: Vec<CautionId>,
        /// False when nobody was there to read them.
        by_person: bool,
        /// The qualified person who was named, where one was asked for.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        qualified: Option<String>,
        /// Who confirmed them, where more than one screen answers.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        person: Option<String>,
        /// Where the reply came from, where no person confirmed: a pipe, a file, a simulated vehicle.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        origin: Option<Origin>,
    },
    /// Safety messages that were confirmed before became true again: one line for each was shown, and nobody confirmed it.
    Reminded {
        /// Which.
        cautions: Vec<Told>,
    },
    /// The vehicle was changed, or found as the procedure wants it.
    Acted {
        /// How.
        action: Action,
        /// It stood so already.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        already: bool,
        /// Not asked for by the script at this place: it brings the vehicle back to how it stood when what is asked again
        /// was asked first.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        back: bool,
        /// A wait that was said to be over before its time: after how many seconds.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        cut_short_after: Option<u64>,
        /// It was not done here: after a change of an answer the script runs again over what was kept, and the vehicle is brought
        /// to where the script has it only before something is asked.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        passed_over: bool,
        /// The words of the question that follows told the technician to do it; nobody was asked whether it is done.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        by_question: bool,
        /// Who did it, where more than one screen answers.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        person: Option<String>,
    },
    /// A wait began during which readings are taken; the action that ends it follows.
    WaitBegan {
        /// How long.
        time: Quantity,
        /// The reason.
        because: WaitFor,
    },
    /// Ohmwright doubted the typed text.
    Doubted {
        /// At which prompt.
        id: PromptId,
        /// The typed text.
        typed: Arc<str>,
        /// The doubt.
        #[serde(flatten)]
        doubt: Doubt,
    },
    /// One reading of a sweep was taken.
    SweepRead {
        /// At which prompt.
        id: PromptId,
        /// As typed.
        text: String,
        /// Where the moving part stood, if said.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        position: Option<String>,
        /// Where it came from.
        #[serde(default)]
        origin: Origin,
    },
    /// A question was answered.
    #[serde(deserialize_with = "super::answered::fields")]
    Answered {
        /// The question.
        #[serde(flatten)]
        prompt: Arc<Prompt>,
        /// The answer.
        #[serde(flatten)]
        answer: Answer,
        /// The verdict, where the question has limits.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        verdict: Option<Verdict>,
        /// Where it came from.
        origin: Origin,
    },
    /// The technician wrote something down.
    Noted {
        /// At which prompt or action.
        at_prompt: String,
        /// The words.
        text: String,
        /// Who wrote it, where more than one screen answers.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        person: Option<String>,
    },
    /// The technician put it down.
    Paused,
    /// A new sitting begins: from here on the journal has this format.
    Continued(Box<Continued>),
    /// It was taken up again; the vehicle as it was confirmed.
    Resumed {
        /// As it stands.
        vehicle: Box<VehicleState>,
        /// The technician corrected what the record showed.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        corrected: bool,
        /// Nobody was there to look.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        unseen: bool,
    },
    /// A line that had not been written whole was dropped.
    TornLineDropped {
        /// How many bytes it had.
        bytes: usize,
    },
    /// An answer and all later ones were taken back, or the last reading of a sweep that goes on.
    Struck {
        /// The first that is no longer good: its line in the journal, from 1.
        from_line: usize,
        /// Its prompt.
        id: PromptId,
        /// Only this reading of the sweep, as typed; what happened since stands.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        reading: Option<String>,
    },
    /// The run ends or is put down, and this was changed at the vehicle. Each is what puts it back; those that are done follow as
    /// actions, and the others stay open.
    LeftChanged {
        /// In the order in which it would be done.
        open: Vec<Action>,
    },
    /// An answer was changed: it and all later ones are struck. Of the later ones those come again that nothing has touched.
    Changed {
        /// The first line that is no longer good, from 1.
        from_line: usize,
        /// The line of the answer.
        line: usize,
        /// Its prompt.
        id: PromptId,
        /// The old answer, as it would be typed.
        old: String,
        /// The answer that was meant, as typed; none where it is measured again.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        new: Option<Arc<str>>,
        /// Why.
        reason: String,
        /// Where it came from.
        origin: Origin,
    },
    /// The answer that comes next is that of an earlier line, kept after a change.
    Kept {
        /// Where it was given.
        line: usize,
    },
    /// Nobody answers: the run waits.
    Waited {
        /// For this prompt or action.
        prompt: String,
        /// Its words.
        text: String,
    },
    /// The procedure named its cause, or several that the evidence can't part.
    Concluded {
        /// Them.
        causes: Vec<NamedCause>,
    },
    /// The run ended without a cause.
    Ended {
        /// How.
        #[serde(flatten)]
        ending: Ending,
    },
    /// Somebody stated that they stand for the lines above; the signature follows.
    Stated(Box<Statement>),
    /// The statement was signed.
    Signed {
        /// OpenSSH signature over every byte of the journal up to and including the statement's line.
        signature: String,
    },
}
}

/// An event with its time.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Entry {
    /// When.
    pub at: Stamp,
    /// The id that the reply had which brought it about, if it had one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reply: Option<ReplyId>,
    /// What.
    #[serde(flatten)]
    pub event: Event,
}

impl Entry {
    /// An event at a time, brought about by no reply that has an id.
    pub const fn new(at: Stamp, event: Event) -> Self {
        Self { at, reply: None, event }
    }
}

impl Event {
    /// An action as a script has it done, or found to be so already.
    pub const fn acted(action: Action, already: bool) -> Self {
        Self::Acted {
            action,
            already,
            back: false,
            cut_short_after: None,
            passed_over: false,
            by_question: false,
            person: None,
        }
    }

    /// Whether the script brought it about: what a replay pops and compares.
    pub const fn is_of_the_script(&self) -> bool {
        matches!(
            self,
            Self::StepBegan { .. }
                | Self::Acted { back: false, .. }
                | Self::WaitBegan { .. }
                | Self::SweepRead { .. }
                | Self::Answered { .. }
                | Self::Concluded { .. }
        )
    }

    /// Whether it belongs to a sign-off.
    pub const fn is_of_a_sign_off(&self) -> bool {
        matches!(self, Self::Stated(_) | Self::Signed { .. })
    }

    /// Whether it says something that only a reader of format 1 makes, before it is understood.
    pub const fn is_of_format_1(&self) -> bool {
        match self {
            Self::Answered { origin, .. } | Self::SweepRead { origin, .. } => matches!(origin, Origin::NotSaid),
            Self::Ended { ending: Ending::Unfinished { why, .. } } => {
                matches!(why, Why::InWords { .. } | Why::NotDoneInWords { .. })
            }
            _ => false,
        }
    }

    /// Whether nothing more can happen in this run. A script that failed can be mended and taken up again.
    pub const fn is_an_end(&self) -> bool {
        matches!(self, Self::Concluded { .. } | Self::Ended { ending: Ending::Unconcluded | Ending::Unfinished { .. } })
    }

    /// The event, in few words: for lists of changed or unsigned lines.
    pub fn kind_in_words(&self) -> String {
        match self {
            Self::Started(_) => "the start of the run".to_owned(),
            Self::Cautioned { .. } => "cautions told".to_owned(),
            Self::Acknowledged { .. } => "cautions acknowledged".to_owned(),
            Self::Reminded { .. } => "reminders of cautions".to_owned(),
            Self::Noted { .. } => "a note".to_owned(),
            Self::Paused => "a pause".to_owned(),
            Self::Changed { id, .. } => format!("a change of `{id}`"),
            Self::Kept { line } => format!("keeping the answer of line {line}"),
            Self::LeftChanged { .. } => "what was left changed".to_owned(),
            Self::Continued(_) => "a new sitting".to_owned(),
            Self::Resumed { .. } => "taking up again".to_owned(),
            Self::TornLineDropped { .. } => "a torn line dropped".to_owned(),
            Self::Struck { id, reading: Some(reading), .. } => format!("taking back the reading {reading} of `{id}`"),
            Self::Struck { id, .. } => format!("taking back `{id}`"),
            Self::Waited { prompt, .. } => format!("waiting for `{prompt}`"),
            Self::Ended { .. } => "the end without a cause".to_owned(),
            Self::Stated(statement) => format!("the statement of {}", statement.name),
            Self::Signed { .. } => "a signature".to_owned(),
            event => event.in_words(),
        }
    }

    /// The script's action, in few words: to compare the record with what the script does now.
    pub fn in_words(&self) -> String {
        match self {
            Self::StepBegan { title, .. } => format!("the step \u{201c}{title}\u{201d}"),
            Self::Acted { action, .. } => format!("the action \u{201c}{action}\u{201d}"),
            Self::WaitBegan { time, because } => format!("the beginning of a wait of {time}: {}", because.reason()),
            Self::SweepRead { id, text, .. } => format!("a reading of the sweep `{id}`: {text}"),
            Self::Doubted { id, typed, .. } => format!("a doubt about {typed} at `{id}`"),
            Self::Answered { prompt, .. } => prompt.in_words(),
            Self::Concluded { causes } => {
                let names: Vec<_> = causes.iter().map(|cause| cause.id.as_str()).collect();
                format!("the conclusion {}", super::words::all(&names))
            }
            Self::Ended { ending: ending @ Ending::Unfinished { .. } } => {
                format!("the end, unfinished: {}", ending.reason().unwrap_or_default())
            }
            _ => "something that the script does not bring about".to_owned(),
        }
    }
}
