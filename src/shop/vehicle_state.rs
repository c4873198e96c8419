//! How the vehicle stands, as `part=state`.

use crate::model::vehicle::{Engine, STATE_PARTS, StatePart, VehicleState};
use crate::model::words;
use crate::shop::error::ShopError;

/// Applies `part=state` to the vehicle.
pub fn set_state(vehicle: &mut VehicleState, part: &str, state: &str, minute: i64) -> Result<(), String> {
    if let Some(known) = StatePart::named(part) {
        let engine = vehicle.engine;
        known.set(vehicle, state).map_err(|error| format!("{part}: {error}"))?;
        // It ran until now, at the most: what is hot is hot still.
        if vehicle.engine == Engine::Stopped && matches!(engine, Engine::Running | Engine::Cranking) {
            vehicle.engine_stopped_at = Some(minute);
        }
        return Ok(());
    }
    if part == RAN {
        let minutes: i64 = state
            .trim_end_matches("min")
            .trim()
            .parse()
            .ok()
            .filter(|minutes| (0..=1_000_000).contains(minutes))
            .ok_or_else(|| format!("`ran={state}`: write how many minutes ago the engine stopped"))?;
        vehicle.engine_stopped_at = Some(minute - minutes);
        return Ok(());
    }
    let nearest = words::nearest(part, state_parts());
    Err(format!(
        "`{part}` is not a part of the vehicle's state{}; it is one of {}",
        words::did_you_mean(nearest.as_deref()),
        state_parts().collect::<Vec<_>>().join(", ")
    ))
}

/// By this name it is said when the engine last ran.
pub const RAN: &str = "ran";

/// Parts of the vehicle whose state is asked for, and when the engine last ran, after the engine.
pub fn state_parts() -> impl Iterator<Item = &'static str> {
    STATE_PARTS.iter().flat_map(|part| [part.name].into_iter().chain((part.name == "engine").then_some(RAN)))
}

/// Applies every `--state`.
pub fn apply_states(vehicle: &mut VehicleState, flags: &[String], minute: i64) -> Result<(), ShopError> {
    let mut states = Vec::with_capacity(flags.len());
    for flag in flags {
        let (part, state) =
            flag.split_once('=').ok_or_else(|| ShopError::refused(format!("--state {flag}: write it as key=off")))?;
        states.push((part.trim(), state.trim()));
    }
    // When the engine stopped is said of an engine that is.
    states.sort_by_key(|(part, _)| *part == RAN);
    for (part, state) in states {
        set_state(vehicle, part, state, minute).map_err(ShopError::refused)?;
    }
    Ok(())
}
