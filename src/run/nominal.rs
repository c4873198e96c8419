//! The system's nominal voltage, as a script asks for it.

use super::session::Session;
use crate::model::event::Event;
use crate::model::quantity::Quantity;

impl Session {
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
