//! What holds of any readings.

use crate::vehicles::{Numbers, Vehicle, cells, circuit, numbered, of_the_flap_sensor, readings, text};
use ohmwright::circuit::meter::bench_meter;
use ohmwright::evidence::held::Reading;
use ohmwright::evidence::possible::{Possible, Standing, possible, slices_left};
use ohmwright::evidence::reading::Says;
use ohmwright::evidence::rival::{Rival, listed};
use ohmwright::evidence::table::Table;

/// A table of the listed faults, with the readings that some vehicles of each of `which` give.
fn taken(text: &str, names: [&str; 2], which: impl Fn(&Rival) -> bool) -> (Table, Vec<(usize, Vec<Reading>)>) {
    let circuit = circuit(text);
    let diagnosis = of_the_flap_sensor(&circuit, names);
    let mut table = Table::new(circuit.clone(), bench_meter(), listed(&circuit));
    let cells = cells(&mut table, &diagnosis);
    let mut numbers = Numbers(5);
    let rivals: Vec<(usize, Rival)> =
        table.rivals().iter().cloned().enumerate().filter(|(_, rival)| which(rival)).collect();
    let vehicle = |(number, rival): &(usize, Rival)| {
        let vehicle = Vehicle::drawn(&circuit, *number, &mut numbers);
        (*number, numbered(&cells, &readings(&circuit, rival, &vehicle, &diagnosis, |_, _| {})))
    };
    let taken = rivals.iter().map(vehicle).collect();
    (table, taken)
}

fn some(rival: &Rival) -> bool {
    [
        "healthy",
        "ground_wire_corroded",
        "boost_sensor_shorted",
        "sensor_worn",
        "module_reference_low",
        "pins_1_and_2_swapped",
    ]
    .contains(&rival.id())
}

fn left(possible: &Possible) -> Vec<usize> {
    (0..possible.rivals.len()).filter(|rival| possible.has(*rival)).collect()
}

#[test]
fn one_more_reading_never_revives_a_rival_and_the_rest_is_excluded_by_a_reading_that_was_there() {
    let (mut table, taken) = taken(&text("flap_sensor"), ["C41", "C7"], some);
    for (truth, readings) in taken {
        let mut before: Vec<usize> = (0..table.rivals().len()).collect();
        let mut last = None;
        for count in 0..=readings.len() {
            let found = possible(&mut table, &readings[..count]).unwrap();
            let now = left(&found);
            assert!(now.iter().all(|rival| before.contains(rival)), "{truth}: {before:?}, then {now:?}");
            assert!(now.contains(&truth), "{truth} is lost after {count} readings");
            assert_eq!(found.contradiction, None);
            before = now;
            last = Some(found);
        }
        let last = last.unwrap();
        for standing in &last.rivals {
            if let Standing::Excluded { by, beyond } = standing {
                assert!(!by.is_empty() && by.iter().all(|number| readings.iter().any(|one| one.number == *number)));
                assert!(*beyond > 0.0, "{beyond}");
            }
        }
        assert!(before.len() < 8, "{truth}: {before:?} are left of {}", table.rivals().len());
    }
}

#[test]
fn a_wider_accuracy_never_excludes_more() {
    let (mut table, taken) = taken(&text("flap_sensor"), ["C41", "C7"], some);
    for (truth, readings) in taken {
        let mut before: Vec<usize> = vec![];
        for factor in [1.0, 1.5, 3.0, 10.0] {
            let wider: Vec<Reading> = readings
                .iter()
                .map(|reading| {
                    let says = match reading.says {
                        Says::Between(low, high) => {
                            let (middle, by) = (f64::midpoint(low, high), factor * (high - low) / 2.0);
                            Says::Between(middle - by, middle + by)
                        }
                        Says::Beyond(from) => Says::Beyond(from / factor),
                    };
                    Reading { says, ..reading.clone() }
                })
                .collect();
            let now = left(&possible(&mut table, &wider).unwrap());
            assert!(before.iter().all(|rival| now.contains(rival)), "{truth}: {before:?}, then {now:?}");
            before = now;
        }
    }
}

#[test]
fn names_make_no_difference() {
    let plain = text("flap_sensor");
    // Pins are named through their connectors, so all of a connector's names change.
    let renamed = plain.replace("C41", "SENSOR_PLUG").replace("C7", "A0").replace("\"chassis\"", "\"frame\"");
    let (mut one, of_one) = taken(&plain, ["C41", "C7"], some);
    let (mut other, of_other) = taken(&renamed, ["SENSOR_PLUG", "A0"], some);
    for ((_, mine), (_, theirs)) in of_one.iter().zip(&of_other) {
        let (mine, theirs) = (possible(&mut one, mine).unwrap(), possible(&mut other, theirs).unwrap());
        assert_eq!(mine, theirs);
    }
}

#[test]
fn readings_that_contradict_are_named_and_no_cause_is() {
    let (mut table, taken) = taken(&text("flap_sensor"), ["C41", "C7"], |rival| rival.id() == "healthy");
    let mut readings = taken[0].1.clone();
    let twice = readings[2].clone();
    // The same leads in the same state, once right and once far off.
    readings.push(Reading { number: 99, says: Says::Between(1.99, 2.01), ..twice });
    let found = possible(&mut table, &readings).unwrap();
    assert_eq!(left(&found), Vec::<usize>::new());
    let set = found.contradiction.unwrap();
    assert!(set.contains(&99) && set.len() == 2, "{set:?}");
    // The two of them suffice, and neither does alone.
    let only = |numbers: &[usize]| -> Vec<Reading> {
        readings.iter().filter(|reading| numbers.contains(&reading.number)).cloned().collect()
    };
    assert_eq!(possible(&mut table, &only(&set)).unwrap().contradiction.as_ref(), Some(&set));
    for number in set {
        assert_eq!(possible(&mut table, &only(&[number])).unwrap().contradiction, None, "{number} alone");
    }
}

#[test]
fn a_battery_that_sags_between_two_readings_excludes_no_truth() {
    let wide = text("flap_sensor").replace("12.6 V ± 0.15 V", "12.6 V ± 0.4 V");
    let circuit = circuit(&wide);
    let battery = circuit.tolerances().iter().position(|spread| spread.nominal == 12.6).unwrap();
    let diagnosis = of_the_flap_sensor(&circuit, ["C41", "C7"]);
    let mut table = Table::new(circuit.clone(), bench_meter(), listed(&circuit));
    let cells = cells(&mut table, &diagnosis);
    let rivals = table.rivals().to_vec();
    let mut numbers = Numbers(17);
    for run in 0..1000 {
        let rival = run % rivals.len();
        let vehicle = Vehicle::drawn(&circuit, run, &mut numbers);
        let falls_at = numbers.below(cells.len());
        // From 0.4 V above to 0.2 V below.
        let sags = |number: usize, shares: &mut Vec<f64>| shares[battery] = if number < falls_at { 1.0 } else { 0.25 };
        let says = readings(&circuit, &rivals[rival], &vehicle, &diagnosis, sags);
        let left = slices_left(&mut table, rival, &numbered(&cells, &says)).unwrap();
        assert!(!left.is_empty(), "run {run}: {} is lost", rivals[rival].id());
    }
}

#[test]
fn a_real_vehicle_may_lie_outside_of_the_file_s_tolerances_by_the_factor_that_is_said() {
    let circuit = circuit(&text("flap_sensor"));
    let diagnosis = of_the_flap_sensor(&circuit, ["C41", "C7"]);
    let mut plain = Table::new(circuit.clone(), bench_meter(), listed(&circuit));
    let mut wide = Table::widened(circuit.clone(), bench_meter(), listed(&circuit), 1.5);
    let of_plain = cells(&mut plain, &diagnosis);
    let of_wide = cells(&mut wide, &diagnosis);
    let rivals = plain.rivals().to_vec();
    let mut numbers = Numbers(23);
    let mut lost = 0;
    for run in 0..60 {
        let rival = run % rivals.len();
        let mut vehicle = Vehicle::drawn(&circuit, run, &mut numbers);
        vehicle.shares.iter_mut().for_each(|share| *share = 0.5 + 1.45 * (*share - 0.5));
        let says = readings(&circuit, &rivals[rival], &vehicle, &diagnosis, |_, _| {});
        lost += usize::from(slices_left(&mut plain, rival, &numbered(&of_plain, &says)).unwrap().is_empty());
        let left = slices_left(&mut wide, rival, &numbered(&of_wide, &says)).unwrap();
        assert!(!left.is_empty(), "run {run}: {} is lost", rivals[rival].id());
    }
    assert!(lost > 0, "the factor makes a difference");
}

#[test]
fn an_accuracy_reaches_as_far_as_its_maker_says() {
    let meter = bench_meter();
    let volts = Some(ohmwright::model::meter::Function::Volts);
    let Says::Between(low, high) = Says::of_number(Some(&meter), volts, 5.0, 0.0005) else { panic!() };
    // 0.5 % and 2 counts of 1 mV on 6 V, and half a digit: the truth e with |5 − e| ≤ 0.005 e + 0.0025.
    assert!((high - 5.0025 / 0.995).abs() < 1e-12 && (low - (5.0 - (high - 5.0))).abs() < 1e-12, "{low} {high}");
    // Near the end of a range, the meter may have been on the next.
    let Says::Between(low, high) = Says::of_number(Some(&meter), volts, 5.99, 0.0005) else { panic!() };
    assert!(high - 5.99 > 0.005 * 5.99 + 0.025 && low < 5.99 - 0.05, "{low} {high}");
    // What was typed with fewer digits says less.
    let Says::Between(low, high) = Says::of_number(Some(&meter), volts, 12.6, 0.05) else { panic!() };
    assert!(low < 12.47 && high > 12.73, "{low} {high}");
    assert_eq!(Says::of_number(None, None, 50.0, 0.5), Says::Between(49.5, 50.5));
    assert!(
        matches!(Says::over_range(Some(&meter), Some(ohmwright::model::meter::Function::Ohms), false), Says::Beyond(from) if from > 59e6 && from < 60e6)
    );
}
