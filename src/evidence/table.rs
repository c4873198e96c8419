//! The hulls of all rivals at candidates in states of one vehicle, made as they are asked for.

use super::candidate::{Candidate, Found};
use super::hull::{Hull, Spot, climb};
use super::reading::Side;
use super::rival::{Rival, Slice, slices};
use crate::circuit::bench::Bench;
use crate::circuit::error::SolveError;
use crate::circuit::memory::Memory;
use crate::circuit::netlist::Circuit;
use crate::circuit::readout::{Load, Readout};
use crate::circuit::sample::Sample;
use crate::model::meter::Meter;
use crate::model::vehicle::VehicleState;
use rayon::prelude::*;
use std::sync::Arc;

/// Healthy vehicles that every slice is put into.
const VEHICLES: usize = 100;
/// The places in a slice at which a climb looks, as shares of it: a reading may turn inside, where a part changes its piece.
const LOOKS: [f64; 5] = [0.0, 0.25, 0.5, 0.75, 1.0];

/// How the vehicle comes to be read: one step after another, from its starting state.
#[derive(Clone, Debug, PartialEq)]
pub enum Step {
    /// It is put into a state.
    Put(VehicleState),
    /// So many seconds are waited.
    Wait(f64),
    /// It is read with a meter that takes part in the circuit.
    Read(Candidate),
}

/// A state of the vehicle with how it was reached, and what may be read there.
#[derive(Debug)]
struct Column {
    /// The column before; none in the starting state.
    before: Option<usize>,
    step: Step,
    /// The state that the vehicle is in.
    state: VehicleState,
    candidates: Vec<(Candidate, Found)>,
}

/// A candidate in a column.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Cell {
    /// The column.
    pub column: usize,
    /// The candidate's place in it.
    pub candidate: usize,
}

/// The hulls of one slice in one column, as far as they are worked out.
#[derive(Clone, Debug, Default)]
struct Row {
    /// What each vehicle remembers after the step, by number in `memories`.
    remembers: Vec<u16>,
    memories: Vec<Memory>,
    hulls: Vec<Hull>,
}

/// Hulls by slice, column and candidate.
#[derive(Debug)]
pub struct Table {
    circuit: Arc<Circuit>,
    meter: Meter,
    rivals: Vec<Rival>,
    slices: Vec<Slice>,
    columns: Vec<Column>,
    /// By slice, then column.
    rows: Vec<Vec<Option<Row>>>,
    /// Where each of the vehicles lies inside its tolerances, and where in the slice of a severity.
    vehicles: Vec<(Arc<[f64]>, f64)>,
    /// The tolerances that have a width.
    movable: Vec<usize>,
    /// How far a tolerance goes, as shares of its healthy width.
    ends: [f64; 2],
}

/// The part that the workers read and do not change.
struct Shared<'a> {
    circuit: &'a Arc<Circuit>,
    meter: &'a Meter,
    rivals: &'a [Rival],
    columns: &'a [Column],
    vehicles: &'a [(Arc<[f64]>, f64)],
    movable: &'a [usize],
    ends: [f64; 2],
}

/// One slice with its rows, while a worker has it.
pub(super) struct Look<'a> {
    shared: &'a Shared<'a>,
    slice: Slice,
    rows: &'a mut Vec<Option<Row>>,
    bench: &'a mut Bench,
    readout: &'a mut Readout,
}

impl Table {
    /// An empty one: the vehicle in its starting state, and nothing read.
    pub fn new(circuit: Arc<Circuit>, meter: Meter, rivals: Vec<Rival>) -> Self {
        Self::widened(circuit, meter, rivals, 1.0)
    }

    /// The same with every tolerance so many times as wide: a real vehicle need not keep to those of a circuit file.
    pub fn widened(circuit: Arc<Circuit>, meter: Meter, rivals: Vec<Rival>, factor: f64) -> Self {
        let slices = slices(&rivals);
        let ends = [0.5 - 0.5 * factor, 0.5 + 0.5 * factor];
        let vehicles = (0..VEHICLES).map(|vehicle| one_of_many(&circuit, vehicle, ends)).collect();
        let movable = (0..circuit.tolerances().len()).filter(|number| {
            let spread = circuit.tolerances()[*number];
            spread.low < spread.high
        });
        let movable = movable.collect();
        let rows = vec![Vec::new(); slices.len()];
        let state = circuit.start().clone();
        let start = Column { before: None, step: Step::Put(state.clone()), state, candidates: vec![] };
        Self { circuit, meter, rivals, slices, columns: vec![start], rows, vehicles, movable, ends }
    }

    /// The circuit.
    pub const fn circuit(&self) -> &Arc<Circuit> {
        &self.circuit
    }

    /// The meter that is read.
    pub const fn meter(&self) -> &Meter {
        &self.meter
    }

    /// The rivals, the healthy vehicle first.
    pub fn rivals(&self) -> &[Rival] {
        &self.rivals
    }

    /// The slices of all of them.
    pub fn slices(&self) -> &[Slice] {
        &self.slices
    }

    /// The column that a step leads to from another; the starting state is column 0. A step that changes nothing leads nowhere.
    pub fn step(&mut self, before: usize, step: Step) -> usize {
        let nothing = match &step {
            Step::Put(state) => state.reads_like(&self.columns[before].state),
            Step::Wait(_) => !self.circuit.knows_time(),
            Step::Read(candidate) => !candidate.loads(),
        };
        if nothing {
            return before;
        }
        let known = |column: &Column| column.before == Some(before) && column.step == step;
        if let Some(found) = self.columns.iter().position(known) {
            return found;
        }
        let state = match &step {
            Step::Put(state) => state.clone(),
            Step::Wait(_) | Step::Read(_) => self.columns[before].state.clone(),
        };
        self.columns.push(Column { before: Some(before), step, state, candidates: vec![] });
        self.columns.len() - 1
    }

    /// The state of the vehicle in a column.
    pub fn state(&self, column: usize) -> &VehicleState {
        &self.columns[column].state
    }

    /// The cell of a candidate in a column.
    ///
    /// # Errors
    /// A name that the circuit does not have.
    pub fn cell(&mut self, column: usize, candidate: &Candidate) -> Result<Cell, SolveError> {
        let candidates = &mut self.columns[column].candidates;
        if let Some(found) = candidates.iter().position(|(known, _)| known == candidate) {
            return Ok(Cell { column, candidate: found });
        }
        candidates.push((candidate.clone(), candidate.find(&self.circuit)?));
        Ok(Cell { column, candidate: candidates.len() - 1 })
    }

    /// The reading of a cell.
    pub fn candidate(&self, cell: Cell) -> &Candidate {
        &self.columns[cell.column].candidates[cell.candidate].0
    }

    /// Looks at each of these slices, on all cores.
    ///
    /// # Errors
    /// A state that the circuit does not know.
    pub(super) fn look<T: Send>(
        &mut self,
        wanted: impl Fn(usize) -> bool + Sync,
        look: impl Fn(usize, &mut Look) -> Result<T, SolveError> + Sync,
    ) -> Result<Vec<Option<T>>, SolveError> {
        let shared = Shared {
            circuit: &self.circuit,
            meter: &self.meter,
            rivals: &self.rivals,
            columns: &self.columns,
            vehicles: &self.vehicles,
            movable: &self.movable,
            ends: self.ends,
        };
        let bench = Bench::new(Arc::clone(&self.circuit), &[], Sample::NOMINAL, self.meter.clone())?;
        self.rows
            .par_iter_mut()
            .zip(&self.slices)
            .enumerate()
            .map_init(
                || (bench.clone(), Readout::default()),
                |(bench, readout), (number, (rows, slice))| {
                    if !wanted(number) {
                        return Ok(None);
                    }
                    rows.resize_with(shared.columns.len(), || None);
                    let mut at = Look { shared: &shared, slice: *slice, rows, bench, readout };
                    look(number, &mut at).map(Some)
                },
            )
            .collect()
    }

    /// The hull of a slice in a cell as far as it is known, with nobody having climbed further than was needed.
    ///
    /// # Errors
    /// A state that the circuit does not know.
    pub fn hulls(&mut self, cell: Cell) -> Result<Vec<Hull>, SolveError> {
        let all = self.look(|_| true, |_, look| look.hull(cell))?;
        Ok(all.into_iter().flatten().collect())
    }
}

impl Look<'_> {
    /// The hull in a cell.
    pub fn hull(&mut self, cell: Cell) -> Result<Hull, SolveError> {
        self.fill(cell.column)?;
        Ok(self.row(cell.column).map_or(Hull::EMPTY, |row| row.hulls[cell.candidate]))
    }

    fn row(&self, column: usize) -> Option<&Row> {
        self.rows.get(column).and_then(Option::as_ref)
    }

    /// Whether the row of a column has a hull for each of its candidates.
    fn is_full(&self, column: usize) -> bool {
        self.row(column).is_some_and(|row| row.hulls.len() == self.shared.columns[column].candidates.len())
    }

    /// Has every vehicle do the step of a column, after those before it, and reads the candidates that are not read yet.
    fn fill(&mut self, column: usize) -> Result<(), SolveError> {
        if self.is_full(column) {
            return Ok(());
        }
        let here = &self.shared.columns[column];
        if let Some(before) = here.before
            && self.row(before).is_none()
        {
            self.fill(before)?;
        }
        let mut row = self.rows[column].take().unwrap_or_default();
        let fresh = row.hulls.len();
        row.hulls.resize(here.candidates.len(), Hull::EMPTY);
        row.remembers.clear();
        row.memories.clear();
        for vehicle in 0..self.shared.vehicles.len() {
            let (shares, share) = &self.shared.vehicles[vehicle];
            let severity = self.slice.from + (self.slice.to - self.slice.from) * share;
            let before = here.before.and_then(|before| self.row(before));
            let memory = before.map_or_else(Memory::default, |row| row.of(vehicle).clone());
            self.moment(vehicle);
            let mut hulls = std::mem::take(&mut row.hulls);
            let done = self.stand(here, shares, severity, &memory);
            let done = done.and_then(|steady| {
                for (number, hull) in hulls.iter_mut().enumerate().skip(fresh) {
                    if let Some(read) = self.read(here, number, steady)? {
                        hull.take(read, vehicle);
                    }
                }
                Ok(())
            });
            match done {
                Ok(()) => {}
                // No solution was found: nothing can be said of this slice here, so it may show anything.
                Err(SolveError::Unsettled { .. } | SolveError::Floats { .. } | SolveError::Shorted { .. }) => {
                    hulls.iter_mut().skip(fresh).for_each(|hull| {
                        hull.take((f64::NEG_INFINITY, f64::INFINITY), vehicle);
                    });
                }
                Err(error) => {
                    self.bench.reads_while(Load::AsItComes);
                    return Err(error);
                }
            }
            row.hulls = hulls;
            row.remember(self.bench.memory());
        }
        self.bench.reads_while(Load::AsItComes);
        self.rows[column] = Some(row);
        Ok(())
    }

    /// What comes and goes is there in one vehicle, gone in the next, and as its clock has it in the third.
    fn moment(&mut self, vehicle: usize) {
        if self.shared.circuit.comes_and_goes() {
            self.bench.reads_while([Load::There, Load::Gone, Load::AsItComes][vehicle % 3]);
        }
    }

    /// Puts a vehicle into the state of a column by its step; whether it rests.
    fn stand(
        &mut self,
        column: &Column,
        shares: &Arc<[f64]>,
        severity: f64,
        memory: &Memory,
    ) -> Result<bool, SolveError> {
        let placed = self.shared.rivals[self.slice.rival].placed(severity)?;
        let steady = self.bench.stand(&placed, shares, memory, &column.state, self.readout)?;
        match &column.step {
            Step::Put(_) => return Ok(steady),
            Step::Wait(seconds) => self.bench.wait(*seconds)?,
            Step::Read(candidate) => drop(candidate.ask(self.bench)?),
        }
        let memory = self.bench.memory().clone();
        self.bench.stand(&placed, shares, &memory, &column.state, self.readout)
    }

    fn read(&mut self, column: &Column, candidate: usize, steady: bool) -> Result<Option<(f64, f64)>, SolveError> {
        let (candidate, found) = &column.candidates[candidate];
        let readout = steady.then_some(&*self.readout);
        candidate.read(found, self.bench, readout, self.shared.meter)
    }

    /// The hull after a climb from the vehicle furthest out on one side.
    pub fn climbed(&mut self, cell: Cell, side: Side) -> Result<Hull, SolveError> {
        self.fill(cell.column)?;
        let end = usize::from(side == Side::High);
        let mut hull = self.hull(cell)?;
        if hull.climbed[end] {
            return Ok(hull);
        }
        let vehicle = usize::from(hull.at[end]);
        let (shares, share) = &self.shared.vehicles[vehicle];
        let width = self.slice.to - self.slice.from;
        let mut spot = Spot { shares: shares.to_vec(), severity: self.slice.from + width * share };
        let severities: Vec<f64> =
            if self.shared.rivals[self.slice.rival].fault.as_ref().is_some_and(|fault| fault.severity.is_some()) {
                LOOKS.iter().map(|share| self.slice.from + width * share).collect()
            } else {
                vec![]
            };
        let sign = if side == Side::High { 1.0 } else { -1.0 };
        let shared = self.shared;
        self.moment(vehicle);
        // If the steps before leave nothing behind in relays or fuses, the climb goes straight to the state.
        let straight = self.walk(cell, &spot, true).is_ok()
            && self.row(cell.column).is_some_and(|row| row.of(vehicle) == self.bench.memory());
        let found = climb(&mut spot, shared.movable, shared.ends, &severities, |spot| {
            let (low, high) = self.walk(cell, spot, straight).ok().flatten()?;
            Some(sign * if side == Side::High { high } else { low })
        });
        self.bench.reads_while(Load::AsItComes);
        if let Some(found) = found {
            hull.reach(side, sign * found);
        }
        hull.climbed[end] = true;
        if let Some(row) = &mut self.rows[cell.column] {
            row.hulls[cell.candidate] = hull;
        }
        Ok(hull)
    }

    /// What one vehicle shows in a cell after all the steps that lead there, or put straight into its state.
    fn walk(&mut self, cell: Cell, spot: &Spot, straight: bool) -> Result<Option<(f64, f64)>, SolveError> {
        let shares: Arc<[f64]> = spot.shares.as_slice().into();
        let mut way = vec![cell.column];
        while !straight && let Some(before) = self.shared.columns[way[way.len() - 1]].before {
            way.push(before);
        }
        let (mut memory, mut steady) = (Memory::default(), true);
        for column in way.into_iter().rev() {
            steady = self.stand(&self.shared.columns[column], &shares, spot.severity, &memory)?;
            memory = self.bench.memory().clone();
        }
        self.read(&self.shared.columns[cell.column], cell.candidate, steady)
    }
}

impl Row {
    fn of(&self, vehicle: usize) -> &Memory {
        &self.memories[usize::from(self.remembers[vehicle])]
    }

    fn remember(&mut self, memory: &Memory) {
        let known = self.memories.iter().rposition(|known| known == memory);
        let number = known.unwrap_or_else(|| {
            self.memories.push(memory.clone());
            self.memories.len() - 1
        });
        self.remembers.push(number as u16);
    }
}

/// A vehicle by its number: the first as designed, then by turns one with each part at an end of its tolerance and one with each
/// part anywhere. Its place in a severity's slice is by turns an end, the other end and anywhere.
fn one_of_many(circuit: &Circuit, vehicle: usize, [from, to]: [f64; 2]) -> (Arc<[f64]>, f64) {
    let sample = Sample::of_vehicle(0x5EED_0F4A, vehicle as u64);
    let share = |spread: &crate::circuit::sample::Spread| {
        if spread.low == spread.high || vehicle == 0 {
            return 0.5;
        }
        let share = (sample.draw(*spread) - spread.low) / (spread.high - spread.low);
        let share = if vehicle % 2 == 1 { share.round() } else { share };
        from + (to - from) * share
    };
    let shares = circuit.tolerances().iter().map(share).collect();
    let place = match vehicle % 4 {
        0 => 0.0,
        1 => 1.0,
        _ => (vehicle as f64 * 0.618_033_988_749_895).fract(),
    };
    (shares, place)
}
