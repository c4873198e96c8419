//! The shipped circuits: what is written in them holds together.
use crate::{shipped, shipped_circuits, states};
use ohmwright::circuit::bench::Bench;
use ohmwright::circuit::fault::FaultId;
use ohmwright::circuit::file;
use ohmwright::circuit::meter::bench_meter;
use ohmwright::circuit::netlist::Circuit;
use ohmwright::circuit::sample::Sample;
use ohmwright::circuit::solution::solve;
use ohmwright::model::vehicle::{Key, VehicleState};
use std::sync::Arc;

/// The largest difference, in any state, that a fault makes at any point or in any part's current, as a share of what it was.
fn difference(circuit: &Circuit, fault: &FaultId) -> f64 {
    let mut largest = 0.0f64;
    for (_, state) in states(circuit) {
        let healthy = solve(circuit, &state, &[], &Sample::NOMINAL).unwrap();
        let faulty = solve(circuit, &state, std::slice::from_ref(fault), &Sample::NOMINAL).unwrap();
        for (one, other) in healthy.nodes().zip(faulty.nodes()) {
            largest = largest.max((one.1 - other.1).abs());
        }
    }
    largest
}

/// The largest difference, in any state, that a fault makes in the AC volts between two roles that stand side by side.
fn difference_of_ac(circuit: &Arc<Circuit>, fault: &FaultId) -> f64 {
    let bench = |faults: &[FaultId]| Bench::new(Arc::clone(circuit), faults, Sample::NOMINAL, bench_meter()).unwrap();
    let (mut healthy, mut faulty) = (bench(&[]), bench(std::slice::from_ref(fault)));
    let roles: Vec<String> = circuit.roles().map(|(_, point)| point.id.clone()).collect();
    let mut largest = 0.0f64;
    for (_, state) in states(circuit) {
        healthy.set_state(&state).unwrap();
        faulty.set_state(&state).unwrap();
        for pair in roles.windows(2) {
            // What swings too far for the circuit's parts to rest is no reading.
            let volts = [healthy.ac_volts(&pair[0], &pair[1]), faulty.ac_volts(&pair[0], &pair[1])];
            if let [Ok(healthy), Ok(faulty)] = volts {
                largest = largest.max((healthy.exact - faulty.exact).abs());
            }
        }
    }
    largest
}

#[test]
fn every_fault_can_be_seen_with_a_meter() {
    for (file, circuit) in shipped_circuits() {
        let circuit = Arc::new(circuit);
        // A diode beside a relay's coil shows only with battery voltage put on the pulled relay the wrong way round.
        for fault in circuit.faults().iter().filter(|fault| fault.id.0 != "diode_open") {
            let direct = difference(&circuit, &fault.id);
            let largest = if direct > 2e-4 { direct } else { difference_of_ac(&circuit, &fault.id) };
            // A small draw at rest shifts nothing but its current: tens of milliamperes are tenths of a millivolt here.
            assert!(largest > 2e-4, "{file}: `{}` changes no voltage by more than {largest} V", fault.id);
        }
    }
}

#[test]
fn every_fault_has_causes_that_the_circuit_declares_and_nothing_is_remarked_on() {
    for (file, circuit) in shipped_circuits() {
        assert!(circuit.is_example() && circuit.shows().is_some(), "{file}");
        for fault in circuit.faults() {
            assert!(!fault.causes.is_empty(), "{file}: `{}`", fault.id);
            for cause in fault.causes.iter().filter(|cause| *cause != "not_present") {
                assert!(circuit.cause(cause).is_some_and(|cause| cause.declared), "{file}: `{}`: {cause}", fault.id);
            }
        }
        let remarks: Vec<String> = circuit.remarks().iter().map(ToString::to_string).collect();
        assert!(remarks.is_empty(), "{file}: {remarks:#?}");
    }
}

#[test]
fn a_sensor_that_pulls_the_reference_down_lets_it_go_when_unplugged() {
    let circuit = shipped("flap_sensor");
    let reference = |fault: &str, unplugged: &[&str]| {
        let mut state = VehicleState { key: Key::On, ..circuit.start().clone() };
        state.unplugged.extend(unplugged.iter().map(|name| (*name).to_owned()));
        let solution = solve(&circuit, &state, &[FaultId::from(fault)], &Sample::NOMINAL).unwrap();
        solution.volts("reference", "battery_negative").unwrap()
    };
    assert!(reference("boost_sensor_shorted", &[]) < 1.5);
    assert!(reference("boost_sensor_shorted", &["C41"]) < 1.5);
    assert!(reference("boost_sensor_shorted", &["C43"]) > 4.75);
    assert!(reference("sensor_shorted", &["C41"]) > 4.75);
    assert!(reference("reference_wire_to_ground", &["C41", "C43"]) < 0.2);
    assert!(reference("reference_wire_to_battery", &["C41"]) > 10.0);
}

#[test]
fn what_shows_only_while_moved_shows_only_while_moved() {
    let circuit = shipped("intermittent");
    for fault in circuit.faults() {
        let seen = |position: &str| {
            let mut state = VehicleState { key: Key::On, ..circuit.start().clone() };
            for movement in circuit.movements() {
                state.positions.insert(movement.id.clone(), position.to_owned());
            }
            let lamp = |faults: &[FaultId]| {
                solve(&circuit, &state, faults, &Sample::NOMINAL).unwrap().amperes("lamp").unwrap()
            };
            (lamp(&[]) - lamp(std::slice::from_ref(&fault.id))).abs()
        };
        assert!(seen("still") < 1e-12, "{}", fault.id);
        assert!(seen("moved") > 0.1, "{}", fault.id);
    }
}

#[test]
fn points_tell_where_they_are() {
    let circuit = shipped("flap_sensor");
    let signal = circuit.point("signal").unwrap();
    assert_eq!(
        (signal.id.as_str(), signal.connector.as_deref(), signal.pin.as_deref()),
        ("C41.3", Some("C41"), Some("3"))
    );
    assert_eq!((signal.color.as_deref(), signal.minutes), (Some("green"), 6.0));
    assert_eq!(signal.gauge.as_ref().unwrap().to_string(), "0.75 mm2");
    assert!(signal.place.contains("flap housing"));
    for (file, circuit) in shipped_circuits() {
        for point in circuit.points() {
            assert!(!point.place.is_empty(), "{file}: {} is nowhere", point.id);
        }
    }
}

#[test]
fn every_pair_of_faults_settles_in_any_vehicle() {
    for (file, circuit) in shipped_circuits() {
        let states: Vec<_> = states(&circuit).into_iter().take(5).collect();
        for (first, one) in circuit.faults().iter().enumerate() {
            for other in &circuit.faults()[first + 1..] {
                let pair = [one.id.clone(), other.id.clone()];
                for (seed, (name, state)) in states.iter().enumerate() {
                    let solution = solve(&circuit, state, &pair, &Sample::of_seed(seed as u64));
                    let solution =
                        solution.unwrap_or_else(|error| panic!("{file}, {} and {}, {name}: {error}", one.id, other.id));
                    assert!(
                        solution.nodes().all(|(_, volts)| volts.abs() < 60.0),
                        "{file}, {} and {}, {name}",
                        one.id,
                        other.id
                    );
                }
            }
        }
    }
}

#[test]
fn a_solver_follows_changed_values() {
    let circuit = file::parse(&crate::random_network(5, false), "random").unwrap();
    let mut solver = ohmwright::circuit::solver::Solver::new(&circuit, circuit.start(), &[], &Sample::NOMINAL).unwrap();
    let (part, from, to) = (solver.part("chain1").unwrap(), solver.point("p1").unwrap(), solver.point("p0").unwrap());
    solver.solve().unwrap();
    let before = solve(&circuit, circuit.start(), &[], &Sample::NOMINAL).unwrap().volts("p1", "p0").unwrap();
    assert_eq!(solver.volts(from, to), before);
    assert!(solver.set_ohms(part, 1e-3));
    solver.solve().unwrap();
    assert!(solver.volts(from, to).abs() < before.abs(), "a short across the two points");
}
