//! An answer of a test that nobody asks for fails the test: typed, in a file, in a table.

use crate::place::Place;
use crate::shipped::{rows, run};

const BODY: &str = "let a = read(\"a\", \"A\", between(1.V, 2.V));\nif a.ok { conclude(\"wire\"); }\nread(\"b\", \"B\", at_most(1.V));\n\
    conclude(\"part\");\n";

#[test]
#[should_panic(expected = "typed and never asked for: [\"2\"]")]
fn a_line_too_many_is_seen() {
    Place::with(BODY).at_vehicle(&["1.5", "", "2"]);
}

#[test]
#[should_panic(expected = "every line was asked for")]
fn a_line_that_is_called_too_many_and_is_not_is_seen() {
    Place::with(BODY).run_at_vehicle(&crate::place::SAFE).typing(&["1.5", ""]).in_vain().go();
}

#[test]
fn a_line_too_few_puts_the_run_down() {
    Place::with(BODY).at_vehicle(&["5", ""]).ended(4).says("Paused.");
}

#[test]
#[should_panic(expected = "answers that were not asked for: [\"b\"]")]
fn an_answer_too_many_in_a_file_is_seen() {
    Place::with(BODY).with_answers("a = \"1.5\"\nb = \"0.5\"\n");
}

#[test]
fn an_answer_that_the_run_waits_for_was_asked_for() {
    Place::with(BODY).with_answers("a = \"nonsense\"\n").ended(4);
}

#[test]
#[should_panic(expected = "answers that were not asked for: [\"belt\"]")]
fn an_answer_too_many_for_a_shipped_procedure_is_seen() {
    let high = "rest = \"12.6\"\nbefore = \"12.4\"\ncharge = \"15.2\"\nloaded = \"14.9\"\nalternator_high = \"15.4\"\nground_high = \"0.02 V\"\n";
    run(&Place::new(), "charging", &format!("{high}belt = true\n"));
}

#[test]
#[should_panic(expected = "cells that were not asked for: [\"belt\"]")]
fn a_cell_too_many_in_a_table_is_seen() {
    rows("charging", "vehicle,fault,belt\nUnit 1,none,yes\n");
}
