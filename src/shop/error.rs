//! What can be wrong with what one does in a shop: a sentence, what to do, and the place where there is one.

use crate::model::diagnostic::Diagnostic;
use crate::records::error::{RecordsError, said};
use std::path::Path;

/// Why something can't be done in the shop.
#[derive(Debug, thiserror::Error)]
pub enum ShopError {
    /// Something is wrong with files, each at its place.
    #[error("{}", .0.first().map_or("", |diagnostic| diagnostic.title.as_str()))]
    Input(Vec<Diagnostic>),
    /// Something is wrong with records.
    #[error(transparent)]
    Records(#[from] RecordsError),
    /// The file system refused.
    #[error("{}", said(.0))]
    Io(#[from] std::io::Error),
    /// Reading or writing failed.
    #[error("{0}")]
    Files(String),
    /// Neither the shop nor the program has a file of this name.
    #[error("{sentence}")]
    NoSuchFile {
        /// What is not there.
        sentence: String,
        /// What there is.
        hint: String,
    },
    /// What is asked for can't be done.
    #[error("{sentence}")]
    Refused {
        /// What is wrong.
        sentence: String,
        /// What to do.
        hint: Option<String>,
    },
}

impl ShopError {
    /// One diagnostic.
    pub fn input(diagnostic: Diagnostic) -> Self {
        Self::Input(vec![diagnostic])
    }

    /// A file whose content is wrong as a whole.
    pub fn file(path: &Path, sentence: impl std::fmt::Display) -> Self {
        Self::input(Diagnostic::of_file(&path.display().to_string(), sentence))
    }

    /// What can't be done.
    pub fn refused(sentence: impl Into<String>) -> Self {
        Self::Refused { sentence: sentence.into(), hint: None }
    }

    /// What can't be done, and what to do instead.
    pub fn refused_with(sentence: impl Into<String>, hint: impl Into<String>) -> Self {
        Self::Refused { sentence: sentence.into(), hint: Some(hint.into()) }
    }
}
