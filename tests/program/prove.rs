//! `prove`: what it says of pairs of faults.

use crate::place::Place;

#[test]
fn pairs_that_go_astray_are_listed_with_what_the_readings_say() {
    let place = Place::new();
    let shown = place.call("prove temperature_sensor --pairs --samples 1").width(400).go().without_panic().ended(1);
    shown
        .says("Pairs that go astray:")
        .says("the two hide each other")
        .says("both change the same part")
        .says("good part condemned")
        .says("0 of 192");
    place.call("prove key_off_draw --pairs --samples 1").width(400).go().never_says("Pairs that go astray");
}

#[test]
fn a_pair_that_reads_like_one_fault_is_told_by_its_name() {
    // It measures the feed and nothing behind it: with the feed broken, nothing parts a burnt-out lamp from a good one.
    let place = Place::with(
        "key_on();\nhold(\"lamp_switch\", \"on\");\n\
         let power = read(\"power\", \"Power side\", between(-1.V, 0.6.V), across(\"battery_positive\", \"lamp_feed\"));\n\
         let current = read(\"current\", \"Current\", at_least(1.A), through(\"lamp_feed\"));\n\
         if power.ok && current.low { conclude(\"part\"); }\nif power.high { conclude(\"wire\"); }\nconclude(\"not_present\");\n",
    );
    let shown = place.call("prove p.rhai --circuit lamp --pairs --samples 1").width(400).go().without_panic().ended(1);
    shown.says(
        "feed_wire_open + lamp_burnt_out ┆ 1 of 1 ┆ part ┆ every reading is judged as with ground_wire_open, lamp_burnt_out or connector_pin_spread alone",
    );
}

#[test]
fn a_sweep_that_is_stuck_does_not_read_like_one_that_breaks_off() {
    let place = Place::with(
        "key_on();\n\
         let track = sweep(\"track\", \"Turn the shaft\", ends(0.5.V, 4.5.V), across(\"signal\", \"ground\"), moving(\"flap\"));\n\
         if track.stuck { conclude(\"wire\"); }\nif !track.follows { conclude(\"part\"); }\nconclude(\"not_present\");\n",
    );
    place.call("prove p.rhai --circuit flap_sensor --pairs --samples 1 --json proof.json").go().without_panic();
    let proof: serde_json::Value = serde_json::from_str(&place.read("proof.json")).unwrap();
    let astray = |one: &str, other: &str| {
        let pairs = proof["pairs"].as_array().unwrap();
        pairs.iter().find(|pair| pair["faults"] == serde_json::json!([one, other])).unwrap()["astray"].clone()
    };
    let short = astray("reference_wire_to_battery", "sensor_drift");
    assert_eq!(
        short["reads_like"],
        serde_json::json!(["reference_wire_to_battery", "sensor_worn", "module_reference_high"])
    );
    assert_eq!(short["reads_healthy"], false);
    // Nor does the healthy circuit stand among the faults, with no name.
    let hidden = astray("signal_wire_open", "sensor_worn");
    assert_eq!(hidden["reads_healthy"], true);
    assert!(hidden["reads_like"].as_array().unwrap().iter().all(|fault| fault != ""), "{hidden}");
}

#[test]
fn a_check_after_the_repair_that_calls_a_fault_repaired_is_a_proof_that_failed() {
    let check = |limits: &str| {
        format!(
            "key_on();\nhold(\"lamp_switch\", \"on\");\nlet current = read(\"current\", \"Current\", at_least(1.A), through(\"lamp_feed\"));\n\
             if current.low {{ conclude([\"part\", \"wire\"]); }}\nconclude(\"not_present\");\n\
             fn after_repair() {{\n    key_on();\n    hold(\"lamp_switch\", \"on\");\n    \
             let again = read(\"current\", \"Current\", {limits}, through(\"lamp_feed\"));\n    \
             if again.ok {{ conclude(\"not_present\"); }}\n    conclude(\"part\");\n}}\n"
        )
    };
    let place = Place::with(&check("at_least(0.A)"));
    let call = "prove p.rhai --circuit lamp --samples 2 --json proof.json --csv proof.csv";
    let shown = place.call(call).width(400).go().without_panic().ended(1);
    shown
        .says("The check after the repair, with each fault still in:")
        .says("runs of the check after the repair are wrong");
    let proof: serde_json::Value = serde_json::from_str(&place.read("proof.json")).unwrap();
    let after = proof["after_repair"].as_array().unwrap();
    assert_eq!(
        (&after[0]["faults"], &after[0]["judged"]),
        (&serde_json::json!([]), &serde_json::json!({ "right": 2 }))
    );
    let burnt = after.iter().find(|case| case["faults"][0] == "lamp_burnt_out").unwrap();
    assert_eq!(burnt["judged"], serde_json::json!({ "missed": 2 }));
    assert!(place.read("proof.csv").lines().next().unwrap().ends_with(",current,after_repair.current"));
}

#[test]
fn an_error_in_a_library_function_is_told_by_the_file_in_which_it_is() {
    let place = Place::with("");
    place.file("shop.toml", "name = \"Test\"\n").file(
        "library/own.rhai",
        "//! title = \"Own\"\n\nfn feed(role) {\n    key_on();\n    read(\"feed\", \"Feed\", at_least(9.V), across(role, \"battery_negative\"))\n}\n",
    );
    place.file(
        "p.rhai",
        "//! title = \"Test\"\n//! revision = 1\n//! uses = [\"own\"]\nown::feed(\"lamp_fed\");\nconclude(\"not_present\");\n",
    );
    let shown = place.call("prove p.rhai --circuit lamp --samples 1").width(300).go().ended(3);
    shown.says("library/own.rhai:5:41");
    place.file("t.csv", "vehicle\nUnit 1\n");
    place.call("batch p.rhai t.csv --bench lamp").width(300).go().ended(1).says("library/own.rhai)");
}

#[test]
fn causes_of_the_circuit_and_of_the_header_that_do_not_meet_are_named() {
    let place = Place::with(
        "key_on();\nlet feed = read(\"feed\", \"Feed\", at_least(9.V), across(\"lamp_feed\", \"battery_negative\"));\n\
        if feed.low { conclude(\"wire\"); }\nconclude(\"not_present\");\n",
    );
    let shown = place.call("circuit lamp").width(300).go().ended(0);
    assert!(shown.out.contains("lamp_burnt_out"), "{shown}");
    let shown = place.call("prove p.rhai --circuit lamp --samples 1").width(300).go().ended(1);
    shown
        .says("note: the circuit's fault `fuse_open` has the cause `fuse_open`, and the procedure has no such cause")
        .says("note: the header has the cause `part`, and nothing in the script concludes it")
        .says("note: no fault of the circuit has the cause `wire`: that it is found is not proven");
    // What is lacking in the circuit is said with the proof, too.
    let lamp = include_str!("../../procedures/circuits/lamp.toml");
    let (before, shows) = lamp.split_once("\nshows = [").unwrap();
    place.file("silent.toml", format!("{before}\n{}", shows.split_once("\n]\n").unwrap().1));
    let shown = place.call("prove p.rhai --circuit silent.toml --samples 1").width(300).go().ended(1);
    shown.says("nothing says when a driver notices a fault: add `shows`");
    let shipped = place.call("prove temperature_sensor --samples 1").width(300).go();
    shipped.never_says("no such cause").never_says("concludes it").never_says("is not proven");
    let script = "//! title = \"Test\"\n//! revision = 1\n//! [causes]\n//! fuse_opne = { cause = \"x\", correction = \"y\" }\nconclude(\"fuse_opne\");\n";
    place.file("q.rhai", script);
    let shown = place.call("prove q.rhai --circuit lamp --samples 1").width(300).go().ended(1);
    shown.says("has the cause `fuse_open`").says("did you mean `fuse_opne`?");
}

#[test]
fn a_limit_that_follows_from_a_reading_is_not_shown_as_if_it_were_one() {
    let place = Place::with(
        "key_on();\nhold(\"lamp_switch\", \"on\");\n\
         let battery = read(\"battery\", \"Battery\", at_least(9.V), across(\"battery_positive\", \"battery_negative\"));\n\
         let feed = read(\"feed\", \"Feed\", at_least(battery.value - 0.6.V), across(\"lamp_feed\", \"battery_negative\"));\n\
         if feed.low { conclude(\"wire\"); }\nconclude(\"part\");\n",
    );
    place
        .call("prove p.rhai --circuit lamp --samples 3 --json proof.json")
        .width(300)
        .go()
        .ended(1)
        .says(" V, varies ┆");
    let proof: serde_json::Value = serde_json::from_str(&place.read("proof.json")).unwrap();
    let limits: Vec<_> =
        proof["limits"].as_array().unwrap().iter().map(|limit| (&limit["prompt"], &limit["varies"])).collect();
    assert!(limits.contains(&(&"feed".into(), &true.into())), "{limits:?}");
    assert!(limits.contains(&(&"battery".into(), &false.into())), "{limits:?}");
}

/// Reads everything twice before it condemns anything.
const SURE: &str = "key_on();\nhold(\"lamp_switch\", \"on\");\n\
    let current = read(\"current\", \"Current\", at_least(1.A), through(\"lamp_feed\"));\n\
    if !current.low { conclude(\"not_present\"); }\n\
    let again = read(\"again\", \"Current\", at_least(1.A), through(\"lamp_feed\"));\n\
    if !again.low { conclude(\"not_present\"); }\n\
    unfinished(\"this procedure parts no causes\");\n";

#[test]
fn a_clean_proof_is_one_line_and_its_tables_are_there_for_who_asks() {
    let place = Place::with(SURE);
    let circuit = "title = \"Lamp\"\nstart = { key = \"off\" }\nexample = true\nzero_volts = \"battery.negative\"\nroles = { lamp_feed = \"C1.1\" }\n\
        connector = [{ id = \"C1\", pins = [\"1\", \"2\"] }]\n\
        point = [{ id = \"battery.positive\" }, { id = \"battery.negative\" }, { id = \"chassis\" }]\n\
        movement = [{ id = \"lamp_switch\", what = \"the switch\", choices = [\"off\", \"on\"], start = \"off\" }]\n\
        part = [\n\
        { id = \"battery\", kind = \"battery\", positive = \"battery.positive\", negative = \"battery.negative\", volts = \"12.6 V ± 0.1 V\" },\n\
        { id = \"negative_clamp\", kind = \"negative_clamp\", from = \"chassis\", to = \"battery.negative\" },\n\
        { id = \"F1\", kind = \"fuse\", from = \"battery.positive\", to = \"switch.in\", rating = \"10 A\" },\n\
        { id = \"switch\", kind = \"switch\", from = \"switch.in\", to = \"C1.1\", closed_when = { lamp_switch = \"on\" } },\n\
        { id = \"lamp\", kind = \"resistor\", from = \"C1.1.component\", to = \"C1.2.component\", resistance = \"3 ohm ± 5 %\" },\n\
        { id = \"ground_wire\", kind = \"wire\", from = \"C1.2\", to = \"chassis\", resistance = \"20 mohm\" },\n]\n\
        inside = [\"switch.in\"]\n\
        cause = [{ id = \"part\", what = \"Lamp\", correction = \"Replace it\", replaces = [\"lamp\"] }]\n\
        fault = [{ id = \"lamp_open\", open = \"lamp\" }]\n";
    place.file("c.toml", circuit);
    let call = "prove p.rhai --circuit c.toml --samples 20";
    let shown = place.call(call).width(300).go().without_panic().ended(0);
    assert!(shown.out.starts_with("p: clean on this simulated circuit: 20 vehicles × 1 fault, "), "{}", shown.out);
    assert_eq!(shown.out.lines().count(), 1, "{}", shown.out);
    shown.says("slips and answers; every branch ran; at most 15 % a fault").says("runs with one slip each follow");
    let shown = place.call(&format!("{call} --table --coverage p.info --json p.json")).width(300).go().ended(0);
    shown.says("right with one cause").never_says("FFD");
    assert!(place.read("p.info").contains("\nBRF:4\nBRH:4\n"), "{}", place.read("p.info"));
    let proof: serde_json::Value = serde_json::from_str(&place.read("p.json")).unwrap();
    assert_eq!((&proof["clean"], &proof["by_parts"]), (&true.into(), &true.into()));
    assert!(proof.get("ffd").is_some() && proof["ffi"].as_array().unwrap().len() == 3);
}

#[test]
fn a_circuit_on_which_a_healthy_vehicle_shows_a_fault_is_refused_with_its_place() {
    let place = Place::with("conclude(\"not_present\");\n");
    let circuit = "title = \"Lamp\"\nstart = { key = \"off\" }\nzero_volts = \"battery.negative\"\n\
        point = [{ id = \"battery.positive\" }, { id = \"battery.negative\" }]\n\
        part = [{ id = \"battery\", kind = \"battery\", positive = \"battery.positive\", negative = \"battery.negative\", volts = \"12.6 V ± 0.1 V\" },\n\
        { id = \"radio\", kind = \"resistor\", from = \"battery.positive\", to = \"battery.negative\", resistance = \"100 ohm ± 5 %\" }]\n\
        shows = [{ from = \"battery.positive\", to = \"battery.negative\", below = \"12.6 V\" }]\n\
        fault = [{ id = \"flat\", cause = \"part\", set = { part = \"battery\", value = \"10 V\" } }]\n";
    place.file("c.toml", circuit);
    let shown = place.call("prove p.rhai --circuit c.toml --samples 20").width(200).go().without_panic().ended(3);
    shown.says("shows this, and nothing is wrong with it").says("c.toml:7");
}

#[test]
fn every_procedure_of_the_shop_is_proven_and_what_none_of_them_ran_of_the_libraries_is_counted() {
    // To prove all that is shipped takes a while: the shop has its own of each name but two, and these name no circuit.
    let place = Place::new();
    place.file("shop.toml", "name = \"Test\"\n");
    let proven = ["key_off_draw", "temperature_sensor"];
    let own = "//! title = \"Own\"\n//! revision = 1\nunfinished(\"nothing is asked\");\n";
    for entry in std::fs::read_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/procedures")).unwrap() {
        let file = entry.unwrap().file_name().into_string().unwrap();
        if file.strip_suffix(".rhai").is_some_and(|name| !proven.contains(&name)) {
            place.file(&format!("procedures/{file}"), own);
        }
    }
    let mut shown = place.call("prove --all --samples 1 --coverage all.info").width(300).go().without_panic();
    for name in proven {
        shown = shown.says(&format!("{name}: "));
    }
    shown = shown.says("`battery` names no circuit, and is not proven");
    shown.says("Library files, over all these procedures: ");
    let tracefile = place.read("all.info");
    let files: Vec<&str> = tracefile.lines().filter(|line| line.starts_with("SF:")).collect();
    let mut once = files.clone();
    once.sort_unstable();
    once.dedup();
    assert_eq!(once.len(), files.len(), "each file once: {files:?}");
    place.call("prove --all flap_sensor").go().ended(2);
}
