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
    for (prompt, typed) in [("+ clear of the exhaust   .. more > ", "+"), ("Enter: done > ", ""), ("V > ", "4.1")] {
        session.exp_string(prompt).unwrap();
        session.send_line(typed).unwrap();
    }
    session.exp_string("Reference wire open").unwrap();
    session.exp_string("last answer > ").unwrap();
    session.send_line("").unwrap();
    // The way back: key off, leads off.
    for put_back in ["Turn the key off", "leads off"] {
        session.exp_string(put_back).unwrap();
        session.exp_string("Enter: done > ").unwrap();
        session.send_line("").unwrap();
    }
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
    session.exp_string("Not signed; `ohmwright sign ").unwrap();
    session.exp_string(" --as 'Ana Example'`").unwrap();
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

/// A shop in which Ana's key is locked, and lies where the program looks for it.
fn with_locked_key() -> Shop {
    let shop = Shop::without_record(PROCEDURE);
    std::fs::create_dir_all(shop.path(".config/ohmwright/keys")).unwrap();
    shop.new_key(".config/ohmwright/keys/ana-example", "wide and long");
    shop.only_ana(&shop.read(".config/ohmwright/keys/ana-example.pub"));
    shop
}

/// Types these passphrases, each when it is asked for; what was shown meanwhile.
fn typed_unseen(session: &mut rexpect::session::PtySession, passphrases: &[&str]) -> String {
    let mut shown = String::new();
    for passphrase in passphrases {
        shown += &session.exp_string("ana-example: ").unwrap();
        session.send_line(passphrase).unwrap();
    }
    shown + session.exp_eof().unwrap().as_str()
}

#[test]
fn a_mistyped_passphrase_is_asked_for_again_at_the_end_of_a_run() {
    let shop = with_locked_key();
    let mut session = until_concluded(&shop);
    session.exp_string("1 yes, 2 no > ").unwrap();
    session.send_line("1").unwrap();
    let shown = typed_unseen(&mut session, &["mistyped", "", "wide and long"]);
    assert!(shown.contains("That does not open it; 2 more tries."), "{shown}");
    assert!(shown.contains("That does not open it; 1 more try."), "{shown}");
    assert!(shown.contains("Signed: performed, Ana Example, lead"), "{shown}");
    assert!(!shown.contains("mistyped") && !shown.contains("wide"), "{shown}");
    shop.verify().says(0, "1 record: good.");
}

#[test]
fn after_three_wrong_passphrases_it_is_said_how_to_sign_later() {
    let shop = with_locked_key();
    let mut session = until_concluded(&shop);
    session.exp_string("1 yes, 2 no > ").unwrap();
    session.send_line("1").unwrap();
    let plain = |shown: &str| shown.split_whitespace().collect::<Vec<_>>().join(" ");
    let wrong = ["one", "two", "three"];
    let shown = plain(&typed_unseen(&mut session, &wrong));
    let later = format!("ohmwright sign {} --as 'Ana Example'", shop.record());
    assert!(shown.contains("error: the passphrase does not open"), "{shown}");
    assert!(shown.contains(&format!("Not signed; `{later}` does it later.")), "{shown}");
    shop.verify().says(1, "nobody has signed it");

    let mut session = on_a_terminal(&shop, &["sign", "--as", "Ana Example"]);
    let shown = plain(&typed_unseen(&mut session, &wrong));
    assert!(shown.contains("error: the passphrase does not open"), "{shown}");
    assert!(shown.contains(&format!("help: `{later}` signs it later")), "{shown}");
    shop.verify().says(1, "nobody has signed it");

    // What is said is what does it, typed into a shell.
    let program = std::path::Path::new(env!("CARGO_BIN_EXE_ohmwright")).parent().unwrap().display().to_string();
    let mut command = Command::new("/bin/sh");
    command
        .args(["-c", &later])
        .current_dir(shop.folder.path())
        .env_clear()
        .env("PATH", program)
        .env("OHMWRIGHT_CLOCK", "2026-11-24T09:00:00Z")
        .env("HOME", shop.folder.path())
        .env("TERM", "xterm");
    let mut session = rexpect::session::spawn_command(command, Some(20_000)).unwrap();
    typed_unseen(&mut session, &["wide and long"]);
    shop.verify().says(0, "1 record: good.");
}
