//! The edge's one error: a sentence, what to do, an exit code.

use crate::cli::exit::Exit;
use crate::model::clean::Clean;
use crate::model::diagnostic::Diagnostic;
use crate::records::error::{RecordsError, said};
use crate::shop::error::ShopError;
use std::path::Path;

/// What went wrong at the edge.
#[derive(Debug, thiserror::Error)]
pub enum CliError {
    /// Something wrong with files given to the program, each at its place.
    #[error("{}", .0.first().map_or("", |diagnostic| diagnostic.title.as_str()))]
    Input(Vec<Diagnostic>),
    /// Reading or writing failed.
    #[error("{0}")]
    Files(String),
    /// Another process has the record.
    #[error("{} is in use by another process", Clean::name(.0))]
    Busy(String),
    /// The command line asks for what can't be done.
    #[error("{sentence}")]
    Usage {
        /// What is wrong.
        sentence: String,
        /// What to do.
        hint: Option<String>,
    },
}

impl CliError {
    /// One diagnostic.
    pub fn input(diagnostic: Diagnostic) -> Self {
        Self::Input(vec![diagnostic])
    }
    /// A command that can't be done.
    pub fn usage(sentence: impl Into<String>) -> Self {
        Self::Usage { sentence: sentence.into(), hint: None }
    }
    /// A command that can't be done, and what to do instead.
    pub fn usage_with(sentence: impl Into<String>, hint: impl Into<String>) -> Self {
        Self::Usage { sentence: sentence.into(), hint: Some(hint.into()) }
    }
    /// A file whose content is wrong as a whole.
    pub fn file(path: &Path, sentence: impl std::fmt::Display) -> Self {
        Self::input(Diagnostic::of_file(&path.display().to_string(), sentence))
    }
    /// The exit code that goes with it.
    pub const fn exit(&self) -> Exit {
        match self {
            Self::Input(_) => Exit::Input,
            Self::Files(_) => Exit::Files,
            Self::Busy(_) => Exit::Busy,
            Self::Usage { .. } => Exit::Usage,
        }
    }
}

impl From<std::io::Error> for CliError {
    fn from(error: std::io::Error) -> Self {
        Self::Files(said(&error))
    }
}

impl From<RecordsError> for CliError {
    fn from(error: RecordsError) -> Self {
        let (sentence, hint) = (error.to_string(), error.hint());
        match error {
            RecordsError::Content(diagnostic) => Self::input(*diagnostic),
            RecordsError::CopyChanged { path, .. } => Self::file(&path, sentence),
            RecordsError::TooLarge { path, .. } => {
                let diagnostic = Diagnostic::of_file(&path.display().to_string(), sentence);
                Self::input(diagnostic.with_hint(hint.unwrap_or_default()))
            }
            RecordsError::Io(_) | RecordsError::Files(_) => Self::Files(sentence),
            RecordsError::Busy(what) => Self::Busy(what),
            RecordsError::NoSuchRecord { .. }
            | RecordsError::NoSuchNumber { .. }
            | RecordsError::SeveralRecords { .. }
            | RecordsError::NoRecords { .. }
            | RecordsError::NoneFromHere { .. }
            | RecordsError::NothingRecorded { .. }
            | RecordsError::NoRun { .. }
            | RecordsError::NoPlainPath { .. }
            | RecordsError::PackedCopyChanged { .. }
            | RecordsError::Taken { .. } => Self::Usage { sentence, hint },
        }
    }
}

impl From<ShopError> for CliError {
    fn from(error: ShopError) -> Self {
        match error {
            ShopError::Input(diagnostics) => Self::Input(diagnostics),
            ShopError::Records(error) => error.into(),
            ShopError::Io(error) => error.into(),
            ShopError::Files(sentence) => Self::Files(sentence),
            ShopError::NoSuchFile { sentence, hint } => Self::usage_with(sentence, hint),
            ShopError::Refused { sentence, hint } => Self::Usage { sentence, hint },
        }
    }
}
