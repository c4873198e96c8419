//! Looks of the circuit: they answer the questions of their name, and a look that was seen wrong is a slip.

use super::small::{CAUSES, LAMP, on_lamp};
use super::{prove, report};
use ohmwright::circuit::file;
use ohmwright::model::proof::case::Judgement;
use ohmwright::model::proof::slip::SlipKind;
use ohmwright::model::proof::whole::Proof;
use std::sync::Arc;

/// Looks at the bulb before anything is measured behind it.
const LOOKS: &str = "key_on();\n\
    let current = read(\"current\", \"Current\", at_least(3.A), through(\"F1\"));\n\
    if !current.low { conclude(\"not_present\"); }\n\
    let bulb = QUESTION;\nif BAD { conclude(\"lamp\"); }\n\
    let ground = read(\"ground\", \"Ground\", within(0.V, 0.3.V), across(\"lamp_ground\", \"battery_negative\"));\n\
    if ground.high { conclude(\"ground\"); }\nunfinished(\"no more is asked\");\n";

const ASK: [(&str, &str); 2] = [("QUESTION", "ask(\"bulb\", \"Is the bulb whole?\")"), ("BAD", "bulb.no")];

/// The proof on a lamp with a look at its bulb.
fn proof(look: &str, sees: &str, words: &[(&str, &str)]) -> Proof {
    let body = words.iter().fold(LOOKS.to_owned(), |body, (from, to)| body.replace(from, to));
    let mut proving = on_lamp(CAUSES, &body);
    let faults = CAUSES.replace("open = \"lamp\"", &format!("open = \"lamp\", sees = {{ bulb = \"{sees}\" }}"));
    let on_a_look =
        if look.contains("on_a_look") { "replaces = [\"lamp\"], on_a_look = true" } else { "replaces = [\"lamp\"]" };
    let faults = faults.replace("replaces = [\"lamp\"]", on_a_look);
    let normal = look.split(' ').next().unwrap();
    let text = format!("{LAMP}look = [{{ id = \"bulb\", what = \"the bulb\", normal = \"{normal}\" }}]\n{faults}");
    proving.circuit = Arc::new(file::parse(&text, "lamp.toml").unwrap_or_else(|error| panic!("{error}")));
    prove(&proving)
}

#[test]
fn a_look_answers_the_question_of_its_name_and_condemns_a_good_part_where_it_is_seen_wrong() {
    let found = proof("yes", "no", &ASK);
    let lamp = &found.cases[2];
    assert_eq!((lamp.count(Judgement::Right), lamp.runs), (3, 3), "{}", report(&found, 120));
    assert!(found.runs_are_clean(), "{}", report(&found, 120));
    // Nobody has to say anything that the circuit does not.
    assert_eq!(found.answers.as_ref().unwrap().runs, 0);
    let slips = found.slips.as_ref().unwrap();
    // With the lamp, the fuse and the ground open, and with the ground corroded.
    assert_eq!(slips.by_kind[&SlipKind::SeenWrong], 4);
    let wrong: Vec<_> = slips.replaces_good.iter().filter(|found| found.slip == SlipKind::SeenWrong).collect();
    assert_eq!(wrong.len(), 1, "{}", report(&found, 120));
    assert_eq!((wrong[0].at.as_str(), wrong[0].came_to.as_str(), wrong[0].runs), ("bulb: no", "lamp", 3));
    assert!(!found.is_clean() && report(&found, 200).contains("seen wrong"), "{}", report(&found, 200));
}

#[test]
fn a_cause_that_may_rest_on_a_look_may_be_seen_wrong() {
    let found = proof("yes on_a_look", "no", &ASK);
    let slips = found.slips.as_ref().unwrap();
    assert_eq!(slips.by_kind[&SlipKind::SeenWrong], 4);
    assert!(slips.replaces_good.iter().all(|found| found.slip != SlipKind::SeenWrong), "{}", report(&found, 120));
}

#[test]
fn each_other_answer_of_a_choice_is_a_slip_of_its_own() {
    let choose = [
        ("QUESTION", "choose(\"bulb\", \"The bulb?\", [\"whole\", \"burnt\", \"black\"])"),
        ("BAD", "bulb == \"burnt\""),
    ];
    let found = proof("whole", "burnt", &choose);
    assert_eq!(found.cases[2].count(Judgement::Right), 3, "{}", report(&found, 120));
    assert_eq!(found.slips.as_ref().unwrap().by_kind[&SlipKind::SeenWrong], 2 * 4);
}

#[test]
fn a_look_that_the_question_has_no_answer_for_is_a_row_that_says_so() {
    let found = proof("yes", "broken", &ASK);
    let lamp = found.cases[2].not_asked.as_ref().unwrap();
    let words = lamp.words();
    assert!(words.contains("the look `bulb` of the circuit shows \"broken\""), "{words}");
    assert!(words.contains("takes only \"yes\" and \"no\""), "{words}");
    assert!(!found.is_clean());
}
