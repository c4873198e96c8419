//! Slips, answers that nobody can check, and cases that can't be asked.

use super::small::{CAUSES, FAULTS, LAMP, on_lamp};
use super::{prove, report};
use ohmwright::circuit::file;
use ohmwright::model::proof::case::Judgement;
use ohmwright::model::proof::slip::{SlipFound, SlipKind};
use ohmwright::model::proof::whole::Proof;
use std::collections::BTreeSet;
use std::sync::Arc;

/// Reads each thing once, and believes it.
const BELIEVES: &str = r#"key_on();
let feed = read("feed", "Feed", at_least(9.V), across("feed", "battery_negative"));
if feed.low { conclude("fuse"); }
let ground = read("ground", "Ground", within(0.V, 0.3.V), across("lamp_ground", "battery_negative"));
if ground.high { conclude("ground"); }
let current = read("current", "Current", at_least(1.A), through("F1"));
if current.low { conclude("lamp"); }
conclude("not_present");
"#;

/// Condemns only what two readings say.
const LOOKS_TWICE: &str = r#"key_on();
fn feed(id) { read(id, "Feed", at_least(9.V), across("feed", "battery_negative")) }
fn ground(id) { read(id, "Ground", within(0.V, 0.3.V), across("lamp_ground", "battery_negative")) }
fn current(id) { read(id, "Current", at_least(1.A), through("F1")) }
let runs = current("current");
if !runs.low && !current("current_again").low { conclude("not_present"); }
if feed("feed").low && feed("feed_again").low { conclude("fuse"); }
if ground("ground").high && ground("ground_again").high { conclude("ground"); }
if feed("feed_third").low || ground("ground_third").high || !current("current_third").low { unfinished("the readings do not agree"); }
conclude("lamp");
"#;

fn at(found: &[SlipFound]) -> BTreeSet<(SlipKind, &str)> {
    found.iter().map(|found| (found.slip, found.at.as_str())).collect()
}

fn slips(proof: &Proof) -> &ohmwright::model::proof::slip::Slips {
    proof.slips.as_ref().unwrap()
}

#[test]
fn a_reading_that_is_believed_at_once_condemns_a_good_part_after_a_slip() {
    let proof = prove(&on_lamp(FAULTS, BELIEVES));
    assert!(proof.runs_are_clean() && !proof.is_clean());
    let found = at(&slips(&proof).replaces_good);
    for slip in [(SlipKind::NoContact, "feed"), (SlipKind::NoContact, "current"), (SlipKind::NoContact, "ground")] {
        assert!(found.contains(&slip), "{slip:?} in {found:?}");
    }
    let feed = slips(&proof).replaces_good.iter().find(|slip| slip.at == "feed").unwrap();
    assert_eq!((feed.faults.as_slice(), feed.seed, feed.came_to.as_str()), (&[][..], 1, "fuse"));
    // Nobody is condemned for what is left out: the run asks for it, and ends.
    assert!(found.iter().all(|(kind, _)| !matches!(kind, SlipKind::Skipped | SlipKind::Declined)), "{found:?}");
    let shown = report(&proof, 200);
    assert!(shown.contains("(healthy) (seed 1) with a slip, a lead without contact at feed, came to: fuse"), "{shown}");
}

#[test]
fn what_is_asked_again_is_answered_truly_so_that_looking_twice_helps() {
    let proof = prove(&on_lamp(FAULTS, LOOKS_TWICE));
    assert!(proof.runs_are_clean(), "{}", report(&proof, 120));
    assert!(slips(&proof).is_clean(), "{}", report(&proof, 120));
    assert!(proof.is_clean());
    // A key that nobody turned on can't be seen by the meter: it is listed, and fails nothing.
    let not_done: BTreeSet<_> = at(&slips(&proof).not_done);
    assert_eq!(not_done, BTreeSet::from([(SlipKind::NotDone, "Turn the key on, engine not running")]));
}

#[test]
fn each_slip_is_made_once_at_each_place_of_each_path() {
    let proof = prove(&on_lamp(FAULTS, BELIEVES));
    // Healthy and lamp open: one action, three readings; ground open: two; fuse open: one. On an action two slips, on volts
    // and amperes four. Vehicles 2 and 3 go the same path and are not gone again.
    let readings = 3 + 3 + 2 + 1;
    assert_eq!(slips(&proof).runs, 4 * 2 + 4 * readings);
    assert_eq!(slips(&proof).by_kind[&SlipKind::NoContact], readings);
    assert_eq!(slips(&proof).by_kind[&SlipKind::Declined], 4);
}

#[test]
fn slips_are_made_in_the_check_after_the_repair_too() {
    let check = |limits: &str, bad: &str| {
        format!(
            "{LOOKS_TWICE}fn after_repair() {{\n    key_on();\n    \
             let again = read(\"again\", \"Current\", {limits}, through(\"F1\"));\n    \
             if again.skipped || again.ok {{ conclude(\"repaired\"); }}\n    {bad}\n}}\n"
        )
    };
    // A cause that replaces the lamp, for one reading without contact.
    let bad = prove(&on_lamp(CAUSES, &check("at_least(3.A)", "conclude(\"lamp\");")));
    let found: Vec<_> = slips(&bad).replaces_good.iter().filter(|found| found.after_repair).collect();
    assert!(found.iter().any(|found| found.slip == SlipKind::NoContact && found.at == "again"), "{found:?}");
    assert!(found.iter().all(|found| found.came_to == "lamp"), "{found:?}");
    assert!(report(&bad, 200).contains("after the repair, again"), "{}", report(&bad, 200));
    // Who ends without a word on the repair replaces nothing; a reading that was left out is no reason to call it repaired.
    let well = prove(&on_lamp(CAUSES, &check("at_least(3.A)", "unfinished(\"still in\");")));
    assert!(slips(&well).replaces_good.iter().all(|found| !found.after_repair));
    let repaired = at(&slips(&well).called_repaired);
    assert_eq!(repaired, BTreeSet::from([(SlipKind::Skipped, "again")]));
    assert!(report(&well, 200).contains("called repaired (they replace no part"), "{}", report(&well, 200));
}

#[test]
fn a_script_error_after_a_slip_fails_the_proof_and_names_the_case() {
    let body = "key_on();\n\
        let feed = read(\"feed\", \"Feed\", at_least(9.V), across(\"feed\", \"battery_negative\"));\n\
        if feed.low {\n    let again = read(\"again\", \"Feed\", at_least(9.V), across(\"feed\", \"battery_negative\"));\n    \
        if again.ok { throw \"the meter lies\"; }\n    conclude(\"fuse\");\n}\n\
        conclude([\"lamp\", \"ground\", \"not_present\"]);\n";
    let proof = prove(&on_lamp(FAULTS, body));
    let errors = &slips(&proof).errors;
    assert_eq!(at(errors), BTreeSet::from([(SlipKind::NoContact, "feed")]));
    assert!(errors[0].came_to.contains("the meter lies") && errors[0].came_to.starts_with("p.rhai:12"), "{errors:?}");
    assert!(!proof.is_clean());
}

#[test]
fn a_part_condemned_on_one_answer_fails_the_proof() {
    let word = |condition: &str| {
        format!(
            "key_on();\nlet lights = ask(\"lights\", \"Does the lamp light?\");\n\
             if !lights.skipped && {condition} {{ conclude(\"lamp\"); }}\n{}",
            BELIEVES.split_once('\n').unwrap().1
        )
    };
    let proof = prove(&on_lamp(FAULTS, &word("!lights.yes")));
    assert!(proof.runs_are_clean());
    let answers = proof.answers.as_ref().unwrap();
    // Two ways to answer on each of four cases.
    assert_eq!(answers.runs, 8);
    let rests: Vec<_> = answers
        .rests_on_an_answer
        .iter()
        .map(|rests| (rests.faults.join(""), format!("{}={}", rests.said[0].prompt, rests.said[0].answer)))
        .collect();
    assert_eq!(
        rests,
        [("", "lights=no"), ("fuse_open", "lights=no"), ("ground_open", "lights=no")]
            .map(|(fault, said)| (fault.to_owned(), said.to_owned()))
    );
    assert!(!answers.is_clean() && !proof.is_clean());
    assert!(report(&proof, 120).contains("3 conclusions rest on an answer"), "{}", report(&proof, 120));
}

#[test]
fn well_after_the_repair_rests_on_no_answer_and_a_part_condemned_there_does() {
    let after = |body: &str| prove(&on_lamp(CAUSES, &format!("{LOOKS_TWICE}fn after_repair() {{\n{body}}}\n")));
    let asks = "    key_on();\n    let lights = ask(\"lights\", \"Does the lamp light?\");\n";
    let well = after(&format!(
        "{asks}    if lights.skipped || lights.yes {{ conclude(\"repaired\"); }}\n    unfinished(\"look again\");\n"
    ));
    let answers = well.answers.as_ref().unwrap();
    assert!(answers.runs > 0 && answers.rests_on_an_answer.is_empty(), "{:?}", answers.rests_on_an_answer);
    let bad = after(&format!(
        "{asks}    if !lights.skipped && !lights.yes {{ conclude(\"lamp\"); }}\n    conclude(\"repaired\");\n"
    ));
    let rests = &bad.answers.as_ref().unwrap().rests_on_an_answer;
    assert!(!rests.is_empty() && rests.iter().all(|rests| rests.came_to == "lamp"), "{rests:?}");
}

#[test]
fn a_cause_that_may_rest_on_a_look_may() {
    let body = "if !ask(\"whole\", \"Is the bulb whole?\").yes { conclude(\"lamp\"); }\nconclude(\"not_present\");\n";
    for (on_a_look, clean) in [("", false), (", on_a_look = true", true)] {
        let mut proving = on_lamp(FAULTS, body);
        let causes = CAUSES.replace("replaces = [\"lamp\"]", &format!("replaces = [\"lamp\"]{on_a_look}"));
        let text = format!("{LAMP}{causes}");
        proving.circuit = Arc::new(file::parse(&text, "lamp.toml").unwrap_or_else(|error| panic!("{error}")));
        assert_eq!(prove(&proving).answers.unwrap().is_clean(), clean);
    }
}

#[test]
fn more_ways_to_answer_than_are_tried_are_cut_and_said_so() {
    let asks: String = (0..11).map(|n| format!("ask(\"q{n}\", \"Question?\");\n")).collect();
    let proof = prove(&on_lamp("", &format!("{asks}conclude(\"not_present\");\n")));
    let answers = proof.answers.as_ref().unwrap();
    assert_eq!((answers.runs, answers.cut.as_slice()), (1_000, &[vec![]][..]));
    assert!(report(&proof, 200).contains("cut: there are more ways to answer than were tried, with (healthy)"));
    let asks: String = (0..9).map(|n| format!("ask(\"q{n}\", \"Question?\");\n")).collect();
    let answers = prove(&on_lamp("", &format!("{asks}conclude(\"not_present\");\n"))).answers.unwrap();
    assert_eq!((answers.runs, answers.cut.len()), (512, 0));
}

#[test]
fn a_fault_that_cannot_be_asked_is_a_row_and_the_others_are_proven() {
    // A movement that the circuit does not have; it is come to with the ground open alone.
    let body = "key_on();\nlet ground = read(\"ground\", \"Ground\", within(0.V, 0.3.V), across(\"lamp_ground\", \"battery_negative\"));\n\
        if ground.high { hold(\"flap\", \"shut\"); read(\"again\", \"Ground\", within(0.V, 0.3.V), across(\"lamp_ground\", \"battery_negative\")); conclude(\"ground\"); }\n\
        conclude([\"lamp\", \"fuse\", \"not_present\"]);\n";
    let mut proving = on_lamp(FAULTS, body);
    proving.slips = false;
    let proof = prove(&proving);
    let not_asked: Vec<_> = proof.cases.iter().filter(|case| case.not_asked.is_some()).collect();
    assert_eq!(not_asked.len(), 1);
    assert_eq!((not_asked[0].faults[0].as_str(), not_asked[0].runs), ("ground_open", 0));
    let problem = not_asked[0].not_asked.as_ref().unwrap();
    assert_eq!((problem.runs, problem.seed), (3, 1));
    assert!(problem.words().starts_with("p.rhai:10: with ground_open: "), "{}", problem.words());
    assert!(!proof.is_clean());
    assert_eq!(proof.cases[2].count(Judgement::Right), 3);
    assert!(report(&proof, 200).contains("ground_open: 3 of 3 runs can't be made"), "{}", report(&proof, 200));
}

#[test]
fn a_fault_that_need_not_show_is_counted_apart_where_it_is_missed() {
    let faults = FAULTS.replace("cause = \"lamp\"", "causes = [\"lamp\", \"not_present\"]");
    let body = "key_on();\nlet feed = read(\"feed\", \"Feed\", at_least(9.V), across(\"feed\", \"battery_negative\"));\n\
        if feed.low { conclude(\"fuse\"); }\n\
        let ground = read(\"ground\", \"Ground\", within(0.V, 0.3.V), across(\"lamp_ground\", \"battery_negative\"));\n\
        if ground.high { conclude(\"ground\"); }\nconclude(\"not_present\");\n\
        fn after_repair() { conclude(\"repaired\"); }\n";
    let mut proving = on_lamp(&faults, body);
    proving.slips = false;
    let proof = prove(&proving);
    let lamp = &proof.cases[2];
    assert_eq!((lamp.count(Judgement::Right), lamp.count(Judgement::NotShown)), (0, 3));
    assert!(!lamp.is_detected() && lamp.is_right(false));
    let after = &proof.after_repair[2];
    assert_eq!((after.count(Judgement::Missed), after.count(Judgement::NotShown)), (0, 3));
    let shown = report(&proof, 200);
    assert!(shown.contains("called repaired, and the fault that is in need not show"), "{shown}");
}
