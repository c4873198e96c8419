//! A fresh vehicle's own fault is never excluded.

use crate::vehicles::{Numbers, Vehicle, cells, circuit, numbered, of_the_flap_sensor, readings, text};
use ohmwright::circuit::meter::bench_meter;
use ohmwright::evidence::possible::slices_left;
use ohmwright::evidence::rival::rivals;
use ohmwright::evidence::table::Table;
use rayon::prelude::*;

/// Vehicles of each rival; 300 with `OHMWRIGHT_ALL_VEHICLES=1`.
const VEHICLES: usize = 60;

#[test]
fn no_truth_is_lost() {
    let circuit = circuit(&text("flap_sensor"));
    let diagnosis = of_the_flap_sensor(&circuit, ["C41", "C7"]);
    let rivals = rivals(&circuit, &bench_meter());
    let count = if std::env::var_os("OHMWRIGHT_ALL_VEHICLES").is_some() { 300 } else { VEHICLES };
    let taken: Vec<Vec<_>> = rivals
        .par_iter()
        .enumerate()
        .map(|(number, rival)| {
            let mut numbers = Numbers(number as u64 * 7919 + 1);
            let vehicle = |number| {
                let mut vehicle = Vehicle::drawn(&circuit, number, &mut numbers);
                if number % 10 < 2 {
                    vehicle.severity = (number % 2) as f64;
                }
                let says = readings(&circuit, rival, &vehicle, &diagnosis, |_, _| {});
                (vehicle, says)
            };
            (0..count).map(vehicle).collect()
        })
        .collect();
    let mut table = Table::new(circuit.clone(), bench_meter(), rivals);
    let cells = cells(&mut table, &diagnosis);
    let mut lost = Vec::new();
    for (rival, vehicles) in taken.iter().enumerate() {
        for (vehicle, says) in vehicles {
            if slices_left(&mut table, rival, &numbered(&cells, says)).unwrap().is_empty() {
                lost.push(format!("{} at {}, errs {}", table.rivals()[rival].id(), vehicle.severity, vehicle.errs));
            }
        }
    }
    println!(
        "{} readings, {} rivals, {count} vehicles each: {} lost; at most {:.1} % of any rival's with 95 % confidence",
        cells.len(),
        taken.len(),
        lost.len(),
        300.0 / count as f64
    );
    assert_eq!(lost, Vec::<String>::new());
}
