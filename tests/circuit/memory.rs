//! What a vehicle on the bench remembers.

use ohmwright::circuit::bench::Bench;
use ohmwright::circuit::file;
use ohmwright::circuit::meter::bench_meter;
use ohmwright::circuit::sample::Sample;
use ohmwright::model::vehicle::VehicleState;
use std::sync::Arc;

/// A relay that holds itself: the start button pulls it in, its own contact keeps it, the stop button lets it go.
const SELF_HOLDING: &str = include_str!("self_holding.toml");

fn bench(faults: &[&str]) -> Bench {
    bench_of(SELF_HOLDING, faults)
}

fn bench_of(text: &str, faults: &[&str]) -> Bench {
    let circuit = file::parse(text, "self_holding").unwrap_or_else(|error| panic!("{error}"));
    let faults: Vec<_> = faults.iter().map(|fault| (*fault).into()).collect();
    Bench::new(Arc::new(circuit), &faults, Sample::NOMINAL, bench_meter()).unwrap()
}

fn press(bench: &mut Bench, button: &str, position: &str) {
    let mut state: VehicleState = bench.state().clone();
    state.positions.insert(button.to_owned(), position.to_owned());
    bench.set_state(&state).unwrap();
}

fn output(bench: &mut Bench) -> String {
    bench.volts("output", "minus").unwrap().text()
}

#[test]
fn a_relay_that_holds_itself_holds_until_it_is_let_go() {
    let mut bench = bench(&[]);
    assert_eq!(output(&mut bench), "0.0 mV");
    press(&mut bench, "start_button", "down");
    press(&mut bench, "start_button", "up");
    assert_eq!(bench.pulled_in().collect::<Vec<_>>(), ["K1"]);
    assert!(output(&mut bench).starts_with("11."), "{}", output(&mut bench));
    press(&mut bench, "stop_button", "down");
    press(&mut bench, "stop_button", "up");
    assert_eq!(output(&mut bench), "0.0 mV");
    assert_eq!(bench.pulled_in().count(), 0);
}

#[test]
fn pressed_and_let_go_is_the_same_with_a_reading_between_and_without() {
    for fault in [&[][..], &["output_to_ground"]] {
        let (mut read, mut not_read) = (bench(fault), bench(fault));
        press(&mut read, "start_button", "down");
        press(&mut not_read, "start_button", "down");
        _ = output(&mut read);
        press(&mut read, "start_button", "up");
        press(&mut not_read, "start_button", "up");
        assert_eq!(read.memory(), not_read.memory(), "{fault:?}");
        assert_eq!(read.blown().count(), fault.len());
        assert_eq!(output(&mut read), output(&mut not_read));
    }
}

#[test]
fn what_an_ammeter_drops_out_stays_out() {
    let mut bench = bench(&[]);
    press(&mut bench, "start_button", "down");
    press(&mut bench, "start_button", "up");
    // A thick wire's burden is nothing to the coil: it holds.
    assert!(bench.amperes_through("F1").unwrap().text().starts_with("1.2"));
    assert_eq!(bench.pulled_in().count(), 1);
    // A fuse that is taken out lets it go, and the ammeter in its place does not pull it in again.
    let held = bench.state().clone();
    let mut out = held.clone();
    out.removed.insert("F1".to_owned());
    bench.set_state(&out).unwrap();
    assert_eq!(bench.amperes_through("F1").unwrap().text(), "0.00 mA");
    bench.set_state(&held).unwrap();
    assert_eq!(output(&mut bench), "0.0 mV");
}

#[test]
fn what_an_ammeters_burden_drops_out_stays_out() {
    // An ohm in line with 90 keeps 0.14 V of 12.6.
    let text = SELF_HOLDING.replace("\"7 V\", drops_out = \"2.5 V\"", "\"12.55 V\", drops_out = \"12.5 V\"");
    let text = text.replace("resistance = \"10 ohm\"", "resistance = \"1 Mohm\"");
    let mut bench = bench_of(&text, &[]);
    press(&mut bench, "start_button", "down");
    press(&mut bench, "start_button", "up");
    assert!(output(&mut bench).starts_with("12.5"));
    assert_eq!(bench.amperes_through("F1").unwrap().text(), "0.0 mA");
    assert_eq!(output(&mut bench), "0.0 mV");
}

#[test]
fn what_is_remembered_can_be_put_back_and_begun_anew() {
    let mut bench = bench(&["output_to_ground"]);
    let fresh = bench.memory().clone();
    press(&mut bench, "start_button", "down");
    assert_eq!(bench.blown().collect::<Vec<_>>(), ["F1"]);
    let blown = bench.memory().clone();
    bench.remember(fresh.clone()).unwrap();
    assert_eq!(bench.blown().count(), 0);
    bench.remember(blown).unwrap();
    assert_eq!(bench.blown().count(), 1);
    let start = bench.circuit().start().clone();
    bench.begin(&start).unwrap();
    assert_eq!((bench.state(), bench.memory()), (&start, &fresh));
}
