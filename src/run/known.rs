//! What a script may know of the run that it is in: the system's nominal voltage, and the version that the run is at.

use super::session::Session;
use super::sitting::behavior_at;
use crate::model::event::Event;
use crate::model::quantity::Quantity;

impl Session {
    /// The behavior of the sitting that the script is in: of one that is read back, its own; else today's.
    pub fn behavior_here(&self) -> u32 {
        self.replay.next_line().map_or_else(|| self.behavior.number(), |line| behavior_at(&self.entries, line))
    }

    /// As the job says it; else as the script said it in this pass.
    pub fn nominal(&self) -> Option<Quantity> {
        match self.entries.first().map(|entry| &entry.event) {
            Some(Event::Started(started)) => started.nominal.or(self.nominal),
            _ => self.nominal,
        }
    }

    /// The script was told it, where the job does not say it.
    pub fn say_nominal(&mut self, volts: Quantity) {
        self.nominal = Some(volts);
    }
}
