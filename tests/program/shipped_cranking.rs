//! The shipped cranking, charging and draw tests: what explains a low reading condemns no part.

use crate::place::Place;
use crate::shipped::{at, course, run};

pub const DRAWS: &str = "battery = \"12.57\"\nammeter = \"ammeter in line\"\ndraw = \"417.3 mA\"\ndrop_f1 = \"2.3 mV\"\ndrop_f2 = \"1.3 mV\"\n\
    drop_f3 = \"0.0 mV\"\ndrop_f4 = \"0.0 mV\"\n";

#[test]
fn a_draw_over_range_with_a_fuse_out_frees_nothing_and_the_next_fuse_is_pulled() {
    let place = Place::new();
    let answers =
        format!("{DRAWS}draw_without_f1 = \"OL\"\ndraw_without_f2 = \"14.1 mA\"\ndraw_with_f2 = \"416.8 mA\"\n");
    run(&place, "key_off_draw", &answers).ended(0).says("The branch of fuse F2 (lights, glove box) draws too much");
    // What F1 woke sleeps again before the draw without F2 is read: else F2 frees nothing.
    let course = course(&place.events());
    let back = at(&course, "put_back F1");
    let waited = back + at(&course[back..], "wait");
    assert!(waited < at(&course, "take_out F2"), "{course:#?}");
}

const SOUND: &str = "look = \"sound\"\nsystem_12 = \"one 12 V battery\"\nfirst_rest = \"12.60\"\npositive_clamp = \"3 mV\"\n\
    negative_clamp = \"3 mV\"\ncells = \"no caps\"\n";

const CRANKS: &str = "battery = \"12.6\"\nmotor = \"9.9\"\ncranking = \"10.2\"\ncurrent = \"420\"\n";

const SIDES: &str = "positive = \"0.2 V\"\nground = \"0.2 V\"\ncontacts = \"0.1 V\"\nmotor_lead = \"0.1 V\"\n";

const CRANKS_PAIR: &str = "battery = \"25.3\"\nmotor = \"19.9\"\ncranking = \"21\"\ncurrent = \"190\"\npositive = \"0.1 V\"\n\
    ground = \"0.2 V\"\ncontacts = \"0.1 V\"\nmotor_lead = \"0.1 V\"\n";

const CHARGES: &str = "rest = \"12.6\"\nbefore = \"12.4\"\ncharge = \"14.9\"\nloaded = \"14.5\"\n";

const FULL: &str = "ripple = \"0.06 V\"\nfull_volts = \"12.5\"\nfull_current = \"98\"\npositive = \"0.25 V\"\n\
    ground = \"0.1 V\"\n";

#[test]
fn what_cold_a_large_engine_or_a_flat_battery_explains_condemns_no_part() {
    const PASSED: &str = "the battery passed all that was measured";
    const FAILED: &str = "Battery charged, and its voltage drops too far under load";
    const SOUGHT: &str = "did not show during this test";
    let regulated = "rest = \"12.6\"\nbefore = \"12.3\"\ncharge = \"13.0\"\nloaded = \"13.05\"\nripple = \"0.06 V\"\n\
        positive = \"0.05 V\"\nground = \"0.05 V\"\nstud_alone = \"13.1\"\ncurrent = \"60\"\nalternator = \"13.15\"\n";
    let flat = "rest = \"11.9\"\nbefore = \"11.7\"\ncharge = \"13.1\"\nloaded = \"12.8\"\nripple = \"0.06 V\"\n\
        positive = \"0.15 V\"\nground = \"0.15 V\"\nstud_alone = \"12.95\"\ncurrent = \"97\"\nalternator = \"13.12\"\n";
    let unplugged = "rest = \"12.6\"\nbefore = \"12.4\"\ncharge = \"12.4\"\nloaded = \"12.0\"\nripple = \"0.00 V\"\n\
        positive = \"0.02 V\"\nground = \"0.02 V\"\nstud_alone = \"12.0\"\ncurrent = \"0.0\"\nalternator = \"12.0\"\nbelt = false\n";
    for (procedure, answers, cause) in [
        ("battery", format!("{SOUND}load = \"9.3\"\nload_again = \"9.2\"\nload_temperature = \"-2\"\n"), PASSED),
        ("battery", format!("{SOUND}load = \"9.3\"\nload_again = \"9.2\"\nload_temperature = \"20\"\n"), FAILED),
        ("battery", format!("{SOUND}load = \"7.9\"\nload_again = \"7.8\"\n"), FAILED),
        ("battery", "look = \"frozen, or ice seen in it\"\n".to_owned(), "cracked, leaking, swollen or frozen"),
        ("starter_drop", format!("{CRANKS}speed = true\n{SIDES}"), SOUGHT),
        ("starter_drop", format!("{CRANKS}speed = false\n"), "Starter takes too much current"),
        ("starter_drop", format!("{CRANKS_PAIR}speed = true\n"), SOUGHT),
        ("starter_drop", format!("{CRANKS_PAIR}speed = false\n"), "takes too little current"),
        ("charging", format!("{CHARGES}temperature = \"-20\"\n{FULL}"), SOUGHT),
        (
            "charging",
            format!("{CHARGES}temperature = \"20\"\nalternator_high = \"14.95\"\nground_high = \"0.02 V\"\n"),
            "regulator lets the voltage run up",
        ),
        ("charging", regulated.to_owned(), "The alternator holds its voltage, and holds it low"),
        ("charging", flat.to_owned(), "the alternator is not judged yet"),
        ("charging", unplugged.to_owned(), "Alternator not driven or not excited"),
    ] {
        let place = Place::new();
        run(&place, procedure, &answers).ended(0).says(cause);
    }
}

#[test]
fn a_load_test_that_loaded_nothing_or_was_read_the_wrong_way_round_says_nothing() {
    for (answers, why) in [
        (format!("{SOUND}load = [\"-10.4\", \"-10.4\"]\n"), "red and black are swapped"),
        (format!("{SOUND}load = \"12.5\"\n"), "no load tester drew that load"),
        (format!("{SOUND}load = [\"20.8\", \"20.8\"]\n"), "no load tester drew that load"),
        (
            "look = \"sound\"\nsystem = \"two 12 V batteries for 24 V\"\nfirst_rest = [\"-12.6\", \"-12.6\"]\n"
                .to_owned(),
            "the wrong way round",
        ),
    ] {
        let place = Place::new();
        run(&place, "battery", &answers).ended(5).says(why);
    }
    // Two that stand side by side are parted before they are read, and their clamps are read joined.
    let place = Place::new();
    let parted = SOUND.replace("one 12 V battery", "two 12 V batteries side by side for 12 V");
    let parted = format!("{parted}second_rest = \"12.55\"\nload = \"10.4\"\nload_other = \"10.5\"\n");
    run(&place, "battery", &parted).ended(0).says("the battery passed all that was measured");
    let course = course(&place.events());
    assert!(at(&course, "carry_out Take the other battery's") < at(&course, "read first_rest"), "{course:#?}");
    assert!(at(&course, "carry_out Put the other battery's") < at(&course, "read positive_clamp"), "{course:#?}");
}

#[test]
fn a_draw_that_does_not_come_back_convicts_nothing() {
    let slept = DRAWS.replace("417.3", "400").replace("1.3 mV", "0.0 mV");
    let slept = format!("{slept}draw_without_f1 = \"40 mA\"\n");
    for (again, cause) in [
        ("\"41 mA\"", "The draw went away during the test"),
        ("\"399 mA\"", "The branch of fuse F1 (modules) draws too much"),
        ("\"OL\"", "The branch of fuse F1 (modules) draws too much"),
    ] {
        let place = Place::new();
        run(&place, "key_off_draw", &format!("{slept}draw_with_f1 = {again}\n")).ended(0).says(cause);
    }
    // Skipped, both stay open.
    let place = Place::new();
    run(&place, "key_off_draw", &format!("{slept}draw_with_f1 = {{ skip = \"no time\" }}\n"))
        .ended(0)
        .says("The draw went away during the test")
        .says("The branch of fuse F1 (modules) draws too much");
}

#[test]
fn what_a_run_ends_on_it_ends_with_the_vehicle_as_it_was_found() {
    let charging = "rest = \"12.6\"\nbefore = \"12.4\"\ncharge = \"12.1\"\n";
    let led_out = format!("{charging}loaded = \"12.0\"\nripple = \"0.00 V\"\npositive = \"0.02 V\"\n");
    for (procedure, answers, last) in [
        ("charging", format!("{charging}loaded = \"OL\"\n"), "stop_engine"),
        ("charging", format!("{charging}loaded = {{ skip = \"no time\" }}\n"), "stop_engine"),
        ("charging", format!("{led_out}ground = \"OL\"\n"), "carry_out Boot back"),
        ("charging", format!("{led_out}ground = {{ skip = \"no time\" }}\n"), "carry_out Boot back"),
        (
            "charging",
            format!("{led_out}ground = \"0.02 V\"\nstud_alone = [\"-12.0\", \"-12.0\"]\n"),
            "carry_out Boot back",
        ),
        (
            "starter_drop",
            "battery = \"12.6\"\ncranking = \"10.2\"\ncurrent = \"180\"\nmotor = [\"-9.9\", \"-9.9\"]\n".to_owned(),
            "carry_out Let the engine start",
        ),
        (
            "starter_drop",
            "battery = \"12.6\"\nmotor = \"9.9\"\ncranking = \"OL\"\ncurrent = \"180\"\n".to_owned(),
            "carry_out Let the engine start",
        ),
        (
            "starter_drop",
            CRANKS_PAIR.replace("ground = \"0.2 V\"", "ground = { skip = \"out of reach\" }"),
            "carry_out Let the engine start",
        ),
        (
            "key_off_draw",
            "battery = \"12.6\"\nammeter = \"ammeter in line\"\ndraw = [\"-320 mA\", \"-320 mA\"]\n".to_owned(),
            "disconnect negative_clamp",
        ),
        (
            "key_off_draw",
            "battery = \"12.6\"\nammeter = \"ammeter in line\"\ndraw = { skip = \"no meter\" }\n".to_owned(),
            "disconnect negative_clamp",
        ),
        (
            "key_off_draw",
            "battery = \"12.57\"\nammeter = \"ammeter in line\"\ndraw = \"417.3 mA\"\ndrop_f1 = \"OL\"\n".to_owned(),
            "disconnect negative_clamp",
        ),
    ] {
        let place = Place::new();
        run(&place, procedure, &answers).ended(5).says("Unfinished");
        let course = course(&place.events());
        let done: Vec<_> = course.iter().rev().take_while(|it| !it.starts_with("read ")).collect();
        assert!(done.iter().any(|it| it.starts_with(last)), "{procedure}: no {last} at the end of {course:#?}");
    }
}
