//! What is wrong with a circuit file is said with the file, the part and the place.
use crate::shipped;
use ohmwright::circuit::error::Problem;
use ohmwright::circuit::error::{CircuitError, SolveError};
use ohmwright::circuit::fault::FaultId;
use ohmwright::circuit::file;
use ohmwright::circuit::sample::Sample;
use ohmwright::circuit::solution::solve;
use ohmwright::model::vehicle::{Key, VehicleState};

const SOUND: &str = r#"title = "Small"
zero_volts = "minus"
start = { key = "on" }
roles = { feed = "plus" }
connector = [{ id = "C1", pins = ["1", "2"] }]
point = [{ id = "plus" }, { id = "minus" }]
movement = [{ id = "shaft", from = "0 %", to = "100 %", start = "0 %" }]
part = [
  { id = "battery", kind = "battery", positive = "plus", negative = "minus", volts = "12 V" },
  { id = "feed_wire", kind = "wire", from = "plus", to = "C1.1", gauge = "0.75 mm2", length = "2 m" },
  { id = "ground_wire", kind = "wire", from = "C1.2", to = "minus", gauge = "18 AWG", length = "2 m" },
  { id = "load", kind = "resistor", from = "C1.1.component", to = "C1.2.component", resistance = "10 ohm ± 5 %" },
]
fault = [
  { id = "broken", cause = "wire_open", open = "feed_wire" },
]
"#;

/// The error of the sound file with one piece of it changed, which has to be there.
#[track_caller]
fn broken(from: &str, to: &str) -> CircuitError {
    assert!(SOUND.contains(from), "`{from}` is not in the file");
    file::parse(&SOUND.replacen(from, to, 1), "small.toml").unwrap_err()
}

#[track_caller]
fn says(from: &str, to: &str, expected: &str) {
    assert_eq!(broken(from, to).to_string(), expected);
}

#[test]
fn the_sound_file_is_sound() {
    let circuit = file::parse(SOUND, "small.toml").unwrap();
    let solution = solve(&circuit, circuit.start(), &[], &Sample::NOMINAL).unwrap();
    assert!((solution.amperes("load").unwrap() - 1.2).abs() < 0.02);
}

#[test]
fn errors_name_file_part_and_what_is_wrong() {
    let beside = "small.toml: a movement: `choices` and `from` stand side by side: only one of them says where the thing can stand";
    says("start = \"0 %\" }", "start = \"0 %\", choices = [\"a\", \"b\"] }", beside);
    says(
        "resistance = \"10 ohm ± 5 %\" }",
        "resistance = \"10 ohm ± 5 %\", closed_when = { key = \"unknown\" } }",
        "small.toml: part `load`: `key` is not a state that it can stand in: what a circuit does is always known",
    );
    says("fault = [", "fualt = [", "small.toml: `fualt` is not known here; did you mean `fault`?");
    says(
        "gauge = \"0.75 mm2\"",
        "gauge = \"0.8 mm2\"",
        "small.toml: part `feed_wire`: `0.8 mm2` is not a known gauge; write a cross section such as `0.75 mm2`, or `18 AWG`",
    );
    says(
        "from = \"plus\", to = \"C1.1\", ",
        "from = \"plus\", ",
        "small.toml: part `feed_wire`: the part has one end only: `to` is missing",
    );
    says(
        "from = \"plus\", to = \"C1.1\", ",
        "from = \"C1.1\", to = \"C1.1\", ",
        "small.toml: part `feed_wire`: both ends lie on `C1.1`, so the part has one end only",
    );
    says(
        "{ id = \"plus\" }, ",
        "{ id = \"plus\" }, { id = \"spare\" }, ",
        "small.toml: point `spare`: nothing reaches the point `spare`",
    );
    says(
        "to = \"C1.1\", gauge",
        "to = \"C1.7\", gauge",
        "small.toml: part `feed_wire`: there is no point `C1.7`; did you mean `C1.1`?",
    );
    says(
        "kind = \"resistor\"",
        "kind = \"resister\"",
        "small.toml: part `load`: there is no kind of part `resister`; did you mean `resistor`?",
    );
    says(
        "roles = { feed = \"plus\" }",
        "roles = { feed = [\"plus\", \"minus\"] }",
        "small.toml: role `feed`: there are two roles `feed`",
    );
    says("id = \"ground_wire\"", "id = \"feed_wire\"", "small.toml: part `feed_wire`: there are two parts `feed_wire`");
    says(
        "{ id = \"minus\" }]",
        "{ id = \"minus\" }, { id = \"plus\" }]",
        "small.toml: point `plus`: there are two points `plus`",
    );
    says("12 V", "NaN V", "small.toml: part `battery`: `volts` is not a voltage such as `12.6 V`");
    says("12 V", "12 A", "small.toml: part `battery`: `volts` is not a voltage such as `12.6 V`");
    says("12 V", "1e9 V", "small.toml: part `battery`: `volts` is 1 GV, outside -1.5 kV to 1.5 kV");
    says("10 ohm ±", "0 ohm ±", "small.toml: part `load`: `resistance` is 0 Ω, outside 1 µΩ to 1000 GΩ");
    says("cause = \"wire_open\", ", "", "small.toml: fault `broken`: `cause` is missing");
    says(
        ", open = \"feed_wire\"",
        "",
        "small.toml: fault `broken`: the fault changes nothing: say what it does, such as `open` or `short`",
    );
}

#[test]
fn a_role_given_twice_is_refused_with_its_place() {
    let error = broken("feed = \"plus\"", "feed = \"plus\", feed = \"minus\"");
    assert!(matches!(&*error.problem, Problem::Toml { message } if message.contains("duplicate key")), "{error}");
    assert!(error.span.is_some());
}

#[test]
fn a_node_that_floats_is_named() {
    let error = broken("{ id = \"plus\" }, ", "{ id = \"plus\" }, { id = \"a\" }, { id = \"b\" }, ");
    assert!(matches!(*error.problem, Problem::NothingReaches { .. }));
    let text =
        SOUND.replacen("{ id = \"plus\" }, ", "{ id = \"plus\" }, { id = \"a\" }, { id = \"b\" }, ", 1).replacen(
            "part = [",
            "part = [\n  { id = \"adrift\", kind = \"resistor\", from = \"a\", to = \"b\", resistance = \"1 ohm\" },",
            1,
        );
    let error = file::parse(&text, "small.toml").unwrap_err();
    assert_eq!(
        error.to_string(),
        "small.toml: point `a`: node `a` floats: no part connects it with `minus`; add the wire that does, or take the point \
         out"
    );
}

#[test]
fn spans_point_at_the_words_concerned() {
    let text = SOUND.replacen("0.75 mm2", "0.8 mm2", 1);
    let error = file::parse(&text, "small.toml").unwrap_err();
    assert_eq!(&text[error.span.unwrap()], "\"0.8 mm2\"");
    let text = SOUND.replacen("to = \"C1.1\"", "to = \"C1.9\"", 1);
    let error = file::parse(&text, "small.toml").unwrap_err();
    assert_eq!(&text[error.span.unwrap()], "\"C1.9\"");
}

#[test]
fn a_fault_inside_healthy_tolerance_is_refused() {
    let fault = |does: &str| broken("open = \"feed_wire\"", does).to_string();
    assert_eq!(
        fault("set = { part = \"load\", value = \"10.3 ohm\" }"),
        "small.toml: fault `broken`: the fault leaves the resistance of `load` at 10.3 Ω, which lies inside the healthy \
         9.5 Ω to 10.5 Ω; it would be no fault"
    );
    assert!(fault("drift = { part = \"load\", gain = 1.04 }").contains("inside the healthy"));
    assert!(fault("added_resistance = { part = \"load\", ohms = \"0.5 ohm\" }").contains("inside the healthy"));
    assert!(fault("short = { from = \"C1.1\", to = \"minus\", through = \"20 Mohm\" }").contains("the insulation"));
    assert!(fault("stuck = { part = \"load\", at = \"open\" }").contains("is a resistor, which can't be stuck there"));
    let allowed = SOUND.replacen("open = \"feed_wire\"", "drift = { part = \"load\", gain = 1.2 }", 1);
    file::parse(&allowed, "small.toml").unwrap();
}

#[test]
fn hostile_files_end_in_an_error() {
    let many = |count: usize| {
        let points: String = (0..count).map(|number| format!("{{ id = \"p{number}\" }},")).collect();
        let parts: String = (0..count)
            .map(|number| format!("{{ id = \"r{number}\", kind = \"resistor\", from = \"p{number}\", to = \"minus\", resistance = \"1 ohm\" }},"))
            .collect();
        format!(
            "title = \"many\"\nzero_volts = \"minus\"\nstart = {{}}\npoint = [{points}{{ id = \"minus\" }}]\npart = [{parts}]\n"
        )
    };
    file::parse(&many(200), "many").unwrap();
    for count in [300, 3000] {
        let error = file::parse(&many(count), "many").unwrap_err();
        assert!(matches!(*error.problem, Problem::TooMany { .. }), "{error}");
    }
    let huge = "#".repeat(600_000);
    assert!(matches!(*file::parse(&huge, "huge").unwrap_err().problem, Problem::TooMany { what: "bytes", .. }));
    let deep = format!("title = {}{}", "[".repeat(50_000), "]".repeat(50_000));
    file::parse(&deep, "deep").unwrap_err();
    file::parse("title = \"x\"\nzero_volts = \"y\"\nstart = { key = \"unknown\" }\n", "x").unwrap_err();
    file::parse(&SOUND.replacen("0 %\", to = \"100 %\"", "inf %\", to = \"100 %\"", 1), "x").unwrap_err();
}

#[test]
fn names_that_the_circuit_does_not_have_are_refused_with_the_nearest() {
    let circuit = shipped("flap_sensor");
    let refusal = |change: &dyn Fn(&mut VehicleState)| {
        let mut state = VehicleState { key: Key::On, ..VehicleState::default() };
        change(&mut state);
        solve(&circuit, &state, &[], &Sample::NOMINAL).map(|_| ()).unwrap_err().to_string()
    };
    assert_eq!(
        refusal(&|state| _ = state.unplugged.insert("C14".into())),
        "the circuit has no connector `C14`; did you mean `C41`?"
    );
    assert_eq!(
        refusal(&|state| _ = state.removed.insert("F21".into())),
        "the circuit has no part `F21`; did you mean `F12`?"
    );
    assert_eq!(
        refusal(&|state| _ = state.positions.insert("flap".into(), "ajar".into())),
        "`flap` can't stand at `ajar`; it stands from 0 % to 100 %, closed (100 %), half (50 %), open (0 %)"
    );
    let error = solve(&circuit, circuit.start(), &[FaultId::from("signal_open")], &Sample::NOMINAL).unwrap_err();
    assert!(matches!(error, SolveError::UnknownName { what: "fault", .. }), "{error}");
}

#[test]
fn a_relay_that_cuts_off_its_own_coil_is_no_error() {
    let text = r#"title = "Buzzer"
zero_volts = "minus"
start = { key = "on" }
point = [{ id = "plus" }, { id = "coil" }, { id = "minus" }]
part = [
  { id = "battery", kind = "battery", positive = "plus", negative = "minus", volts = "12 V" },
  { id = "buzzer", kind = "relay", coil_from = "coil", coil_to = "minus", coil = "80 ohm", common = "plus", normally_closed = "coil", pulls_in = "7 V" },
]
"#;
    let circuit = file::parse(text, "buzzer.toml").unwrap();
    let solution = solve(&circuit, circuit.start(), &[], &Sample::NOMINAL).unwrap();
    assert_eq!(solution.unsteady().collect::<Vec<_>>(), ["buzzer"]);
}

#[test]
fn a_switch_closes_in_each_of_the_positions_that_are_listed() {
    let switched = SOUND
        .replace("from = \"0 %\", to = \"100 %\", start", "from = \"0 %\", to = \"100 %\", stops = { shut = \"0 %\", open = \"100 %\" }, start")
        .replace(
            "{ id = \"feed_wire\", kind = \"wire\", from = \"plus\", to = \"C1.1\", gauge = \"0.75 mm2\", length = \"2 m\" }",
            "{ id = \"feed_wire\", kind = \"switch\", from = \"plus\", to = \"C1.1\", closed_when = { shaft = [\"shut\", \"40 % to 60 %\", \"open\"] } }",
        );
    let circuit = file::parse(&switched, "switched.toml").unwrap();
    for (position, closed) in
        [("shut", true), ("20 %", false), ("40 %", true), ("55 %", true), ("80 %", false), ("open", true)]
    {
        let mut state = circuit.start().clone();
        state.positions.insert("shaft".to_owned(), position.to_owned());
        let volts = solve(&circuit, &state, &[], &Sample::NOMINAL).unwrap().volts("C1.1.component", "minus").unwrap();
        assert_eq!(volts > 11.0, closed, "{position}: {volts} V");
    }
}

#[test]
fn a_wire_has_one_color_and_older_files_spell_the_key_another_way() {
    let gauge = "gauge = \"0.75 mm2\"";
    for key in ["color", "colour"] {
        let text = SOUND.replacen(gauge, &format!("{gauge}, {key} = \"red\""), 1);
        let circuit = file::parse(&text, "small.toml").unwrap();
        assert_eq!(circuit.point("C1.1").unwrap().color.as_deref(), Some("red"), "{key}");
    }
    let both = broken(gauge, &format!("{gauge}, color = \"red\", colour = \"green\"")).to_string();
    assert!(both.contains("`colour`") && both.contains("`color`"), "{both}");
}

#[test]
fn a_missing_key_is_not_taken_for_another_word_that_is_there() {
    let without_start = broken("start = { key = \"on\" }\n", "").to_string();
    assert!(without_start.contains("`start`") && !without_start.contains("`part`"), "{without_start}");
}
