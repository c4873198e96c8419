//! Laws that every network obeys.
use crate::{fault_sets, random_network, shipped_circuits, states};
use ohmwright::circuit::file;
use ohmwright::circuit::sample::Sample;
use ohmwright::circuit::solution::solve;
use ohmwright::model::vehicle::{Jumper, VehicleState};
use proptest::prelude::*;

fn volts(text: &str, from: &str, to: &str) -> f64 {
    let circuit = file::parse(text, "law").unwrap();
    let solution = solve(&circuit, circuit.start(), &[], &Sample::NOMINAL).unwrap();
    solution.volts(from, to).unwrap()
}

fn source(id: &str, plus: &str, minus: &str, volts: f64) -> String {
    format!(
        "{{ id = \"{id}\", kind = \"battery\", positive = \"{plus}\", negative = \"{minus}\", volts = \"{volts} V\", resistance = \"50 ohm\" }},"
    )
}

/// A ladder of resistors with sources put into it.
fn ladder(ohms: &[f64], sources: &str) -> String {
    let mut parts = String::new();
    let mut points = String::from("{ id = \"p0\" }");
    for (rung, ohms) in ohms.iter().enumerate() {
        let (below, here) = (rung / 2, rung / 2 + 1);
        let (from, to) = if rung % 2 == 0 {
            (format!("p{below}"), format!("p{here}"))
        } else {
            ("p0".to_owned(), format!("p{here}"))
        };
        if rung % 2 == 0 {
            points.push_str(&format!(", {{ id = \"p{here}\" }}"));
        }
        parts.push_str(&format!("{{ id = \"r{rung}\", kind = \"resistor\", from = \"{from}\", to = \"{to}\", resistance = \"{ohms} ohm\" }},"));
    }
    format!(
        "title = \"ladder\"\nzero_volts = \"p0\"\nstart = {{ key = \"on\" }}\npoint = [{points}]\npart = [{parts}{sources}]\n"
    )
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn currents_at_every_node_add_up_to_nothing(seed in any::<u64>(), diodes in any::<bool>()) {
        let circuit = file::parse(&random_network(seed, diodes), "random").unwrap();
        let solution = solve(&circuit, circuit.start(), &[], &Sample::NOMINAL).unwrap();
        let largest = circuit.parts().iter().map(|part| solution.amperes(&part.id).unwrap().abs()).fold(0.0, f64::max);
        // Rounding of up to 48 V across the smallest resistance, 10 mΩ, is some 1e-12 A; the sum takes a few of them.
        prop_assert!(solution.residual() <= 1e-9 * largest.max(0.1), "{} A left over of {largest} A", solution.residual());
    }

    #[test]
    fn sources_add_up(ohms in prop::collection::vec(1.0f64..1e5, 6..14), one in -24.0f64..24.0, other in -24.0f64..24.0) {
        let sources = |one, other| source("a", "p1", "p0", one) + source("b", "p3", "p2", other).as_str();
        for node in ["p1", "p2", "p3"] {
            let together = volts(&ladder(&ohms, &sources(one, other)), node, "p0");
            let alone = volts(&ladder(&ohms, &sources(one, 0.0)), node, "p0") + volts(&ladder(&ohms, &sources(0.0, other)), node, "p0");
            prop_assert!((together - alone).abs() < 1e-9 * (1.0 + one.abs() + other.abs()));
        }
    }

    #[test]
    fn source_and_meter_can_change_places(ohms in prop::collection::vec(1.0f64..1e5, 6..14)) {
        // The current that 10 V in one branch drives through a 50 Ω branch elsewhere is the one it drives the other way round.
        let there = volts(&ladder(&ohms, &(source("a", "p1", "p0", 10.0) + source("b", "p3", "p0", 0.0).as_str())), "p3", "p0") / 50.0;
        let back = volts(&ladder(&ohms, &(source("a", "p1", "p0", 0.0) + source("b", "p3", "p0", 10.0).as_str())), "p1", "p0") / 50.0;
        prop_assert!((there - back).abs() < 1e-12 + 1e-9 * there.abs());
    }

    #[test]
    fn no_text_makes_the_reader_panic(text in "\\PC{0,200}") { _ = file::parse(&text, "noise"); }

    #[test]
    fn a_damaged_file_never_panics(at in 0usize..6000, with in "[\\x20-\\x7e]{0,6}") {
        let text = include_str!("../../procedures/circuits/lamp.toml");
        let at = (0..=at.min(text.len())).rev().find(|at| text.is_char_boundary(*at)).unwrap_or(0);
        let end = (at + 5).min(text.len());
        let end = (end..=text.len()).find(|end| text.is_char_boundary(*end)).unwrap_or(text.len());
        if let Ok(circuit) = file::parse(&format!("{}{with}{}", &text[..at], &text[end..]), "damaged") {
            _ = solve(&circuit, circuit.start(), &[], &Sample::NOMINAL);
        }
    }
}

#[test]
fn laws_hold_where_all_resistances_are_alike() {
    let ohms = [1.0; 6];
    let at = |from, to, left, right| {
        volts(&ladder(&ohms, &(source("a", "p1", "p0", left) + source("b", "p3", "p2", right).as_str())), from, to)
    };
    let (together, alone) = (at("p3", "p0", 10.0, 5.0), at("p3", "p0", 10.0, 0.0) + at("p3", "p0", 0.0, 5.0));
    assert!((together - alone).abs() < 1e-9, "{together} and {alone}");
    let (there, back) = (at("p3", "p2", 10.0, 0.0), at("p1", "p0", 0.0, 10.0));
    assert!((there - back).abs() < 1e-9 && there != 0.0, "{there} and {back}");
}

#[test]
fn currents_add_up_in_every_shipped_circuit() {
    for (file, circuit) in shipped_circuits() {
        for faults in fault_sets(&circuit) {
            for (name, state) in states(&circuit) {
                for sample in [Sample::NOMINAL, Sample::of_seed(7)] {
                    let solution = solve(&circuit, &state, &faults, &sample)
                        .unwrap_or_else(|error| panic!("{file}, {name}: {error}"));
                    let residual = solution.residual();
                    // Rounding of 25 V across 20 µΩ is some 2e-10 A; the sum takes a few.
                    assert!(residual < 1e-8, "{file}, {faults:?}, {name}: {residual} A");
                }
            }
        }
    }
}

#[test]
fn the_same_seed_is_the_same_vehicle() {
    let circuit = crate::shipped("flap_sensor");
    let on = VehicleState { key: ohmwright::model::vehicle::Key::On, ..circuit.start().clone() };
    let volts = |seed| solve(&circuit, &on, &[], &Sample::of_seed(seed)).unwrap().volts("signal", "ground").unwrap();
    assert_eq!(volts(3), volts(3));
    assert_ne!(volts(3), volts(4));
}

#[test]
fn a_jumper_is_a_resistance_between_two_points() {
    let circuit = crate::shipped("flap_sensor");
    let mut state = VehicleState { key: ohmwright::model::vehicle::Key::On, ..circuit.start().clone() };
    state.unplugged.insert("C41".to_owned());
    state.jumpers.push(Jumper {
        from: "signal".into(),
        to: "reference".into(),
        through: Some("1 kohm".parse().unwrap()),
    });
    let solution = solve(&circuit, &state, &[], &Sample::NOMINAL).unwrap();
    // 5 V through 1 kΩ onto the module's 220 kΩ.
    assert!((solution.volts("signal", "ground").unwrap() - 5.0 * 220.0 / 221.0).abs() < 0.01);
}
