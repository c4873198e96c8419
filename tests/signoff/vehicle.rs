//! On a terminal: the run at the vehicle ends by offering the sign-off, and passphrases are typed unseen.
#![cfg(unix)]

use crate::shop::{PROCEDURE, Shop};
use std::process::Command;

const JOB: &str = "[job]\nvehicle = \"Unit 9\"\ntechnician = \"Ana Example\"\n[vehicle]\nkey = \"off\"\nengine = \"stopped\"\n\
                   lift = \"down\"\nwheels = \"chocked\"\nbattery = \"connected\"\nhigh_voltage = \"absent\"\n";

/// A run on a terminal until it has named its cause.
fn until_concluded(shop: &Shop) -> rexpect::session::PtySession {
    shop.write("job.toml", JOB);
    let mut session = on_a_terminal(shop, &["run", "flap", "--job", "job.toml"]);
    // Each prompt is waited for: what is typed before it is lost.
    for (prompt, typed) in [("Read it? ", "+"), ("Enter when done > ", ""), ("V > ", "4.1")] {
        session.exp_string(prompt).unwrap();
        session.send_line(typed).unwrap();
    }
    session.exp_string("Reference wire open").unwrap();
    session.exp_string("answers again > ").unwrap();
    session.send_line("").unwrap();
    session
}

/// The program on a terminal.
fn on_a_terminal(shop: &Shop, arguments: &[&str]) -> rexpect::session::PtySession {
    let mut command = Command::new(env!("CARGO_BIN_EXE_ohmwright"));
    command
        .args(arguments)
        .current_dir(shop.folder.path())
        .env_clear()
        .env("OHMWRIGHT_CLOCK", "2026-11-24T09:00:00Z")
        .env("HOME", shop.folder.path())
        .env("TERM", "xterm")
        .env("NO_COLOR", "1");
    rexpect::session::spawn_command(command, Some(20_000)).unwrap()
}

#[test]
fn a_technician_whom_the_shop_lists_can_sign_at_once() {
    let shop = Shop::without_record(PROCEDURE);
    std::fs::create_dir_all(shop.path(".config/ohmwright/keys")).unwrap();
    std::fs::copy(shop.path("ana"), shop.path(".config/ohmwright/keys/ana-example")).unwrap();
    let mut session = until_concluded(&shop);
    session.exp_string("Sign it off as performed, Ana Example?").unwrap();
    session.exp_string("1 yes, 2 no > ").unwrap();
    session.send_line("1").unwrap();
    session.exp_string("Signed: performed, Ana Example, technician").unwrap();
    session.exp_eof().unwrap();
    shop.verify().says(0, "1 record: good.");
}

#[test]
fn whoever_says_no_or_is_not_listed_keeps_the_record_unsigned() {
    let shop = Shop::without_record(PROCEDURE);
    let mut session = until_concluded(&shop);
    session.exp_string("1 yes, 2 no > ").unwrap();
    session.send_line("2").unwrap();
    session.exp_string("Not signed; `ohmwright sign` does it later.").unwrap();
    session.exp_eof().unwrap();
    shop.verify().says(1, "nobody has signed it");

    let shop = Shop::without_record(PROCEDURE);
    shop.write("shop.toml", crate::shop::ROLES);
    let mut session = until_concluded(&shop);
    let rest = session.exp_eof().unwrap();
    assert!(!rest.contains("Sign it off"), "{rest}");
}

#[test]
fn a_passphrase_is_typed_twice_and_never_shown() {
    let shop = Shop::new();
    let mut differ = on_a_terminal(&shop, &["key", "Ana Example", "--out", "made"]);
    for (prompt, typed) in [("Passphrase for the key of Ana Example: ", "one"), ("The same again: ", "two")] {
        differ.exp_string(prompt).unwrap();
        differ.send_line(typed).unwrap();
    }
    differ.exp_string("the two passphrases are not the same").unwrap();
    differ.exp_eof().unwrap();
    assert!(!shop.path("made").exists());

    let mut made = on_a_terminal(&shop, &["key", "Ana Example", "--out", "made"]);
    let mut shown = String::new();
    for prompt in ["Passphrase for the key of Ana Example: ", "The same again: "] {
        shown += &made.exp_string(prompt).unwrap();
        made.send_line("wide and long").unwrap();
    }
    shown += &made.exp_eof().unwrap();
    assert!(shown.contains("[[person]]") && !shown.contains("wide"), "{shown}");

    shop.write("shop.toml", &format!("{}{}", crate::shop::ROLES, shop.person("Ana Example", "technician", "made", "")));
    let mut sign = on_a_terminal(&shop, &["sign", "--as", "Ana Example", "--key", "made"]);
    sign.exp_string("Passphrase for made: ").unwrap();
    sign.send_line("wide and long").unwrap();
    let shown = sign.exp_eof().unwrap();
    assert!(shown.contains("Signed: performed, Ana Example") && !shown.contains("wide"), "{shown}");
    shop.verify().says(0, "1 record: good.");
}
