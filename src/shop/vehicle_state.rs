//! How the vehicle stands, as `part=state`.

use crate::model::vehicle::{Engine, UnknownState, VehicleState};
use crate::model::words;
use crate::shop::error::ShopError;

/// Applies `part=state` to the vehicle.
pub fn set_state(vehicle: &mut VehicleState, part: &str, state: &str, minute: i64) -> Result<(), String> {
    let words = |error: UnknownState| format!("{part}: {error}");
    match part {
        "key" => vehicle.key = state.parse().map_err(words)?,
        "engine" => {
            let engine = state.parse().map_err(words)?;
            // It ran until now, at the most: what is hot is hot still.
            if engine == Engine::Stopped && matches!(vehicle.engine, Engine::Running | Engine::Cranking) {
                vehicle.engine_stopped_at = Some(minute);
            }
            vehicle.engine = engine;
        }
        "lift" => vehicle.lift = state.parse().map_err(words)?,
        "wheels" => vehicle.wheels = state.parse().map_err(words)?,
        "battery" => vehicle.battery = state.parse().map_err(words)?,
        "high_voltage" => vehicle.high_voltage = state.parse().map_err(words)?,
        "ran" => {
            let minutes: i64 = state
                .trim_end_matches("min")
                .trim()
                .parse()
                .ok()
                .filter(|minutes| (0..=1_000_000).contains(minutes))
                .ok_or_else(|| format!("`ran={state}`: write how many minutes ago the engine stopped"))?;
            vehicle.engine_stopped_at = Some(minute - minutes);
        }
        other => {
            let nearest = words::nearest(other, STATE_PARTS.iter().copied());
            return Err(format!(
                "`{other}` is no part whose state is asked for{}; it is one of {}",
                words::did_you_mean(nearest.as_deref()),
                STATE_PARTS.join(", ")
            ));
        }
    }
    Ok(())
}

/// Parts of the vehicle whose state is asked for.
pub const STATE_PARTS: [&str; 7] = ["key", "engine", "ran", "lift", "wheels", "battery", "high_voltage"];

/// Applies every `--state`.
pub fn apply_states(vehicle: &mut VehicleState, flags: &[String], minute: i64) -> Result<(), ShopError> {
    let mut states = Vec::with_capacity(flags.len());
    for flag in flags {
        let (part, state) =
            flag.split_once('=').ok_or_else(|| ShopError::refused(format!("--state {flag}: write it as key=off")))?;
        states.push((part.trim(), state.trim()));
    }
    // When the engine stopped is said of an engine that is.
    states.sort_by_key(|(part, _)| *part == "ran");
    for (part, state) in states {
        set_state(vehicle, part, state, minute).map_err(ShopError::refused)?;
    }
    Ok(())
}
