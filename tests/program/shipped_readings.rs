//! The shipped procedures and readings that must condemn nothing: swapped leads, skips, limits of one end.

use crate::place::{Place, SAFE};
use crate::shipped::{rows, run};

#[test]
fn what_a_skip_leaves_open_is_named_beside_what_is_likely() {
    let skip = "{ skip = \"no break-out lead\" }";
    let low = "[\"3.1\", \"12.4\"]";
    let still = "[\"12.4\", \"12.5\"]";
    for (answers, one, other) in [
        (
            format!("plug = {low}\nplug_wire_side = {skip}\nplug_feed = {still}\n"),
            "Terminal in the lamp's connector",
            "Ground wire or its",
        ),
        (
            format!("plug = {still}\nground = {low}\nground_drop = {skip}\n"),
            "Terminal in the lamp's",
            "Ground wire or its",
        ),
        (
            format!("plug = {still}\nground = {still}\nsplice = {still}\nrail = {low}\nrail_fuse = {skip}\n"),
            "Supply wire breaks",
            "The fuse's own load side falls",
        ),
        (
            format!(
                "plug = {still}\nground = {still}\nsplice = {skip}\nrail = {still}\nwarm = {still}\nwarm_rail = {still}\n"
            ),
            "Splice lets go",
            "did not show during this test",
        ),
    ] {
        let place = Place::new();
        let works = "battery = \"12.56\"\nstill_pins = \"12.4\"\nstill_current = \"0.42 A\"\n";
        run(&place, "intermittent", &format!("{works}{answers}")).ended(0).says(one).says(other);
    }
}

#[test]
fn a_drop_below_zero_is_neither_good_nor_the_fault() {
    let starter = "battery = \"25.33\"\nmotor = \"19.54\"\ncranking = \"22.65\"\ncurrent = \"261\"\n";
    let module = "battery = \"12.6\"\nground_1 = \"0.02 V\"\nground_2 = \"0.02 V\"\nconstant = \"0.01 V\"\n";
    for (procedure, answers, swapped) in [
        (
            "lamp_drop",
            "battery = \"12.6\"\noff = \"0.00\"\ncurrent = \"5.0\"\npower = \"0.1 V\"\n".to_owned(),
            "ground",
        ),
        (
            "starter_drop",
            format!("{starter}contacts = \"0.069 V\"\nmotor_lead = \"0.02 V\"\npositive = \"0.106 V\"\n"),
            "ground",
        ),
        ("starter_drop", starter.to_owned(), "positive"),
        ("module_supply", format!("{module}ignition = \"0.01 V\"\n"), "switched"),
    ] {
        let place = Place::new();
        let answers = format!("{answers}{swapped} = [\"-2.9 V\", \"-2.9 V\"]\n");
        run(&place, procedure, &answers).ended(5).says("red and black are swapped");
    }
}

#[test]
fn after_a_repair_a_skipped_reading_is_no_good_reading() {
    let place = Place::new();
    run(&place, "lamp_drop", "battery = \"12.6\"\noff = \"0.00\"\ncurrent = \"3.9\"\npower = \"0.21 V\"\nground = \"4.27 V\"\nground_wire = \"19 mV\"\nground_stud = \"4.25 V\"\n")
        .ended(0);
    let record = place.record();
    let answers = "procedure = \"lamp_drop\"\n[answers]\nbattery_after = \"12.6\"\noff_after = \"0.00\"\npower_after = \"0.02 V\"\n\
        ground_after = \"0.01 V\"\nfeed_pair_after = \"1 mV\"\nground_pair_after = \"1 mV\"\n";
    for (current, code, words) in [
        ("{ skip = \"no clamp\" }", 5, "Unfinished"),
        ("\"0.0\"", 0, "Still wrong after the repair"),
        ("\"4.9\"", 0, "The readings that were bad are now within limits"),
    ] {
        place.file("after.toml", format!("{answers}current_after = {current}\n"));
        let mut call = place.call("run lamp_drop --answers after.toml --after").and(&[&record]);
        for state in SAFE {
            call = call.and(&["--state", state]);
        }
        call.go().without_panic().ended(code).says(words);
    }
}

#[test]
fn a_drop_with_its_leads_swapped_is_asked_about_and_concludes_nothing() {
    let found = rows(
        "relay_low_side",
        "vehicle,fault,ground\nUnit 1,load_ground_open,-12.4 V\nUnit 2,load_ground_open,-12.4 V; -12.4 V\n\
         Unit 3,load_ground_corroded,-0.9 V; -0.9 V\nUnit 4,,-0.1 V\n",
    );
    assert!(
        found[0].starts_with("waits:") && found[0].contains("The sign is not as expected. Red and black swapped?"),
        "{found:?}"
    );
    for ended in [&found[1], &found[2]] {
        assert!(ended.contains("red and black are swapped"), "{found:?}");
    }
    assert_eq!(found[3], "concluded: not_present");
    let found = rows("flap_sensor", "vehicle,fault,supply_lost_ground\nUnit 1,ground_wire_corroded,-0.9 V; -0.9 V\n");
    assert!(found[0].contains("red and black are swapped"), "{found:?}");
}

#[test]
fn a_battery_that_shows_no_volts_is_read_once_more_before_anything_follows() {
    for (procedure, prompt) in [
        ("charging", "rest"),
        ("flap_sensor", "answer.battery"),
        ("lamp_drop", "answer.battery"),
        ("module_supply", "answer.battery"),
        ("solenoid_high_side", "answer.battery"),
        ("trailer_stop_lamps", "answer.battery"),
    ] {
        let again = if prompt == "rest" { "rest_again" } else { "battery_again" };
        let table =
            format!("vehicle,fault,{prompt},{again}\nUnit 1,,0.01 V; 0.01 V,\nUnit 2,,0.01 V; 0.01 V,0.01 V; 0.01 V\n");
        let low = if procedure == "charging" { "concluded: battery_weak" } else { "concluded: battery_low" };
        assert_eq!(rows(procedure, &table), ["concluded: not_present", low], "{procedure}");
    }
}

#[test]
fn an_open_fuse_leaves_nothing_and_what_leaves_something_is_no_open_fuse() {
    let found = rows(
        "relay_low_side",
        "vehicle,fault,power,output_drop,feed_drop,contact_output,coil_volts,coil_feed,fuse\n\
         Unit 1,,1.2 V,1.1 V,1.0 V,,,,\nUnit 2,,12.4 V,,,0.0 V,8.1 V,11.2 V,\nUnit 3,fuse_open,,,,,,,\n\
         Unit 4,fuse_open,,,,,,,skip no room\n",
    );
    assert_eq!(
        found,
        [
            "concluded: contact_feed_resistance",
            "concluded: coil_feed_resistance",
            "concluded: fuse_open or load_held",
            "concluded: fuse_open or load_held"
        ]
    );
}

#[test]
fn a_skipped_reading_decides_nothing() {
    assert_eq!(
        rows(
            "flap_sensor",
            "vehicle,fault,shown_open,shown_closed,supply_lost_still_high,supply_lost_signal_too,lost_ground_arrives\n\
             Unit 1,,skip no scan tool,skip no scan tool,,,\n\
             Unit 2,,40 %,skip no scan tool,,,skip no pin\n\
             Unit 3,reference_wire_to_battery,,,skip no time,,\n\
             Unit 4,reference_wire_to_battery,,,3.0 V,,\n\
             Unit 5,reference_wire_to_battery,,,,skip no pin,\n",
        ),
        [
            "ended: Unfinished: what the module shows, or what it gets at its pins, was not read: without it this procedure can't tell whether its input takes in the signal. Read it, and run this procedure again",
            "concluded: ground_resistance or module_input",
            "concluded: reference_to_battery or signal_to_battery or signal_to_reference or sensor_pulls_reference or module_reference or module_input",
            "ended: Unfinished: the readings contradict each other: the reference was too high with the sensor plugged in and is too low without it, 3 V. A lead had no contact, or something changed during the test: plug in, look at the leads, and run this procedure again",
            "concluded: reference_to_battery or signal_to_battery or signal_to_reference"
        ]
    );
    assert_eq!(
        rows(
            "temperature_sensor",
            "vehicle,fault,temperature,shown,arrives,high_still_high\nUnit 1,,19.5,skip no scan tool,,\n\
             Unit 2,,19.5,skip no scan tool,skip no pin,\nUnit 3,signal_wire_to_battery,19.5,,,skip no time\n",
        ),
        [
            "ended: Unfinished: what the module shows, or what arrives at its pins, was not read: without it this procedure can't tell whether its input takes in the signal. Read it, and run this procedure again",
            "ended: Unfinished: what the module shows, or what arrives at its pins, was not read: without it this procedure can't tell whether its input takes in the signal. Read it, and run this procedure again",
            "concluded: signal_to_battery or connector_corroded"
        ]
    );
    assert_eq!(
        rows(
            "data_bus",
            "vehicle,fault,apart_without_engine_module,apart_without_dash\n\
             Unit 1,engine_module_babbles,2.1 V,2.1 V\n",
        ),
        [
            "ended: Unfinished: bus high and bus low are parted, whichever module is off: the readings contradict each other. See that the leads touch metal, and run this procedure again"
        ]
    );
    assert_eq!(
        rows(
            "data_bus",
            "vehicle,fault,joined_to_ground,joined_to_battery\nUnit 1,wires_together,skip no pin,\nUnit 2,wires_together,,\n"
        ),
        ["concluded: wires_together", "concluded: wires_together"]
    );
    assert_eq!(
        rows(
            "solenoid_high_side",
            "vehicle,fault,feed_to_ground\nUnit 1,module_output_open,skip no pin\nUnit 2,module_output_open,\n"
        ),
        ["concluded: module_output_open or feed_to_ground", "concluded: module_output_open"]
    );
    assert_eq!(
        rows("pedal_sensor", "vehicle,fault,wire_1_to_signal_2\nUnit 1,signals_together,skip no pin\n"),
        ["concluded: signal_1_to_ground or signal_to_reference or signals_together"]
    );
    assert_eq!(
        rows(
            "solenoid_high_side",
            "vehicle,fault,duty,module_power,told_on\nUnit 1,,skip no such range,,\n\
             Unit 2,module_output_stuck_on,,skip no pin,skip no scan tool\n"
        ),
        [
            "concluded: not_present or pulses_wrong",
            "concluded: module_output_stuck_on or module_told_on or module_supply"
        ]
    );
    assert_eq!(
        rows("relay_low_side", "vehicle,fault,feed_without_relay\nUnit 1,contacts_welded,skip no time\n"),
        ["concluded: contacts_stuck"]
    );
}

#[test]
fn a_break_of_a_track_is_no_shift_of_it() {
    let track = "0.50 0.9 1.3 0.02 2.5 3.3 4.0 4.25";
    let shifted = "1.0 1.4 1.8 2.2 2.6 3.0 3.4 3.8 4.2 4.6 4.85";
    assert_eq!(
        rows(
            "flap_sensor",
            &format!(
                "vehicle,track,track_again,coupled\nUnit 1,{track},{track},\nUnit 2,{shifted},{shifted},yes\nUnit 3,{shifted},{shifted},no\n"
            )
        ),
        ["concluded: sensor_worn", "concluded: sensor_drift", "concluded: sensor_uncoupled"]
    );
}

#[test]
fn too_much_current_is_no_corroded_terminal() {
    assert_eq!(
        rows(
            "solenoid_high_side",
            "vehicle,fault,current,coil\nUnit 1,,1.1 A,\nUnit 2,,1.1 A,skip no room\nUnit 3,connector_pin_corroded,,\nUnit 4,,0.2 A,\n"
        ),
        [
            "concluded: coil_shorted or not_present",
            "concluded: coil_shorted or not_present",
            "concluded: connector_corroded",
            "concluded: connector_corroded or not_present"
        ]
    );
}

#[test]
fn what_never_reached_its_limit_is_dead_and_not_intermittent() {
    let battery = "battery = \"12.56\"\nstill_pins = \"12.4\"\nstill_current = \"0.42 A\"\n";
    let lit = "[\"12.4\", \"12.5\"]";
    for (answers, why) in [
        ("plug = \"1.24 1.25; 1.24 1.25\"\n".to_owned(), "the highest was 1.25 V and never reached 11.56 V"),
        ("plug = \"-12.5 -12.4; -12.5 -12.4\"\n".to_owned(), "red and black are swapped"),
        ("plug = \"-12.4 -0.1; -12.4 -0.1\"\n".to_owned(), "red and black are swapped"),
        (
            "plug = [\"0.1\", \"12.4\"]\nplug_wire_side = \"-12.5 -12.4; -12.5 -12.4\"\n".to_owned(),
            "red and black are swapped",
        ),
        ("plug = [\"0.1\", \"12.4\"]\nplug_wire_side = [\"0.1\", \"0.2\"]\n".to_owned(), "never reached 11.56 V"),
        (
            format!("plug = {lit}\nground = [\"0.1\", \"12.4\"]\nground_drop = [\"12.3\", \"12.4\"]\n"),
            "the readings contradict each other",
        ),
        (format!("plug = {lit}\nground = {lit}\nsplice = [\"0.02\", \"0.9\"]\n"), "never reached 11.56 V"),
        (
            format!(
                "plug = {lit}\nground = {lit}\nsplice = {lit}\nrail = [\"0.1\", \"12.4\"]\nrail_fuse = [\"0.1\", \"0.2\"]\n"
            ),
            "never reached 11.56 V",
        ),
    ] {
        let place = Place::new();
        run(&place, "intermittent", &format!("{battery}{answers}")).ended(5).says(why);
    }
    let place = Place::new();
    let broke =
        format!("{battery}plug = {lit}\nground = {lit}\nsplice = [\"0.02\", \"12.4\"]\nsplice_before = {lit}\n");
    run(&place, "intermittent", &broke).ended(0).says("Splice lets go while its bundle is moved");
}

#[test]
fn a_slipped_decimal_point_is_asked_about_where_only_one_end_is_limited() {
    let dead = "battery = \"12.6\"\ncranking = \"12.5\"\ncurrent = \"0.0\"\nmotor = \"0.0\"\n";
    let stands = "dead_battery = \"12.5\"\ndead_stud = \"12.3\"\ndead_frame = \"0.0 V\"\ndead_case = \"0.0 V\"\n";
    let turns = "battery = \"12.6\"\n";
    let lamp = "battery = \"12.6\"\noff = \"0.00\"\ncurrent = \"0.0\"\n";
    for (procedure, answers, would_be) in [
        ("starter_drop", format!("{dead}dead_battery = \"1.23\"\n"), "12.3 V"),
        ("starter_drop", format!("{dead}dead_battery = \"12.5\"\ndead_stud = \"1.23\"\n"), "12.3 V"),
        ("starter_drop", format!("{dead}{stands}control = \"1.15\"\n"), "11.5 V"),
        ("starter_drop", format!("{dead}{stands}control = \"12.1\"\ncontrol_terminal = \"0.05 V\"\ncontrol_own = \"12.1\"\ndead_contacts = \"12.2 V\"\nhold_in = \"7.7\"\n"), "770 mΩ"),
        ("starter_drop", format!("{turns}cranking = \"1.05\"\n"), "10.5 V"),
        ("starter_drop", format!("{turns}cranking = \"10.5\"\ncurrent = \"18.5\"\n"), "185 A"),
        (
            "starter_drop",
            "battery = \"25.33\"\ncranking = \"22.65\"\ncurrent = \"26.1\"\n".to_owned(),
            "261 A",
        ),
        (
            "charging",
            "rest = \"12.6\"\nbefore = \"12.4\"\ncharge = \"15.2\"\nloaded = \"14.9\"\nalternator_high = \"142\"\n".to_owned(),
            "14.2 V",
        ),
        (
            "charging",
            "rest = \"12.6\"\nbefore = \"12.4\"\ncharge = \"12.1\"\nloaded = \"12.0\"\nripple = \"0.00 V\"\npositive = \"0.02 V\"\nground = \"0.02 V\"\nstud_alone = \"1.2\"\n".to_owned(),
            "12 V",
        ),
        ("lamp_drop", format!("{lamp}power = \"12.5 V\"\nground = \"0.0 V\"\nrelay_output = \"1.24\"\n"), "12.4 V"),
    ] {
        let place = Place::new();
        run(&place, procedure, &answers).ended(4).says(&format!("Expected about {would_be}"));
    }
}

#[test]
fn a_thermometer_outside_its_limits_ends_without_a_cause() {
    for (temperature, code, words) in [
        ("\"4.5\"", 5, "the limits of this procedure hold at 15 to 25 degC"),
        ("\"31\"", 5, "the limits of this procedure hold at 15 to 25 degC"),
        ("\"18.4\"", 4, "Waits for `signal`"),
        ("{ skip = \"no thermometer\" }", 4, "Waits for `signal`"),
    ] {
        let place = Place::new();
        run(&place, "temperature_sensor", &format!("battery = \"12.6\"\ntemperature = {temperature}\n"))
            .ended(code)
            .says(words);
    }
}

#[test]
fn volts_against_ground_with_their_leads_swapped_are_neither_low_nor_dead() {
    let cranks = "battery = \"12.6\"\ncranking = \"10.2\"\ncurrent = \"180\"\n";
    let dead = "battery = \"12.6\"\ncranking = \"12.5\"\ncurrent = \"0.0\"\nmotor = \"0.0\"\n";
    let charging = "rest = \"12.6\"\nbefore = \"12.4\"\ncharge = \"12.1\"\nloaded = \"12.0\"\nripple = \"0.00 V\"\npositive = \"0.02 V\"\nground = \"0.02 V\"\n";
    let lamp = "battery = \"12.6\"\noff = \"0.00\"\ncurrent = \"0.0\"\npower = \"12.5 V\"\nground = \"0.0 V\"\n";
    for (procedure, answers, swapped) in [
        ("starter_drop", cranks.to_owned(), "motor = [\"-9.9\", \"-9.9\"]\n"),
        ("starter_drop", dead.to_owned(), "dead_battery = [\"-12.5\", \"-12.5\"]\n"),
        ("starter_drop", format!("{dead}dead_battery = \"12.5\"\n"), "dead_stud = [\"-12.4\", \"-12.4\"]\n"),
        ("charging", charging.to_owned(), "stud_alone = [\"-12.0\", \"-12.0\"]\n"),
        (
            "charging",
            format!("{charging}stud_alone = \"12.0\"\ncurrent = \"0.0\"\n"),
            "alternator = [\"-14.0\", \"-14.0\"]\n",
        ),
        ("lamp_drop", lamp.to_owned(), "relay_output = [\"-12.4\", \"-12.4\"]\n"),
        ("lamp_drop", "battery = \"12.6\"\noff = \"12.4\"\n".to_owned(), "off_control = [\"-12.4\", \"-12.4\"]\n"),
    ] {
        let place = Place::new();
        run(&place, procedure, &format!("{answers}{swapped}")).ended(5).says("red and black are swapped");
    }
}

#[test]
fn what_the_battery_gives_way_is_no_fault_of_a_wire() {
    let solenoid = "off = \"0.00\"\nacross = \"11.35\"\ncurrent = \"500 mA\"\nduty = \"50.1\"\n";
    for (procedure, answers, words) in [
        (
            "lamp_drop",
            "battery = \"12.30\"\noff = \"0.00\"\ncurrent = \"5.0\"\npower = \"0.90 V\"\nground = \"0.05 V\"\nfuse_current = \"5.1\"\noutput_drop = \"0.20 V\"\nfeed_drop = \"0.13 V\"\n".to_owned(),
            "Feed wire between relay and lamp corroded or chafed thin",
        ),
        ("solenoid_high_side", format!("battery = \"12.5\"\nmodule_power = \"11.60\"\n{solenoid}"), "did not show during this test"),
        (
            "solenoid_high_side",
            format!("battery = \"12.6\"\nmodule_power = \"11.4\"\nmodule_power_battery = \"11.9\"\n{solenoid}"),
            "did not show during this test",
        ),
        (
            "solenoid_high_side",
            "battery = \"12.6\"\nmodule_power = \"11.4\"\nmodule_power_battery = \"12.5\"\nmodule_frame = \"0.01 V\"\noff = \"12.1\"\n".to_owned(),
            "The module has lost its own power or ground",
        ),
    ] {
        let place = Place::new();
        run(&place, procedure, &answers).ended(0).says(words);
    }
}

#[test]
fn a_ground_wire_whose_ohms_are_in_and_that_kept_nothing_is_no_bad_wire() {
    let answers = "battery = \"12.6\"\nsupply = \"4.72\"\nsupply_lost_ground = \"20 mV\"\n\
        supply_lost_module_reference = \"4.76\"\nsupply_lost_wire = \"20 mV\"\nsupply_lost_wire_loaded = \"15 mV\"\n";
    for (ohms, code, words) in [
        ("0.2", 5, "the reference at the module (4.76 V) and both wires are inside theirs"),
        ("38", 0, "Sensor ground wire corroded"),
        ("OL", 0, "Sensor ground wire open"),
    ] {
        let place = Place::new();
        run(&place, "flap_sensor", &format!("{answers}supply_lost_ground_ohms = \"{ohms}\"\n")).ended(code).says(words);
    }
}

#[test]
fn a_driven_signal_wire_below_zero_is_swapped_leads_and_no_short() {
    let answers = "battery = \"12.6\"\nsupply = \"5.00\"\ntrack = [\"1.9\", \"1.9\", \"1.9\"]\n\
        pairs_ground_pair = \"0 mV\"\npairs_reference_pair = \"0 mV\"\npairs_signal_pair = \"0 mV\"\n\
        pairs_ground_pair_turned = \"0 mV\"\npairs_reference_pair_turned = \"0 mV\"\npairs_signal_pair_turned = \"0 mV\"\n\
        pairs_signal_pair_low = \"0 mV\"\nwire_driven_up = \"100\"\nwire_driven_up_volts = [\"-4.98\", \"-4.98\"]\n";
    run(&Place::new(), "flap_sensor", answers).ended(5).says("red and black are swapped");
}

#[test]
fn without_the_temperature_no_sensor_is_condemned_alone_for_its_ohms() {
    let answers = "battery = \"12.6\"\nsignal = \"1.72\"\nlow_ground = \"5 mV\"\nlow_wire = \"0 mV\"\n\
        low_module_power = \"12.5\"\nlow_unplugged = \"4.98\"\nlow_substitute = \"2.49\"\nlow_sensor = \"5.3\"\n";
    let unknown = "The sensor's resistance does not fit the temperature that the engine should have";
    let run = |temperature: &str| {
        run(&Place::new(), "temperature_sensor", &format!("{answers}temperature = {temperature}\n")).ended(0)
    };
    run("{ skip = \"no thermometer\" }").says(unknown);
    run("\"20.1\"").says("Sensor's resistance off its curve").never_says(unknown);
}
