//! How the line of an answer is read: all its fields lie beside each other, and each goes straight to its place. What is
//! derived would put every field aside first, because question and answer share the line.

use super::limits::{Bounds, LimitResult, Limits, NoAccuracy, Sureness, Verdict};
use super::meter::Function;
use super::origin::Origin;
use super::prompt::{Answer, Ends, LeadEnd, Leads, Prompt, PromptId, Question};
use super::quantity::Quantity;
use super::unit::Unit;
use serde::{Deserialize, Deserializer, de};
use std::sync::Arc;

/// A field without which the line says nothing.
#[derive(Debug, thiserror::Error)]
#[error("missing field `{0}`")]
pub(super) struct Missing(&'static str);

/// The kinds of things that are asked for.
#[derive(Deserialize)]
#[serde(rename_all = "snake_case")]
enum Ask {
    Reading,
    ModuleValue,
    LowestHighest,
    Sweep,
    YesNo,
    Choice,
    Note,
    Number,
}

/// The kinds of answers.
#[derive(Deserialize)]
#[serde(rename_all = "snake_case")]
enum Kind {
    Reading,
    LowestHighest,
    Sweep,
    YesNo,
    Choice,
    Note,
    Skipped,
}

#[derive(Deserialize)]
struct Line {
    id: PromptId,
    text: String,
    ask: Ask,
    function: Option<Function>,
    limits: Option<Limits>,
    leads: Option<Leads>,
    signal: Option<String>,
    ends: Option<Ends>,
    moving: Option<String>,
    meanwhile: Option<String>,
    options: Option<Vec<String>>,
    answer: Kind,
    typed: Option<Arc<str>>,
    lowest: Option<String>,
    highest: Option<String>,
    readings: Option<usize>,
    yes: Option<bool>,
    option: Option<String>,
    words: Option<String>,
    reason: Option<String>,
    verdict: Option<Verdict>,
    origin: Option<Origin>,
    /// Format 1.
    #[serde(default)]
    carried: bool,
}

/// The fields of an answer's event, in the order in which the event has them.
type Fields = (Arc<Prompt>, Answer, Option<Verdict>, Origin);

/// Reads the fields of an answer's event.
pub(super) fn fields<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Fields, D::Error> {
    let line = Line::deserialize(deserializer)?;
    let verdict = line.verdict;
    let carried = if line.carried { Origin::CarriedOver } else { Origin::NotSaid };
    let mut line = line;
    let origin = line.origin.take().unwrap_or(carried);
    let (prompt, answer) = line.parts().map_err(de::Error::custom)?;
    Ok((Arc::new(prompt), answer, verdict, origin))
}

impl Line {
    fn parts(self) -> Result<(Prompt, Answer), Missing> {
        let function = self.function.ok_or(Missing("function"));
        let limits = self.limits.ok_or(Missing("limits"));
        let leads = self.leads.ok_or(Missing("leads"));
        let question = match self.ask {
            Ask::Reading => Question::Reading { function: function?, limits: limits?, leads: leads? },
            Ask::ModuleValue => {
                Question::ModuleValue { signal: self.signal.ok_or(Missing("signal"))?, limits: limits? }
            }
            Ask::LowestHighest => Question::LowestHighest {
                function: function?,
                limits: limits?,
                leads: leads?,
                meanwhile: self.meanwhile.ok_or(Missing("meanwhile"))?,
            },
            Ask::Sweep => Question::Sweep {
                function: function?,
                ends: self.ends.ok_or(Missing("ends"))?,
                leads: leads?,
                moving: self.moving.ok_or(Missing("moving"))?,
            },
            Ask::YesNo => Question::YesNo,
            Ask::Choice => Question::Choice { options: self.options.ok_or(Missing("options"))? },
            Ask::Note => Question::Note,
            Ask::Number => Question::Number { limits: limits? },
        };
        let answer = match self.answer {
            Kind::Reading => Answer::Reading { typed: self.typed.ok_or(Missing("typed"))? },
            Kind::LowestHighest => Answer::LowestHighest {
                lowest: self.lowest.ok_or(Missing("lowest"))?,
                highest: self.highest.ok_or(Missing("highest"))?,
            },
            Kind::Sweep => Answer::Sweep { readings: self.readings.ok_or(Missing("readings"))? },
            Kind::YesNo => Answer::YesNo { yes: self.yes.ok_or(Missing("yes"))? },
            Kind::Choice => Answer::Choice { option: self.option.ok_or(Missing("option"))? },
            Kind::Note => Answer::Note { words: self.words.ok_or(Missing("words"))? },
            Kind::Skipped => Answer::Skipped { reason: self.reason.ok_or(Missing("reason"))? },
        };
        Ok((Prompt { id: self.id, text: self.text, question }, answer))
    }
}

#[derive(Deserialize)]
#[serde(rename_all = "snake_case")]
enum BoundsKind {
    Between,
    Within,
    AtMost,
    AtLeast,
    Unlimited,
}

/// Limits as they are written: the bounds' fields beside the others.
#[derive(Deserialize)]
pub(super) struct LimitsFields {
    kind: BoundsKind,
    low: Option<Quantity>,
    high: Option<Quantity>,
    nominal: Option<Quantity>,
    tolerance: Option<Quantity>,
    unit: Unit,
    expected: Option<Quantity>,
    source: Option<String>,
}

impl TryFrom<LimitsFields> for Limits {
    type Error = Missing;
    fn try_from(fields: LimitsFields) -> Result<Self, Missing> {
        let low = fields.low.ok_or(Missing("low"));
        let high = fields.high.ok_or(Missing("high"));
        let bounds = match fields.kind {
            BoundsKind::Between => Bounds::Between { low: low?, high: high? },
            BoundsKind::Within => Bounds::Within {
                nominal: fields.nominal.ok_or(Missing("nominal"))?,
                tolerance: fields.tolerance.ok_or(Missing("tolerance"))?,
            },
            BoundsKind::AtMost => Bounds::AtMost { high: high? },
            BoundsKind::AtLeast => Bounds::AtLeast { low: low? },
            BoundsKind::Unlimited => Bounds::Unlimited,
        };
        Ok(Self { bounds, unit: fields.unit, expected: fields.expected, source: fields.source })
    }
}

#[derive(Deserialize)]
#[serde(rename_all = "snake_case")]
enum LeadsKind {
    Across,
    Through,
    Clamp,
    Nowhere,
}

/// Leads as they are written.
#[derive(Deserialize)]
pub(super) struct LeadsFields {
    leads: LeadsKind,
    red: Option<LeadEnd>,
    black: Option<LeadEnd>,
    at: Option<LeadEnd>,
}

impl TryFrom<LeadsFields> for Leads {
    type Error = Missing;
    fn try_from(fields: LeadsFields) -> Result<Self, Missing> {
        Ok(match fields.leads {
            LeadsKind::Across => {
                Self::Across { red: fields.red.ok_or(Missing("red"))?, black: fields.black.ok_or(Missing("black"))? }
            }
            LeadsKind::Through => Self::Through { at: fields.at.ok_or(Missing("at"))? },
            LeadsKind::Clamp => Self::Clamp { at: fields.at.ok_or(Missing("at"))? },
            LeadsKind::Nowhere => Self::Nowhere,
        })
    }
}

#[derive(Deserialize)]
#[serde(rename_all = "snake_case")]
enum How {
    Sure,
    Unsure,
    Unknown,
}

/// A verdict as it is written.
#[derive(Deserialize)]
pub(super) struct VerdictFields {
    standing: LimitResult,
    how: How,
    accuracy: Option<Quantity>,
    why: Option<NoAccuracy>,
}

impl TryFrom<VerdictFields> for Verdict {
    type Error = Missing;
    fn try_from(fields: VerdictFields) -> Result<Self, Missing> {
        let sureness = match fields.how {
            How::Sure => Sureness::Sure,
            How::Unsure => Sureness::Unsure { accuracy: fields.accuracy.ok_or(Missing("accuracy"))? },
            How::Unknown => Sureness::Unknown { why: fields.why.ok_or(Missing("why"))? },
        };
        Ok(Self { standing: fields.standing, sureness })
    }
}

#[cfg(test)]
mod tests {
    use crate::model::event::{Entry, Event};
    use crate::model::limits::{Bounds, LimitResult, Limits, NoAccuracy, Sureness, Verdict};
    use crate::model::meter::Function;
    use crate::model::origin::Origin;
    use crate::model::prompt::{Answer, Ends, LeadEnd, Leads, Prompt, PromptId, Question};
    use crate::model::quantity::Quantity;
    use crate::model::stamp::Stamp;
    use crate::model::unit::Unit;
    use proptest::prelude::*;
    use proptest::strategy::Union;
    use std::sync::Arc;

    fn quantity() -> impl Strategy<Value = Quantity> {
        (-1e6f64..1e6).prop_map(Quantity::volts)
    }

    fn words() -> impl Strategy<Value = String> {
        "\\PC{0,12}"
    }

    fn limits() -> impl Strategy<Value = Limits> {
        let bounds = prop_oneof![
            (quantity(), quantity()).prop_map(|(low, high)| Bounds::Between { low, high }),
            (quantity(), quantity()).prop_map(|(nominal, tolerance)| Bounds::Within { nominal, tolerance }),
            quantity().prop_map(|high| Bounds::AtMost { high }),
            quantity().prop_map(|low| Bounds::AtLeast { low }),
            Just(Bounds::Unlimited),
        ];
        let unit: Unit = "mV".parse().unwrap();
        (bounds, proptest::option::of(quantity()), proptest::option::of(words()))
            .prop_map(move |(bounds, expected, source)| Limits { bounds, unit, expected, source })
    }

    fn end() -> impl Strategy<Value = LeadEnd> {
        (words(), proptest::option::of(words()), proptest::option::of(words()), proptest::option::of(words())).prop_map(
            |(name, point, wire, place)| LeadEnd {
                name: name.into(),
                point: point.map(Into::into),
                wire: wire.map(Into::into),
                place: place.map(Into::into),
            },
        )
    }

    fn leads() -> impl Strategy<Value = Leads> {
        prop_oneof![
            (end(), end()).prop_map(|(red, black)| Leads::Across { red, black }),
            end().prop_map(|at| Leads::Through { at }),
            end().prop_map(|at| Leads::Clamp { at }),
            Just(Leads::Nowhere),
        ]
    }

    fn question() -> impl Strategy<Value = Question> {
        let function = Function::Volts;
        let unit: Unit = "V".parse().unwrap();
        Union::new([
            (limits(), leads()).prop_map(move |(limits, leads)| Question::Reading { function, limits, leads }).boxed(),
            (words(), limits()).prop_map(|(signal, limits)| Question::ModuleValue { signal, limits }).boxed(),
            (limits(), leads(), words())
                .prop_map(move |(limits, leads, meanwhile)| Question::LowestHighest {
                    function,
                    limits,
                    leads,
                    meanwhile,
                })
                .boxed(),
            (quantity(), quantity(), quantity(), proptest::option::of(words()), leads(), words())
                .prop_map(move |(one, other, tolerance, source, leads, moving)| Question::Sweep {
                    function,
                    ends: Ends { one, other, tolerance, unit, source },
                    leads,
                    moving,
                })
                .boxed(),
            Just(Question::YesNo).boxed(),
            proptest::collection::vec(words(), 0..3).prop_map(|options| Question::Choice { options }).boxed(),
            Just(Question::Note).boxed(),
            limits().prop_map(|limits| Question::Number { limits }).boxed(),
        ])
    }

    fn answer() -> impl Strategy<Value = Answer> {
        prop_oneof![
            words().prop_map(|typed| Answer::Reading { typed: typed.into() }),
            (words(), words()).prop_map(|(lowest, highest)| Answer::LowestHighest { lowest, highest }),
            any::<usize>().prop_map(|readings| Answer::Sweep { readings }),
            any::<bool>().prop_map(|yes| Answer::YesNo { yes }),
            words().prop_map(|option| Answer::Choice { option }),
            words().prop_map(|words| Answer::Note { words }),
            words().prop_map(|reason| Answer::Skipped { reason }),
        ]
    }

    fn verdict() -> impl Strategy<Value = Verdict> {
        let standing = proptest::sample::select(vec![
            LimitResult::In,
            LimitResult::Low,
            LimitResult::High,
            LimitResult::Open,
            LimitResult::OverRange,
            LimitResult::Unsteady,
        ]);
        let sureness = prop_oneof![
            Just(Sureness::Sure),
            quantity().prop_map(|accuracy| Sureness::Unsure { accuracy }),
            proptest::sample::select(vec![
                NoAccuracy::NoMeter,
                NoAccuracy::CalibrationPast,
                NoAccuracy::NoCalibrationDate,
                NoAccuracy::NoRange,
                NoAccuracy::NotAMeter
            ])
            .prop_map(|why| Sureness::Unknown { why }),
        ];
        (standing, sureness).prop_map(|(standing, sureness)| Verdict { standing, sureness })
    }

    fn origin() -> impl Strategy<Value = Origin> {
        prop_oneof![
            proptest::option::of(words()).prop_map(|person| Origin::Typed { person }),
            Just(Origin::CarriedOver),
            proptest::option::of(words()).prop_map(|showed| Origin::Bench { showed: showed.map(Into::into) }),
            Just(Origin::Table),
            Just(Origin::File),
            (words(), words(), proptest::option::of(words())).prop_map(|(id, raw, range)| Origin::Instrument {
                id,
                raw,
                range
            }),
            (words(), words()).prop_map(|(pairing, person)| Origin::Page { pairing, person }),
            Just(Origin::Input),
        ]
    }

    proptest! {
        #[test]
        fn every_answer_is_read_as_it_was_written(
            id in words(), text in words(), question in question(), answer in answer(),
            verdict in proptest::option::of(verdict()), origin in origin(),
        ) {
            let prompt = Arc::new(Prompt { id: PromptId::new(id), text, question });
            let event = Event::Answered { prompt, answer, verdict, origin };
            let entry = Entry::new(Stamp::new("2026-01-05T08:00:00Z"), event);
            let line = serde_json::to_string(&entry).unwrap();
            prop_assert_eq!(serde_json::from_str::<Entry>(&line).unwrap(), entry);
        }
    }

    #[test]
    fn a_line_that_lacks_what_its_kind_needs_is_refused_by_the_fields_name() {
        let line =
            r#"{"at":"2026-01-05T08:00:00Z","event":"answered","id":"a","text":"b","ask":"note","answer":"note"}"#;
        let error = serde_json::from_str::<Entry>(line).unwrap_err();
        assert!(error.to_string().starts_with("missing field `words`"), "{error}");
    }
}
