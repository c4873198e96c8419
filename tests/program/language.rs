//! What a procedure's author gets wrong, and where the program points.

use crate::place::{Place, Shown};
use insta::assert_snapshot;

/// Runs a body that asks nothing.
pub fn run(body: &str) -> Shown {
    Place::with(body).with_answers("").without_panic()
}

/// What is refused, and where: the error alone.
pub fn refused(body: &str) -> String {
    let shown = run(body);
    assert_eq!(shown.code, 3, "{shown}");
    shown.err
}

#[test]
fn a_wrong_dimension_is_shown_where_it_stands() {
    assert_snapshot!(run("let sum = 5.V + 1.A;\n"), @"
    exit 3
    --- stdout
    The procedure has an error: p.rhai:6: can't add 5 V and 1 A: one is volts, the
      other amperes.

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
    error: can't add 5 V and 1 A: one is volts, the other amperes
      ╭▸ p.rhai:6:15
      │
    6 │ let sum = 5.V + 1.A;
      ╰╴              ━
    ");
}

#[test]
fn a_comment_of_any_kind_may_stand_anywhere() {
    let shown = run("/// not before a function\nstep(\"First\"); // behind\n/* between */ conclude(\"wire\");\n");
    assert_eq!(shown.code, 0, "{shown}");
}

#[test]
fn a_syntax_error_is_shown_where_it_stands() {
    assert_snapshot!(refused("step(\"First\")\nstep(\"Second\");\n"), @r#"
    error: `;` is missing to terminate this statement
      ╭▸ p.rhai:7:1
      │
    7 │ step("Second");
      ╰╴━━━━
    "#);
    assert_snapshot!(refused("if true { conclude(\"wire\");\n"), @r#"
    error: `}` is missing to terminate this block
      ╭▸ p.rhai:6:29
      │
    6 │ if true { conclude("wire");
      ╰╴                           ━
    "#);
    assert_snapshot!(refused("let x = ;\n"), @r#"
    error: `;` does not belong here
      ╭▸ p.rhai:6:9
      │
    6 │ let x = ;
      ╰╴        ━
    "#);
    assert_snapshot!(refused("let text = \"no end;\n"), @r#"
    error: a text has no closing quote
      ╭▸ p.rhai:6:12
      │
    6 │ let text = "no end;
      ╰╴           ━
    "#);
    assert_snapshot!(refused("let until = 5;\n"), @r#"
    error: Expecting name of a variable
      ╭▸ p.rhai:6:5
      │
    6 │ let until = 5;
      ╰╴    ━━━━━
    "#);
    assert_snapshot!(refused("if suply.low { }\n"), @r#"
    error: there is no variable `suply` here
      ╭▸ p.rhai:6:4
      │
    6 │ if suply.low { }
      ╰╴   ━━━━━
    "#);
}

#[test]
fn an_unknown_function_has_the_nearest_name_beside_it() {
    assert_snapshot!(refused("setp(\"First\");\nraed(\"x\", \"Supply\", at_mots(5.V));\nconclud(\"wire\");\n"), @r#"
    error: there is no function `setp`
      ╭▸ p.rhai:6:1
      │
    6 │ setp("First");
      │ ━━━━
      ╰╴
    help: did you mean `step`?

    error: there is no function `raed`
      ╭▸ p.rhai:7:1
      │
    7 │ raed("x", "Supply", at_mots(5.V));
      │ ━━━━
      ╰╴
    help: did you mean `read`?

    error: there is no function `at_mots`
      ╭▸ p.rhai:7:21
      │
    7 │ raed("x", "Supply", at_mots(5.V));
      │                     ━━━━━━━
      ╰╴
    help: did you mean `at_most`?

    error: there is no function `conclud`
      ╭▸ p.rhai:8:1
      │
    8 │ conclud("wire");
      │ ━━━━━━━
      ╰╴
    help: did you mean `conclude`?
    "#);
    assert_snapshot!(refused("quite_another_thing();\n"), @r#"
    error: there is no function `quite_another_thing`
      ╭▸ p.rhai:6:1
      │
    6 │ quite_another_thing();
      ╰╴━━━━━━━━━━━━━━━━━━━
    "#);
    // Ω is two bytes long: the caret must still stand under the call.
    assert_snapshot!(refused("step(\"Ω\"); raed(\"x\", \"y\", at_most(5.V));\n"), @r#"
    error: there is no function `raed`
      ╭▸ p.rhai:6:12
      │
    6 │ step("Ω"); raed("x", "y", at_most(5.V));
      │            ━━━━
      ╰╴
    help: did you mean `read`?
    "#);
}

#[test]
fn a_wrong_number_of_arguments_is_found_before_the_run() {
    assert_snapshot!(refused("step();\nkey_on(1);\nread(\"x\");\nfn mine(a) { a }\nmine(1, 2);\n"), @r#"
    error: `step` takes 1 or 2 arguments, not 0
      ╭▸ p.rhai:6:1
      │
    6 │ step();
      │ ━━━━
      ╰╴
    help: write it as step(title: text) or step(title: text, near: Near)

    error: `key_on` takes 0 arguments, not 1
      ╭▸ p.rhai:7:1
      │
    7 │ key_on(1);
      │ ━━━━━━
      ╰╴
    help: write it as key_on()

    error: `read` takes 3 or 4 arguments, not 1
      ╭▸ p.rhai:8:1
      │
    8 │ read("x");
      │ ━━━━
      ╰╴
    help: write it as read(id: text, text: text, limits: Limits, leads: Leads) → Reading or read(id: text, text: text, limits: Limits) → Reading

    error: `mine` takes 1 argument, not 2
       ╭▸ p.rhai:10:1
       │
    10 │ mine(1, 2);
       ╰╴━━━━
    "#);
}

#[test]
fn calls_in_places_that_are_easily_forgotten_are_checked_too() {
    assert_snapshot!(refused(
        "let x = loop { break setp(1); };\nlet f = |a| setp(a);\nlet s = `${setp(2)}`;\nfn own() { setp(3) }\n5.V.setp();\n"
    ), @r#"
    error: there is no function `setp`
      ╭▸ p.rhai:6:22
      │
    6 │ let x = loop { break setp(1); };
      │                      ━━━━
      ╰╴
    help: did you mean `step`?

    error: there is no function `setp`
      ╭▸ p.rhai:7:13
      │
    7 │ let f = |a| setp(a);
      │             ━━━━
      ╰╴
    help: did you mean `step`?

    error: there is no function `setp`
      ╭▸ p.rhai:8:12
      │
    8 │ let s = `${setp(2)}`;
      │            ━━━━
      ╰╴
    help: did you mean `step`?

    error: there is no function `setp`
      ╭▸ p.rhai:9:12
      │
    9 │ fn own() { setp(3) }
      │            ━━━━
      ╰╴
    help: did you mean `step`?

    error: there is no function `setp`
       ╭▸ p.rhai:10:5
       │
    10 │ 5.V.setp();
       │     ━━━━
       ╰╴
    help: did you mean `step`?
    "#);
}

#[test]
fn a_bare_number_as_a_limit_is_refused() {
    assert_snapshot!(refused("read(\"x\", \"Supply\", at_most(5));\n"), @r#"
    error: `at_most(5)` needs a unit: write 5.V, 5.ohm or what it is
      ╭▸ p.rhai:6:21
      │
    6 │ read("x", "Supply", at_most(5));
      ╰╴                    ━━━━━━━
    "#);
    assert_snapshot!(refused("read(\"x\", \"Supply\", between(4, 5));\n"), @r#"
    error: `between` can't take a bare number, a bare number
      ╭▸ p.rhai:6:21
      │
    6 │ read("x", "Supply", between(4, 5));
      │                     ━━━━━━━
      ╰╴
    help: a number needs its unit: write 5.V, 2.2.kohm, 40.min
    "#);
    assert_snapshot!(refused("read(\"x\", \"Supply\", between(5.V, 4.V));\n"), @r#"
    error: the lower limit 5 V is above the upper limit 4 V
      ╭▸ p.rhai:6:21
      │
    6 │ read("x", "Supply", between(5.V, 4.V));
      ╰╴                    ━━━━━━━
    "#);
    assert_snapshot!(refused("read(\"x\", \"Supply\", between(5.V, 6.ohm));\n"), @r#"
    error: can't compare 5 V and 6 Ω: one is volts, the other ohms
      ╭▸ p.rhai:6:21
      │
    6 │ read("x", "Supply", between(5.V, 6.ohm));
      ╰╴                    ━━━━━━━
    "#);
    assert_snapshot!(refused("read(\"x\", \"Supply\", within(5.V, 0.pct));\n"), @r#"
    error: a tolerance must be above zero, not 0 V
      ╭▸ p.rhai:6:21
      │
    6 │ read("x", "Supply", within(5.V, 0.pct));
      ╰╴                    ━━━━━━
    "#);
    assert_snapshot!(refused("read(\"x\", \"Supply\", at_most(5.V * 1.V));\n"), @r#"
    error: no meter shows kg^2·m^4·s^-6·A^-2: limits need a unit such as V, A or ohm
      ╭▸ p.rhai:6:21
      │
    6 │ read("x", "Supply", at_most(5.V * 1.V));
      ╰╴                    ━━━━━━━
    "#);
}

/// Each of these lines comes to these words at the prompt.
#[track_caller]
pub fn at_the_prompt(lines: &[(&str, &str)]) {
    for (line, words) in lines {
        let shown = Place::new().call("repl").typing(&[line]).go();
        assert!(shown.flat().contains(words), "{line}\n{shown}");
    }
}

#[test]
fn the_words_of_the_language_keep_their_meaning() {
    let own =
        "fn read(id, text, limits) { #{ ok: true } }\nlet a = read(\"a\", \"A\", at_most(1.V));\nconclude(\"wire\");\n";
    let shown = run(own).ended(3).says("`read` with 3 arguments is a word of the language").says("such as `own_read`");
    shown.says("p.rhai:6");
    // With another number of arguments it takes no word away.
    run("fn half(x) { x / 2.0 }\nif half(1.V) < 1.V { conclude(\"wire\"); }\n").ended(0);
}

#[test]
fn what_is_let_go_of_and_taken_away_must_be_there() {
    let place = Place::new();
    for (action, said, meant) in [
        ("release(\"flp\")", "has no moving part `flp`", "did you mean `flap`?"),
        ("disconnect(\"signal\", \"gruond\")", "has no role or point `gruond`", "did you mean `ground`?"),
    ] {
        place.file(
            "p.rhai",
            format!("//! title = \"T\"\n//! revision = 1\n//! circuit = \"flap_sensor\"\n//!\n{action};\n"),
        );
        place.with_answers("").ended(3).says(said).says(meant);
    }
}

#[test]
fn the_prompt_understands_help_and_exit_from_a_pipe_too_and_folds_nothing_but_help() {
    let place = Place::new();
    let shown = place.call("repl").typing(&["help", "exit", "nonsense"]).in_vain().go().ended(0);
    shown.says("says more of a function").never_says("nonsense");
    let long = format!("\"{} \u{2192} x\"", "word ".repeat(30).trim());
    let shown = place.call("repl").typing(&[&long]).go().ended(0);
    assert_eq!(shown.out.lines().count(), 1, "{shown}");
    let shown = place.call("repl").typing(&["let told = help(\"volts\");", "5.V"]).go().ended(0);
    assert_eq!(shown.out.trim(), "5 V");
}
