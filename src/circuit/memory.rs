//! What a circuit keeps from one state of the vehicle to the next.

use super::clock::Clock;
use super::netlist::Circuit;
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

    /// Fuses that have blown so far.
    pub fn blown<'c>(&'c self, circuit: &'c Circuit) -> impl Iterator<Item = &'c str> {
        self.blown.iter().map(|part| circuit.parts[*part].id.as_str())
    }

    /// Relays that are pulled in and outputs that are on, at least for a part of the time.
    pub fn pulled_in<'c>(&self, circuit: &'c Circuit) -> impl Iterator<Item = &'c str> {
        let all: BTreeSet<usize> = self.on.iter().flatten().copied().collect();
        all.into_iter().map(|part| circuit.parts[part].id.as_str())
    }
}
