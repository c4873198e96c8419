//! In a real terminal: colors, Ctrl-C, narrow screens.

use crate::place::{Call, LET_STAND, Place, SAFE, kinds, typed};
use insta::assert_snapshot;
use rexpect::session::{PtySession, spawn_command};

const BODY: &str = "step(\"Reference and ground, together\", near(\"lift\"));\nwhy(\"Back-probed with the connector mated, one reading across both wires proves both.\");\nkey_on();\n\
    let supply = read(\"supply\", \"Reference to sensor ground, connector mated, back-probed at the sensor\", between(4.75.V, 5.25.V), across(\"reference\", \"ground\"));\n\
    let seen = ask(\"seen\", \"Is there corrosion or a bent terminal in the connector?\");\nif seen.yes { conclude(\"part\"); }\nconclude(\"wire\");\n";
/// Long enough that a busy machine does not fail a test.
const PATIENCE: Option<u64> = Some(60_000);

fn open(call: Call<'_>) -> PtySession {
    spawn_command(call.command(), PATIENCE).unwrap()
}

/// Waits for the prompt, then types.
fn type_at(session: &mut PtySession, prompt: &str, line: &str) {
    session.exp_string(prompt).unwrap();
    session.send_line(line).unwrap();
}

fn code(session: &mut PtySession) -> Option<i32> {
    match session.process().wait().unwrap() {
        rexpect::process::WaitStatus::Exited(_, code) => Some(code),
        _ => None,
    }
}

#[test]
fn a_whole_run_is_typed_in_a_terminal() {
    let place = Place::with(BODY);
    let mut session = open(place.call("run p.rhai"));
    type_at(&mut session, "vehicle or unit: ", "Unit 12");
    type_at(&mut session, "system voltage, 12 or 24: ", "");
    type_at(&mut session, "Enter: go on > ", "");
    for (prompt, line) in [
        ("key: 1 off", "1"),
        ("engine: 1 stopped", "1"),
        ("minutes ago? > ", "600"),
        ("vehicle: 1 down", "2"),
        ("on, too): 1 chocked", "1"),
        ("battery: 1 connected", "1"),
        ("high-voltage system: 1 absent", "1"),
    ] {
        type_at(&mut session, prompt, line);
    }
    session.exp_string("DANGER").unwrap();
    type_at(&mut session, "+ locks or stands set and tried   .. more > ", "+");
    type_at(&mut session, "Enter: done > ", "");
    session.exp_string("reference").unwrap();
    type_at(&mut session, "V > ", "why");
    session.exp_string("Back-probed with").unwrap();
    type_at(&mut session, "V > ", "4.998");
    type_at(&mut session, "1 yes, 2 no > ", "2");
    session.exp_string("Wire open").unwrap();
    type_at(&mut session, "last answer > ", "");
    type_at(&mut session, "Enter: done > ", "");
    type_at(&mut session, "Enter: done > ", "");
    session.exp_eof().unwrap();
    assert_eq!(code(&mut session), Some(0));
    assert_eq!(typed(&place.events(), "supply"), ["4.998"]);
}

#[test]
fn ctrl_c_and_ctrl_d_put_down_and_the_run_is_taken_up() {
    for key in ['c', 'd'] {
        let place = Place::with(BODY);
        let mut session = open(place.run_at_vehicle(&SAFE));
        type_at(&mut session, "Enter: done > ", "");
        session.exp_string("V > ").unwrap();
        session.send_control(key).unwrap();
        // The way back is offered; once more leaves it.
        session.exp_string("Left changed: key ON.").unwrap();
        session.exp_string("Enter: done > ").unwrap();
        session.send_control(key).unwrap();
        session.exp_string("Paused.").unwrap();
        session.exp_eof().unwrap();
        assert_eq!(code(&mut session), Some(4));
        assert_eq!(kinds(&place.events()).last(), Some(&"paused"));
        let mut session = open(place.call("resume"));
        session.exp_string("as the record left it").unwrap();
        type_at(&mut session, "key=on", "");
        type_at(&mut session, "V > ", "4.998");
        type_at(&mut session, "1 yes, 2 no > ", "1");
        session.exp_string("Part worn").unwrap();
        type_at(&mut session, "last answer > ", "");
        type_at(&mut session, "Enter: done > ", "");
        type_at(&mut session, "Enter: done > ", "");
        session.exp_eof().unwrap();
        assert_eq!(code(&mut session), Some(0));
    }
}

#[test]
fn ctrl_c_before_anything_is_recorded_leaves_nothing() {
    let place = Place::with(BODY);
    let mut session = open(place.call("run p.rhai"));
    session.exp_string("vehicle or unit: ").unwrap();
    session.send_control('c').unwrap();
    session.exp_string("Paused before anything was recorded.").unwrap();
    session.exp_eof().unwrap();
    assert_eq!(code(&mut session), Some(4));
    assert_eq!(place.records(), Vec::<String>::new());
}

#[test]
fn an_edited_procedure_is_chosen_about_in_the_terminal() {
    let place = Place::with(BODY);
    place.at_vehicle(&["", "4.998", "pause"]).ended(4);
    place.procedure(&BODY.replace("4.75", "4.5"));
    let mut session = open(place.call("resume"));
    session.exp_string("carried over").unwrap();
    session.exp_string("begin a linked new run").unwrap();
    type_at(&mut session, "number > ", "1");
    type_at(&mut session, "key=on", "");
    type_at(&mut session, "1 yes, 2 no > ", "2");
    session.exp_string("Wire open").unwrap();
    type_at(&mut session, "last answer > ", "");
    session.exp_eof().unwrap();
    assert_eq!(code(&mut session), Some(0));
    assert_eq!(place.records().len(), 2);
}

/// Everything that a whole small run shows in a terminal.
fn shown_in_terminal(colored: bool) -> String {
    let place = Place::with(BODY);
    let call = place.run_at_vehicle(&SAFE);
    let mut session = open(if colored { call.colored() } else { call });
    type_at(&mut session, "Enter: done > ", "");
    let mut shown = session.exp_string("V > ").unwrap();
    session.send_line("4.1").unwrap();
    shown.push_str(&session.exp_string("1 yes, 2 no > ").unwrap());
    session.send_line("2").unwrap();
    shown.push_str(&session.exp_string("last answer > ").unwrap());
    session.send_line("").unwrap();
    type_at(&mut session, "Enter: done > ", "");
    type_at(&mut session, "Enter: done > ", "");
    shown.push_str(&session.exp_eof().unwrap());
    shown
}

#[test]
fn colors_stand_beside_the_words_and_are_switched_off_by_no_color() {
    // Bold and red for a reading that is out, each switched on by its own number.
    let color = |shown: &str| shown.contains("\u{1b}[31m") || shown.contains("\u{1b}[1m\u{1b}[31m");
    let with = shown_in_terminal(true);
    assert!(color(&with) && with.contains("LOW"), "{with:?}");
    let without = shown_in_terminal(false);
    assert!(!color(&without) && !without.contains("\u{1b}[1m") && without.contains("LOW"), "{without:?}");
}

#[test]
fn a_pipe_gets_no_colours_without_being_told() {
    let place = Place::with(BODY);
    let shown = place.run_at_vehicle(&SAFE).colored().typing(&["", "4.1", "2", ""]).go().ended(0);
    assert!(!shown.out.contains('\u{1b}'), "{:?}", shown.out);
    place.procedure("setp(1);\n");
    let shown = place.run_at_vehicle(&SAFE).colored().go().ended(3);
    assert!(!shown.err.contains('\u{1b}'), "{:?}", shown.err);
}

/// Signs that rules and borders are drawn with.
const DRAWN: [char; 8] = ['─', '═', '│', '┆', '┌', '└', '╞', '├'];

/// Lines that are wider than the screen; those of one word, a record's or file's name, can't be broken and are left out.
fn too_wide(text: &str, columns: usize) -> Vec<String> {
    text.lines()
        // What was typed behind a prompt is as long as it is.
        .map(|line| line.find("> ").map_or(line, |at| &line[..at + 2]))
        .filter(|line| unicode_width::UnicodeWidthStr::width(line.trim_end()) > columns)
        .filter(|line| line.trim().contains(' ') || line.contains(DRAWN))
        .map(str::to_owned)
        .collect()
}

#[test]
fn a_rule_a_border_and_a_sentence_can_be_too_wide_and_a_name_can_not() {
    for line in ["─".repeat(51), format!("┌{}┐", "─".repeat(49)), "a word ".repeat(8), "長 長".repeat(11)] {
        assert_eq!(too_wide(&line, 50).len(), 1, "{line}");
    }
    for line in ["─".repeat(50), "a".repeat(80), format!("  [folder]/{}", "a".repeat(80))] {
        assert_eq!(too_wide(&line, 50), Vec::<String>::new(), "{line}");
    }
}

#[test]
fn fifty_columns_are_enough() {
    let everything = "step(\"A step with quite a long heading that must be broken somewhere\", near(\"lift\", \"exhaust\", \"driveline\", \"battery\"));\n\
        why(\"A reason that is so long that no narrow screen could ever show it on one line alone.\");\nkey_on();\nunplug(\"C41\");\n\
        let supply = read(\"supply\", \"Reference to sensor ground, connector mated, back-probed at the sensor\", between(4.75.V, 5.25.V, \"manufacturer's manual, page 12, table 4, second row\"), across(\"reference\", \"ground\"));\n\
        let track = sweep(\"track\", \"Turn the shaft slowly from one stop to the other stop\", ends(0.7.V, 4.0.V), across(\"signal\", \"ground\"), moving(\"shaft of the flap\"));\n\
        let how = choose(\"how\", \"What does the connector look like inside?\", [\"one answer with many words, more than fit on a narrow screen\", \"two\"]);\n\
        let pair = lowest_highest(\"pair\", \"Shake the harness\", between(4.8.V, 5.2.V), across(\"signal\", \"ground\"), moving(\"harness\"));\n\
        let words = note(\"words\", \"What else was there to be seen, heard or smelt?\");\nconclude([\"wire\", \"part\"]);\n";
    let place = Place::with(everything);
    let states = ["key=off", "engine=stopped", "ran=5", "lift=raised", "wheels=free"];
    let lines = [
        "",
        "",
        "+",
        "+",
        "+",
        "+",
        "+",
        "+",
        "",
        "",
        "help",
        "4,998",
        "12 volts",
        "back",
        "note a note that is so long that it must be broken, too",
        "-5.0",
        "49.0",
        "+",
        "+",
        "0.7",
        "0.9 @ a b",
        "@",
        "4.0",
        "",
        "7",
        "1",
        "5 4",
        "4.9 5.0",
        "a few words",
    ];
    let shown = place.run_at_vehicle(&states).width(50).typing(&lines).typing(&LET_STAND).go().ended(0);
    assert_eq!(too_wide(&shown.out, 50), Vec::<String>::new(), "{shown}");
    let shown = place.call("show").width(50).go().ended(0);
    assert_eq!(too_wide(&shown.out, 50), Vec::<String>::new(), "{shown}");
    let shown = place.call("list").width(50).go().ended(0);
    assert_eq!(too_wide(&shown.out, 50), Vec::<String>::new(), "{shown}");
}

#[test]
fn the_list_has_a_line_for_each_procedure_on_any_screen_and_more_of_one_by_its_name() {
    let place = Place::with("");
    let wide = place.call("list").width(240).go().ended(0).out;
    let (procedures, _) = wide.split_once("More of one").unwrap();
    assert!(procedures.lines().count() > 10, "{wide}");
    for width in [50, 64, 80] {
        let shown = place.call("list").width(width).go().ended(0);
        assert_eq!(too_wide(&shown.out, width), Vec::<String>::new(), "{shown}");
        for (line, whole) in shown.out.lines().zip(procedures.lines()) {
            let cells: Vec<&str> = whole.split_whitespace().collect();
            let minutes = format!("{} min", cells[cells.len() - 2]);
            assert!(line.starts_with(&format!("{}  ", cells[0])) && line.ends_with(&minutes), "{line}\n{whole}");
        }
    }
    let one = place.call("list battery").width(50).go().ended(0).says("needs").says("ohmwright run battery");
    assert_eq!(too_wide(&one.out, 50), Vec::<String>::new(), "{one}");
    place.call("list battry").go().ended(2).says("did you mean `battery`");
}

#[test]
fn an_action_says_where_it_is_done_in_the_circuits_words() {
    let place = Place::new();
    place.file(
        "p.rhai",
        "//! title = \"Test\"\n//! revision = 1\n//! circuit = \"flap_sensor\"\n//! [causes]\n\
         //! wire = { cause = \"Wire open\", correction = \"Repair the wire\" }\n\
         unplug(\"C41\");\nconnect(\"signal\", \"battery_negative\", 1.kohm);\nhold(\"flap\", \"half\");\n\
         let a = read(\"a\", \"Signal\", at_most(1.V), across(\"signal\", \"C41.2\"));\n\
         disconnect(\"signal\", \"battery_negative\");\nrelease(\"flap\");\nplug(\"C41\");\nconclude(\"wire\");\n",
    );
    let shown = place.run_at_vehicle(&SAFE).width(50).typing(&["+", "", "+", "+", "+", "", "", "pause"]).go().ended(4);
    assert_eq!(too_wide(&shown.out, 50), Vec::<String>::new(), "{shown}");
    let begins = shown.out.find("DO ").unwrap();
    let ends = shown.out.find("V > ").unwrap();
    assert_snapshot!(shown.out[begins..ends].lines().map(str::trim_end).collect::<Vec<_>>().join("\n"), @r#"
    DO       Unplug C41
             C41: at the flap housing, on the exhaust
             pipe
    Enter: done >
    ⚠ WARNING  A battery gives off hydrogen and holds
      acid. Hydrogen explodes at a spark. Acid blinds
      and burns.
      No flame, spark or cigarette; eye protection and
      acid-proof gloves. Acid on skin or in an eye:
      rinse with water for 15 min, then see a doctor.
    + eyes and hands protected, no sparks   .. more > +
    ⚠ WARNING  Battery posts and unfused studs are
      live with nothing to limit the current. Metal
      that bridges them melts on the skin and starts
      a fire.
      No rings, watch or chains; no bare tool from one
      to the other or to the frame.
    + no rings, the other post covered   .. more > +
    ⚠ WARNING  A jumper or a load between two points
      carries what the wire lets through. In the wrong
      place it sets the harness on fire. A resistor
      used as a load burns skin and plastic.
      Only a fused lead, both ends looked at twice.
      A resistor is chosen for its watts and kept off
      plastic and skin.
    + lead fused, both ends looked at   .. more > +
    DO       Connect signal to battery negative
             through 1 kΩ
             signal: C41.3, harness side; wire green,
             0.75 mm2; at the flap housing, on the
             exhaust pipe
             battery negative: battery box, negative
             post
    Enter: done >
    ── a ─────────────────────────────────────────────
    READ     Signal
    STATE    key off   C41 UNPLUGGED
             JUMPER signal to battery negative
    RED      C41.3, harness side; green, 0.75 mm2; at
             the flap housing, on the exhaust pipe
    BLACK    C41.2, harness side; brown/white, 0.75
             mm2
    METER    DC volts
    LIMITS   at most 1 V  (example)
    DO       Set the flap shaft to half and leave it
    Number, or * for OL   -- undo   // skip
    .. more
    "#);
    // Cautions are confirmed again; a `+` where there is nothing to confirm changes nothing, nor does Enter at a caution.
    let lines = ["", "+", "", "+", "", "+", "", "+", "", "+", "", "0.1", "", "+", "", "", "+", "", "", ""];
    let shown = place.call("resume").width(50).typing(&lines).typing(&LET_STAND).go().ended(0);
    assert_eq!(too_wide(&shown.out, 50), Vec::<String>::new(), "{shown}");
    shown
        .says("Done: Connect signal to battery negative through 1 kΩ")
        .says("Done: Set the flap shaft to half and leave it")
        .says("DO Remove the jumper between signal and battery negative signal: C41.3, harness side;")
        .says("DO Let go of the flap shaft, or switch it back")
        .says("DO Plug C41 in again C41: at the flap housing, on the exhaust pipe");
}

#[test]
fn taking_up_fits_fifty_columns_too() {
    let place = Place::with(BODY);
    place.run_at_vehicle(&SAFE).width(50).typing(&["", "49.8", "", "pause"]).go().ended(4);
    let shown = place.call("resume").width(50).typing(&["lift=up", "", "back", "", "4.99", "2", ""]).go().ended(0);
    assert_eq!(too_wide(&shown.out, 50), Vec::<String>::new(), "{shown}");
    place.file("fleet.csv", "vehicle,supply,seen\nUnit 1,4.998,no\nUnit 2,4.9o8,no\nUnit 3,,no\n");
    let shown = place.call("batch p.rhai fleet.csv").width(50).go().ended(4);
    assert_eq!(too_wide(&shown.out, 50), Vec::<String>::new(), "{shown}");
}

#[test]
fn what_is_being_typed_when_a_wait_ends_stays_in_its_line() {
    let place = Place::with("wait(2.s, \"rested\");\nlet a = ask(\"a\", \"Dry?\");\nconclude(\"wire\");\n");
    let mut session = open(place.run_at_vehicle(&SAFE));
    session.exp_string("Enter: done > ").unwrap();
    session.send("note all d").unwrap();
    session.flush().unwrap();
    // It rings, and says so above the line.
    session.exp_string("the wait is over.").unwrap();
    session.exp_string("\u{7}").unwrap();
    session.exp_string("Enter: done > note all d").unwrap();
    session.send_line("ry").unwrap();
    // What is typed before the wait is asked for again does not count.
    session.exp_string("DO       Wait 2 s").unwrap();
    type_at(&mut session, "Enter: done > ", "");
    type_at(&mut session, "1 yes, 2 no > ", "1");
    type_at(&mut session, "the last answer > ", "");
    session.exp_eof().unwrap();
    let events = place.events();
    assert_eq!(events.iter().find(|event| event["event"] == "noted").unwrap()["text"], "all dry");
}
