//! What a procedure says is proven, where nobody saw what the module shows.

use super::{procedure, proving, run_with};
use ohmwright::circuit::bench::Bench;
use ohmwright::circuit::fault::FaultId;
use ohmwright::circuit::meter::bench_meter;
use ohmwright::circuit::sample::Sample;
use ohmwright::model::origin::Origin;
use ohmwright::model::prompt::Question;
use ohmwright::run::answerer::Answerer;
use ohmwright::run::bench::BenchAnswerer;
use ohmwright::run::notice::Notice;
use ohmwright::run::reply::{Form, Reply};
use ohmwright::run::request::Request;
use ohmwright::run::view::View;
use ohmwright::script::execute::{EntryPoint, Outcome};
use std::sync::{Arc, Mutex};

/// A circuit that answers, all but what the module shows; what the author says of each step is kept.
struct WithoutScanTool {
    bench: BenchAnswerer,
    /// The prompts at which the scan tool was there all the same.
    seen: &'static [&'static str],
    said: Arc<Mutex<Vec<String>>>,
}

impl Answerer for WithoutScanTool {
    fn ask(&mut self, request: Request<'_>, view: View<'_>) -> Reply {
        match request {
            Request::Answer { prompt }
                if matches!(prompt.question, Question::ModuleValue { .. })
                    && !self.seen.contains(&prompt.id.as_str()) =>
            {
                Form::Skip { reason: "no scan tool".to_owned() }.from(Origin::TYPED)
            }
            _ => self.bench.ask(request, view),
        }
    }
    fn notice(&mut self, notice: Notice<'_>) {
        if let Notice::Why { text } = notice {
            self.said.lock().unwrap().push(text.to_owned());
        }
        self.bench.notice(notice);
    }
}

/// What the author says last before the cause, and the cause.
fn last_said(name: &str, fault: &str, seen: &'static [&'static str]) -> (String, String) {
    let proving = proving(procedure(name), name, 1);
    let bench = Bench::new(Arc::clone(&proving.circuit), &[FaultId::from(fault)], Sample::of_seed(1), bench_meter());
    let said = Arc::new(Mutex::new(Vec::new()));
    let answerer = WithoutScanTool { bench: BenchAnswerer::alone(bench.unwrap()), seen, said: Arc::clone(&said) };
    let finished = run_with(&proving, EntryPoint::Body, Box::new(answerer));
    let Outcome::Concluded(causes) = finished.outcome else { panic!("{name}: {:?}", finished.outcome) };
    let causes: Vec<String> = causes.iter().map(|cause| cause.id.to_string()).collect();
    let said = said.lock().unwrap().last().unwrap().clone();
    (said, causes.join(" or "))
}

#[test]
fn a_signal_wire_is_called_proven_only_where_the_module_was_seen_to_follow_to_both_ends() {
    const PROVEN: &str = "Supply, ground, terminals and signal wire are proven.";
    const UNSEEN: &str = "so the wire may be open";
    let both: &[&str] = &["wire_driven_up", "wire_driven_down"];
    for (seen, proven) in [(both, true), (&both[..1], false), (&both[1..], false), (&[], false)] {
        let (said, cause) = last_said("flap_sensor", "sensor_worn", seen);
        assert_eq!(cause, "sensor_worn");
        assert_eq!((said.starts_with(PROVEN), said.contains(UNSEEN)), (proven, !proven), "{seen:?}: {said}");
    }
    let (said, cause) = last_said("pedal_sensor", "track_1_worn", &[]);
    assert_eq!((said.contains(UNSEEN), cause.as_str()), (true, "sensor_worn"), "{said}");
    let (said, _) = last_said("pedal_sensor", "track_1_worn", &["wire_1_driven_up", "wire_1_driven_down"]);
    assert!(said.starts_with(PROVEN), "{said}");
}
