//! Records of others: in another folder, of another format, with what does not belong on a screen.

use crate::place::{Place, SAFE};

const BODY: &str = "step(\"Reference\", near(\"lift\"));\nkey_on();\nlet supply = read(\"supply\", \"Reference\", between(4.75.V, 5.25.V));\n\
    let seen = ask(\"seen\", \"Is it corroded?\");\nif seen.yes { conclude(\"part\"); }\nconclude(\"wire\");\n";

fn recorded(lines: &[&str], code: i32) -> (Place, String) {
    let place = Place::with(BODY);
    place.at_vehicle(lines).ended(code);
    let record = place.record();
    (place, record)
}

#[test]
fn a_journal_of_another_format_is_neither_reported_nor_good() {
    let (place, record) = recorded(&["", "5.0", "1", ""], 0);
    let journal = std::fs::read_to_string(place.journal_of(&record)).unwrap();
    let newer = "written by a newer ohmwright";
    std::fs::write(place.journal_of(&record), journal.replace("\"format\":2", "\"format\":3")).unwrap();
    for command in ["show", "report --format text", "report --format json", "report --out page.html"] {
        place.call(command).and(&[&record]).go().ended(3).says(newer);
    }
    place.call("pack").and(&[&record]).go().ended(3).says(newer);
    // It is not judged, and not called damaged.
    let verified = place.call("verify --allow-unsigned").and(&[&record]).go().ended(3);
    verified
        .says("from line 1 on: written by a newer ohmwright")
        .says("not judged: newer")
        .never_says("BAD")
        .says("1 record: 0 good, 0 not signed, 0 bad, 1 by a newer ohmwright.");
}

/// Sets a color that the program has no use for.
const ESCAPE: &str = "\u{1b}[35m";

#[test]
fn no_escape_sequence_of_a_record_reaches_the_screen() {
    let (place, record) = recorded(&["", "5.0", "note dry", "pause"], 4);
    let journal = std::fs::read_to_string(place.journal_of(&record)).unwrap();
    let escaped = journal.replace("\"id\":\"supply\"", "\"id\":\"su\\u001b[35mpply\"");
    assert_ne!(journal, escaped);
    let name = format!("2026-11-24-x{ESCAPE}y");
    place.file(&format!("records/{name}/journal.jsonl"), &escaped);
    place.procedure(&BODY.replace("4.75", "4.5"));
    let calls = [
        vec!["show", &name],
        vec!["report", "--format", "text", &name],
        vec!["rejudge", "--with", "p.rhai", &name],
        vec!["resume", "--new-run", &name],
        vec!["resume", "--kept-copy", &name],
    ];
    for arguments in calls {
        let call = place.call("").and(&arguments).colored().variable("CLICOLOR_FORCE", "1");
        let asked = arguments[1] == "--new-run";
        let shown = if asked { call.typing(&["pause"]).go() } else { call.go() }.without_panic();
        assert!(!shown.out.contains(ESCAPE) && !shown.err.contains(ESCAPE), "{arguments:?}\n{shown:?}");
    }
}

#[test]
fn a_record_named_by_its_path_has_its_sources_beside_it() {
    let place = Place::with(BODY);
    let call = place.run_at_vehicle(&SAFE).and(&["--records", "other/records"]);
    call.typing(&["", "5.0", "pause"]).go().ended(4);
    let name = std::fs::read_dir(place.path("other/records"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .find(|name| name != "sources" && !name.starts_with('.'))
        .unwrap();
    let path = format!("other/records/{name}");
    place.call("report --format json").and(&[&path]).go().ended(0).never_says("goes without").says("\"text\"");
    place.call("resume --kept-copy").and(&[&path]).typing(&["", "1", ""]).go().ended(0).says("Part worn");
}
