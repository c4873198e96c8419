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
    Place::with(body).with_answers("").without_panic()
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
    let shown = place.with_answers(ANSWERS).without_panic();
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
    ]), @r#"
    5.V > 5
        can't compare 5 V with the bare number 5: give the number a unit
    5 < 5.V
        can't compare the bare number 5 with 5 V: give the number a unit
    5.0 == 5.V
        can't compare the bare number 5.0 with 5 V: give the number a unit
    5.V == 5
        can't compare 5 V with the bare number 5: give the number a unit
    5.V != 5
        can't compare 5 V with the bare number 5: give the number a unit
    volts > 5
        can't compare a reading with the bare number 5: give the number a unit
    5 >= volts
        can't compare the bare number 5 with a reading: give the number a unit
    volts == 5.0
        can't compare a reading with the bare number 5.0: give the number a unit
    5.V > 5.ohm
        can't compare 5 V and 5 Ω: one is volts, the other ohms
    5.V == 5.ohm
        can't compare 5 V and 5 Ω: one is volts, the other ohms
    volts < ohms
        can't compare 5 V and 25 Ω: one is volts, the other ohms
    volts > 20.ohm
        can't compare 5 V and 20 Ω: one is volts, the other ohms
    5.degC < 5.V
        can't compare 5 °C and 5 V: one is a temperature, the other volts
    5.pct == 0.05
        can't compare 5 % with the bare number 0.05: give the number a unit
    left_out < 5.V
        `left_out` was skipped and has no value: look at `.skipped` first and go another way
    5.V < left_out
        `left_out` was skipped and has no value: look at `.skipped` first and go another way
    left_out == left_out
        `left_out` was skipped and has no value: look at `.skipped` first and go another way
    left_out.value < 5.V
        `left_out` was skipped and has no value: look at `.skipped` first and go another way
    left_out != ()
        can't compare a reading with nothing
    () < 1
        can't compare nothing with the bare number 1
    () == 0
        can't compare nothing with the bare number 0
    1 > ()
        can't compare the bare number 1 with nothing
    () == ()
        can't compare nothing with nothing
    () == ""
        can't compare nothing with the text ""
    5.V == ()
        can't compare 5 V with nothing
    volts == ()
        can't compare a reading with nothing
    how == ()
        can't compare a choice with nothing: compare it with one of its texts
    yes == ()
        can't compare a yes or no with nothing: write `.yes` or `.no`
    "abc" > 5
        can't compare the text "abc" with the bare number 5
    5 == "5"
        can't compare the bare number 5 with the text "5"
    "5 V" == 5.V
        can't compare the text "5 V" with 5 V
    volts == "5.00"
        can't compare a reading with the text "5.00"
    true == 1
        can't compare true with the bare number 1
    true == "true"
        can't compare true with the text "true"
    yes == true
        can't compare a yes or no with true
    yes == "yes"
        can't compare a yes or no with the text "yes"
    words == "rust"
        can't compare a note with the text "rust"
    track == 5.V
        can't compare a sweep with 5 V
    track > 5
        can't compare a sweep with the bare number 5
    pair == 5.V
        can't compare a lowest and highest with 5 V
    pair < 5.V
        can't compare a lowest and highest with 5 V
    how == "lose"
        `how` has no option "lose"
    how == 1
        can't compare a choice with the bare number 1
    how > "loose"
        can't compare a choice with the text "loose": compare it with one of its texts
    'a' == "a"
        TRUE
    "a" == 'a'
        TRUE
    'a' == 1.5
        can't compare a single letter with the bare number 1.5
    true == 'a'
        can't compare true with a single letter
    [5.V] == [5]
        can't compare 5 V with the bare number 5: give the number a unit
    [5.V].contains(5)
        can't compare 5 V with the bare number 5: give the number a unit
    5 in [5.V]
        can't compare 5 V with the bare number 5: give the number a unit
    5.V in [5]
        can't compare the bare number 5 with 5 V: give the number a unit
    [1] == "1"
        can't compare a list with the text "1"
    #{} == 1
        can't compare a map with the bare number 1
    1 == #{}
        can't compare the bare number 1 with a map
    #{} == "x"
        can't compare a map with the text "x"
    [] == true
        can't compare a list with true
    [] == #{}
        can't compare a list with a map
    between(1.V, 2.V) == 5
        can't compare limits with the bare number 5
    volts == between(4.V, 6.V)
        can't compare a reading with limits
    between(1.V, 2.V) == between(1.V, 2.V)
        can't compare limits with limits
    near("lift") == "lift"
        can't compare a place near hazards with the text "lift"
    across("a", "b") == 1
        can't compare a place for the leads with the bare number 1
    1 == 1.0
        TRUE
    1 < 2.5
        TRUE
    2.5 > 1
        TRUE
    "a" < "b"
        TRUE
    [1] == [1]
        TRUE
    [1] == [true]
        can't compare the bare number 1 with true
    [1].contains(1)
        TRUE
    1 in [1]
        TRUE
    "a" in ["b", "a"]
        TRUE
    [1.5].index_of(1.5) == 0
        TRUE
    near("lift") == near("lift")
        can't compare a place near hazards with a place near hazards
    #{} == #{}
        TRUE
    1 != 2
        TRUE
    true == false
        FALSE
    how == "loose"
        TRUE
    volts > 4.9.V
        TRUE
    volts == 5.V
        TRUE
    volts > volts
        FALSE
    5.V in [5.V]
        TRUE
    min(5.V, 3)
        `min` can't take a quantity, a bare number
    max(5.V, 3.ohm)
        can't compare 5 V and 3 Ω: one is volts, the other ohms
    "x" == Fn("abs")
        can't compare the text "x" with a function
    2 in 1..5
        TRUE
    3 in 1..5.V
        `..` does not go between a bare number and a quantity
    Fn("abs") == 1
        can't compare a function with the bare number 1
    "#);
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
    ]), @r#"
    5.V + 1.A
        can't add 5 V and 1 A: one is volts, the other amperes
    5.V - 1.ohm
        can't subtract 5 V and 1 Ω: one is volts, the other ohms
    5.V + 1
        can't add 5 V and the bare number 1: give the number a unit
    1 - 5.V
        can't subtract 5 V and the bare number 1: give the number a unit
    volts + 1.V
        `+` does not go between a reading and a quantity
    volts.value + 1.A
        can't add 5 V and 1 A: one is volts, the other amperes
    5.V / 0.ohm < 1.A
        5 V ÷ 0 Ω has no finite value
    5.V * 2.A > 9.W
        TRUE
    12.V / 4.ohm == 3.A
        TRUE
    1 / 4.ohm < 1.V
        can't compare 0.25 kg^-1·m^-2·s^3·A^2 and 1 V: one is kg^-1·m^-2·s^3·A^2, the other volts
    -(5.V) < 0.V
        TRUE
    abs(-5.V) == 5.V
        TRUE
    25.degC - 20.degC < 1.degC
        can't compare 5 K and 1 °C: one is a temperature difference, the other a temperature
    25.degC + 20.degC > 0.degC
        can't add 20 °C: it is a point on a scale, not an amount
    5.V.ohm > 1
        5 V is volts, not ohms
    5.V.mV == 5000.0
        TRUE
    volts.mV > 1
        a reading has no `.mV`
    volts.vale > 5.V
        nothing has a property `.vale`
    volts.ok == 1
        can't compare true with the bare number 1
    5.Volts > 5.V
        a bare number has no `.Volts`
    5.V && true
        true or false is wanted here, not a quantity
    volts
        true or false is wanted here, not a reading
    !volts
        `!` can't take a reading
    volts && true
        true or false is wanted here, not a reading
    "" + 5.V == "5 V"
        TRUE
    wait(5.V) == 1
        5 V is no time to wait: write 40.min or 30.s
    wait(40) == 1
        `wait` can't take a bare number
    [5.V, 3.V].sort() == 1
        these can't be sorted
    pair.lowest > 4.V
        TRUE
    track.lowest > 4.V
        FALSE
    track.readings == 3
        TRUE
    how.ok
        a choice has no `.ok`
    yes.ok
        a yes or no has no `.ok`
    words.text == "rust"
        TRUE
    "#);
}

#[test]
fn a_wrong_dimension_is_shown_where_it_stands() {
    assert_snapshot!(run("let sum = 5.V + 1.A;\n"), @"
    exit 3
    --- stdout
    Test (revision 1)
    ┌─────────────┬────────────────────────────────────────────────────────────────┐
    │ record      ┆ 2026-11-24-090000-p                                            │
    │ entered on  ┆ 2026-11-24 09:00 UTC                                           │
    │ stood       ┆ key off, engine stopped, vehicle down, wheels chocked, battery │
    │             ┆ connected, high-voltage system absent                          │
    │ meter       ┆ none named; how sure the verdicts are is not known             │
    │ answered by ┆ an answers file                                                │
    │ clock       ┆ set by hand                                                    │
    └─────────────┴────────────────────────────────────────────────────────────────┘

    The procedure has an error: p.rhai:6: can't add 5 V and 1 A: one is volts, the
      other amperes
    The record is 2026-11-24-090000-p; once the procedure is mended, `ohmwright
      resume 2026-11-24-090000-p` goes on.
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
    error: `-1` stands here, and a whole number from 1 on is wanted
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
    Test (revision 1)
    ┌─────────────┬────────────────────────────────────────────────────────────────┐
    │ record      ┆ 2026-11-24-090000-p                                            │
    │ entered on  ┆ 2026-11-24 09:00 UTC                                           │
    │ stood       ┆ key off, engine stopped, vehicle down, wheels chocked, battery │
    │             ┆ connected, high-voltage system absent                          │
    │ meter       ┆ none named; how sure the verdicts are is not known             │
    │ answered by ┆ an answers file                                                │
    │ clock       ┆ set by hand                                                    │
    └─────────────┴────────────────────────────────────────────────────────────────┘

    The procedure has an error: p.rhai:7: the header has no cause `pard`; did you
      mean `part`?
    The record is 2026-11-24-090000-p; once the procedure is mended, `ohmwright
      resume 2026-11-24-090000-p` goes on.
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
    run("conclude(\"not_present\");\n").ended(0).says("Not present while tested").never_says("no fault");
}

#[test]
fn a_step_is_near_zones_that_cautions_know() {
    assert_snapshot!(refused("step(\"First\", near(\"lfit\"));\n"), @r#"
    error: `lfit` is no zone that a caution knows
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
    help: library files stand in the header: `//! uses = ["name"]`
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
    place.at_vehicle(&["pause"]).ended(4).says("Put down").never_says("Part worn");
    Place::with(body)
        .at_vehicle(&["skip no room for the lead", "2"])
        .ended(5)
        .says("`supply` was skipped, and the procedure needs it (no room for the lead)")
        .never_says("Part worn");
}

/// Each of these lines comes to these words at the prompt.
#[track_caller]
fn at_the_prompt(lines: &[(&str, &str)]) {
    for (line, words) in lines {
        let shown = Place::new().call("repl").typing(&[line]).go();
        assert!(shown.flat().contains(words), "{line}\n{shown}");
    }
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
        shown.says("`b` was skipped, and the procedure needs it").never_says("Wire open");
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
fn what_is_no_number_decides_nothing() {
    at_the_prompt(&[
        ("1.0 / 0.0", "1 can't be divided by 0"),
        ("0.0 / 0", "0 can't be divided by 0"),
        ("2 / 0.0", "2 can't be divided by 0"),
        ("sqrt(-1.0) > 0.9", "one of them is no number"),
        ("(1e308 * 10.0).V", "inf is no number that could have a unit"),
        ("at_most((1.0 / 3.0).V)", "at most 333.33 mV"),
        ("7.0 / 2", "3.5"),
        ("2.5 > 2", "true"),
    ]);
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
        .says("1 answer `supply` again, 2 end it there");
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
      Enter if it stands so; else what is different, as key=on
      >

    The procedure can't go on: the pin can't be reached.
      1 answer `supply` again, 2 end it there > 2
    Unfinished: the pin can't be reached
    Record: 2026-11-24-090000-p-unit-12
    ");
    let record = place.record();
    let events = place.events();
    let last = events.last().unwrap();
    assert_eq!((&last["event"], &last["how"]), (&"ended".into(), &"unfinished".into()));
    assert_eq!(last["reason"], "the pin can't be reached");
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
        shown.says("`supply` was skipped, and the procedure needs it (no room)").never_says("Cause:");
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
    Test (revision 1)
    ┌─────────────┬────────────────────────────────────────────────────────────────┐
    │ record      ┆ 2026-11-24-090000-p                                            │
    │ entered on  ┆ 2026-11-24 09:00 UTC                                           │
    │ stood       ┆ key off, engine stopped, vehicle down, wheels chocked, battery │
    │             ┆ connected, high-voltage system absent                          │
    │ meter       ┆ none named; how sure the verdicts are is not known             │
    │ answered by ┆ an answers file                                                │
    │ clock       ┆ set by hand                                                    │
    └─────────────┴────────────────────────────────────────────────────────────────┘

    Step: First

    Unconcluded: the procedure came to its end without a cause
    Record: 2026-11-24-090000-p
    ");
    run("exit();\nconclude(\"wire\");\n").ended(5).says("Unconcluded");
    run("return;\n").ended(5).says("Unconcluded");
}

#[test]
fn several_causes_stand_where_the_evidence_can_not_part_them() {
    assert_snapshot!(run("step(\"First\");\nconclude([\"wire\", \"part\"]);\n").ended(0), @"
    exit 0
    --- stdout
    Test (revision 1)
    ┌─────────────┬────────────────────────────────────────────────────────────────┐
    │ record      ┆ 2026-11-24-090000-p                                            │
    │ entered on  ┆ 2026-11-24 09:00 UTC                                           │
    │ stood       ┆ key off, engine stopped, vehicle down, wheels chocked, battery │
    │             ┆ connected, high-voltage system absent                          │
    │ meter       ┆ none named; how sure the verdicts are is not known             │
    │ answered by ┆ an answers file                                                │
    │ clock       ┆ set by hand                                                    │
    └─────────────┴────────────────────────────────────────────────────────────────┘

    Step: First

    The evidence can't part these causes:
    Cause:      Wire open
    Correction: Repair the wire
    Cause:      Part worn
    Correction: Replace the part
    Record: 2026-11-24-090000-p
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

/// With a library file in a shop.
fn with_library(library: &str, body: &str) -> Place {
    let place = Place::new();
    place.file("shop.toml", "name = \"Test shop\"\n");
    place.file("library/common.rhai", format!("//! title = \"Common\"\n//!\n//! [causes]\n//! shared = {{ cause = \"Shared ground open\", correction = \"Repair it\" }}\n{library}"));
    place.file("p.rhai", format!("//! title = \"Test\"\n//! revision = 1\n//! uses = [\"common\"]\n{body}"));
    place
}

#[test]
fn what_a_librarys_header_says_in_vain_is_named_before_a_record_is_begun() {
    let place = with_library("fn f() { }\n", "common::f();\n");
    let text = place.read("library/common.rhai").replace("//!\n", "//! uses = [\"meter\"]\n//! circuit = \"lamp\"\n");
    place.file("library/common.rhai", text);
    let shown = place.with_answers("").ended(3);
    shown
        .says("`uses` does nothing in the header of a library file")
        .says("library/common.rhai:2:5")
        .says("common.rhai:3:5");
    assert!(place.records().is_empty());
}

#[test]
fn an_error_in_a_library_function_is_shown_in_the_library_file() {
    let library = "\n// A comment.\nfn inner(q) {\n    if q > 5 { step(\"x\"); }\n}\nfn outer(q) { inner(q); }\nfn adds(q) { q + 1.A }\nfn finds() { let c = \"sharde\"; conclude(c); }\nfn zone() { let z = \"lfit\"; step(\"x\", near(z)); }\n";
    for (call, at, title) in [
        (
            "common::outer(5.V)",
            "library/common.rhai:8:10",
            "can't compare 5 V with the bare number 5: give the number a unit",
        ),
        ("common::adds(5.V)", "library/common.rhai:11:16", "can't add 5 V and 1 A"),
        ("common::finds()", "library/common.rhai:12:32", "the header has no cause `sharde`; did you mean `shared`?"),
        ("common::zone()", "library/common.rhai:13:29", "`lfit` is no zone that a caution knows"),
    ] {
        let shown = with_library(library, &format!("{call};\n")).with_answers("").ended(3);
        assert!(shown.err.contains(at) && shown.flat().contains(title), "{call}\n{shown}");
    }
    assert_snapshot!(with_library(library, "common::outer(5.V);\n").with_answers("").ended(3), @r#"
    exit 3
    --- stdout
    Test (revision 1)
    ┌─────────────┬────────────────────────────────────────────────────────────────┐
    │ record      ┆ 2026-11-24-090000-p                                            │
    │ entered on  ┆ 2026-11-24 09:00 UTC                                           │
    │ stood       ┆ key off, engine stopped, vehicle down, wheels chocked, battery │
    │             ┆ connected, high-voltage system absent                          │
    │ meter       ┆ none named; how sure the verdicts are is not known             │
    │ answered by ┆ an answers file                                                │
    │ clock       ┆ set by hand                                                    │
    └─────────────┴────────────────────────────────────────────────────────────────┘

    The procedure has an error: [folder]/library/common.rhai:8:
      can't compare 5 V with the bare number 5: give the number a unit
    The record is 2026-11-24-090000-p; once the procedure is mended, `ohmwright
      resume 2026-11-24-090000-p` goes on.
    --- stderr
    error: can't compare 5 V with the bare number 5: give the number a unit
      ╭▸ [folder]/library/common.rhai:8:10
      │
    8 │     if q > 5 { step("x"); }
      ╰╴         ━
    "#);
}

#[test]
fn what_can_be_found_in_a_library_file_without_running_is_shown_there() {
    assert_snapshot!(with_library("fn outer() { setp(\"x\"); }\n", "conclude(\"shared\");\n").with_answers("").ended(3).err, @r#"
    error: there is no function `setp`
      ╭▸ [folder]/library/common.rhai:5:14
      │
    5 │ fn outer() { setp("x"); }
      │              ━━━━
      ╰╴
    help: did you mean `step`?
    "#);
    assert_snapshot!(with_library("step(\"x\");\n", "conclude(\"shared\");\n").with_answers("").ended(3).err, @r#"
    error: a library file has functions only, nothing outside of them
      ╭▸ [folder]/library/common.rhai:5:1
      │
    5 │ step("x");
      │ ━━━━
      ╰╴
    help: put it into a `fn`
    "#);
    assert_snapshot!(with_library("fn outer() {}\n", "common::outre();\ncommon::outer(1);\ncomon::outer();\n").with_answers("").ended(3).err, @r#"
    error: `comon` is no library file that this procedure uses
      ╭▸ p.rhai:6:1
      │
    6 │ comon::outer();
      │ ━━━━━
      ╰╴
    help: add it to the header: `//! uses = ["comon"]`
    "#);
}

#[test]
fn a_library_function_concludes_with_its_own_cause() {
    with_library("fn find() { conclude(\"shared\"); }\n", "common::find();\n")
        .with_answers("")
        .ended(0)
        .says("Shared ground open");
}

#[test]
fn a_shop_library_file_goes_before_one_of_the_program() {
    let place = with_library("", "three_wire::mine();\n");
    place.file("library/three_wire.rhai", "//! title = \"Mine\"\n//! [causes]\n//! own = { cause = \"Own cause\", correction = \"x\" }\nfn mine() { conclude(\"own\"); }\n");
    place.file("p.rhai", "//! title = \"Test\"\n//! revision = 1\n//! uses = [\"three_wire\"]\nthree_wire::mine();\n");
    place.with_answers("").ended(0).says("Own cause");
}

#[test]
fn a_library_file_from_outside_the_library_folder_can_not_be_named() {
    let place = Place::new();
    place.file("shop.toml", "").file("secret.rhai", "//! title = \"x\"\nfn f() {}\n");
    place.file("p.rhai", "//! title = \"Test\"\n//! revision = 1\n//! uses = [\"../secret\"]\n");
    place.with_answers("").ended(3).says("there is no library file `../secret`");
}

#[test]
fn the_prompt_understands_help_and_exit_from_a_pipe_too_and_folds_nothing_but_help() {
    let place = Place::new();
    let shown = place.call("repl").typing(&["help", "exit", "nonsense"]).go().ended(0);
    shown.says("says more of a function").never_says("nonsense");
    let long = format!("\"{} \u{2192} x\"", "word ".repeat(30).trim());
    let shown = place.call("repl").typing(&[&long]).go().ended(0);
    assert_eq!(shown.out.lines().count(), 1, "{shown}");
    let shown = place.call("repl").typing(&["let told = help(\"volts\");", "5.V"]).go().ended(0);
    assert_eq!(shown.out.trim(), "5 V");
}

#[test]
fn whole_numbers_divide_as_on_a_calculator_and_stay_whole_where_it_comes_out_even() {
    let place = Place::new();
    let lines = ["7 / 2", "8 / 2", "let n = 9; n / 4", "-7 / 2", "[1.V, 2.V][2 / 2]", "(7 / 2).V"];
    let shown = place.call("repl").typing(&lines).go().ended(0);
    assert_eq!(shown.out.lines().map(str::trim).collect::<Vec<_>>(), ["3.5", "4", "2.25", "-3.5", "2 V", "3.5 V"]);
    place.call("repl").typing(&["7 / 0"]).go().ended(3).says("7 can't be divided by zero");
}
