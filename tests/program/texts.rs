//! What is said of slips of the pen: each in a sentence of the program's own, with its place and what to do.

use crate::place::Place;
use std::os::unix::fs::PermissionsExt;

/// A call of `p.rhai` with this body, which has to be refused with these words.
fn refused(body: &str, words: &[&str]) {
    let place = Place::with(body);
    let shown = place.call("run p.rhai --answers answers.toml").width(200);
    place.file("answers.toml", "procedure = \"p\"\n[answers]\n");
    let shown = shown.go().ended(3);
    let flat = shown.flat();
    for word in words {
        assert!(flat.contains(word), "`{word}` is missing for `{body}`:\n{shown}");
    }
    assert!(place.records().is_empty() || words.contains(&"record"), "a record was begun:\n{shown}");
}

#[test]
fn slips_in_a_script_are_found_before_a_record_is_begun() {
    let read = "let r = read(\"supply\", \"Supply\", at_least(11.V));\n";
    for (body, words) in [
        (
            "if r.hihg { conclude(\"wire\"); }",
            &["nothing has a property `.hihg`", "did you mean `.high`?", "p.rhai:7:"][..],
        ),
        ("if r.value > 0.3.v { conclude(\"wire\"); }", &["a bare number has no `.v`", "did you mean `.V`?"]),
        ("if r.value > 0.3.Volt { conclude(\"wire\"); }", &["a bare number has no `.Volt`", "did you mean `.V`?"]),
        ("if r.value > 3.millivolts { conclude(\"wire\"); }", &["did you mean `.mV`?"]),
        (
            "let again = read(\"supply\", \"Again\", at_least(11.V));",
            &["the id `supply` was used before", "p.rhai:7:18"],
        ),
        ("if r.low { ask(\"supply\", \"Again?\"); }", &["the id `supply` was used before"]),
        (
            "let c = choose(\"colour\", \"Which?\", [\"red\", \"green\"]); if c == \"redd\" { conclude(\"wire\"); }",
            &["`c` has no option \"redd\"", "did you mean `red`?"],
        ),
        (
            "step(\"Up\", near(\"roof\"));",
            &["`roof` is not a zone that a caution knows", "zones are airbag, battery,", "p.rhai:7:17"],
        ),
        ("step(\"Up\", near(\"exhuast\"));", &["did you mean `exhaust`?"]),
        (
            "if r.high and r.low { conclude(\"wire\"); }",
            &["`and` is written `&&`", "`||` is or, `!` is not", "p.rhai:7:11"],
        ),
        ("if r.high or r.low { conclude(\"wire\"); }", &["`or` is written `||`"]),
        ("if not r.high { conclude(\"wire\"); }", &["`not` is written `!`", "p.rhai:7:4"]),
        ("let ok = r.high and r.low;", &["`and` is written `&&`"]),
        ("read(\"other\");", &["`read` takes", "write it as read(id: text, text: text,"]),
    ] {
        refused(&format!("{read}{body}\n"), words);
    }
    let deep = format!("let x = {}1.V{};\n", "(".repeat(100), ")".repeat(100));
    refused(&deep, &["brackets or blocks lie too deep within each other here", "give a part of it a name"]);
}

#[test]
fn what_only_looks_like_a_slip_is_let_through() {
    for body in [
        // One of two paths.
        "if ask(\"a\", \"A?\").yes { ask(\"b\", \"B?\"); } else { ask(\"b\", \"B?\"); }",
        // Names of the script's own in a map.
        "let m = #{ mine: 1.V }; m.other = 2.V; let n = m.mine + m.other;",
        "let m = #{}; m[\"third\"] = 1.V; let n = m.third;",
        "fn made() { #{ deep: #{ deeper: 1.V } } } let n = made().deep.deeper;",
        "let n = ohms_law(12.V, 4.ohm).amperes; let k = \"abc\".len; let v = 5.V.mV;",
        // The same name for two choices.
        "if true { let c = choose(\"a\", \"A?\", [\"x\", \"y\"]); if c == \"x\" {} } else { let c = choose(\"b\", \"B?\", [\"z\", \"w\"]); if c == \"z\" {} }",
        "let c = \"z\"; if c == \"x\" { conclude(\"wire\"); }",
        "step(\"One\", near(\"lift\", \"exhaust\"));",
    ] {
        let place = Place::with(body);
        place.file("answers.toml", "procedure = \"p\"\n[answers]\n");
        let shown = place.call("run p.rhai --answers answers.toml").go().without_panic();
        assert_ne!(shown.code, 3, "{body}\n{shown}");
    }
}

#[test]
fn a_decimal_comma_in_a_call_is_named() {
    refused(
        "let r = read(\"supply\", \"Supply\", at_most(0,3.V));",
        &["`at_most` can't take a bare number, a quantity", "a number has a point: 0.3", "record"],
    );
}

#[test]
fn a_file_is_read_with_a_byte_order_mark_and_refused_where_it_is_no_text() {
    let place = Place::with("conclude(\"wire\");\n");
    let script = place.read("p.rhai");
    place.file("p.rhai", format!("\u{feff}{script}"));
    place.file("answers.toml", "\u{feff}procedure = \"p\"\n[answers]\n");
    place.file("shop.toml", "\u{feff}name = \"Test\"\n");
    place.call("run p.rhai --answers answers.toml").go().ended(0);
    place.file("p.rhai", [script.as_bytes(), b"// caf\xe9\n"].concat());
    let shown = place.call("run p.rhai").go().ended(3);
    shown.says("here the file is not UTF-8 text").says("p.rhai:7:7").says("save it as UTF-8");
    place.file("p.rhai", format!("{script}{}", "// much\n".repeat(70_000)));
    let shown = place.call("run p.rhai").go().ended(3);
    shown.says("p.rhai: a script has at most 512 KB, and this one has 548");
    place.file("p.rhai", script.replace("revision = 1", "revision = 0"));
    place.call("run p.rhai").go().ended(3).says("revisions begin at 1").says("p.rhai:2:");
}

#[test]
fn a_folder_in_place_of_a_file_is_said_to_be_one() {
    let place = Place::with("conclude(\"wire\");\n");
    place.file("folder.rhai/x", "").file("folder.csv/x", "").file("folder.toml/x", "");
    for call in
        ["run folder.rhai", "batch p.rhai folder.csv", "run p.rhai --answers folder.toml", "circuit folder.toml"]
    {
        place.call(call).go().ended(7).says("it is a folder; name a file");
    }
}

#[test]
fn a_table_with_semicolons_or_tabs_is_read() {
    for sign in [";", "\t"] {
        let place = Place::with("read(\"supply\", \"Supply\", at_least(11.V));\nconclude(\"wire\");\n");
        place.file("t.csv", "vehicle,supply\nUnit 1,12.6\n".replace(',', sign));
        place.call("batch p.rhai t.csv").go().ended(0).says("Unit 1").says("concluded");
    }
}

#[test]
fn what_is_no_pack_is_refused_without_its_content() {
    let place = Place::new();
    place.file("notes.txt", "secret:x:0:0\n".repeat(60));
    place.call("verify notes.txt").go().ended(3).says("this is not a packed record").never_says("secret");
}

#[test]
fn help_is_given_without_brackets_and_libraries_are_at_hand() {
    let place = Place::new();
    place.file("shop.toml", "name = \"Test\"\n");
    place.file(
        "library/bench_lib.rhai",
        "//! title = \"L\"\n// outer_lib::four has more.\nfn twice(q) { q + q }\nfn odd(q) { q + 1 }\n",
    );
    for line in ["help read", "help \"read\"", "help(\"read\")"] {
        place.call("repl").typing(&[line]).go().ended(0).says("read(id: text, text: text,");
    }
    place.call("repl").typing(&["bench_lib::twice(4.V)", "exit"]).go().ended(0).says("8 V");
    place.file("library/outer_lib.rhai", "//! title = \"O\"\nfn four(q) { bench_lib::twice(bench_lib::twice(q)) }\n");
    place.call("repl").typing(&["outer_lib::four(4.V)"]).go().ended(0).says("16 V");
    place.call("repl").typing(&["bench_lib::odd(4.V)"]).go().ended(3).says("bench_lib.rhai:4:");
    let shown = place.call("repl").typing(&["nowhere::twice(4.V)"]).go().ended(3);
    shown.says("there is no library file `nowhere`").never_says("header");
    // The zones of help are those of the library's cautions.
    let help = place.call("repl").typing(&["help near"]).go().ended(0).flat();
    for zone in [
        "airbag",
        "battery",
        "belts",
        "driveline",
        "exhaust",
        "fuel",
        "high_voltage",
        "lift",
        "powered_part",
        "stored_energy",
    ] {
        assert!(help.contains(&format!("`{zone}`")), "{zone}: {help}");
        place.call("repl").typing(&[&format!("near(\"{zone}\")")]).go().ended(0);
    }
}

#[test]
fn a_person_without_a_key_is_told_how_to_get_one_in_her_role() {
    let place = Place::with("conclude(\"wire\");\n");
    let shop =
        "[[role]]\nname = \"lead\"\nmay_sign = [\"performed\"]\n[[person]]\nname = \"Ilse Example\"\nrole = \"lead\"\n";
    place.file("shop.toml", shop).file("answers.toml", "procedure = \"p\"\n[answers]\n").file("secret", "some words\n");
    std::fs::set_permissions(place.path("secret"), std::fs::Permissions::from_mode(0o600)).unwrap();
    place.call("run p.rhai --answers answers.toml").go().ended(0);
    let shown = place.call("sign --as").and(&["Ilse Example"]).go().ended(2);
    shown.says("the shop lists no key for Ilse Example").says("`ohmwright key \"Ilse Example\"`");
    let shown = place.call("key --out k --passphrase-file secret").and(&["Ilse Example"]).go().ended(0);
    shown.says("role = \"lead\"").never_says("role = \"technician\"");
    let shown = place.call("key --out l --passphrase-file secret").and(&["Somebody New"]).go().ended(0);
    shown.says("role = \"technician\"");
}

#[test]
fn a_circuit_says_where_it_floats_and_which_end_was_called_otherwise() {
    let place = Place::new();
    let circuit = "title = \"Small\"\nzero_volts = \"minus\"\nstart = { key = \"off\" }\npoint = [{ id = \"plus\" }, { id = \"a\" }, { id = \"b\" }]\n\
        [[part]]\nid = \"battery\"\nkind = \"battery\"\npositive = \"plus\"\nnegative = \"minus\"\nvolts = \"12 V\"\n";
    place.file("c.toml", format!("{circuit}[[part]]\nid = \"adrift\"\nkind = \"resistor\"\nfrom = \"a\"\nto = \"b\"\nresistance = \"1 ohm\"\n"));
    let shown = place.call("circuit c.toml").go().ended(3);
    shown.says("node `a` floats").says("c.toml:11:").says("add the wire that does");
    place.file(
        "c.toml",
        format!(
            "{circuit}[[part]]\nid = \"pot\"\nkind = \"potentiometer\"\ntop = \"a\"\nbottom = \"b\"\nwiper = \"plus\"\n"
        ),
    );
    let shown = place.call("circuit c.toml").width(160).go().ended(3);
    shown.says("`low` is missing; `bottom` and `top` are no ends of a part").says("c.toml:1");
}
