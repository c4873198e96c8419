//! The words of a circuit file that a proof needs: causes, ranges, when a fault shows, looks, places.
use crate::shipped_circuits;
use ohmwright::circuit::bench::Bench;
use ohmwright::circuit::error::CircuitError;
use ohmwright::circuit::fault::{Fault, FaultId};
use ohmwright::circuit::file;
use ohmwright::circuit::meter::bench_meter;
use ohmwright::circuit::netlist::Circuit;
use ohmwright::circuit::population::{MOST_REDRAWS, draws};
use ohmwright::circuit::sample::Sample;
use ohmwright::circuit::showing::{Plain, healthy_one_that_shows, shown};
use ohmwright::model::vehicle::{Key, VehicleState};
use std::sync::Arc;

/// A lamp on a fuse and a switch, with a ground wire; the driver sees its current.
const LAMP: &str = r#"title = "Work lamp"
example = true
zero_volts = "battery.negative"
start = { key = "off" }
roles = { feed = "C1.1" }
inside = ["fused"]
connector = [{ id = "C1", pins = ["1", "2", "3", "4"], near = ["lift"], rows = [["1", "2"], ["3", "4"]] }]
point = [{ id = "switched" }, { id = "battery.positive", near = ["battery", "lift"] }, { id = "battery.negative" }, { id = "chassis" }]
look = [{ id = "bulb", what = "the bulb", normal = "whole" }, { id = "lens", what = "water in the lens", normal = "no", sure = 80 }]
shows = [{ key = "on", current = "lamp", below = "3 A" }, { key = "on", from = "C1.2", to = "battery.negative", above = "0.5 V" }]
part = [
  { id = "battery", kind = "battery", positive = "battery.positive", negative = "battery.negative", volts = "12.6 V ± 0.15 V" },
  { id = "negative_clamp", kind = "negative_clamp", from = "chassis", to = "battery.negative" },
  { id = "F1", kind = "fuse", from = "battery.positive", to = "fused", rating = "10 A" },
  { id = "lamp_switch", kind = "switch", from = "fused", to = "switched", closed_when = { key = "on" } },
  { id = "feed_wire", kind = "wire", from = "switched", to = "C1.1", resistance = "20 mohm" },
  { id = "lamp", kind = "resistor", from = "C1.1.component", to = "C1.2.component", resistance = "3 ohm ± 5 %" },
  { id = "ground_wire", kind = "wire", from = "C1.2", to = "chassis", resistance = "20 mohm" },
  { id = "spare", kind = "resistor", from = "C1.3.component", to = "C1.4.component", resistance = "1 kohm" },
  { id = "spare_wire", kind = "wire", from = "C1.3", to = "chassis", resistance = "20 mohm" },
  { id = "spare_end", kind = "wire", from = "C1.4", to = "chassis", resistance = "20 mohm" },
]
cause = [
  { id = "feed", what = "Feed open", correction = "Repair the feed wire", covers = ["net:feed"] },
  { id = "supply", what = "No supply", correction = "Run the supply procedure", covers = ["upstream:C1.1"] },
  { id = "lamp", what = "Bulb", correction = "Replace the bulb", replaces = ["lamp"], covers = [] },
  { id = "ground", what = "Ground", correction = "Repair the ground wire" },
]
fault = [
  { id = "feed_open", what = "feed wire broken", open = "feed_wire" },
  { id = "fuse_open", what = "fuse open", open = "F1" },
  { id = "lamp_open", what = "bulb burnt out", open = "lamp", sees = { bulb = "broken" } },
  { id = "ground_corroded", cause = "ground", what = "ground wire corroded", added_resistance = { part = "ground_wire", ohms = "10 mohm to 100 ohm" } },
  { id = "feed_to_ground", what = "feed chafed through", short = { from = "C1.1", to = "chassis" } },
]
"#;

fn parsed(text: &str) -> Circuit {
    file::parse(text, "lamp.toml").unwrap_or_else(|error| panic!("{error}"))
}

fn lamp() -> Arc<Circuit> {
    Arc::new(parsed(LAMP))
}

#[track_caller]
fn broken(from: &str, to: &str) -> CircuitError {
    assert!(LAMP.contains(from), "`{from}` is not in the file");
    file::parse(&LAMP.replacen(from, to, 1), "lamp.toml").unwrap_err()
}

#[track_caller]
fn says(from: &str, to: &str, expected: &str) {
    assert_eq!(broken(from, to).to_string(), expected);
}

fn fault<'a>(circuit: &'a Circuit, id: &str) -> &'a Fault {
    circuit.fault(&FaultId::from(id)).unwrap()
}

fn parts(circuit: &Circuit, numbers: impl IntoIterator<Item = usize>) -> Vec<&str> {
    numbers.into_iter().map(|number| circuit.parts()[number].id.as_str()).collect()
}

#[test]
fn a_cause_covers_what_it_says_and_what_it_replaces_and_else_the_parts_of_its_faults() {
    let circuit = lamp();
    let covered = |cause: &str| {
        let mut parts = parts(&circuit, circuit.cause(cause).unwrap().covered().iter().copied());
        parts.sort_unstable();
        parts
    };
    assert_eq!(covered("feed"), ["C1.1", "feed_wire"]);
    assert_eq!(covered("supply"), ["F1", "battery", "feed_wire", "lamp_switch"]);
    assert_eq!(covered("lamp"), ["lamp"]);
    // A wire and the pins at its ends.
    assert_eq!(covered("ground"), ["C1.2", "ground_wire"]);
    let covers = |cause: &str, id: &str| circuit.cause(cause).unwrap().covers(fault(&circuit, id));
    for (id, causes) in [
        ("feed_open", &["feed", "supply"][..]),
        ("fuse_open", &["supply"]),
        ("lamp_open", &["lamp"]),
        ("ground_corroded", &["ground"]),
        ("feed_to_ground", &["feed", "supply"]),
    ] {
        for cause in circuit.causes() {
            assert_eq!(covers(&cause.id, id), causes.contains(&&*cause.id), "{} of {id}", cause.id);
        }
    }
    let bulb = circuit.cause("lamp").unwrap();
    assert!(!bulb.replaces_a_whole_part(Some(fault(&circuit, "lamp_open"))));
    assert!(bulb.replaces_a_whole_part(Some(fault(&circuit, "fuse_open"))));
    assert!(bulb.replaces_a_whole_part(None));
    assert!(!circuit.cause("feed").unwrap().replaces_a_whole_part(None));
}

#[test]
fn a_cause_that_is_wrong_names_what_is_wrong() {
    says("covers = [\"net:feed\"]", "covers = [\"net:feet\"]", "lamp.toml: cause `feed`: there is no point `feet`");
    says(
        "covers = [\"net:feed\"]",
        "covers = [\"feed_wir\"]",
        "lamp.toml: cause `feed`: there is no part `feed_wir`; did you mean `feed_wire`?",
    );
    says(
        "covers = [\"net:feed\"]",
        "covers = [\"all:feed\"]",
        "lamp.toml: cause `feed`: `all:feed` is not a part, `net:POINT` or `upstream:POINT`",
    );
    says(
        "cause = \"ground\"",
        "cause = \"grund\"",
        "lamp.toml: fault `ground_corroded`: there is no cause `grund`; did you mean `ground`?",
    );
    says("{ id = \"feed\", what = \"Feed open\",", "{ id = \"feed\",", "lamp.toml: cause `feed`: `what` is missing");
    says("{ id = \"supply\", what", "{ id = \"feed\", what", "lamp.toml: there are two causes `feed`");
    says("example = true", "example = 1", "lamp.toml: `example` is not `true` or `false`");
}

#[test]
fn a_range_that_a_healthy_part_could_show_is_refused() {
    let inside = "which lies inside the healthy";
    for (from, to) in [
        ("10 mohm to 100 ohm", "1 mohm to 100 ohm"),
        (
            "short = { from = \"C1.1\", to = \"chassis\" }",
            "short = { from = \"C1.1\", to = \"chassis\", through = \"1 ohm to 20 Mohm\" }",
        ),
        ("open = \"F1\"", "set = { part = \"battery\", value = \"11 V to 12.5 V\" }"),
        (
            "open = \"F1\"",
            "set = { part = \"battery\", value = \"12.8 V to 14 V\" }, drift = { part = \"lamp\", gain = \"0.5 to 0.99\" }",
        ),
        ("open = \"F1\"", "drift = { part = \"lamp\", offset = \"-1 ohm to 1 ohm\" }"),
        // Through 100 ohm beside it the lamp has 2.9 ohm, as a healthy one may.
        (
            "short = { from = \"C1.1\", to = \"chassis\" }",
            "short = { from = \"C1.1.component\", to = \"C1.2.component\", through = \"1 ohm to 100 ohm\" }",
        ),
    ] {
        let error = broken(from, to).to_string();
        assert!(error.contains(inside), "{to}: {error}");
    }
    says(
        "10 mohm to 100 ohm",
        "100 ohm to 1 ohm",
        "lamp.toml: fault `ground_corroded`: the points of `ohms` are not in rising order",
    );
    says(
        "open = \"F1\"",
        "set = { part = \"battery\", value = \"9 V to 11 V\" }, drift = { part = \"lamp\", gain = \"2 to 3\" }",
        "lamp.toml: fault `fuse_open`: two values of the fault are ranges: give one of them, and a fault of its own to the other",
    );
    let text = LAMP.replacen("open = \"F1\"", "drift = { part = \"lamp\", gain = \"1.5 to 4\" }", 1);
    let range = fault(&parsed(&text), "fuse_open").severity.unwrap();
    assert!(
        (range.low - 1.5).abs() < 1e-12
            && (range.high - 4.0).abs() < 1e-12
            && (range.middle() - 6f64.sqrt()).abs() < 1e-12
    );
}

#[test]
fn a_fault_is_put_in_as_bad_as_it_was_drawn() {
    let circuit = lamp();
    let corroded = fault(&circuit, "ground_corroded");
    let on = VehicleState { key: Key::On, ..circuit.start().clone() };
    let drop = |severity| {
        let placed = vec![corroded.placed(severity).unwrap()];
        let mut bench = Bench::with(Arc::clone(&circuit), placed, Sample::NOMINAL, bench_meter()).unwrap();
        bench.set_state(&on).unwrap();
        bench.true_volts("C1.2", "chassis").unwrap().si()
    };
    // 12.6 V over 3 ohm and about 75 mohm of wires, contacts, switch, fuse and battery.
    for (severity, ohms) in [(Some(1.0), 1.02), (Some(100.0), 100.02), (None, 1.02)] {
        let expected = 12.6 * ohms / (3.0 + ohms + 0.0635);
        assert!((drop(severity) - expected).abs() < 0.02, "{severity:?}: {} V, not {expected} V", drop(severity));
    }
    let error = corroded.placed(Some(200.0)).unwrap_err().to_string();
    assert_eq!(error, "the fault `ground_corroded` has a severity of 10 mΩ to 100 Ω");
    let error = fault(&circuit, "fuse_open").placed(Some(1.0)).unwrap_err().to_string();
    assert_eq!(error, "the fault `fuse_open` has one severity only, so that none is given");
}

#[test]
fn whether_a_fault_shows_is_held_against_limits_on_true_values() {
    let circuit = lamp();
    let meter = bench_meter();
    let plain = |severity| {
        shown(&circuit, Some(fault(&circuit, "ground_corroded")), Some(severity), Sample::NOMINAL, &meter).unwrap()
    };
    // 4 A make 0.5 V of 0.125 ohm; the wire has 20 mohm of it and the meter errs by 0.5 % and two counts of a millivolt
    // on 6 V, or a tenth of that.
    assert_eq!(plain(0.01), Plain::Hidden);
    assert_eq!(plain(0.1), Plain::Hidden);
    assert_eq!(plain(0.2), Plain::Showing);
    let limit = (1..).map(|step| 0.1 + f64::from(step) * 1e-5).find(|ohms| plain(*ohms) > Plain::Hidden).unwrap();
    assert_eq!(plain(limit), Plain::AtTheLimit);
    assert_eq!(plain(limit * 1.05), Plain::Showing);
    assert_eq!(shown(&circuit, None, None, Sample::NOMINAL, &meter).unwrap(), Plain::Hidden);
    assert_eq!(healthy_one_that_shows(&circuit, 100, 1, &meter).unwrap(), None);
    for id in ["feed_open", "fuse_open", "lamp_open", "feed_to_ground"] {
        let plain = shown(&circuit, Some(fault(&circuit, id)), None, Sample::NOMINAL, &meter).unwrap();
        assert_eq!(plain, Plain::Showing, "{id}");
    }
}

#[test]
fn a_healthy_vehicle_that_shows_is_named() {
    let meter = bench_meter();
    let text = LAMP.replacen("below = \"3 A\"", "below = \"4 A\"", 1);
    let circuit = Arc::new(parsed(&text));
    let (vehicle, span) = healthy_one_that_shows(&circuit, 100, 1, &meter).unwrap().unwrap();
    assert!(text[span].starts_with("{ key = \"on\", current"));
    let all: Vec<bool> = (1..=vehicle)
        .map(|number| shown(&circuit, None, None, Sample::of_vehicle(1, number), &meter).unwrap() > Plain::Hidden)
        .collect();
    assert_eq!(all.iter().position(|shows| *shows), Some(vehicle as usize - 1));
}

#[test]
fn a_draw_that_does_not_show_is_kept_and_drawn_again() {
    let circuit = lamp();
    let meter = bench_meter();
    let corroded = fault(&circuit, "ground_corroded");
    let mut hidden = 0;
    for vehicle in 1..=40 {
        let drawn = draws(&circuit, corroded, (vehicle, 40), 7, &meter).unwrap();
        assert_eq!(drawn, draws(&circuit, corroded, (vehicle, 40), 7, &meter).unwrap());
        hidden += usize::from(drawn[0].plain == Plain::Hidden);
        assert!(drawn.last().unwrap().plain > Plain::Hidden);
        assert_eq!(drawn.len(), if drawn[0].plain == Plain::Hidden { 2 } else { 1 });
        for one in drawn {
            let sample = Sample::of_vehicle(7, vehicle);
            assert_eq!(shown(&circuit, Some(corroded), one.severity, sample, &meter).unwrap(), one.plain);
        }
    }
    // 10 mohm to about 0.1 ohm of 10 mohm to 100 ohm: a quarter of the scale.
    assert!((9..=12).contains(&hidden), "{hidden} of 40 do not show");
    // All hidden: the first draw alone is left.
    let text = LAMP.replacen("10 mohm to 100 ohm", "10 mohm to 50 mohm", 1);
    let circuit = Arc::new(parsed(&text));
    let drawn = draws(&circuit, fault(&circuit, "ground_corroded"), (1, 40), 7, &meter).unwrap();
    assert_eq!((drawn.len(), drawn[0].plain), (1, Plain::Hidden));
    assert_eq!(MOST_REDRAWS, 16);
}

#[test]
fn looks_places_and_rows_are_kept() {
    let circuit = lamp();
    assert!(circuit.is_example());
    let look = |id: &str| circuit.look(id).unwrap();
    assert_eq!((look("bulb").sure, look("lens").sure), (90.0, 80.0));
    assert_eq!(Fault::answer_to(look("bulb"), []), "whole");
    assert_eq!(Fault::answer_to(look("bulb"), [fault(&circuit, "fuse_open"), fault(&circuit, "lamp_open")]), "broken");
    let zones: Vec<_> =
        circuit.point("battery.positive").unwrap().near.iter().flatten().map(ToString::to_string).collect();
    assert_eq!(zones, ["battery", "lift"]);
    assert_eq!(circuit.point("C1.2.component").unwrap().near.as_ref().unwrap().len(), 1);
    assert_eq!(circuit.connectors()[0].neighbors(), [("1", "2"), ("1", "3"), ("2", "4"), ("3", "4")]);
    let text = LAMP.replacen(", rows = [[\"1\", \"2\"], [\"3\", \"4\"]]", "", 1);
    assert_eq!(parsed(&text).connectors()[0].neighbors(), [("1", "2"), ("2", "3"), ("3", "4")]);
    says("[\"3\", \"4\"]]", "[\"3\", \"5\"]]", "lamp.toml: connector `C1`: there is no pin `5`");
    says("[\"3\", \"4\"]]", "[\"3\", \"1\"]]", "lamp.toml: connector `C1`: there are two pins `1`");
    says(
        "sees = { bulb",
        "sees = { bulp",
        "lamp.toml: fault `lamp_open`: there is no look `bulp`; did you mean `bulb`?",
    );
}

#[test]
fn what_is_probably_not_enough_is_remarked_on_and_no_error() {
    let remarks = |text: &str| -> Vec<String> { parsed(text).remarks().iter().map(ToString::to_string).collect() };
    assert_eq!(remarks(LAMP), ["look `lens`: no fault changes it: add `sees` to a fault, or take the look out"]);
    let with = |from: &str, to: &str| {
        assert!(LAMP.contains(from), "{from}");
        remarks(&LAMP.replacen(from, to, 1)).join("\n")
    };
    // Whoever writes that a cause covers nothing means it so.
    assert_eq!(with("covers = [\"net:feed\"]", "covers = []").lines().count(), 1);
    let all =
        with("  { id = \"feed\"", "  { id = \"else\", what = \"Else\", correction = \"Look\" },\n  { id = \"feed\"");
    assert!(all.contains("cause `else`: it covers no part: say what"), "{all}");
    let every: Vec<String> = lamp().parts().iter().map(|part| format!("\"{}\"", part.id)).collect();
    let all = with("covers = [\"net:feed\"]", &format!("covers = [{}]", every.join(", ")));
    assert!(all.contains("cause `feed`: it covers every part: say which"), "{all}");
    let all =
        with("{ id = \"negative_clamp\", kind = \"negative_clamp\"", "{ id = \"negative_clamp\", kind = \"joint\"");
    assert!(all.contains("no part is a `negative_clamp`: add it"), "{all}");
    let all = with(
        "from = \"C1.3.component\", to = \"C1.4.component\", resistance = \"1 kohm\"",
        "from = \"battery.positive\", to = \"battery.negative\", resistance = \"1 mohm\"",
    );
    assert!(all.contains("part `spare`: so low a resistance lies straight across the battery: look at"), "{all}");
    let all = with("shows = [", "# shows = [");
    assert!(all.contains("nothing says when a driver notices a fault: add `shows`"), "{all}");
    assert!(
        all.contains("fault `ground_corroded`: its severity is a range, and nothing says when it shows: add"),
        "{all}"
    );
    let all = with("cause = \"ground\", ", "");
    assert!(all.contains("fault `ground_corroded`: no cause covers it: let"), "{all}");
    let start = LAMP.find("fault = [").unwrap();
    let all = remarks(&LAMP[..start]).join("\n");
    assert!(all.contains("the circuit has no faults: list some"), "{all}");
}

#[test]
fn an_older_circuit_has_the_causes_that_its_faults_name() {
    for (name, circuit) in shipped_circuits() {
        for fault in circuit.faults() {
            for cause in fault.causes.iter().filter(|cause| *cause != "not_present") {
                assert!(circuit.cause(cause).unwrap().covers(fault), "{name}: {cause} of {}", fault.id);
            }
        }
    }
    let start = LAMP.find("cause = [").unwrap();
    let end = LAMP.find("fault = [").unwrap();
    let faults = LAMP[end..].replace("cause = \"ground\", ", "").replace("{ id = \"", "{ cause = \"one\", id = \"");
    let older = parsed(&[&LAMP[..start], &faults].concat());
    let one = older.cause("one").unwrap();
    assert!(!one.declared && older.causes().len() == 1);
    let mut replaced = parts(&older, one.replaces().iter().copied());
    replaced.sort_unstable();
    // Of the short the wires at the shorted point.
    assert_eq!(replaced, ["C1.1", "F1", "feed_wire", "ground_wire", "lamp"]);
}
