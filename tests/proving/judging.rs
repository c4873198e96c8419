//! How a run is judged by the parts that causes cover, and the populations of a fault's severities.

use super::small::{CAUSES, LAMP, on_lamp};
use super::{prove, report};
use ohmwright::circuit::file;
use ohmwright::model::proof::case::{Case, Judgement};
use ohmwright::model::proof::whole::Proof;
use std::sync::Arc;

/// Names this where the lamp takes less current than that.
fn names(cause: &str, amperes: &str) -> String {
    format!(
        "key_on();\nlet current = read(\"current\", \"Current\", at_least({amperes}.A), through(\"F1\"));\n\
         if current.low {{ conclude({cause}); }}\nconclude(\"not_present\");\n"
    )
}

fn proof(body: &str) -> Proof {
    let mut proving = on_lamp(CAUSES, body);
    (proving.slips, proving.samples) = (false, 40);
    prove(&proving)
}

fn case<'a>(proof: &'a Proof, fault: &str) -> &'a Case {
    proof.cases.iter().find(|case| case.faults.first().map_or("", String::as_str) == fault).unwrap()
}

#[test]
fn sending_elsewhere_replaces_nothing_and_condemning_a_whole_part_is_wrong() {
    let elsewhere = proof(&names("\"ground\"", "3"));
    assert!(elsewhere.by_parts);
    for (fault, judgement) in [
        ("", Judgement::Right),
        ("fuse_open", Judgement::SentElsewhere),
        ("lamp_open", Judgement::SentElsewhere),
        ("ground_open", Judgement::Right),
    ] {
        assert_eq!(case(&elsewhere, fault).count(judgement), 40, "{fault}: {}", report(&elsewhere, 120));
    }
    assert!(elsewhere.is_clean(), "{}", report(&elsewhere, 120));
    assert!(report(&elsewhere, 200).contains("sent elsewhere: "), "{}", report(&elsewhere, 200));
    let condemns = proof(&names("\"lamp\"", "3"));
    for (fault, judgement) in
        [("fuse_open", Judgement::Wrong), ("lamp_open", Judgement::Right), ("ground_open", Judgement::Wrong)]
    {
        assert_eq!(case(&condemns, fault).count(judgement), 40, "{fault}");
    }
    assert!(!condemns.is_clean());
}

#[test]
fn a_part_that_is_whole_is_wrongly_named_only_where_no_other_cause_covers_the_fault() {
    let both = proof(&names("[\"lamp\", \"ground\"]", "3"));
    assert_eq!(case(&both, "ground_open").count(Judgement::Right), 40);
    assert_eq!(case(&both, "lamp_open").right_among, [0, 40, 40]);
    assert_eq!(case(&both, "fuse_open").count(Judgement::Wrong), 40);
}

#[test]
fn what_nobody_notices_is_apart_and_what_shows_must_be_found() {
    // What shows is below 3 A; the same limit of the procedure misses only what the meter can't tell.
    let found = proof(&names("\"ground\"", "3"));
    let corroded = case(&found, "ground_corroded");
    assert_eq!(corroded.runs, 40);
    assert_eq!(corroded.count(Judgement::Missed), 0, "{}", report(&found, 120));
    let hidden: u64 = corroded.hidden.judged.values().sum();
    assert!(hidden > 5, "{hidden} draws are hidden");
    assert_eq!(corroded.hidden.judged.keys().collect::<Vec<_>>(), [&Judgement::Right]);
    // One that is satisfied with less misses what a driver notices.
    let missed = proof(&names("\"ground\"", "1"));
    assert!(case(&missed, "ground_corroded").count(Judgement::Missed) > 3);
    assert!(!missed.is_clean());
    let astray = case(&missed, "ground_corroded").wrong_run.as_ref().unwrap();
    assert!(astray.severity.as_ref().is_some_and(|severity| severity.contains('Ω')), "{:?}", astray.severity);
    // One that condemns on what nobody notices is wrong.
    let strict = proof(&names("\"lamp\"", "4.1"));
    let wrong = case(&strict, "ground_corroded").hidden.judged.get(&Judgement::Wrong);
    assert!(wrong.is_some(), "{}", report(&strict, 120));
}

#[test]
fn a_cause_that_was_never_there_in_its_company_is_padding() {
    let padded = proof(
        "key_on();\nlet feed = read(\"feed\", \"Feed\", at_least(9.V), across(\"feed\", \"battery_negative\"));\n\
         if feed.low { conclude([\"fuse\", \"lamp\"]); }\n\
         let current = read(\"current\", \"Current\", at_least(3.A), through(\"F1\"));\n\
         if current.low { conclude([\"lamp\", \"ground\"]); }\nconclude(\"not_present\");\n",
    );
    assert_eq!(padded.padding(), [("fuse or lamp".to_owned(), "lamp".to_owned())]);
    assert!(padded.is_clean());
    assert_eq!(padded.right_among(), Some([0.0, 1.0, 0.0, 0.0]));
}

#[test]
fn the_generated_family_finds_what_nobody_listed() {
    let mut proving = on_lamp(CAUSES, &names("\"lamp\"", "3"));
    (proving.slips, proving.samples, proving.generated) = (false, 3, true);
    let proof = prove(&proving);
    assert!(proof.generated.len() > 3, "{}", report(&proof, 120));
    // Where the feed is open the lamp takes nothing, and it is whole.
    assert!(proof.generated.iter().any(|case| case.runs == 3 && case.count(Judgement::Wrong) == 3));
    assert!(!proof.is_clean() && report(&proof, 200).contains("generated/"), "{}", report(&proof, 120));
    let weight: f64 = proof.generated.iter().map(|case| case.how_common).sum();
    assert!((weight - 0.2 * 4.0).abs() < 1e-9, "{weight}: a fifth of what is listed");
}

#[test]
fn getting_at_a_connector_counts_once_for_all_its_pins() {
    let reads: String = [
        // The plug for the first time: 9 minutes.
        ("a", "feed", "lamp_ground"),
        // Another pin of it: none.
        ("b", "C1.1.component", "lamp_ground"),
        // The two posts: a minute each.
        ("c", "battery_positive", "battery_negative"),
        // Back to the plug, which is open: one.
        ("d", "feed", "battery_negative"),
    ]
    .iter()
    .map(|(id, red, black)| format!("read(\"{id}\", \"Volts\", no_limits(\"V\"), across(\"{red}\", \"{black}\"));\n"))
    .collect();
    let mut proving = on_lamp(CAUSES, &format!("key_on();\n{reads}conclude(\"not_present\");\n"));
    let text = format!("{LAMP}{CAUSES}").replace("pins = [\"1\", \"2\"]", "pins = [\"1\", \"2\"], minutes = 9");
    proving.circuit = Arc::new(file::parse(&text, "lamp.toml").unwrap_or_else(|error| panic!("{error}")));
    (proving.slips, proving.samples) = (false, 1);
    let healthy = prove(&proving).cases.swap_remove(0);
    // Half a minute for each of the four readings.
    assert!((healthy.minutes - (2.0 + 9.0 + 2.0 + 1.0)).abs() < 1e-9, "{}", healthy.minutes);
}
