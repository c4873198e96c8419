//! Procedures that were edited after a run began: the kept copy, and new runs that take over what fits.

use crate::place::{LET_STAND, Place, SAFE, of_kind};
use crate::whole_run::BODY;
use insta::assert_snapshot;

/// Begun, then put down after the supply was read.
fn put_down_then_edited(edited: &str) -> (Place, String) {
    let place = Place::with(BODY);
    place.at_vehicle(&["", "4.998", "pause"]).ended(4);
    let record = place.record();
    place.procedure(edited);
    (place, record)
}

#[test]
fn an_edited_procedure_is_explained_entry_by_entry() {
    // Another wording and wider limits ask the same; another point does not.
    let (place, _) = put_down_then_edited(&BODY.replace("\"Reference\"", "\"The reference\"").replace("4.75", "4.5"));
    assert_snapshot!(place.call("resume").go(), @r#"
    exit 2
    --- stdout
    2026-11-24-090000-p-unit-12 was begun with another procedure than there is now.
    ┌────────┬──────────┬─────────────────────────┐
    │ id     ┆ recorded ┆ in the edited procedure │
    ╞════════╪══════════╪═════════════════════════╡
    │ supply ┆ 4.998 V  ┆ carried over            │
    └────────┴──────────┴─────────────────────────┘
    It would go on with `track`: Turn the shaft
    --- stderr
    error: say how to go on
    help: `--new-run` begins a linked new run with the edited procedure,
      `--kept-copy` finishes on the copy that was kept
    "#);
    let (place, _) = put_down_then_edited(&BODY.replace("\"reference\"", "\"battery\""));
    assert_snapshot!(place.call("resume").go(), @r#"
    exit 2
    --- stdout
    2026-11-24-090000-p-unit-12 was begun with another procedure than there is now.
    ┌────────┬──────────┬──────────────────────────────────────────────────────────┐
    │ id     ┆ recorded ┆ in the edited procedure                                  │
    ╞════════╪══════════╪══════════════════════════════════════════════════════════╡
    │ supply ┆ 4.998 V  ┆ not carried over: no longer asked at this point with the │
    │        ┆          ┆ same quantity, points and vehicle state                  │
    └────────┴──────────┴──────────────────────────────────────────────────────────┘
    It would go on with `supply`: Reference
    --- stderr
    error: say how to go on
    help: `--new-run` begins a linked new run with the edited procedure,
      `--kept-copy` finishes on the copy that was kept
    "#);
    let (place, _) = put_down_then_edited(&BODY.replace("\"supply\"", "\"other\""));
    place.call("resume").go().ended(2).says("supply").says("not carried over");
}

#[test]
fn without_a_terminal_and_without_a_word_nothing_is_chosen() {
    let (place, record) = put_down_then_edited(&BODY.replace("4.75", "4.5"));
    let before = std::fs::read(place.journal_of(&record)).unwrap();
    place.call("resume").typing(&["1", "2"]).in_vain().go().ended(2).says("--new-run").says("--kept-copy");
    assert_eq!(std::fs::read(place.journal_of(&record)).unwrap(), before);
    assert_eq!(place.records(), [record]);
}

#[test]
fn a_new_run_with_the_edited_procedure_is_linked_and_takes_over_what_fits() {
    let (place, record) = put_down_then_edited(&BODY.replace("4.75", "4.5"));
    let shown = place.call("resume --new-run").typing(&["", "", "0.5 2.5 4.5", "", "", "", "2", "2", "rust Ω"]).go();
    let records = place.records();
    assert_eq!(records.len(), 2, "{shown}");
    let new = records.iter().find(|name| **name != record).unwrap();
    let events = place.events_of(new);
    let link = &events[0]["link"];
    assert_eq!((&link["kind"], &link["record"]), (&"edited_procedure".into(), &record.as_str().into()));
    let supply = of_kind(&events, "answered")[0];
    assert_eq!(
        (&supply["id"], &supply["origin"]["from"], &supply["typed"]),
        (&"supply".into(), &"carried_over".into(), &"4.998".into())
    );
    assert_eq!(shown.count("V > 4.998"), 0, "asked again\n{shown}");
    place.call("show").and(&[new]).go().ended(0).says("edited procedure, begun as").says("(earlier record)");
}

#[test]
fn a_new_run_begins_with_the_vehicle_as_it_was_left_and_shows_it() {
    let body = "raise_lift();\nlet a = ask(\"a\", \"Dry?\");\nlet b = ask(\"b\", \"Clean?\");\nconclude(\"wire\");\n";
    let place = Place::with(body);
    place.at_vehicle(&["+", "", "1", "pause"]).ended(4);
    let record = place.record();
    place.procedure(&body.replace("raise_lift();", "step(\"Under it\", near(\"lift\"));"));
    let shown = place.call("resume --new-run").typing(&["", "+", "1", "1", ""]).go();
    shown.ended(0).says("as the record left it").says("A raised vehicle can come down");
    let new = place.records().into_iter().find(|name| *name != record).unwrap();
    let events = place.events_of(&new);
    assert_eq!(events[0]["vehicle"]["lift"], "raised");
    assert_eq!(of_kind(&events, "cautioned")[0]["cautions"][0]["id"], "raised_vehicle");
}

#[test]
fn an_edited_procedure_is_finished_on_the_copy_that_was_kept() {
    let (place, record) = put_down_then_edited("conclude(\"part\");\n");
    let shown = place.call("resume --kept-copy").typing(&["", "0.5 2.5 4.5", "", "", "", "2", "2", "rust Ω", ""]).go();
    shown.ended(0).says("Wire open");
    assert_eq!(place.records(), [record]);
}

#[test]
fn an_edited_procedure_that_is_broken_does_not_stand_in_the_way_of_the_kept_copy() {
    let (place, _) = put_down_then_edited("conclude(\n");
    place.call("resume").go().ended(2).says("p.rhai:6:11").says("mend it, or finish on the copy that was kept");
    place
        .call("resume --kept-copy")
        .typing(&["", "0.5 2.5 4.5", "", "", "", "2", "2", "rust Ω", ""])
        .go()
        .ended(0)
        .says("Wire open");
}

#[test]
fn what_is_gone_of_a_procedure_is_said_when_a_run_is_finished_on_the_kept_copy() {
    let place = Place::new();
    let rest = ["", "0.5 2.5 4.5", "", "", "", "2", "2", "rust Ω"];
    let gone = "is no longer there; the run is finished on the copy that was kept with it.";
    place.procedure(BODY);
    place.at_vehicle(&["", "4.998", "pause"]).ended(4);
    std::fs::rename(place.path("p.rhai"), place.path("q.rhai")).unwrap();
    let shown = place.call("resume").typing(&rest).typing(&LET_STAND).go().ended(0).says("Wire open");
    shown.says(&format!("The procedure p.rhai {gone}"));

    // In a shop, by name: the procedure, a library file, the circuit.
    for (file, what) in [
        ("procedures/lamp.rhai", "The procedure [folder]/procedures/lamp.rhai"),
        ("library/again.rhai", "The library file again"),
        ("circuits/own.toml", "The circuit own"),
    ] {
        let place = Place::new();
        place.file("shop.toml", "name = \"A shop\"\n");
        place.file(
            "library/again.rhai",
            "//! title = \"Again\"\n//! revision = 1\nfn look() { ask(\"seen\", \"Is it dark?\") }\n",
        );
        place.file("circuits/own.toml", include_str!("../../procedures/circuits/flap_sensor.toml"));
        place.file(
            "procedures/lamp.rhai",
            "//! title = \"Lamp\"\n//! revision = 1\n//! uses = [\"again\"]\n//! circuit = \"own\"\n//! [causes]\n\
             //! lamp = { cause = \"Lamp burnt out\", correction = \"Replace it\" }\n\
             let dry = ask(\"dry\", \"Is it dry?\");\nagain::look();\nconclude(\"lamp\");\n",
        );
        place.file("job.toml", "[job]\nvehicle = \"Unit 12\"\n");
        let mut call = place.call("run lamp --job job.toml");
        for state in SAFE {
            call = call.and(&["--state", state]);
        }
        call.typing(&["1", "pause"]).go().ended(4);
        place.call("resume").typing(&["pause"]).go().ended(4).never_says("no longer there");
        std::fs::remove_file(place.path(file)).unwrap();
        let shown = place.call("resume").typing(&["", "1", ""]).go();
        assert_eq!(shown.code, 0, "{shown}");
        shown.says(&format!("{what} {gone}")).says("Lamp burnt out");
    }
}

#[test]
fn a_procedure_that_failed_is_mended_and_taken_up() {
    let place =
        Place::with("let a = read(\"a\", \"Supply\", between(12.V, 13.V));\nif a > 5 { conclude(\"wire\"); }\n");
    place.at_vehicle(&["12.6"]).ended(3).says("can't compare").says("Correct it first.");
    let record = place.record();
    place.call("show").go().ended(0).says("The procedure has an error: p.rhai:7");
    place.procedure("let a = read(\"a\", \"Supply\", between(12.V, 13.V));\nif a > 5.V { conclude(\"wire\"); }\n");
    place.call("resume --new-run").typing(&["", ""]).go().ended(0).says("Wire open");
    assert_eq!(place.records().len(), 2);
    assert!(place.records().contains(&record));
}

#[test]
fn a_kept_copy_that_was_changed_is_not_believed() {
    let (place, record) = put_down_then_edited("conclude(\"part\");\n");
    let digest = place.events_of(&record)[0]["sources"][0]["sha256"].as_str().unwrap().to_owned();
    place.file(&format!("records/sources/{digest}"), "//! title = \"Forged\"\n");
    place.call("resume --kept-copy").go().ended(3).says("the kept copy of p.rhai was changed");
    std::fs::remove_file(place.path(&format!("records/sources/{digest}"))).unwrap();
    place.call("resume --kept-copy").go().ended(7);
}
