//! What can be wrong with records on disk: a sentence, what to do, and the place where there is one.

use crate::model::clean::Clean;
use crate::model::diagnostic::Diagnostic;
use std::path::{Path, PathBuf};

/// Why records can't be read or written.
#[derive(Debug, thiserror::Error)]
pub enum RecordsError {
    /// The content of a journal or a kept copy is wrong, at its place.
    #[error("{}", .0.title)]
    Content(Box<Diagnostic>),
    /// A kept copy is not what its digest stands for.
    #[error("the kept copy of {} was changed", Clean::name(name))]
    CopyChanged {
        /// Where it lies.
        path: PathBuf,
        /// What it is a copy of.
        name: String,
    },
    /// A file is larger than any of its kind, and is not read.
    #[error("{sentence}")]
    TooLarge {
        /// Where it lies.
        path: PathBuf,
        /// What it is, and how large such a file is at most.
        sentence: String,
    },
    /// The file system refused.
    #[error("{}", said(.0))]
    Io(#[from] std::io::Error),
    /// Reading or writing failed.
    #[error("{0}")]
    Files(String),
    /// Another process has it.
    #[error("{} is in use by another process", Clean::name(.0))]
    Busy(String),
    /// No record of this name.
    #[error("there is no record `{}`{meant}", Clean::name(name))]
    NoSuchRecord {
        /// The typed text.
        name: String,
        /// What was meant, perhaps; or empty.
        meant: String,
        /// Where it was looked for.
        folder: PathBuf,
    },
    /// No record has this number.
    #[error("no record has the number {number}")]
    NoSuchNumber {
        /// What was typed.
        number: String,
        /// Where it was looked for.
        folder: PathBuf,
    },
    /// A part of a name that several have.
    #[error(
        "{count} records have `{}` in their names, as {} and {}",
        Clean::name(name),
        Clean::name(one),
        Clean::name(other)
    )]
    SeveralRecords {
        /// The typed text.
        name: String,
        /// How many.
        count: usize,
        /// The first.
        one: String,
        /// The second.
        other: String,
    },
    /// A folder without records.
    #[error("there are no records in {}", folder.display())]
    NoRecords {
        /// The folder.
        folder: PathBuf,
    },
    /// A folder with records of other stations only.
    #[error("no record in {} was written at this station{station}", folder.display())]
    NoneFromHere {
        /// The folder.
        folder: PathBuf,
        /// The station in brackets, or nothing where it has no name.
        station: String,
        /// One of the records.
        other: String,
    },
    /// A journal without a line.
    #[error("{} was broken off before anything was recorded", Clean::name(name))]
    NothingRecorded {
        /// The record.
        name: String,
    },
    /// A journal that does not make a record.
    #[error("{}: {problem}", Clean::name(name))]
    NoRun {
        /// The record.
        name: String,
        /// Why.
        problem: String,
    },
    /// A path that is no text.
    #[error("the path of {} has characters that no record can hold", path.display())]
    NoPlainPath {
        /// The path.
        path: PathBuf,
    },
    /// A record can't be packed without what it depends on.
    #[error("a kept copy that {} depends on was changed: {sha256}", Clean::name(name))]
    PackedCopyChanged {
        /// The record.
        name: String,
        /// The digest.
        sha256: String,
    },
    /// A file is there that is not written over.
    #[error("{} is there already", path.display())]
    Taken {
        /// The file.
        path: PathBuf,
    },
}

impl RecordsError {
    /// A file whose content is wrong as a whole.
    pub fn file(path: &Path, sentence: impl std::fmt::Display) -> Self {
        Self::Content(Box::new(Diagnostic::of_file(&path.display().to_string(), sentence)))
    }

    /// What to do, where it is not said with the place.
    pub fn hint(&self) -> Option<String> {
        match self {
            Self::NoSuchRecord { folder, .. } => Some(format!("records lie in {}", folder.display())),
            Self::NoSuchNumber { folder, .. } => Some(format!(
                "the end of a run and its report show its number; records are in {}; a folder whose name is a number is ./NAME",
                folder.display()
            )),
            Self::SeveralRecords { .. } => Some("write as much of the name as no other has".to_owned()),
            Self::NoRecords { .. } => Some("run a procedure first, or name the folder with --records".to_owned()),
            Self::NothingRecorded { .. } => Some("begin it anew with `ohmwright run`".to_owned()),
            Self::NoPlainPath { .. } => {
                Some("move the record to a folder with a plain name, as with `ohmwright pack`".to_owned())
            }
            Self::PackedCopyChanged { name, .. } => {
                Some(format!("`ohmwright verify {}` says which", Clean::name(name)))
            }
            Self::Taken { .. } => Some("name another file with --out".to_owned()),
            Self::TooLarge { .. } => Some("take the record from where it was made once more".to_owned()),
            Self::NoneFromHere { other, .. } => Some(format!("name the record that you mean, such as {other}")),
            Self::Content(_)
            | Self::CopyChanged { .. }
            | Self::Io(_)
            | Self::Files(_)
            | Self::Busy(_)
            | Self::NoRun { .. } => None,
        }
    }
}

/// What the file system says, and what to do.
pub fn said(error: &std::io::Error) -> String {
    let what_to_do = match error.kind() {
        std::io::ErrorKind::NotFound => ": look at its name, and at the folder that you are in",
        std::io::ErrorKind::IsADirectory => ": it is a folder; name a file",
        std::io::ErrorKind::PermissionDenied => ": see to the rights on it",
        _ => "",
    };
    format!("{error}{what_to_do}")
}
