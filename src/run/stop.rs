//! Why a run stops: crosses the script as an error that it can't catch.

use crate::model::ending::Ending;
use crate::model::event::NamedCause;
use crate::model::prompt::PromptId;

/// Why the script does not go on.
#[derive(Clone, Debug, PartialEq)]
pub enum Stop {
    /// The procedure named its cause.
    Concluded(Vec<NamedCause>),
    /// It can't go on, and won't.
    Ended(Ending),
    /// Nobody answers.
    Waiting {
        /// The prompt or action.
        prompt: String,
        /// Its words.
        text: String,
        /// What was wrong with the answer, where there was one.
        problem: Option<String>,
    },
    /// A person put it down.
    Paused,
    /// On the way back, somebody stopped: the rest of it stays open. It crosses no script.
    LeftOpen,
    /// An answer was taken back: run the script again from the top.
    TakenBack,
    /// The script asks something else than the journal answers.
    Diverged {
        /// Line of the journal, from 1.
        line: usize,
        /// What was recorded.
        recorded: String,
        /// What the script does now.
        attempted: String,
    },
    /// The journal can't be written.
    Journal(String),
    /// The script misuses the session: an error at that place in it.
    ScriptError(ScriptError),
}

/// The one that was meant, else all.
fn one_of(nearest: Option<&str>, known: &[String]) -> String {
    match nearest {
        Some(nearest) => format!("did you mean `{nearest}`?"),
        None => format!("zones are {}", crate::model::words::all(known)),
    }
}

/// What a script does wrong when it asks.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ScriptError {
    /// The same id twice.
    #[error(
        "the id `{0}` was used before in this run: every prompt needs one of its own (give library calls a prefix)"
    )]
    IdTwice(PromptId),
    /// An id that no answers file or table could name.
    #[error("`{}` can't be an id: use small letters, digits and _, beginning with a letter", crate::model::words::cut(_0.clone(), 60))]
    BadId(String),
    /// A zone that no caution knows.
    #[error("`{zone}` is not a zone that a caution knows; {}", one_of(nearest.as_deref(), known))]
    UnknownZone {
        /// What was written.
        zone: String,
        /// The one that looks like it.
        nearest: Option<String>,
        /// All that there are.
        known: Vec<String>,
    },
    /// A cause that the header does not have.
    #[error("the header has no cause `{cause}`{}", crate::model::words::did_you_mean(nearest.as_deref()))]
    UndeclaredCause {
        /// What was written.
        cause: String,
        /// The one that looks like it.
        nearest: Option<String>,
    },
    /// More than its header allows.
    #[error("this run has {0} events, and the procedure allows no more")]
    TooManyEvents(usize),
    /// No cause at all.
    #[error("`conclude` needs at least one cause")]
    NoCause,
    /// Something is done while a wait lasts.
    #[error(
        "only readings are taken while a wait lasts (\u{201c}{1}\u{201d}), and this is an action: {0}; write `end_wait()` before it"
    )]
    ActsInAWait(String, String),
    /// A wait that has no end or no beginning, or takes no readings.
    #[error("{0}")]
    Wait(&'static str),
    /// A text that nobody can read.
    #[error("{0}")]
    Text(String),
}
