//! The evidence as text: first the excluded faults, by reading; then the faults that are left, by place.

use super::one_line::plain;
use super::source_words::source_words;
use super::table::{harmless, wrapped};
use crate::model::still_possible::{NextReading, ReadingExcludes, StillPossible};
use crate::model::words;
use std::fmt::Write as _;

/// The id of the vehicle without a fault among what is excluded.
const HEALTHY: &str = "healthy";
/// So many faults are named in one list, where a short one is wanted.
const FEW: usize = 4;
/// So many places.
const FEW_PLACES: usize = 8;

/// The whole of it; `short` names a few faults of each list and says how many more there are.
pub fn text(still: &StillPossible, short: bool, width: usize) -> String {
    let mut out = String::new();
    let mut line = |text: &str, first: &str, rest: &str| {
        let _ = writeln!(out, "{}", wrapped(&harmless(&plain(text)), width, first, rest));
    };
    let left: usize = still.left.iter().map(|at| at.faults.len()).sum();
    line(&format!("Of the {} single faults considered:", still.considered), "", "  ");
    if let Some(factor) = still.widened {
        let text = format!(
            "The circuit is an example's. On this vehicle Ohmwright takes its tolerances {factor} times as wide, and excludes less."
        );
        line(&text, "", "  ");
    }
    if let Some(assumed) = &still.assumed_meter {
        line(&format!("Assumed meter, not yours: {}.", source_words(assumed)), "", "  ");
    }
    for reading in still.readings.iter().filter(|reading| !reading.excluded.is_empty()) {
        line(&excluded_by(reading), "", "  ");
        for one in listed(&reading.excluded.iter().map(excluded).collect::<Vec<_>>(), short) {
            line(&one, "    ", "      ");
        }
    }
    let silent: Vec<String> = still
        .readings
        .iter()
        .filter(|reading| reading.excluded.is_empty())
        .map(|reading| format!("{} ({})", reading.number, reading.id))
        .collect();
    if !silent.is_empty() {
        let verb = if silent.len() == 1 { "Reading" } else { "Readings" };
        let text = format!("{verb} {} excluded nothing that others had not excluded.", words::all(&silent));
        line(&text, "", "  ");
    }
    for (id, why) in &still.not_used {
        line(&format!("`{id}` was not used: {why}."), "", "  ");
    }
    if let Some(readings) = &still.contradiction {
        let numbers: Vec<String> = readings.iter().map(usize::to_string).collect();
        let text = match numbers.as_slice() {
            [only] => format!("No single fault considered can give reading {only}."),
            several => format!("No single fault considered can give readings {} together.", words::all(several)),
        };
        line(&format!("{text} There was a slip, or two faults, or one that nobody listed."), "", "  ");
        return out;
    }
    line(&format!("Still possible, {left} of {}, by place:", still.considered), "", "  ");
    let places = if short { FEW_PLACES.min(still.left.len()) } else { still.left.len() };
    for at in &still.left[..places] {
        for (index, fault) in listed(&at.faults, short).into_iter().enumerate() {
            let place = if index == 0 { format!("{}: ", at.place) } else { String::new() };
            line(&format!("{place}{fault}"), if index == 0 { "    " } else { "      " }, "      ");
        }
    }
    if places < still.left.len() {
        let more = words::count(still.left.len() - places, "more place", "more places");
        line(&format!("and at {more}; `ohmwright show --evidence` lists all."), "    ", "      ");
    }
    if still.healthy {
        line("A vehicle without any of these faults could have given the readings, too.", "", "  ");
    }
    out
}

/// The proposal, or that there is none.
pub fn next(proposed: Option<&NextReading>, width: usize) -> String {
    let mut out = String::new();
    let mut line = |text: &str, first: &str, rest: &str| {
        let _ = writeln!(out, "{}", wrapped(&harmless(&plain(text)), width, first, rest));
    };
    let Some(next) = proposed else {
        line("No reading of volts, or of what the module shows, tells apart what is left.", "", "  ");
        return out;
    };
    let first = next.first.as_ref().map(|first| format!(" First: {first}.")).unwrap_or_default();
    let minutes = words::count((next.minutes.ceil() as usize).max(1), "minute", "minutes");
    line(&format!("It would tell most: {}.{first} About {minutes}.", next.what), "", "  ");
    line("It would tell these apart:", "", "  ");
    for (number, part) in next.parts.iter().enumerate() {
        let named = listed(part, true).join("; ");
        line(&format!("{}. {named}", number + 1), "    ", "       ");
    }
    line("You need not take it. Its cautions come with the step that asks for it.", "", "  ");
    out
}

fn excluded_by(reading: &ReadingExcludes) -> String {
    let healthy = reading.excluded.iter().any(|fault| fault.id == HEALTHY);
    let faults = reading.excluded.len() - usize::from(healthy);
    let counted = match (faults, healthy) {
        (0, _) => "a vehicle without a fault".to_owned(),
        (_, false) => words::count(faults, "fault", "faults"),
        (_, true) => format!("{} and a vehicle without a fault", words::count(faults, "fault", "faults")),
    };
    format!("Excluded by reading {}, {} ({}): {}", reading.number, reading.value, reading.about, counted)
}

fn excluded(fault: &crate::model::still_possible::ExcludedFault) -> String {
    let with = match fault.with.as_slice() {
        [] => String::new(),
        numbers => {
            let numbers: Vec<String> = numbers.iter().map(usize::to_string).collect();
            format!(", together with {}", words::all(&numbers))
        }
    };
    format!("{} ({}{with})", fault.what, fault.beyond)
}

/// All of a list, or a few of it and how many more.
fn listed(all: &[String], short: bool) -> Vec<String> {
    if !short || all.len() <= FEW + 1 {
        return all.to_vec();
    }
    let mut few: Vec<String> = all[..FEW].to_vec();
    few.push(format!("and {} more", all.len() - FEW));
    few
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::prompt::PromptId;
    use crate::model::still_possible::{ExcludedFault, LeftAt};

    fn still() -> StillPossible {
        let fault = |what: &str| ExcludedFault {
            id: what.replace(' ', "_"),
            what: what.to_owned(),
            beyond: "beyond by 0.31 V".to_owned(),
            with: vec![],
        };
        StillPossible {
            considered: 5,
            readings: vec![
                ReadingExcludes {
                    number: 1,
                    id: PromptId::new("feed"),
                    about: "Feed".to_owned(),
                    value: "12.4 V".to_owned(),
                    excluded: vec![fault("feed open"), ExcludedFault { with: vec![1], ..fault("fuse open") }],
                },
                ReadingExcludes {
                    number: 2,
                    id: PromptId::new("ground"),
                    about: "Ground".to_owned(),
                    value: "0.02 V".to_owned(),
                    excluded: vec![],
                },
            ],
            left: vec![LeftAt { place: "C1.2".to_owned(), faults: vec!["pin corroded".to_owned()] }],
            healthy: true,
            ..StillPossible::default()
        }
    }

    #[test]
    fn what_is_excluded_comes_first_by_reading_then_what_is_left_by_place() {
        assert_eq!(
            text(&still(), false, 80),
            "Of the 5 single faults considered:\n\
             Excluded by reading 1, 12.4 V (Feed): 2 faults\n\
             \x20   feed open (beyond by 0.31 V)\n\
             \x20   fuse open (beyond by 0.31 V, together with 1)\n\
             Reading 2 (ground) excluded nothing that others had not excluded.\n\
             Still possible, 1 of 5, by place:\n\
             \x20   C1.2: pin corroded\n\
             A vehicle without any of these faults could have given the readings, too.\n"
        );
    }

    #[test]
    fn readings_that_contradict_each_other_name_no_fault() {
        let shown = text(&StillPossible { contradiction: Some(vec![1, 3]), ..still() }, true, 100);
        assert!(shown.contains("No single fault considered can give readings 1 and 3 together."), "{shown}");
        assert!(!shown.contains("Still possible"), "{shown}");
    }

    #[test]
    fn a_proposal_says_what_it_tells_apart_and_that_you_need_not_take_it() {
        let next_one = NextReading {
            what: "DC volts, red on C1.2, black on battery negative".to_owned(),
            first: Some("key ON".to_owned()),
            minutes: 2.5,
            parts: vec![vec!["pin corroded".to_owned()], vec!["no fault".to_owned()]],
        };
        let shown = next(Some(&next_one), 80);
        assert!(shown.contains("First: key\n  ON. About 3 minutes."), "{shown}");
        assert!(shown.contains("1. pin corroded") && shown.contains("You need not take it."), "{shown}");
    }
}
