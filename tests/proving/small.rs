//! A lamp on a fuse, small enough to be worked out by hand, and scripts for it.

use ohmwright::circuit::file;
use ohmwright::circuit::meter::bench_meter;
use ohmwright::script::diagnose::Source;
use ohmwright::script::procedure::Procedure;
use ohmwright::script::prove::proving::{Counting, Proving};
use std::sync::Arc;

/// The circuit without causes of its own: judged by their names.
pub const LAMP: &str = r#"title = "Lamp"
zero_volts = "battery.negative"
start = { key = "off", engine = "stopped", battery = "connected" }
roles = { feed = "C1.1", lamp_ground = "C1.2", battery_positive = "battery.positive", battery_negative = "battery.negative" }
inside = ["fused", "switched"]
connector = [{ id = "C1", pins = ["1", "2"] }]
point = [{ id = "battery.positive" }, { id = "battery.negative" }, { id = "chassis" }]
part = [
  { id = "battery", kind = "battery", positive = "battery.positive", negative = "battery.negative", volts = "12.6 V ± 0.15 V" },
  { id = "negative_clamp", kind = "negative_clamp", from = "chassis", to = "battery.negative" },
  { id = "F1", kind = "fuse", from = "battery.positive", to = "fused", rating = "10 A" },
  { id = "lamp_switch", kind = "switch", from = "fused", to = "switched", closed_when = { key = "on" } },
  { id = "feed_wire", kind = "wire", from = "switched", to = "C1.1", resistance = "20 mohm" },
  { id = "lamp", kind = "resistor", from = "C1.1.component", to = "C1.2.component", resistance = "3 ohm ± 5 %" },
  { id = "ground_wire", kind = "wire", from = "C1.2", to = "chassis", resistance = "20 mohm" },
]
"#;

/// Faults that name their causes.
pub const FAULTS: &str = r#"fault = [
  { id = "fuse_open", cause = "fuse", open = "F1" },
  { id = "lamp_open", cause = "lamp", open = "lamp" },
  { id = "ground_open", cause = "ground", open = "ground_wire" },
]
"#;

/// Causes that say what they cover, and when a driver notices something; the ground wire corrodes by a range.
pub const CAUSES: &str = r#"shows = [{ key = "on", current = "lamp", below = "3 A" }]
cause = [
  { id = "fuse", what = "Fuse", correction = "Replace it", replaces = ["F1"] },
  { id = "lamp", what = "Lamp", correction = "Replace it", replaces = ["lamp"] },
  { id = "ground", what = "Ground wire", correction = "Repair it", covers = ["ground_wire", "C1.2"] },
]
fault = [
  { id = "fuse_open", open = "F1" },
  { id = "lamp_open", open = "lamp" },
  { id = "ground_open", open = "ground_wire" },
  { id = "ground_corroded", added_resistance = { part = "ground_wire", ohms = "50 mohm to 100 ohm" } },
]
"#;

/// A script for the lamp with a header.
pub fn with_header(body: &str) -> String {
    let causes = ["fuse", "lamp", "ground", "repaired"];
    let causes: String = causes.iter().map(|id| format!("//! {id} = {{ cause = 'x', correction = 'y' }}\n")).collect();
    format!("//! title = \"Lamp\"\n//! revision = 1\n//! [causes]\n{causes}{body}")
}

/// How many lines the header has.
pub const HEADER: usize = 7;

/// The lamp with some of its faults, and a script to prove on it.
pub fn on_lamp(faults: &str, body: &str) -> Proving {
    let text = format!("{LAMP}{faults}");
    let circuit = file::parse(&text, "lamp.toml").unwrap_or_else(|error| panic!("{error}"));
    let source = Source { file: "p.rhai".into(), text: with_header(body) };
    let procedure = Procedure::compile("p", source, &|_| None).unwrap_or_else(|problems| panic!("{problems:#?}"));
    Proving {
        procedure: Arc::new(procedure),
        circuit: Arc::new(circuit),
        circuit_name: "lamp".into(),
        samples: 3,
        seed: 1,
        pairs: false,
        generated: false,
        slips: true,
        counting: Counting::EveryRun,
        meter: bench_meter(),
    }
}
