//! A simulated vehicle with somebody in front of it who makes one slip in the whole run.

use super::answerer::Answerer;
use super::bench::BenchAnswerer;
use super::meaning::values;
use super::notice::Notice;
use super::reply::{Form, Reply};
use super::request::Request;
use super::view::View;
use crate::model::event::Event;
use crate::model::meter::Function;
use crate::model::origin::Origin;
use crate::model::prompt::{Leads, Prompt, PromptId, Question};
use crate::model::proof::slip::SlipKind;
use crate::model::vehicle::VehicleState;

/// Where a slip is made.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub enum SlipPlace {
    /// At the first answer to this prompt.
    Prompt(PromptId),
    /// At the first look at what this prompt asks for, of which this is said.
    Look(PromptId, String),
    /// At the action of this number, from 0, among those that are asked for.
    Action(usize),
}

/// One slip at one place.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct Slip {
    /// What is done wrong.
    pub kind: SlipKind,
    /// Where.
    pub at: SlipPlace,
}

impl SlipKind {
    /// What can be done wrong at an action.
    pub const AT_ACTIONS: [Self; 2] = [Self::Declined, Self::NotDone];

    /// What can be done wrong at a question that the circuit answers, by its meter or by a look. What it has no look of is
    /// answered every way elsewhere.
    pub fn at(question: &Question) -> &'static [Self] {
        match question {
            Question::Reading { function, leads, .. }
            | Question::LowestHighest { function, leads, .. }
            | Question::Sweep { function, leads, .. } => match (function, leads) {
                (_, Leads::Nowhere) => &[Self::Skipped],
                (Function::Volts | Function::AcVolts, _)
                | (Function::Amperes, Leads::Across { .. } | Leads::Through { .. }) => {
                    &[Self::Skipped, Self::LeadsSwapped, Self::NoContact, Self::OverRange]
                }
                // A clamp has no leads: turned round it shows the other sign, beside the wire it shows nothing.
                (Function::Amperes, _) => &[Self::Skipped, Self::LeadsSwapped, Self::NoContact, Self::OverRange],
                // Without contact it shows OL: that is the same.
                (Function::Ohms | Function::Diode, _) => &[Self::Skipped, Self::LeadsSwapped, Self::NoContact],
                (Function::Hertz | Function::Duty, _) => &[Self::Skipped, Self::LeadsSwapped, Self::OverRange],
                (Function::Temperature | Function::Time, _) => &[Self::Skipped, Self::OverRange],
            },
            Question::ModuleValue { .. } => &[Self::Skipped],
            Question::YesNo | Question::Choice { .. } => &[Self::Skipped, Self::SeenWrong],
            Question::Note | Question::Number { .. } => &[],
        }
    }
}

/// A simulated vehicle, and one slip. What is asked again is answered truly.
pub struct Slipping {
    bench: BenchAnswerer,
    slip: Slip,
    /// How many actions were asked for.
    actions: usize,
    /// The slip was made; its prompt, until another question is answered.
    made: bool,
    last: bool,
    /// The next action that is written down was not done.
    not_done: bool,
    /// The vehicle as it stands, where it stands otherwise than the session believes.
    truly: Option<Box<VehicleState>>,
}

impl Slipping {
    /// Before the first question.
    pub const fn new(bench: BenchAnswerer, slip: Slip) -> Self {
        Self { bench, slip, actions: 0, made: false, last: false, not_done: false, truly: None }
    }

    fn is_place(&self, prompt: &Prompt) -> bool {
        !self.made && matches!(&self.slip.at, SlipPlace::Prompt(id) | SlipPlace::Look(id, _) if *id == prompt.id)
    }

    /// The wrong answer; `None` where the true one is all that can be said.
    fn wrong(&mut self, prompt: &Prompt, view: View<'_>) -> Option<Form> {
        if let SlipPlace::Look(_, answer) = &self.slip.at {
            return Some(Form::text(answer.as_str()));
        }
        if self.slip.kind == SlipKind::Skipped {
            return Some(Form::Skip { reason: "left out".to_owned() });
        }
        let sweep = matches!(prompt.question, Question::Sweep { .. });
        let ask = |bench: &mut BenchAnswerer, prompt: &Prompt| {
            let request = if sweep { Request::NextOfSweep { prompt, so_far: &[] } } else { Request::Answer { prompt } };
            bench.ask(request, view).form
        };
        let unit = prompt.question.unit()?.without_prefix();
        let shown = match (self.slip.kind, prompt.question.leads()) {
            (SlipKind::LeadsSwapped, Some(Leads::Across { red, black })) => {
                let mut turned = prompt.clone();
                if let Question::Reading { leads, .. }
                | Question::LowestHighest { leads, .. }
                | Question::Sweep { leads, .. } = &mut turned.question
                {
                    *leads = Leads::Across { red: black.clone(), black: red.clone() };
                }
                return Some(ask(&mut self.bench, &turned));
            }
            _ => ask(&mut self.bench, prompt),
        };
        let Form::Text(text) = shown else { return None };
        let each = |value: &dyn Fn(&str) -> String| {
            let mut all: Vec<String> = values(&text).iter().map(|one| value(one)).collect();
            if matches!(prompt.question, Question::LowestHighest { .. }) && self.slip.kind == SlipKind::LeadsSwapped {
                all.reverse();
            }
            Form::text(all.join(" "))
        };
        let over = |_: &str| "OL".to_owned();
        Some(match (self.slip.kind, prompt.question.function()) {
            (SlipKind::LeadsSwapped, _) => each(&|value| match value.strip_prefix(['-', '−']) {
                Some(value) => value.to_owned(),
                None if value.starts_with(|first: char| first.is_ascii_digit()) => format!("-{value}"),
                None => value.to_owned(),
            }),
            (SlipKind::NoContact, Some(Function::Volts | Function::AcVolts | Function::Amperes)) => {
                each(&|_| format!("0.000 {unit}"))
            }
            _ => each(&over),
        })
    }

    fn made(&mut self) {
        self.made = true;
        self.last = true;
    }
}

impl Answerer for Slipping {
    fn ask(&mut self, request: Request<'_>, view: View<'_>) -> Reply {
        let truly = self.truly.clone();
        let view = View { vehicle: truly.as_deref().unwrap_or(view.vehicle), ..view };
        match request {
            Request::Act { action } => {
                let number = self.actions;
                self.actions += 1;
                if !self.made && self.slip.at == SlipPlace::Action(number) {
                    self.made();
                    if self.slip.kind == SlipKind::Declined {
                        return Form::Skip { reason: "can't be done".to_owned() }.from(Origin::TYPED);
                    }
                    self.truly = Some(Box::new(view.vehicle.clone()));
                    self.not_done = true;
                    return Form::enter().from(Origin::TYPED);
                }
                self.last = false;
                let reply = self.bench.ask(request, view);
                if let (Some(truly), Form::Text(_)) = (&mut self.truly, &reply.form) {
                    **truly = truly.after(action, None);
                }
                return reply;
            }
            Request::Answer { prompt } | Request::NextOfSweep { prompt, so_far: [] } => {
                if self.is_place(prompt) {
                    self.made();
                    if let Some(form) = self.wrong(prompt, view) {
                        return form.from(Origin::TYPED);
                    }
                } else {
                    self.last = false;
                }
            }
            // Whoever is asked whether that can be looks again.
            Request::Doubt { prompt, .. } if std::mem::take(&mut self.last) => {
                return self.bench.ask(Request::Answer { prompt }, view);
            }
            _ => {}
        }
        self.bench.ask(request, view)
    }

    fn notice(&mut self, notice: Notice<'_>) {
        // Of the slip, and not of what the vehicle shows: it is asked again and answered truly.
        if matches!(notice, Notice::Refused { .. }) && std::mem::take(&mut self.last) {
            return;
        }
        // The journal says that it was done; the vehicle knows nothing of it.
        if let Notice::Recorded { entry, .. } = notice
            && matches!(entry.event, Event::Acted { .. })
            && std::mem::take(&mut self.not_done)
        {
            return;
        }
        self.bench.notice(notice);
    }
}
