//! What a person is asked before a run begins or goes on: the job, and how the vehicle stands.

use crate::cli::terminal::input::Input;
use crate::cli::terminal::output::Output;
use crate::model::job::{Job, Nominal};
use crate::model::shop::Shop;
use crate::model::vehicle::{Engine, STATE_PARTS, UNKNOWN, VehicleState};
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
    const ALL: [Self; 9] = [
        Self::Vehicle,
        Self::Nominal,
        Self::Odometer,
        Self::Concern,
        Self::Verified,
        Self::Codes,
        Self::Technician,
        Self::Meter,
        Self::Conditions,
    ];

    const fn label(self) -> &'static str {
        match self {
            Self::Vehicle => "vehicle or unit",
            Self::Nominal => "system voltage: 12 or 24",
            Self::Odometer => "odometer, with its unit",
            Self::Concern => "concern, in the customer's words",
            Self::Verified => "seen happening? 1 yes, 2 no",
            Self::Codes => "trouble codes, with spaces between",
            Self::Technician => "technician",
            Self::Meter => "meter, by number",
            Self::Conditions => "weather and temperature",
        }
    }

    fn is_known(self, job: &Job) -> bool {
        match self {
            Self::Vehicle => job.vehicle.is_some(),
            Self::Nominal => job.nominal.is_some(),
            Self::Odometer => job.odometer.is_some(),
            Self::Concern => job.concern.is_some(),
            Self::Verified => job.verified.is_some(),
            Self::Codes => !job.codes.is_empty(),
            Self::Technician => job.technician.is_some(),
            Self::Meter => job.meter.is_some(),
            Self::Conditions => job.conditions.is_some(),
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
                    "" => None,
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

/// Asks for what is not known of the job. `None`: put down.
pub fn ask_job(input: &mut Input, output: &mut Output, mut job: Job, shop: &Shop) -> Option<Job> {
    let asked: Vec<About> = About::ALL
        .into_iter()
        .filter(|about| !about.is_known(&job))
        .filter(|about| *about != About::Meter || !shop.meters.is_empty())
        .collect();
    if !asked.is_empty() {
        output.line("What is known of the job (Enter leaves one out):");
    }
    let mut at = 0;
    while let Some(about) = asked.get(at) {
        // Only what was complained of can have been seen.
        let applies = |about: &About, job: &Job| *about != About::Verified || job.concern.is_some();
        if !applies(about, &job) {
            at += 1;
            continue;
        }
        for (index, (_, words)) in about.choices(shop).iter().enumerate() {
            output.line(&format!("    {}  {}", index + 1, harmless(words)));
        }
        let typed = input.line(&format!("  {}: ", about.label()), output)?;
        let say =
            |output: &mut Output, text: &str| output.line(&wrapped(&harmless(text), output.width(), "    ", "    "));
        match typed.trim() {
            "pause" => return None,
            "help" => say(output, "Enter leaves it out, back goes to the question before, pause ends it here."),
            "back" => at = asked[..at].iter().rposition(|about| applies(about, &job)).unwrap_or(0),
            text => match about.set(&mut job, text, shop) {
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
    Some(job)
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
        let typed = input.line(&format!("  Enter: go on with {simulated}, pause: begin nothing: "), output);
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
        asked.push((part.name, format!("  {}: {} > ", part.question, choices.join(", ")), part.choices));
        if part.name == "engine" {
            asked.push((RAN, "  engine stopped how many minutes ago? > ".to_owned(), &[]));
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
        let text = input.line(question, output)?;
        let mut say = |text: &str| output.line(&wrapped(&harmless(text), output.width(), "    ", "    "));
        match text.trim() {
            "pause" => return None,
            "help" => say(
                "Type a number; Enter leaves it unknown, which counts as hazardous; back goes to the question before; pause ends it here.",
            ),
            "back" => at = asked[..at].iter().rposition(|(part, ..)| applies(part, &vehicle)).unwrap_or(0),
            "" if *part == RAN => {
                vehicle.engine_stopped_at = None;
                at += 1;
            }
            text => {
                let chosen = text.parse::<usize>().ok().and_then(|number| states.get(number.checked_sub(1)?).copied());
                let state = if text.is_empty() { UNKNOWN } else { chosen.unwrap_or(text) };
                match set_state(&mut vehicle, part, state, minute) {
                    Ok(()) => at += 1,
                    Err(problem) => say(&problem),
                }
            }
        }
    }
    Some(vehicle)
}

/// Shows how the vehicle stands, to confirm with Enter or to correct part by part. `None`: put down.
pub fn confirm_state(input: &mut Input, output: &mut Output, left: &VehicleState) -> Option<VehicleState> {
    let mut vehicle = left.clone();
    loop {
        let drawn = table(output.width(), &[], &rows(&vehicle), &[]);
        output.line(&drawn);
        let example = vehicle.unplugged.first().map(|connector| format!(" or plug={connector}")).unwrap_or_default();
        let words = format!("Enter if it stands so; else what is different, as key=on{}", harmless(&example));
        output.line(&wrapped(&words, output.width(), "  ", "  "));
        let text = input.line("  > ", output)?;
        let text = text.trim();
        if text.is_empty() {
            return Some(vehicle);
        }
        if text.eq_ignore_ascii_case("pause") {
            return None;
        }
        if text.eq_ignore_ascii_case("help") {
            let words = format!("{HOW_TO_CORRECT}; several go in one line; pause puts the run down.");
            output.line(&wrapped(&words, output.width(), "    ", "    "));
            continue;
        }
        for correction in corrections(text) {
            if let Err(problem) = correct(&mut vehicle, correction) {
                output.line(&wrapped(&harmless(&problem), output.width(), "    ", "    "));
            }
        }
    }
}

const HOW_TO_CORRECT: &str = "write it as key=on, lift=raised, plug=C41 or unplug=C41";

/// The corrections of one line: with spaces between, where each word is one.
fn corrections(text: &str) -> Vec<&str> {
    let words: Vec<&str> = text.split_whitespace().collect();
    if words.iter().all(|word| word.contains('=')) { words } else { vec![text] }
}

fn correct(vehicle: &mut VehicleState, text: &str) -> Result<(), String> {
    let (part, state) = text.split_once('=').ok_or(HOW_TO_CORRECT)?;
    let (part, state) = (part.trim(), state.trim());
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
