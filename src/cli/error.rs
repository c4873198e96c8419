//! The edge's one error: a sentence, what to do, an exit code.

use crate::cli::exit::Exit;
use crate::model::diagnostic::Diagnostic;
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
    #[error("{0} is in use by another process")]
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
        let what_to_do = match error.kind() {
            std::io::ErrorKind::NotFound => ": look at its name, and at the folder that you are in",
            std::io::ErrorKind::IsADirectory => ": it is a folder; name a file",
            std::io::ErrorKind::PermissionDenied => ": see to the rights on it",
            _ => "",
        };
        Self::Files(format!("{error}{what_to_do}"))
    }
}
