//! The shipped procedures, where a meter shows what a hand meets at the vehicle.

use crate::place::{Place, SAFE, Shown, not_asked};
use crate::shipped_cranking::DRAWS;
use serde_json::Value;

/// The system of the vehicle that a test has in mind: its readings of a 24 V vehicle are twice as high.
fn system_in_mind(answers: &str) -> &'static str {
    let volts = |line: &str| {
        let reading = ["battery = \"", "rest = \""].iter().find_map(|begins| line.strip_prefix(begins))?;
        reading.split(|c: char| !c.is_ascii_digit() && c != '.').next()?.parse::<f64>().ok()
    };
    // The battery test asks which batteries there are, where nobody said the voltage.
    if answers.contains("for 24 V") {
        return "";
    }
    if answers.lines().filter_map(volts).any(|volts| (18.0..30.0).contains(&volts)) { "24 V" } else { "12 V" }
}

/// A shipped procedure with these answers, on a vehicle on which nothing is hazardous.
#[track_caller]
pub fn run(place: &Place, procedure: &str, answers: &str) -> Shown {
    run_at(system_in_mind(answers), place, procedure, answers)
}

/// The same on a vehicle with this system; nothing is said of it where it is empty.
#[track_caller]
pub fn run_at(nominal: &str, place: &Place, procedure: &str, answers: &str) -> Shown {
    let job = if nominal.is_empty() { String::new() } else { format!("[job]\nnominal = \"{nominal}\"\n") };
    place.file("answers.toml", format!("procedure = \"{procedure}\"\n{job}[answers]\n{answers}"));
    let mut call = place.call("run").and(&[procedure, "--answers", "answers.toml"]);
    for state in SAFE {
        call = call.and(&["--state", state]);
    }
    let before = place.records();
    let shown = call.go().without_panic();
    place.asked_for_all(answers, &before, &shown);
    shown
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
pub fn course(events: &[Value]) -> Vec<String> {
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
pub fn at(course: &[String], begins: &str) -> usize {
    course.iter().position(|it| it.starts_with(begins)).unwrap_or_else(|| panic!("no {begins} in {course:#?}"))
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
fn a_reading_says_nothing_of_the_system_and_the_job_says_it() {
    let lamp = |nominal: &str, answers: &str| run_at(nominal, &Place::new(), "lamp_drop", answers);
    // A 24 V pair with one dead battery shows what a full 12 V battery does.
    lamp("24 V", "battery = \"13.07\"\n").ended(0).says("Battery discharged or worn out").says("LOW");
    lamp("12 V", "battery = \"13.07\"\n").ended(4).says("Waits for `off`");
    // Half charged is 24.4 V: what is below is not called good.
    let low = lamp("24 V", "battery = \"24.0\"\n").ended(0).says("Battery discharged or worn out");
    low.says("24.4 … 27 V").never_says("29 V");
    lamp("24 V", "battery = \"25.3\"\n").ended(4).says("Waits for `off`");
    // No battery of the system rests so high: charged just now, or another system than the job says.
    lamp("12 V", "battery = \"14.2\"\n")
        .ended(5)
        .says("no battery of a 12 V system rests at 14.2 V: take the charger off");
    lamp("12 V", "battery = \"24.0; 24.0\"\n")
        .ended(5)
        .says("look at the meter's range and leads and at the vehicle's system");
    // A discharged pair, at an alternator that is right.
    let charging = "rest = \"23.6\"\nbefore = \"22.6\"\ncharge = \"27.9\"\nloaded = \"27.2\"\nripple = \"0.06 V\"\n\
        full_volts = \"25.0\"\nfull_current = \"98\"\npositive = \"0.25 V\"\nground = \"0.1 V\"\n";
    let shown = run_at("24 V", &Place::new(), "charging", charging);
    shown.ended(0).says("Charging is right; the battery is discharged or worn out");
}

#[test]
fn where_nobody_said_the_system_the_procedure_asks_for_it_once() {
    let ask = |answers: &str| run_at("", &Place::new(), "lamp_drop", answers);
    ask("").ended(4).says("Which system has this vehicle?");
    ask("system_voltage = \"24 V\"\nbattery = \"13.07\"\n").ended(0).says("Battery discharged or worn out");
    ask("system_voltage = \"12 V\"\nbattery = \"13.07\"\n").ended(4).says("Waits for `off`");
    ask("system_voltage = { skip = \"no data plate\" }\n").ended(5).says("this vehicle's system voltage is not known");
    let place = Place::new();
    run_at("", &place, "starter_drop", "system_voltage = \"24 V\"\nbattery = \"25.3\"\n").ended(4);
    let events = place.events();
    let asked = |event: &&Value| event["id"] == "system_voltage";
    assert_eq!((events.iter().filter(asked).count(), &events[0]["nominal"]), (1, &Value::Null));
}

#[test]
fn the_job_says_the_system_by_file_flag_table_and_form() {
    let place = Place::new();
    run_at("24 V", &place, "lamp_drop", "battery = \"25.3\"\n").ended(4);
    assert_eq!(place.events()[0]["nominal"], "24 V");
    assert_eq!(place.events()[0]["job"].get("nominal"), None);
    place.call("show").go().says("system").says("24 V");
    run_at("13 V", &Place::new(), "lamp_drop", "battery = \"25.3\"\n")
        .ended(3)
        .says("`13 V` is not a nominal system voltage");
    let place = Place::new();
    place.file(
        "units.csv",
        "vehicle,nominal,answer.battery\nUnit 1,24 V,13.07\nUnit 2,12 V,13.07\nUnit 3,42 V,13.07\nUnit 4,,13.07\n",
    );
    let shown = place.call("batch lamp_drop units.csv").width(600).go().without_panic();
    shown
        .says("row 4, column nominal: `42 V` is not a nominal system voltage: write 12 V or 24 V")
        .says("row 5: there is no column system_voltage");
    let came: Vec<_> = place
        .records()
        .iter()
        .map(|record| {
            (
                place.events_of(record)[0]["nominal"].clone(),
                crate::place::of_kind(&place.events_of(record), "concluded").len(),
            )
        })
        .collect();
    assert_eq!(came, [("24 V".into(), 1), ("12 V".into(), 0), (Value::Null, 0)]);
    let place = Place::new();
    let lines = ["Unit 9", "13", "24", "pause"];
    place
        .call("run lamp_drop")
        .typing(&lines)
        .go()
        .ended(4)
        .says("`13` is not a nominal system voltage: write 12 V or 24 V");
    place.call("run lamp_drop --nominal 13").go().ended(2).says("not a nominal system voltage");
}

#[test]
fn a_job_that_contradicts_the_simulated_vehicle_is_asked_about() {
    let place = Place::new();
    let bench = "run lamp_drop --bench --fault lamp_burnt_out --nominal";
    place
        .call(bench)
        .and(&["24"])
        .typing(&["no", "pause"])
        .go()
        .ended(4)
        .says("The job says 24 V")
        .says("has a 12 V system");
    assert_eq!(place.records(), Vec::<String>::new());
    place.call(bench).and(&["24"]).typing(&["", "pause"]).go().ended(4);
    assert_eq!(place.events()[0]["nominal"], "12 V");
    place.file("units.csv", "vehicle,nominal,fault\nUnit 1,24 V,lamp_burnt_out\nUnit 2,,lamp_burnt_out\n");
    let shown = place.call("batch lamp_drop units.csv --bench").width(600).go().without_panic();
    shown.says("row 2, column nominal: the row says 24 V, and the circuit has a 12 V system");
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

/// Columns that answer no prompt.
const OF_THE_VEHICLE: [&str; 3] = ["vehicle", "fault", "seed"];

/// Simulated vehicles, a line of the table each, with the cells that somebody wrote down: what each comes to.
#[track_caller]
pub fn rows(procedure: &str, table: &str) -> Vec<String> {
    let place = Place::new();
    place.file("units.csv", table);
    let shown = place.call(&format!("batch {procedure} units.csv --bench")).width(600).go().without_panic();
    let cells = |line: &str| line.split('┆').map(|cell| cell.trim_matches(['│', ' ']).to_owned()).collect::<Vec<_>>();
    let lines = shown.out.lines().map(cells).filter(|cells| cells.len() == 4 && cells[0] != "row");
    let mut found: Vec<String> = Vec::new();
    for cells in lines {
        match found.last_mut() {
            // A long sentence goes on in the next line of its cell.
            Some(before) if cells[0].is_empty() => *before = format!("{before} {}", cells[3]),
            _ => found.push(format!("{}: {}", cells[2], cells[3])),
        }
    }
    assert_eq!(found.len(), table.lines().count() - 1, "{shown}");
    // A cell that no prompt asked for would answer one too many in silence.
    let table: Vec<Vec<&str>> = table.lines().map(|line| line.split(',').collect()).collect();
    for record in place.records() {
        let events = place.events_of(&record);
        let line = usize::try_from(events[0]["row"]["row"].as_u64().unwrap()).unwrap();
        let written = table[0].iter().zip(&table[line - 1]).filter(|(_, cell)| !cell.trim().is_empty());
        let columns = written.map(|(column, _)| *column).filter(|column| !OF_THE_VEHICLE.contains(column));
        let prompts = columns.map(|column| column.strip_prefix("answer.").unwrap_or(column));
        let left = not_asked(&events, prompts);
        assert!(left.is_empty(), "row {line}: cells that were not asked for: {left:?}\n{shown}");
    }
    found
}

#[test]
fn a_good_reading_at_the_alternator_never_ends_in_the_alternator() {
    let rest = "rest = \"12.6\"\nbefore = \"12.4\"\n";
    let drops =
        "ripple = \"0.00 V\"\npositive = \"0.02 V\"\nground = \"0.02 V\"\nstud_alone = \"12.0\"\ncurrent = \"0.0\"\n";
    for (answers, why) in [
        (
            "charge = \"14.2\"\nloaded = \"13.15\"\nripple = \"0.06 V\"\npositive = \"-0.25 V\"\nground = \"0.05 V\"\nstud_alone = \"13.0\"\ncurrent = \"60\"\nalternator = \"14.0\"\n".to_owned(),
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
            "charge = \"121; 121\"\n".to_owned(),
            "Battery, engine at a fast idle for some minutes, loads off” shows a voltage that can kill",
        ),
        (
            "charge = \"14.0\"\nloaded = \"12.9\"\nripple = \"0.06 V\"\npositive = \"0.35 V\"\nground = \"0.3 V\"\nstud_alone = \"13.2\"\ncurrent = { skip = \"no clamp\" }\nalternator = \"13.5\"\n".to_owned(),
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
        let hangs = format!("charge = \"12.1\"\nloaded = \"12.0\"\n{drops}alternator = \"1.24\"\nstrap = {strap}\n");
        run(&place, "charging", &format!("{rest}{hangs}")).ended(code).says(words);
    }
    let dead = format!("charge = \"12.1\"\nloaded = \"12.0\"\n{drops}alternator = \"12.0\"\nbelt = true\n");
    let place = Place::new();
    run(&place, "charging", &format!("{rest}{dead}")).ended(0).says("Alternator gives nothing");
    let place = Place::new();
    run(&place, "charging", &format!("{}{}", rest.replace("12.4", "13.9"), dead.replace("belt = true\n", "")))
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
    place.file("job.toml", "[job]\nvehicle = \"Unit 12\"\nnominal = \"12 V\"\ntechnician = \"A. Tester\"\n");
    let mut call = place.call("run charging --job job.toml");
    for state in SAFE {
        call = call.and(&["--state", state]);
    }
    let at_battery = ["", "+", "", "+", "12.6", "", "", "12.4", "", "+", "", "+", "", "13.0", "", "12.9", "0.00"];
    let led_out = ["", "", "", "", "+", "", "+", "", "", "+", "", ""];
    let shown = call
        .typing(&at_battery)
        .typing(&led_out)
        .typing(&["back loaded", "", "+", "+", "+", "", "", "", "", "+", "", "", "pause"])
        .go()
        .without_panic()
        .ended(4);
    let flat = shown.flat();
    let back = &flat[flat.find("Bring it back").unwrap_or_else(|| panic!("{shown}"))..];
    let stands = |words: &str| back.find(words).unwrap_or_else(|| panic!("no {words} in {back}"));
    let off = stands("DO Remove the jumper between alternator output and stud lead free end");
    assert!(stands("DO Stop the engine") < off && off < stands("DO Start the engine"), "{back}");
    assert!(stands("DO Remove the jumper between alternator case") < stands("DO Start the engine"), "{back}");
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
fn whether_a_starter_turns_and_whether_the_lights_dim_are_two_questions() {
    let skipped = "battery = \"12.6\"\ncranking = \"10.2\"\ncurrent = \"180\"\nmotor = { skip = \"out of reach\" }\n";
    for (answers, next) in [
        ("answers = true\n", "positive"),
        ("answers = false\n", "lights_dim"),
        ("answers = false\nlights_dim = true\n", "positive"),
        ("answers = false\nlights_dim = false\n", "dead_battery"),
    ] {
        let place = Place::new();
        run(&place, "starter_drop", &format!("{skipped}{answers}")).ended(4).says(&format!("Waits for `{next}`"));
    }
}

#[test]
fn a_coil_is_judged_as_warm_as_it_is_and_by_the_ohms_of_its_own_system() {
    let warm = "battery = \"12.6\"\nmodule_power = \"12.5\"\noff = \"0.00\"\nacross = \"12.3\"\ncurrent = \"440 mA\"\n\
        feed_pair = \"1 mV\"\nground_pair = \"1 mV\"\n";
    for (answers, words) in [
        (format!("{warm}coil_warm = \"85\"\ncoil = \"27.7\"\nduty = \"50.0\"\n"), "did not show during this test"),
        (
            format!("{warm}coil_warm = {{ skip = \"no thermometer\" }}\ncoil = \"27.7\"\nduty = \"50.0\"\n"),
            "did not show during this test",
        ),
        (format!("{warm}coil_warm = \"20\"\ncoil = \"27.7\"\n"), "Solenoid coil open, or of too high a resistance"),
        (
            "battery = \"25.2\"\nmaker_ohms = \"82\"\nmodule_power = \"25.1\"\noff = \"0.00\"\nacross = \"24.9\"\ncurrent = \"300 mA\"\nduty = \"50.0\"\n".to_owned(),
            "did not show during this test",
        ),
    ] {
        let place = Place::new();
        run(&place, "solenoid_high_side", &answers).ended(0).says(words);
    }
}

#[test]
fn unknown_ohms_of_the_manufacturer_end_without_a_cause() {
    for stated in ["\"OL\"", "{ skip = \"no data\" }"] {
        run_at("24 V", &Place::new(), "solenoid_high_side", &format!("battery = \"25.2\"\nmaker_ohms = {stated}\n"))
            .ended(5)
            .says("the coil's ohms by the manufacturer's data are not known");
    }
}

#[test]
fn no_ammeter_goes_into_the_feed_of_a_load_that_is_commanded() {
    for fault in ["", "connector_pin_corroded", "coil_shorted"] {
        let events = on_bench("solenoid_high_side", fault);
        assert!(events.iter().any(|event| event["id"] == "current"), "{fault}");
        assert!(!events.iter().any(|event| event.to_string().contains("\"through\":{\"at\"")), "{fault}: {events:#?}");
        let leads = events.iter().find(|event| event["id"] == "current" && event["event"] == "answered");
        let leads = leads.map(|event| event["leads"].to_string());
        assert!(leads.as_deref().is_some_and(|leads| leads.contains("clamp")), "{leads:?}");
    }
}

#[test]
fn a_module_that_is_told_to_run_its_load_is_not_replaced_for_it() {
    let running = "battery = \"12.6\"\noff = \"12.2\"\noff_control = \"0.1\"\noff_coil_feed = \"12.5\"\n\
        control_without_module = \"12.4\"\noff_without_module = \"0.0\"\n";
    for (answers, words) in [
        ("told_on = true\n", "The module itself runs the load"),
        ("told_on = false\ndiode = \"0.75\"\n", "The module's output is always on"),
    ] {
        let place = Place::new();
        run(&place, "relay_low_side", &format!("{running}{answers}")).ended(0).says(words);
    }
}

#[test]
fn a_relay_that_pulls_has_a_good_output_and_one_that_is_told_has_a_good_coil_ground() {
    let pulls = "battery = \"12.6\"\noff = \"0.00\"\noff_control = \"12.5\"\ncontrol = \"1.13 V\"\nmodule_control = \"1.12 V\"\ncontrol_coil_feed = \"12.5\"\n\
        module_ground = \"0.02 V\"\nmodule_frame = \"0.01 V\"\ncontrol_coil = \"90\"\ncurrent = \"12.1\"\npower = \"0.3 V\"\n\
        ground = \"0.05 V\"\nfeed_pair = \"10 mV\"\nground_pair = \"10 mV\"\noff_again = \"0.00\"\ndiode = \"0.75\"\n";
    let told = "battery = \"12.6\"\noff = \"0.00\"\ncurrent = \"0.0\"\npower = \"12.6 V\"\nground = \"0.0 V\"\nrelay_output = \"0.0\"\n\
        relay_feed = \"12.6\"\ncoil_volts = \"12.0\"\ncontacts_open = \"12.6\"\ncoil = \"85\"\n";
    let one_ground = "battery = \"12.6\"\nground_1 = \"0.03 V\"\nground_2 = \"12.1 V\"\n\
        ground_1_lifted = \"6.9 A\"\nground_2_lifted = \"0.0 A\"\nground_stud = \"0.01 V\"\n";
    for (procedure, answers, words) in [
        ("relay_low_side", pulls, "did not show during this test"),
        ("lamp_drop", told, "Relay contacts burnt or not closing"),
        ("module_supply", one_ground, "One of the module's ground wires open, or both"),
    ] {
        let place = Place::new();
        run(&place, procedure, answers).ended(0).says(words);
    }
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

#[test]
fn an_ammeter_is_warned_of_before_it_goes_in() {
    let place = Place::new();
    run(
        &place,
        "key_off_draw",
        "battery = \"12.6\"\nammeter = \"ammeter in line\"\ndraw = \"14 mA\"\non_posts = \"0.0 mA\"\ntop = \"0.02 V\"\ngoes_flat = false\n",
    )
    .ended(0);
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
