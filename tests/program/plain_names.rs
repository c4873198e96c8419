//! What is done at the vehicle is told in the same words while it is done and in every report.

use crate::place::{Place, SAFE};

#[test]
fn a_jumper_is_told_in_plain_words_at_the_vehicle_and_in_every_report() {
    let place = Place::new();
    let mut call = place.call("run key_off_draw --vehicle Van");
    for state in SAFE {
        call = call.and(&["--state", state]);
    }
    // The job, two cautions, the battery; then the latches are closed and the jumper is put on.
    let lines = ["12", "", "", "", "", "", "+", "+", "12.57", "", "+", "1", "", "+", "pause"];
    let plain = "Connect battery negative to negative clamp";
    call.typing(&lines).go().ended(4).says(plain).never_says("battery_negative");
    for command in ["show", "report --format text", "report --format json", "report --out -"] {
        place.call(command).go().ended(0).says(plain).never_says("Connect battery_negative");
    }
}

#[test]
fn a_moving_part_is_told_in_the_circuits_words_in_every_report() {
    let place = Place::new();
    let answers = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data/answers/flap-signal-wire.toml");
    place.call("run flap_sensor --answers").and(&[answers.to_str().unwrap()]).go().ended(0);
    for command in ["show", "report --format text", "report --format json", "report --out -"] {
        place.call(command).go().ended(0).says("the flap shaft").never_says("Hold flap");
    }
}
