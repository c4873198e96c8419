//! Safety messages: when they come, before what, and who has read them.

use crate::place::{LET_STAND, Place, SAFE, Shown, of_kind};
use insta::assert_snapshot;
use serde_json::Value;
use std::collections::BTreeSet;

/// What is safe, but for these.
fn but(states: &[&'static str]) -> Vec<&'static str> {
    let part = |state: &str| state.split('=').next().unwrap().to_owned();
    SAFE.into_iter()
        .filter(|safe| !states.iter().any(|state| part(state) == part(safe)))
        .chain(states.iter().copied())
        .collect()
}

/// Names of the cautions that were told, one list an event.
fn told(events: &[Value]) -> Vec<Vec<String>> {
    of_kind(events, "cautioned")
        .iter()
        .map(|event| {
            event["cautions"].as_array().unwrap().iter().map(|told| told["id"].as_str().unwrap().to_owned()).collect()
        })
        .collect()
}

/// The same of those that were only reminded of.
fn reminded(events: &[Value]) -> Vec<String> {
    let cautions =
        of_kind(events, "reminded").into_iter().flat_map(|event| event["cautions"].as_array().unwrap().clone());
    cautions.map(|told| told["id"].as_str().unwrap().to_owned()).collect()
}

fn run(body: &str, states: &[&'static str], lines: &[&str]) -> (Place, Shown) {
    let place = Place::with(body);
    // Who pauses comes to no end that could stand.
    let end: &[&str] = if lines.last() == Some(&"pause") { &[] } else { &LET_STAND };
    let shown = place.run_at_vehicle(&but(states)).typing(lines).typing(end).go().without_panic();
    (place, shown)
}

#[test]
fn a_caution_comes_when_its_hazard_becomes_true_and_not_at_each_step() {
    let body = "step(\"One\", near(\"lift\"));\nnote(\"a\", \"A?\");\nstep(\"Two\", near(\"lift\"));\nnote(\"b\", \"B?\");\n\
        step(\"Three\");\nnote(\"c\", \"C?\");\nstep(\"Four\", near(\"lift\"));\nnote(\"d\", \"D?\");\nconclude(\"wire\");\n";
    // Away from the lift and back again: it becomes true again.
    let (place, shown) = run(body, &["lift=raised"], &["+", "a", "b", "c", "+", "d"]);
    let shown = shown.ended(0);
    assert_eq!(shown.count("A raised vehicle can come down"), 2, "{shown}");
    assert_eq!(told(&place.events()), [["raised_vehicle"], ["raised_vehicle"]]);
    let (place, _) = run(body, &[], &["a", "b", "c", "d"]);
    assert_eq!(told(&place.events()), Vec::<Vec<String>>::new());
}

#[test]
fn it_comes_before_the_action_that_makes_it_true() {
    let body = "step(\"One\", near(\"lift\"));\nraise_lift();\nlower_lift();\nconclude(\"wire\");\n";
    let (place, shown) = run(body, &[], &["+", "+", "", "+", ""]);
    let flat = shown.ended(0).flat();
    let at = |words: &str| flat.find(words).unwrap_or_else(|| panic!("{words}: {flat}"));
    assert!(at("A raised vehicle can come down") < at("DO Raise the vehicle"));
    assert!(at("The lift moves") < at("DO Raise the vehicle"));
    let events = place.events();
    let kinds = crate::place::kinds(&events);
    assert_eq!(&kinds[1..5], ["step_began", "cautioned", "acknowledged", "acted"]);
}

#[test]
fn it_comes_before_the_reading_that_it_belongs_to() {
    let body = "let a = read(\"a\", \"Coil\", between(20.ohm, 30.ohm));\nlet b = read(\"b\", \"Current\", at_most(2.A), through(\"fuse\"));\nconclude(\"wire\");\n";
    let (place, shown) = run(body, &["key=on"], &["25", "+", "1"]);
    let flat = shown.ended(0).flat();
    let at = |words: &str| flat.find(words).unwrap_or_else(|| panic!("{words}: {flat}"));
    assert!(at("Something feeds the part") < at("Coil"));
    assert!(at("An ammeter is as good as a wire") < at("Current"));
    assert_eq!(told(&place.events()), [["ohms_on_live_circuit"], ["ammeter_in_line"]]);
}

#[test]
fn what_nobody_knows_counts_as_hazardous() {
    let body = "step(\"One\", near(\"lift\", \"exhaust\", \"driveline\"));\nconclude(\"wire\");\n";
    let place = Place::with(body);
    place.run_at_vehicle(&[]).typing(&["", "", "", "", "", "", "+", "+", "+", "+", "+", "+"]).go();
    let all = told(&place.events()).concat();
    for id in [
        "raised_vehicle",
        "hot_exhaust",
        "exhaust_gas",
        "moving_driveline",
        "driveline_can_turn",
        "high_voltage_aboard",
    ] {
        assert!(all.iter().any(|told| told == id), "{id}: {all:?}");
    }
    let (place, _) = run(body, &[], &[]);
    assert_eq!(told(&place.events()), Vec::<Vec<String>>::new());
}

/// The rules that are shipped.
fn rules() -> Vec<toml::Value> {
    let rules = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/stdlib/cautions.toml")).unwrap();
    let rules: toml::Table = rules.parse().unwrap();
    rules["caution"].as_array().unwrap().clone()
}

/// Every hazard with a procedure and a state in which it is there, and one in which it is not.
#[test]
fn every_hazard_has_its_caution() {
    let near = |zone: &str| format!("step(\"One\", near(\"{zone}\"));\n");
    let ohms = "let a = read(\"a\", \"Ohms\", between(20.ohm, 30.ohm));\n";
    let cases: Vec<(&str, String, Vec<&'static str>, bool)> = vec![
        ("raised_vehicle", near("lift"), vec!["lift=raised"], true),
        ("raised_vehicle", near("lift"), vec![], false),
        ("lift_moves", "raise_lift();\n".into(), vec![], true),
        ("lift_moves", "raise_lift();\n".into(), vec!["lift=raised"], false),
        ("hot_exhaust", near("exhaust"), vec!["ran=59"], true),
        ("hot_exhaust", near("exhaust"), vec!["ran=60"], false),
        ("hot_exhaust", near("exhaust"), vec!["engine=running"], true),
        ("exhaust_gas", "start_engine();\n".into(), vec![], true),
        ("exhaust_gas", "crank();\n".into(), vec![], false),
        ("moving_driveline", format!("{}crank();\n", near("driveline")), vec![], true),
        ("moving_driveline", near("driveline"), vec![], false),
        ("driveline_can_turn", near("driveline"), vec!["wheels=free"], true),
        ("cranking", "crank();\n".into(), vec![], true),
        ("wheels_not_chocked", "start_engine();\n".into(), vec!["wheels=free"], true),
        ("wheels_not_chocked", "start_engine();\n".into(), vec![], false),
        ("belts_and_fan", near("belts"), vec![], true),
        ("moves_by_itself", near("powered_part"), vec!["key=on"], true),
        ("moves_by_itself", near("powered_part"), vec![], false),
        ("moved_while_powered", format!("{}hold(\"flap\", \"open\");\n", near("powered_part")), vec!["key=on"], true),
        ("battery_gas", near("battery"), vec![], true),
        ("battery_short_circuit", near("battery"), vec![], true),
        ("battery_short_circuit", near("battery"), vec!["battery=disconnected"], false),
        ("battery_cables", "disconnect_battery();\n".into(), vec![], true),
        ("stored_energy", near("stored_energy"), vec![], true),
        ("airbag", near("airbag"), vec![], true),
        ("airbag_ohms", format!("{}{ohms}", near("airbag")), vec![], true),
        ("airbag_ohms", near("airbag"), vec![], false),
        ("high_voltage", near("high_voltage"), vec![], true),
        ("high_voltage_aboard", near("lift"), vec!["high_voltage=present"], true),
        ("fuel_vapour", near("fuel"), vec![], true),
        ("ohms_on_live_circuit", ohms.into(), vec!["key=on"], true),
        ("ohms_on_live_circuit", ohms.into(), vec![], false),
        ("unplugged_with_key_on", "unplug(\"C41\");\n".into(), vec!["key=on"], true),
        ("unplugged_with_key_on", "unplug(\"C41\");\n".into(), vec![], false),
        ("ammeter_in_line", "let a = read(\"a\", \"Amperes\", at_most(2.A));\n".into(), vec![], true),
        ("ammeter_goes_in", near("meter_in_line"), vec![], true),
        ("ammeter_goes_in", near("battery"), vec![], false),
        ("lost_without_battery", "disconnect_battery();\n".into(), vec![], true),
        ("lost_without_battery", "connect_battery();\n".into(), vec!["battery=disconnected"], false),
        ("load_tester", "carry_out(\"Clips on\", methods([\"load_tester\"]));\n".into(), vec![], true),
        ("load_tester", "carry_out(\"Clips on\", methods([]));\n".into(), vec![], false),
        ("hot_air", "carry_out(\"Warm it\", methods([\"hot_air\"]));\n".into(), vec![], true),
        ("hot_coolant", near("coolant"), vec!["ran=59"], true),
        ("hot_coolant", near("coolant"), vec!["ran=60"], false),
        ("hot_lamp", near("hot_lamp"), vec![], true),
        ("battery_short_circuit", near("unfused_stud"), vec![], true),
        ("jumper_fused", "disconnect(\"a\", \"b\");\n".into(), vec![], false),
        ("jumper_fused", "connect(\"a\", \"b\");\n".into(), vec![], true),
    ];
    let covered: BTreeSet<String> =
        cases.iter().filter(|(.., expected)| *expected).map(|(id, ..)| (*id).to_owned()).collect();
    let shipped = rules().iter().map(|rule| rule["id"].as_str().unwrap().to_owned()).collect();
    assert_eq!(covered, shipped, "every rule has a case in which it is told");
    for (id, body, states, expected) in cases {
        // Whichever of these is wanted: the others are refused there.
        let mut lines = vec!["Q. Person"; usize::from(id.starts_with("high_voltage"))];
        lines.extend(["+", "", "25"].repeat(9));
        let place = Place::with(&format!("{body}conclude(\"wire\");\n"));
        let shown = place.run_at_vehicle(&but(&states)).typing(&lines).in_vain().go().ended(0);
        let events = place.events();
        // More was typed than was asked for: what was asked for is what the body has, and nothing else.
        let (readings, other): (Vec<_>, Vec<_>) = body.lines().partition(|line| line.contains("read("));
        let actions = other.iter().filter(|line| !line.starts_with("step(")).count();
        assert_eq!(
            (
                of_kind(&events, "answered").len(),
                of_kind(&events, "acted").iter().filter(|event| event["back"] != true).count()
            ),
            (readings.len(), actions),
            "{shown}"
        );
        let told = [told(&events).concat(), reminded(&events)].concat();
        assert_eq!(told.iter().any(|told| told == id), expected, "{id} with {states:?}: {told:?}\n{body}\n{shown}");
    }
}

#[test]
fn whose_word_comes_first_is_said_once_and_each_rule_says_all_that_it_must() {
    let (_, shown) = run("step(\"One\", near(\"battery\"));\nconclude(\"wire\");\n", &[], &["+", "+"]);
    assert_eq!((shown.count("> +"), shown.count("licensed practice")), (2, 1), "{shown}");
    for rule in rules() {
        let text = |field: &str| rule[field].as_str().unwrap();
        assert!(rule.get("word").is_none() && rule.get("text").is_none(), "the word is worked out: {rule}");
        assert!(text("source").len() > 5, "{rule}");
        for field in ["hazard", "consequence", "avoid"] {
            assert!(text(field).ends_with('.'), "{field}: {rule}");
        }
        // What is to be done stands as an action before the caution.
        for step in ["Chock the", "Put the", "Set the lift", "hose on"] {
            assert!(!text("avoid").contains(step), "{rule}");
        }
    }
    let text = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/stdlib/cautions.toml")).unwrap();
    for rule in rules() {
        let id = rule["id"].as_str().unwrap();
        let reasons = text
            .lines()
            .filter(|line| line.strip_prefix("#   ").is_some_and(|rest| rest.starts_with(&format!("{id} "))));
        assert_eq!(reasons.count(), 1, "{id} has one sentence of reason for its word");
    }
}

#[test]
fn only_the_plus_says_that_it_was_read() {
    let body = "step(\"One\", near(\"lift\"));\nnote(\"a\", \"A?\");\nconclude(\"wire\");\n";
    let (place, shown) =
        run(body, &["lift=raised"], &["", "1", "y", "yes", "ok", "why", "back", "skip it", "++", "+", "a"]);
    let shown = shown.ended(0);
    assert_eq!(shown.count("Type + and Enter to confirm it"), 6, "{shown}");
    assert_eq!(shown.count(" source: "), 1, "{shown}");
    shown.says("There is no answer yet that could be undone");
    let events = place.events();
    // A pipe is no person.
    let acknowledged = &of_kind(&events, "acknowledged")[0];
    assert_eq!((&acknowledged["by_person"], &acknowledged["origin"]["from"]), (&false.into(), &"input".into()));
    place.call("show").go().ended(0).says("not confirmed by a person");
    let (place, shown) = run(body, &["lift=raised"], &["pause"]);
    shown.ended(4);
    assert_eq!(of_kind(&place.events(), "acknowledged").len(), 0);
}

#[test]
fn cautions_are_told_worst_first_and_each_danger_and_warning_is_acknowledged() {
    let body = "step(\"One\", near(\"exhaust\", \"lift\"));\nconclude(\"wire\");\n";
    let (_, shown) = run(body, &["lift=raised", "ran=5"], &["+", "+"]);
    assert_snapshot!(shown.ended(0), @"
    exit 0
    --- stdout
    Test (revision 1)
    Unit 12
    The vehicle manufacturer's instructions, local codes and licensed practice come
    before every caution here.
    Record 1: 2026-11-24-090000-p-unit-12
    STEP     One
    ⚠ DANGER  A raised vehicle can come down. It crushes anyone under it.
      Go under it only on set locks or stands. Tried by hand, not by eye.
    + locks or stands set and tried   .. more > +
    ⚠ WARNING  The exhaust is hot. Bare metal above 51 °C burns within a minute, and
      an exhaust is several times hotter.
      Keep skin, sleeves and leads off it. It needs about an hour to cool.
    + clear of the exhaust   .. more > +
    ── result ──────────────────────────────────────────────────────────────────────
    FOUND    Wire open
    DO       Repair the wire
    Enter accepts, -- undoes the last answer >
    Found: Wire open. Do: Repair the wire.
    Record 1: 2026-11-24-090000-p-unit-12
    Next: ohmwright report 1
    ");
}

#[test]
fn a_notice_needs_no_key() {
    let (place, shown) = run("unplug(\"C41\");\nconclude(\"wire\");\n", &["key=on"], &[""]);
    shown.ended(0).says("NOTICE").never_says("  + ");
    assert_eq!(of_kind(&place.events(), "acknowledged").len(), 0);
}

#[test]
fn on_taking_up_what_holds_is_told_again_together() {
    let body = "step(\"One\", near(\"lift\", \"battery\"));\nnote(\"a\", \"A?\");\nnote(\"b\", \"B?\");\nconclude(\"wire\");\n";
    let (place, shown) = run(body, &["lift=raised"], &["+", "+", "+", "a", "pause"]);
    shown.ended(4);
    let shown = place.call("resume").typing(&["", "+", "+", "+", "b", ""]).go().ended(0);
    assert_eq!(shown.count("> +"), 3, "{shown}");
    let told = told(&place.events());
    assert_eq!(told.len(), 2);
    assert_eq!(told[0], told[1]);
}

#[test]
fn after_taking_back_what_holds_is_confirmed_again() {
    let body = "step(\"One\", near(\"lift\"));\nnote(\"a\", \"A?\");\nnote(\"b\", \"B?\");\nconclude(\"wire\");\n";
    let (place, shown) = run(body, &["lift=raised"], &["+", "a", "back", "+", "a", "b"]);
    shown.ended(0);
    assert_eq!(told(&place.events()).len(), 2);
    let body = body.replace("note(\"b\"", "key_on();\nnote(\"b\"");
    let (place, shown) = run(&body, &["lift=raised"], &["+", "a", "", "back a", "", "+", "", "a", "", "b"]);
    shown.ended(0);
    assert_eq!(told(&place.events()).len(), 2);
}

#[test]
fn what_belongs_to_a_method_is_confirmed_again_after_a_slip_and_reminded_of_in_another_step() {
    let body = "key_on();\nstep(\"One\", near(\"powered_part\"));\nlet a = sweep(\"a\", \"A\", ends(0.5.V, 4.5.V), across(\"x\", \"y\"), moving(\"flap\"));\n\
        note(\"b\", \"B?\");\nstep(\"Two\", near(\"powered_part\"));\nlet c = sweep(\"c\", \"C\", ends(0.5.V, 4.5.V), across(\"x\", \"y\"), moving(\"flap\"));\nconclude(\"wire\");\n";
    let (place, shown) =
        run(body, &[], &["", "+", "0.5 2.5 4.0", "", "back", "+", "0.5 2.5 4.5", "", "b", "0.5 2.5 4.5", ""]);
    shown.ended(0);
    // It is the hazard of what moves by itself, seen from another side: that one is confirmed.
    assert_eq!(told(&place.events()).concat(), ["moves_by_itself", "moves_by_itself"]);
    assert_eq!(reminded(&place.events()), ["moved_while_powered"; 3]);
    place.call("verify --allow-unsigned").go().ended(0);
}

#[test]
fn what_an_action_ends_is_told_before_it() {
    let place = Place::with("step(\"One\");\nlower_lift();\nconclude(\"wire\");\n");
    place.file("shop.toml", OWN.replace("ID", "pit").replace("WHEN", "lift = [\"raised\"], methods = [\"move_lift\"]"));
    let (state, lines) = (but(&["lift=raised"]), ["+", "+", ""]);
    let flat = place.run_at_vehicle(&state).typing(&lines).typing(&LET_STAND).go().ended(0).flat();
    assert!(flat.find("Mind the pit").unwrap() < flat.find("DO Lower the vehicle").unwrap(), "{flat}");
    // From the floor it is not raised before or after.
    let place = Place::with("step(\"One\");\nlower_lift();\nconclude(\"wire\");\n");
    place.file("shop.toml", OWN.replace("ID", "pit").replace("WHEN", "lift = [\"raised\"], methods = [\"move_lift\"]"));
    place.run_at_vehicle(&SAFE).typing(&LET_STAND).go().ended(0).never_says("Mind the pit");
}

#[test]
fn a_corrected_vehicle_is_what_cautions_look_at() {
    let body = "step(\"One\", near(\"lift\"));\nnote(\"a\", \"A?\");\nconclude(\"wire\");\n";
    let (place, shown) = run(body, &[], &["pause"]);
    shown.ended(4);
    place
        .call("resume")
        .typing(&["lift=raised", "", "+", "a", ""])
        .go()
        .ended(0)
        .says("A raised vehicle can come down");
}

#[test]
fn high_voltage_names_a_qualified_person_or_ends() {
    let body = "step(\"One\", near(\"high_voltage\"));\nnote(\"a\", \"A?\");\nconclude(\"wire\");\n";
    let (place, shown) = run(body, &[], &["Q. Person", "+", "a"]);
    shown.ended(0);
    assert_eq!(of_kind(&place.events(), "acknowledged")[0]["qualified"], "Q. Person");
    place.call("show").go().ended(0).says("qualified person: Q. Person");
    let (place, shown) = run(body, &[], &[]);
    shown.ended(5).says("no qualified person was named").never_says("A?");
    assert_eq!(of_kind(&place.events(), "answered").len(), 0);
    // What else is typed there is no name.
    let (place, shown) = run(body, &[], &["+", "why", "back", "help", "2", "Q. Person", "+", "a"]);
    shown.ended(0).says("source: ").says("Type the name; Enter alone ends the run");
    assert_eq!(of_kind(&place.events(), "acknowledged")[0]["qualified"], "Q. Person");
    let (place, shown) = run(body, &[], &["pause"]);
    shown.ended(4);
    assert_eq!(of_kind(&place.events(), "acknowledged").len(), 0);
    // Nobody can name one in a file.
    let place = Place::with(body);
    place.with_answers("").ended(5).says("no qualified person was named");
    assert_eq!(of_kind(&place.events(), "answered").len(), 0);
}

#[test]
fn where_nobody_was_there_the_record_says_just_that() {
    let place = Place::with("step(\"One\", near(\"battery\"));\nnote(\"a\", \"A?\");\nconclude(\"wire\");\n");
    place.with_answers("a = \"x\"").ended(0).says("Not confirmed by a person");
    assert_eq!(of_kind(&place.events(), "acknowledged")[0]["by_person"], false);
}

#[test]
fn a_clock_that_ran_backward_means_hot() {
    let body = "note(\"a\", \"A?\");\nstep(\"One\", near(\"exhaust\"));\nnote(\"b\", \"B?\");\nconclude(\"wire\");\n";
    let (place, shown) = run(body, &["ran=600"], &["pause"]);
    shown.ended(4);
    let back = place.call("resume").clock("2026-11-23T09:00:00Z").typing(&["", "a", "+", "b", ""]).go().ended(0);
    back.says("The exhaust is hot");
}

#[test]
fn an_exhaust_cools_while_the_run_is_put_down() {
    let body = "stop_engine();\nnote(\"a\", \"A?\");\nstep(\"One\", near(\"exhaust\"));\nnote(\"b\", \"B?\");\nconclude(\"wire\");\n";
    for (clock, hot) in [("2026-11-24T09:59:00Z", true), ("2026-11-24T10:01:00Z", false)] {
        let place = Place::with(body);
        let states = but(&["engine=running"]);
        let states: Vec<_> = states.into_iter().filter(|state| !state.starts_with("ran")).collect();
        place.run_at_vehicle(&states).typing(&["+", "", "pause"]).go().ended(4);
        let lines: &[&str] = if hot { &["", "a", "+", "b"] } else { &["", "a", "b"] };
        let shown = place.call("resume").clock(clock).typing(lines).typing(&LET_STAND).go().ended(0);
        assert_eq!(shown.count("The exhaust is hot"), usize::from(hot), "{shown}");
    }
}

#[test]
fn at_a_caution_the_last_answer_is_taken_back_and_the_caution_comes_again() {
    let body = "note(\"a\", \"A?\");\nstep(\"One\", near(\"lift\"));\nnote(\"b\", \"B?\");\nconclude(\"wire\");\n";
    let (place, shown) = run(body, &["lift=raised"], &["slip", "help", "back", "right", "+", "b"]);
    let shown = shown.ended(0).says("you have read it").says("Undone: `a` and all later answers");
    assert_eq!(shown.count("A raised vehicle can come down"), 2, "{shown}");
    let events = place.events();
    assert_eq!(told(&events), [["raised_vehicle"], ["raised_vehicle"]]);
    assert_eq!(of_kind(&events, "acknowledged").len(), 1, "the first one was not read");
    assert_eq!(
        of_kind(&events, "answered").iter().map(|event| &event["words"]).collect::<Vec<_>>(),
        ["slip", "right", "b"]
    );
    place.call("verify --allow-unsigned").go().ended(0);
}

#[test]
fn a_time_beyond_all_reckoning_is_hot_and_not_a_crash() {
    for minute in ["-9223372036854775808", "-1", "9223372036854775807"] {
        let place = Place::with("step(\"One\", near(\"exhaust\"));\nconclude(\"wire\");\n");
        place.file(
            "answers.toml",
            format!(
                "procedure = \"p\"\n[vehicle]\nengine = \"stopped\"\nengine_stopped_at = {minute}\nhigh_voltage = \"absent\"\n[answers]\n"
            ),
        );
        place.call("run p.rhai --answers answers.toml").go().without_panic().ended(0);
        assert_eq!(told(&place.events()), [["hot_exhaust"]], "{minute}");
    }
}

const OWN: &str = "name = \"Test shop\"\n[[caution]]\nid = \"ID\"\nword = \"WARNING\"\ntext = \"Mind the pit by bay 3.\"\nsource = \"shop rule\"\nwhen = { WHEN }\n";

fn shop(id: &str, when: &str) -> Place {
    let place = Place::with("step(\"One\", near(\"lift\"));\nconclude(\"wire\");\n");
    place.file("shop.toml", OWN.replace("ID", id).replace("WHEN", when));
    place
}

#[test]
fn the_shops_own_caution_is_added() {
    let place = shop("pit", "zones = [\"lift\"]");
    place
        .run_at_vehicle(&but(&["lift=raised"]))
        .typing(&["+", "+", ""])
        .go()
        .ended(0)
        .says("Mind the pit")
        .says("A raised vehicle can come down");
    assert_eq!(told(&place.events()), [["raised_vehicle", "pit"]]);
    // A zone of the shop's own is one that a step may be near.
    let place = shop("pit", "zones = [\"pit\"]");
    place.procedure("step(\"One\", near(\"pit\"));\nconclude(\"wire\");\n");
    place.at_vehicle(&["+", ""]).ended(0).says("Mind the pit");
}

#[test]
fn a_shop_can_not_silence_a_caution() {
    shop("raised_vehicle", "zones = [\"pit\"]")
        .at_vehicle(&[])
        .ended(3)
        .says("the caution `raised_vehicle` is one of the library's: a shop adds under a name of its own, and can't replace it")
        .says("shop.toml:3:6");
    shop("pit", "").at_vehicle(&[]).ended(3).says("has no condition under `when`").says("shop.toml:7:8");
    shop("pit", "zone = [\"lift\"]")
        .at_vehicle(&[])
        .ended(3)
        .says("nothing is called `zone` here")
        .says("did you mean `zones`?");
}

#[test]
fn a_clamp_opens_nothing_and_is_no_ammeter_in_line() {
    let body = |leads: &str| {
        format!(
            "step(\"One\");\nlet a = read(\"a\", \"Current\", between(100.A, 300.A), {leads}(\"cable\"));\nconclude(\"wire\");\n"
        )
    };
    let (place, shown) = run(&body("clamp"), &[], &["150"]);
    shown.ended(0).says("CLAMP round cable");
    assert_eq!(told(&place.events()), [] as [Vec<String>; 0]);
    let (place, shown) = run(&body("through"), &[], &["+", "150"]);
    shown.ended(0).says("IN LINE cable");
    assert!(!told(&place.events()).is_empty());
}

/// A lamp straight from the battery, and a coil that only the key feeds.
const FED: &str = r#"title = "Lamp and coil"
zero_volts = "battery.negative"
start = { key = "off" }
point = [{ id = "battery.positive", near = [] }, { id = "battery.negative", near = [] }, { id = "coil", near = [] }, { id = "loose", near = [] }]
part = [
  { id = "battery", kind = "battery", positive = "battery.positive", negative = "battery.negative", volts = "12.6 V" },
  { id = "lamp", kind = "lamp", from = "battery.positive", to = "battery.negative", volts = "12 V", amperes = "2 A" },
  { id = "switch", kind = "switch", from = "battery.positive", to = "coil", closed_when = { key = "on" } },
  { id = "coil", kind = "coil", from = "coil", to = "battery.negative", resistance = "80 ohm" },
  { id = "bleeder", kind = "resistor", from = "loose", to = "battery.negative", resistance = "1 kohm" },
]
"#;

#[test]
fn the_circuit_tells_whether_something_feeds_what_is_measured_with_ohms() {
    let read = |id: &str, from: &str| {
        format!("read(\"{id}\", \"Ohms\", no_limits(\"ohm\"), across(\"{from}\", \"battery.negative\"));\n")
    };
    let procedure = |circuit: &str, body: &str| {
        format!(
            "//! title = \"Test\"\n//! revision = 1\n{circuit}//! [causes]\n\
             //! wire = {{ cause = \"Wire open\", correction = \"Repair the wire\" }}\n{body}conclude(\"wire\");\n"
        )
    };
    let told_with = |circuit: &str, body: &str, key: &'static str, lines: &[&str]| {
        let place = Place::new();
        place.file("shop.toml", "name = \"Shop\"\n").file("circuits/fed.toml", FED);
        place.file("p.rhai", procedure(circuit, body));
        place.run_at_vehicle(&but(&[key])).typing(lines).typing(&LET_STAND).go().ended(0);
        place.call("verify").width(200).go().ended(1).says("same cause, same cautions");
        told(&place.events()).concat()
    };
    let with = |body: &str, key, lines: &[&str]| told_with("//! circuit = \"fed\"\n", body, key, lines);
    let (lamp, coil, loose) = (read("a", "battery.positive"), read("b", "coil"), read("c", "loose"));
    let ohms = "ohms_on_live_circuit";
    // With the key off the lamp is fed all the same; the coil is not.
    assert_eq!(with(&lamp, "key=off", &["0.5"]), [ohms]);
    assert!(with(&coil, "key=off", &["80"]).is_empty());
    assert_eq!(with(&coil, "key=on", &["80"]), [ohms]);
    // What hangs on nothing is not fed, key on or off.
    assert!(with(&loose, "key=on", &["1000"]).is_empty());
    // One line where it becomes true again, nothing while it stays so.
    let volts = "read(\"v\", \"Volts\", no_limits(\"V\"), across(\"battery.positive\", \"battery.negative\"));\n";
    let again = lamp.replace("\"a\"", "\"d\"");
    assert_eq!(with(&format!("{lamp}{volts}{again}"), "key=off", &["0.5", "12.6", "0.5"]), [ohms]);
    assert_eq!(with(&format!("{lamp}{loose}{again}"), "key=off", &["0.5", "1000", "0.5"]), [ohms]);
    // Without a circuit, or at a place that it does not know, the key tells; an unknown key counts as on.
    for (key, hazard) in [("key=off", false), ("key=on", true)] {
        assert_eq!(told_with("", &lamp, key, &["0.5"]).is_empty(), !hazard);
        let nowhere = "read(\"a\", \"Ohms\", no_limits(\"ohm\"));\n";
        assert_eq!(with(nowhere, key, &["0.5"]).is_empty(), !hazard);
    }
}

#[test]
fn a_caution_that_was_confirmed_comes_again_as_one_line_and_the_record_says_reminded() {
    let body = "step(\"One\", near(\"fuel\"));\nnote(\"a\", \"A?\");\nstep(\"Two\");\nnote(\"b\", \"B?\");\n\
        step(\"Three\", near(\"fuel\"));\nnote(\"c\", \"C?\");\nconclude(\"wire\");\n";
    let (place, shown) = run(body, &[], &["+", "a", "b", "c"]);
    shown.ended(0).says("\u{26a0} DANGER again: fuel or vapor. No spark, no hot lamp, no live jumper.");
    let events = place.events();
    assert_eq!((told(&events).len(), of_kind(&events, "acknowledged").len()), (1, 1));
    assert_eq!(reminded(&events), ["fuel_vapour"]);
    for event in of_kind(&events, "cautioned").iter().chain(&of_kind(&events, "reminded")) {
        assert_eq!(event["cautions"][0]["digest"].as_str().unwrap().len(), 64, "{event}");
    }
    place.call("show").go().ended(0).says("Reminded of the cautions: fuel vapour");
    place.call("verify --allow-unsigned").go().ended(0);
}

#[test]
fn the_same_hazard_is_confirmed_each_time_where_the_rule_wants_that() {
    let (place, _) = run(
        "connect_battery();\ndisconnect_battery();\nconnect_battery();\nconclude(\"wire\");\n",
        &["battery=disconnected"],
        &["+", "+", "+", "", "+", "", "+", ""],
    );
    let cables = told(&place.events()).concat().iter().filter(|id| *id == "battery_cables").count();
    assert_eq!(cables, 3);
}

#[test]
fn the_engine_is_cranked_again_without_a_key_until_somebody_moves_a_lead() {
    let read = |id: &str, at: &str| {
        format!("crank();\nread(\"{id}\", \"Volts\", no_limits(\"V\"), across(\"{at}\", \"b\"));\nstop_engine();\n")
    };
    let body = format!("{}{}{}conclude(\"wire\");\n", read("a", "x"), read("b", "x"), read("c", "y"));
    let lines = ["+", "", "9.6", "", "9.6", "+", "", "9.6"];
    let (place, shown) = run(&body, &["key=on"], &lines);
    let events = {
        _ = shown.ended(0);
        place.events()
    };
    assert_eq!(told(&events).concat().iter().filter(|id| *id == "cranking").count(), 2);
    assert_eq!(reminded(&events), ["cranking"]);
}

#[test]
fn a_place_of_which_nothing_is_said_is_near_every_hazard_and_an_empty_list_is_near_none() {
    let told_at = |near: &str| {
        let place = Place::new();
        place.file("shop.toml", "name = \"Shop\"\n").file("circuits/fed.toml", FED.replace(", near = []", near));
        let procedure = "//! title = \"Test\"\n//! revision = 1\n//! circuit = \"fed\"\n//! [causes]\n\
             //! wire = { cause = \"Wire open\", correction = \"Repair the wire\" }\n\
             read(\"a\", \"Volts\", no_limits(\"V\"), across(\"coil\", \"battery.negative\"));\nconclude(\"wire\");\n";
        place.file("p.rhai", procedure);
        // However many there are: a `+` too many is no reading.
        let confirmed = if near.is_empty() { 9 } else { 2 };
        place.run_at_vehicle(&SAFE).typing(&vec!["+"; confirmed]).typing(&["0"]).typing(&LET_STAND).go();
        told(&place.events()).concat()
    };
    assert_eq!(told_at(", near = []"), Vec::<String>::new());
    assert_eq!(told_at(", near = [\"battery\"]"), ["battery_gas", "battery_short_circuit"]);
    let all = told_at("");
    for id in ["battery_gas", "airbag", "fuel_vapour", "belts_and_fan", "stored_energy"] {
        assert!(all.iter().any(|told| told == id), "{id}: {all:?}");
    }
    assert!(all.iter().all(|told| told != "high_voltage" && told != "raised_vehicle"), "{all:?}");
}

#[test]
fn what_is_done_in_the_authors_words_counts_as_whatever_rules_of_its_zones_speak_of_unless_it_names_its_methods() {
    let told_with = |methods: &str| {
        let body = format!(
            "step(\"One\", near(\"battery\"));\ncarry_out(\"Part the batteries\"{methods});\nconclude(\"wire\");\n"
        );
        let (place, shown) = run(&body, &[], &["+", "+", "+", ""]);
        shown.without_panic();
        told(&place.events()).concat().contains(&"battery_cables".to_owned())
    };
    assert!(told_with(""));
    assert!(told_with(", methods([\"battery_cable\"])"));
    assert!(!told_with(", methods([])"));
    Place::with("carry_out(\"x\", methods([\"battery_cables\"]));\nconclude(\"wire\");\n")
        .at_vehicle(&[])
        .ended(3)
        .says("there is no method `battery_cables`")
        .says("did you mean `battery_cable`?");
}

#[test]
fn a_dangerous_voltage_that_is_accepted_ends_the_run() {
    let body = "read(\"a\", \"Volts\", between(11.V, 15.V));\nread(\"b\", \"Volts\", between(11.V, 15.V));\nconclude(\"wire\");\n";
    for typed in ["121", "52 V", "-52 V"] {
        let place = Place::with(body);
        let shown = place.run_at_vehicle(&SAFE).typing(&[typed, "+"]).go().without_panic();
        shown.ended(5).says("Stop. Hands and leads off. Find out what this voltage is.");
        let events = place.events();
        assert_eq!((of_kind(&events, "answered").len(), of_kind(&events, "doubted").len()), (1, 1), "{typed}");
        assert_eq!(of_kind(&events, "ended")[0]["why"], "dangerous_voltage", "{typed}");
        place.call("verify --allow-unsigned").go().ended(0);
    }
    let (place, shown) = run(body, &[], &["49 V", "+", "12.5"]);
    shown.ended(0);
    assert_eq!(of_kind(&place.events(), "answered").len(), 2);
}

#[test]
fn an_older_rule_of_a_shop_counts_and_is_remarked_on_with_what_to_write() {
    let place = shop("pit", "zones = [\"lift\"]");
    place
        .run_at_vehicle(&but(&["lift=raised"]))
        .typing(&["+", "+", ""])
        .go()
        .ended(0)
        .says("has a `word` and a `text`, the older way")
        .says("Write hazard, harm, likelihood, consequence, avoid and confirm_text");
    let place = Place::with("step(\"One\", near(\"lift\"));\nconclude(\"wire\");\n");
    place.file("shop.toml", "name = \"Test shop\"\n[[caution]]\nid = \"pit\"\nhazard = \"A pit.\"\nharm = \"death\"\nsource = \"shop rule\"\nwhen = { zones = [\"lift\"] }\n");
    place.at_vehicle(&[]).ended(3).says("the caution `pit` is not whole: see `likelihood`");
}
