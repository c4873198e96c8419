//! AC volts, and numbers that no circuit answers.

use crate::place::{LET_STAND, Place, SAFE, of_kind, typed};

const SENSOR: &str = r#"title = "Wheel speed sensor"
zero_volts = "battery.negative"
start = { key = "off" }
roles = { sensor_high = "C5.1", sensor_low = "C5.2" }
connector = [{ id = "C5", pins = ["1", "2"], place = "at the wheel", near = [] }]
point = [{ id = "battery.negative", near = [] }]
movement = [{ id = "wheel", what = "the wheel", from = "0 rpm", to = "120 rpm", start = "0 rpm" }]
part = [
  { id = "sensor", kind = "inductive_sensor", from = "C5.1.component", to = "C5.2.component", resistance = "1.1 kohm", speed = "wheel", teeth = 48, volts = "1.2 V" },
  { id = "input", kind = "resistor", from = "C5.1", to = "C5.2", resistance = "20 kohm" },
  { id = "low", kind = "resistor", from = "C5.2", to = "battery.negative", resistance = "10 kohm" },
]
fault = [
  { id = "far", cause = "part", what = "the sensor is too far from its wheel", set = { part = "sensor", value = "4 mm" } },
  { id = "open", cause = "wire", what = "coil open", open = "sensor" },
]
"#;

const SPINS: &str = r#"hold("wheel", "120 rpm");
let volts = read_ac("volts", "Sensor, while the wheel turns", at_least(0.5.V, "example"), across("sensor_high", "sensor_low"));
let hertz = read("hertz", "Its frequency", within(96.Hz, 5.pct), across("sensor_high", "sensor_low"));
release("wheel");
let gap = read_number("gap", "Air gap, with a feeler gauge", between(0.5.mm, 1.5.mm, "example").shown_in("mm"));
if volts.ok { conclude("not_present"); }
let coil = read("coil", "Coil", between(0.5.kohm, 2.kohm, "example"), across("sensor_high", "sensor_low"));
if coil.ok || !gap.skipped && gap.high { conclude("part"); }
conclude("wire");
"#;

fn spinning() -> Place {
    let place = Place::with(SPINS);
    place.file("shop.toml", "name = \"Shop\"\n").file("circuits/sensor.toml", SENSOR);
    place
}

#[test]
fn ac_volts_and_a_gap_are_asked_for_at_the_vehicle() {
    let place = spinning();
    let shown = place.run_at_vehicle(&SAFE).typing(&["", "0.12 V", "96", "", "2.4", "1.1 kohm"]).typing(&LET_STAND);
    let shown = shown.go().ended(0).says("Part worn");
    shown.says("METER AC volts").says("Air gap, with a feeler gauge").says("LIMITS 0.5 to 1.5 mm");
    let events = place.events();
    let asked: Vec<_> = of_kind(&events, "answered");
    let of = |id: &str| *asked.iter().find(|event| event["id"] == id).unwrap();
    assert_eq!((&of("volts")["ask"], &of("volts")["function"]), (&"reading".into(), &"ac_volts".into()));
    assert_eq!((&of("gap")["ask"], &of("gap")["typed"]), (&"number".into(), &"2.4".into()));
    assert!(of("gap")["function"].is_null() && of("gap")["leads"].is_null());
    place.call("show").go().ended(0).says("2.4 mm").says("0.12 V");
    place.call("verify").go().ended(1).says("same 4 verdicts");
    for (format, says) in [("text", "2.4 mm"), ("csv", "number"), ("json", "\"number\""), ("html", "Report: ")] {
        place.call(&format!("report --format {format}")).go().ended(0).says(says);
    }
}

#[test]
fn a_simulated_sensor_answers_volts_and_hertz_and_leaves_the_gap_out() {
    let place = spinning();
    let coil = &[""][..];
    for (fault, coil, cause) in [
        ("none", &[][..], "The fault did not show during this test"),
        ("far", coil, "Part worn"),
        ("open", coil, "Wire open"),
    ] {
        let call = place.call(&format!("run p.rhai --bench sensor --fault {fault}"));
        call.typing(&["", "", "", "", "skip no gauge"]).typing(coil).typing(&LET_STAND).go().ended(0).says(cause);
    }
    // One reading decides, and so one slip at it, too.
    let proven = place.call("prove p.rhai --circuit sensor --samples 3").go().ended(1);
    proven.says("2 slips replace a good part").says("skipped: a simulated circuit can't be looked at");
    let by_hand = [
        "bench(\"sensor\")",
        "hold(\"wheel\", \"120 rpm\")",
        "ac_volts(\"sensor_high\", \"sensor_low\")",
        "hertz(\"sensor_high\", \"sensor_low\")",
    ];
    place.call("repl").typing(&by_hand).go().ended(0).says("1.137 V").says("96 Hz");
}

#[test]
fn a_prompt_that_says_ac_volts_and_is_read_as_dc_is_remarked_on() {
    for text in ["AC volts across the battery", "Ripple: volts AC", "AC ripple at the battery", "Battery, VAC"] {
        let script = format!("read(\"a\", \"{text}\", at_most(0.1.V), across(\"x\", \"y\"));\nconclude(\"wire\");\n");
        let shown = Place::with(&script).to_the_end(&["0.05 V"]).ended(0).says("Wire open");
        shown
            .says("note: the prompt says AC volts, and `read` reads DC (line 6 of p.rhai)")
            .says("read_ac(id, text, limits, leads)");
    }
    for text in ["Turn the AC on, then volts at the clutch", "DC volts, not AC volts", "A/C voltage"] {
        let place = Place::with(&format!("read(\"a\", \"{text}\", at_most(0.1.V));\nconclude(\"wire\");\n"));
        place.to_the_end(&["0.05 V"]).ended(0).says("Wire open").never_says("note:");
    }
    let place =
        Place::with("read_ac(\"a\", \"AC volts\", at_most(0.1.V), across(\"x\", \"y\"));\nconclude(\"wire\");\n");
    place.to_the_end(&["0.05 V"]).ended(0).says("METER AC volts");
    assert_eq!(typed(&place.events(), "a"), ["0.05 V"]);
}

#[test]
fn what_a_meter_shows_is_no_bare_number_and_ac_is_no_current() {
    for (call, problem) in [
        ("read_number(\"a\", \"A\", at_most(1.V))", "a meter shows volts: ask for it with `read`"),
        ("read_number(\"a\", \"A\", at_most(1.ohm))", "ask for it with `read`"),
        ("read_ac(\"a\", \"A\", at_most(1.A), across(\"x\", \"y\"))", "AC is read in volts: give its limits in V"),
        ("read_ac(\"a\", \"A\", at_most(1.V), clamp(\"x\"))", "a clamp round `x` reads amperes, not AC volts"),
    ] {
        Place::with(&format!("{call};\n")).run_at_vehicle(&SAFE).go().ended(3).says(problem);
    }
    let place = Place::with(
        "let torque = read_number(\"a\", \"Torque of the nut\", within(25.Nm, 10.pct));\n\
         let warm = read_number(\"b\", \"Thermometer in the coolant\", at_least(70.degC));\n\
         let press = read_number(\"c\", \"Gauge\", at_least(2.bar).shown_in(\"bar\"));\n\
         if torque.ok && warm.ok && press.low { conclude(\"part\"); }\nconclude(\"wire\");\n",
    );
    place.to_the_end(&["26", "81.5", "1.5"]).ended(0).says("Part worn");
}

#[test]
fn a_meter_of_the_shop_may_say_at_which_frequencies_its_ac_volts_hold() {
    let shop = |lines: &str| {
        let place = Place::with("conclude(\"wire\");\n");
        place.file(
            "shop.toml",
            format!(
                "name = \"Shop\"\n[[meter]]\nid = \"red\"\nname = \"Red\"\nrange = [{{ function = \"ac_volts\", full_scale = \"6 V\", resolution = \"1 mV\", percent = 1.0, counts = 3{lines} }}]\n"
            ),
        );
        place.call("run p.rhai --meter red").go()
    };
    let fits = shop(", lowest_hertz = \"40 Hz\", highest_hertz = \"1 kHz\"");
    assert!(fits.code != 3 && !fits.flat().contains("a range can't go from"), "{fits}");
    shop(", lowest_hertz = \"1 kHz\", highest_hertz = \"40 Hz\"").says("a range can't go from 1 kHz to 40 Hz");
    shop(", lowest_hertz = \"40 V\"").says("`lowest_hertz` is a frequency above zero, not 40 V");
}
