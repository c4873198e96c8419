//! Tests: each wrapper passes on what it does not answer itself, and a run asks what it has to ask through each of them.

use super::answerer::Answerer;
use super::bench::BenchAnswerer;
use super::carried_answers::CarriedAnswers;
use super::fakes::{Fake, Heard, RECORD, Things, bench, reading, requests, session, taken, text_of, things};
use super::notice::Notice;
use super::prepared_answers::{PreparedAnswers, Written};
use super::prepared_then_bench::PreparedThenBench;
use super::reply::{Form, Offer, Reply};
use super::request::{Request, Token};
use super::screens::{Screen, ScreenLine, Screens};
use super::stop::Stop;
use super::view::View;
use crate::model::answered_by::AnsweredBy;
use crate::model::doubt::Doubt;
use crate::model::event::Event;
use crate::model::origin::Origin;
use crate::model::prompt::{Prompt, PromptId, Question};
use crate::model::unit::Unit;
use crate::model::vehicle::{Action, Key, VehicleState};
use std::collections::{BTreeMap, VecDeque};
use std::sync::{Arc, Mutex};

/// Each request and notice comes through unchanged, and the reply goes back unchanged.
fn passes_on_everything(things: &Things, wrapper: &mut dyn Answerer, heard: &Heard) {
    let mut requests = 0;
    things.each_request(|request| {
        let reply = wrapper.ask(request, things.view());
        assert_eq!(taken(heard), [text_of(&request)]);
        assert_eq!(reply, Form::Pause.from(Origin::TYPED), "{request:?}");
        requests += 1;
    });
    let mut notices = 0;
    things.each_notice(|notice| {
        wrapper.notice(notice);
        assert_eq!(taken(heard), [text_of(&notice)]);
        notices += 1;
    });
    assert_eq!((requests, notices), (11, 11));
}

#[test]
fn a_bench_with_a_person_passes_on_everything() {
    let (person, heard) = Fake::new([]);
    passes_on_everything(&things(), &mut BenchAnswerer::with_person(bench(), person), &heard);
}

#[test]
fn carried_answers_pass_on_everything_that_the_earlier_record_lacks() {
    let (person, heard) = Fake::new([]);
    passes_on_everything(&things(), &mut CarriedAnswers::new(Arc::new(vec![]), person), &heard);
    let (person, heard) = Fake::new([]);
    let carried = CarriedAnswers::new(Arc::new(vec![]), person);
    passes_on_everything(&things(), &mut BenchAnswerer::with_person(bench(), Box::new(carried)), &heard);
}

#[test]
fn a_sheet_over_a_bench_answers_what_is_written_and_the_bench_the_rest() {
    let things = things();
    let sheet = |written: bool| {
        let line = ("supply".to_owned(), Written::Text("4.99".into()));
        PreparedAnswers::new(AnsweredBy::File, if written { BTreeMap::from([line]) } else { BTreeMap::new() })
    };
    things.each_request(|request| {
        let alone = sheet(true).ask(request, things.view());
        let both = PreparedThenBench::new(sheet(true), BenchAnswerer::alone(bench())).ask(request, things.view());
        assert_eq!(both, alone, "{request:?}");
        let by_bench = BenchAnswerer::alone(bench()).ask(request, things.view());
        let alone = sheet(false).ask(request, things.view());
        let both = PreparedThenBench::new(sheet(false), BenchAnswerer::alone(bench())).ask(request, things.view());
        let expected = match request {
            Request::Answer { .. } | Request::NextOfSweep { .. } | Request::Doubt { .. } => by_bench,
            Request::Caution { .. }
            | Request::Act { .. }
            | Request::PutBack { .. }
            | Request::Needs { .. }
            | Request::LeftOut { .. }
            | Request::Conclude { .. }
            | Request::WaitCutShort { .. }
            | Request::ConfirmVehicle { .. } => alone,
        };
        assert_eq!(both, expected, "{request:?}");
    });
    // Of the notices both hear that something can't be taken, and neither has anything else to say.
    things.each_notice(|notice| {
        for written in [true, false] {
            let mut both = PreparedThenBench::new(sheet(written), BenchAnswerer::alone(bench()));
            both.notice(notice);
            let form = both.ask(Request::Answer { prompt: &things.prompt }, things.view()).form;
            assert_eq!(form == Form::Nobody, matches!(notice, Notice::Refused { .. }), "{notice:?}");
        }
    });
}

#[test]
fn screens_are_shown_and_told_everything() {
    let things = things();
    let (one, heard_by_one) = Fake::new([]);
    let (other, heard_by_other) = Fake::new([]);
    let mut screens = Screens::default();
    let mut lines = vec![];
    for screen in [one, other] {
        screens.add(|line| {
            lines.push(line);
            screen
        });
    }
    things.each_notice(|notice| {
        screens.notice(notice);
        assert_eq!([taken(&heard_by_one), taken(&heard_by_other)], [[text_of(&notice)], [text_of(&notice)]]);
    });
    things.each_request(|request| {
        assert!(lines[1].send(things.token.clone(), Form::Pause.from(Origin::TYPED)));
        let reply = screens.ask(request, things.view());
        assert_eq!(reply, Form::Pause.from(Origin::TYPED));
        let withdrawn = text_of(&Notice::Withdrawn { token: &things.token });
        assert_eq!(taken(&heard_by_one), [text_of(&request), withdrawn]);
        assert_eq!(taken(&heard_by_other), [text_of(&request)]);
    });
}

#[test]
fn each_request_takes_what_fits_and_says_what_does() {
    let things = things();
    let offer = Offer { text: "5".into(), unit: "V".into(), raw: "5".into(), instrument: "bay_2".into(), range: None };
    let forms = [
        ("text", Form::enter()),
        ("skip", Form::Skip { reason: "x".into() }),
        ("back", Form::Back { to: None }),
        ("pause", Form::Pause),
        ("note", Form::Note("x".into())),
        ("nobody", Form::Nobody),
        ("acknowledged", Form::Acknowledged { qualified: None }),
        ("refused", Form::Refused),
        ("vehicle", Form::Vehicle { state: Box::default(), seen: true }),
        ("offer", Form::Offer(Box::new(offer))),
    ];
    things.each_request(|request| {
        let fits: Vec<&str> = forms.iter().filter(|(_, form)| request.takes(form)).map(|(name, _)| *name).collect();
        let expected = match request {
            Request::Caution { .. } => "back pause note nobody acknowledged refused",
            Request::Act { .. }
            | Request::Answer { .. }
            | Request::NextOfSweep { .. }
            | Request::Doubt { .. }
            | Request::WaitCutShort { .. } => "text skip back pause note nobody",
            Request::PutBack { .. } => "text skip pause note nobody",
            Request::Needs { .. } | Request::LeftOut { .. } => "text back pause nobody",
            Request::Conclude { .. } => "text back pause note nobody",
            Request::ConfirmVehicle { .. } => "pause nobody vehicle",
        };
        assert_eq!(fits.join(" "), expected, "{request:?}");
        assert_eq!(text_of(&request).split('"').nth(3), Some(request.name()));
    });
    let request = Request::Answer { prompt: &things.prompt };
    let words = "5 V from bay_2 is only an offer: somebody has to take it first";
    assert_eq!(request.why_not(&forms[9].1), words);
    assert_eq!(request.why_not(&forms[6].1), "this is no caution: answer it, or skip it and say why");
}

#[test]
fn an_action_that_is_skipped_at_a_bench_or_while_answers_are_carried_over_is_asked_about_before_the_run_ends() {
    let replies = || [Form::Skip { reason: "slip".into() }, Form::Back { to: None }, Form::enter()];
    for at_bench in [true, false] {
        let (person, heard) = Fake::new(replies());
        let wrapper: Box<dyn Answerer> = if at_bench {
            Box::new(BenchAnswerer::with_person(bench(), person))
        } else {
            Box::new(CarriedAnswers::new(Arc::new(vec![]), person))
        };
        let mut session = session(wrapper);
        session.act(Action::TurnKey { to: Key::On }).unwrap();
        assert_eq!(requests(&heard), ["act", "left_out", "act"]);
        let entries = session.take_entries();
        assert!(matches!(entries[1].event, Event::Acted { already: false, .. }), "{:?}", entries[1]);
    }
    let (person, heard) = Fake::new([Form::Skip { reason: "no key".into() }, Form::enter()]);
    let mut session = session(Box::new(BenchAnswerer::with_person(bench(), person)));
    assert!(matches!(session.act(Action::TurnKey { to: Key::On }), Err(Stop::Ended(_))));
    assert_eq!(requests(&heard), ["act", "left_out"]);
}

#[test]
fn a_wait_that_is_cut_short_while_answers_are_carried_over_is_asked_about_and_recorded_so() {
    let (person, heard) = Fake::new([Form::enter(), Form::enter()]);
    let mut session = session(Box::new(CarriedAnswers::new(Arc::new(vec![]), person)));
    let minutes: Unit = "min".parse().unwrap();
    session.act(Action::Wait { time: minutes.quantity(10.0), because: None }).unwrap();
    assert_eq!(requests(&heard), ["act", "wait_cut_short"]);
    let entries = session.take_entries();
    let Event::Acted { cut_short_after, .. } = &entries[1].event else { panic!("{:?}", entries[1]) };
    assert!(cut_short_after.is_some_and(|seconds| seconds < 10), "{cut_short_after:?}");
}

#[test]
fn a_reply_that_does_not_fit_is_refused_and_asked_again_but_not_without_end() {
    let (person, heard) = Fake::new([Form::Acknowledged { qualified: None }, Form::text("4.99")]);
    let asked = session(person).ask(reading("supply")).unwrap();
    assert_eq!(text_of(&asked.answer), "{\"answer\":\"reading\",\"typed\":\"4.99\"}");
    assert_eq!(requests(&heard), ["answer", "answer"]);
    let problem = "this is no caution: answer it, or skip it and say why";
    assert!(heard.lock().unwrap().contains(&text_of(&Notice::Refused { problem })));
    // Who never gives a reply that fits, counts as nobody.
    let (person, heard) = Fake::new(std::iter::repeat_n(Form::Refused, 1_000));
    let stop = session(person).ask(reading("supply")).unwrap_err();
    let Stop::Waiting { prompt, problem: Some(said), .. } = stop else { panic!("{stop:?}") };
    assert_eq!((prompt.as_str(), said.as_str()), ("supply", problem));
    assert_eq!(requests(&heard).len(), 100);
}

#[test]
fn what_nobody_can_answer_otherwise_waits_and_says_what_was_wrong() {
    let line = ("supply".to_owned(), Written::Text("five".into()));
    let sheet = PreparedAnswers::new(AnsweredBy::File, BTreeMap::from([line]));
    let stop = session(Box::new(sheet)).ask(reading("supply")).unwrap_err();
    let Stop::Waiting { problem: Some(problem), .. } = stop else { panic!("{stop:?}") };
    assert!(problem.contains("five"), "{problem}");
}

#[test]
fn a_bench_says_what_its_meter_showed_beside_what_a_person_typed() {
    let things = things();
    let prompt = &*things.prompt;
    let vehicle = VehicleState { key: Key::On, ..bench().circuit().start().clone() };
    let ask = |replies: Vec<Form>, request: Request<'_>| {
        let (person, _) = Fake::new(replies);
        let view = View { vehicle: &vehicle, ..things.view() };
        BenchAnswerer::with_person(bench(), person).ask(request, view)
    };
    let shown = ask(vec![Form::enter()], Request::Answer { prompt });
    let Form::Text(text) = &shown.form else { panic!("{shown:?}") };
    assert!(text.starts_with('5') || text.starts_with('4'), "{text}");
    let showed = Origin::Bench { showed: Some(Arc::clone(text)) };
    assert_eq!(shown.origin, showed);
    let typed = ask(vec![Form::text("5.55")], Request::Answer { prompt });
    assert_eq!((typed.form, typed.origin), (Form::text("5.55"), showed.clone()));
    let doubt = Request::Doubt { prompt, typed: "5.55", doubt: &Doubt::LeadsSwapped };
    assert_eq!(ask(vec![Form::text("5.1")], doubt).origin, showed);
    // Where the meter shows nothing, and where nothing is answered, a person is a person.
    let looked = Prompt { id: PromptId::new("looks"), text: "Looks good?".into(), question: Question::YesNo };
    assert_eq!(ask(vec![Form::text("1")], Request::Answer { prompt: &looked }).origin, Origin::TYPED);
    assert_eq!(ask(vec![Form::Skip { reason: "x".into() }], Request::Answer { prompt }).origin, Origin::TYPED);
}

/// A screen with somebody at it, on a thread of their own, who answers one prompt only.
struct Attended {
    asked: std::sync::mpsc::Sender<(Token, String)>,
    heard: Heard,
}

impl Attended {
    fn at(line: ScreenLine, prompt: &'static str, says: &'static str, heard: &Heard) -> Box<Self> {
        let (asked, asks) = std::sync::mpsc::channel::<(Token, String)>();
        std::thread::spawn(move || {
            for (token, request) in asks {
                if !request.contains(&format!("\"id\":\"{prompt}\"")) {
                    continue;
                }
                // For a question that was never asked, then what does not fit, then the answer, which is sent twice.
                let id = crate::model::id::ReplyId::new(prompt.len() as u128);
                let answer = Reply { id: Some(id), ..Form::text(says).from(Origin::TYPED) };
                line.send(Token { line: 99, ..token.clone() }, Form::text("99").from(Origin::TYPED));
                line.send(token.clone(), Form::Refused.from(Origin::TYPED));
                line.send(token.clone(), answer.clone());
                line.send(token, answer);
            }
        });
        Box::new(Self { asked, heard: Arc::clone(heard) })
    }
}

impl Screen for Attended {
    fn show(&mut self, request: Request<'_>, view: View<'_>) {
        self.asked.send((view.token.clone(), text_of(&request))).unwrap();
    }

    fn notice(&mut self, notice: Notice<'_>) {
        self.heard.lock().unwrap().push(text_of(&notice));
    }
}

#[test]
fn two_screens_answer_one_run_and_the_question_goes_from_the_other() {
    let (bay, phone) = (Heard::default(), Heard::default());
    let mut screens = Screens::default();
    screens.add(|line| Attended::at(line, "supply", "4.99", &bay));
    screens.add(|line| Attended::at(line, "ground_wire", "5.01", &phone));
    let mut session = session(Box::new(screens));
    session.ask(reading("supply")).unwrap();
    session.ask(reading("ground_wire")).unwrap();
    let entries = session.take_entries();
    let answered: Vec<String> = entries
        .iter()
        .filter_map(|entry| match &entry.event {
            Event::Answered { prompt, answer, .. } => Some(format!("{} {}", prompt.id, text_of(answer))),
            _ => None,
        })
        .collect();
    assert_eq!(
        answered,
        [
            "supply {\"answer\":\"reading\",\"typed\":\"4.99\"}",
            "ground_wire {\"answer\":\"reading\",\"typed\":\"5.01\"}"
        ]
    );
    let of_kind = |heard: &Heard, kind: &str| -> Vec<String> {
        let begins = format!("{{\"notice\":\"{kind}\"");
        heard.lock().unwrap().iter().filter(|text| text.starts_with(&begins)).cloned().collect()
    };
    // Each was told what is wrong with its own replies, and that the other's question is gone.
    for (heard, line) in [(&bay, 3), (&phone, 2)] {
        let refused = of_kind(heard, "refused");
        assert_eq!(refused.len(), 2, "{refused:?}");
        assert!(refused[0].contains("no longer asked") && refused[1].contains("this is no caution"), "{refused:?}");
        let token = Token { record: Some(RECORD), line, turn: 0 };
        assert_eq!(of_kind(heard, "withdrawn"), [text_of(&Notice::Withdrawn { token: &token })]);
        assert_eq!(of_kind(heard, "recorded").len(), 3);
    }
}

#[test]
fn screens_that_are_all_gone_leave_nobody() {
    let mut screens = Screens::default();
    let (one, _) = Fake::new([]);
    screens.add(|_| one);
    let stop = session(Box::new(screens)).ask(reading("supply")).unwrap_err();
    assert!(matches!(stop, Stop::Waiting { .. }), "{stop:?}");
}

#[test]
fn another_question_at_the_same_line_has_another_token() {
    struct Tokens(Arc<Mutex<Vec<Token>>>, VecDeque<Form>);
    impl Answerer for Tokens {
        fn ask(&mut self, _: Request<'_>, view: View<'_>) -> Reply {
            self.0.lock().unwrap().push(view.token.clone());
            self.1.pop_front().unwrap().from(Origin::TYPED)
        }
        fn notice(&mut self, _: Notice<'_>) {}
    }
    let tokens = Arc::new(Mutex::new(vec![]));
    // What is asked again after a refusal is the same question.
    let replies = [
        Form::Refused,
        Form::Skip { reason: "slip".into() },
        Form::Back { to: None },
        Form::enter(),
        Form::text("4.9"),
    ];
    let mut session = session(Box::new(Tokens(Arc::clone(&tokens), replies.into_iter().collect())));
    session.act(Action::TurnKey { to: Key::On }).unwrap();
    session.ask(reading("supply")).unwrap();
    let seen: Vec<(usize, u32)> = tokens.lock().unwrap().iter().map(|token| (token.line, token.turn)).collect();
    assert_eq!(seen, [(2, 0), (2, 0), (2, 1), (2, 2), (3, 0)]);
    assert!(tokens.lock().unwrap().iter().all(|token| token.record == Some(RECORD)));
}
