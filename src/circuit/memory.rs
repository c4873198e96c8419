//! The memory of a circuit from one state of the vehicle to the next.

use super::solving::clock::Clock;
use std::collections::BTreeSet;

/// Parts whose contacts are pulled in or whose output is on, by number.
pub(super) type Contacts = BTreeSet<usize>;

/// What a vehicle on the bench remembers: a fold over everything that was done to it and read on it, in order.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Memory {
    /// Contacts by the share of the time in which they stand so: a data bus has two, and each finds its own rest.
    on: Vec<Contacts>,
    /// Fuses that are gone, by number of the part.
    blown: BTreeSet<usize>,
    /// The time that was waited.
    pub(super) clock: Clock,
}

impl Memory {
    pub(super) fn contacts(&self, phase: usize) -> &Contacts {
        const NONE: &Contacts = &BTreeSet::new();
        self.on.get(phase).unwrap_or(NONE)
    }

    pub(super) fn leave(&mut self, phase: usize, contacts: Contacts) {
        if self.on.len() <= phase {
            self.on.resize_with(phase + 1, Contacts::new);
        }
        self.on[phase] = contacts;
    }

    pub(super) const fn blown_fuses(&self) -> &BTreeSet<usize> {
        &self.blown
    }

    pub(super) fn blow(&mut self, fuses: &BTreeSet<usize>) {
        self.blown.extend(fuses);
    }

    /// Relays that are pulled in and outputs that are on, at least for a part of the time, by number of the part.
    pub(super) fn pulled_in(&self) -> Contacts {
        self.on.iter().flatten().copied().collect()
    }
}
