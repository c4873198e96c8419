//! Comparisons and arithmetic of things that do not fit together.

use crate::language::at_the_prompt;
use crate::place::Place;
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
        5 V is not a time to wait: write 40.min or 30.s
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
fn what_is_no_number_decides_nothing() {
    at_the_prompt(&[
        ("1.0 / 0.0", "1 can't be divided by 0"),
        ("0.0 / 0", "0 can't be divided by 0"),
        ("2 / 0.0", "2 can't be divided by 0"),
        ("sqrt(-1.0) > 0.9", "one of them is not a number"),
        ("(1e308 * 10.0).V", "inf is not a number that could have a unit"),
        ("at_most((1.0 / 3.0).V)", "at most 333.33 mV"),
        ("7.0 / 2", "3.5"),
        ("2.5 > 2", "true"),
    ]);
}

#[test]
fn whole_numbers_divide_as_on_a_calculator_and_stay_whole_where_it_comes_out_even() {
    let place = Place::new();
    let lines = ["7 / 2", "8 / 2", "let n = 9; n / 4", "-7 / 2", "[1.V, 2.V][2 / 2]", "(7 / 2).V"];
    let shown = place.call("repl").typing(&lines).go().ended(0);
    assert_eq!(shown.out.lines().map(str::trim).collect::<Vec<_>>(), ["3.5", "4", "2.25", "-3.5", "2 V", "3.5 V"]);
    place.call("repl").typing(&["7 / 0"]).go().ended(3).says("7 can't be divided by zero");
}
