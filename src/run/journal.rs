//! Where events go: the edge writes them to disk, tests keep them in memory.

use crate::model::event::Entry;
use crate::model::stamp::Stamp;
use std::sync::{Arc, Mutex};

/// When a line must be on disk.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Durability {
    /// Before the script goes on.
    Each,
    /// When the run is over.
    AtEnd,
}

/// A place for events.
pub trait Journal: Send {
    /// Appends one event; with [`Durability::Each`] it is on disk when this returns.
    ///
    /// # Errors
    /// A sentence that says what failed; the run stops.
    fn append(&mut self, entry: &Entry, durability: Durability) -> Result<(), String>;
}

/// The time, which comes in as a value.
pub trait Clock: Send {
    /// Now.
    fn now(&mut self) -> Stamp;
    /// Minutes since the epoch; never another minute than that of `now`.
    fn minute(&mut self) -> i64 {
        self.now().minute()
    }
}

/// Events in memory.
#[derive(Clone, Debug, Default)]
pub struct Memory(Arc<Mutex<Vec<Entry>>>);

impl Memory {
    /// What was appended so far.
    pub fn entries(&self) -> Vec<Entry> {
        self.0.lock().map(|entries| entries.clone()).unwrap_or_default()
    }
}

impl Journal for Memory {
    fn append(&mut self, entry: &Entry, _durability: Durability) -> Result<(), String> {
        self.0.lock().map_err(|_| "the journal in memory was left locked".to_owned())?.push(entry.clone());
        Ok(())
    }
}

/// Keeps nothing: the session itself has the events of a run that nobody reads again.
#[derive(Clone, Copy, Debug)]
pub struct Nowhere;

impl Journal for Nowhere {
    fn append(&mut self, _: &Entry, _: Durability) -> Result<(), String> {
        Ok(())
    }
}

/// A clock that stands still, for runs in which time does not matter.
#[derive(Clone, Debug)]
pub struct FixedClock {
    now: Stamp,
    minute: i64,
}

impl FixedClock {
    /// Always at this time.
    pub fn at(now: Stamp) -> Self {
        Self { minute: now.minute(), now }
    }
}

impl Clock for FixedClock {
    fn now(&mut self) -> Stamp {
        self.now.clone()
    }
    fn minute(&mut self) -> i64 {
        self.minute
    }
}
