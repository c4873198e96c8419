//! How a vehicle stands, as people read it.

use super::action::plain_name;
use super::table::harmless;
use crate::model::vehicle::{Battery, Engine, Key, Lift, STATE_PARTS, VehicleState};

/// Everything that is known of it, a row for each: the parts, then what is apart, out, held and connected.
pub fn rows(vehicle: &VehicleState) -> Vec<Vec<String>> {
    let mut rows: Vec<Vec<String>> =
        STATE_PARTS.iter().map(|part| vec![part.label.to_owned(), part.state(vehicle).to_owned()]).collect();
    let mut row = |label: &str, what: &str| rows.push(vec![harmless(label), harmless(what)]);
    let list = |names: &std::collections::BTreeSet<String>| names.iter().cloned().collect::<Vec<_>>().join(", ");
    if !vehicle.unplugged.is_empty() {
        row("unplugged", &list(&vehicle.unplugged));
    }
    if !vehicle.removed.is_empty() {
        row("taken out", &list(&vehicle.removed));
    }
    for (part, position) in &vehicle.positions {
        row(&plain_name(part), position);
    }
    for jumper in &vehicle.jumpers {
        let through = jumper.through.map(|resistance| format!(" through {resistance}")).unwrap_or_default();
        row("connected", &format!("{} to {}{through}", plain_name(&jumper.from), plain_name(&jumper.to)));
    }
    rows
}

/// The same in a line: `key off, engine stopped, vehicle raised, …`.
pub fn words(vehicle: &VehicleState) -> String {
    rows(vehicle).iter().map(|row| row.join(" ")).collect::<Vec<_>>().join(", ")
}

/// How it stands at a prompt, in parts: the key, what is not as usual, and the connectors that the leads go to.
pub fn at_prompt(vehicle: &VehicleState, connectors: &[&str]) -> Vec<String> {
    let mut parts = vec![match vehicle.key {
        Key::On => "key ON".to_owned(),
        Key::Unknown => "key not known".to_owned(),
        key => format!("key {key}"),
    }];
    match vehicle.engine {
        Engine::Running => parts.push("engine RUNNING".to_owned()),
        Engine::Cranking => parts.push("engine CRANKING".to_owned()),
        Engine::Stopped | Engine::Unknown => {}
    }
    if vehicle.battery == Battery::Disconnected {
        parts.push("battery cable OFF".to_owned());
    }
    if vehicle.lift == Lift::Raised {
        parts.push("vehicle RAISED".to_owned());
    }
    parts.extend(vehicle.unplugged.iter().map(|connector| format!("{connector} UNPLUGGED")));
    let mated = connectors.iter().filter(|connector| !vehicle.unplugged.contains(**connector));
    parts.extend(mated.map(|connector| format!("{connector} mated")));
    parts.extend(vehicle.removed.iter().map(|part| format!("{part} OUT")));
    parts.extend(
        vehicle
            .positions
            .iter()
            .map(|(part, position)| format!("{} {}", plain_name(part), if position == "on" { "ON" } else { position })),
    );
    parts.extend(
        vehicle
            .jumpers
            .iter()
            .map(|jumper| format!("JUMPER {} to {}", plain_name(&jumper.from), plain_name(&jumper.to))),
    );
    parts
}

/// What of it stands otherwise than it stood once, in a line; `None` where nothing does.
pub fn left(stood: &VehicleState, now: &VehicleState) -> Option<String> {
    let before = rows(stood);
    let mut now = now.clone();
    // Nobody cranks on when the run is over.
    if now.engine == Engine::Cranking {
        now.engine = Engine::Stopped;
    }
    let after = rows(&now);
    let mut changed: Vec<String> = after.iter().filter(|row| !before.contains(row)).map(|row| row.join(" ")).collect();
    // What was apart when it began and is together now has no row of its own any more.
    let gone = before.iter().filter(|row| !after.iter().any(|later| later[0] == row[0]));
    changed.extend(gone.map(|row| format!("no longer {}", row.join(" "))));
    (!changed.is_empty()).then(|| changed.join(", "))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::vehicle::{Action, Key};

    #[test]
    fn what_is_left_otherwise_is_named_and_nothing_else() {
        let stood = VehicleState { key: Key::Off, engine: Engine::Stopped, ..VehicleState::default() };
        assert_eq!(left(&stood, &stood), None);
        let unplugged = stood.after(&Action::Unplug { connector: "C22".to_owned() }, None).after(&Action::Crank, None);
        assert_eq!(left(&stood, &unplugged).as_deref(), Some("key on, unplugged C22"));
        assert_eq!(left(&unplugged, &stood).as_deref(), Some("key off, engine stopped, no longer unplugged C22"));
    }
}
