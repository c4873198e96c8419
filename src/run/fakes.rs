//! Tests: what requests and notices are made of, and somebody who keeps what is heard.

use super::answerer::{Answerer, Answering, MeterInUse};
use super::journal::{Clock, Memory};
use super::notice::Notice;
use super::reply::{Form, Reply};
use super::request::{Request, Token};
use super::screens::Screen;
use super::session::{Parts, Session};
use super::view::View;
use crate::circuit::bench::Bench;
use crate::circuit::meter::bench_meter;
use crate::circuit::sample::Sample;
use crate::model::answered_by::AnsweredBy;
use crate::model::caution::signal_word::{Confirm, SignalWord};
use crate::model::caution::when::When;
use crate::model::caution::{CautionRules, Rule};
use crate::model::doubt::Doubt;
use crate::model::event::{Entry, Event, NamedCause};
use crate::model::id::RecordId;
use crate::model::limits::Limits;
use crate::model::meter::Function;
use crate::model::origin::Origin;
use crate::model::prompt::{CauseId, CautionId, LeadEnd, Leads, Prompt, PromptId, Question};
use crate::model::quantity::Quantity;
use crate::model::record::given::SweepReading;
use crate::model::stamp::Stamp;
use crate::model::started::Started;
use crate::model::vehicle::{Action, Key, VehicleState};
use std::collections::VecDeque;
use std::sync::{Arc, Mutex};

/// The record whose questions these are.
pub(super) const RECORD: RecordId = RecordId::new(7);

/// What requests and notices are made of.
pub(super) struct Things {
    pub(super) rule: Rule,
    pub(super) action: Action,
    pub(super) prompt: Arc<Prompt>,
    pub(super) so_far: Vec<SweepReading>,
    pub(super) causes: Vec<NamedCause>,
    pub(super) vehicle: VehicleState,
    pub(super) entry: Entry,
    pub(super) token: Token,
}

pub(super) fn things() -> Things {
    Things {
        rule: Rule {
            id: CautionId::new("belt"),
            word: Some(SignalWord::Warning),
            text: "Keep clear of the belt.".into(),
            hazard: String::new(),
            harm: None,
            likelihood: None,
            consequence: String::new(),
            avoid: String::new(),
            confirm_text: String::new(),
            remind: String::new(),
            source: "common practice, no source".into(),
            confirm: Confirm::Once,
            same_hazard_as: None,
            defers_to: String::new(),
            qualified_person: false,
            when: When::default(),
        },
        action: Action::TurnKey { to: Key::On },
        prompt: reading("supply"),
        so_far: vec![SweepReading { text: "0.51".into(), position: None }],
        causes: vec![NamedCause {
            id: CauseId::new("wire"),
            cause: "Wire open".into(),
            correction: "Mend it".into(),
            customer: None,
        }],
        vehicle: VehicleState::default(),
        entry: Entry::new(Stamp::new("2026-01-05T08:00:00Z"), Event::Paused),
        token: Token { record: Some(RECORD), line: 7, turn: 0 },
    }
}

impl Things {
    pub(super) fn view(&self) -> View<'_> {
        View { token: &self.token, step: "Supply", near: &[], why: "", vehicle: &self.vehicle, answered: 0 }
    }

    /// The request that comes after this one in a list of all; a new kind does not compile before it has its place.
    fn request_after<'a>(&'a self, last: Option<Request<'a>>, rules: &'a [&'a Rule]) -> Option<Request<'a>> {
        let Self { action, prompt, so_far, causes, vehicle, .. } = self;
        Some(match last {
            None => Request::Caution { rules },
            Some(Request::Caution { .. }) => Request::Act { action },
            Some(Request::Act { .. }) => Request::PutBack { action },
            Some(Request::PutBack { .. }) => Request::Answer { prompt },
            Some(Request::Answer { .. }) => Request::NextOfSweep { prompt, so_far },
            Some(Request::NextOfSweep { .. }) => Request::Doubt { prompt, typed: "-4.99", doubt: &Doubt::LeadsSwapped },
            Some(Request::Doubt { .. }) => Request::Needs { id: &prompt.id, why: "it was skipped" },
            Some(Request::Needs { .. }) => Request::LeftOut { action },
            Some(Request::LeftOut { .. }) => Request::Conclude { causes },
            Some(Request::Conclude { .. }) => Request::WaitCutShort { action, seconds: 2 },
            Some(Request::WaitCutShort { .. }) => Request::ConfirmVehicle { left: vehicle },
            Some(Request::ConfirmVehicle { .. }) => return None,
        })
    }

    pub(super) fn each_request(&self, mut each: impl FnMut(Request<'_>)) {
        let rules = [&self.rule];
        let mut last = None;
        while let Some(request) = self.request_after(last, &rules) {
            each(request);
            last = Some(request);
        }
    }

    /// The same for notices.
    fn notice_after<'a>(&'a self, last: Option<Notice<'a>>, rules: &'a [&'a Rule]) -> Option<Notice<'a>> {
        let Self { prompt, entry, token, .. } = self;
        Some(match last {
            None => Notice::Step { view: self.view() },
            Some(Notice::Step { .. }) => Notice::Why { text: "why" },
            Some(Notice::Why { .. }) => Notice::Remark { text: "remark" },
            Some(Notice::Remark { .. }) => Notice::Waits { seconds: 600, until: "08:10" },
            Some(Notice::Waits { .. }) => Notice::Reminded { rules },
            Some(Notice::Reminded { .. }) => Notice::Prepare { prompt },
            Some(Notice::Prepare { .. }) => Notice::Refused { problem: "problem" },
            Some(Notice::Refused { .. }) => Notice::Recorded { line: 7, entry, replayed: false },
            Some(Notice::Recorded { .. }) => Notice::Stands { vehicle: &self.vehicle, anew: true },
            Some(Notice::Stands { .. }) => Notice::Live,
            Some(Notice::Live) => Notice::Withdrawn { token },
            Some(Notice::Withdrawn { .. }) => return None,
        })
    }

    pub(super) fn each_notice(&self, mut each: impl FnMut(Notice<'_>)) {
        let rules = [&self.rule];
        let mut last = None;
        while let Some(notice) = self.notice_after(last, &rules) {
            each(notice);
            last = Some(notice);
        }
    }
}

pub(super) fn reading(id: &str) -> Arc<Prompt> {
    let end = |name: &str| LeadEnd { name: name.into(), ..LeadEnd::default() };
    let limits = Limits::between(Quantity::volts(4.75), Quantity::volts(5.25)).unwrap();
    let leads = Leads::Across { red: end("C41.1"), black: end("C41.2") };
    let question = Question::Reading { function: Function::Volts, limits, leads };
    Arc::new(Prompt { id: PromptId::new(id), text: "Supply".into(), question })
}

/// What was asked and told, as it is serialized: its kind, and all that belongs to it.
pub(super) type Heard = Arc<Mutex<Vec<String>>>;

pub(super) fn text_of(value: &impl serde::Serialize) -> String {
    serde_json::to_string(value).unwrap()
}

pub(super) fn taken(heard: &Heard) -> Vec<String> {
    std::mem::take(&mut *heard.lock().unwrap())
}

/// Somebody who keeps what is heard and gives prepared replies, and pauses after them.
pub(super) struct Fake {
    pub(super) heard: Heard,
    pub(super) replies: VecDeque<Form>,
    pub(super) origin: Origin,
}

impl Fake {
    pub(super) fn new(replies: impl IntoIterator<Item = Form>) -> (Box<Self>, Heard) {
        let heard = Heard::default();
        let fake = Self { heard: Arc::clone(&heard), replies: replies.into_iter().collect(), origin: Origin::TYPED };
        (Box::new(fake), heard)
    }
}

impl Answerer for Fake {
    fn ask(&mut self, request: Request<'_>, _view: View<'_>) -> Reply {
        self.heard.lock().unwrap().push(text_of(&request));
        self.replies.pop_front().unwrap_or(Form::Pause).from(self.origin.clone())
    }

    fn notice(&mut self, notice: Notice<'_>) {
        self.heard.lock().unwrap().push(text_of(&notice));
    }
}

impl Screen for Fake {
    fn show(&mut self, request: Request<'_>, view: View<'_>) {
        _ = self.ask(request, view);
    }

    fn notice(&mut self, notice: Notice<'_>) {
        Answerer::notice(self, notice);
    }
}

pub(super) fn bench() -> Bench {
    let text = include_str!("../../procedures/circuits/flap_sensor.toml");
    let circuit = crate::circuit::file::parse(text, "flap_sensor").unwrap_or_else(|error| panic!("{error}"));
    Bench::new(Arc::new(circuit), &[], Sample::of_seed(1), bench_meter()).unwrap()
}

/// A second passes each time.
pub(super) struct Ticking(u32);

impl Clock for Ticking {
    fn now(&mut self) -> Stamp {
        self.0 += 1;
        Stamp::new(format!("2026-01-05T08:{:02}:{:02}Z", self.0 / 60, self.0 % 60))
    }
}

pub(super) fn session(answerer: Box<dyn Answerer>) -> Session {
    session_with(answerer, Box::new(Ticking(0)), CautionRules::default())
}

pub(super) fn session_with(answerer: Box<dyn Answerer>, clock: Box<dyn Clock>, rules: CautionRules) -> Session {
    let parts = Parts {
        journal: Box::new(Memory::default()),
        answerer,
        answering: Answering::in_person(AnsweredBy::Person),
        clock,
        rules: Arc::new(rules),
        meter: Arc::new(MeterInUse::default()),
        causes: Arc::default(),
        past: None,
    };
    let started = Started { record: Some(RECORD), ..Started::of("p", "P", 1, AnsweredBy::Person) };
    Session::start(parts, started).unwrap()
}

pub(super) fn requests(heard: &Heard) -> Vec<String> {
    let named = |text: &String| Some(text.strip_prefix("{\"request\":\"")?.split_once('"')?.0.to_owned());
    heard.lock().unwrap().iter().filter_map(named).collect()
}
