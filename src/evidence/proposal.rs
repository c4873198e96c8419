//! The next reading at a vehicle: candidates in the states that are near, held against the rivals that are left.

use super::candidate::Candidate;
use super::next::{Next, Outlook, Test, next};
use super::possible::Possible;
use super::reading::Says;
use super::table::{Cell, Step, Table};
use crate::circuit::error::SolveError;
use crate::circuit::movement::Travel;
use crate::circuit::names::MINUTES_A_READING;
use crate::circuit::netlist::Circuit;
use crate::model::meter::{Function, Meter};
use crate::model::vehicle::{Engine, Key, VehicleState};
use std::collections::HashMap;

/// Minutes for each change at the vehicle before a reading. Common practice, no source.
const TO_TURN_THE_KEY: f64 = 0.5;
const TO_MOVE: f64 = 0.5;
const TO_START_OR_STOP: f64 = 1.0;
const TO_PULL: f64 = 1.0;
const TO_JOIN: f64 = 2.0;
const TO_MOVE_THE_CABLE: f64 = 3.0;

/// A reading that is proposed. Nobody has to take it.
#[derive(Clone, Debug, PartialEq)]
pub struct Proposal {
    /// The state of the vehicle in which it is taken.
    pub state: VehicleState,
    /// The reading, and its place.
    pub candidate: Candidate,
    /// Its minutes and those expected until nothing more can be told apart.
    pub next: Next,
    /// The rivals that are left, by what it would show: no two parts show the same.
    pub parts: Vec<Vec<usize>>,
}

/// The next best reading from where the vehicle stands; `None` where what is left can't be told apart by volts or by what the
/// module shows, with the key off or on and with what is moved by hand at any of its stops.
///
/// # Errors
/// A state that the circuit does not know.
pub fn proposal(table: &mut Table, possible: &Possible, stands: usize) -> Result<Option<Proposal>, SolveError> {
    let rivals: Vec<usize> = (0..table.rivals().len()).filter(|rival| possible.has(*rival)).collect();
    let left: Vec<usize> = possible.slices().collect();
    if rivals.len() < 2 {
        return Ok(None);
    }
    let states = states_near(table.circuit(), table.state(stands));
    let columns: Vec<usize> = states.iter().map(|state| table.step(stands, Step::Put(state.clone()))).collect();
    let candidates = candidates(table.circuit());
    let mut cells = Vec::new();
    for (state, column) in columns.iter().enumerate() {
        for candidate in &candidates {
            cells.push((state, table.cell(*column, candidate)?));
        }
    }
    let shown = hulls(table, &cells, &left, &rivals)?;
    let mut tests = Vec::new();
    let mut places = Vec::new();
    for ((state, cell), shown) in cells.iter().zip(shown) {
        let function = table.candidate(*cell).function();
        let Some(outcomes) = outcomes(&shown, |value| accuracy(table.meter(), function, value)) else { continue };
        let minutes = minutes_of(table.circuit(), table.candidate(*cell));
        tests.push(Test { outcomes, minutes, state: *state });
        places.push(*cell);
    }
    let changes: Vec<Vec<f64>> = states
        .iter()
        .map(|from| states.iter().map(|to| minutes_between(table.circuit(), from, to)).collect())
        .collect();
    let weights = rivals.iter().map(|rival| table.rivals()[*rival].how_common()).collect();
    let outlook = Outlook { weights, corrections: corrections(table, &rivals), tests, changes, stands: 0 };
    let Some(next) = next(&outlook) else { return Ok(None) };
    let test = &outlook.tests[next.test];
    let mut parts: Vec<(u16, Vec<usize>)> = Vec::new();
    for (rival, shows) in rivals.iter().zip(&test.outcomes) {
        match parts.iter_mut().find(|(known, _)| known == shows) {
            Some((_, part)) => part.push(*rival),
            None => parts.push((*shows, vec![*rival])),
        }
    }
    let cell = places[next.test];
    Ok(Some(Proposal {
        state: table.state(cell.column).clone(),
        candidate: table.candidate(cell).clone(),
        next,
        parts: parts.into_iter().map(|(_, part)| part).collect(),
    }))
}

/// The state in which the vehicle stands first, then those that the key and a hand bring about. Nothing is unplugged, and the
/// engine is not started.
fn states_near(circuit: &Circuit, stands: &VehicleState) -> Vec<VehicleState> {
    let mut states = vec![stands.clone()];
    let mut add = |state: VehicleState| {
        if !states.iter().any(|known| known.reads_like(&state)) {
            states.push(state);
        }
    };
    if stands.engine == Engine::Stopped {
        add(VehicleState { key: Key::Off, ..stands.clone() });
        add(VehicleState { key: Key::On, ..stands.clone() });
    }
    for movement in circuit.movements() {
        let stops: Vec<&String> = match &movement.travel {
            Travel::Between { stops, .. } => stops.iter().map(|(name, _)| name).collect(),
            Travel::Choices(choices) => choices.iter().collect(),
        };
        for stop in stops {
            let key = if stands.engine == Engine::Stopped { Key::On } else { stands.key };
            let mut state = VehicleState { key, ..stands.clone() };
            state.positions.insert(movement.id.clone(), stop.clone());
            add(state);
        }
    }
    states
}

/// Volts between any two points, and what the module shows. Red is on the point that the circuit names first.
fn candidates(circuit: &Circuit) -> Vec<Candidate> {
    let points = circuit.points();
    let pairs =
        points.iter().enumerate().flat_map(|(place, red)| points[place + 1..].iter().map(move |black| (red, black)));
    let volts = pairs.map(|(red, black)| Candidate::Across {
        function: Function::Volts,
        red: red.id.clone(),
        black: black.id.clone(),
    });
    let shown = circuit.signals().iter().map(|signal| Candidate::Module { signal: signal.id.clone() });
    shown.chain(volts).collect()
}

/// What a rival shows: lowest and highest; `None` where its vehicles show nothing.
type Shows = Option<(f64, f64)>;

/// For each cell what each of the rivals shows at the slices that are left; nothing of a cell at which some of a rival's slices show
/// something and others do not.
fn hulls(
    table: &mut Table,
    cells: &[(usize, Cell)],
    left: &[usize],
    rivals: &[usize],
) -> Result<Vec<Option<Vec<Shows>>>, SolveError> {
    let place: HashMap<usize, usize> = rivals.iter().enumerate().map(|(place, rival)| (*rival, place)).collect();
    let of: Vec<Option<usize>> = table.slices().iter().map(|slice| place.get(&slice.rival).copied()).collect();
    let wanted: std::collections::HashSet<usize> = left.iter().copied().collect();
    let found = table.look(
        |slice| wanted.contains(&slice),
        |_, look| cells.iter().map(|(_, cell)| look.hull(*cell)).collect::<Result<Vec<_>, _>>(),
    )?;
    let mut all: Vec<Option<Vec<Option<Shows>>>> = vec![Some(vec![None; rivals.len()]); cells.len()];
    for (slice, hulls) in found.into_iter().enumerate() {
        let (Some(rival), Some(hulls)) = (of[slice], hulls) else { continue };
        for (cell, hull) in all.iter_mut().zip(hulls) {
            let now: Shows = (hull.low <= hull.high).then_some((hull.low, hull.high));
            let Some(rivals) = cell else { continue };
            rivals[rival] = match (rivals[rival], now) {
                (None, now) => Some(now),
                (Some(None), None) => Some(None),
                (Some(Some((low, high))), Some((lower, higher))) => Some(Some((low.min(lower), high.max(higher)))),
                (Some(_), _) => {
                    *cell = None;
                    continue;
                }
            };
        }
    }
    Ok(all.into_iter().map(|cell| cell.map(|rivals| rivals.into_iter().map(Option::flatten).collect())).collect())
}

/// The number of what each rival would show: two have different ones only where no reading, given the meter's accuracy, could be of
/// both.
fn outcomes(shown: &Option<Vec<Shows>>, accuracy: impl Fn(f64) -> f64) -> Option<Vec<u16>> {
    let shown = shown.as_ref()?;
    let wide = |value: f64, sign: f64| if value.is_finite() { value + sign * accuracy(value) } else { value };
    let mut order: Vec<(f64, f64, usize)> = shown
        .iter()
        .enumerate()
        .filter_map(|(rival, shows)| shows.map(|(low, high)| (wide(low, -1.0), wide(high, 1.0), rival)))
        .collect();
    order.sort_by(|a, b| a.0.total_cmp(&b.0));
    // Nothing shown is a thing of its own.
    let mut numbers = vec![0; shown.len()];
    let (mut number, mut reaches) = (0, f64::NEG_INFINITY);
    for (low, high, rival) in order {
        if number == 0 || low > reaches {
            number += 1;
        }
        reaches = reaches.max(high);
        numbers[rival] = number;
    }
    numbers.windows(2).any(|pair| pair[0] != pair[1]).then_some(numbers)
}

/// How far a reading of this value may be off; of what a module shows a thousandth.
fn accuracy(meter: &Meter, function: Option<Function>, value: f64) -> f64 {
    match Says::of_number(Some(meter), function, value, value.abs() * 5e-4) {
        Says::Between(low, high) => (high - value).max(value - low),
        Says::Beyond(_) => 0.0,
    }
}

fn minutes_of(circuit: &Circuit, candidate: &Candidate) -> f64 {
    let places: Vec<&str> = match candidate {
        Candidate::Across { red, black, .. } if circuit.place_of(red) == circuit.place_of(black) => vec![red],
        Candidate::Across { red, black, .. } => vec![red, black],
        Candidate::InLine { at } | Candidate::Clamp { at } => vec![at],
        Candidate::Module { .. } => vec![],
    };
    MINUTES_A_READING + places.into_iter().map(|place| circuit.minutes_to(place)).sum::<f64>()
}

/// Minutes from one state to another.
fn minutes_between(circuit: &Circuit, from: &VehicleState, to: &VehicleState) -> f64 {
    let connector =
        |name: &String| circuit.connectors().iter().find(|known| known.id == *name).map_or(0.0, |one| one.minutes);
    let plugs: f64 = from.unplugged.symmetric_difference(&to.unplugged).map(connector).sum();
    let pulled = from.removed.symmetric_difference(&to.removed).count() as f64 * TO_PULL;
    let names = from.positions.keys().chain(to.positions.keys().filter(|name| !from.positions.contains_key(*name)));
    let moved = names.filter(|name| from.positions.get(*name) != to.positions.get(*name)).count() as f64 * TO_MOVE;
    let joined = from.jumpers.iter().filter(|one| !to.jumpers.contains(one)).count()
        + to.jumpers.iter().filter(|one| !from.jumpers.contains(one)).count();
    let of = |changed: bool, minutes: f64| if changed { minutes } else { 0.0 };
    plugs
        + pulled
        + moved
        + joined as f64 * TO_JOIN
        + of(from.key != to.key, TO_TURN_THE_KEY)
        + of(from.engine != to.engine, TO_START_OR_STOP)
        + of(from.battery != to.battery, TO_MOVE_THE_CABLE)
}

/// The same number for rivals that the same corrections put right.
fn corrections(table: &Table, rivals: &[usize]) -> Vec<usize> {
    let mut known: HashMap<Vec<&str>, usize> = HashMap::new();
    rivals
        .iter()
        .map(|rival| {
            let rival = &table.rivals()[*rival];
            let mut causes: Vec<&str> =
                rival.fault.iter().flat_map(|fault| fault.causes.iter().map(String::as_str)).collect();
            causes.sort_unstable();
            if causes.is_empty() {
                causes.push(rival.id());
            }
            let count = known.len();
            *known.entry(causes).or_insert(count)
        })
        .collect()
}
