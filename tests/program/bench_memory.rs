//! What a simulated circuit remembers stays the same however a run is interrupted.

use crate::place::{Place, of_kind};
use serde_json::Value;
use std::collections::BTreeMap;

/// Its readings hang on what was done before: a relay that holds itself, and a fuse that is gone.
const BODY: &str = r#"//! title = "A relay that holds itself"
//! revision = 1
//! circuit = "holds"
//! [causes]
//! part = { cause = "Part worn", correction = "Replace the part" }
let off = read("off", "Output before", within(0.V, 20.V), across("output", "minus"));
hold("start_button", "down");
let pressed = read("pressed", "Output while pressed", within(0.V, 20.V), across("output", "minus"));
release("start_button");
let held = read("held", "Output held", within(0.V, 20.V), across("output", "minus"));
let draw = read("draw", "Draw", within(0.A, 20.A), clamp("F1"));
let coil = read("coil", "Coil", within(0.V, 20.V), across("coil", "minus"));
hold("stop_button", "down");
release("stop_button");
let over = read("over", "Output after stop", within(0.V, 20.V), across("output", "minus"));
conclude("part");
"#;

fn place() -> Place {
    let place = Place::new();
    place.file("shop.toml", "name = \"A shop\"\n");
    place.file("circuits/holds.toml", include_str!("../circuit/self_holding.toml"));
    place.file("procedures/holds.rhai", BODY);
    place
}

fn readings(place: &Place) -> BTreeMap<String, Value> {
    let events = place.events();
    let answered = of_kind(&events, "answered").into_iter();
    answered.map(|event| (event["id"].to_string(), event["typed"].clone())).collect()
}

/// Six readings (one with the action that it is taken in), three actions and the conclusion.
const PROMPTS: usize = 10;
/// More lines than any of these runs asks for.
const MOST: usize = 20;

#[test]
fn a_change_at_any_prompt_changes_no_reading() {
    for fault in ["none", "output_to_ground"] {
        let call = format!("run holds --bench --seed 3 --fault {fault}");
        let whole = place();
        whole.call(&call).typing(&[""; MOST]).in_vain().go().ended(0);
        let expected = readings(&whole);
        for prompt in 1..PROMPTS {
            let changed = place();
            let mut typed = vec![""; prompt];
            typed.extend(["change off", "2", "the lead slipped"]);
            typed.extend([""; 2 * MOST]);
            let shown = changed.call(&call).typing(&typed).in_vain().go().ended(0);
            let events = changed.events();
            assert_eq!(of_kind(&events, "changed").len(), 1, "{fault}, at prompt {prompt}\n{shown}");
            assert_eq!(readings(&changed), expected, "{fault}, at prompt {prompt}\n{shown}");
            changed.call("verify --allow-unsigned").go().ended(0);
        }
    }
}

#[test]
fn a_pause_or_back_at_any_prompt_changes_no_reading() {
    for fault in ["none", "output_to_ground"] {
        let call = format!("run holds --bench --seed 3 --fault {fault}");
        let whole = place();
        whole.call(&call).typing(&[""; MOST]).in_vain().go().ended(0);
        let expected = readings(&whole);
        assert_eq!(expected.len(), 6, "{expected:?}");
        let held = expected["\"held\""].as_str().unwrap();
        assert_eq!(held.starts_with("11."), fault == "none", "{held}");
        for prompt in 0..PROMPTS {
            let typed = |word: &'static str, after: usize| {
                let mut typed = vec![""; prompt];
                typed.push(word);
                typed.extend(vec![""; after]);
                typed
            };
            let paused = place();
            paused.call(&call).typing(&typed("pause", 0)).go().ended(4);
            paused.call("resume").typing(&[""; MOST]).in_vain().go().ended(0);
            assert_eq!(readings(&paused), expected, "{fault}, paused at prompt {prompt}");
            let back = place();
            back.call(&call).typing(&typed("back", MOST)).in_vain().go().ended(0);
            assert_eq!(readings(&back), expected, "{fault}, back at prompt {prompt}");
        }
    }
}
