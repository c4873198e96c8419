//! A prompt as data: what a screen shows of it, whichever screen that is. Text is as the procedure and the circuit have it;
//! whoever draws a card cleans it.

use super::action;
use super::measured::{limits_of, limits_words};
use crate::model::limits::Bounds;
use crate::model::meter::Function;
use crate::model::prompt::{LeadEnd, Prompt, PromptId, Question};
use serde::Serialize;

/// The kind of answer that is asked for.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// One meter value.
    Reading,
    /// A value that the control module shows.
    ModuleValue,
    /// The lowest and the highest.
    LowestHighest,
    /// Many readings.
    Sweep,
    /// Yes or no.
    YesNo,
    /// One of the options.
    Choice,
    /// Free text.
    Note,
    /// A number that no meter on the circuit shows.
    Number,
}

/// The effect of Enter alone.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Enter {
    /// Nothing: an answer is needed.
    Nothing,
    /// It ends the sweep.
    EndsSweep,
    /// At a simulated vehicle: it puts the leads where they go, and the meter shows.
    PutsLeads,
    /// At a simulated vehicle: it reads the control module.
    ReadsModule,
    /// At a simulated vehicle: it moves what is moved, and the meter shows each reading.
    Moves,
    /// At a simulated vehicle: it looks, where the circuit says what there is to see.
    Looks,
}

/// Where the question is asked.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum At {
    /// At a vehicle: a person reads the meter.
    Vehicle,
    /// At a simulated vehicle: Enter reads it.
    SimulatedVehicle,
}

/// Where one lead goes.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct LeadCard {
    /// Which: `red`, `black`, `in line`, `clamp round`.
    pub lead: &'static str,
    /// The name of what it goes to.
    pub to: String,
    /// Connector and pin, where that says more than the name.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pin: Option<String>,
    /// The wire's color.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub wire: Option<String>,
    /// Where it is on the vehicle.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub place: Option<String>,
}

/// A prompt as a screen shows it.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct PromptCard {
    /// The prompt's stable name.
    pub id: PromptId,
    /// The question, in the procedure's words.
    pub heading: String,
    /// The kind of answer that is asked for.
    pub kind: Kind,
    /// What the meter is switched to, where its leads go somewhere.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub meter: Option<&'static str>,
    /// Where the leads go.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub leads: Vec<LeadCard>,
    /// The limits in words.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limits: Option<String>,
    /// Where the limits come from.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub source: Option<String>,
    /// Whether a reading is held against them.
    #[serde(skip)]
    pub is_judged: bool,
    /// The choices.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub options: Vec<String>,
    /// The unit of a bare number typed here.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
    /// The effect of Enter alone.
    pub enter: Enter,
}

impl LeadCard {
    fn of((lead, end): (&'static str, &LeadEnd)) -> Self {
        Self {
            lead,
            to: action::name_of(end),
            pin: action::pin_of(end).map(str::to_owned),
            wire: end.wire.as_deref().map(str::to_owned),
            place: end.place.as_deref().map(str::to_owned),
        }
    }
}

impl PromptCard {
    /// Of a prompt that is asked there.
    pub fn of(prompt: &Prompt, at: At) -> Self {
        let question = &prompt.question;
        let leads: Vec<LeadCard> =
            question.leads().map(|leads| leads.ends().into_iter().map(LeadCard::of).collect()).unwrap_or_default();
        let (limits, source) = limits_words(question);
        let is_judged = limits_of(question).is_none_or(|limits| limits.bounds != Bounds::Unlimited);
        let limits = (!limits.is_empty()).then_some(limits);
        let kind = Kind::of(question);
        Self {
            id: prompt.id.clone(),
            heading: prompt.text.clone(),
            kind,
            meter: question.function().filter(|_| !leads.is_empty()).map(function_words),
            leads,
            source: source.filter(|_| limits.is_some()),
            limits,
            is_judged,
            options: match question {
                Question::Choice { options } => options.clone(),
                _ => vec![],
            },
            unit: question.unit().map(|unit| unit.to_string()).filter(|unit| !unit.is_empty()),
            enter: kind.enter(at),
        }
    }
}

impl Kind {
    const fn of(question: &Question) -> Self {
        match question {
            Question::Reading { .. } => Self::Reading,
            Question::ModuleValue { .. } => Self::ModuleValue,
            Question::LowestHighest { .. } => Self::LowestHighest,
            Question::Sweep { .. } => Self::Sweep,
            Question::YesNo => Self::YesNo,
            Question::Choice { .. } => Self::Choice,
            Question::Note => Self::Note,
            Question::Number { .. } => Self::Number,
        }
    }

    const fn enter(self, at: At) -> Enter {
        match (self, at) {
            (Self::YesNo | Self::Choice | Self::Note | Self::Number, _) => Enter::Nothing,
            (Self::Sweep, At::Vehicle) => Enter::EndsSweep,
            (Self::Sweep, At::SimulatedVehicle) => Enter::Moves,
            (Self::ModuleValue, At::SimulatedVehicle) => Enter::ReadsModule,
            (Self::Reading | Self::LowestHighest, At::SimulatedVehicle) => Enter::PutsLeads,
            (Self::Reading | Self::LowestHighest | Self::ModuleValue, At::Vehicle) => Enter::Nothing,
        }
    }
}

/// The meter's setting, in words.
pub const fn function_words(function: Function) -> &'static str {
    match function {
        Function::Volts => "DC volts",
        Function::AcVolts => "AC volts",
        Function::Amperes => "DC amperes",
        Function::Ohms => "ohms",
        Function::Diode => "diode test",
        Function::Hertz => "hertz",
        Function::Duty => "duty, in %",
        Function::Temperature => "temperature",
        Function::Time => "time",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::limits::Limits;
    use crate::model::prompt::Leads;
    use crate::model::quantity::Quantity;

    fn reading() -> Prompt {
        let mut limits = Limits::between(Quantity::volts(4.75), Quantity::volts(5.25)).unwrap();
        limits.source = Some("example".into());
        let red = LeadEnd {
            name: "supply".into(),
            point: Some("C41.1, harness side".into()),
            wire: Some("red, 0.75 mm2".into()),
            place: Some("at the housing".into()),
        };
        let black = LeadEnd { name: "battery_negative".into(), ..LeadEnd::default() };
        let question = Question::Reading { function: Function::Volts, limits, leads: Leads::Across { red, black } };
        Prompt { id: PromptId::new("supply"), text: "Supply at the sensor".into(), question }
    }

    #[test]
    fn a_card_has_all_that_a_screen_needs_and_nothing_empty() {
        let card = PromptCard::of(&reading(), At::Vehicle);
        assert_eq!(
            serde_json::to_value(&card).unwrap(),
            serde_json::json!({
                "id": "supply",
                "heading": "Supply at the sensor",
                "kind": "reading",
                "meter": "DC volts",
                "leads": [
                    {
                        "lead": "red", "to": "supply", "pin": "C41.1, harness side", "wire": "red, 0.75 mm2",
                        "place": "at the housing",
                    },
                    { "lead": "black", "to": "battery negative" },
                ],
                "limits": "4.75 … 5.25 V",
                "source": "example",
                "unit": "V",
                "enter": "nothing",
            })
        );
        assert_eq!(PromptCard::of(&reading(), At::SimulatedVehicle).enter, Enter::PutsLeads);
    }

    #[test]
    fn a_choice_has_its_options_and_no_unit() {
        let question = Question::Choice { options: vec!["wet".into(), "dry".into()] };
        let prompt = Prompt { id: PromptId::new("pins"), text: "The pins".into(), question };
        let card = PromptCard::of(&prompt, At::SimulatedVehicle);
        assert_eq!((card.kind, card.enter, card.unit), (Kind::Choice, Enter::Nothing, None));
        assert_eq!(card.options, ["wet", "dry"]);
        assert_eq!((card.meter, card.limits, card.source, card.leads), (None, None, None, vec![]));
    }
}
