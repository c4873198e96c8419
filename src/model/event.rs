//! What happened in a run: facts, in the past tense, one a line of the journal.

use super::caution::SignalWord;
use super::doubt::Doubt;
use super::job::Job;
use super::limits::Verdict;
use super::prompt::{Answer, CauseId, CautionId, Prompt, PromptId, Zone};
use super::signoff::Statement;
use super::source::SourceRef;
use super::stamp::Stamp;
use super::vehicle::{Action, VehicleState};
use serde::{Deserialize, Serialize};
use std::sync::Arc;

/// Version of the journal's format. A journal of another version is not read.
pub const FORMAT: u32 = 1;
/// Events that a run may have where its procedure's header says nothing of it.
pub const MOST_EVENTS: u32 = 10_000;
/// Program and version, as journals name it.
pub const PROGRAM: &str = concat!("ohmwright ", env!("CARGO_PKG_VERSION"));

/// Who or what answers.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AnsweredBy {
    /// A person at the vehicle.
    Person,
    /// An answers file.
    File,
    /// A row of a table.
    Table,
    /// A simulated circuit.
    Bench,
    /// An earlier record.
    Record,
}

/// How a record came out of another.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LinkKind {
    /// The check after the repair.
    AfterRepair,
    /// The procedure was edited while the other run was open.
    EditedProcedure,
    /// The row of the table was changed.
    ChangedRow,
}

/// A record that this one came out of.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Link {
    /// How.
    pub kind: LinkKind,
    /// The other record's name where both lie in one folder, else its folder's whole path. Older records may have a path as it
    /// was typed.
    pub record: String,
    /// SHA-256 of the other journal's bytes at that moment.
    pub sha256: String,
}

/// The row of a table that a record stands for.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct TableRow {
    /// Name of the table.
    pub table: String,
    /// Line in it.
    pub row: u64,
    /// SHA-256 of the row's cells with their columns.
    pub sha256: String,
}

/// The first event of a run.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Started {
    /// Format of the journal.
    pub format: u32,
    /// Program and version.
    pub program: String,
    /// The procedure's name.
    pub procedure: String,
    /// Its title.
    pub title: String,
    /// Its revision.
    pub revision: u32,
    /// `after_repair` when that function was run instead of the body.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part: Option<String>,
    /// Everything that the run depends on.
    pub sources: Vec<SourceRef>,
    /// Who or what answers.
    pub answered_by: AnsweredBy,
    /// The simulated circuit's name, where there is one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bench: Option<String>,
    /// The faults that were put into it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub bench_faults: Vec<String>,
    /// Which vehicle of many it stands for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bench_seed: Option<u64>,
    /// What is known of the job.
    pub job: Job,
    /// The vehicle as it stood.
    pub vehicle: VehicleState,
    /// The record that this one came out of.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub link: Option<Link>,
    /// The row of a table that it stands for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub row: Option<TableRow>,
    /// True when the clock was set by hand, for tests and demonstrations.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub clock_set_by_hand: bool,
}

impl Started {
    /// A run by this program, of which nothing else is said.
    pub fn of(procedure: &str, title: &str, revision: u32, answered_by: AnsweredBy) -> Self {
        Self {
            format: FORMAT,
            program: PROGRAM.to_owned(),
            procedure: procedure.to_owned(),
            title: title.to_owned(),
            revision,
            part: None,
            sources: vec![],
            answered_by,
            bench: None,
            bench_faults: vec![],
            bench_seed: None,
            job: Job::default(),
            vehicle: VehicleState::default(),
            link: None,
            row: None,
            clock_set_by_hand: false,
        }
    }
}

/// A caution as it was told.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Told {
    /// The rule.
    pub id: CautionId,
    /// Its signal word.
    pub word: SignalWord,
}

/// A cause that the procedure named.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct NamedCause {
    /// Its name in the header.
    pub id: CauseId,
    /// What is wrong.
    pub cause: String,
    /// What to do about it.
    pub correction: String,
}

/// How a run ended without a cause.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(tag = "how", rename_all = "snake_case")]
pub enum Ending {
    /// The script came to its end and named nothing.
    Unconcluded,
    /// It could not go on.
    Unfinished {
        /// Why, in the program's words or the procedure's.
        reason: String,
        /// What somebody said to it, in words of their own.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        words: Option<String>,
    },
    /// The script has an error.
    Failed {
        /// Which, and where.
        message: String,
    },
}

impl Ending {
    /// It could not go on, and nobody said anything to it.
    pub fn unfinished(reason: impl Into<String>) -> Self {
        Self::Unfinished { reason: reason.into(), words: None }
    }

    /// An action was not done, and somebody said why.
    pub fn not_done(action: &str, why: &str) -> Self {
        Self::Unfinished { reason: format!("not done: {action}"), words: Some(why.to_owned()) }
    }

    /// The procedure needs an answer that was skipped, and somebody said why.
    pub fn needs(id: &PromptId, why: &str) -> Self {
        Self::Unfinished {
            reason: format!("`{id}` was skipped, and the procedure needs it"),
            words: Some(why.to_owned()),
        }
    }

    /// What somebody said of an action that was not done, where this is the end that came of it.
    pub fn why_not_done(&self, action: &str) -> Option<&str> {
        let Self::Unfinished { reason, words } = self else { return None };
        let said = reason.strip_prefix("not done: ")?.strip_prefix(action)?;
        match words {
            Some(words) if said.is_empty() => Some(words),
            Some(_) => None,
            // Before there was a place of their own for the words, they stood in brackets behind the reason.
            None => said.strip_prefix(" (")?.strip_suffix(')'),
        }
    }

    /// Why it could not go on, with what somebody said to it; of the other ends nothing.
    pub fn reason(&self) -> Option<String> {
        match self {
            Self::Unfinished { reason, words: Some(words) } => Some(format!("{reason} ({words})")),
            Self::Unfinished { reason, words: None } => Some(reason.clone()),
            Self::Unconcluded | Self::Failed { .. } => None,
        }
    }

    /// Whether a run that ended so comes to the same end again: older records have somebody's words within the reason.
    pub fn is_the_same_as(&self, now: &Self) -> bool {
        match (self, now) {
            (Self::Unfinished { reason: then, words: None }, Self::Unfinished { reason, words: Some(words) }) => {
                let within = reason.replacen("` was skipped,", &format!("` was skipped ({words}),"), 1);
                *then == within || *then == format!("{reason} ({words})")
            }
            _ => self == now,
        }
    }
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
    },
    /// What was typed was doubted.
    Doubted {
        /// At which prompt.
        id: PromptId,
        /// What was typed.
        typed: Arc<str>,
        /// What is odd.
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
        /// Taken over from the record that this one is linked to.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        carried: bool,
    },
    /// The technician wrote something down.
    Noted {
        /// At which prompt or action.
        at_prompt: String,
        /// The words.
        text: String,
    },
    /// The technician put it down.
    Paused,
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
    /// What.
    #[serde(flatten)]
    pub event: Event,
}

impl Event {
    /// An action as a script has it done, or found to be so already.
    pub const fn acted(action: Action, already: bool) -> Self {
        Self::Acted { action, already, back: false, cut_short_after: None }
    }

    /// Whether the script brought it about: what a replay pops and compares.
    pub const fn is_of_the_script(&self) -> bool {
        matches!(
            self,
            Self::StepBegan { .. }
                | Self::Acted { back: false, .. }
                | Self::SweepRead { .. }
                | Self::Answered { .. }
                | Self::Concluded { .. }
        )
    }

    /// Whether it belongs to a sign-off.
    pub const fn is_of_a_sign_off(&self) -> bool {
        matches!(self, Self::Stated(_) | Self::Signed { .. })
    }

    /// Whether nothing more can happen in this run. A script that failed can be mended and taken up again.
    pub const fn is_an_end(&self) -> bool {
        matches!(self, Self::Concluded { .. } | Self::Ended { ending: Ending::Unconcluded | Ending::Unfinished { .. } })
    }

    /// What the script did, in few words: to set what is recorded against what it does now.
    pub fn in_words(&self) -> String {
        match self {
            Self::StepBegan { title, .. } => format!("the step \u{201c}{title}\u{201d}"),
            Self::Acted { action, .. } => format!("the action \u{201c}{action}\u{201d}"),
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_somebody_said_stands_apart_from_the_reason() {
        let needs = Ending::needs(&PromptId::new("fit"), "no (light) here");
        assert_eq!(needs.reason().as_deref(), Some("`fit` was skipped, and the procedure needs it (no (light) here)"));
        let not_done = Ending::not_done("Raise (or jack) it", "no jack (again)");
        assert_eq!(not_done.why_not_done("Raise (or jack) it"), Some("no jack (again)"));
        assert_eq!(not_done.why_not_done("Raise"), None);
    }

    #[test]
    fn an_older_record_with_the_words_within_its_reason_comes_to_the_same() {
        let needs = Ending::needs(&PromptId::new("fit"), "no light");
        let older = Ending::unfinished("`fit` was skipped (no light), and the procedure needs it");
        assert!(older.is_the_same_as(&needs) && !Ending::unfinished("other").is_the_same_as(&needs));
        let older = Ending::unfinished("not done: Unplug C41 (seized (rust))");
        assert_eq!(older.why_not_done("Unplug C41"), Some("seized (rust)"));
        assert!(older.is_the_same_as(&Ending::not_done("Unplug C41", "seized (rust)")));
    }
}
