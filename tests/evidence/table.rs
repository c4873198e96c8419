//! The table of hulls.

use crate::vehicles::{circuit, key_on, meter, volts};
use ohmwright::evidence::possible::{Reading, possible};
use ohmwright::evidence::reading::Says;
use ohmwright::evidence::rival::{listed, rivals};
use ohmwright::evidence::table::{Step, Table};
use std::time::Instant;

#[test]
fn how_long_it_takes() {
    let circuit = circuit("flap_sensor");
    let began = Instant::now();
    let rivals = rivals(&circuit, &meter());
    println!("{} rivals in {:?}", rivals.len(), began.elapsed());
    let mut table = Table::new(circuit.clone(), meter(), rivals);
    println!("{} slices, {} tolerances", table.slices().len(), circuit.tolerances().len());
    let began = Instant::now();
    let on = table.step(0, Step::Put(key_on(&circuit)));
    let mut count = 0;
    let names: Vec<String> = circuit.points().iter().map(|point| point.id.clone()).collect();
    let mut last = None;
    for (number, one) in names.iter().enumerate() {
        for other in &names[..number] {
            last = Some(table.cell(on, &volts(one, other)).unwrap());
            count += 1;
        }
    }
    let hulls = table.hulls(last.unwrap()).unwrap();
    println!("{count} candidates, {} hulls each in {:?}", hulls.len(), began.elapsed());
    let began = Instant::now();
    let cell = table.cell(on, &volts("reference", "ground")).unwrap();
    let reading = Reading { number: 1, cells: vec![cell], says: Says::of_number(Some(&meter()), Some(ohmwright::model::meter::Function::Volts), 2.0, 5e-4) };
    let found = possible(&mut table, &[reading]).unwrap();
    println!("possible in {:?}", began.elapsed());
    for (rival, standing) in table.rivals().iter().zip(&found.rivals) {
        println!("{}: {standing:?}", rival.id());
    }
    assert!(!listed(&circuit).is_empty());
}
