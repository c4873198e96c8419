//! The journal read back: what the script will ask again, and what it was answered.

use crate::model::event::{Entry, Event};
use crate::model::vehicle::VehicleState;
use std::collections::VecDeque;

/// Something to pop while the script runs again.
#[derive(Clone, PartialEq, Debug)]
pub enum Replayed {
    /// The vehicle was shown and confirmed here.
    Vehicle {
        /// As it was confirmed.
        state: Box<VehicleState>,
        /// Whether it stood otherwise than the record had it.
        corrected: bool,
    },
    /// The vehicle was brought back here to how it stood.
    Back(Box<Entry>),
    /// The technician wrote something down here.
    Note(Box<Entry>),
    /// An event that the script brings about.
    Entry(Box<Entry>),
}

/// The journal's events that the script will bring about again, with their lines.
#[derive(Clone, Debug, Default)]
pub struct Replay {
    items: VecDeque<(usize, Replayed)>,
}

impl Replay {
    /// Of a journal: without what was struck, with the vehicle as it was confirmed. Actions after a struck answer are
    /// facts about the vehicle, but the script will ask for them again.
    pub fn of(entries: &[Entry]) -> Self {
        let mut items: VecDeque<(usize, Replayed)> = VecDeque::new();
        for (index, entry) in entries.iter().enumerate() {
            let line = index + 1;
            match &entry.event {
                // The vehicle as it was confirmed since stands.
                Event::Struck { from_line, reading: Some(_), .. } => items.retain(|(line, _)| line != from_line),
                Event::Struck { from_line, reading: None, .. } | Event::Changed { from_line, .. } => {
                    // What was written down stays written down.
                    items.retain(|(line, item)| line < from_line || matches!(item, Replayed::Note(_)));
                }
                Event::Acted { back: true, .. } => items.push_back((line, Replayed::Back(Box::new(entry.clone())))),
                Event::Noted { .. } => items.push_back((line, Replayed::Note(Box::new(entry.clone())))),
                Event::Resumed { vehicle, corrected, .. } => {
                    items.push_back((line, Replayed::Vehicle { state: vehicle.clone(), corrected: *corrected }));
                }
                event if event.is_of_the_script() || matches!(event, Event::Doubted { .. }) => {
                    items.push_back((line, Replayed::Entry(Box::new(entry.clone()))));
                }
                _ => {}
            }
        }
        Self { items }
    }

    /// Whether nothing is left of it.
    pub fn is_empty(&self) -> bool {
        self.items.is_empty()
    }

    /// The line of the next one.
    pub fn next_line(&self) -> Option<usize> {
        self.items.front().map(|(line, _)| *line)
    }

    /// The actions of the script that stand.
    pub fn actions(&self) -> impl Iterator<Item = &Entry> {
        self.items.iter().filter_map(|(_, item)| match item {
            Replayed::Entry(entry) if matches!(entry.event, Event::Acted { .. }) => Some(&**entry),
            _ => None,
        })
    }

    /// Takes the next one, with its line.
    pub fn pop(&mut self) -> Option<(usize, Replayed)> {
        self.items.pop_front()
    }
}
