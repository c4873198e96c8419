//! The readings of a record, each in the state of the vehicle in which it was taken.

use super::candidate::Candidate;
use super::held::Reading;
use super::reading::Says;
use super::table::{Step, Table};
use crate::circuit::error::SolveError;
use crate::model::meter::{Meter, assumed};
use crate::model::prompt::{Answer, Leads, PromptId, Question};
use crate::model::quantity::Quantity;
use crate::model::record::given::Answered;
use crate::model::record::{Item, Record};
use crate::model::typed::{self, Shown};
use crate::model::unit::Unit;
use crate::model::vehicle::{Action, Battery, Engine, Key, VehicleState};
use std::collections::HashMap;

/// Positions of a travel at which a reading may have been taken, if the record names none.
const POSITIONS: usize = 11;

/// The readings of a record.
#[derive(Clone, Debug, Default)]
pub struct Taken {
    /// The readings, in order; their cells are in the table.
    pub readings: Vec<Reading>,
    /// Of each reading its prompt and its text.
    pub texts: Vec<Text>,
    /// Readings that say nothing here, with the reason.
    pub left_out: Vec<(PromptId, LeftOut)>,
    /// The column in which the vehicle stands now.
    pub stands: usize,
}

/// A reading as people know it.
#[derive(Clone, Debug, PartialEq)]
pub struct Text {
    /// Its prompt.
    pub id: PromptId,
    /// The prompt's words.
    pub about: String,
    /// The typed text, with its unit.
    pub shown: String,
    /// The unit of its prompt.
    pub unit: Unit,
}

/// Why a reading says nothing about the circuit.
#[derive(Clone, Debug, PartialEq)]
pub enum LeftOut {
    /// Nobody confirmed where the key, the engine or the battery's cable stood.
    StateUnknown,
    /// Nothing on a circuit answers it, or it has no leads.
    NotOfTheCircuit,
    /// The typed text can't be read.
    Unreadable,
    /// The circuit does not know a place, a part or a state of it.
    UnknownToTheCircuit(SolveError),
}

/// Reads the record's readings into the table. The meter says how far they may be off; without one only their digits do.
///
/// # Errors
/// What the circuit can't be asked at all.
pub fn taken(table: &mut Table, record: &Record, meter: Option<&Meter>) -> Result<Taken, SolveError> {
    let mut taken = Taken::default();
    let mut state = record.started.vehicle.clone();
    let mut column = put(table, 0, &state);
    let mut columns: HashMap<usize, (usize, VehicleState)> = HashMap::new();
    // A state that the circuit does not know is passed by, and its readings are left out.
    for placed in record.steps.iter().flat_map(|step| &step.items) {
        match &placed.item {
            Item::Acted { action: Action::Wait { time, .. }, already: false, .. } => {
                column = table.step(column, Step::Wait(time.si()));
            }
            Item::Acted { action, already: false, at, .. } => {
                state = state.after(action, Some(at.minute()));
                column = put(table, column, &state);
            }
            Item::Resumed { vehicle, .. } => {
                state.clone_from(vehicle);
                column = put(table, column, &state);
            }
            Item::Answered(answered) => {
                let (there, stood) = match answered.kept_from.and_then(|line| columns.get(&line)) {
                    Some((there, stood)) => (*there, stood.clone()),
                    None => (column, state.clone()),
                };
                columns.insert(answered.line, (there, stood.clone()));
                if answered.struck_at.is_none() {
                    let after = taken.take(table, answered, (there, &stood), meter);
                    if answered.kept_from.is_none() {
                        column = after;
                    }
                }
            }
            _ => {}
        }
    }
    taken.stands = column;
    Ok(taken)
}

/// The column of a state. Its unknown parts are as in the circuit's starting state.
fn put(table: &mut Table, before: usize, state: &VehicleState) -> usize {
    if table.circuit().knows(state).is_err() {
        return before;
    }
    table.step(before, Step::Put(state.clone()))
}

fn is_known(state: &VehicleState) -> bool {
    state.key != Key::Unknown && state.engine != Engine::Unknown && state.battery != Battery::Unknown
}

impl Taken {
    /// Takes one answer; the column in which the vehicle is after it.
    fn take(
        &mut self,
        table: &mut Table,
        answered: &Answered,
        (column, state): (usize, &VehicleState),
        meter: Option<&Meter>,
    ) -> usize {
        let question = &answered.prompt.question;
        let reads = question.function().is_some() || matches!(question, Question::ModuleValue { .. });
        if !reads || matches!(answered.answer, Answer::Skipped { .. }) {
            return column;
        }
        let id = &answered.prompt.id;
        if !is_known(state) {
            self.left_out.push((id.clone(), LeftOut::StateUnknown));
            return column;
        }
        if let Err(error) = table.circuit().knows(state) {
            self.left_out.push((id.clone(), LeftOut::UnknownToTheCircuit(error)));
            return column;
        }
        let (Some(candidate), Some(unit)) = (Candidate::of(question), question.unit()) else {
            self.left_out.push((id.clone(), LeftOut::NotOfTheCircuit));
            return column;
        };
        let texts: Vec<(String, Option<String>)> = match &answered.answer {
            Answer::Reading { typed } => vec![(typed.to_string(), None)],
            Answer::LowestHighest { lowest, highest } => vec![(lowest.clone(), None), (highest.clone(), None)],
            Answer::Sweep { .. } => {
                answered.sweep.iter().map(|reading| (reading.text.clone(), reading.position.clone())).collect()
            }
            _ => return column,
        };
        for (text, position) in texts {
            let Some(says) = says(&text, unit, question, meter) else {
                self.left_out.push((id.clone(), LeftOut::Unreadable));
                continue;
            };
            match cells(table, column, state, question, &candidate, position.as_deref()) {
                Ok(cells) => {
                    self.readings.push(Reading { number: self.readings.len() + 1, cells, says });
                    self.texts.push(Text {
                        id: id.clone(),
                        about: answered.prompt.text.clone(),
                        shown: typed::as_shown(&text, unit),
                        unit,
                    });
                }
                Err(error) => self.left_out.push((id.clone(), LeftOut::UnknownToTheCircuit(error))),
            }
        }
        // A place that the circuit does not know is listed above. Reading there changes nothing.
        match candidate.find(table.circuit()) {
            Ok(_) if matches!(question, Question::Reading { .. }) => table.step(column, Step::Read(candidate)),
            _ => column,
        }
    }
}

/// The cells of a reading: the state as it is, or each position of the part that was moved meanwhile.
fn cells(
    table: &mut Table,
    column: usize,
    state: &VehicleState,
    question: &Question,
    candidate: &Candidate,
    position: Option<&str>,
) -> Result<Vec<super::table::Cell>, SolveError> {
    let moving = match question {
        Question::Sweep { moving, .. } => Some(moving),
        Question::LowestHighest { meanwhile, .. } => Some(meanwhile),
        _ => None,
    };
    let known = moving.and_then(|moving| table.circuit().movement(moving).ok()).cloned();
    let Some(movement) = known else { return Ok(vec![table.cell(column, candidate)?]) };
    let positions = match position {
        Some(position) if movement.place(position).is_ok() => vec![position.to_owned()],
        _ => movement.sweep(POSITIONS),
    };
    let mut cells = Vec::with_capacity(positions.len());
    for position in positions {
        let mut moved = state.clone();
        moved.positions.insert(movement.id.clone(), position);
        let there = put(table, column, &moved);
        cells.push(table.cell(there, candidate)?);
    }
    Ok(cells)
}

/// The range of the true value by a typed reading; `None` if the text is no reading. An unnamed meter is a common one.
fn says(text: &str, unit: Unit, question: &Question, meter: Option<&Meter>) -> Option<Says> {
    let function = question.function();
    let shown = typed::read_reading(text, unit).ok()?;
    let one = |value: Quantity| {
        let assumed = if meter.is_none() { assumed::accuracy(question, last_number(text), value) } else { None };
        match assumed {
            Some(accuracy) => Says::of_assumed(function, value.si(), accuracy.si() + half_digit(text, unit)),
            None => Says::of_number(meter, function, value.si(), half_digit(text, unit)),
        }
    };
    Some(match shown {
        Shown::Value(value) => one(value),
        Shown::Unsteady { lowest, highest } => Says::spanning(one(lowest), one(highest)),
        Shown::OverRange => {
            let in_line = matches!(question.leads(), Some(Leads::Through { .. }));
            Says::over_range(meter, function, in_line)
        }
    })
}

/// The number of a reading; of one that changes between two values the second.
fn last_number(text: &str) -> &str {
    let text = text.rsplit('\u{2026}').next().unwrap_or(text);
    text.rsplit("...").next().unwrap_or(text)
}

/// Half of the last digit of a typed number, in SI units: of `12.6` it is 0.05 V.
fn half_digit(text: &str, unit: Unit) -> f64 {
    assumed::last_place(last_number(text), unit).map_or(0.0, |place| 0.5 * place.si())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn half_of_the_last_digit_is_that_of_the_number_as_it_was_typed() {
        let of = |text: &str, word: &str| half_digit(text, word.parse::<Unit>().unwrap());
        assert!((of("12.6", "V") - 0.05).abs() < 1e-12);
        assert!((of("0.00k", "ohm") - 5.0).abs() < 1e-9);
        assert!((of("32", "degF") - 0.5 * 5.0 / 9.0).abs() < 1e-9);
        assert!((of("0.5 \u{2026} 12.0", "V") - 0.05).abs() < 1e-12);
        assert!((of("0.5 ... 12.0 V", "V") - 0.05).abs() < 1e-12);
        assert!((of("-0.02", "V") - 0.005).abs() < 1e-12);
    }
}
