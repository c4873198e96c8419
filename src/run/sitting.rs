//! Which sitting a line of a journal belongs to.

use crate::model::event::{Entry, Event};

/// The behavior of the sitting that has this line, counted from 1.
pub fn behavior_at(entries: &[Entry], line: usize) -> u32 {
    let begun = entries.iter().take(line).rev().find_map(|entry| match &entry.event {
        Event::Started(started) => Some(started.behavior),
        Event::Continued(sitting) => Some(sitting.behavior),
        _ => None,
    });
    begun.unwrap_or_default()
}
