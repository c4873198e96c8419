//! A simulated vehicle on the bench: a circuit in a state, with faults nobody sees, and a meter to read it with.

use super::error::SolveError;
use super::fault::FaultId;
use super::memory::Memory;
use super::meter::{self, DIODE_SOURCE, Reading, Shown, TRIGGERS, ohms_source};
use super::netlist::Circuit;
use super::nodes::Node;
use super::parts::part::Switching;
use super::sample::Sample;
use super::severity::Placed;
use super::solution::Solution;
use super::solving::clock::{Clock, Moment};
use super::solving::element::{BLOWN, Element};
use super::solving::network::{Network, Owner, Workspace};
use super::solving::prepared::{PLAIN_JUMPER, Prepared, Situation, in_words, prepare};
use super::solving::span::Span;
use crate::model::meter::{Function, Meter, Range};
use crate::model::quantity::Quantity;
use crate::model::vehicle::{Jumper, VehicleState};
use std::collections::BTreeSet;
use std::sync::Arc;

/// Voltage at the leads above which a circuit counts as live, in volts.
pub(super) const LIVE: f64 = 0.02;

/// Amperes that are no test any more but a short: no vehicle's fused circuit carries them (common practice, no source).
pub(super) const SHORT: f64 = 100.0;

/// A vehicle that answers. What was done to it and read on it before, it remembers: a relay that holds itself, a fuse that is gone.
#[derive(Clone, Debug)]
pub struct Bench {
    pub(super) circuit: Arc<Circuit>,
    pub(super) faults: Vec<Placed>,
    pub(super) sample: Sample,
    /// Shares that stand for the draws, where a vehicle was chosen.
    pub(super) chosen: Option<Arc<[f64]>>,
    pub(super) meter: Meter,
    pub(super) state: VehicleState,
    pub(super) prepared: Prepared,
    pub(super) memory: Memory,
    /// Its memory in its starting state.
    at_start: Memory,
    /// Which moment is read of what comes and goes.
    pub(super) moment: Moment,
    pub(super) work: Workspace,
}

impl Bench {
    /// A vehicle in its starting state, of which nothing is remembered, each fault at the middle of its range.
    pub fn new(circuit: Arc<Circuit>, faults: &[FaultId], sample: Sample, meter: Meter) -> Result<Self, SolveError> {
        let faults = circuit.placed(faults)?;
        Self::with(circuit, faults, sample, meter)
    }

    /// The same with faults, listed or generated, each as bad as it was placed.
    pub fn with(circuit: Arc<Circuit>, faults: Vec<Placed>, sample: Sample, meter: Meter) -> Result<Self, SolveError> {
        let state = circuit.start.clone();
        let blown = BTreeSet::new();
        let prepared = prepare(
            &circuit,
            &Situation {
                state: &state,
                faults: &faults,
                sample,
                chosen: None,
                blown: &blown,
                clock: &Clock::default(),
                moment: Moment::Now,
            },
        )?;
        let (memory, at_start, work) = (Memory::default(), Memory::default(), Workspace::default());
        let moment = Moment::Now;
        let mut bench =
            Self { circuit, faults, sample, chosen: None, meter, state, prepared, memory, at_start, moment, work };
        bench.look_at_the_clock()?;
        bench.settle()?;
        bench.at_start = bench.memory.clone();
        Ok(bench)
    }

    /// The circuit.
    pub const fn circuit(&self) -> &Arc<Circuit> {
        &self.circuit
    }

    /// What a person sees of one of the circuit's looks; `None` where the circuit has none of this name.
    pub fn sees(&self, look: &str) -> Option<&str> {
        let look = self.circuit.look(look)?;
        Some(look.answer(self.faults.iter().map(|fault| fault.sees.as_slice())))
    }

    /// The vehicle's state.
    pub fn state(&self) -> &VehicleState {
        &self.state
    }

    /// Its memory.
    pub const fn memory(&self) -> &Memory {
        &self.memory
    }

    /// Has it remember what it did once, in the state in which it did.
    pub fn remember(&mut self, memory: Memory) -> Result<(), SolveError> {
        let another = memory.blown_fuses() != self.memory.blown_fuses() || memory.clock != self.memory.clock;
        self.memory = memory;
        if another { self.prepare() } else { Ok(()) }
    }

    /// Fuses that have blown so far.
    pub fn blown(&self) -> impl Iterator<Item = &str> {
        self.memory.blown_fuses().iter().map(|part| self.circuit.parts[*part].id.as_str())
    }

    /// Relays that are pulled in and outputs that are on, at least for a part of the time.
    pub fn pulled_in(&self) -> impl Iterator<Item = &str> {
        self.memory.pulled_in().into_iter().map(|part| self.circuit.parts[part].id.as_str())
    }

    /// Puts the vehicle into a state as if nothing had been done to it before.
    pub fn begin(&mut self, state: &VehicleState) -> Result<(), SolveError> {
        let is_there = *state == self.state && *state == self.circuit.start && self.memory == self.at_start;
        if is_there { Ok(()) } else { self.put_into(state, Memory::default()) }
    }

    /// Puts the vehicle into another state, after an action. The state stays as it was if the circuit knows no such one.
    pub fn set_state(&mut self, state: &VehicleState) -> Result<(), SolveError> {
        if *state == self.state {
            return Ok(());
        }
        self.put_into(state, self.memory.clone())
    }

    fn put_into(&mut self, state: &VehicleState, memory: Memory) -> Result<(), SolveError> {
        let before = std::mem::replace(&mut self.state, state.clone());
        let remembered = std::mem::replace(&mut self.memory, memory);
        let done = self.look_at_the_clock().and_then(|()| self.prepare()).and_then(|()| self.settle());
        if done.is_err() {
            (self.state, self.memory) = (before, remembered);
            self.prepare()?;
        }
        done
    }

    pub(super) fn prepare(&mut self) -> Result<(), SolveError> {
        let (blown, clock) = (self.memory.blown_fuses(), &self.memory.clock);
        let (state, faults, sample, moment) = (&self.state, &self.faults, self.sample, self.moment);
        let chosen = self.chosen.as_deref();
        let situation = Situation { state, faults, sample, chosen, blown, clock, moment };
        self.prepared = prepare(&self.circuit, &situation)?;
        Ok(())
    }

    /// Has contacts and fuses come to rest in the present state.
    pub(super) fn settle(&mut self) -> Result<(), SolveError> {
        self.solve(&[], |_, _, _| {}).map(drop)
    }

    /// Solves each phase from what is remembered, and remembers what came of it; whether contacts or fuses have changed.
    pub(super) fn solve(
        &mut self,
        extra: &[Element],
        mut each: impl FnMut(f64, &Network, &Workspace),
    ) -> Result<bool, SolveError> {
        let (mut memory, mut blown) = (self.memory.clone(), BTreeSet::new());
        let solved =
            self.prepared.solved(&self.circuit, extra, &self.memory, &mut self.work, |phase, share, network, work| {
                remember(network, work, phase, &mut memory, &mut blown);
                each(share, network, work);
            });
        solved.map_err(|error| error.in_state(&self.state))?;
        self.leave(memory, blown)
    }

    pub(super) fn leave(&mut self, mut memory: Memory, blown: BTreeSet<usize>) -> Result<bool, SolveError> {
        let changed = memory != self.memory || !blown.is_empty();
        memory.blow(&blown);
        self.memory = memory;
        if !blown.is_empty() {
            self.prepare()?;
        }
        Ok(changed)
    }

    /// Solves it with a meter's elements in it. What the meter has changed stays so when it is taken away again.
    fn with_meter(&mut self, extra: &[Element], each: impl FnMut(f64, &Network, &Workspace)) -> Result<(), SolveError> {
        if self.solve(extra, each)? { self.settle() } else { Ok(()) }
    }

    /// The true solution in the present state.
    pub fn solution(&mut self) -> Result<Solution<'_>, SolveError> {
        Solution::new(&self.circuit, &self.prepared, &self.memory, &mut self.work)
            .map_err(|error| error.in_state(&self.state))
    }

    /// Average voltage between two nodes with an element of the meter between them.
    pub(super) fn across(&mut self, from: Node, to: Node, element: Option<Element>) -> Result<Span, SolveError> {
        let mut volts = Span::steady(0.0);
        let (a, b) = (self.unknown(from), self.unknown(to));
        self.with_meter(element.as_slice(), |share, _, work| volts.add(share, work.volts_between(a, b)))?;
        Ok(volts)
    }

    pub(super) fn unknown(&self, node: Node) -> usize {
        node.checked_sub(1).unwrap_or(self.circuit.nodes.len() - 1)
    }

    pub(super) fn between(&self, from: Node, to: Node, volts: f64, ohms: f64) -> Element {
        Element::Source { plus: self.unknown(from), minus: self.unknown(to), siemens: 1.0 / ohms, volts }
    }

    pub(super) fn leads(&self, from: &str, to: &str) -> Result<(Node, Node), SolveError> {
        Ok((self.circuit.point(from)?.node, self.circuit.point(to)?.node))
    }

    /// Volts with the red lead on one point or role and the black one on another, the meter's input resistance loading them.
    pub fn volts(&mut self, red: &str, black: &str) -> Result<Reading, SolveError> {
        let (from, to) = self.leads(red, black)?;
        let element = self.between(from, to, 0.0, self.meter.input_resistance.si().max(1.0));
        let exact = self.across(from, to, (from != to).then_some(element))?;
        self.on_fitting_range(Function::Volts, exact)
    }

    fn on_fitting_range(&self, function: Function, exact: Span) -> Result<Reading, SolveError> {
        let ranges = meter::ranges(&self.meter, function);
        if ranges.is_empty() {
            return Err(self.no_range(function));
        }
        for (number, range) in ranges {
            let shown = meter::shown_of(range, number, exact, self.sample);
            if shown != Shown::OverRange {
                return Ok(Reading { shown, exact: exact.mean, range: Some(range.clone()), live: false });
            }
        }
        Ok(Reading { shown: Shown::OverRange, exact: exact.mean, range: None, live: false })
    }

    pub(super) fn no_range(&self, function: Function) -> SolveError {
        let function = match function {
            Function::Volts => "volts",
            Function::AcVolts => "AC volts",
            Function::Amperes => "amperes",
            Function::Ohms => "ohms",
            Function::Diode => "diode test",
            Function::Hertz => "hertz",
            Function::Duty => "duty",
            Function::Temperature => "temperature",
            Function::Time => "time",
        };
        SolveError::NoRange { meter: self.meter.id.clone(), function }
    }

    /// Ohms between two points, with the meter's own source in the circuit. `OL` above the highest range; on a live circuit the
    /// number that the meter really gives, which is no resistance, or `OL`.
    pub fn ohms(&mut self, red: &str, black: &str) -> Result<Reading, SolveError> {
        let (from, to) = self.leads(red, black)?;
        let before = self.open_volts(from, to)?;
        let ranges: Vec<_> = meter::ranges(&self.meter, Function::Ohms)
            .into_iter()
            .map(|(number, range)| (number, range.clone()))
            .collect();
        let Some((_, lowest)) = ranges.first() else { return Err(self.no_range(Function::Ohms)) };
        let sample = self.sample;
        let fitting = |from: usize, ohms: Span| {
            ranges.iter().enumerate().skip(from).find_map(|(place, (number, range))| {
                let shown = meter::shown_of(range, *number, ohms, sample);
                (ohms.highest.is_finite() && shown != Shown::OverRange).then_some((place, shown))
            })
        };
        // What the lowest range sees says which range fits: a plain resistance is the same on all of them.
        let mut exact = self.ohms_on(from, to, lowest)?;
        let mut found = fitting(0, exact);
        if let Some((place @ 1.., _)) = found {
            exact = self.ohms_on(from, to, &ranges[place].1)?;
            found = fitting(place, exact);
        }
        let live = before > LIVE;
        Ok(match found {
            Some((place, shown)) => Reading { shown, exact: exact.mean, range: Some(ranges[place].1.clone()), live },
            None => Reading { shown: Shown::OverRange, exact: exact.mean, range: None, live },
        })
    }

    /// What a range takes for the resistance between its leads; infinite where its own voltage stays whole.
    fn ohms_on(&mut self, from: Node, to: Node, range: &Range) -> Result<Span, SolveError> {
        if from == to {
            return Ok(Span::steady(0.0));
        }
        let (open, source) = ohms_source(range.full_scale.si());
        let volts = self.across(from, to, Some(self.between(from, to, open, source)))?;
        Ok(volts.rising(
            |volts| {
                if volts >= open * (1.0 - 1e-9) { f64::INFINITY } else { source * volts / (open - volts) }
            },
        ))
    }

    /// Diode test from the red lead to the black one: volts at about 1 mA, `OL` where it does not conduct.
    pub fn diode(&mut self, red: &str, black: &str) -> Result<Reading, SolveError> {
        let (from, to) = self.leads(red, black)?;
        let before = self.open_volts(from, to)?;
        let element = self.between(from, to, DIODE_SOURCE.0, DIODE_SOURCE.1);
        let volts = if from == to { Span::steady(0.0) } else { self.across(from, to, Some(element))? };
        let reading = self.on_fitting_range(Function::Diode, volts)?;
        Ok(Reading { live: before > LIVE, ..reading })
    }

    /// The largest voltage between two nodes without the meter, whichever way around.
    fn open_volts(&mut self, from: Node, to: Node) -> Result<f64, SolveError> {
        if from == to { Ok(0.0) } else { self.across(from, to, None).map(Span::largest) }
    }

    /// Whether a healthy vehicle stands a wire or a load that is put between two points, which brings it into this state.
    ///
    /// # Errors
    /// Where it shorts the supply, or blows a fuse; a fault may have a wire do that, and the procedure is none the worse.
    pub fn stands_jumper(&self, state: &VehicleState, jumper: &Jumper) -> Result<(), SolveError> {
        if !self.faults.is_empty() {
            return Ok(());
        }
        let mut aside = self.clone();
        aside.set_state(state)?;
        let fuse = aside.memory.blown_fuses().difference(self.memory.blown_fuses()).next();
        let fuse = fuse.map(|part| self.circuit.parts[*part].id.clone());
        let (from, to) = self.leads(&jumper.from, &jumper.to)?;
        let ohms = jumper.through.map_or(PLAIN_JUMPER, |through| through.si().max(PLAIN_JUMPER));
        let amperes = aside.open_volts(from, to)? / ohms;
        if amperes <= SHORT && fuse.is_none() {
            return Ok(());
        }
        let (from, to) = (jumper.from.clone(), jumper.to.clone());
        Err(SolveError::Shorted { what: "what is connected", from, to, amperes, fuse })
    }

    /// Share of the time that a switched voltage is on, as a meter's duty function shows it: of a module output on this very
    /// circuit that switches these points; nothing where none does.
    pub fn duty(&mut self, red: &str, black: &str) -> Result<Reading, SolveError> {
        match self.switching(red, black)? {
            Some((duty, _)) => self.on_fitting_range(Function::Duty, Span::steady(duty)),
            None => Ok(Reading { shown: Shown::Nothing, exact: 0.0, range: None, live: false }),
        }
    }

    /// How often a voltage that switches or alternates comes and goes; 0 Hz where it does not.
    pub fn hertz(&mut self, red: &str, black: &str) -> Result<Reading, SolveError> {
        let frequency = match self.switching(red, black)? {
            Some((_, frequency)) => Some(frequency),
            None => self.alternating_hertz(red, black)?,
        };
        self.on_fitting_range(Function::Hertz, Span::steady(frequency.unwrap_or(0.0)))
    }

    /// The duty, as the share of the time that the voltage between the leads is high, and the frequency.
    fn switching(&mut self, red: &str, black: &str) -> Result<Option<(f64, f64)>, SolveError> {
        let (from, to) = self.leads(red, black)?;
        let (a, b) = (self.unknown(from), self.unknown(to));
        for (number, part) in self.circuit.parts.iter().enumerate() {
            let Some(Switching { at_supply, frequency: Some(frequency) }) = part.kind.switching() else { continue };
            let mut ends = [0.0; 2];
            let mut found = false;
            for (end, held) in ends.iter_mut().zip([0.0, 1.0]) {
                let mut network = self.prepared.phases[0].1.clone();
                for (element, owner) in network.elements.iter_mut().zip(&network.owners) {
                    if let (Element::Share { share, .. }, true) = (element, *owner == Owner::Part(number)) {
                        found |= *share > 0.0 && *share < 1.0;
                        *share = held;
                    }
                }
                // The pieces of a switching that is read as a whole: nothing is remembered of them.
                let solved = network.solve(&[], self.memory.contacts(0), &mut self.work);
                solved.map_err(|error| in_words(&self.circuit, error, &network.owners).in_state(&self.state))?;
                *end = self.work.volts_between(a, b).mean;
            }
            if found && (ends[1] - ends[0]).abs() > TRIGGERS {
                return Ok(Some((if ends[1] > ends[0] { at_supply } else { 1.0 - at_supply }, frequency)));
            }
        }
        Ok(None)
    }

    /// The value that the control module shows for a signal, in the present state; nothing while it has no supply.
    pub fn module_shows(&mut self, signal: &str) -> Result<Shown, SolveError> {
        let circuit = Arc::clone(&self.circuit);
        let signal = circuit.signal(signal)?;
        let solution = self.solution()?;
        Ok(match solution.shown(signal) {
            None => Shown::Nothing,
            Some((lowest, highest)) if lowest == highest => Shown::Value(lowest),
            Some((lowest, highest)) => Shown::Unsteady { lowest, highest },
        })
    }

    /// Asks something at `count` positions of a movement, from one end to the other, and puts it back where it was.
    pub fn sweep<T>(
        &mut self,
        movement: &str,
        count: usize,
        mut ask: impl FnMut(&mut Self) -> Result<T, SolveError>,
    ) -> Result<Vec<T>, SolveError> {
        let positions = self.circuit.movement(movement)?.sweep(count);
        let before = self.state.clone();
        let mut answers = Vec::with_capacity(positions.len());
        for position in positions {
            let mut state = before.clone();
            state.positions.insert(movement.to_owned(), position);
            let answer = self.set_state(&state).and_then(|()| ask(self));
            match answer {
                Ok(answer) => answers.push(answer),
                Err(error) => {
                    self.set_state(&before)?;
                    return Err(error);
                }
            }
        }
        self.set_state(&before)?;
        Ok(answers)
    }

    /// The true voltage between two points as a quantity; for checks.
    pub fn true_volts(&mut self, from: &str, to: &str) -> Result<Quantity, SolveError> {
        self.solution()?.volts(from, to).map(Quantity::volts)
    }
}

/// Takes what a solved network leaves to be remembered.
pub(super) fn remember(
    network: &Network,
    work: &Workspace,
    phase: usize,
    memory: &mut Memory,
    blown: &mut BTreeSet<usize>,
) {
    memory.leave(phase, network.contacts(work));
    for ((element, owner), state) in network.elements.iter().zip(&network.owners).zip(&work.states) {
        if let (Element::Fuse { .. }, Owner::Part(part), BLOWN) = (element, owner, *state) {
            blown.insert(*part);
        }
    }
}
