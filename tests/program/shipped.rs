//! The shipped procedures, where a meter shows what a hand meets at the vehicle.

use crate::place::{Place, SAFE};

#[test]
fn a_draw_over_range_with_a_fuse_out_frees_nothing_and_the_next_fuse_is_pulled() {
    let place = Place::new();
    place.file(
        "answers.toml",
        "procedure = \"key_off_draw\"\n[answers]\nbattery = \"12.57\"\ndraw = \"417.3 mA\"\ndrop_f1 = \"2.3 mV\"\n\
         drop_f2 = \"1.3 mV\"\ndrop_f3 = \"0.0 mV\"\ndrop_f4 = \"0.0 mV\"\ndraw_without_f1 = \"OL\"\n\
         draw_without_f2 = \"14.1 mA\"\n",
    );
    let mut call = place.call("run key_off_draw --answers answers.toml");
    for state in SAFE {
        call = call.and(&["--state", state]);
    }
    call.go().ended(0).says("The branch of fuse F2 (lights, glove box) draws too much");
}

/// Simulated vehicles, a line of the table each, with the cells that somebody wrote down: what each comes to.
fn rows(procedure: &str, table: &str) -> Vec<String> {
    let place = Place::new();
    place.file("units.csv", table);
    let shown = place.call(&format!("batch {procedure} units.csv --bench")).width(600).go().without_panic();
    let cells = |line: &str| line.split('┆').map(|cell| cell.trim_matches(['│', ' ']).to_owned()).collect::<Vec<_>>();
    let lines = shown.out.lines().map(cells).filter(|cells| cells.len() == 4 && cells[0] != "row");
    let found: Vec<String> = lines.map(|cells| format!("{}: {}", cells[2], cells[3])).collect();
    assert_eq!(found.len(), table.lines().count() - 1, "{shown}");
    found
}

#[test]
fn a_drop_with_its_leads_swapped_is_asked_about_and_concludes_nothing() {
    let found = rows(
        "relay_low_side",
        "vehicle,fault,ground\nUnit 1,load_ground_open,-12.4 V\nUnit 2,load_ground_open,-12.4 V; -12.4 V\n\
         Unit 3,load_ground_corroded,-0.9 V; -0.9 V\nUnit 4,,-0.1 V\n",
    );
    assert!(found[0].starts_with("waits:") && found[0].contains("are the leads swapped?"), "{found:?}");
    for ended in [&found[1], &found[2]] {
        assert!(ended.contains("red and black are swapped"), "{found:?}");
    }
    assert_eq!(found[3], "concluded: not_present");
    let found = rows("flap_sensor", "vehicle,fault,supply_lost_ground\nUnit 1,ground_wire_corroded,-0.9 V; -0.9 V\n");
    assert!(found[0].contains("red and black are swapped"), "{found:?}");
}

#[test]
fn an_open_fuse_leaves_nothing_and_what_leaves_something_is_no_open_fuse() {
    let found = rows(
        "relay_low_side",
        "vehicle,fault,power,contact_feed,coil_feed,fuse\nUnit 1,,1.2 V,11.4 V,,\nUnit 2,,1.2 V,,11.2 V,\n\
         Unit 3,fuse_open,,,,\nUnit 4,fuse_open,,,,skip no room\n",
    );
    assert_eq!(
        found,
        [
            "concluded: contact_feed_resistance",
            "concluded: coil_feed_resistance",
            "concluded: fuse_open",
            "concluded: fuse_open or contact_feed_open"
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
            "concluded: module_input or not_present",
            "concluded: ground_resistance or module_input",
            "concluded: reference_to_battery or signal_to_battery or signal_to_reference or sensor_pulls_reference",
            "ended: Unfinished: the reference was too high with the sensor plugged in and is too low without it: look at key, leads and meter, and run this procedure again",
            "concluded: reference_to_battery or signal_to_battery or signal_to_reference"
        ]
    );
    assert_eq!(
        rows(
            "temperature_sensor",
            "vehicle,fault,shown,arrives,high_still_high\nUnit 1,,skip no scan tool,,\n\
             Unit 2,,skip no scan tool,skip no pin,\nUnit 3,signal_wire_to_battery,,,skip no time\n",
        ),
        [
            "concluded: module_input or not_present",
            "concluded: signal_resistance or module_input or not_present",
            "concluded: signal_to_battery or connector_corroded"
        ]
    );
    assert_eq!(
        rows(
            "data_bus",
            "vehicle,fault,apart_without_engine_module,apart_without_dash\n\
             Unit 1,engine_module_babbles,2.1 V,skip no access\n",
        ),
        ["concluded: engine_module_stuck_sending or dash_stuck_sending or high_to_battery"]
    );
    assert_eq!(
        rows(
            "data_bus",
            "vehicle,fault,joined_to_ground,joined_to_battery\nUnit 1,wires_together,skip no pin,\nUnit 2,wires_together,,\n"
        ),
        ["concluded: wires_together or high_to_ground or low_to_ground", "concluded: wires_together"]
    );
    assert_eq!(
        rows(
            "solenoid_high_side",
            "vehicle,fault,feed_to_ground\nUnit 1,module_output_open,skip no pin\nUnit 2,module_output_open,\n"
        ),
        ["concluded: module_output_open or feed_to_ground", "concluded: module_output_open"]
    );
    assert_eq!(
        rows("pedal_sensor", "vehicle,fault,between_ground\nUnit 1,signals_together,skip no pin\n"),
        ["concluded: signals_together or signal_1_to_ground or signal_2_to_ground"]
    );
    assert_eq!(
        rows(
            "solenoid_high_side",
            "vehicle,fault,duty,module_power\nUnit 1,,skip no such range,\nUnit 2,module_output_stuck_on,,skip no pin\n"
        ),
        ["concluded: not_present or pulses_wrong", "concluded: module_output_stuck_on or module_supply"]
    );
    assert_eq!(
        rows("relay_low_side", "vehicle,fault,feed_without_relay\nUnit 1,contacts_welded,skip no time\n"),
        ["concluded: contacts_stuck or feed_to_battery"]
    );
}

#[test]
fn a_break_of_a_track_is_no_shift_of_it() {
    let track = "0.50 0.9 1.3 0.02 2.5 3.3 4.0 4.25";
    let shifted = "1.0 1.4 1.8 2.2 2.6 3.0 3.4 3.8 4.2 4.6 4.85";
    assert_eq!(
        rows("flap_sensor", &format!("vehicle,track\nUnit 1,{track}\nUnit 2,{shifted}\n")),
        ["concluded: sensor_worn", "concluded: sensor_drift"]
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
