//! The effect of time on a simulated vehicle.

use super::bench::Bench;
use super::error::SolveError;
use super::movement::Resolved;
use super::solving::clock::{Cell, Moment, steps};
use crate::model::vehicle::Engine;
use std::sync::Arc;

impl Bench {
    /// Lets so many seconds pass in which nothing is done: loads come and go, modules fall asleep, a battery runs down.
    pub fn wait(&mut self, seconds: f64) -> Result<(), SolveError> {
        let kinds = || self.circuit.parts.iter().map(|part| &part.kind);
        let runs_down = kinds().any(|kind| kind.capacity().is_some());
        if !(runs_down || kinds().any(|kind| kind.comes_and_goes() || kind.awake_while().is_some())) {
            return Ok(());
        }
        let before = self.memory.clone();
        let (step, count) = if runs_down { steps(seconds) } else { (seconds, 1) };
        let waited = (0..count).try_for_each(|_| self.pass(step));
        if waited.is_err() {
            self.remember(before)?;
        }
        waited
    }

    /// Lets a short while pass, with every battery's current as it is at its beginning.
    fn pass(&mut self, seconds: f64) -> Result<(), SolveError> {
        let circuit = Arc::clone(&self.circuit);
        let mut batteries = Vec::new();
        for (number, part) in circuit.parts.iter().enumerate() {
            if let Some(capacity) = part.kind.capacity() {
                batteries.push((number, capacity, self.solution()?.amperes(&part.id)?));
            }
        }
        let clock = &mut self.memory.clock;
        for (number, capacity, amperes) in batteries {
            let cell = clock.batteries.entry(number).or_insert(Cell::CHARGED);
            *cell = cell.after(seconds, amperes, capacity);
        }
        clock.seconds += seconds;
        self.look_at_the_clock()?;
        self.prepare()?;
        self.settle()
    }

    /// Sees what is kept awake, and what is charged, in the present state at the present time.
    pub(super) fn look_at_the_clock(&mut self) -> Result<(), SolveError> {
        let mut resolved = None;
        for (number, part) in self.circuit.parts.iter().enumerate() {
            let clock = &mut self.memory.clock;
            if let Some(awake_while) = part.kind.awake_while() {
                if resolved.is_none() {
                    resolved = Some(Resolved::new(&self.state, &self.circuit.start, &self.circuit.movements)?);
                }
                if resolved.as_ref().is_some_and(|state| awake_while.holds(state)) {
                    clock.awake.insert(number, clock.seconds);
                }
                // A person who comes to a vehicle opens a door.
                clock.awake.entry(number).or_insert(clock.seconds);
            }
            if part.kind.capacity().is_some() {
                let cell = clock.batteries.entry(number).or_insert(Cell::CHARGED);
                if self.state.engine == Engine::Running {
                    cell.surface = 1.0;
                }
            }
        }
        Ok(())
    }

    /// Asks something while all that comes and goes is there, and while it is gone; once where nothing does.
    pub fn at_all_moments<T>(
        &mut self,
        mut ask: impl FnMut(&mut Self) -> Result<T, SolveError>,
    ) -> Result<Vec<T>, SolveError> {
        if !self.circuit.parts.iter().any(|part| part.kind.comes_and_goes()) {
            return Ok(vec![ask(self)?]);
        }
        let mut answers = Vec::new();
        for moment in [Moment::There, Moment::Gone] {
            self.moment = moment;
            match self.prepare().and_then(|()| self.settle()).and_then(|()| ask(self)) {
                Ok(answer) => answers.push(answer),
                Err(error) => {
                    self.moment = Moment::Now;
                    self.prepare()?;
                    return Err(error);
                }
            }
        }
        self.moment = Moment::Now;
        self.prepare()?;
        self.settle()?;
        Ok(answers)
    }
}
