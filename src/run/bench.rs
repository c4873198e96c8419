//! A simulated circuit that answers, by itself or with a person in front of it.

use super::answerer::{Acknowledgement, Answerer, Reply, View};
use super::journal::Durability;
use super::meaning::{LEAST_OF_A_SWEEP, values};
use crate::circuit::bench::Bench;
use crate::circuit::error::SolveError;
use crate::circuit::meter::{Reading, Shown};
use crate::model::caution::Rule;
use crate::model::doubt::Doubt;
use crate::model::event::{AnsweredBy, Entry, NamedCause};
use crate::model::meter::Function;
use crate::model::prompt::{Leads, Prompt, PromptId, Question};
use crate::model::quantity::Quantity;
use crate::model::record::SweepReading;
use crate::model::vehicle::{Action, VehicleState};
use std::sync::{Arc, Mutex};

/// How many positions of a travel a sweep reads.
const SWEEP_READINGS: usize = 11;

/// What a circuit could not be asked, in words.
#[derive(Clone, Debug, Default)]
pub struct BenchFailure(Arc<Mutex<Option<SolveError>>>);

impl BenchFailure {
    /// The first thing that could not be asked, if any.
    pub fn said(&self) -> Option<String> {
        self.error().map(|error| error.to_string())
    }
    /// The same, as it is.
    pub fn error(&self) -> Option<SolveError> {
        self.0.lock().ok().and_then(|said| said.clone())
    }
    fn say(&self, error: &SolveError) {
        if let Ok(mut said) = self.0.lock() {
            said.get_or_insert_with(|| error.clone());
        }
    }
}

/// A simulated circuit that answers a procedure's questions.
pub struct BenchAnswerer {
    bench: Bench,
    person: Option<Box<dyn Answerer>>,
    trouble: BenchFailure,
}

impl BenchAnswerer {
    /// By itself: nobody is there.
    pub fn alone(bench: Bench) -> Self {
        Self { bench, person: None, trouble: BenchFailure::default() }
    }

    /// With a person who puts the leads where the table says.
    pub fn with_person(bench: Bench, person: Box<dyn Answerer>) -> Self {
        Self { bench, person: Some(person), trouble: BenchFailure::default() }
    }

    /// What could not be asked, to be looked at afterwards.
    pub fn trouble(&self) -> BenchFailure {
        self.trouble.clone()
    }

    /// What the circuit shows at a question in this state of the vehicle.
    fn shows(&mut self, prompt: &Prompt, vehicle: &VehicleState) -> Result<Reply, SolveError> {
        self.bench.set_state(vehicle)?;
        let nothing = || Reply::Skip { reason: "nothing is shown".to_owned() };
        Ok(match &prompt.question {
            Question::Reading { function, leads, .. } => match self.read(*function, leads)? {
                Some(text) => Reply::text(text),
                None => nothing(),
            },
            Question::ModuleValue { signal, limits } => match self.bench.module_shows(signal)? {
                Shown::Value(value) => Reply::text(limits.unit.show(value, 4)),
                Shown::OverRange | Shown::Nothing => nothing(),
            },
            Question::LowestHighest { function, leads, meanwhile, .. } => {
                let (function, leads) = (*function, leads.clone());
                let readings = self.while_moving(meanwhile, vehicle, function, &leads)?;
                let of = |least: bool| {
                    let values =
                        readings.iter().filter_map(|reading| Some((reading.as_ref()?, number(reading.as_ref()?)?)));
                    if least {
                        values.min_by(|a, b| a.1.total_cmp(&b.1))
                    } else {
                        values.max_by(|a, b| a.1.total_cmp(&b.1))
                    }
                    .map(|(reading, _)| reading.text())
                };
                match (of(true), of(false)) {
                    (Some(lowest), Some(highest)) => Reply::text(format!("{lowest} {highest}")),
                    _ => nothing(),
                }
            }
            Question::Sweep { function, leads, moving, .. } => {
                let (function, leads) = (*function, leads.clone());
                let readings = self.while_moving(moving, vehicle, function, &leads)?;
                let texts: Vec<_> = readings.iter().flatten().map(Reading::text).collect();
                if texts.is_empty() { nothing() } else { Reply::text(texts.join(" ")) }
            }
            Question::YesNo | Question::Choice { .. } | Question::Note => {
                Reply::Skip { reason: "a simulated circuit can't be looked at".to_owned() }
            }
        })
    }

    /// Readings at every position of what is moved; one reading where the circuit knows no such thing.
    fn while_moving(
        &mut self,
        moving: &str,
        vehicle: &VehicleState,
        function: Function,
        leads: &Leads,
    ) -> Result<Vec<Option<Reading>>, SolveError> {
        let known = self.bench.circuit().movement(moving).is_ok();
        let readings = if known {
            self.bench.sweep(moving, SWEEP_READINGS, |bench| reading(bench, function, leads))?
        } else {
            vec![reading(&mut self.bench, function, leads)?]
        };
        self.bench.set_state(vehicle)?;
        Ok(readings)
    }

    fn read(&mut self, function: Function, leads: &Leads) -> Result<Option<String>, SolveError> {
        Ok(reading(&mut self.bench, function, leads)?.map(|reading| reading.text()))
    }

    fn reply(&mut self, prompt: &Prompt, view: View<'_>) -> Reply {
        match self.shows(prompt, view.vehicle) {
            Ok(reply) => {
                if let (Some(person), Reply::Text(text)) = (&mut self.person, &reply) {
                    let who = if matches!(prompt.question, Question::ModuleValue { .. }) { "module" } else { "meter" };
                    person.remark(&format!("the {who} shows {}", in_a_row(text)));
                }
                if let (Some(person), Reply::Skip { reason }) = (&mut self.person, &reply) {
                    person.remark(&format!("skipped: {reason}"));
                }
                reply
            }
            Err(error) => self.can_not(&error),
        }
    }

    fn can_not(&mut self, error: &SolveError) -> Reply {
        self.trouble.say(error);
        if let Some(person) = &mut self.person {
            person.refused(&error.to_string());
        }
        Reply::Pause
    }

    /// Whether the bench answers this question; what has to be looked at, it can't.
    pub fn can_answer(&self, prompt: &Prompt) -> bool {
        !matches!(prompt.question, Question::YesNo | Question::Choice { .. } | Question::Note)
    }
}

/// Readings one behind the other; none is torn from its unit at the end of a line.
fn in_a_row(text: &str) -> String {
    let values: Vec<String> = values(text).iter().map(|value| value.replace(' ', "\u{a0}")).collect();
    values.join(", ")
}

fn number(reading: &Reading) -> Option<f64> {
    match reading.shown {
        Shown::Value(value) => Some(Quantity::si(value)),
        Shown::OverRange => Some(f64::INFINITY),
        Shown::Nothing => None,
    }
}

fn reading(bench: &mut Bench, function: Function, leads: &Leads) -> Result<Option<Reading>, SolveError> {
    let reading = match (function, leads) {
        (_, Leads::Nowhere) => return Ok(None),
        (Function::Volts, Leads::Across { red, black }) => bench.volts(&red.name, &black.name)?,
        (Function::Ohms, Leads::Across { red, black }) => bench.ohms(&red.name, &black.name)?,
        (Function::Diode, Leads::Across { red, black }) => bench.diode(&red.name, &black.name)?,
        (Function::Amperes, Leads::Across { red, black }) => bench.amperes(&red.name, &black.name)?,
        (Function::Duty, Leads::Across { red, black }) => bench.duty(&red.name, &black.name)?,
        (Function::Hertz, Leads::Across { red, black }) => bench.hertz(&red.name, &black.name)?,
        (Function::Amperes, Leads::Through { at }) => bench.amperes_in_line(&at.name)?,
        (Function::Amperes, Leads::Clamp { at }) => bench.amperes_through(&at.name)?,
        _ => return Ok(None),
    };
    Ok((reading.shown != Shown::Nothing).then_some(reading))
}

impl Answerer for BenchAnswerer {
    fn answered_by(&self) -> AnsweredBy {
        AnsweredBy::Bench
    }
    fn durability(&self) -> Durability {
        if self.person.is_some() { Durability::Each } else { Durability::AtEnd }
    }
    fn step(&mut self, view: View<'_>) {
        if let Some(person) = &mut self.person {
            person.step(view);
        }
    }
    fn why(&mut self, text: &str) {
        if let Some(person) = &mut self.person {
            person.why(text);
        }
    }
    fn remark(&mut self, text: &str) {
        if let Some(person) = &mut self.person {
            person.remark(text);
        }
    }
    fn caution(&mut self, rules: &[&Rule]) -> Acknowledgement {
        match &mut self.person {
            Some(person) => person.caution(rules),
            None => Acknowledgement::Read { qualified: Some("a simulated circuit".to_owned()) },
        }
    }
    fn prepare(&mut self, prompt: &Prompt) {
        if let Some(person) = &mut self.person {
            person.prepare(prompt);
        }
    }
    fn act(&mut self, action: &Action, view: View<'_>) -> Reply {
        if let Action::Connect { jumper } = action
            && let Err(error) = self.bench.stands_jumper(&view.vehicle.after(action, None), jumper)
        {
            return self.can_not(&error);
        }
        match &mut self.person {
            Some(person) => person.act(action, view),
            None => Reply::enter(),
        }
    }
    fn answer(&mut self, prompt: &Prompt, view: View<'_>) -> Reply {
        if let Some(person) = &mut self.person {
            let reply = person.answer(prompt, view);
            // Enter puts the leads where the table says; anything else is the person's own.
            let enter = matches!(&reply, Reply::Text(text) if text.trim().is_empty());
            if !enter || !self.can_answer(prompt) {
                return reply;
            }
        }
        self.reply(prompt, view)
    }
    fn next_of_sweep(&mut self, prompt: &Prompt, so_far: &[SweepReading], view: View<'_>) -> Reply {
        if !so_far.is_empty() {
            if self.person.is_none() {
                return Reply::enter();
            }
            // The meter shows the whole travel at once: what was broken off within it goes on, and else it is over.
            let shown = match self.shows(prompt, view.vehicle) {
                Ok(Reply::Text(text)) => values(&text),
                _ => vec![],
            };
            let by_meter = so_far.iter().zip(&shown).all(|(reading, shown)| reading.text == *shown);
            let Some(person) = &mut self.person else { return Reply::enter() };
            return match shown.get(so_far.len()..) {
                Some(rest @ [_, ..]) if by_meter => Reply::text(rest.join(" ")),
                Some([]) if by_meter && so_far.len() >= LEAST_OF_A_SWEEP => Reply::enter(),
                // Typed by hand, or too little to be a sweep.
                _ => person.next_of_sweep(prompt, so_far, view),
            };
        }
        if let Some(person) = &mut self.person {
            let reply = person.next_of_sweep(prompt, so_far, view);
            if !matches!(&reply, Reply::Text(text) if text.trim().is_empty()) {
                return reply;
            }
        }
        self.reply(prompt, view)
    }
    fn refused(&mut self, problem: &str) -> bool {
        match &mut self.person {
            Some(person) => person.refused(problem),
            None => false,
        }
    }
    fn doubt(&mut self, prompt: &Prompt, typed: &str, doubt: &Doubt, view: View<'_>) -> Reply {
        match &mut self.person {
            Some(person) => person.doubt(prompt, typed, doubt, view),
            // The meter shows the same again.
            None => Reply::text(typed.to_owned()),
        }
    }
    fn needs(&mut self, id: &PromptId, why: &str) -> Reply {
        self.person.as_mut().map_or(Reply::Nobody, |person| person.needs(id, why))
    }
    fn concludes(&mut self, causes: &[NamedCause]) -> Reply {
        self.person.as_mut().map_or(Reply::Nobody, |person| person.concludes(causes))
    }
    fn recorded(&mut self, entry: &Entry, replayed: bool) {
        if let Some(person) = &mut self.person {
            person.recorded(entry, replayed);
        }
    }
    fn live(&mut self) {
        if let Some(person) = &mut self.person {
            person.live();
        }
    }
    fn vehicle_was_seen(&self) -> bool {
        self.person.as_ref().is_some_and(|person| person.vehicle_was_seen())
    }
    fn confirm_vehicle(&mut self, left: &VehicleState) -> Option<VehicleState> {
        match &mut self.person {
            Some(person) => person.confirm_vehicle(left),
            None => Some(left.clone()),
        }
    }
}
