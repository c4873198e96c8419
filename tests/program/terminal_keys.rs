//! In a real terminal: input from before a caution, the pad without Num Lock, and a run that was put to sleep.

use crate::place::{Call, Place, SAFE, of_kind, typed};
use rexpect::session::{PtySession, spawn_command};

/// Long enough that a busy machine does not fail a test.
const PATIENCE: Option<u64> = Some(60_000);

fn open(call: Call<'_>) -> PtySession {
    spawn_command(call.command(), PATIENCE).unwrap()
}

/// Sent at once, as fast fingers or a pasted text do.
fn send(session: &mut PtySession, keys: &str) {
    session.send(keys).unwrap();
    session.flush().unwrap();
}

#[test]
fn lines_from_before_a_caution_are_counted_and_confirm_nothing() {
    let place = Place::with(
        "let a = read(\"a\", \"Supply\", between(4.75.V, 5.25.V), across(\"x\", \"y\"));\n\
         step(\"Two\", near(\"battery\"));\nlet b = ask(\"b\", \"Dry?\");\nconclude(\"wire\");\n",
    );
    let mut session = open(place.run_at_vehicle(&SAFE));
    session.exp_string("V > ").unwrap();
    send(&mut session, "4.998\r+\r+\r1\r");
    session.exp_string("3 earlier lines ignored").unwrap();
    session.exp_string("no sparks   .. more > ").unwrap();
    let events = place.events();
    assert_eq!(typed(&events, "a"), ["4.998"]);
    assert_eq!(of_kind(&events, "acknowledged").len(), 0);
    // At the caution itself they count.
    send(&mut session, "+\r");
    session.exp_string("the other post covered   .. more > ").unwrap();
    send(&mut session, "+\r");
    session.exp_string("1 yes, 2 no > ").unwrap();
    assert_eq!(of_kind(&place.events(), "acknowledged")[0]["by_person"], true);
    session.send_control('c').unwrap();
    session.exp_string("Paused").unwrap();
    session.exp_eof().unwrap();
}

#[test]
fn a_pad_without_num_lock_is_said_and_stores_nothing() {
    let place = Place::with(
        "let a = read(\"a\", \"Supply\", between(4.75.V, 5.25.V), across(\"x\", \"y\"));\nconclude(\"wire\");\n",
    );
    let mut session = open(place.run_at_vehicle(&SAFE));
    session.exp_string("V > ").unwrap();
    send(&mut session, "\x1b[A");
    session.exp_string("Num Lock is off").unwrap();
    session.exp_string("V > ").unwrap();
    send(&mut session, "4.998\r");
    session.exp_string("last answer > ").unwrap();
    assert_eq!(typed(&place.events(), "a"), ["4.998"]);
    send(&mut session, "\r");
    session.exp_eof().unwrap();
}

#[test]
fn after_ctrl_z_the_block_and_what_was_typed_are_shown_again() {
    let place = Place::with(
        "let a = read(\"a\", \"Supply\", between(4.75.V, 5.25.V), across(\"x\", \"y\"));\nconclude(\"wire\");\n",
    );
    // A shell between, since only a job of a shell can be put to sleep.
    let program = place.run_at_vehicle(&SAFE).command();
    let mut shell = std::process::Command::new("bash");
    shell.args(["--norc", "--noprofile", "-i"]).env_clear().env("PS1", "shell% ").env("TERM", "xterm");
    shell.current_dir(program.get_current_dir().unwrap());
    shell.envs(program.get_envs().filter_map(|(name, value)| Some((name, value?))));
    let mut session = spawn_command(shell, PATIENCE).unwrap();
    session.exp_string("shell% ").unwrap();
    let words: Vec<String> = std::iter::once(program.get_program())
        .chain(program.get_args())
        .map(|word| format!("'{}'", word.to_string_lossy()))
        .collect();
    session.send_line(&words.join(" ")).unwrap();
    session.exp_string("LIMITS").unwrap();
    session.exp_string("V > ").unwrap();
    send(&mut session, "4.9\x1a");
    session.exp_string("shell% ").unwrap();
    session.send_line("fg").unwrap();
    session.exp_string("READ     Supply").unwrap();
    session.exp_string("V > 4.9").unwrap();
    send(&mut session, "98\r");
    session.exp_string("last answer > ").unwrap();
    assert_eq!(typed(&place.events(), "a"), ["4.998"]);
    send(&mut session, "\r");
    session.exp_string("shell% ").unwrap();
    session.send_line("exit").unwrap();
    session.exp_eof().unwrap();
}
