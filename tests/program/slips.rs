//! What is found before a record is begun: places, leads, questions and words that can't be meant so.

use crate::place::{Place, SAFE, Shown};
use sha2::Digest;

/// A procedure that names the lamp's circuit, with this body.
fn on_lamp(body: &str) -> Place {
    let place = Place::new();
    place.file(
        "p.rhai",
        format!(
            "//! title = \"Test\"\n//! revision = 1\n//! circuit = \"lamp\"\n//! [causes]\n\
             //! wire = {{ cause = \"Wire open\", correction = \"Repair the wire\" }}\n{body}conclude(\"wire\");\n"
        ),
    );
    place
}

/// What is said before a record is begun, by a run and by a proof alike.
#[track_caller]
fn refused(place: &Place) -> Shown {
    let shown = place.run_at_vehicle(&SAFE).width(200).go().ended(3);
    assert!(place.records().is_empty(), "{shown}");
    let proven = place.call("prove p.rhai --circuit lamp --samples 1").width(200).go().ended(3);
    assert_eq!(shown.err, proven.err);
    shown
}

#[test]
fn an_ammeter_across_the_supply_is_refused_before_anybody_puts_it_there() {
    let place = on_lamp(
        "let amps = read(\"amps\", \"Current\", between(2.A, 8.A), across(\"battery_positive\", \"battery_negative\"));\n",
    );
    let shown = refused(&place).says("p.rhai:6:55");
    shown
        .says("an ammeter across `battery_positive` and `battery_negative` shorts the supply: it goes in line, never across")
        .says("help: put it in line, `through(…)`, or round the wire, `clamp(…)`");
    // Behind a fuse, and at the far end of the ground, it is the same.
    let body = "read(\"amps\", \"Current\", at_most(-2.A), across(\"chassis\", \"relay_feed\"));\n";
    refused(&on_lamp(body)).says("an ammeter across `chassis` and `relay_feed` shorts the supply");
    // In the place of what was taken out it is in line.
    let beside = on_lamp("read(\"amps\", \"Current\", at_most(2.A), across(\"chassis\", \"battery_negative\"));\n");
    beside.call("prove p.rhai --samples 1").go().ended(1);
    // Where there is no circuit, the posts of the battery are known by their names.
    let place = Place::with("read(\"a\", \"A\", at_most(2.A), across(\"battery_negative\", \"battery_positive\"));\n");
    place.run_at_vehicle(&SAFE).go().ended(3).says("shorts the supply");
}

#[test]
fn what_shorts_the_supply_is_refused_where_it_is_put_together_too() {
    let ammeter = "fn amps(red, black) { read(\"amps\", \"Current\", at_most(2.A), across(red, black)) }\n\
                   amps(\"battery_positive\", \"battery_negative\");\n";
    let place = on_lamp(ammeter);
    let shown = place.call("run p.rhai --bench --fault none").width(200).go().ended(3);
    shown.says("p.rhai:6:23").says("an ammeter across `battery_positive` and `battery_negative` shorts the supply");
    let shown = place.call("prove p.rhai --samples 1").width(200).go().ended(3);
    shown.says("p.rhai:6:23").says("error: with no fault: an ammeter across `battery_positive`");
    let place =
        on_lamp("fn wire(from, to) { connect(from, to); }\nwire(\"battery_positive\", \"battery_negative\");\n");
    let shown = place.call("prove p.rhai --samples 1").width(200).go().ended(3);
    shown
        .says("p.rhai:6:21")
        .says("with no fault: a wire from `battery_positive` to `battery_negative` shorts the supply");
}

#[test]
fn a_jumper_across_the_supply_is_refused_and_a_load_is_not() {
    let place = on_lamp("connect(\"battery_positive\", \"chassis\");\n");
    refused(&place).says("p.rhai:6:9").says("a wire from `battery_positive` to `chassis` shorts the supply");
    refused(&on_lamp("connect(\"battery_positive\", \"chassis\", 50.mohm);\n")).says("shorts the supply");
    let load = on_lamp("connect(\"battery_positive\", \"chassis\", 2.ohm);\n");
    load.call("prove p.rhai --samples 1").go().ended(1);
}

#[test]
fn a_jumper_that_shorts_by_way_of_a_closed_switch_is_an_error_of_the_procedure() {
    // The lamp's feed is at the battery only while the relay is pulled in: no name tells that.
    let place = on_lamp("key_on();\nhold(\"lamp_switch\", \"on\");\nconnect(\"relay_output\", \"chassis\");\n");
    let shown = place.call("prove p.rhai --samples 1").width(200).go().ended(3);
    shown
        .says("p.rhai:8:1")
        .says("with no fault: what is connected from `relay_output` to `chassis` shorts the supply");
    place.harmless_circuit("lamp");
    let shown = place.call("run p.rhai --bench --fault none").typing(&["", "", "+", ""]).width(200).go();
    shown.says("shorts the supply").ended(4);
}

#[test]
fn an_ammeter_in_line_shows_no_more_than_its_socket_carries() {
    let place = Place::with(
        "key_on();\nhold(\"lamp_switch\", \"on\");\n\
         let current = read(\"current\", \"Current\", at_most(8.A), through(\"lamp_feed\"));\n\
         if current.over_range { conclude(\"wire\"); }\nconclude(\"part\");\n",
    );
    let lamp = include_str!("../../procedures/circuits/lamp.toml");
    let strong = lamp.replace("amperes = \"5 A ± 8 %\"", "amperes = \"12 A ± 8 %\"");
    place.file("strong.toml", strong.replace("above = \"7 A\"", "above = \"20 A\""));
    place.call("prove p.rhai --circuit strong.toml --samples 1 --json proof.json").go().ended(1);
    let proof: serde_json::Value = serde_json::from_str(&place.read("proof.json")).unwrap();
    assert_eq!(proof["cases"][0]["named"], serde_json::json!({ "wire": 1 }), "{}", proof["cases"][0]);
}

#[test]
fn leads_and_limits_belong_together() {
    let place = on_lamp(
        "read(\"a\", \"A\", between(2.V, 8.V), clamp(\"F7\"));\nread(\"b\", \"B\", at_most(-0.5.ohm), through(\"F7\"));\n\
         read(\"c\", \"C\", at_least(1.V, \"a source\").expecting(2.V), clamp(\"F7\"));\n\
         read_diode(\"d\", \"D\", at_least(1.V), through(\"F7\"));\nread(\"e\", \"E\", no_limits(\"V\"), clamp(\"F7\"));\n\
         read(\"f\", \"F\", at_most(1.A), clamp(\"F7\"));\nread(\"g\", \"G\", at_most(1.A), through(\"F7\"));\n",
    );
    let shown = refused(&place);
    shown
        .clone()
        .says("p.rhai:6:35")
        .says("a clamp round `F7` reads amperes, not volts")
        .says("a meter in line at `F7` reads amperes, not ohms")
        .says("a meter in line at `F7` reads amperes, not a diode test");
    assert_eq!(shown.count("error:"), 5, "{shown}");
    // What is worked out is refused where it is come to.
    let place = Place::with("let limits = at_most(2.V);\nread(\"a\", \"A\", limits, clamp(\"feed\"));\n");
    place.with_answers("").ended(3).says("p.rhai:7:1").says("a clamp round `feed` reads amperes, not volts");
}

#[test]
fn names_that_the_circuit_does_not_have_are_found_before_the_run() {
    let place = on_lamp(
        "fn never() {\n    read(\"a\", \"A\", at_most(2.V), across(\"lamp_fed\", \"battery_negative\"));\n    \
         read(\"b\", \"B\", at_most(2.A), clamp(\"F8\"));\n    hold(\"lamp_swich\", \"on\");\n    \
         hold(\"lamp_switch\", \"onn\");\n    unplug(\"C06\");\n    take_out(\"F77\");\n    \
         connect(\"battery_positive\", \"lamp_gound\", 5.ohm);\n}\n",
    );
    let shown = refused(&place);
    for (at, what, meant) in [
        ("p.rhai:7:41", "the circuit has no role or point `lamp_fed`", "lamp_feed"),
        ("p.rhai:8:40", "the circuit has no role or point `F8`", "F7"),
        ("p.rhai:9:10", "the circuit has no moving part `lamp_swich`", "lamp_switch"),
        ("p.rhai:10:25", "`lamp_switch` can't stand at `onn`; it stands off or on", "on"),
        ("p.rhai:11:12", "the circuit has no connector `C06`", "C60"),
        ("p.rhai:12:14", "the circuit has no fuse or relay `F77`", "F7"),
        ("p.rhai:13:33", "the circuit has no role or point `lamp_gound`", "lamp_ground"),
    ] {
        assert!(shown.err.contains(at) && shown.flat().contains(what), "{at} {what}\n{shown}");
        if meant != "F7" {
            assert!(shown.err.contains(&format!("help: did you mean `{meant}`?")), "{meant}\n{shown}");
        }
    }
    // A position that is put together is refused where it is come to, by a run as by a proof.
    let place = on_lamp("hold(\"lamp_switch\", \"on\" + \"n\");\n");
    let words = "`lamp_switch` can't stand at `onn`; it stands off or on";
    place.run_at_vehicle(&SAFE).width(200).go().ended(3).says(words);
    let place = on_lamp("let to = \"onn\";\nhold(\"lamp_switch\", to);\n");
    place.run_at_vehicle(&SAFE).width(200).go().ended(3).says(words).says("p.rhai:7:1");
    place.call("prove p.rhai --samples 1").width(200).go().ended(3).says(words).says("p.rhai:7:1");
}

#[test]
fn what_a_newer_check_refuses_does_not_make_an_older_record_bad() {
    // Made with a position that there is, then changed everywhere to one that there is not, as if it had been run so.
    let place = on_lamp("let to = \"on\";\nhold(\"lamp_switch\", to);\nlet none = \"\";\n");
    place.answers("").call("run p.rhai --answers answers.toml").go().ended(0);
    let record = place.record();
    let sources = std::fs::read_dir(place.path("records/sources")).unwrap();
    let kept = sources
        .map(|entry| entry.unwrap().path())
        .find(|path| std::fs::read_to_string(path).is_ok_and(|text| text.contains("let to = ")));
    let kept = kept.unwrap();
    let text = std::fs::read_to_string(&kept).unwrap().replace("let to = \"on\"", "let to = \"ajar\"");
    let digest = |text: &str| sha2::Sha256::digest(text).iter().map(|byte| format!("{byte:02x}")).collect::<String>();
    let now = digest(&text);
    std::fs::write(kept.with_file_name(&now), &text).unwrap();
    let before = kept.file_name().unwrap().to_str().unwrap().to_owned();
    let journal = place.journal_of(&record);
    let lines = std::fs::read_to_string(&journal).unwrap();
    let changed = lines.replace(&before, &now).replace("\"position\":\"on\"", "\"position\":\"ajar\"");
    assert_ne!(lines, changed);
    std::fs::write(&journal, changed).unwrap();
    place.call("verify").and(&[&record]).width(200).go().ended(1).says("same 0 verdicts, same cause, same cautions");
    place.call("show").and(&[&record]).width(200).go().ended(0).says("ajar");
}

#[test]
fn a_question_is_asked_for_its_answer() {
    let place = on_lamp(
        "let clean = ask(\"clean\", \"Is it clean?\");\nlet how = choose(\"how\", \"How is it?\", [\"loose\", \"tight\"]);\n\
         if clean == \"yes\" { key_on(); }\nif clean == true { key_on(); }\nif how == 1 { key_on(); }\n\
         if how.yes { key_on(); }\nif clean { key_on(); }\nif ask(\"again\", \"Again?\") == \"yes\" { key_on(); }\n\
         if choose(\"last\", \"Last?\", [\"a\", \"b\"]).no { key_on(); }\n",
    );
    let shown = refused(&place);
    shown
        .clone()
        .says("p.rhai:8:13")
        .says("can't compare a yes or no with the text \"yes\"")
        .says("can't compare a yes or no with true")
        .says("can't compare a choice with the bare number 1")
        .says("a choice has no `.yes`")
        .says("`clean` is a yes or no, which is neither true nor false")
        .says("help: write `.yes` or `.no`")
        .says("help: compare it by `==` with \"loose\" or \"tight\"");
    assert_eq!(shown.count("error:"), 7, "{shown}");
    let place =
        Place::with("fn holds(answer) { answer == true }\nif holds(ask(\"a\", \"A\")) { conclude(\"wire\"); }\n");
    place.with_answers("a = true\n").ended(3).says("can't compare a yes or no with true: write `.yes` or `.no`");
}

#[test]
fn a_check_after_the_repair_that_is_never_run_is_named() {
    for (function, title) in [
        ("fn after_repairs() { key_on(); }", "`after_repairs()` is never called"),
        ("fn after_repair(role) { key_on(); }", "`after_repair` with 1 argument is never called"),
    ] {
        let shown = refused(&on_lamp(&format!("{function}\n")));
        shown.says(title).says("did you mean `after_repair()`? That one is run after the repair").says("p.rhai:6:");
    }
    // A function of the author's own that is called is the author's own.
    let called = on_lamp("fn after_repairs() { key_on(); }\nafter_repairs();\n");
    called.call("prove p.rhai --samples 1").go().ended(1);
}

#[test]
fn texts_that_go_into_the_record_are_not_empty() {
    let place = Place::new();
    place.file(
        "p.rhai",
        "//! title = \" \"\n//! revision = 1\n//! [causes]\n//! wire = { cause = \"\", correction = \"\" }\nconclude(\"wire\");\n",
    );
    let shown = place.run_at_vehicle(&SAFE).go().ended(3);
    shown
        .says("p.rhai:1:5")
        .says("the procedure's `title` is empty")
        .says("p.rhai:4:5")
        .says("the cause `wire` has an empty `cause`")
        .says("the cause `wire` has an empty `correction`");
    let place = Place::with("conclude(\"not_present\");\n");
    place.file(
        "shop.toml",
        "name = \"Test\"\n[[caution]]\nid = \"own\"\nword = \"WARNING\"\ntext = \"\"\nsource = \"x\"\nwhen = { zones = [\"battery\"] }\n",
    );
    place.with_answers("").ended(3).says("the caution `own` has an empty text").says("shop.toml:5:8");
}

#[test]
fn a_proof_shows_an_error_where_it_is_and_that_of_the_first_case() {
    let place =
        on_lamp("let low = 5;\nread(\"v\", \"V\", between(low, 7, \"x\"), across(\"lamp_feed\", \"chassis\"));\n");
    let shown = place.call("prove p.rhai --samples 1").width(200).go().ended(3);
    shown
        .says("error: with no fault: `between` can't take a bare number, a bare number, a text")
        .says("p.rhai:7:16")
        .says("help: a number needs its unit: write 5.V, 2.2.kohm, 40.min");
    let shown = refused_when_run(&on_lamp("step('x');\n"));
    shown.says("`step` can't take a single letter").says("help: write a text in double quotation marks: \"x\"");
}

/// What a proof says of a procedure that can be begun.
#[track_caller]
fn refused_when_run(place: &Place) -> Shown {
    place.call("prove p.rhai --samples 1").width(200).go().ended(3)
}

#[test]
fn a_circuit_that_is_misspelt_or_missing_is_shown_in_the_header() {
    let place = on_lamp("");
    place.file("p.rhai", place.read("p.rhai").replace("\"lamp\"", "\"lmap\""));
    let shown = place.run_at_vehicle(&SAFE).width(300).go().ended(3);
    shown.says("there is no circuit `lmap`; did you mean `lamp`?").says("p.rhai:3:15");
    let place = Place::with("conclude(\"wire\");\n");
    place.call("prove p.rhai").go().ended(3).says("`p` names no circuit").says("p.rhai:1:1");
}

#[test]
fn what_is_written_as_elsewhere_is_said_as_it_is_here() {
    for (line, title, hint) in [
        ("# note", "`#` is not a word of this language", "a comment begins with `//`"),
        ("key_on;", "there is no variable `key_on` here", "a function is called with brackets: `key_on()`"),
        ("if 1 == 2 { } elseif 2 == 3 { }", "`elseif` is not a word", "write `else if`, in two words"),
        ("def f(x) { x }", "`def` is not a word", "a function begins with `fn`"),
        ("let v = 12.6 V / 4 ohm;", "a unit comes after a point", "write 12.6.V"),
        (
            "let v = read(\"v\", \"V\", at_most(1.V)); if v.low() { }",
            "no function `low`",
            "write `.low`, without brackets",
        ),
        (
            "let v = read(\"v\", \"V\", at_most(1.V)); if v.lo { }",
            "nothing has a property `.lo`",
            "did you mean `.low`?",
        ),
        ("conclude(\"Wire open\");", "no cause `Wire open`", "a cause is concluded by its name: `wire`"),
        ("conclude(\"Something else\");", "no cause `Something else`", "which is one of"),
        ("conclude(\"repaired\");", "no cause `repaired`", "`//! uses = [\"after\"]`"),
    ] {
        let shown = Place::with(&format!("{line}\n")).with_answers("").ended(3);
        shown.says(title).says(hint);
    }
    let shown = Place::with("let list = [];\nloop { list.push(\"abcdefgh\"); }\n").with_answers("").ended(3);
    shown.says("all texts of a list together");
}

#[test]
fn what_a_header_lacks_is_told() {
    let place = Place::with("conclude(\"wire\");\n");
    let text = place.read("p.rhai");
    place.file("p.rhai", text.replace("//! [causes]\n", ""));
    place.with_answers("").ended(3).says("write the causes under a line of their own: `//! [causes]`");
    place.file("p.rhai", text.replace("revision = 1", "revision = 1.5"));
    place.with_answers("").ended(3).says("is not a whole number from 1 on");
}

#[test]
fn a_number_that_is_none_and_a_folder_for_a_procedure_are_told_plainly() {
    let place = Place::new();
    place.call("run lamp_drop --bench --seed abc").go().ended(2).says("a whole number from 0 to").never_says("digit");
    place.file("shop.toml", "name = \"Test\"\n").file("procedures/loop.rhai/x", "");
    place.call("run loop").go().ended(2).says("there is no procedure `loop`").never_says("did you mean");
}

#[test]
fn what_is_stepped_through_from_a_pipe_reads_its_answers_there_and_ends_with_it() {
    let place = Place::new();
    let shown =
        place.call("repl").typing(&["load(\"lamp_drop\")", "step_through()", "12.V"]).under("ulimit -t 20").go();
    shown.ended(0).says("+ exhaust led outside > 12.V").says("stopped; nothing is kept");
    place.call("repl").typing(&["help(\"limits\")"]).go().ended(0).says("Limits: given by `at_least`");
}

#[test]
fn a_procedure_with_an_error_judges_no_record() {
    let place = Place::with(
        "let v = read(\"v\", \"V\", at_most(2.V));\nif v.ok { conclude(\"wire\"); }\nconclude(\"part\");\n",
    );
    place.answers("v = \"1.00\"\n");
    for _ in 0..2 {
        place.call("run p.rhai --answers answers.toml").go().ended(0);
    }
    place.procedure("let v = read(\"v\", \"V\", at_most(2.V));\nlet wrong = v.value + 1.A;\nconclude(\"part\");\n");
    let shown = place.call("rejudge --with p.rhai records").width(200).go().ended(3);
    shown.clone().says("2 records: 2 other outcome").says("p.rhai:7:");
    assert_eq!(shown.count("error: can't add"), 3, "{shown}");
    let record = place.records().remove(0);
    place.call("rejudge --with p.rhai").and(&[&record]).width(200).go().ended(3).says("p.rhai:7:");
}

#[test]
fn a_circuit_file_is_read_as_it_is_meant_or_not_at_all() {
    let lamp = include_str!("../../procedures/circuits/lamp.toml");
    let place = Place::new();
    let of = |from: &str, to: &str| {
        assert!(lamp.contains(from), "{from}");
        place.file("c.toml", lamp.replacen(from, to, 1));
        place.call("circuit c.toml").width(300).go()
    };
    of("rating = ", "rateing = ").ended(3).says("`rateing` is not known here; did you mean `rating`?");
    of("12.6 V ± 0.15 V", "12.6 V ± 0.15")
        .ended(3)
        .says("the tolerance of `volts` has no unit: write `± 0.15 V` or `± 0.15 %`");
    of("12 mohm ± 20 %", "12 mohm ± 100 %").ended(3).says("the tolerance of `resistance` is `100 %`");
    of("choices = [\"off\", \"on\"]", "choices = [\"off\"]")
        .ended(3)
        .says("`choices` is not a list of at least two positions");
    of("how_common = 3", "how_common = \"3\"")
        .ended(3)
        .says("`how_common` is not a number: write it without quotation marks");
    of("zero_volts = \"battery.negative\"", "zero_volts = \"battery.neg\"")
        .ended(3)
        .says("did you mean `battery.negative`?");
    let words = "note: in the healthy circuit the fuse `F7` blows with";
    of("rating = \"15 A\"", "rating = \"2 A\"").ended(0).says(words);
    // A driver would notice: the proof says so first, and no more than that once nothing is said of what a driver notices.
    place.call("prove lamp_drop --circuit c.toml --samples 1").width(300).go().says("vehicle 1 shows this");
    let text = place.read("c.toml");
    let (before, shows) = text.split_once("\nshows = [").unwrap();
    place.file("c.toml", format!("{before}\n{}", shows.split_once("\n]\n").unwrap().1));
    place.call("prove lamp_drop --circuit c.toml --samples 1").width(300).go().says(words);
    place.call("circuit lamp").go().ended(0).never_says("blows");
}
