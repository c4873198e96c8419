//! What comes back to a request: its form, where it came from and, where the one who sent it drew one, its id.

use crate::model::id::ReplyId;
use crate::model::origin::Origin;
use crate::model::prompt::PromptId;
use crate::model::vehicle::VehicleState;
use serde::{Deserialize, Serialize};
use std::sync::Arc;

/// What came back. It is the only part of the exchange that is read from outside.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reply {
    /// What was said.
    pub form: Form,
    /// Where it came from. Who takes a reply in from outside fills this in itself, and believes no sender.
    pub origin: Origin,
    /// Its id, where whoever sent it may send it twice.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub id: Option<ReplyId>,
}

/// What was said. Which of these fits what is asked, `Request::takes` says.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Form {
    /// Text, as typed. Empty, it says that something is done, or can stay as it is.
    Text(Arc<str>),
    /// Leave it out.
    Skip {
        /// Why.
        reason: String,
    },
    /// Take the last answer back, or that of a prompt by name.
    Back {
        /// The prompt, if named.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        to: Option<PromptId>,
    },
    /// An answer that stands is not right.
    Change {
        /// Its prompt.
        id: PromptId,
        /// What was meant, where it was only mistyped; none: it is measured again.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        new: Option<Arc<str>>,
        /// Why.
        reason: String,
    },
    /// Pause the run.
    Pause,
    /// Write something down, then ask again.
    Note(String),
    /// Nobody is there to answer.
    Nobody,
    /// Cautions were read and acknowledged. Without the qualified person where one is asked for, the run ends.
    Acknowledged {
        /// The qualified person, where one was asked for.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        qualified: Option<String>,
    },
    /// Stop at this caution: it is not safe.
    Refused,
    /// How the vehicle stands.
    Vehicle {
        /// As confirmed or corrected.
        state: Box<VehicleState>,
        /// Whether somebody looked at it.
        seen: bool,
    },
    /// The value of an instrument. It is no answer before a person or a rule of the shop takes it.
    Offer(Box<Offer>),
}

/// A value that an instrument sent.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Offer {
    /// The value, as it would be typed without its unit.
    pub text: String,
    /// Its unit.
    pub unit: String,
    /// What the instrument sent, as it came.
    pub raw: String,
    /// The shop's name for the instrument.
    pub instrument: String,
    /// The range that it was set to, if it said so.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub range: Option<String>,
}

impl Offer {
    /// The answer that it becomes when a person or a rule of the shop takes it.
    pub fn taken(self, id: Option<ReplyId>) -> Reply {
        let Self { text, unit, raw, instrument, range } = self;
        let text = format!("{text} {unit}");
        Reply { form: Form::text(text.trim()), origin: Origin::Instrument { id: instrument, raw, range }, id }
    }
}

impl Form {
    /// Text, as typed.
    pub fn text(text: impl Into<Arc<str>>) -> Self {
        Self::Text(text.into())
    }

    /// Enter, and nothing else: it is done, or stays as it is.
    pub fn enter() -> Self {
        Self::text("")
    }

    /// Whether this is Enter, and nothing else.
    pub fn is_enter(&self) -> bool {
        matches!(self, Self::Text(text) if text.trim().is_empty())
    }

    /// From there, and without an id.
    pub const fn from(self, origin: Origin) -> Reply {
        Reply { form: self, origin, id: None }
    }
}

impl Reply {
    /// What was said, and where it came from.
    pub fn parts(self) -> (Form, CameFrom) {
        (self.form, CameFrom { origin: self.origin, id: self.id })
    }

    /// Where it came from.
    pub fn came_from(self) -> CameFrom {
        self.parts().1
    }
}

/// Where a reply came from: kept beside what is written down of it.
#[derive(Clone, PartialEq, Debug)]
pub struct CameFrom {
    /// Where it came from.
    pub origin: Origin,
    /// The reply's id, if it has one.
    pub id: Option<ReplyId>,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reply_is_read_back_as_it_was_written_and_nothing_else_is() {
        let offer = Offer {
            text: "12.61".into(),
            unit: "V".into(),
            raw: "+1.261E+1".into(),
            instrument: "bay_2".into(),
            range: Some("60 V".into()),
        };
        let taken = offer.clone().taken(Some(ReplyId::new(7)));
        assert_eq!(taken.form, Form::text("12.61 V"));
        let replies = [
            taken,
            Form::Offer(Box::new(offer)).from(Origin::Input),
            Form::Skip { reason: "no access".into() }.from(Origin::File),
            Form::Back { to: None }.from(Origin::TYPED),
            Form::Back { to: Some(PromptId::new("feed")) }.from(Origin::TYPED),
            Form::Change { id: PromptId::new("feed"), new: Some("12.1".into()), reason: "typed wrong".into() }
                .from(Origin::TYPED),
            Form::Acknowledged { qualified: Some("A. Example".into()) }.from(Origin::TYPED),
            Form::Vehicle { state: Box::default(), seen: true }.from(Origin::TYPED),
            Form::Note("wet".into()).from(Origin::Bench { showed: Some("4.998 V".into()) }),
            Form::Nobody.from(Origin::Table),
            Form::Refused.from(Origin::TYPED),
            Form::Pause.from(Origin::TYPED),
        ];
        for reply in replies {
            let text = serde_json::to_string(&reply).unwrap();
            assert_eq!(serde_json::from_str::<Reply>(&text).unwrap(), reply, "{text}");
        }
        for other in [
            r#"{"form":"pause"}"#,
            r#"{"form":"pause","origin":{"from":"typed"},"more":1}"#,
            r#"{"form":{"skip":{"reason":"x","more":1}},"origin":{"from":"typed"}}"#,
            r#"{"form":"shrug","origin":{"from":"typed"}}"#,
        ] {
            assert!(serde_json::from_str::<Reply>(other).is_err(), "{other}");
        }
    }
}
