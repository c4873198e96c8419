//! What a meter shows, and a module.
use crate::shipped;
use ohmwright::circuit::bench::Bench;
use ohmwright::circuit::fault::FaultId;
use ohmwright::circuit::meter::{Shown, bench_meter};
use ohmwright::circuit::sample::Sample;
use ohmwright::model::quantity::Quantity;
use ohmwright::model::vehicle::{Engine, Key, VehicleState};
use std::sync::Arc;

fn bench(name: &str, faults: &[&str], key: Key) -> Bench {
    let faults: Vec<FaultId> = faults.iter().map(|fault| FaultId::from(*fault)).collect();
    let mut bench = Bench::new(Arc::new(shipped(name)), &faults, Sample::NOMINAL, bench_meter()).unwrap();
    let state = VehicleState { key, ..bench.state().clone() };
    bench.set_state(&state).unwrap();
    bench
}

fn change(bench: &mut Bench, change: impl FnOnce(&mut VehicleState)) {
    let mut state = bench.state().clone();
    change(&mut state);
    bench.set_state(&state).unwrap();
}

#[test]
fn volts_at_a_healthy_three_wire_sensor() {
    let mut bench = bench("flap_sensor", &[], Key::On);
    assert_eq!(bench.volts("reference", "ground").unwrap().text(), "4.995 V");
    assert_eq!(bench.volts("battery_positive", "battery_negative").unwrap().text(), "12.59 V");
    let track = bench.sweep("flap", 5, |bench| Ok(bench.volts("signal", "ground")?.exact)).unwrap();
    for (found, share) in track.iter().zip([0.1, 0.3, 0.5, 0.7, 0.9]) {
        assert!((found - 5.0 * share).abs() < 0.02, "{track:?}");
    }
    assert_eq!(bench.state().positions.get("flap"), None, "the sweep puts the shaft back");
}

#[test]
fn a_floating_lead_reads_about_nothing() {
    let mut bench = bench("flap_sensor", &["signal_wire_open"], Key::On);
    change(&mut bench, |state| _ = state.unplugged.insert("C41".into()));
    // The signal wire hangs in the air between its break and the open connector.
    assert_eq!(bench.volts("signal", "battery_negative").unwrap().text(), "0.0 mV");
    assert_eq!(bench.volts("battery_positive", "signal").unwrap().text(), "0.0 mV");
}

#[test]
fn ohms_of_a_dead_part_and_the_wrong_number_of_a_live_one() {
    let mut cold = bench("solenoid_high_side", &[], Key::Off);
    change(&mut cold, |state| _ = state.unplugged.insert("C35".into()));
    let coil = cold.ohms("C35.1.component", "C35.2.component").unwrap();
    assert_eq!((coil.text().as_str(), coil.live), ("22.0 Ω", false));
    let mut open = bench("solenoid_high_side", &["coil_open"], Key::Off);
    change(&mut open, |state| _ = state.unplugged.insert("C35".into()));
    assert_eq!(open.ohms("C35.1.component", "C35.2.component").unwrap().shown, Shown::OverRange);
    let mut live = bench("flap_sensor", &[], Key::On);
    let supply = live.ohms("reference", "ground").unwrap();
    assert!(supply.live);
    assert_eq!(supply.shown, Shown::OverRange, "5 V stand above the meter's half volt");
    // The other way round the supply drives the meter backwards: a number that is no resistance.
    let backwards = live.ohms("ground", "reference").unwrap();
    assert!(backwards.live);
    assert!(matches!(backwards.shown, Shown::Value(ohms) if ohms.si() < 0.0), "{backwards:?}");
}

#[test]
fn a_cold_filament_reads_low() {
    let mut bench = bench("lamp", &[], Key::Off);
    change(&mut bench, |state| _ = state.unplugged.insert("C60".into()));
    let reading = bench.ohms("C60.1.component", "C60.2.component").unwrap();
    // 12 V and 5 A are 2.4 Ω hot, and cold as much less as another lamp's 0.350 Ω is than its 4.80 Ω (OpenStax m42714).
    assert!((reading.exact - 2.4 * 0.350 / 4.80).abs() < 0.001, "{reading:?}");
}

#[test]
fn amperes_in_line_and_in_the_place_of_a_fuse() {
    let mut bench = bench("key_off_draw", &["radio_draws"], Key::Off);
    let through = bench.amperes_through("F3").unwrap();
    assert!((through.exact - 12.6 / 110.0).abs() < 0.003, "{through:?}");
    change(&mut bench, |state| _ = state.removed.insert("F3".into()));
    let instead = bench.amperes("fuse_feed", "f3_load").unwrap();
    assert!((instead.exact - through.exact).abs() < 1e-3, "{instead:?}");
    assert!((bench.amperes_through("F3").unwrap().exact - through.exact).abs() < 1e-3);
    assert_eq!(bench.amperes_through("radio_memory").unwrap().text(), "0.00 mA");
    assert!(bench.amperes_through("glove_box_lamp").is_err());
}

#[test]
fn a_starter_draws_hundreds_of_amperes() {
    let mut bench = bench("starter", &[], Key::On);
    change(&mut bench, |state| state.engine = Engine::Cranking);
    let amperes = bench.amperes_through("positive_cable").unwrap();
    assert!((240.0..300.0).contains(&amperes.exact), "{amperes:?}");
    // US Army TM 9-2320-211-20: at most 300 A and at least 18 V on that 24 V truck; at most 0.2 V from battery to solenoid.
    assert!(bench.volts("starter_motor", "starter_case").unwrap().exact >= 18.0);
    assert!(bench.volts("battery_positive", "starter_positive").unwrap().exact <= 0.2);
}

#[test]
fn the_meter_errs_by_seed_but_keeps_its_promise() {
    let circuit = Arc::new(shipped("flap_sensor"));
    let mut texts = std::collections::BTreeSet::new();
    for seed in 0..200 {
        let mut bench = Bench::new(Arc::clone(&circuit), &[], Sample::of_seed(seed), bench_meter()).unwrap();
        change(&mut bench, |state| state.key = Key::On);
        let reading = bench.volts("reference", "ground").unwrap();
        let range = reading.range.clone().unwrap();
        let Shown::Value(shown) = reading.shown else { panic!("{reading:?}") };
        let worst = range.worst_case(Quantity::volts(reading.exact)).si();
        assert!((shown.si() - reading.exact).abs() <= worst + 1e-12, "{reading:?}");
        assert_eq!(reading, bench.volts("reference", "ground").unwrap(), "the same leads show the same again");
        texts.insert(reading.text());
    }
    assert!(texts.len() > 50, "only {} different readings", texts.len());
}

#[test]
fn the_module_shows_its_signals() {
    let mut flap = bench("flap_sensor", &[], Key::On);
    let Shown::Value(open) = flap.module_shows("flap_position").unwrap() else { panic!() };
    assert!(open.si().abs() < 0.005, "{open}");
    change(&mut flap, |state| _ = state.positions.insert("flap".into(), "half".into()));
    let Shown::Value(half) = flap.module_shows("flap_position").unwrap() else { panic!() };
    assert!((half.si() - 0.5).abs() < 0.005, "{half}");
    change(&mut flap, |state| state.key = Key::Off);
    assert_eq!(flap.module_shows("flap_position").unwrap(), Shown::Nothing);
    let mut coolant = bench("temperature_sensor", &[], Key::On);
    for at in ["-20 degC", "25 degC", "100 degC"] {
        change(&mut coolant, |state| _ = state.positions.insert("coolant".into(), at.into()));
        let Shown::Value(shown) = coolant.module_shows("coolant_temperature").unwrap() else { panic!() };
        assert!((shown.si() - at.parse::<Quantity>().unwrap().si()).abs() < 3.0, "{at}: {shown}");
    }
}

#[test]
fn a_bus_at_rest_and_in_use() {
    let mut bus = bench("data_bus", &[], Key::Off);
    change(&mut bus, |state| state.battery = ohmwright::model::vehicle::Battery::Disconnected);
    // Two terminators of 120 Ω; common practice, no source: 60 Ω with the battery off.
    let both = bus.ohms("bus_high", "bus_low").unwrap();
    assert!((both.exact - 60.0).abs() < 0.5, "{both:?}");
    let mut one = bench("data_bus", &["engine_terminator_open"], Key::Off);
    change(&mut one, |state| state.battery = ohmwright::model::vehicle::Battery::Disconnected);
    assert!((one.ohms("bus_high", "bus_low").unwrap().exact - 120.0).abs() < 1.0);
    // Recessive 2.5 V, dominant 3.5 and 1.5 V (ISO 11898-2, from memory), a quarter of the time: 2.75 and 2.25 V on average.
    let mut busy = bench("data_bus", &[], Key::On);
    let (high, low) =
        (busy.volts("bus_high", "chassis").unwrap().exact, busy.volts("bus_low", "chassis").unwrap().exact);
    assert!((high - 2.75).abs() < 0.05 && (low - 2.25).abs() < 0.05, "{high} {low}");
}

#[test]
fn a_switched_output_has_a_duty_and_a_frequency() {
    let mut bench = bench("solenoid_high_side", &[], Key::On);
    assert_eq!(bench.duty("feed", "ground").unwrap().shown, Shown::Nothing);
    change(&mut bench, |state| _ = state.positions.insert("boost_command".into(), "half".into()));
    assert_eq!(bench.duty("feed", "ground").unwrap().text(), "50.0 %");
    assert_eq!(bench.hertz("feed", "ground").unwrap().text(), "250.0 Hz");
    let volts = bench.volts("feed", "ground").unwrap().exact;
    assert!((volts - 6.2).abs() < 0.2, "{volts}");
}

#[test]
fn a_fuse_that_has_blown_stays_blown() {
    let mut bench = bench("lamp", &["feed_wire_to_ground"], Key::Off);
    assert_eq!(bench.blown().count(), 0);
    change(&mut bench, |state| _ = state.positions.insert("lamp_switch".into(), "on".into()));
    assert_eq!(bench.blown().collect::<Vec<_>>(), ["F7"]);
    change(&mut bench, |state| _ = state.positions.insert("lamp_switch".into(), "off".into()));
    assert_eq!(bench.volts("relay_feed", "chassis").unwrap().text(), "0.0 mV");
}

#[test]
fn an_unknown_state_is_no_dead_end() {
    let mut bench = bench("lamp", &[], Key::Off);
    let before = bench.state().clone();
    let mut wrong = before.clone();
    wrong.unplugged.insert("C99".into());
    assert!(bench.set_state(&wrong).is_err());
    assert_eq!(*bench.state(), before);
    assert_eq!(bench.volts("battery_positive", "chassis").unwrap().text(), "12.60 V");
}
