//! A record as JSON, in a form that a published schema describes. Numbers are in SI units, of temperatures in °C.

use super::action;
use super::comparison::Comparison;
use super::json_answer::{AnswerFacts, answer};
use super::material::{Later, Material, file_name};
use crate::model::answered_by::AnsweredBy;
use crate::model::caution::Rule;
use crate::model::clean::Clean;
use crate::model::ending::Ending;
use crate::model::event::NamedCause;
use crate::model::job::Job;
use crate::model::link::{Link, LinkKind};
use crate::model::link_state::LinkState;
use crate::model::prompt::CautionId;
use crate::model::prompt::Zone;
use crate::model::record::{Item, Placed, Record, RunStatus, Step};
use crate::model::source::SourceKind;
use serde::Serialize;

/// Version of the form. A reader of version 1 can read every report that says 1.
pub const SCHEMA_VERSION: u32 = 1;
/// The schema that every report of this version is valid against (JSON Schema, draft 2020-12).
pub const SCHEMA: &str = include_str!("record.schema.json");

#[derive(Serialize)]
struct Report<'a> {
    schema_version: u32,
    record: About<'a>,
    procedure: Procedure<'a>,
    shop: Option<Shop<'a>>,
    job: JobFacts<'a>,
    meter: Option<MeterFacts<'a>>,
    result: Outcome<'a>,
    steps: Vec<StepFacts<'a>>,
    comparison: Option<Sides<'a>>,
    signoffs: Vec<Signoff<'a>>,
    sources: Vec<SourceFacts<'a>>,
    withheld: Vec<String>,
}

#[derive(Serialize)]
struct About<'a> {
    name: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    number: Option<u32>,
    program: &'a str,
    began: &'a str,
    last: &'a str,
    journal_sha256: &'a str,
    torn_bytes: usize,
    clock_set_by_hand: bool,
    answered_by: AnsweredBy,
    vehicle_measured: bool,
    bench: Option<&'a str>,
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    simulated: bool,
    /// Not there where it is not so, as in reports of earlier versions of the program.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    example: bool,
    link: Option<LinkFacts<'a>>,
    checks_after_repair: Vec<Check<'a>>,
}

#[derive(Serialize)]
struct Check<'a> {
    record: &'a str,
    began: &'a str,
    sha256: &'a str,
    state: &'static str,
    result: Outcome<'a>,
}

#[derive(Serialize)]
struct LinkFacts<'a> {
    kind: LinkKind,
    record: &'a str,
    sha256: &'a str,
    state: &'static str,
}

#[derive(Serialize)]
struct Procedure<'a> {
    name: &'a str,
    title: &'a str,
    revision: u32,
    part: Option<&'a str>,
}

#[derive(Serialize)]
struct Shop<'a> {
    name: &'a str,
    address: Option<&'a str>,
}

#[derive(Serialize)]
struct JobFacts<'a> {
    vehicle: Option<&'a str>,
    nominal: Option<String>,
    odometer: Option<&'a str>,
    concern: Option<&'a str>,
    verified: Option<bool>,
    codes: &'a [String],
    technician: Option<&'a str>,
    conditions: Option<&'a str>,
}

#[derive(Serialize)]
struct MeterFacts<'a> {
    id: &'a str,
    name: &'a str,
    calibration_due: Option<&'a str>,
}

#[derive(Serialize)]
struct Outcome<'a> {
    standing: &'static str,
    reason: Option<String>,
    causes: &'a [NamedCause],
}

#[derive(Serialize)]
struct StepFacts<'a> {
    title: &'a str,
    near: &'a [Zone],
    taken_back_at_line: Option<usize>,
    items: Vec<Happened<'a>>,
}

/// What happened; an answer says itself whether it was taken back.
#[derive(Serialize)]
#[serde(untagged)]
enum Happened<'a> {
    Answered {
        kind: &'static str,
        #[serde(flatten)]
        answer: Box<AnswerFacts<'a>>,
    },
    Other {
        #[serde(flatten)]
        other: Other<'a>,
        taken_back_at_line: Option<usize>,
    },
}

#[derive(Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
enum Other<'a> {
    Action {
        at: &'a str,
        text: String,
        already: bool,
        #[serde(skip_serializing_if = "Option::is_none")]
        cut_short_after_seconds: Option<u64>,
    },
    Note {
        text: &'a str,
    },
    Cautions {
        cautions: Vec<CautionFacts<'a>>,
        acknowledged: Option<bool>,
        #[serde(skip_serializing_if = "std::ops::Not::not")]
        from_input: bool,
        qualified: Option<&'a str>,
    },
    Reminders {
        cautions: Vec<CautionFacts<'a>>,
    },
    PutDown {
        at: &'a str,
    },
    TakenUp {
        at: &'a str,
        corrected: bool,
        unseen: bool,
    },
    LineDropped {
        bytes: usize,
    },
    TakenBack {
        at: &'a str,
        id: &'a str,
        #[serde(skip_serializing_if = "Option::is_none")]
        reading: Option<&'a str>,
    },
}

#[derive(Serialize)]
struct CautionFacts<'a> {
    id: &'a str,
    signal_word: Option<String>,
    text: Option<String>,
}

#[derive(Serialize)]
struct Sides<'a> {
    before: Outcome<'a>,
    pairs: Vec<PairFacts<'a>>,
    not_repeated: Vec<&'a str>,
}

#[derive(Serialize)]
struct PairFacts<'a> {
    after_line: usize,
    before: Option<Box<AnswerFacts<'a>>>,
}

#[derive(Serialize)]
struct SourceFacts<'a> {
    kind: SourceKind,
    name: &'a str,
    sha256: &'a str,
}

#[derive(Serialize)]
struct Signoff<'a> {
    name: &'a str,
    role: &'a str,
    meaning: &'a str,
    at: &'a str,
    state: &'a str,
}

/// The report as indented JSON with a line end.
///
/// # Errors
/// A source that can't be written as JSON; there is none such in a record that was read from a journal.
pub fn text(material: &Material) -> Result<Clean, serde_json::Error> {
    let started = &material.record.started;
    let job: &Job = &started.job;
    let report = Report {
        schema_version: SCHEMA_VERSION,
        record: About {
            number: material.number,
            name: &material.name,
            program: &started.program,
            began: material.record.began.as_str(),
            last: material.record.last.as_str(),
            journal_sha256: &material.journal_sha256,
            torn_bytes: material.torn,
            clock_set_by_hand: started.clock_set_by_hand,
            answered_by: started.answered_by,
            vehicle_measured: started.answered_by != AnsweredBy::Bench,
            bench: started.circuit(),
            simulated: material.record.started.circuit().is_some(),
            example: material.is_example,
            link: started.link.as_ref().map(|link| link_facts(link, material)),
            checks_after_repair: material.checks.iter().map(check).collect(),
        },
        procedure: Procedure {
            name: started.name(),
            title: started.title(),
            revision: started.revision(),
            part: started.entry_point(),
        },
        shop: (!material.shop_name.is_empty())
            .then(|| Shop { name: &material.shop_name, address: material.shop_address.as_deref() }),
        job: JobFacts {
            vehicle: job.vehicle.as_deref(),
            nominal: material.record.started.nominal.map(|volts| volts.to_string()),
            odometer: job.odometer.as_deref(),
            concern: job.concern.as_deref(),
            verified: job.verified,
            codes: &job.codes,
            technician: job.technician.as_deref(),
            conditions: job.conditions.as_deref(),
        },
        meter: material.meter.as_ref().map(|meter| MeterFacts {
            id: &meter.id,
            name: &meter.name,
            calibration_due: meter.calibration_due.as_deref(),
        }),
        result: outcome(&material.record.status),
        steps: material.record.steps.iter().map(|step| step_facts(step, material)).collect(),
        comparison: sides(material),
        signoffs: material
            .signoffs
            .iter()
            .map(|line| Signoff {
                name: &line.name,
                role: &line.role,
                meaning: &line.meaning,
                at: line.at.as_str(),
                state: &line.state,
            })
            .collect(),
        sources: started
            .sources
            .iter()
            .map(|source| SourceFacts { kind: source.kind, name: file_name(source), sha256: &source.sha256 })
            .collect(),
        withheld: material.withheld.iter().map(ToString::to_string).collect(),
    };
    pretty(&report)
}

/// Anything as indented JSON with a line end.
///
/// # Errors
/// What can't be written as JSON.
pub fn pretty(value: &impl Serialize) -> Result<Clean, serde_json::Error> {
    Ok(Clean::json(&(serde_json::to_string_pretty(value)? + "\n")))
}

fn link_facts<'a>(link: &'a Link, material: &Material) -> LinkFacts<'a> {
    let state = material.earlier.as_ref().map_or("not_read", |earlier| state_word(earlier.state));
    LinkFacts { kind: link.kind, record: &link.record, sha256: &link.sha256, state }
}

const fn state_word(state: LinkState) -> &'static str {
    match state {
        LinkState::Same => "same",
        LinkState::Continued => "continued",
        LinkState::Changed => "changed",
    }
}

fn check(later: &Later) -> Check<'_> {
    Check {
        record: &later.name,
        began: later.record.began.as_str(),
        sha256: &later.journal_sha256,
        state: state_word(later.state),
        result: outcome(&later.record.status),
    }
}

fn outcome(standing: &RunStatus) -> Outcome<'_> {
    let (standing, reason, causes): (_, _, &[NamedCause]) = match standing {
        RunStatus::Concluded(causes) => ("concluded", None, causes),
        RunStatus::Ended(Ending::Unconcluded) => ("unconcluded", None, &[]),
        RunStatus::Ended(ending @ Ending::Unfinished { .. }) => ("unfinished", ending.reason(), &[]),
        RunStatus::Ended(Ending::Failed { message }) => ("failed", Some(message.clone()), &[]),
        RunStatus::Waiting { prompt, .. } => ("waiting", Some(prompt.clone()), &[]),
        RunStatus::Open => ("open", None, &[]),
    };
    Outcome { standing, reason, causes }
}

fn step_facts<'a>(step: &'a Step, material: &'a Material) -> StepFacts<'a> {
    let items = step.items.iter().map(|placed| happened(placed, material)).collect();
    StepFacts { title: &step.title, near: &step.near, taken_back_at_line: step.struck_at, items }
}

fn happened<'a>(placed: &'a Placed, material: &'a Material) -> Happened<'a> {
    let other = match &placed.item {
        Item::Answered(answered) => {
            let answer = Box::new(answer(answered, material.meter.as_ref()));
            return Happened::Answered { kind: "answer", answer };
        }
        Item::Acted { action, already, at, cut_short_after } => Other::Action {
            at: at.as_str(),
            text: action::sentence(action, material.points.as_deref()),
            already: *already,
            cut_short_after_seconds: *cut_short_after,
        },
        Item::Noted { text } => Other::Note { text },
        Item::Cautioned { cautions, by_person, qualified, from_input } => Other::Cautions {
            cautions: caution_facts(cautions, material),
            acknowledged: *by_person,
            from_input: *from_input,
            qualified: qualified.as_deref(),
        },
        Item::Reminded { cautions } => Other::Reminders { cautions: caution_facts(cautions, material) },
        Item::Paused { at } => Other::PutDown { at: at.as_str() },
        Item::Resumed { at, corrected, unseen, .. } => {
            Other::TakenUp { at: at.as_str(), corrected: *corrected, unseen: *unseen }
        }
        Item::TornLineDropped { bytes } => Other::LineDropped { bytes: *bytes },
        Item::Struck { id, reading, at } => {
            Other::TakenBack { at: at.as_str(), id: id.as_str(), reading: reading.as_deref() }
        }
    };
    Happened::Other { other, taken_back_at_line: placed.struck_at }
}

fn caution_facts<'a>(cautions: &'a [CautionId], material: &Material) -> Vec<CautionFacts<'a>> {
    let facts = |id: &'a CautionId| CautionFacts {
        id: id.as_str(),
        signal_word: material.signal_words.get(id).map(ToString::to_string),
        text: material.rules.get(id).map(Rule::says),
    };
    cautions.iter().map(facts).collect()
}

fn sides(material: &Material) -> Option<Sides<'_>> {
    let earlier = material.before_repair()?;
    let before: &Record = &earlier.record;
    let both = Comparison::of(before, &material.record);
    Some(Sides {
        before: outcome(&before.status),
        pairs: both
            .pairs
            .iter()
            .map(|pair| PairFacts {
                after_line: pair.after.line,
                before: pair.before.map(|before| Box::new(answer(before, earlier.meter.as_ref()))),
            })
            .collect(),
        not_repeated: both.not_repeated.iter().map(|answered| answered.prompt.id.as_str()).collect(),
    })
}
