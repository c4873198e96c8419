//! The shipped procedures, where a meter shows what a hand meets at the vehicle.

use crate::place::{Place, SAFE, Shown};
use serde_json::Value;

/// A shipped procedure with these answers, on a vehicle on which nothing is hazardous.
fn run(place: &Place, procedure: &str, answers: &str) -> Shown {
    place.file("answers.toml", format!("procedure = \"{procedure}\"\n[answers]\n{answers}"));
    let mut call = place.call("run").and(&[procedure, "--answers", "answers.toml"]);
    for state in SAFE {
        call = call.and(&["--state", state]);
    }
    call.go().without_panic()
}

/// A shipped procedure on its circuit with this fault: the events of the record.
fn on_bench(procedure: &str, fault: &str) -> Vec<Value> {
    let place = Place::new();
    // What only eyes tell of a belt, no circuit answers.
    let (column, cell) = if procedure == "charging" { (",belt", ",yes") } else { ("", "") };
    place.file("units.csv", format!("vehicle,fault{column}\nUnit 1,{fault}{cell}\n"));
    place.call("batch").and(&[procedure, "units.csv", "--bench"]).go().without_panic().ended(0);
    place.events()
}

/// What was done and what was read, one behind the other, in a word or two each.
fn course(events: &[Value]) -> Vec<String> {
    let word = |value: &Value| value.as_str().unwrap_or_default().to_owned();
    let done = |action: &Value| -> String {
        let to = ["part", "connector", "to", "text"].iter().map(|key| word(&action[*key])).collect::<String>();
        format!("{} {to}", word(&action["do"])).trim_end().to_owned()
    };
    events
        .iter()
        .filter_map(|event| match event["event"].as_str() {
            Some("acted") => Some(done(&event["action"])),
            Some("answered") => Some(format!("read {}", word(&event["id"]))),
            _ => None,
        })
        .collect()
}

/// Where this stands in the course of a run.
fn at(course: &[String], begins: &str) -> usize {
    course.iter().position(|it| it.starts_with(begins)).unwrap_or_else(|| panic!("no {begins} in {course:#?}"))
}

const DRAWS: &str = "battery = \"12.57\"\ndraw = \"417.3 mA\"\ndrop_f1 = \"2.3 mV\"\ndrop_f2 = \"1.3 mV\"\n\
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

#[test]
fn a_fuse_that_can_not_be_pulled_is_not_condemned_for_a_drop_of_a_millivolt() {
    let place = Place::new();
    let answers = format!(
        "{DRAWS}draw_without_f1 = {{ skip = \"it does not come out\" }}\ndraw_without_f2 = \"416.9 mA\"\n\
         draw_without_f3 = \"417.1 mA\"\ndraw_without_f4 = \"417.2 mA\"\ndraw_without_alternator = \"417.0 mA\"\n"
    );
    run(&place, "key_off_draw", &answers)
        .ended(0)
        .says("The branch of fuse F1 (modules) draws too much")
        .says("Something draws current from before the fuses");
}

#[test]
fn what_a_skip_leaves_open_is_named_beside_what_is_likely() {
    let skip = "{ skip = \"no break-out lead\" }";
    let low = "[\"3.1\", \"12.4\"]";
    let still = "[\"12.4\", \"12.5\"]";
    for (answers, one, other) in [
        (format!("plug = {low}\nplug_wire_side = {skip}\n"), "Terminal in the lamp's connector", "Ground wire or its"),
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
            "Not present while tested",
        ),
    ] {
        let place = Place::new();
        run(&place, "intermittent", &format!("battery = \"12.56\"\n{answers}")).ended(0).says(one).says(other);
    }
}

#[test]
fn between_a_12_volt_battery_and_a_24_volt_pair_the_system_is_asked_for() {
    // One of a pair dead, or both empty: no 12 V battery rests so high.
    let place = Place::new();
    run(&place, "lamp_drop", "battery = \"16.0\"\n").ended(4).says("Which system has this vehicle?");
    let place = Place::new();
    run(&place, "lamp_drop", "battery = \"16.0\"\nbattery_system = \"24 V\"\n")
        .ended(0)
        .says("Battery discharged or worn out");
    let place = Place::new();
    run(&place, "lamp_drop", "battery = \"16.0\"\nbattery_system = \"12 V\"\n")
        .ended(5)
        .says("Unfinished: no 12 V battery rests at 16 V");
    // 27.9 V is what charges a pair, and not far too much for 12 V.
    let place = Place::new();
    run(
        &place,
        "charging",
        "rest = \"16.0\"\nrest_system = \"24 V\"\nbefore = \"22.6\"\ncharge = \"27.9\"\nloaded = \"27.2\"\n",
    )
    .ended(0)
    .says("Charging is right; the battery is discharged or worn out");
    for good in ["12.6", "13.4", "25.3"] {
        let place = Place::new();
        run(&place, "lamp_drop", &format!("battery = \"{good}\"\n")).ended(4).says("Waits for `off`");
    }
}

#[test]
fn a_drop_below_zero_is_neither_good_nor_the_fault() {
    let starter =
        "battery = \"25.33\"\nmotor = \"19.54\"\ncranking = \"22.65\"\ncurrent = \"261\"\ncontacts = \"0.069 V\"\n";
    let module = "battery = \"12.6\"\nground_1 = \"0.02 V\"\nground_2 = \"0.02 V\"\nconstant = \"0.01 V\"\n";
    for (procedure, answers, swapped) in [
        (
            "lamp_drop",
            "battery = \"12.6\"\noff = \"0.00\"\ncurrent = \"5.0\"\npower = \"0.1 V\"\n".to_owned(),
            "ground",
        ),
        ("starter_drop", format!("{starter}positive = \"0.106 V\"\n"), "ground"),
        ("starter_drop", format!("{starter}ground = \"0.1 V\"\n"), "positive"),
        ("module_supply", format!("{module}ignition = \"0.01 V\"\n"), "switched"),
    ] {
        let place = Place::new();
        let answers = format!("{answers}{swapped} = [\"-2.9 V\", \"-2.9 V\"]\n");
        run(&place, procedure, &answers).ended(5).says("red and black are swapped");
    }
}

#[test]
fn nobody_clips_leads_on_an_alternator_that_turns() {
    for (fault, read) in [("alternator_dead", "read positive"), ("regulator_high", "read alternator_high")] {
        let course = course(&on_bench("charging", fault));
        let clipped = at(&course, "connect");
        let read = at(&course, read);
        let last_of_engine = |to: usize| course[..to].iter().rposition(|it| it.ends_with("_engine")).unwrap();
        assert_eq!(course[last_of_engine(clipped)], "stop_engine", "{course:#?}");
        assert_eq!(course[last_of_engine(read)], "start_engine", "{course:#?}");
        assert!(clipped < read, "{course:#?}");
    }
}

#[test]
fn a_relay_is_pulled_with_the_key_off() {
    let course = course(&on_bench("lamp_drop", "relay_welded"));
    let pulled = at(&course, "unplug relay");
    let key = course[..pulled].iter().rfind(|it| it.starts_with("turn_key")).unwrap();
    assert_eq!(key, "turn_key off", "{course:#?}");
}

#[test]
fn no_ammeter_goes_where_a_fuse_blew() {
    // On a short the whole battery would go through it.
    for fault in ["constant_fuse_open", "constant_wire_to_ground", "module_shorted"] {
        let events = on_bench("module_supply", fault);
        assert!(!events.iter().any(|event| event.to_string().contains("\"through\"")), "{fault}");
        let course = course(&events);
        assert!(at(&course, "take_out F1") < at(&course, "read constant_to_ground"), "{course:#?}");
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
        ("\"4.9\"", 0, "Right again after the repair"),
    ] {
        place.file("after.toml", format!("{answers}current_after = {current}\n"));
        let mut call = place.call("run lamp_drop --answers after.toml --after").and(&[&record]);
        for state in SAFE {
            call = call.and(&["--state", state]);
        }
        call.go().without_panic().ended(code).says(words);
    }
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
        "vehicle,fault,power,output_drop,feed_drop,contact_output,coil_feed,fuse\nUnit 1,,1.2 V,1.1 V,1.0 V,,,\n\
         Unit 2,,12.4 V,,,0.0 V,11.2 V,\nUnit 3,fuse_open,,,,,,\nUnit 4,fuse_open,,,,,,skip no room\n",
    );
    assert_eq!(
        found,
        [
            "concluded: contact_feed_resistance",
            "concluded: coil_feed_resistance",
            "concluded: fuse_open",
            "concluded: fuse_open or contact_feed_open or contact_to_ground"
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
            "concluded: reference_to_battery or signal_to_battery or signal_to_reference or sensor_pulls_reference or module_reference or module_input",
            "ended: Unfinished: the reference was too high with the sensor plugged in and is too low without it: look at key, leads and meter, and run this procedure again",
            "concluded: reference_to_battery or signal_to_battery or signal_to_reference or module_input"
        ]
    );
    assert_eq!(
        rows(
            "temperature_sensor",
            "vehicle,fault,temperature,shown,arrives,high_still_high\nUnit 1,,19.5,skip no scan tool,,\n\
             Unit 2,,19.5,skip no scan tool,skip no pin,\nUnit 3,signal_wire_to_battery,19.5,,,skip no time\n",
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
        ["concluded: contacts_stuck or feed_to_battery"]
    );
}

#[test]
fn a_break_of_a_track_is_no_shift_of_it() {
    let track = "0.50 0.9 1.3 0.02 2.5 3.3 4.0 4.25";
    let shifted = "1.0 1.4 1.8 2.2 2.6 3.0 3.4 3.8 4.2 4.6 4.85";
    assert_eq!(
        rows(
            "flap_sensor",
            &format!("vehicle,track,coupled\nUnit 1,{track},\nUnit 2,{shifted},yes\nUnit 3,{shifted},no\n")
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
fn a_good_reading_at_the_alternator_never_ends_in_the_alternator() {
    let rest = "rest = \"12.6\"\nbefore = \"12.4\"\n";
    let drops = "positive = \"0.02 V\"\nground = \"0.02 V\"\nstud_alone = \"12.0\"\n";
    for (answers, why) in [
        (
            "charge = \"14.2\"\nloaded = \"13.15\"\npositive = \"-0.25 V\"\nground = \"0.05 V\"\nstud_alone = \"13.0\"\nalternator = \"14.0\"\n".to_owned(),
            "the readings contradict each other: 14 V at the alternator itself",
        ),
        (
            format!("charge = \"12.1\"\nloaded = \"12.0\"\n{drops}alternator = \"14.2\"\n"),
            "the readings contradict each other: 14.2 V at the alternator itself",
        ),
        (
            "charge = \"15.2\"\nloaded = \"14.9\"\nalternator_high = \"14.2\"\nground_high = \"0.02 V\"\n".to_owned(),
            "the readings contradict each other: 15.2 V at the battery, and 14.2 V at the alternator",
        ),
        (
            "charge = \"121; 121\"\nloaded = \"12.0\"\nalternator_high = \"11.9\"\n".to_owned(),
            "the readings contradict each other: 121 V at the battery",
        ),
        (
            "charge = \"14.0\"\nloaded = \"12.9\"\npositive = \"0.35 V\"\nground = \"0.3 V\"\nstud_alone = \"13.2\"\nalternator = \"13.5\"\n".to_owned(),
            "the alternator is right, each side is in, and yet too little arrives",
        ),
    ] {
        let place = Place::new();
        run(&place, "charging", &format!("{rest}{answers}")).ended(5).says(why);
    }
    // It stands against the battery and not against its own case: the case hangs in the air, or the reading was wrong.
    for (strap, code, words) in [
        ("\"OL\"", 0, "Engine's ground strap corroded or torn off"),
        (
            "\"0.2\"",
            5,
            "the readings contradict each other: 12 V at the stud against the battery, 1.24 V against its own case",
        ),
        ("{ skip = \"out of reach\" }", 0, "Alternator gives nothing"),
    ] {
        let place = Place::new();
        let hangs = format!(
            "charge = \"12.1\"\nloaded = \"12.0\"\n{drops}alternator = \"1.24\"\nstrap = {strap}\nbelt = true\n"
        );
        run(&place, "charging", &format!("{rest}{hangs}")).ended(code).says(words);
    }
    let dead = format!("charge = \"12.1\"\nloaded = \"12.0\"\n{drops}alternator = \"12.0\"\nbelt = true\n");
    let place = Place::new();
    run(&place, "charging", &format!("{rest}{dead}")).ended(0).says("Alternator gives nothing");
    let place = Place::new();
    run(&place, "charging", &format!("{}{dead}", rest.replace("12.4", "13.9")))
        .ended(5)
        .says("the readings contradict each other: 13.9 V at the battery with the engine off");
    let place = Place::new();
    let high = "charge = \"15.2\"\nloaded = \"14.9\"\nalternator_high = \"15.4\"\nground_high = \"0.02 V\"\n";
    run(&place, "charging", &format!("{rest}{high}")).ended(0).says("Alternator's regulator lets the voltage run up");
}

#[test]
fn the_leads_of_a_turning_alternator_are_named_where_they_are_held() {
    let events = on_bench("charging", "alternator_dead");
    for event in &events {
        let leads = event["leads"].to_string();
        assert!(!leads.contains("alternator_output") && !leads.contains("alternator_case"), "{event}");
    }
    assert!(events.iter().any(|event| event.to_string().contains("stud_lead_free_end")), "{events:#?}");
}

#[test]
fn going_back_before_the_long_leads_takes_them_off_with_the_engine_stopped() {
    let place = Place::new();
    place.file("job.toml", "[job]\nvehicle = \"Unit 12\"\ntechnician = \"A. Tester\"\n");
    let mut call = place.call("run charging --job job.toml");
    for state in SAFE {
        call = call.and(&["--state", state]);
    }
    let at_battery = ["", "+", "", "+", "12.6", "", "", "12.4", "", "+", "", "+", "", "13.0", "", "12.9"];
    let led_out = ["", "", "", "", "", "", "+", "", ""];
    let shown = call
        .typing(&at_battery)
        .typing(&led_out)
        .typing(&["back loaded", "", "+", "+", "+", "", "", "", "", "+", "", "pause"])
        .go()
        .without_panic()
        .ended(4);
    let flat = shown.flat();
    let back = &flat[flat.find("Bring it back").unwrap_or_else(|| panic!("{shown}"))..];
    let stands = |words: &str| back.find(words).unwrap_or_else(|| panic!("no {words} in {back}"));
    let off = stands("→ Take away what connects alternator output and stud lead free end");
    assert!(stands("→ Stop the engine") < off && off < stands("→ Start the engine"), "{back}");
    assert!(stands("→ Take away what connects alternator case") < stands("→ Start the engine"), "{back}");
}

#[test]
fn what_never_reached_its_limit_is_dead_and_not_intermittent() {
    let battery = "battery = \"12.56\"\n";
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
    let dead = "battery = \"12.6\"\nmotor = \"0.0\"\n";
    let stands = "dead_battery = \"12.5\"\ndead_stud = \"12.3\"\ndead_frame = \"0.0 V\"\ndead_case = \"0.0 V\"\n";
    let turns = "battery = \"12.6\"\nmotor = \"9.9\"\n";
    let lamp = "battery = \"12.6\"\noff = \"0.00\"\ncurrent = \"0.0\"\n";
    for (procedure, answers, would_be) in [
        ("starter_drop", format!("{dead}dead_battery = \"1.23\"\n"), "12.3 V"),
        ("starter_drop", format!("{dead}dead_battery = \"12.5\"\ndead_stud = \"1.23\"\n"), "12.3 V"),
        ("starter_drop", format!("{dead}{stands}control = \"1.15\"\n"), "11.5 V"),
        ("starter_drop", format!("{dead}{stands}control = \"12.1\"\ncontrol_terminal = \"0.05 V\"\nsolenoid_coil = \"12.4\"\n"), "1.24 Ω"),
        ("starter_drop", format!("{turns}cranking = \"1.05\"\n"), "10.5 V"),
        ("starter_drop", format!("{turns}cranking = \"10.5\"\ncurrent = \"18.5\"\n"), "185 A"),
        (
            "starter_drop",
            "battery = \"25.33\"\nmotor = \"19.54\"\ncranking = \"22.65\"\ncurrent = \"26.1\"\n".to_owned(),
            "261 A",
        ),
        (
            "charging",
            "rest = \"12.6\"\nbefore = \"12.4\"\ncharge = \"15.2\"\nloaded = \"14.9\"\nalternator_high = \"142\"\n".to_owned(),
            "14.2 V",
        ),
        (
            "charging",
            "rest = \"12.6\"\nbefore = \"12.4\"\ncharge = \"12.1\"\nloaded = \"12.0\"\npositive = \"0.02 V\"\nground = \"0.02 V\"\nstud_alone = \"1.2\"\n".to_owned(),
            "12 V",
        ),
        ("lamp_drop", format!("{lamp}power = \"12.5 V\"\nground = \"0.0 V\"\nrelay_output = \"1.24\"\n"), "12.4 V"),
    ] {
        let place = Place::new();
        run(&place, procedure, &answers).ended(4).says(&format!("{would_be} would be right"));
    }
}

#[test]
fn one_point_is_asked_for_in_one_unit() {
    for (procedure, fault, one, other) in [
        ("module_supply", "constant_wire_to_ground", "constant_to_ground", "constant_wire_to_ground"),
        ("data_bus", "wires_together", "ohms_without_dash", "ohms_without_both"),
    ] {
        let events = on_bench(procedure, fault);
        let unit = |id: &str| {
            let answered = events.iter().find(|event| event["event"] == "answered" && event["id"] == id);
            let answered = answered.unwrap_or_else(|| panic!("no {id} in {events:#?}"));
            answered["limits"]["unit"].as_str().unwrap_or_else(|| panic!("no unit: {answered}")).to_owned()
        };
        assert_eq!((unit(one), unit(other)), ("ohm".to_owned(), "ohm".to_owned()), "{procedure}");
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
fn whether_a_starter_turns_and_whether_the_lights_dim_are_two_questions() {
    let skipped = "battery = \"12.6\"\nmotor = { skip = \"out of reach\" }\n";
    for (answers, next) in [
        ("answers = true\n", "cranking"),
        ("answers = false\n", "lights_dim"),
        ("answers = false\nlights_dim = true\n", "cranking"),
        ("answers = false\nlights_dim = false\n", "dead_battery"),
    ] {
        let place = Place::new();
        run(&place, "starter_drop", &format!("{skipped}{answers}")).ended(4).says(&format!("Waits for `{next}`"));
    }
}

#[test]
fn volts_against_ground_with_their_leads_swapped_are_neither_low_nor_dead() {
    let dead = "battery = \"12.6\"\nmotor = \"0.0\"\n";
    let charging = "rest = \"12.6\"\nbefore = \"12.4\"\ncharge = \"12.1\"\nloaded = \"12.0\"\npositive = \"0.02 V\"\nground = \"0.02 V\"\n";
    let lamp = "battery = \"12.6\"\noff = \"0.00\"\ncurrent = \"0.0\"\npower = \"12.5 V\"\nground = \"0.0 V\"\n";
    for (procedure, answers, swapped) in [
        ("starter_drop", "battery = \"12.6\"\n".to_owned(), "motor = [\"-9.9\", \"-9.9\"]\n"),
        ("starter_drop", dead.to_owned(), "dead_battery = [\"-12.5\", \"-12.5\"]\n"),
        ("starter_drop", format!("{dead}dead_battery = \"12.5\"\n"), "dead_stud = [\"-12.4\", \"-12.4\"]\n"),
        ("charging", charging.to_owned(), "stud_alone = [\"-12.0\", \"-12.0\"]\n"),
        ("charging", format!("{charging}stud_alone = \"12.0\"\n"), "alternator = [\"-14.0\", \"-14.0\"]\n"),
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
            "battery = \"12.30\"\noff = \"0.00\"\ncurrent = \"5.0\"\npower = \"0.90 V\"\nground = \"0.05 V\"\noutput_drop = \"0.20 V\"\nfeed_drop = \"0.13 V\"\n".to_owned(),
            "Feed wire corroded or chafed thin",
        ),
        ("solenoid_high_side", format!("battery = \"12.5\"\nmodule_power = \"11.60\"\n{solenoid}"), "Not present while tested"),
        (
            "solenoid_high_side",
            format!("battery = \"12.6\"\nmodule_power = \"11.4\"\nmodule_power_battery = \"11.9\"\n{solenoid}"),
            "Not present while tested",
        ),
        (
            "solenoid_high_side",
            "battery = \"12.6\"\nmodule_power = \"11.4\"\nmodule_power_battery = \"12.5\"\noff = \"12.1\"\n".to_owned(),
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
fn a_coil_is_judged_as_warm_as_it_is_and_by_the_ohms_of_its_own_system() {
    let warm = "battery = \"12.6\"\nmodule_power = \"12.5\"\noff = \"0.00\"\nacross = \"12.3\"\ncurrent = \"440 mA\"\n\
        feed_pair = \"1 mV\"\nground_pair = \"1 mV\"\n";
    for (answers, words) in [
        (format!("{warm}coil_warm = \"85\"\ncoil = \"27.7\"\nduty = \"50.0\"\n"), "Not present while tested"),
        (
            format!("{warm}coil_warm = {{ skip = \"no thermometer\" }}\ncoil = \"27.7\"\nduty = \"50.0\"\n"),
            "Not present while tested",
        ),
        (format!("{warm}coil_warm = \"20\"\ncoil = \"27.7\"\n"), "Solenoid coil open, or of too high a resistance"),
        (
            "battery = \"25.2\"\nmaker_ohms = \"82\"\nmodule_power = \"25.1\"\noff = \"0.00\"\nacross = \"24.9\"\ncurrent = \"300 mA\"\nduty = \"50.0\"\n".to_owned(),
            "Not present while tested",
        ),
    ] {
        let place = Place::new();
        run(&place, "solenoid_high_side", &answers).ended(0).says(words);
    }
}

#[test]
fn no_ammeter_goes_into_the_feed_of_a_load_that_is_commanded() {
    for fault in ["", "connector_pin_corroded", "coil_shorted"] {
        let events = on_bench("solenoid_high_side", fault);
        assert!(events.iter().any(|event| event["id"] == "current"), "{fault}");
        assert!(!events.iter().any(|event| event.to_string().contains("\"through\":{\"at\"")), "{fault}: {events:#?}");
        let leads = events.iter().find(|event| event["id"] == "current").map(|event| event["leads"].to_string());
        assert!(leads.as_deref().is_some_and(|leads| leads.contains("clamp")), "{leads:?}");
    }
}

#[test]
fn a_module_that_is_told_to_run_its_load_is_not_replaced_for_it() {
    let running = "battery = \"12.6\"\noff = \"12.2\"\noff_control = \"0.1\"\ncoil_feed = \"12.5\"\n";
    for (answers, words) in [
        ("told_on = true\n", "The module itself runs the load"),
        ("told_on = false\ncontrol_without_module = \"12.4\"\n", "The module's output is always on"),
    ] {
        let place = Place::new();
        run(&place, "relay_low_side", &format!("{running}{answers}")).ended(0).says(words);
    }
}

#[test]
fn a_relay_that_pulls_has_a_good_output_and_one_that_is_told_has_a_good_coil_ground() {
    let pulls = "battery = \"12.6\"\noff = \"0.00\"\ncontrol = \"1.13 V\"\nmodule_control = \"1.12 V\"\ncontrol_coil_feed = \"12.5\"\n\
        module_ground = \"0.02 V\"\nmodule_frame = \"0.01 V\"\ncontrol_coil = \"90\"\ncurrent = \"12.1\"\npower = \"0.3 V\"\n\
        ground = \"0.05 V\"\nfeed_pair = \"10 mV\"\nground_pair = \"10 mV\"\n";
    let told = "battery = \"12.6\"\noff = \"0.00\"\ncurrent = \"0.0\"\npower = \"12.6 V\"\nground = \"0.0 V\"\nrelay_output = \"0.0\"\n\
        relay_feed = \"12.6\"\nrelay_control = \"12.5\"\ncoil_ground = \"0.45 V\"\ncoil = \"85\"\n";
    let one_ground = "battery = \"12.6\"\nground_1 = \"0.03 V\"\nground_2 = \"12.1 V\"\nground_stud = \"0.01 V\"\n";
    for (procedure, answers, words) in [
        ("relay_low_side", pulls, "Not present while tested"),
        ("lamp_drop", told, "Relay contacts burnt or not closing"),
        ("module_supply", one_ground, "One of the module's ground wires open, or both"),
    ] {
        let place = Place::new();
        run(&place, procedure, answers).ended(0).says(words);
    }
}

#[test]
fn a_driven_signal_wire_below_zero_is_swapped_leads_and_no_short() {
    let answers = "battery = \"12.6\"\nsupply = \"5.00\"\ntrack = [\"1.9\", \"1.9\", \"1.9\"]\n\
        pairs_ground_pair = \"0 mV\"\npairs_reference_pair = \"0 mV\"\npairs_signal_pair = \"0 mV\"\n\
        wire_driven_up = \"100\"\nwire_driven_up_volts = [\"-4.98\", \"-4.98\"]\n";
    run(&Place::new(), "flap_sensor", answers).ended(5).says("red and black are swapped");
}

#[test]
fn without_the_temperature_no_sensor_is_condemned_alone_for_its_ohms() {
    let answers = "battery = \"12.6\"\nsignal = \"1.72\"\nlow_ground = \"5 mV\"\nlow_wire = \"0 mV\"\n\
        low_module_power = \"12.5\"\nlow_unplugged = \"4.98\"\nlow_substitute = \"2.49\"\nlow_sensor = \"5.3\"\n";
    let unknown = "Temperature at the sensor not known: its resistance may be right";
    let run = |temperature: &str| {
        run(&Place::new(), "temperature_sensor", &format!("{answers}temperature = {temperature}\n")).ended(0)
    };
    run("{ skip = \"no thermometer\" }").says(unknown);
    run("\"20.1\"").says("Sensor's resistance off its curve").never_says(unknown);
}

#[test]
fn tracks_that_part_once_are_held_against_each_other_again_with_the_pedal_blocked() {
    assert_eq!(
        rows(
            "pedal_sensor",
            "vehicle,fault,half_1,half_2,half_1_again,half_2_again\nUnit 1,,2.50 V,1.38 V,,\nUnit 2,,2.50 V,1.38 V,2.50 V,1.39 V\n"
        ),
        ["concluded: not_present", "concluded: sensor_drift"]
    );
}

const SOUND: &str = "look = \"sound\"\nsystem = \"one 12 V battery\"\nfirst_rest = \"12.60\"\npositive_clamp = \"3 mV\"\n\
    negative_clamp = \"3 mV\"\ncells = \"no caps\"\n";
const CRANKS: &str = "battery = \"12.6\"\nmotor = \"9.9\"\ncranking = \"10.2\"\ncurrent = \"420\"\npositive = \"0.2 V\"\n\
    ground = \"0.2 V\"\ncontacts = \"0.1 V\"\n";
const CRANKS_PAIR: &str = "battery = \"25.3\"\nmotor = \"19.9\"\ncranking = \"21\"\ncurrent = \"190\"\npositive = \"0.1 V\"\n\
    ground = \"0.2 V\"\ncontacts = \"0.1 V\"\n";
const CHARGES: &str = "rest = \"12.6\"\nbefore = \"12.4\"\ncharge = \"14.9\"\nloaded = \"14.5\"\n";

#[test]
fn what_cold_a_large_engine_or_a_flat_battery_explains_condemns_no_part() {
    const PASSED: &str = "the battery passed all that was measured";
    const FAILED: &str = "Battery charged, and gives way under load";
    const SOUGHT: &str = "Not present while tested";
    let regulated = "rest = \"12.6\"\nbefore = \"12.3\"\ncharge = \"13.0\"\nloaded = \"13.05\"\npositive = \"0.05 V\"\n\
        ground = \"0.05 V\"\nstud_alone = \"13.1\"\nalternator = \"13.15\"\n";
    let flat = "rest = \"11.9\"\nbefore = \"11.7\"\ncharge = \"13.1\"\nloaded = \"12.8\"\npositive = \"0.15 V\"\n\
        ground = \"0.15 V\"\nstud_alone = \"12.95\"\nalternator = \"13.12\"\n";
    let unplugged = "rest = \"12.6\"\nbefore = \"12.4\"\ncharge = \"12.4\"\nloaded = \"12.0\"\npositive = \"0.02 V\"\n\
        ground = \"0.02 V\"\nstud_alone = \"12.0\"\nalternator = \"12.0\"\nbelt = false\n";
    for (procedure, answers, cause) in [
        ("battery", format!("{SOUND}load = \"9.3\"\nload_temperature = \"-2\"\n"), PASSED),
        ("battery", format!("{SOUND}load = \"9.3\"\nload_temperature = \"20\"\n"), FAILED),
        ("battery", format!("{SOUND}load = \"7.9\"\n"), FAILED),
        ("battery", SOUND.replace("\"sound\"", "\"frozen, or ice seen in it\""), "cracked, leaking, swollen or frozen"),
        ("starter_drop", format!("{CRANKS}speed = true\n"), SOUGHT),
        ("starter_drop", format!("{CRANKS}speed = false\n"), "Starter takes too much current"),
        ("starter_drop", format!("{CRANKS_PAIR}speed = true\n"), SOUGHT),
        ("starter_drop", format!("{CRANKS_PAIR}speed = false\n"), "takes too little current"),
        ("charging", format!("{CHARGES}temperature = \"-20\"\n"), SOUGHT),
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
            "look = \"sound\"\nsystem = \"two 12 V batteries for 24 V\"\nfirst_rest = [\"-12.6\", \"-12.6\"]\nsecond_rest = \"12.6\"\n"
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
    assert!(at(&course, "carry_out Part the two") < at(&course, "read first_rest"), "{course:#?}");
    assert!(at(&course, "carry_out Join the two") < at(&course, "read positive_clamp"), "{course:#?}");
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
    let led_out = format!("{charging}loaded = \"12.0\"\npositive = \"0.02 V\"\n");
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
            "battery = \"12.6\"\nmotor = [\"-9.9\", \"-9.9\"]\n".to_owned(),
            "carry_out Let the engine start",
        ),
        (
            "starter_drop",
            "battery = \"12.6\"\nmotor = \"9.9\"\ncranking = \"OL\"\n".to_owned(),
            "carry_out Let the engine start",
        ),
        (
            "starter_drop",
            CRANKS.replace("ground = \"0.2 V\"", "ground = { skip = \"out of reach\" }"),
            "carry_out Let the engine start",
        ),
        (
            "key_off_draw",
            "battery = \"12.6\"\ndraw = [\"-320 mA\", \"-320 mA\"]\n".to_owned(),
            "disconnect negative_clamp",
        ),
        (
            "key_off_draw",
            "battery = \"12.6\"\ndraw = { skip = \"no meter\" }\n".to_owned(),
            "disconnect negative_clamp",
        ),
        ("key_off_draw", DRAWS.replace("drop_f1 = \"2.3 mV\"", "drop_f1 = \"OL\""), "disconnect negative_clamp"),
    ] {
        let place = Place::new();
        run(&place, procedure, &answers).ended(5).says("Unfinished");
        let course = course(&place.events());
        let done: Vec<_> = course.iter().rev().take_while(|it| !it.starts_with("read ")).collect();
        assert!(done.iter().any(|it| it.starts_with(last)), "{procedure}: no {last} at the end of {course:#?}");
    }
}

#[test]
fn an_ammeter_is_warned_of_before_it_goes_in() {
    let place = Place::new();
    run(&place, "key_off_draw", "battery = \"12.6\"\ndraw = \"14 mA\"\n").ended(0);
    let events = place.events();
    let position = |words: &str| {
        events
            .iter()
            .position(|event| event.to_string().contains(words))
            .unwrap_or_else(|| panic!("no {words} in {events:#?}"))
    };
    assert!(position("ammeter_goes_in") < position("Ammeter on its 10 A range"), "{events:#?}");
}

#[test]
fn a_bus_that_measures_right_and_does_not_work_is_not_called_right() {
    let answered = |fault: &str, answers: &str| {
        rows("data_bus", &format!("vehicle,fault,answers\nUnit 1,{fault},{answers}\n"))[0].clone()
    };
    assert_eq!(answered("", "yes"), "concluded: not_present");
    assert_eq!(answered("", "no"), "concluded: module_silent");
    assert_eq!(answered("swapped_at_dash", "no"), "concluded: pair_swapped");
    assert_eq!(answered("dash_without_ground", "no"), "concluded: dash_supply");
}
