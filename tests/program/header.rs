//! What a header, an id and a choice may be.

use crate::language::{refused, run};
use crate::place::Place;
use insta::assert_snapshot;

/// The error of a whole file, header and all.
fn of_file(text: &str) -> String {
    let place = Place::new();
    place.file("p.rhai", text);
    let shown = place.with_answers("").ended(3);
    assert_eq!(place.records(), Vec::<String>::new());
    format!("{shown}")
}

#[test]
fn the_header_is_held_to_what_it_may_say() {
    assert_snapshot!(of_file("step(\"First\");\n"), @r#"
    exit 3
    --- stderr
    error: p.rhai: there is no header
     ╰╴
    help: begin the file with lines such as `//! title = "…"` and `//! revision = 1`
    "#);
    assert_snapshot!(of_file("//! revision = 1\nstep(\"First\");\n"), @r#"
    exit 3
    --- stderr
    error: the header has no `title`
      ╭▸ p.rhai:1:1
      │
    1 │ //! revision = 1
      │ ━━━
      ╰╴
    help: add the line `//! title = "…"` among the `//!` lines
    "#);
    assert_snapshot!(of_file("//! title = \"x\"\nstep(\"First\");\n"), @r#"
    exit 3
    --- stderr
    error: the header has no `revision`
      ╭▸ p.rhai:1:1
      │
    1 │ //! title = "x"
      │ ━━━
      ╰╴
    help: add the line `//! revision = 1` among the `//!` lines
    "#);
    assert_snapshot!(of_file("//! title = \"x\"\n//! revision = 1\n//! minuets = 5\nstep(\"First\");\n"), @"
    exit 3
    --- stderr
    error: nothing is called `minuets` here
      ╭▸ p.rhai:3:5
      │
    3 │ //! minuets = 5
      │     ━━━━━━━
      ╰╴
    help: did you mean `minutes`?
    ");
    assert_snapshot!(of_file("//! title = \"x\n//! revision = 1\nstep(\"First\");\n"), @r#"
    exit 3
    --- stderr
    error: invalid basic string, expected `"`
      ╭▸ p.rhai:1:15
      │
    1 │ //! title = "x
      ╰╴              ━
    "#);
    assert_snapshot!(of_file("//! title = \"x\"\n//! revision = -1\nstep(\"First\");\n"), @"
    exit 3
    --- stderr
    error: `-1` is not a whole number from 1 on
      ╭▸ p.rhai:2:16
      │
    2 │ //! revision = -1
      ╰╴               ━━
    ");
    assert_snapshot!(of_file("//! title = \"x\"\n//! revision = 1\n//! [causes]\n//! wire = { cause = \"Open\" }\n"), @r#"
    exit 3
    --- stderr
    error: there is no `correction` here
      ╭▸ p.rhai:4:12
      │
    4 │ //! wire = { cause = "Open" }
      │            ━━━━━━━━━━━━━━━━━━
      ╰╴
    help: add a line `correction = …`
    "#);
    assert_snapshot!(of_file("//! title = \"x\"\n//! revision = 1\n//! [causes]\n//! Wire-1 = { cause = \"a\", correction = \"b\" }\n"), @r#"
    exit 3
    --- stderr
    error: `Wire-1` can't be a cause's name
      ╭▸ p.rhai:4:5
      │
    4 │ //! Wire-1 = { cause = "a", correction = "b" }
      │     ━━━━━━
      ╰╴
    help: use small letters, digits and _, beginning with a letter
    "#);
    assert_snapshot!(of_file("//! title = \"x\"\n//! revision = 1\n//! uses = [\"tree_wire\"]\n"), @r#"
    exit 3
    --- stderr
    error: there is no library file `tree_wire`
      ╭▸ p.rhai:3:13
      │
    3 │ //! uses = ["tree_wire"]
      │             ━━━━━━━━━━━
      ╰╴
    help: library files lie in the shop's `library` folder, or come with the program
    "#);
    assert_snapshot!(of_file(""), @r#"
    exit 3
    --- stderr
    error: p.rhai: there is no header
     ╰╴
    help: begin the file with lines such as `//! title = "…"` and `//! revision = 1`
    "#);
}

#[test]
fn a_cause_must_be_in_the_header() {
    assert_snapshot!(refused("conclude(\"wrie\");\n"), @r#"
    error: the header has no cause `wrie`
      ╭▸ p.rhai:6:10
      │
    6 │ conclude("wrie");
      │          ━━━━━━
      ╰╴
    help: did you mean `wire`?
    "#);
    assert_snapshot!(refused("conclude([\"wire\", \"something_else\"]);\n"), @r#"
    error: the header has no cause `something_else`
      ╭▸ p.rhai:6:10
      │
    6 │ conclude(["wire", "something_else"]);
      │          ━
      ╰╴
    help: declare it under `//! [causes]`: something_else = { cause = "…", correction = "…" }
    "#);
    assert_snapshot!(run("let name = \"par\" + \"d\";\nconclude(name);\n"), @"
    exit 3
    --- stdout
    The procedure has an error: p.rhai:7: the header has no cause `pard`; did you
      mean `part`?

    procedure    Test (revision 1)
    record       1  2026-11-24-090000-p
    entered on   2026-11-24 09:00 UTC
    found it     key off, engine stopped, vehicle down, wheels chocked, battery
                 connected, high-voltage system absent
    meter        none named; accuracy assumed, not your meter
    answered by  an answers file
    clock        set by hand

    The procedure has an error. Correct it first. Continue with: ohmwright resume 1
    --- stderr
    error: the header has no cause `pard`; did you mean `part`?
      ╭▸ p.rhai:7:1
      │
    7 │ conclude(name);
      ╰╴━━━━━━━━
    ");
    assert_snapshot!(refused("conclude([]);\n"), @r#"
    error: `conclude` needs at least one cause
      ╭▸ p.rhai:6:1
      │
    6 │ conclude([]);
      ╰╴━━━━━━━━
    "#);
    assert_snapshot!(refused("let causes = [5];\nconclude(causes);\n"), @r#"
    error: a cause is named by a text, not a bare number
      ╭▸ p.rhai:7:1
      │
    7 │ conclude(causes);
      ╰╴━━━━━━━━
    "#);
}

#[test]
fn not_present_needs_no_declaration_and_never_says_no_fault() {
    run("conclude(\"not_present\");\n").ended(0).says("did not show during this test").never_says("no fault");
}

#[test]
fn a_step_is_near_zones_that_cautions_know() {
    assert_snapshot!(refused("step(\"First\", near(\"lfit\"));\n"), @r#"
    error: `lfit` is not a zone that a caution knows
      ╭▸ p.rhai:6:20
      │
    6 │ step("First", near("lfit"));
      │                    ━━━━━━
      ╰╴
    help: did you mean `lift`?
    "#);
    assert_snapshot!(refused("step(\"\");\n"), @r#"
    error: a step needs a heading
      ╭▸ p.rhai:6:1
      │
    6 │ step("");
      ╰╴━━━━
    "#);
}

#[test]
fn an_id_is_used_once_and_is_a_plain_word() {
    let shown = Place::with("for n in 0..2 { note(\"words\", \"What was seen?\"); }\n").with_answers("words = \"x\"");
    assert_snapshot!(shown.ended(3).err, @r#"
    error: the id `words` was used before in this run: every prompt needs one of its own (give library calls a prefix)
      ╭▸ p.rhai:6:17
      │
    6 │ for n in 0..2 { note("words", "What was seen?"); }
      ╰╴                ━━━━
    "#);
    assert_snapshot!(refused("note(\"Two Words\", \"What was seen?\");\n"), @r#"
    error: `Two Words` can't be an id: use small letters, digits and _, beginning with a letter
      ╭▸ p.rhai:6:1
      │
    6 │ note("Two Words", "What was seen?");
      ╰╴━━━━
    "#);
    assert_snapshot!(refused("note(\"words\", \" \");\n"), @r#"
    error: the prompt `words` has no words: say what to do
      ╭▸ p.rhai:6:1
      │
    6 │ note("words", " ");
      ╰╴━━━━
    "#);
}

#[test]
fn a_choice_has_choices() {
    assert_snapshot!(refused("choose(\"how\", \"How?\", [\"one\"]);\n"), @r#"
    error: `how` needs at least two choices
      ╭▸ p.rhai:6:1
      │
    6 │ choose("how", "How?", ["one"]);
      ╰╴━━━━━━
    "#);
    assert_snapshot!(refused("choose(\"how\", \"How?\", [\"one\", \"one\"]);\n"), @r#"
    error: the choices of `how` must be different and not empty: "one"
      ╭▸ p.rhai:6:1
      │
    6 │ choose("how", "How?", ["one", "one"]);
      ╰╴━━━━━━
    "#);
    assert_snapshot!(refused("choose(\"how\", \"How?\", [1, 2]);\n"), @r#"
    error: the choices of `how` must be texts, not a bare number
      ╭▸ p.rhai:6:1
      │
    6 │ choose("how", "How?", [1, 2]);
      ╰╴━━━━━━
    "#);
}
