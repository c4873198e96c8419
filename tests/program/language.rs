//! What a procedure's author gets wrong, and where the program points.

use crate::place::{Place, Shown, of_kind};
use insta::assert_snapshot;

const PROMPTS: &str = r#"
let volts = read("volts", "Supply", between(4.75.V, 5.25.V));
let ohms = read("ohms", "Coil", between(20.ohm, 30.ohm));
let left_out = read("left_out", "Skipped on purpose", between(1.V, 2.V));
let yes = ask("yes", "Is it clean?");
let how = choose("how", "What is it like?", ["loose", "tight"]);
let words = note("words", "What was seen?");
let track = sweep("track", "Turn it", ends(0.5.V, 4.5.V), across("signal", "ground"), moving("shaft"));
let pair = lowest_highest("pair", "Shake it", between(4.V, 6.V), across("supply", "ground"), moving("harness"));
if left_out.skipped { }
"#;
const ANSWERS: &str = r#"
volts = "5.00"
ohms = "25"
left_out = { skip = "no time" }
yes = true
how = "loose"
words = "rust"
track = ["0.5", "2.5", "4.5"]
pair = ["4.9", "5.1"]
"#;

/// Runs a body that asks nothing.
fn run(body: &str) -> Shown {
    Place::with(body).from_answers("").without_panic()
}

/// What is refused, and where: the error alone.
fn refused(body: &str) -> String {
    let shown = run(body);
    assert_eq!(shown.code, 3, "{shown}");
    shown.err
}

/// One expression after every kind of prompt was answered: the first line of what is wrong, or its value.
fn of_expression(expression: &str) -> String {
    let place = Place::with(&format!("{PROMPTS}\nif {expression} {{ conclude(\"wire\"); }}\nconclude(\"part\");"));
    let shown = place.from_answers(ANSWERS).without_panic();
    match shown.code {
        0 => if shown.out.contains("Wire open") { "TRUE" } else { "FALSE" }.to_owned(),
        3 => shown.err.lines().next().unwrap_or_default().trim_start_matches("error: ").to_owned(),
        _ => format!("{shown}"),
    }
}

fn table(expressions: &[&str]) -> String {
    let rows: Vec<String> =
        expressions.iter().map(|expression| format!("{expression}\n    {}", of_expression(expression))).collect();
    rows.join("\n")
}

#[test]
fn unlike_things_are_never_compared() {
    assert_snapshot!(table(&[
        "5.V > 5", "5 < 5.V", "5.0 == 5.V", "5.V == 5", "5.V != 5", "volts > 5", "5 >= volts", "volts == 5.0",
        "5.V > 5.ohm", "5.V == 5.ohm", "volts < ohms", "volts > 20.ohm", "5.degC < 5.V", "5.pct == 0.05",
        "left_out < 5.V", "5.V < left_out", "left_out == left_out", "left_out.value < 5.V", "left_out != ()",
        "() < 1", "() == 0", "1 > ()", "() == ()", "() == \"\"", "5.V == ()", "volts == ()", "how == ()", "yes == ()",
        "\"abc\" > 5", "5 == \"5\"", "\"5 V\" == 5.V", "volts == \"5.00\"", "true == 1", "true == \"true\"",
        "yes == true", "yes == \"yes\"", "words == \"rust\"", "track == 5.V", "track > 5", "pair == 5.V", "pair < 5.V",
        "how == \"lose\"", "how == 1", "how > \"loose\"", "'a' == \"a\"", "\"a\" == 'a'", "'a' == 1.5", "true == 'a'",
        "[5.V] == [5]", "[5.V].contains(5)", "5 in [5.V]", "5.V in [5]", "[1] == \"1\"", "#{} == 1", "1 == #{}",
        "#{} == \"x\"", "[] == true", "[] == #{}", "between(1.V, 2.V) == 5", "volts == between(4.V, 6.V)",
        "between(1.V, 2.V) == between(1.V, 2.V)", "near(\"lift\") == \"lift\"", "across(\"a\", \"b\") == 1",
        "1 == 1.0", "1 < 2.5", "2.5 > 1", "\"a\" < \"b\"", "[1] == [1]", "[1] == [true]", "[1].contains(1)", "1 in [1]", "\"a\" in [\"b\", \"a\"]", "[1.5].index_of(1.5) == 0", "near(\"lift\") == near(\"lift\")", "#{} == #{}", "1 != 2", "true == false", "how == \"loose\"",
        "volts > 4.9.V", "volts == 5.V", "volts > volts", "5.V in [5.V]", "min(5.V, 3)", "max(5.V, 3.ohm)", "\"x\" == Fn(\"abs\")", "2 in 1..5", "3 in 1..5.V", "Fn(\"abs\") == 1",
    ]), @"");
}

#[test]
fn arithmetic_carries_the_dimension_and_refuses_nonsense() {
    assert_snapshot!(table(&[
        "5.V + 1.A", "5.V - 1.ohm", "5.V + 1", "1 - 5.V", "volts + 1.V", "volts.value + 1.A", "5.V / 0.ohm < 1.A",
        "5.V * 2.A > 9.W", "12.V / 4.ohm == 3.A", "1 / 4.ohm < 1.V", "-(5.V) < 0.V", "abs(-5.V) == 5.V",
        "25.degC - 20.degC < 1.degC", "25.degC + 20.degC > 0.degC", "5.V.ohm > 1", "5.V.mV == 5000.0", "volts.mV > 1",
        "volts.vale > 5.V", "volts.ok == 1", "5.Volts > 5.V", "5.V && true", "volts", "!volts", "volts && true",
        "\"\" + 5.V == \"5 V\"", "wait(5.V) == 1", "wait(40) == 1", "[5.V, 3.V].sort() == 1",
        "pair.lowest > 4.V", "track.lowest > 4.V", "track.readings == 3", "how.ok", "yes.ok", "words.text == \"rust\"",
    ]), @"");
}

#[test]
fn a_wrong_dimension_is_shown_where_it_stands() {
    assert_snapshot!(run("let sum = 5.V + 1.A;\n"), @"");
}

#[test]
fn a_syntax_error_is_shown_where_it_stands() {
    assert_snapshot!(refused("step(\"First\")\nstep(\"Second\");\n"), @"");
    assert_snapshot!(refused("if true { conclude(\"wire\");\n"), @"");
    assert_snapshot!(refused("let x = ;\n"), @"");
    assert_snapshot!(refused("let text = \"no end;\n"), @"");
    assert_snapshot!(refused("/// not before a function\nstep(\"First\");\n"), @"");
    assert_snapshot!(refused("let until = 5;\n"), @"");
    assert_snapshot!(refused("if suply.low { }\n"), @"");
}

#[test]
fn an_unknown_function_has_the_nearest_name_beside_it() {
    assert_snapshot!(refused("setp(\"First\");\nraed(\"x\", \"Supply\", at_mots(5.V));\nconclud(\"wire\");\n"), @"");
    assert_snapshot!(refused("quite_another_thing();\n"), @"");
    // Ω is two bytes long: the caret must still stand under the call.
    assert_snapshot!(refused("step(\"Ω\"); raed(\"x\", \"y\", at_most(5.V));\n"), @"");
}

#[test]
fn a_wrong_number_of_arguments_is_found_before_the_run() {
    assert_snapshot!(refused("step();\nkey_on(1);\nread(\"x\");\nfn mine(a) { a }\nmine(1, 2);\n"), @"");
}

#[test]
fn calls_in_places_that_are_easily_forgotten_are_checked_too() {
    assert_snapshot!(refused(
        "let x = loop { break setp(1); };\nlet f = |a| setp(a);\nlet s = `${setp(2)}`;\nfn own() { setp(3) }\n5.V.setp();\n"
    ), @"");
}

#[test]
fn a_bare_number_as_a_limit_is_refused() {
    assert_snapshot!(refused("read(\"x\", \"Supply\", at_most(5));\n"), @"");
    assert_snapshot!(refused("read(\"x\", \"Supply\", between(4, 5));\n"), @"");
    assert_snapshot!(refused("read(\"x\", \"Supply\", between(5.V, 4.V));\n"), @"");
    assert_snapshot!(refused("read(\"x\", \"Supply\", between(5.V, 6.ohm));\n"), @"");
    assert_snapshot!(refused("read(\"x\", \"Supply\", within(5.V, 0.pct));\n"), @"");
    assert_snapshot!(refused("read(\"x\", \"Supply\", at_most(5.V * 1.V));\n"), @"");
}

/// The error of a whole file, header and all.
fn of_file(text: &str) -> String {
    let place = Place::new();
    place.file("p.rhai", text);
    let shown = place.from_answers("").ended(3);
    assert_eq!(place.records(), Vec::<String>::new());
    format!("{shown}")
}

#[test]
fn the_header_is_held_to_what_it_may_say() {
    assert_snapshot!(of_file("step(\"First\");\n"), @"");
    assert_snapshot!(of_file("//! revision = 1\nstep(\"First\");\n"), @"");
    assert_snapshot!(of_file("//! title = \"x\"\nstep(\"First\");\n"), @"");
    assert_snapshot!(of_file("//! title = \"x\"\n//! revision = 1\n//! minuets = 5\nstep(\"First\");\n"), @"");
    assert_snapshot!(of_file("//! title = \"x\n//! revision = 1\nstep(\"First\");\n"), @"");
    assert_snapshot!(of_file("//! title = \"x\"\n//! revision = -1\nstep(\"First\");\n"), @"");
    assert_snapshot!(of_file("//! title = \"x\"\n//! revision = 1\n//! [causes]\n//! wire = { cause = \"Open\" }\n"), @"");
    assert_snapshot!(of_file("//! title = \"x\"\n//! revision = 1\n//! [causes]\n//! Wire-1 = { cause = \"a\", correction = \"b\" }\n"), @"");
    assert_snapshot!(of_file("//! title = \"x\"\n//! revision = 1\n//! uses = [\"tree_wire\"]\n"), @"");
    assert_snapshot!(of_file(""), @"");
}

#[test]
fn a_cause_must_be_in_the_header() {
    assert_snapshot!(refused("conclude(\"wrie\");\n"), @"");
    assert_snapshot!(refused("conclude([\"wire\", \"something_else\"]);\n"), @"");
    assert_snapshot!(run("let name = \"par\" + \"d\";\nconclude(name);\n"), @"");
    assert_snapshot!(refused("conclude([]);\n"), @"");
    assert_snapshot!(refused("let causes = [5];\nconclude(causes);\n"), @"");
}

#[test]
fn not_present_needs_no_declaration_and_never_says_no_fault() {
    run("conclude(\"not_present\");\n").ended(0).says("Not present while tested").never_says("no fault");
}

#[test]
fn a_step_is_near_zones_that_cautions_know() {
    assert_snapshot!(refused("step(\"First\", near(\"lfit\"));\n"), @"");
    assert_snapshot!(refused("step(\"\");\n"), @"");
}

#[test]
fn an_id_is_used_once_and_is_a_plain_word() {
    let shown = Place::with("for n in 0..2 { note(\"words\", \"What was seen?\"); }\n").from_answers("words = \"x\"");
    assert_snapshot!(shown.ended(3).err, @"");
    assert_snapshot!(refused("note(\"Two Words\", \"What was seen?\");\n"), @"");
    assert_snapshot!(refused("note(\"words\", \" \");\n"), @"");
}

#[test]
fn a_choice_has_choices() {
    assert_snapshot!(refused("choose(\"how\", \"How?\", [\"one\"]);\n"), @"");
    assert_snapshot!(refused("choose(\"how\", \"How?\", [\"one\", \"one\"]);\n"), @"");
    assert_snapshot!(refused("choose(\"how\", \"How?\", [1, 2]);\n"), @"");
}

#[test]
fn nothing_that_would_break_the_replay_can_be_reached() {
    assert_snapshot!(refused("eval(\"conclude(1)\");\n"), @"");
    assert_snapshot!(refused("import \"other\" as other;\n"), @"");
    assert_snapshot!(refused("export let x = 5;\n"), @"");
    assert_snapshot!(refused("sleep(1);\n"), @"");
    assert_snapshot!(refused("let x = 1; switch x { 1 => step(\"a\"), _ => step(\"b\") }\n"), @"");
    for function in ["timestamp()", "rand()", "open_file(\"x\")", "exec(\"ls\")", "env(\"HOME\")", "read_file(\"x\")"] {
        let error = refused(&format!("let x = {function};\n"));
        assert!(error.starts_with("error: there is no function `"), "{error}");
    }
}

#[test]
fn a_script_that_runs_away_is_stopped() {
    assert_snapshot!(refused("let n = 0;\nloop { n += 1; }\n"), @"");
    assert_snapshot!(refused("fn deep(n) { deep(n + 1) }\ndeep(0);\n"), @"");
    assert_snapshot!(refused("let s = \"x\";\nloop { s += s; }\n"), @"");
    assert_snapshot!(refused("let a = [1];\nloop { a += a; }\n"), @"");
    assert_snapshot!(refused("let m = #{};\nfor n in 0..20000 { m[`k${n}`] = n; }\nprint(m.len());\n"), @"");
    // Nor can it go on by catching that.
    for body in ["loop { }", "deep(0)", "let s = \"x\"; loop { s += s; }"] {
        let body = format!("fn deep(n) {{ deep(n + 1) }}\ntry {{ {body} }} catch {{ }}\nconclude(\"wire\");\n");
        let shown = run(&body);
        assert_eq!(shown.code, 3, "{body}{shown}");
    }
}

#[test]
fn a_script_with_too_much_nesting_is_refused_and_not_a_crash() {
    for (open, close) in [("(", ")"), ("[", "]"), ("{", "}"), ("-", ""), ("if true { ", " }")] {
        let body = format!("let x = {}1{};\n", open.repeat(3000), close.repeat(3000));
        assert_eq!(run(&body).code, 3, "{open}");
    }
}

#[test]
fn a_conclusion_can_not_be_caught() {
    let shown = run("try { conclude(\"wire\"); } catch { conclude(\"part\"); }\nconclude(\"part\");\n");
    shown.ended(0).says("Wire open").never_says("Part worn");
}

#[test]
fn a_run_that_waits_can_not_be_caught() {
    let place = Place::with("let n = 0;\ntry { note(\"words\", \"What?\"); } catch { n = 1; }\nconclude(\"wire\");\n");
    place.from_answers("").ended(4).says("Waits for `words`").never_says("Wire open");
}

#[test]
fn a_pause_and_a_needed_answer_that_was_skipped_can_not_be_caught() {
    let body = "try { if read(\"supply\", \"Supply\", at_least(12.V)).ok { conclude(\"wire\"); } } catch { }\nconclude(\"part\");\n";
    let place = Place::with(body);
    place.at_vehicle(&["pause"]).ended(4).says("Put down").never_says("Part worn");
    Place::with(body)
        .at_vehicle(&["skip no room for the lead"])
        .ended(5)
        .says("`supply` was skipped (no room for the lead), and the procedure needs it")
        .never_says("Part worn");
}

#[test]
fn an_answer_taken_back_can_not_be_caught() {
    let body = "note(\"first\", \"One?\");\ntry { note(\"words\", \"Two?\"); } catch { conclude(\"part\"); }\nconclude(\"wire\");\n";
    let place = Place::with(body);
    place.at_vehicle(&["a", "back", "", "b", "c"]).ended(0).says("Wire open");
    assert_eq!(of_kind(&place.events(), "struck").len(), 1);
}

#[test]
fn what_was_skipped_must_be_asked_about_first() {
    let skipped = "supply = { skip = \"no room\" }";
    let read = "let supply = read(\"supply\", \"Supply\", at_least(12.V));\n";
    for question in [".ok", ".low", ".high", ".open", ".over_range", ".unsure", ".value > 5.V"] {
        let place = Place::with(&format!("{read}if supply{question} {{ conclude(\"part\"); }}\nconclude(\"wire\");\n"));
        let shown = place.from_answers(skipped);
        assert_eq!(shown.code, 5, "{question}\n{shown}");
        shown.says("`supply` was skipped (no room), and the procedure needs it").never_says("Cause:");
    }
    let asked = format!("{read}if supply.skipped {{ conclude(\"part\"); }}\nif supply.ok {{ conclude(\"wire\"); }}\n");
    Place::with(&asked).from_answers(skipped).ended(0).says("Part worn");
    // Asked first, it is neither in nor out; and still it has no value.
    let neither = format!("{read}if !supply.skipped {{ }}\nif supply.ok || supply.low {{ conclude(\"part\"); }}\nconclude(\"wire\");\n");
    Place::with(&neither).from_answers(skipped).ended(0).says("Wire open");
    let value = format!("{read}if supply.skipped && supply.value > 5.V {{ }}\n");
    Place::with(&value).from_answers(skipped).ended(3).says("`supply` was skipped and has no value");
}

#[test]
fn every_kind_of_prompt_that_was_skipped_ends_the_run_when_it_is_needed() {
    for (prompt, question) in [
        ("ask(\"it\", \"Clean?\")", "x.yes"),
        ("ask(\"it\", \"Clean?\")", "x.no"),
        ("choose(\"it\", \"How?\", [\"loose\", \"tight\"])", "x == \"loose\""),
        ("choose(\"it\", \"How?\", [\"loose\", \"tight\"])", "x != \"loose\""),
        ("note(\"it\", \"What?\")", "x.text == \"\""),
        ("sweep(\"it\", \"Turn\", ends(0.5.V, 4.5.V), across(\"a\", \"b\"), moving(\"shaft\"))", "x.follows"),
        ("sweep(\"it\", \"Turn\", ends(0.5.V, 4.5.V), across(\"a\", \"b\"), moving(\"shaft\"))", "x.stuck"),
        ("sweep(\"it\", \"Turn\", ends(0.5.V, 4.5.V), across(\"a\", \"b\"), moving(\"shaft\"))", "x.readings < 3"),
        ("sweep(\"it\", \"Turn\", ends(0.5.V, 4.5.V), across(\"a\", \"b\"), moving(\"shaft\"))", "x.values.len() < 3"),
        ("sweep(\"it\", \"Turn\", ends(0.5.V, 4.5.V), across(\"a\", \"b\"), moving(\"shaft\"))", "x.lowest < 1.V"),
        ("lowest_highest(\"it\", \"Shake\", at_least(4.V), across(\"a\", \"b\"), moving(\"harness\"))", "x.ok"),
        ("lowest_highest(\"it\", \"Shake\", at_least(4.V), across(\"a\", \"b\"), moving(\"harness\"))", "x.lowest < 1.V"),
        ("module_shows(\"it\", \"Position\", at_least(4.V), \"position\")", "x.ok"),
        ("read_diode(\"it\", \"Diode\", between(0.4.V, 0.7.V), across(\"a\", \"b\"))", "x.open"),
    ] {
        let place = Place::with(&format!("let x = {prompt};\nif {question} {{ conclude(\"part\"); }}\nconclude(\"wire\");\n"));
        let shown = place.from_answers("it = { skip = \"no time\" }");
        assert_eq!(shown.code, 5, "{prompt} {question}\n{shown}");
    }
}

#[test]
fn a_script_that_ends_without_a_cause_says_so() {
    assert_snapshot!(run("step(\"First\");\n"), @"");
    run("exit();\nconclude(\"wire\");\n").ended(5).says("Unconcluded");
    run("return;\n").ended(5).says("Unconcluded");
}

#[test]
fn several_causes_stand_where_the_evidence_can_not_part_them() {
    assert_snapshot!(run("step(\"First\");\nconclude([\"wire\", \"part\"]);\n").ended(0), @"");
}

#[test]
fn a_thrown_text_is_an_error_at_its_place() {
    assert_snapshot!(refused("throw \"not for 24 V\";\n"), @"");
}

/// With a library file in a shop.
fn with_library(library: &str, body: &str) -> Place {
    let place = Place::new();
    place.file("shop.toml", "name = \"Test shop\"\n");
    place.file("library/common.rhai", &format!("//! title = \"Common\"\n//!\n//! [causes]\n//! shared = {{ cause = \"Shared ground open\", correction = \"Repair it\" }}\n{library}"));
    place.file("p.rhai", &format!("//! title = \"Test\"\n//! revision = 1\n//! uses = [\"common\"]\n{body}"));
    place
}

#[test]
fn an_error_in_a_library_function_is_shown_in_the_library_file() {
    let library = "\n// A comment.\nfn inner(q) {\n    if q > 5 { step(\"x\"); }\n}\nfn outer(q) { inner(q); }\nfn adds(q) { q + 1.A }\nfn finds() { conclude(\"sharde\" + \"\"); }\nfn zone() { step(\"x\", near(\"lfit\")); }\n";
    for (call, at, title) in [
        ("common::outer(5.V)", "library/common.rhai:8:10", "can't compare 5 V with the bare number 5: give the number a unit"),
        ("common::adds(5.V)", "library/common.rhai:11:16", "can't add 5 V and 1 A"),
        ("common::finds()", "library/common.rhai:12:14", "the header has no cause `sharde`; did you mean `shared`?"),
        ("common::zone()", "library/common.rhai:13:13", "`lfit` is no zone that a caution knows"),
    ] {
        let shown = with_library(library, &format!("{call};\n")).from_answers("").ended(3);
        assert!(shown.err.contains(at) && shown.flat().contains(title), "{call}\n{shown}");
    }
    assert_snapshot!(with_library(library, "common::outer(5.V);\n").from_answers("").ended(3), @"");
}

#[test]
fn what_can_be_found_in_a_library_file_without_running_is_shown_there() {
    assert_snapshot!(with_library("fn outer() { setp(\"x\"); }\n", "conclude(\"shared\");\n").from_answers("").ended(3).err, @"");
    assert_snapshot!(with_library("step(\"x\");\n", "conclude(\"shared\");\n").from_answers("").ended(3).err, @"");
    assert_snapshot!(with_library("fn outer() {}\n", "common::outre();\ncommon::outer(1);\ncomon::outer();\n").from_answers("").ended(3).err, @"");
}

#[test]
fn a_library_function_concludes_with_its_own_cause() {
    with_library("fn find() { conclude(\"shared\"); }\n", "common::find();\n").from_answers("").ended(0).says("Shared ground open");
}

#[test]
fn a_shop_library_file_goes_before_one_of_the_program() {
    let place = with_library("", "three_wire::mine();\n");
    place.file("library/three_wire.rhai", "//! title = \"Mine\"\n//! [causes]\n//! own = { cause = \"Own cause\", correction = \"x\" }\nfn mine() { conclude(\"own\"); }\n");
    place.file("p.rhai", "//! title = \"Test\"\n//! revision = 1\n//! uses = [\"three_wire\"]\nthree_wire::mine();\n");
    place.from_answers("").ended(0).says("Own cause");
}

#[test]
fn a_library_file_from_outside_the_library_folder_can_not_be_named() {
    let place = Place::new();
    place.file("shop.toml", "").file("secret.rhai", "//! title = \"x\"\nfn f() {}\n");
    place.file("p.rhai", "//! title = \"Test\"\n//! revision = 1\n//! uses = [\"../secret\"]\n");
    place.from_answers("").ended(3).says("there is no library file `../secret`");
}
