//! Faults too rare for the shipped circuits, and modules of another make of input: the same procedures, no good part condemned.

use super::{procedure, prove, proving, report, source};
use ohmwright::circuit::file;
use std::sync::Arc;

const SAMPLES: u64 = 40;

/// Faults that are added to a shipped circuit, one at a time.
const FAULTS: [(&str, &str); 11] = [
    (
        "flap_sensor",
        r#"{ id = "x", causes = ["module_reference", "not_present"], what = "the module's 5 V supply is a little low", set = { part = "module_regulator", value = "4.78 V" } }"#,
    ),
    (
        "flap_sensor",
        r#"{ id = "x", cause = "sensor_drift", what = "the sensor reads a little low all along", drift = { part = "flap_sensor", offset = "-6 %" } }"#,
    ),
    (
        "flap_sensor",
        r#"{ id = "x", cause = "module_input", what = "the input is on the module's ground inside", short = { from = "C7.6.component", to = "C7.2.component", through = "0.5 ohm" } }"#,
    ),
    (
        "flap_sensor",
        r#"{ id = "x", cause = "module_input", what = "the input is on the module's battery supply inside", short = { from = "C7.6.component", to = "C7.1.component", through = "0.5 ohm" } }"#,
    ),
    (
        "flap_sensor",
        r#"{ id = "x", cause = "module_input", what = "the input is on the reference inside", short = { from = "C7.6.component", to = "C7.4.component", through = "0.5 ohm" } }"#,
    ),
    // 0.15 V on the module's ground is allowed: the reference wire is what is wrong.
    (
        "flap_sensor",
        r#"{ id = "x", cause = "reference_resistance", what = "reference wire corroded, 0.15 V on the module's ground", added_resistance = [{ part = "reference_wire", ohms = "180 ohm" }, { part = "module_ground_wire", ohms = "0.33 ohm" }] }"#,
    ),
    (
        "flap_sensor",
        r#"{ id = "x", cause = "ground_resistance", what = "sensor ground wire corroded, 0.15 V on the module's ground", added_resistance = [{ part = "ground_wire", ohms = "150 ohm" }, { part = "module_ground_wire", ohms = "0.33 ohm" }] }"#,
    ),
    (
        "pedal_sensor",
        r#"{ id = "x", cause = "module_input", what = "the input of track 1 is on the module's ground inside", short = { from = "C7.23.component", to = "C7.2.component", through = "0.5 ohm" } }"#,
    ),
    (
        "pedal_sensor",
        r#"{ id = "x", cause = "module_input", what = "the input of track 1 is on the module's battery supply inside", short = { from = "C7.23.component", to = "C7.1.component", through = "0.5 ohm" } }"#,
    ),
    (
        "temperature_sensor",
        r#"{ id = "x", cause = "module_pull_up", what = "the input is on the module's battery supply inside", short = { from = "C7.11.component", to = "C7.1.component", through = "0.5 ohm" } }"#,
    ),
    (
        "temperature_sensor",
        r#"{ id = "x", cause = "ground_resistance", what = "sensor ground wire corroded, 0.15 V on the module's ground", added_resistance = [{ part = "ground_wire", ohms = "6 kohm" }, { part = "module_ground_wire", ohms = "0.33 ohm" }] }"#,
    ),
];

/// What of a shipped circuit is otherwise: the old words, the new ones.
const MODULES: [(&str, &str, &str); 3] = [
    // Shows nothing beyond the signal's range: a value of its own, 0 %, stands there.
    (
        "flap_sensor",
        r#"[["0.5 V", "0 %"], ["4.5 V", "100 %"]]"#,
        r#"[["0.5 V", "0 %"], ["4.5 V", "100 %"], ["4.7 V", "105 %"], ["4.75 V", "0 %"]]"#,
    ),
    // Pulls its signal up to the reference.
    (
        "flap_sensor",
        r#"ground = "C7.2.component", resistance = "220 kohm ± 5 %" },
  { id = "module_boost_input""#,
        r#"ground = "C7.2.component", resistance = "220 kohm ± 5 %", pull_to = "C7.4.component", pull = "4.7 kohm" },
  { id = "module_boost_input""#,
    ),
    (
        "pedal_sensor",
        r#"[["0.375 V", "0 %"], ["2.125 V", "100 %"]]"#,
        r#"[["0.375 V", "0 %"], ["2.125 V", "100 %"], ["2.4 V", "105 %"], ["2.5 V", "0 %"]]"#,
    ),
];

fn bad(name: &str, text: &str, about: &str) -> Option<String> {
    let mut proving = proving(procedure(name), name, SAMPLES);
    proving.circuit = Arc::new(file::parse(text, about).unwrap_or_else(|error| panic!("{about}: {error}")));
    let proof = prove(&proving);
    (!proof.is_clean() || proof.fraction_detected() != Some(1.0)).then(|| format!("{about}\n{}", report(&proof, 160)))
}

fn circuit(name: &str) -> String {
    source(&format!("procedures/circuits/{name}.toml")).unwrap().text
}

#[test]
fn a_rare_fault_is_named_and_no_good_part_is_condemned_for_it() {
    let found: Vec<_> = FAULTS
        .iter()
        .filter_map(|(name, fault)| {
            let text = circuit(name);
            let parts = text.split_once("\nfault = [").unwrap().0;
            bad(name, &format!("{parts}\nfault = [{fault}]\n"), &format!("{name}: {fault}"))
        })
        .collect();
    assert!(found.is_empty(), "{}", found.join("\n"));
}

#[test]
fn a_module_with_a_value_of_its_own_or_a_pull_up_is_no_bad_module() {
    let found: Vec<_> = MODULES
        .iter()
        .filter_map(|(name, old, new)| {
            let text = circuit(name);
            assert!(text.contains(old), "{name}: {old}");
            bad(name, &text.replacen(old, new, 1), &format!("{name}: {new}"))
        })
        .collect();
    assert!(found.is_empty(), "{}", found.join("\n"));
}
