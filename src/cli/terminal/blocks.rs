//! The block of a prompt at the vehicle.

use crate::cli::terminal::person::Person;
use crate::model::prompt::{LeadEnd, Leads, Prompt, Question};
use crate::report::action;
use crate::report::prompt_card::{At, Enter, PromptCard};
use crate::report::question::{self, Around};
use crate::report::vehicle;
use crate::run::view::View;

impl Person {
    pub(super) fn card(&self, prompt: &Prompt) -> PromptCard {
        let at = if self.bench { At::SimulatedVehicle } else { At::Vehicle };
        let mut card = PromptCard::of(prompt, at);
        let is_look = matches!(prompt.question, Question::YesNo | Question::Choice { .. });
        if self.bench && is_look && self.points.as_ref().is_some_and(|points| points.looks.contains(prompt.id.as_str()))
        {
            card.enter = Enter::Looks;
        }
        card
    }

    /// What stands around a prompt.
    pub(super) fn around(&mut self, leads: Option<&Leads>, view: View<'_>) -> Around {
        let of = if self.steps >= self.step { format!(" of up to {}", self.steps) } else { String::new() };
        let at = if self.step > 0 { format!("step {}{of}", self.step) } else { String::new() };
        let ends = leads.map(Leads::ends).unwrap_or_default();
        let mut connectors: Vec<&str> = ends.iter().filter_map(|(_, end)| self.connector_of(end)).collect();
        connectors.dedup();
        Around {
            at,
            step: self.new_step.take(),
            simulated: self.bench,
            example: self.example,
            state: vehicle::at_prompt(view.vehicle, &connectors),
            action: None,
            moving: None,
        }
    }

    fn connector_of<'a>(&self, end: &'a LeadEnd) -> Option<&'a str> {
        let (connector, _) = end.point.as_deref().unwrap_or(&end.name).split_once('.')?;
        self.points.as_ref()?.connectors.contains(connector).then_some(connector)
    }

    /// The block of a prompt, with what is done for it; nothing when it is asked again.
    pub(super) fn show_prompt(&mut self, prompt: &Prompt, action: Option<(String, Vec<String>)>, view: View<'_>) {
        if self.prompt_shown.as_ref() == Some(&prompt.id) {
            return;
        }
        self.prompt_shown = Some(prompt.id.clone());
        self.output.begin_block();
        let mut card = self.card(prompt);
        for lead in &mut card.leads {
            // Named once in a step: the connector is the same.
            let is_new = lead.place.as_ref().is_none_or(|place| self.places_shown.insert(place.clone()));
            let is_pin = lead.pin.is_some() || lead.to.contains(" side");
            lead.place.take_if(|_| !is_new && is_pin);
        }
        let mut around = self.around(prompt.question.leads(), view);
        around.action = action;
        around.moving = match &prompt.question {
            Question::Sweep { moving, .. } | Question::LowestHighest { meanwhile: moving, .. } => {
                Some(action::moved(moving, self.points.as_deref()))
            }
            _ => None,
        };
        // What the block before said of the vehicle still holds.
        if around.state == self.state_shown {
            around.state.clear();
        } else {
            self.state_shown.clone_from(&around.state);
        }
        let width = self.output.width();
        self.show_lines(&question::block(&card, &around, width));
        let keys = question::flow("", &question::keys(&card), width).trim_start().replace("\n         ", "\n");
        // The same keys below each block would only take lines.
        if keys != self.keys_shown {
            self.output.line(&keys);
            self.keys_shown = keys;
        }
    }

    /// The next time the prompt is shown, it is shown with everything.
    pub(super) fn show_all_again(&mut self) {
        self.prompt_shown = None;
        self.keys_shown.clear();
        self.state_shown.clear();
        self.places_shown.clear();
    }

    pub(super) fn show_lines(&mut self, lines: &[question::Line]) {
        for question::Line { text, bold } in lines {
            if *bold { self.output.bold(text) } else { self.output.line(text) }
        }
    }

    /// The heading of a step before something that is no block of its own.
    pub(super) fn show_step(&mut self) {
        if let Some(step) = self.new_step.take() {
            self.output.begin_block();
            let width = self.output.width();
            self.output.line(&question::with_label("STEP", &step, width));
        }
    }
}
