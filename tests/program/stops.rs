//! What no script can catch, and the ways in which a run ends.

use crate::language::{at_the_prompt, refused, run};
use crate::place::{Place, of_kind};
use insta::assert_snapshot;

#[test]
fn nothing_that_would_break_the_replay_can_be_reached() {
    assert_snapshot!(refused("eval(\"conclude(1)\");\n"), @r#"
    error: a procedure has no `eval`
      ╭▸ p.rhai:6:1
      │
    6 │ eval("conclude(1)");
      ╰╴━━━━
    "#);
    assert_snapshot!(refused("import \"other\" as other;\n"), @r#"
    error: a procedure imports nothing
      ╭▸ p.rhai:6:1
      │
    6 │ import "other" as other;
      │ ━━━━━━
      ╰╴
    help: name library files in the header: `//! uses = ["name"]`
    "#);
    assert_snapshot!(refused("export let x = 5;\n"), @r#"
    error: `export` is a word of the language
      ╭▸ p.rhai:6:1
      │
    6 │ export let x = 5;
      │ ━━━━━━
      ╰╴
    help: choose another name
    "#);
    assert_snapshot!(refused("sleep(1);\n"), @r#"
    error: nothing sleeps in a procedure: write `wait(30.s)`, so that the technician knows
      ╭▸ p.rhai:6:1
      │
    6 │ sleep(1);
      ╰╴━━━━━
    "#);
    assert_snapshot!(refused("let x = 1; switch x { 1 => step(\"a\"), _ => step(\"b\") }\n"), @r#"
    error: there is no `switch` in a procedure: it would compare unlike things without a word
      ╭▸ p.rhai:6:12
      │
    6 │ let x = 1; switch x { 1 => step("a"), _ => step("b") }
      │            ━━━━━━
      ╰╴
    help: write it with `if` and `else if`
    "#);
    for function in ["timestamp()", "rand()", "open_file(\"x\")", "exec(\"ls\")", "env(\"HOME\")", "read_file(\"x\")"] {
        let error = refused(&format!("let x = {function};\n"));
        assert!(error.starts_with("error: there is no function `"), "{error}");
    }
}

#[test]
fn a_script_that_runs_away_is_stopped() {
    assert_snapshot!(refused("let n = 0;\nloop { n += 1; }\n"), @r#"
    error: the script ran away: more than 5000000 operations
      ╭▸ p.rhai:7:8
      │
    7 │ loop { n += 1; }
      │        ━
      ╰╴
    help: look for a loop that never ends
    "#);
    assert_snapshot!(refused("fn deep(n) { deep(n + 1) }\ndeep(0);\n"), @r#"
    error: functions call each other too deep
      ╭▸ p.rhai:7:1
      │
    7 │ deep(0);
      │ ━━━━
      ╰╴
    help: look for a function that calls itself
    "#);
    assert_snapshot!(refused("let s = \"x\";\nloop { s += s; }\n"), @r#"
    error: a text, or all texts of a list together, grew too large
      ╭▸ p.rhai:7:10
      │
    7 │ loop { s += s; }
      ╰╴         ━
    "#);
    assert_snapshot!(refused("let a = [1];\nloop { a += a; }\n"), @r#"
    error: a list grew too large
      ╭▸ p.rhai:7:10
      │
    7 │ loop { a += a; }
      ╰╴         ━
    "#);
    assert_snapshot!(refused("let m = #{};\nfor n in 0..11000 { m[`k${n}`] = n; }\nprint(m.len());\n"), @r#"
    error: a map grew too large
      ╭▸ p.rhai:8:9
      │
    8 │ print(m.len());
      ╰╴        ━━━
    "#);
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
    place.with_answers("").ended(4).says("Waits for `words`").never_says("Wire open");
}

#[test]
fn a_pause_and_a_needed_answer_that_was_skipped_can_not_be_caught() {
    let body = "try { if read(\"supply\", \"Supply\", at_least(12.V)).ok { conclude(\"wire\"); } } catch { }\nconclude(\"part\");\n";
    let place = Place::with(body);
    place.at_vehicle(&["pause"]).ended(4).says("Paused").never_says("Part worn");
    Place::with(body)
        .at_vehicle(&["skip no room for the lead", "2"])
        .ended(5)
        .says("`supply` was skipped, and the procedure needs it (no room for the lead)")
        .never_says("Part worn");
}

#[test]
fn no_function_of_lists_drops_a_stop_or_an_error() {
    let read =
        "let a = read(\"a\", \"A\", at_least(1.V));\nlet b = read(\"b\", \"B\", at_least(1.V));\nlet all = [a, b];\n";
    for put in [
        "all.sort(|one, other| one.value <= other.value);",
        "all.sort_by(|one, other| one.value <= other.value);",
        "all = all.order(|one, other| one.value <= other.value);",
        "all.dedup(|one, other| one.value == other.value);",
    ] {
        let place = Place::with(&format!("{read}{put}\nconclude(\"wire\");\n"));
        let shown = place.with_answers("a = \"2\"\nb = { skip = \"no light\" }").ended(5);
        shown.says("“B” was skipped, and the procedure needs it").never_says("Wire open");
        assert_eq!(of_kind(&place.events(), "concluded").len(), 0, "{put}");
    }
    at_the_prompt(&[
        ("let l = [3.V, 1.V, 2.V]; l.sort(|a, b| a <= b); l", "[1 V, 2 V, 3 V]"),
        ("let l = [3, 1, 2]; l.sort(|a, b| b - a); l", "[3, 2, 1]"),
        ("let l = [2.V, 1.V]; l.order_by(|a, b| a <= b)", "[1 V, 2 V]"),
        ("let l = [1.V, 1.V, 2.V, 1.V]; l.dedup(); l", "[1 V, 2 V, 1 V]"),
        ("let l = [3.V, 1.A]; l.sort(|a, b| a <= b); l", "can't compare 3 V and 1 A"),
        ("let l = [3.V, 1.A]; l.order(|a, b| a <= b)", "can't compare 3 V and 1 A"),
        ("let l = [3.V, 3.A]; l.dedup(); l", "can't compare 3 V and 3 A"),
        ("let l = [3, 1]; l.sort(|a, b| \"first\"); l", "says yes or no, or a whole number, not a text"),
        ("let l = [3, 1]; l.dedup(|a, b| 7); l", "says yes or no"),
    ]);
}

#[test]
fn an_answer_taken_back_can_not_be_caught() {
    let body = "note(\"first\", \"One?\");\ntry { note(\"words\", \"Two?\"); } catch { conclude(\"part\"); }\nconclude(\"wire\");\n";
    let place = Place::with(body);
    place.at_vehicle(&["a", "back", "", "b", "c", ""]).ended(0).says("Wire open");
    assert_eq!(of_kind(&place.events(), "struck").len(), 1);
}

#[test]
fn a_script_ends_the_run_as_unfinished_and_says_why() {
    let body = "let supply = read(\"supply\", \"Supply\", at_least(12.V));\n\
        try { if supply.skipped { unfinished(\"the pin can't be reached\"); } } catch { conclude(\"part\"); }\nconclude(\"wire\");\n";
    let place = Place::with(body);
    let ends = "Unfinished: the pin can't be reached";
    // First it is thought better of, and then put down.
    place
        .at_vehicle(&["skip no light", "1", "skip no room for the lead"])
        .ended(4)
        .says("1 answer `supply` again, 2 end the run here");
    let shown = place.call("resume").typing(&["", "2"]).go();
    assert_snapshot!(shown, @"
    exit 5
    --- stdout
    Test (revision 1)
    2026-11-24-090000-p-unit-12; Unit 12
      Supply: skipped: no room for the lead
    The vehicle, as the record left it. Look before you trust it:
    ┌─────────────────────┬───────────┐
    │ key                 ┆ off       │
    │ engine              ┆ stopped   │
    │ vehicle             ┆ down      │
    │ wheels              ┆ chocked   │
    │ battery             ┆ connected │
    │ high-voltage system ┆ absent    │
    └─────────────────────┴───────────┘
      Enter if it stands so. If not: write it as key=on or vehicle=raised
      >

    The procedure can't go on: the pin can't be reached.
    1 answer `supply` again, 2 end the run here > 2
    Unfinished: the pin can't be reached.
    Record 1: 2026-11-24-090000-p-unit-12
    Next: ohmwright report 1
    ");
    let record = place.record();
    let events = place.events();
    let last = events.last().unwrap();
    assert_eq!((&last["event"], &last["how"]), (&"ended".into(), &"unfinished".into()));
    assert_eq!((&last["why"], &last["text"]), (&"author".into(), &"the pin can't be reached".into()));
    place.call("show").go().ended(0).says(ends);
    place.call("report").go().ended(0);
    let page = place.read(&format!("{record}.html")).replace("&#39;", "'");
    assert!(page.contains("the pin can't be reached"), "{page}");
    place
        .call("report --format json")
        .go()
        .ended(0)
        .says("\"standing\": \"unfinished\"")
        .says("the pin can't be reached");
    place.call("resume").go().ended(2).says(ends);
    place.call("verify --allow-unsigned").go().ended(0);
    // Put down just before it, it ends so when taken up, after somebody looked at the vehicle.
    let journal = std::fs::read_to_string(place.journal_of(&record)).unwrap();
    let cut = journal.trim_end().rfind('\n').unwrap() + 1;
    std::fs::write(place.journal_of(&record), &journal[..cut]).unwrap();
    place.call("resume").typing(&["", "2"]).go().ended(5).says(ends);
    // A table's summary says it, too.
    place.file("fleet.csv", "vehicle,supply\nUnit 1,12.6\nUnit 2,skip no room\n");
    let shown = place.call("batch p.rhai fleet.csv --summary summary.csv").go();
    assert!(place.read("summary.csv").contains("the pin can't be reached"), "{shown}\n{}", place.read("summary.csv"));
    assert_eq!(place.call("repl").typing(&["help(\"unfinished\")"]).go().ended(0).count("unfinished(reason: text)"), 1);
}

#[test]
fn the_end_as_unfinished_needs_a_reason_and_is_no_end_of_another_run() {
    Place::with("unfinished(\"  \");\n").with_answers("").ended(3).says("p.rhai:6:1").says("say why");
    Place::with("unfinished();\n").with_answers("").ended(3).says("`unfinished` takes 1 argument, not 0");
    // The record answers more than the script asks.
    let place = Place::with("let a = ask(\"a\", \"Dry?\");\nlet b = ask(\"b\", \"Clean?\");\nconclude(\"wire\");\n");
    place.at_vehicle(&["1", "1", ""]).ended(0);
    let record = place.record();
    place.procedure("let a = ask(\"a\", \"Dry?\");\nunfinished(\"too wet\");\n");
    place.call("rejudge").and(&[&record, "--with", "p.rhai"]).go().says("Unfinished: too wet");
}

#[test]
fn what_was_skipped_must_be_asked_about_first() {
    let skipped = "supply = { skip = \"no room\" }";
    let read = "let supply = read(\"supply\", \"Supply\", at_least(12.V));\n";
    for question in [".ok", ".low", ".high", ".open", ".over_range", ".unsure", ".value > 5.V"] {
        let place = Place::with(&format!("{read}if supply{question} {{ conclude(\"part\"); }}\nconclude(\"wire\");\n"));
        let shown = place.with_answers(skipped);
        assert_eq!(shown.code, 5, "{question}\n{shown}");
        shown.says("“Supply” was skipped, and the procedure needs it (no room)").never_says("Cause:");
    }
    let asked = format!("{read}if supply.skipped {{ conclude(\"part\"); }}\nif supply.ok {{ conclude(\"wire\"); }}\n");
    Place::with(&asked).with_answers(skipped).ended(0).says("Part worn");
    // Asked first, it is neither in nor out; and still it has no value.
    let neither = format!(
        "{read}if !supply.skipped {{ }}\nif supply.ok || supply.low {{ conclude(\"part\"); }}\nconclude(\"wire\");\n"
    );
    Place::with(&neither).with_answers(skipped).ended(0).says("Wire open");
    let value = format!("{read}if supply.skipped && supply.value > 5.V {{ }}\n");
    Place::with(&value).with_answers(skipped).ended(3).says("`supply` was skipped and has no value");
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
        (
            "lowest_highest(\"it\", \"Shake\", at_least(4.V), across(\"a\", \"b\"), moving(\"harness\"))",
            "x.lowest < 1.V",
        ),
        ("module_shows(\"it\", \"Position\", at_least(4.V), \"position\")", "x.ok"),
        ("read_diode(\"it\", \"Diode\", between(0.4.V, 0.7.V), across(\"a\", \"b\"))", "x.open"),
    ] {
        let place =
            Place::with(&format!("let x = {prompt};\nif {question} {{ conclude(\"part\"); }}\nconclude(\"wire\");\n"));
        let shown = place.with_answers("it = { skip = \"no time\" }");
        assert_eq!(shown.code, 5, "{prompt} {question}\n{shown}");
    }
}

#[test]
fn a_script_that_ends_without_a_cause_says_so() {
    assert_snapshot!(run("step(\"First\");\n"), @"
    exit 5
    --- stdout
    Unconcluded: the procedure came to its end without a cause.

    procedure    Test (revision 1)
    record       1  2026-11-24-090000-p
    entered on   2026-11-24 09:00 UTC
    found it     key off, engine stopped, vehicle down, wheels chocked, battery
                 connected, high-voltage system absent
    meter        none named; accuracy assumed, not your meter
    answered by  an answers file
    clock        set by hand

    Step: First

    Record 1: 2026-11-24-090000-p
    ");
    run("exit();\nconclude(\"wire\");\n").ended(5).says("Unconcluded");
    run("return;\n").ended(5).says("Unconcluded");
}

#[test]
fn several_causes_stand_where_the_evidence_can_not_part_them() {
    assert_snapshot!(run("step(\"First\");\nconclude([\"wire\", \"part\"]);\n").ended(0), @"
    exit 0
    --- stdout
    Found: the readings fit more than one cause.
    1. Wire open. Do: Repair the wire.
    2. Part worn. Do: Replace the part.

    procedure    Test (revision 1)
    record       1  2026-11-24-090000-p
    entered on   2026-11-24 09:00 UTC
    found it     key off, engine stopped, vehicle down, wheels chocked, battery
                 connected, high-voltage system absent
    meter        none named; accuracy assumed, not your meter
    answered by  an answers file
    clock        set by hand

    Step: First

    Record 1: 2026-11-24-090000-p
    ");
}

#[test]
fn a_thrown_text_is_an_error_at_its_place() {
    assert_snapshot!(refused("throw \"not for 24 V\";\n"), @r#"
    error: not for 24 V
      ╭▸ p.rhai:6:1
      │
    6 │ throw "not for 24 V";
      ╰╴━━━━━
    "#);
}
