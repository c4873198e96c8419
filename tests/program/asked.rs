//! What is asked about before a run ends or goes on, through everything that stands between the run and the person.

use crate::place::{Place, of_kind};

const HEADER: &str = "//! title = \"Test\"\n//! revision = 1\n//! circuit = \"flap_sensor\"\n//! [causes]\n\
    //! wire = { cause = \"Wire open\", correction = \"Repair the wire\" }\n";

#[test]
fn an_action_that_is_skipped_on_a_bench_is_asked_about_before_the_run_ends() {
    let body = "key_on();\nlet a = read(\"a\", \"Supply\", at_least(4.V), across(\"reference\", \"ground\"));\nconclude(\"wire\");\n";
    let place = Place::new();
    place.harmless_circuit("flap_sensor").file("p.rhai", format!("{HEADER}{body}"));
    let run = "run p.rhai --bench own --fault none";
    let shown = place.call(run).typing(&["skip slip", "1", "", "", ""]).go().ended(0);
    shown
        .says("The procedure can't go on without it.")
        .says("1 ask for it again, 2 end the run here")
        .says("Wire open");
    place.call("verify --allow-unsigned").go().ended(0);
    let place = Place::new();
    place.file("p.rhai", format!("{HEADER}{body}"));
    let shown = place.call(run).typing(&["skip no key", "2"]).go().ended(5);
    shown.says("not done: Turn the key on, engine not running (no key)");
    place.call("verify --allow-unsigned").go().ended(0);
}

#[test]
fn a_wait_that_is_cut_short_while_answers_are_carried_over_is_recorded_so() {
    let body = "let a = read(\"a\", \"Draw\", at_most(50.mA));\nwait(10.min);\nlet b = read(\"b\", \"Draw after\", at_most(50.mA));\nconclude(\"wire\");\n";
    let place = Place::with(body);
    place.at_vehicle(&["+", "30", "pause"]).ended(4);
    let begun = place.record();
    place.procedure(&body.replace("\"Draw after\"", "\"Draw after a while\""));
    let call = place.call("resume --new-run").and(&[&begun]).typing(&["", "+", "", "", "20", ""]);
    let shown = call.go().ended(0);
    shown.says("Enter again only if it has already stood 10 min.");
    let finished = place.records().into_iter().find(|record| *record != begun).unwrap();
    let events = place.events_of(&finished);
    let waits: Vec<_> = of_kind(&events, "acted").into_iter().filter(|acted| acted["action"]["do"] == "wait").collect();
    assert_eq!(waits.len(), 1, "{events:?}");
    assert!(waits[0]["cut_short_after"].is_u64(), "{}", waits[0]);
    assert_eq!(of_kind(&events, "answered")[0]["origin"]["from"], "carried_over");
    place.call("verify --allow-unsigned").and(&[&finished]).go().ended(0);
}
