//! The prompt in a real terminal: completion, lines that go on, history, keys, colors.

use crate::place::{Call, Place};
use rexpect::session::{PtySession, spawn_command};

/// Long enough that a busy machine does not fail a test.
const PATIENCE: Option<u64> = Some(60_000);

fn open(call: Call<'_>) -> PtySession {
    spawn_command(call.command(), PATIENCE).unwrap()
}

/// Waits for the prompt, then sends these keys: what is typed ahead of it is lost.
fn type_in(session: &mut PtySession, keys: &str) {
    session.exp_string("ohm> ").unwrap();
    session.send(keys).unwrap();
    session.flush().unwrap();
}

/// Types a line, and waits for what it comes to.
fn comes_to(session: &mut PtySession, keys: &str, shown: &str) {
    type_in(session, &format!("{keys}\n"));
    session.exp_string(shown).unwrap_or_else(|error| panic!("{keys:?}: {error}"));
}

fn leave(mut session: PtySession) {
    session.exp_string("ohm> ").unwrap();
    session.send_control('d').unwrap();
    session.exp_eof().unwrap();
    let ended = session.process().wait().unwrap();
    assert!(matches!(ended, rexpect::process::WaitStatus::Exited(_, 0)), "{ended:?}");
}

#[test]
fn tab_completes_helpers_units_points_faults_and_ids() {
    let place = Place::new();
    let mut session = open(place.call("repl"));
    // Were it not completed, none of these lines would come to anything.
    comes_to(&mut session, "ohms_l\t(12.V, 4.7.koh\t).amp\t", "2.553 mA");
    comes_to(
        &mut session,
        "bench(\"flap_s\t\", \"signal_wire_o\t\")",
        "position sensor, three-wire, 5 V: signal_wire_open",
    );
    type_in(&mut session, "key_on()\n");
    comes_to(&mut session, "volts(\"sig\t\", \"gro\t\")", "499.5 mV");
    comes_to(&mut session, "volts(\"C41.3\", \"C41.1.comp\t\")", " V");
    comes_to(&mut session, "load(\"flap_s\t\")", "step_through()");
    comes_to(&mut session, "\"shown_o\t\"", "shown_open\r\n");
    // Of many units those of the trade are shown.
    type_in(&mut session, "5.\t\t");
    let shown = session.exp_string("ohm_per_m").unwrap();
    assert!(shown.contains("mV") && !shown.contains("pbar"), "{shown}");
    session.exp_string("ohm> 5.").unwrap();
    session.send_control('c').unwrap();
    leave(session);
}

#[test]
fn a_line_goes_on_until_its_brackets_close_and_an_error_has_its_caret() {
    let place = Place::new();
    let mut session = open(place.call("repl"));
    comes_to(&mut session, "(5.V +\n1.V)", "6 V");
    comes_to(&mut session, "fn half(x) {\nx / 2\n}", "}");
    comes_to(&mut session, "half(7.V)", "3.5 V");
    comes_to(&mut session, "5.V + 1.A", "can't add 5 V and 1 A");
    session.exp_string("5.V + 1.A").unwrap();
    // The terminal's bytes are taken one by one: under the plus sign stands the caret.
    let caret: String = "    \u{2501}".bytes().map(char::from).collect();
    session.exp_string(&caret).unwrap();
    leave(session);
}

#[test]
fn what_was_typed_is_there_at_the_next_start() {
    let place = Place::new();
    let mut session = open(place.call("repl"));
    comes_to(&mut session, "11.V * 2", "22 V");
    leave(session);
    assert!(place.read(".local/state/ohmwright/history").contains("11.V * 2"));
    let mut session = open(place.call("repl"));
    comes_to(&mut session, "\u{1b}[A", "22 V");
    leave(session);
}

#[test]
fn ctrl_c_gives_a_line_up_and_what_a_newcomer_types_to_get_help_or_out_is_understood() {
    let place = Place::new();
    let mut session = open(place.call("repl"));
    type_in(&mut session, "nonsense(");
    session.exp_string("nonsense(").unwrap();
    session.send_control('c').unwrap();
    comes_to(&mut session, "1.V + 1.V", "2 V");
    comes_to(&mut session, "help", "says more of a function");
    for word in ["exit", "quit"] {
        let mut session = open(place.call("repl"));
        type_in(&mut session, &format!("{word}\n"));
        session.exp_eof().unwrap();
    }
    leave(session);
}

/// Acknowledges cautions until a reading is asked for.
fn come_to_the_reading(session: &mut PtySession) {
    while session.exp_regex(" > |V > ").unwrap().1 != "V > " {
        session.send_line("+").unwrap();
    }
}

#[test]
fn a_procedure_is_stepped_through_put_down_and_nothing_is_kept() {
    let place = Place::with(
        "let supply = read(\"supply\", \"Supply\", between(4.75.V, 5.25.V));\nif supply.low { conclude(\"wire\"); }\n",
    );
    let mut session = open(place.call("repl"));
    comes_to(&mut session, "load(\"p.rhai\")", "step_through()");
    type_in(&mut session, "step_through()\n");
    come_to_the_reading(&mut session);
    session.send_line("4.1").unwrap();
    session.exp_string("Wire open").unwrap();
    session.exp_string("last answer > ").unwrap();
    session.send_line("").unwrap();
    type_in(&mut session, "step_through()\n");
    come_to_the_reading(&mut session);
    session.send_control('c').unwrap();
    session.exp_string("stopped; nothing is kept").unwrap();
    leave(session);
    assert_eq!(place.records(), Vec::<String>::new());
}

/// What a right and a wrong line show.
fn shown(colored: bool) -> String {
    let place = Place::new();
    let call = place.call("repl");
    let mut session = open(if colored { call.colored() } else { call });
    type_in(&mut session, "12.V / 4.ohm\n");
    let mut shown = session.exp_string("3 A").unwrap();
    type_in(&mut session, "5.V + 1.A\n");
    shown.push_str(&session.exp_string("can't add").unwrap());
    shown.push_str(&session.exp_string("ohm> ").unwrap());
    session.send_control('d').unwrap();
    session.exp_eof().unwrap();
    shown
}

/// How many times a color or a weight is switched on; what only moves the cursor is none.
fn colors(shown: &str) -> usize {
    let after = shown.split("\u{1b}[").skip(1);
    after.filter(|rest| rest.trim_start_matches(|c: char| c.is_ascii_digit() || c == ';').starts_with('m')).count()
}

#[test]
fn results_and_errors_are_coloured_in_a_terminal_and_not_with_no_color() {
    let with = shown(true);
    assert!(with.contains("\u{1b}[32m") && colors(&with) > 3, "{with:?}");
    let without = shown(false);
    assert_eq!(colors(&without), 0, "{without:?}");
}

#[test]
fn help_fits_fifty_columns_and_tells_of_functions_kinds_and_topics() {
    let place = Place::new();
    let said = place
        .call("repl")
        .width(50)
        .typing(&["help()", "help(\"wire\")", "help(\"Reading\")", "help(\"bench\")", "help(\"ohms_law\")"])
        .go()
        .ended(0);
    assert!(said.out.lines().all(|line| unicode_width::UnicodeWidthStr::width(line) <= 50), "{said}");
    said.says("Wire: awg, awg_diameter, awg_area and 16 more")
        .says("wire_drop: Volts lost along one wire, one way.")
        .says("Reading: given by `module_shows`, `read`, `read_ac`, `read_diode`")
        .says("bench(circuit: text, fault: text) → text Takes a circuit with a fault in it.")
        .says("ohms_law(one: any quantity, other: any quantity) → load");
}

#[test]
fn help_names_kinds_in_plain_words_and_counts_arguments() {
    let place = Place::new();
    let asked = ["values", "readings", "text", "sleep", "len", "Sweep", "Ends", "Dynamic"];
    let typed: Vec<String> = asked.iter().map(|name| format!("help(\"{name}\")")).collect();
    let typed: Vec<&str> = typed.iter().map(String::as_str).collect();
    place
        .call("repl")
        .typing(&typed)
        .go()
        .ended(0)
        .says("Sweep.values → list")
        .says("Sweep.readings → whole number")
        .says("Note.text → text")
        .says("sleep(seconds: number)")
        .says("len: takes 1 argument")
        .says("Sweep: given by `sweep`")
        .says("Taken by: `sweep`")
        .says("nothing here is called `Dynamic`");
}

#[test]
fn a_wrong_number_of_arguments_is_told_before_anything_else_is_guessed() {
    Place::new()
        .call("repl")
        .typing(&["ohms_law(1)", "read(\"a\", 1)", "volts(\"signal\")", "fn half(x) { x / 2 }", "half(1.V, 2.V)"])
        .go()
        .ended(3)
        .says("`ohms_law` takes 2 arguments, not 1")
        .says("`read` takes 3 or 4 arguments, not 2")
        .says("`volts` takes 2 arguments, not 1")
        .says("`half` takes 1 argument, not 2")
        .never_says("needs its unit");
}

#[test]
fn a_wrong_call_says_how_it_is_called() {
    let place = Place::new();
    place
        .call("repl")
        .typing(&["volts(\"signal\", 5.V)", "4.ohmm", "5.V +* 3", "load(\"flap\")", "bench(\"flap\")"])
        .go()
        .ended(3)
        .says("`volts` can't take a text, a quantity")
        .says("write it as volts(red: text, black: text) → quantity")
        .says("a bare number has no `.ohmm`")
        .says("did you mean `.ohm`?")
        .says("`*` does not belong here")
        .says("there is no procedure `flap`; did you mean `flap_sensor`?")
        .says("there is no circuit `flap`; did you mean `flap_sensor`?");
}
