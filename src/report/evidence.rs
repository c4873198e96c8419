//! What is still possible after the readings of a record: first what is excluded, by reading, then what is left, by place.

use super::one_line::plain;
use super::table::wrapped;
use crate::circuit::netlist::Circuit;
use crate::evidence::possible::{Possible, Standing};
use crate::evidence::rival::Rival;
use crate::evidence::table::Table;
use crate::evidence::taken::{LeftOut, Taken};
use crate::model::quantity::Quantity;
use crate::model::words;
use std::fmt::Write;

/// The whole, in `width` columns. It names no cause and puts nothing first that is likelier.
pub fn text(table: &Table, taken: &Taken, possible: &Possible, width: usize) -> String {
    let mut out = String::new();
    let mut line = |text: &str, indent: &str| {
        // Writing into a string can't fail.
        let _ = writeln!(out, "{}", wrapped(&plain(text), width, indent, &format!("{indent}  ")));
    };
    let faults = table.rivals().iter().filter(|rival| rival.fault.is_some()).count();
    line(&format!("Of the {} considered:", words::count(faults, "single fault", "single faults")), "");
    for (place, reading) in taken.readings.iter().enumerate() {
        let fell: Vec<(&Rival, f64, bool)> = table
            .rivals()
            .iter()
            .zip(&possible.rivals)
            .filter_map(|(rival, standing)| match standing {
                Standing::Excluded { by, beyond } if by.last() == Some(&reading.number) => {
                    Some((rival, *beyond, by.len() > 1))
                }
                _ => None,
            })
            .collect();
        let Some(text) = taken.texts.get(place).filter(|_| !fell.is_empty()) else { continue };
        line(&format!("Excluded by reading {} (`{}`: {}):", reading.number, text.id, text.shown), "");
        for (rival, beyond, with_others) in fell {
            let by = Quantity::new(beyond, text.unit.dimension().difference()).show(2);
            let by = if beyond.is_finite() {
                format!("{by} beyond the meter's accuracy")
            } else {
                "it shows no number there".to_owned()
            };
            let others = if with_others { ", together with earlier readings" } else { "" };
            line(&format!("{}: {by}{others}", words_of(rival)), "  ");
        }
    }
    let mut left: Vec<(String, String)> = table
        .rivals()
        .iter()
        .zip(&possible.rivals)
        .filter_map(|(rival, standing)| match standing {
            Standing::Possible { slices } => Some((
                place_of(table.circuit(), rival),
                format!("{}{}", words_of(rival), severity(table, rival, slices)),
            )),
            Standing::Excluded { .. } => None,
        })
        .collect();
    left.sort();
    if let Some(numbers) = &possible.contradiction {
        let numbers: Vec<String> = numbers.iter().map(ToString::to_string).collect();
        let (noun, verb) = if numbers.len() == 1 { ("Reading", "be true") } else { ("Readings", "be true together") };
        line("Nothing is still possible: no single fault and no healthy vehicle gives all these readings.", "");
        line(&format!("{noun} {} can't {verb}. Take them again.", words::all(&numbers)), "");
        line("If they stay the same, there may be a second fault, or one that nobody listed.", "");
    } else {
        line("Still possible:", "");
    }
    for (place, what) in left {
        line(&if place.is_empty() { what } else { format!("{place}: {what}") }, "  ");
    }
    for (id, why) in &taken.left_out {
        let why = match why {
            LeftOut::StateUnknown => "nobody confirmed key, engine and battery".to_owned(),
            LeftOut::NotOfTheCircuit => "the circuit has no such reading".to_owned(),
            LeftOut::Unreadable => "its text can't be read".to_owned(),
            LeftOut::UnknownToTheCircuit(error) => error.to_string(),
        };
        line(&format!("Not counted: `{id}`, because {why}."), "");
    }
    if table.circuit().is_example() {
        line("The circuit's values are an example's. They need not be those of a real vehicle.", "");
    }
    out
}

fn words_of(rival: &Rival) -> &str {
    if rival.fault.is_some() { rival.what() } else { "a healthy vehicle" }
}

/// The parts at which it is, three at most.
fn place_of(circuit: &Circuit, rival: &Rival) -> String {
    let mut parts: Vec<&str> = rival.places(circuit).take(3).collect();
    parts.dedup();
    words::either(&parts)
}

/// The severities that are left, where it is not all of them.
fn severity(table: &Table, rival: &Rival, slices: &[usize]) -> String {
    let Some(range) = rival.fault.as_ref().and_then(|fault| fault.severity) else { return String::new() };
    let ends = |better: fn(f64, f64) -> f64, from: f64| {
        slices
            .iter()
            .map(|slice| table.slices()[*slice])
            .fold(from, |end, slice| better(better(end, slice.from), slice.to))
    };
    let (low, high) = (ends(f64::min, 1.0), ends(f64::max, 0.0));
    let show = |share: f64| range.quantity(range.at(share)).show(2);
    format!(" ({} to {})", show(low), show(high))
}
