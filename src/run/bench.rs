//! A simulated circuit that answers, by itself or with a person in front of it.

use super::answerer::Answerer;
use super::meaning::{LEAST_OF_A_SWEEP, values};
use super::notice::Notice;
use super::reply::{Form, Reply};
use super::request::Request;
use super::view::View;
use crate::circuit::bench::Bench;
use crate::circuit::error::SolveError;
use crate::circuit::memory::Memory;
use crate::circuit::meter::{Reading, Shown};
use crate::model::event::{Entry, Event};
use crate::model::meter::Function;
use crate::model::origin::Origin;
use crate::model::prompt::{Answer, Leads, Prompt, PromptId, Question};
use crate::model::quantity::Quantity;
use crate::model::typed;
use crate::model::vehicle::{Action, VehicleState};
use crate::model::words;
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
///
/// What the circuit remembers is a fold over the entries of the journal that stand, whether they are new or read back: each
/// action in its order, and each reading that its meter took. So a run that is paused, or of which an answer was taken back,
/// goes on as if nothing had been.
pub struct BenchAnswerer {
    bench: Bench,
    /// The vehicle after the entries so far.
    stands: VehicleState,
    /// The reading that was taken last, and what the circuit remembers once it stands in the journal, where that is something
    /// else than before.
    taken: Option<(PromptId, Option<Memory>)>,
    person: Option<Box<dyn Answerer>>,
    trouble: BenchFailure,
    /// What it showed last can't be taken, and it has nothing else.
    refused: bool,
}

impl BenchAnswerer {
    /// By itself: nobody is there.
    pub fn alone(bench: Bench) -> Self {
        let stands = bench.state().clone();
        Self { bench, stands, taken: None, person: None, trouble: BenchFailure::default(), refused: false }
    }

    /// With a person who puts the leads where the table says.
    pub fn with_person(bench: Bench, person: Box<dyn Answerer>) -> Self {
        Self { person: Some(person), ..Self::alone(bench) }
    }

    /// What could not be asked, to be looked at afterwards.
    pub fn trouble(&self) -> BenchFailure {
        self.trouble.clone()
    }

    /// What the meter shows, said to the person, as the answer.
    fn reading(&mut self, prompt: &Prompt, view: View<'_>) -> Reply {
        let form = match self.take(prompt, view.vehicle) {
            Ok(form) => form,
            Err(error) => return self.can_not(&error),
        };
        if let Some(person) = &mut self.person {
            let text = match &form {
                // What a single reading shows stands in its verdict.
                Form::Text(_) if !is_look(prompt) && !matches!(prompt.question, Question::Sweep { .. }) => None,
                Form::Text(text) if is_look(prompt) => Some(format!("you see: {text}")),
                Form::Text(text) => Some(format!("the meter shows {}", in_a_row(text))),
                Form::Skip { reason } => Some(format!("skipped: {reason}")),
                _ => None,
            };
            if let Some(text) = text {
                person.notice(Notice::Remark { text: &text });
            }
        }
        of_bench(form)
    }

    /// What a person answered, beside what the meter showed: a person may type another value.
    fn beside(&mut self, mut reply: Reply, prompt: &Prompt, view: View<'_>) -> Reply {
        if matches!(reply.form, Form::Text(_))
            && let Ok(Form::Text(showed)) = self.take(prompt, view.vehicle)
        {
            reply.origin = Origin::Bench { showed: Some(showed) };
        }
        reply
    }

    /// What the meter shows. What it does to the circuit is done once the reading stands in the journal.
    fn take(&mut self, prompt: &Prompt, vehicle: &VehicleState) -> Result<Form, SolveError> {
        self.bench.set_state(vehicle)?;
        let before = self.bench.memory().clone();
        let form = shows(&mut self.bench, prompt, vehicle);
        let after = if *self.bench.memory() == before {
            None
        } else {
            let after = self.bench.memory().clone();
            self.bench.remember(before)?;
            Some(after)
        };
        self.taken = Some((prompt.id.clone(), after));
        form
    }

    /// Goes on by an entry of the journal.
    fn follow(&mut self, entry: &Entry) {
        // A state that the circuit does not know is said when something is read in it.
        match &entry.event {
            Event::Acted { action, already: false, .. } | Event::Acted { action, passed_over: true, .. } => {
                self.stands = self.stands.after(action, Some(entry.at.minute()));
                _ = self.bench.set_state(&self.stands);
                if let Action::Wait { time, .. } = action {
                    _ = self.bench.wait(time.si());
                }
            }
            Event::Answered { prompt, answer, origin: Origin::Bench { .. }, .. }
                if reads(prompt) && !matches!(answer, Answer::Skipped { .. }) =>
            {
                match self.taken.take() {
                    Some((id, memory)) if id == prompt.id => {
                        if let Some(memory) = memory {
                            _ = self.bench.remember(memory);
                        }
                    }
                    _ => _ = shows(&mut self.bench, prompt, &self.stands),
                }
            }
            _ => {}
        }
    }

    fn can_not(&mut self, error: &SolveError) -> Reply {
        self.trouble.say(error);
        if let Some(person) = &mut self.person {
            person.notice(Notice::Refused { problem: &error.to_string() });
        }
        of_bench(Form::Pause)
    }

    /// Whether the bench answers this question: what is read, and what the circuit has a look of.
    pub fn can_answer(&self, prompt: &Prompt) -> bool {
        reads(prompt) || is_look(prompt) && self.bench.circuit().look(prompt.id.as_str()).is_some()
    }

    /// What nobody has to be there for.
    fn by_itself(&mut self, request: Request<'_>, view: View<'_>) -> Reply {
        let form = match request {
            Request::Caution { .. } => Form::Acknowledged { qualified: Some("a simulated circuit".to_owned()) },
            Request::Act { .. } | Request::LeftOut { .. } => Form::enter(),
            Request::Answer { .. } | Request::NextOfSweep { .. } | Request::Doubt { .. }
                if std::mem::take(&mut self.refused) =>
            {
                Form::Nobody
            }
            Request::Answer { prompt } => return self.reading(prompt, view),
            // The meter shows the whole travel at once.
            Request::NextOfSweep { prompt, so_far: [] } => return self.reading(prompt, view),
            Request::NextOfSweep { .. } => Form::enter(),
            // The meter shows the same again.
            Request::Doubt { typed, .. } => Form::text(typed),
            // A simulated vehicle does not fall asleep, and stands as it was left.
            Request::PutBack { .. }
            | Request::Needs { .. }
            | Request::Conclude { .. }
            | Request::WaitCutShort { .. }
            | Request::ConfirmVehicle { .. } => Form::Nobody,
        };
        of_bench(form)
    }
}

/// A reply of the bench; text is what its meter showed.
fn of_bench(form: Form) -> Reply {
    let showed = match &form {
        Form::Text(text) if !text.is_empty() => Some(Arc::clone(text)),
        _ => None,
    };
    form.from(Origin::Bench { showed })
}

/// Whether a meter or a module answers this question.
const fn reads(prompt: &Prompt) -> bool {
    !matches!(prompt.question, Question::YesNo | Question::Choice { .. } | Question::Note | Question::Number { .. })
}

/// Whether a look of the circuit may answer this question.
const fn is_look(prompt: &Prompt) -> bool {
    matches!(prompt.question, Question::YesNo | Question::Choice { .. })
}

/// What there is to see, where the circuit has a look with the question's name.
fn seen(bench: &Bench, prompt: &Prompt) -> Result<Option<Form>, SolveError> {
    let Some(seen) = bench.sees(prompt.id.as_str()) else { return Ok(None) };
    let answers = prompt.question.answers();
    if answers.iter().any(|answer| answer == seen) {
        return Ok(Some(Form::text(seen)));
    }
    let takes: Vec<String> = answers.iter().map(|answer| format!("\"{answer}\"")).collect();
    let (look, seen, takes) = (prompt.id.to_string(), seen.to_owned(), words::all(&takes));
    Err(SolveError::NoSuchAnswer { look, seen, takes })
}

/// What the circuit shows at a question in this state of the vehicle.
fn shows(bench: &mut Bench, prompt: &Prompt, vehicle: &VehicleState) -> Result<Form, SolveError> {
    bench.set_state(vehicle)?;
    let nothing = || Form::Skip { reason: "nothing is shown".to_owned() };
    Ok(match &prompt.question {
        Question::Reading { function, leads, .. } => match reading(bench, *function, leads)? {
            Some(reading) => Form::text(reading.text()),
            None => nothing(),
        },
        Question::ModuleValue { signal, limits } => match bench.module_shows(signal)? {
            Shown::Value(value) => Form::text(limits.unit.show(value, 4)),
            Shown::Unsteady { lowest, highest } => {
                Form::text(typed::range(&limits.unit.show(lowest, 4), &limits.unit.show(highest, 4)))
            }
            Shown::OverRange | Shown::Nothing => nothing(),
        },
        Question::LowestHighest { function, leads, meanwhile, .. } => {
            let moments = bench.at_all_moments(|bench| while_moving(bench, meanwhile, vehicle, *function, leads))?;
            let readings = moments.concat();
            // The meter keeps the lowest and the highest of what goes to and fro, too.
            let of = |least: bool| {
                let ends = readings.iter().flatten().flat_map(Reading::ends);
                let values = ends.filter_map(|reading| Some((number(&reading)?, reading)));
                if least {
                    values.min_by(|a, b| a.0.total_cmp(&b.0))
                } else {
                    values.max_by(|a, b| a.0.total_cmp(&b.0))
                }
                .map(|(_, reading)| reading.text())
            };
            match (of(true), of(false)) {
                (Some(lowest), Some(highest)) => Form::text(format!("{lowest} {highest}")),
                _ => nothing(),
            }
        }
        Question::Sweep { function, leads, moving, .. } => {
            let readings = while_moving(bench, moving, vehicle, *function, leads)?;
            let restless = readings.iter().flatten().filter(|reading| matches!(reading.shown, Shown::Unsteady { .. }));
            match restless.count() {
                0 => {}
                count => {
                    let reason = format!("the reading goes to and fro at {count} of {} positions", readings.len());
                    return Ok(Form::Skip { reason });
                }
            }
            let texts: Vec<_> = readings.iter().flatten().map(Reading::text).collect();
            if texts.is_empty() { nothing() } else { Form::text(texts.join(" ")) }
        }
        Question::YesNo | Question::Choice { .. } | Question::Note | Question::Number { .. } => {
            let skip = || Form::Skip { reason: "a simulated circuit can't be looked at".to_owned() };
            let seen = if is_look(prompt) { seen(bench, prompt)? } else { None };
            seen.unwrap_or_else(skip)
        }
    })
}

/// Readings at every position of what is moved; one reading where the circuit knows no such thing.
fn while_moving(
    bench: &mut Bench,
    moving: &str,
    vehicle: &VehicleState,
    function: Function,
    leads: &Leads,
) -> Result<Vec<Option<Reading>>, SolveError> {
    let known = bench.circuit().movement(moving).is_ok();
    let readings = if known {
        bench.sweep(moving, SWEEP_READINGS, |bench| reading(bench, function, leads))?
    } else {
        vec![reading(bench, function, leads)?]
    };
    bench.set_state(vehicle)?;
    Ok(readings)
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
        Shown::Unsteady { .. } | Shown::Nothing => None,
    }
}

fn reading(bench: &mut Bench, function: Function, leads: &Leads) -> Result<Option<Reading>, SolveError> {
    let reading = match (function, leads) {
        (_, Leads::Nowhere) => return Ok(None),
        (Function::Volts, Leads::Across { red, black }) => bench.volts(&red.name, &black.name)?,
        (Function::AcVolts, Leads::Across { red, black }) => bench.ac_volts(&red.name, &black.name)?,
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
    fn ask(&mut self, request: Request<'_>, view: View<'_>) -> Reply {
        if let Request::Act { action: action @ Action::Connect { jumper } } = request
            && let Err(error) = self.bench.stands_jumper(&view.vehicle.after(action, None), jumper)
        {
            return self.can_not(&error);
        }
        if let (Some(_), Request::NextOfSweep { prompt, so_far: so_far @ [_, ..] }) = (&self.person, request) {
            // The meter shows the whole travel at once: what was broken off within it goes on, and else it is over.
            let shown = match self.take(prompt, view.vehicle) {
                Ok(Form::Text(text)) => values(&text),
                _ => vec![],
            };
            let by_meter = so_far.iter().zip(&shown).all(|(reading, shown)| reading.text == *shown);
            match shown.get(so_far.len()..) {
                Some(rest @ [_, ..]) if by_meter => return of_bench(Form::text(rest.join(" "))),
                Some([]) if by_meter && so_far.len() >= LEAST_OF_A_SWEEP => return of_bench(Form::enter()),
                // Typed by hand, or too little to be a sweep.
                _ => {}
            }
        }
        let Some(person) = &mut self.person else { return self.by_itself(request, view) };
        let reply = person.ask(request, view);
        match request {
            // Enter puts the leads where the table says; anything else is the person's own.
            Request::Answer { prompt } | Request::NextOfSweep { prompt, so_far: [] }
                if reply.form.is_enter() && self.can_answer(prompt) =>
            {
                self.reading(prompt, view)
            }
            Request::Answer { prompt } | Request::NextOfSweep { prompt, .. } | Request::Doubt { prompt, .. } => {
                self.beside(reply, prompt, view)
            }
            _ => reply,
        }
    }

    fn notice(&mut self, notice: Notice<'_>) {
        match notice {
            Notice::Stands { vehicle, anew } => {
                self.stands.clone_from(vehicle);
                self.taken = None;
                _ = if anew { self.bench.begin(vehicle) } else { self.bench.set_state(vehicle) };
            }
            Notice::Recorded { entry, .. } => self.follow(entry),
            _ => {}
        }
        match &mut self.person {
            Some(person) => person.notice(notice),
            None => self.refused = matches!(notice, Notice::Refused { .. }),
        }
    }
}
