//! Text and times that stand within a line.

use super::table::harmless;
use crate::model::clean::Clean;
use crate::model::stamp::Stamp;

/// Text for one line: line ends and tabs become spaces, what may not be shown becomes an escape.
pub fn plain(text: &str) -> String {
    harmless(&text.replace(['\n', '\r', '\t'], " "))
}

/// What somebody or something is called, within a line.
pub fn named(name: &str) -> String {
    Clean::name(name).into()
}

/// Date and time of day with the offset from universal time, where one was written.
pub fn when(at: &Stamp) -> String {
    let text = at.as_str();
    let offset = match text.get(10..).and_then(|time| time.rfind(['Z', '+', '-']).and_then(|index| time.get(index..))) {
        None => return plain(&at.short()),
        Some("Z" | "+00:00") => "UTC".to_owned(),
        Some(offset) => format!("UTC{offset}"),
    };
    plain(&format!("{} {offset}", at.short()))
}
