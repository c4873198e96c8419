//! What a person is asked before a run begins or goes on: the job, and how the vehicle stands.

use super::clock::EdgeClock;
use super::input::Input;
use super::output::Output;
use super::start::set_state;
use crate::model::job::Job;
use crate::model::meter::Meter;
use crate::model::vehicle::{Engine, VehicleState};
use crate::report::action::plain_name;
use crate::report::table::{harmless, table, wrapped};
use crate::run::journal::Clock;

/// Asks for what is not known of the job. `None`: put down.
pub fn ask_job(input: &mut Input, output: &mut Output, mut job: Job, meters: &[Meter]) -> Option<Job> {
    output.line("What is known of the job (Enter leaves one out):");
    let ask = |input: &mut Input, output: &mut Output, label: &str| -> Option<Option<String>> {
        let text = input.line(&format!("  {label}: "), output)?;
        Some(Some(text.trim().to_owned()).filter(|text| !text.is_empty()))
    };
    if job.vehicle.is_none() {
        job.vehicle = ask(input, output, "vehicle or unit")?;
    }
    if job.odometer.is_none() {
        job.odometer = ask(input, output, "odometer, with its unit")?;
    }
    if job.concern.is_none() {
        job.concern = ask(input, output, "concern, in the customer's words")?;
    }
    if job.concern.is_some() && job.verified.is_none() {
        job.verified = match ask(input, output, "seen happening? 1 yes, 2 no")?.as_deref() {
            Some("1" | "y" | "yes") => Some(true),
            Some("2" | "n" | "no") => Some(false),
            _ => None,
        };
    }
    if job.codes.is_empty()
        && let Some(codes) = ask(input, output, "trouble codes, with spaces between")?
    {
        job.codes = codes.split([' ', ',', ';']).filter(|code| !code.is_empty()).map(str::to_owned).collect();
    }
    if job.technician.is_none() {
        job.technician = ask(input, output, "technician")?;
    }
    if job.meter.is_none() && !meters.is_empty() {
        for (index, meter) in meters.iter().enumerate() {
            output.line(&format!("    {}  {}", index + 1, harmless(&meter.name)));
        }
        while let Some(text) = ask(input, output, "meter, by number")? {
            let chosen = text.parse::<usize>().ok().and_then(|number| meters.get(number.checked_sub(1)?));
            match chosen.or_else(|| meters.iter().find(|meter| meter.id == text)) {
                Some(meter) => {
                    job.meter = Some(meter.id.clone());
                    break;
                }
                None => output.line(&format!("    there is no meter `{}` here", harmless(&text))),
            }
        }
    }
    if job.conditions.is_none() {
        job.conditions = ask(input, output, "weather and temperature")?;
    }
    Some(job)
}

const CHOICES: [(&str, &str, &[&str]); 6] = [
    ("key", "key", &["off", "accessory", "on"]),
    ("engine", "engine", &["stopped", "running"]),
    ("lift", "vehicle", &["down", "raised"]),
    ("wheels", "wheels", &["chocked", "free"]),
    ("battery", "battery", &["connected", "disconnected"]),
    ("high_voltage", "high-voltage system", &["absent", "present"]),
];

/// Asks how the vehicle stands. `None`: put down.
pub fn ask_state(
    input: &mut Input,
    output: &mut Output,
    mut vehicle: VehicleState,
    minute: i64,
) -> Option<VehicleState> {
    let mut asked = false;
    for (part, label, states) in CHOICES {
        if state_word(&vehicle, part) != "unknown" {
            continue;
        }
        if !std::mem::replace(&mut asked, true) {
            let words = "How the vehicle stands (Enter: not known, which counts as hazardous):";
            output.line(&wrapped(words, output.width(), "", "  "));
        }
        let choices: Vec<_> =
            states.iter().enumerate().map(|(index, state)| format!("{} {state}", index + 1)).collect();
        loop {
            let text = input.line(&format!("  {label}: {} > ", choices.join(", ")), output)?;
            let text = text.trim();
            let chosen = text.parse::<usize>().ok().and_then(|number| states.get(number.checked_sub(1)?).copied());
            let state = if text.is_empty() { "unknown" } else { chosen.unwrap_or(text) };
            match set_state(&mut vehicle, part, state, minute) {
                Ok(()) => break,
                Err(problem) => output.line(&wrapped(&harmless(&problem), output.width(), "    ", "    ")),
            }
        }
        if part == "engine" && vehicle.engine == Engine::Stopped && vehicle.engine_stopped_at.is_none() {
            loop {
                let text = input.line("  engine stopped how many minutes ago? > ", output)?;
                if text.trim().is_empty() {
                    break;
                }
                match set_state(&mut vehicle, "ran", text.trim(), minute) {
                    Ok(()) => break,
                    Err(problem) => output.line(&wrapped(&harmless(&problem), output.width(), "    ", "    ")),
                }
            }
        }
    }
    Some(vehicle)
}

fn state_word(vehicle: &VehicleState, part: &str) -> String {
    match part {
        "key" => vehicle.key.to_string(),
        "engine" => vehicle.engine.to_string(),
        "lift" => vehicle.lift.to_string(),
        "wheels" => vehicle.wheels.to_string(),
        "battery" => vehicle.battery.to_string(),
        _ => vehicle.high_voltage.to_string(),
    }
}

/// Shows how the vehicle stands, to confirm with Enter or to correct part by part. `None`: put down.
pub fn confirm_state(input: &mut Input, output: &mut Output, left: &VehicleState) -> Option<VehicleState> {
    let mut vehicle = left.clone();
    loop {
        let mut rows: Vec<Vec<String>> =
            CHOICES.iter().map(|(part, label, _)| vec![(*label).to_owned(), state_word(&vehicle, part)]).collect();
        let list = |names: &std::collections::BTreeSet<String>| names.iter().cloned().collect::<Vec<_>>().join(", ");
        if !vehicle.unplugged.is_empty() {
            rows.push(vec!["unplugged".into(), harmless(&list(&vehicle.unplugged))]);
        }
        if !vehicle.removed.is_empty() {
            rows.push(vec!["taken out".into(), harmless(&list(&vehicle.removed))]);
        }
        for (part, position) in &vehicle.positions {
            rows.push(vec![harmless(part), harmless(position)]);
        }
        for jumper in &vehicle.jumpers {
            let through = jumper.through.map(|resistance| format!(" through {resistance}")).unwrap_or_default();
            rows.push(vec![
                "connected".into(),
                harmless(&format!("{} to {}{through}", plain_name(&jumper.from), plain_name(&jumper.to))),
            ]);
        }
        let drawn = table(output.width(), &[], &rows, &[]);
        output.line(&drawn);
        let words = "Enter if it stands so; else what is different, as key=on or plug=C41";
        output.line(&wrapped(words, output.width(), "  ", "  "));
        let text = input.line("  > ", output)?;
        let text = text.trim();
        if text.is_empty() {
            return Some(vehicle);
        }
        if text.eq_ignore_ascii_case("pause") {
            return None;
        }
        if let Err(problem) = correct(&mut vehicle, text) {
            output.line(&wrapped(&harmless(&problem), output.width(), "    ", "    "));
        }
    }
}

fn correct(vehicle: &mut VehicleState, text: &str) -> Result<(), String> {
    let (part, state) = text.split_once('=').ok_or("write it as key=on, lift=raised, plug=C41 or unplug=C41")?;
    let (part, state) = (part.trim(), state.trim());
    match part {
        "plug" => _ = vehicle.unplugged.remove(state),
        "unplug" => _ = vehicle.unplugged.insert(state.to_owned()),
        "put_back" => _ = vehicle.removed.remove(state),
        "take_out" => _ = vehicle.removed.insert(state.to_owned()),
        "remove" => vehicle.jumpers.retain(|jumper| jumper.from != state && jumper.to != state),
        held if vehicle.positions.contains_key(held) => _ = vehicle.positions.insert(held.to_owned(), state.to_owned()),
        _ => {
            // The run's own clock, which may have been set by hand.
            let minute = EdgeClock::from_environment()?.now().minute();
            set_state(vehicle, part, state, minute)?;
        }
    }
    Ok(())
}
