//! What the files of others hold and are called does not reach a screen, a page or a report as anything but text.

use crate::shop::{Ran, Shop};
use std::process::Command;

/// A sequence that changes colors, an eight-bit one, writing turned around, letters without a width.
const NASTY: &str = "x\u{1b}[35m\u{9b}35m\u{202e}\u{200b}\u{7f}y";
const AS_SHOWN: &str = "x\\u{1b}[35m\\u{9b}35m\\u{202e}\\u{200b}\\u{7f}y";

fn dangerous(c: char) -> bool {
    c.is_control() && c != '\n'
        || matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{200b}'..='\u{200f}' | '\u{61c}')
        || matches!(c, '\u{2060}' | '\u{feff}' | '\u{e0000}'..='\u{e007f}')
}

/// What the program printed has nothing dangerous in it; on a terminal with colors, nothing but styles of our own.
fn clean(ran: Ran, what: &str) -> Ran {
    let plain = ran.out.replace("\r\n", "\n");
    assert!(!plain.contains(dangerous), "{what}: {plain:?}");
    let errors = ran.err.replace("\r\n", "\n");
    assert!(!errors.contains(dangerous), "{what}: {errors:?}");
    assert!(!errors.contains("panicked"), "{what}: {errors}");
    ran
}

fn calls(shop: &Shop, calls: &[(&[&str], i32)]) -> String {
    let mut all = String::new();
    for (arguments, code) in calls {
        let ran = clean(shop.at("2026-11-24T12:00:00Z", arguments), &format!("{arguments:?}"));
        assert_eq!(ran.code, *code, "{arguments:?}\n{}\n{}", ran.out, ran.err);
        all.push_str(&ran.out);
        all.push_str(&ran.err);
    }
    all
}

#[test]
fn the_name_of_a_record_is_shown_and_does_nothing() {
    let shop = Shop::new();
    std::fs::rename(shop.path("records").join(shop.record()), shop.path("records").join(NASTY)).unwrap();
    let file = ["--out", "record.tar"];
    let page = ["--out", "page.html"];
    let said = calls(
        &shop,
        &[
            (&["list"], 0),
            (&["show", NASTY], 0),
            (&["show", "\u{1b}[35mother"], 2),
            (&["resume", NASTY], 2),
            (&["rejudge", "--with", "flap", NASTY], 0),
            (&["sign", NASTY, "--as", "Ana\u{202e} Example", "--key", "ana"], 2),
            (&["sign", NASTY, "--as", "Ana Example", "--key", "ana"], 0),
            (&["sign", NASTY, "--as", "Ana Example", "--key", "ana"], 2),
            (&["verify", "--width", "200", NASTY], 0),
            (&["verify", "--json", NASTY], 0),
            (&["verify", "--how", NASTY], 0),
            (&["report", "--format", "text", NASTY], 0),
            (&["report", "--format", "csv", NASTY], 0),
            (&["report", "--format", "json", NASTY], 0),
            (&[&["report", NASTY], page.as_slice()].concat(), 0),
            (&[&["pack", NASTY], file.as_slice()].concat(), 0),
            (&["verify", "--width", "200", "record.tar"], 0),
            (&["verify", "--how", "record.tar"], 0),
            (&[NASTY], 2),
        ],
    );
    assert!(said.contains(&format!("Record: {AS_SHOWN}")), "{said}");
    let html = shop.read("page.html");
    assert!(!html.contains(dangerous) && html.contains(AS_SHOWN), "{html}");
    // JSON has the true name.
    let json = shop.at("2026-11-24T12:00:00Z", &["verify", "--json", NASTY]).out;
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!(json["records"][0]["record"], NASTY);
    // The commands go to the folder that has the name.
    let unpacked = shop.path("unpacked");
    std::fs::create_dir(&unpacked).unwrap();
    let tar = Command::new("tar").args(["-xf", "../record.tar"]).current_dir(&unpacked).status().unwrap();
    assert!(tar.success());
    for target in [NASTY, "record.tar"] {
        let script = shop.at("2026-11-24T12:00:00Z", &["verify", "--how", target]).good().out;
        let by_hand = Command::new("sh").args(["-e", "-c", &script]).current_dir(&unpacked).output().unwrap();
        assert!(by_hand.status.success(), "{script}\n{}", String::from_utf8_lossy(&by_hand.stderr));
    }
}

#[test]
fn a_run_to_take_up_again_is_named_as_text() {
    let shop = Shop::new();
    let record = shop.record();
    shop.write("some.toml", "procedure = \"flap\"\n[job]\nvehicle = \"\u{410}na\u{202e}1\"\n[answers]\n");
    shop.at("2026-11-24T09:30:00Z", &["run", "flap", "--answers", "some.toml"]);
    let names = std::fs::read_dir(shop.path("records")).unwrap();
    let names = names.map(|entry| entry.unwrap().file_name().into_string().unwrap());
    let open = names.filter(|name| *name != record && name != "sources" && !name.starts_with('.')).collect::<Vec<_>>();
    assert_eq!(open.len(), 1, "{open:?}");
    std::fs::rename(shop.path("records").join(&open[0]), shop.path("records").join(NASTY)).unwrap();
    let said = calls(&shop, &[(&["list"], 0), (&["resume", NASTY], 4)]);
    assert!(said.contains(AS_SHOWN), "{said}");
    assert!(said.contains("\\u{410}na\\u{202e}1"), "a letter that looks like another: {said}");
}

#[test]
fn what_is_wrong_with_a_script_is_said_in_clean_text() {
    let shop = Shop::new();
    let header = "//! title = \"Own\"\n//! revision = 1\n";
    for (path, body) in [
        ("procedures/own.rhai", format!("{header}let a = \"{NASTY}\"; b + 1;\n")),
        ("procedures/own.rhai", format!("{header}throw \"{NASTY}\";\n")),
        (&format!("{NASTY}.rhai"), format!("{header}let a = \"{NASTY}\" + ;\n")),
    ] {
        shop.write(path, &body);
        let name = if path.starts_with("procedures") { "own" } else { path };
        let ran = clean(shop.at("2026-11-24T12:00:00Z", &["run", name, "--answers", "answers.toml"]), path);
        assert_ne!(ran.code, 0, "{}", ran.out);
        assert!(ran.err.contains("x\\u{1b}[35m") || ran.err.contains("own"), "{}", ran.err);
        clean(shop.at("2026-11-24T12:00:00Z", &["list"]), path);
        clean(shop.at("2026-11-24T12:00:00Z", &["prove", name, "--samples", "1"]), path);
    }
}

#[test]
fn a_circuit_is_shown_and_written_in_clean_text() {
    let shop = Shop::new();
    let lamp = include_str!("../../procedures/circuits/lamp.toml");
    let title = lamp.lines().find(|line| line.starts_with("title = ")).unwrap();
    let nasty = format!("title = \"Lamp \\u001b[35m\\u009b\\u202e\\u200b\"\n# {title}");
    std::fs::create_dir_all(shop.path("circuits")).unwrap();
    shop.write("circuits/own.toml", &lamp.replace(title, &nasty).replace("place = \"", "place = \"\\u202e"));
    let said = calls(&shop, &[(&["circuit", "own"], 0), (&["circuit", "own", "--spice"], 0)]);
    assert!(said.contains("own: Lamp \\u{1b}[35m\\u{9b}\\u{202e}\\u{200b}"), "{said}");
    let spice = shop.at("2026-11-24T12:00:00Z", &["circuit", "own", "--spice"]).good().out;
    assert!(spice.starts_with("* Lamp ") && spice.lines().next().unwrap().contains("\\u{202e}"), "{spice}");
}
