//! What a person is asked before a run begins or goes on: the job, and how the vehicle stands.

use crate::cli::terminal::input::Input;
use crate::cli::terminal::output::Output;
use crate::model::job::{Job, Nominal};
use crate::model::points::Points;
use crate::model::shop::Shop;
use crate::model::vehicle::{Engine, STATE_PARTS, StatePart, UNKNOWN, VehicleState};
use crate::model::words;
use crate::report::table::{harmless, table, wrapped};
use crate::report::vehicle::rows;
use crate::run::journal::Clock;
use crate::shop::clock::EdgeClock;
use crate::shop::people::unlisted;
use crate::shop::vehicle_state::{RAN, set_state};

/// Something to be known of the job.
#[derive(Clone, Copy, PartialEq, Eq)]
enum About {
    Vehicle,
    Nominal,
    Odometer,
    Concern,
    Verified,
    Codes,
    Technician,
    Meter,
    Conditions,
}

impl About {
    /// The fields asked before every run.
    const FIRST: [Self; 3] = [Self::Vehicle, Self::Nominal, Self::Meter];

    /// The optional fields, on a screen of their own.
    const MORE: [Self; 6] =
        [Self::Odometer, Self::Concern, Self::Verified, Self::Codes, Self::Technician, Self::Conditions];

    /// The value so far, as it would be typed.
    fn filled(self, job: &Job) -> Option<String> {
        match self {
            Self::Vehicle => job.vehicle.clone(),
            Self::Nominal => job.nominal.map(|nominal| nominal.to_string()),
            Self::Odometer => job.odometer.clone(),
            Self::Concern => job.concern.clone(),
            Self::Verified => job.verified.map(|seen| if seen { "yes" } else { "no" }.to_owned()),
            Self::Codes => (!job.codes.is_empty()).then(|| job.codes.join(" ")),
            Self::Technician => job.technician.clone(),
            Self::Meter => job.meter.clone(),
            Self::Conditions => job.conditions.clone(),
        }
    }

    const fn label(self) -> &'static str {
        match self {
            Self::Vehicle => "vehicle or unit",
            Self::Nominal => "system voltage, 12 or 24",
            Self::Odometer => "odometer, with its unit",
            Self::Concern => "concern, in the customer's words",
            Self::Verified => "seen happening? 1 yes, 2 no",
            Self::Codes => "trouble codes, with spaces between",
            Self::Technician => "technician",
            Self::Meter => "meter, by number",
            Self::Conditions => "weather and temperature",
        }
    }

    /// What can be chosen by its number.
    fn choices(self, shop: &Shop) -> Vec<(&str, &str)> {
        match self {
            Self::Technician => shop.people.iter().map(|person| (person.name.as_str(), person.name.as_str())).collect(),
            Self::Meter => shop.meters.iter().map(|meter| (meter.id.as_str(), meter.name.as_str())).collect(),
            _ => vec![],
        }
    }

    /// Writes down what was typed; what is wrong with it, if anything is.
    fn set(self, job: &mut Job, typed: &str, shop: &Shop) -> Result<(), String> {
        let text = Some(typed.to_owned()).filter(|text| !text.is_empty());
        let choices = self.choices(shop);
        let chosen = typed.parse::<usize>().ok().and_then(|number| choices.get(number.checked_sub(1)?));
        match self {
            Self::Vehicle => job.vehicle = text,
            Self::Nominal => {
                let read = text.map(|text| text.parse::<Nominal>()).transpose();
                job.nominal = read.map_err(|error| error.to_string())?;
            }
            Self::Odometer => job.odometer = text,
            Self::Concern => job.concern = text,
            Self::Verified => {
                job.verified = match typed {
                    "1" | "y" | "yes" => Some(true),
                    "2" | "n" | "no" => Some(false),
                    other => return Err(format!("`{other}` is neither yes nor no: type 1 for yes or 2 for no")),
                }
            }
            Self::Codes => {
                let codes = typed.split([' ', ',', ';']).filter(|code| !code.is_empty());
                job.codes = codes.map(str::to_owned).collect();
            }
            Self::Technician => {
                if chosen.is_none() && !choices.is_empty() && typed.parse::<usize>().is_ok() {
                    return Err(format!("there is no number {typed} in this list"));
                }
                job.technician = chosen.map(|(name, _)| (*name).to_owned()).or(text);
            }
            Self::Meter => {
                let meter = chosen.or_else(|| choices.iter().find(|(id, _)| *id == typed));
                job.meter = match (meter, text) {
                    (Some((id, _)), _) => Some((*id).to_owned()),
                    (None, None) => None,
                    (None, Some(other)) => return Err(format!("there is no meter `{other}` here")),
                }
            }
            Self::Conditions => job.conditions = text,
        }
        Ok(())
    }
}

/// How a screen of the form is left.
enum Left {
    /// To go on.
    On,
    /// Back to the screen before.
    Back,
    /// Paused.
    Paused,
}

/// Asks for the unknown fields of the job: vehicle, system and meter, and the optional ones on request. `None`:
/// paused.
pub fn ask_job(input: &mut Input, output: &mut Output, mut job: Job, shop: &Shop) -> Option<Job> {
    let missing = |list: &[About], job: &Job| -> Vec<About> {
        let is_asked =
            |about: &About| about.filled(job).is_none() && (*about != About::Meter || !shop.meters.is_empty());
        list.iter().copied().filter(is_asked).collect()
    };
    let first = missing(&About::FIRST, &job);
    let more = missing(&About::MORE, &job);
    if !first.is_empty() {
        output.line("The job (Enter leaves one out; -- goes back; what is filled in stays):");
    }
    let mut from = 0;
    loop {
        match screen(input, output, (&first, from), &mut job, shop) {
            Left::Paused => return None,
            Left::Back | Left::On => {}
        }
        if more.is_empty() {
            return Some(job);
        }
        let typed = loop {
            let typed =
                input.line("  1: more about the job (concern, codes, technician …), Enter: go on > ", output)?;
            match typed.trim() {
                "1" | "" | "--" | "back" => break typed.trim().to_owned(),
                "pause" => return None,
                _ => say(output, "Type 1, or Enter to go on; -- goes back; `pause` begins nothing."),
            }
        };
        match typed.as_str() {
            "1" => match screen(input, output, (&more, 0), &mut job, shop) {
                Left::Paused => return None,
                Left::On => return Some(job),
                Left::Back => from = first.len(),
            },
            "" => return Some(job),
            _ => from = first.len().saturating_sub(1),
        }
    }
}

fn say(output: &mut Output, text: &str) {
    output.line(&wrapped(&harmless(text), output.width(), "    ", "    "));
}

/// Asks these, from one of them on.
fn screen(
    input: &mut Input,
    output: &mut Output,
    (asked, from): (&[About], usize),
    job: &mut Job,
    shop: &Shop,
) -> Left {
    // Without a concern there is nothing to verify.
    let applies = |about: &About, job: &Job| *about != About::Verified || job.concern.is_some();
    let mut at = from;
    while let Some(about) = asked.get(at) {
        if !applies(about, job) {
            at += 1;
            continue;
        }
        for (index, (_, words)) in about.choices(shop).iter().enumerate() {
            output.line(&format!("    {}  {}", index + 1, harmless(words)));
        }
        let filled = about.filled(job);
        let stays = filled.as_ref().map(|filled| format!(" (Enter: {})", harmless(filled))).unwrap_or_default();
        let Some(typed) = input.line(&format!("  {}{stays}: ", about.label()), output) else { return Left::Paused };
        match typed.trim() {
            "pause" => return Left::Paused,
            "help" => {
                say(output, "Enter leaves it out, or keeps what is filled in. -- goes back. `pause` begins nothing.")
            }
            "back" | "--" => match asked[..at].iter().rposition(|about| applies(about, job)) {
                Some(before) => at = before,
                None => return Left::Back,
            },
            // Going past a field keeps its value.
            "" => at += 1,
            text => match about.set(job, text, shop) {
                Ok(()) => {
                    if *about == About::Technician
                        && let Some(remark) = unlisted(shop, job.technician.as_deref())
                    {
                        say(output, &remark);
                    }
                    at += 1;
                }
                Err(problem) => say(output, &problem),
            },
        }
    }
    Left::On
}

/// Nobody settled which system it is.
pub struct NotSettled;

/// The nominal voltage of a simulated vehicle: the circuit's. A job that says otherwise is asked about, since one of the two is
/// not meant.
pub fn settle_nominal(
    input: &mut Input,
    output: &mut Output,
    job: Option<Nominal>,
    circuit: Option<Nominal>,
) -> Result<Option<Nominal>, NotSettled> {
    let (Some(said), Some(simulated)) = (job, circuit) else { return Ok(circuit.or(job)) };
    if said == simulated {
        return Ok(circuit);
    }
    let words = format!("The job says {said}, and this simulated vehicle has a {simulated} system.");
    output.line(&wrapped(&words, output.width(), "", "  "));
    loop {
        let typed = input.line(&format!("  Enter: go on with {simulated}, pause: begin nothing > "), output);
        match typed.ok_or(NotSettled)?.trim() {
            "" => return Ok(circuit),
            "pause" => return Err(NotSettled),
            other => {
                let words = format!("`{other}` is neither: Enter goes on with {simulated}, pause begins nothing");
                output.line(&wrapped(&harmless(&words), output.width(), "    ", "    "));
            }
        }
    }
}

/// Asks how the vehicle stands. `None`: put down.
pub fn ask_state(
    input: &mut Input,
    output: &mut Output,
    mut vehicle: VehicleState,
    minute: i64,
) -> Option<VehicleState> {
    let mut asked = Vec::new();
    for part in STATE_PARTS.into_iter().filter(|part| !part.is_known(&vehicle)) {
        let choices: Vec<_> =
            part.choices.iter().enumerate().map(|(index, state)| format!("{} {state}", index + 1)).collect();
        asked.push((part.name, format!("  {}: {}", part.question, choices.join(", ")), part.choices));
        if part.name == "engine" {
            asked.push((RAN, "  engine stopped how many minutes ago?".to_owned(), &[]));
        }
    }
    if !asked.is_empty() {
        let words = "How the vehicle stands (Enter: not known, which counts as hazardous):";
        output.line(&wrapped(words, output.width(), "", "  "));
    }
    let applies = |part: &str, vehicle: &VehicleState| part != RAN || vehicle.engine == Engine::Stopped;
    let mut at = 0;
    while let Some((part, question, states)) = asked.get(at) {
        if !applies(part, &vehicle) {
            at += 1;
            continue;
        }
        let filled = StatePart::named(part).map(|part| part.state(&vehicle)).filter(|state| *state != UNKNOWN);
        let stays = filled.map(|state| format!(" (Enter: {state})")).unwrap_or_default();
        let text = input.line(&format!("{question}{stays} > "), output)?;
        let mut say = |text: &str| output.line(&wrapped(&harmless(text), output.width(), "    ", "    "));
        match text.trim() {
            "pause" => return None,
            "help" => say(
                "Type a number. Enter: not known, which counts as hazardous, or as it is filled in. -- goes back. `pause` begins nothing.",
            ),
            "back" | "--" => at = asked[..at].iter().rposition(|(part, ..)| applies(part, &vehicle)).unwrap_or(0),
            // Not known, or as it was said before going back.
            "" => at += 1,
            text => {
                let chosen = text.parse::<usize>().ok().and_then(|number| states.get(number.checked_sub(1)?).copied());
                match set_state(&mut vehicle, part, chosen.unwrap_or(text), minute) {
                    Ok(()) => at += 1,
                    Err(problem) => say(&problem),
                }
            }
        }
    }
    Some(vehicle)
}

/// What can be corrected here: the vehicle's states by the names that the table shows, and what this circuit has.
fn how_to_correct(vehicle: &VehicleState, points: Option<&Points>) -> String {
    let mut ways = vec!["key=on".to_owned(), "vehicle=raised".to_owned()];
    let connectors = points.map(|points| &points.connectors);
    let one = |apart: bool| {
        let known = connectors.into_iter().flatten();
        let mut fitting = known.chain(&vehicle.unplugged).filter(|name| vehicle.unplugged.contains(*name) == apart);
        fitting.next()
    };
    ways.extend(one(true).map(|connector| format!("plug={connector}")));
    ways.extend(one(false).map(|connector| format!("unplug={connector}")));
    if let Some((part, position)) = vehicle.positions.iter().next() {
        ways.push(format!("{part}={position}"));
    }
    format!("write it as {}", words::all(&ways).replace(" and ", " or "))
}

/// Shows how the vehicle stands, to confirm with Enter or to correct part by part. `None`: paused.
pub fn confirm_state(
    input: &mut Input,
    output: &mut Output,
    left: &VehicleState,
    points: Option<&Points>,
) -> Option<VehicleState> {
    let mut vehicle = left.clone();
    loop {
        let drawn = table(output.width(), &[], &rows(&vehicle), &[]);
        output.line(&drawn);
        let words = format!("Enter if it stands so. If not: {}", how_to_correct(&vehicle, points));
        output.line(&wrapped(&harmless(&words), output.width(), "  ", "  "));
        let text = input.fresh_line("  > ", output)?;
        let text = text.trim();
        if text.is_empty() {
            return Some(vehicle);
        }
        if text.eq_ignore_ascii_case("pause") {
            return None;
        }
        if text.eq_ignore_ascii_case("help") {
            let words =
                format!("{}; several go in one line; `pause` pauses the run.", how_to_correct(&vehicle, points));
            say(output, &words);
            continue;
        }
        for correction in corrections(text) {
            if let Err(problem) = correct(&mut vehicle, correction, points) {
                say(output, &problem);
            }
        }
    }
}

/// The corrections of one line: with spaces between, where each word is one.
fn corrections(text: &str) -> Vec<&str> {
    let words: Vec<&str> = text.split_whitespace().collect();
    if words.iter().all(|word| word.contains('=')) { words } else { vec![text] }
}

fn correct(vehicle: &mut VehicleState, text: &str, points: Option<&Points>) -> Result<(), String> {
    let (part, state) = text.split_once('=').ok_or_else(|| how_to_correct(vehicle, points))?;
    let (part, state) = (part.trim(), state.trim());
    if let (Some(points), "plug" | "unplug") = (points, part)
        && !points.connectors.contains(state)
        && !vehicle.unplugged.contains(state)
    {
        let known: Vec<String> = points.connectors.iter().cloned().collect();
        return Err(format!("there is no connector `{state}` in this circuit; it has {}", words::all(&known)));
    }
    // As the table calls it is as good as its short name.
    let part = STATE_PARTS.iter().find(|known| known.label == part).map_or(part, |known| known.name);
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
