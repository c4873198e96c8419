//! What the technician is told to do, with the circuit's own words for what it is done to, and where that is.

use super::table::harmless;
use crate::model::points::Points;
use crate::model::prompt::LeadEnd;
use crate::model::vehicle::{Action, Jumper};

/// An action as an instruction, in plain words and, where the circuit has some, in the circuit's: `the flap shaft` rather than
/// `flap`.
pub fn sentence(action: &Action, points: Option<&Points>) -> String {
    let is_nut = |connector: &str| points.is_some_and(|points| points.nuts.contains(connector));
    let told = match action {
        Action::Unplug { connector } if is_nut(connector) => {
            return harmless(&format!("Take the nut and the cable off their stud: {connector}"));
        }
        Action::Plug { connector } if is_nut(connector) => {
            return harmless(&format!("Put the cable back on its stud, nut tight: {connector}"));
        }
        Action::Connect { jumper: Jumper { from, to, through } } => {
            Action::Connect { jumper: Jumper { from: plain_name(from), to: plain_name(to), through: *through } }
        }
        Action::Disconnect { from, to } => Action::Disconnect { from: plain_name(from), to: plain_name(to) },
        Action::Hold { part, position } => Action::Hold { part: moved(part, points), position: plain_name(position) },
        Action::Release { part } => Action::Release { part: moved(part, points) },
        other => other.clone(),
    };
    harmless(&told.to_string())
}

/// A finished action in a line; of a wait that was said to be over before its time, when that was.
pub fn done(action: &Action, points: Option<&Points>, cut_short_after: Option<u64>) -> String {
    let told = sentence(action, points);
    match cut_short_after {
        Some(seconds) => format!("{told}, said to be over {} after it was asked for", seconds_in_words(seconds)),
        None => told,
    }
}

/// A time in whole seconds or, from two minutes on, in minutes that have passed.
pub fn seconds_in_words(seconds: u64) -> String {
    if seconds < 120 { format!("{seconds} s") } else { format!("{} min", seconds / 60) }
}

/// A moving part in the circuit's words, else by its name.
pub fn moved(part: &str, points: Option<&Points>) -> String {
    let words = points.and_then(|points| points.movable.get(part));
    harmless(&words.map_or_else(|| plain_name(part), Clone::clone))
}

/// A name as people read it: `battery negative` for `battery_negative`.
pub fn plain_name(name: &str) -> String {
    name.replace('_', " ")
}

/// Where it is done, a line for each place; none where the circuit says nothing.
pub fn places(action: &Action, points: Option<&Points>) -> Vec<String> {
    let Some(points) = points else { return vec![] };
    let lines = match action {
        Action::Connect { jumper: Jumper { from, to, .. } } | Action::Disconnect { from, to } => {
            [from, to].into_iter().filter_map(|name| points.ends.get(name)).map(place).collect()
        }
        Action::Unplug { connector } | Action::Plug { connector } => {
            points.places.get(connector).map(|place| format!("{connector}: {place}")).into_iter().collect()
        }
        _ => vec![],
    };
    lines.iter().map(|line: &String| harmless(line)).collect()
}

/// Where a lead goes, in a line: its name, pin, wire and place, as far as they are known and say something.
pub fn place(end: &LeadEnd) -> String {
    let mut parts: Vec<String> = pin_of(end).map(str::to_owned).into_iter().collect();
    parts.extend(end.wire.as_ref().map(|wire| format!("wire {wire}")));
    parts.extend(end.place.as_deref().map(str::to_owned));
    let name = name_of(end);
    if parts.is_empty() { name } else { format!("{name}: {}", parts.join("; ")) }
}

/// What the end of a lead is called: where its name is only a pin's, the pin in words: `C41.2, component side` for
/// `C41.2.component`.
pub fn name_of(end: &LeadEnd) -> String {
    pin_that_is_named(end).map_or_else(|| plain_name(&end.name), str::to_owned)
}

/// The pin at which the lead goes, where that says more than its name: `C41.3`, `G7` or `relay.87`, and not what only the
/// circuit calls so, such as `engine_block`.
pub fn pin_of(end: &LeadEnd) -> Option<&str> {
    let plain = |text: &str| text.replace(['.', '_'], " ");
    let is_marked = |point: &str| point.contains(|c: char| c.is_uppercase() || c.is_ascii_digit());
    let more = |point: &&str| is_marked(point) && pin_that_is_named(end).is_none() && plain(point) != plain(&end.name);
    end.point.as_deref().filter(more)
}

/// The pin, where the name is only its own.
fn pin_that_is_named(end: &LeadEnd) -> Option<&str> {
    let is_named = |point: &&str| {
        point.split_once(", ").is_some_and(|(pin, _)| {
            end.name
                .split_at_checked(pin.len())
                .is_some_and(|(head, rest)| head == pin && (rest.is_empty() || rest.starts_with('.')))
        })
    };
    end.point.as_deref().filter(is_named)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn end(name: &str, point: &str, wire: Option<&str>, place: &str) -> LeadEnd {
        LeadEnd { name: name.into(), point: Some(point.into()), wire: wire.map(Into::into), place: Some(place.into()) }
    }

    #[test]
    fn a_nut_is_not_unplugged() {
        let points = Points { nuts: ["C51".to_owned()].into(), ..Points::default() };
        let off = |connector: &str| sentence(&Action::Unplug { connector: connector.to_owned() }, Some(&points));
        assert_eq!(off("C51"), "Take the nut and the cable off their stud: C51");
        assert_eq!(off("C41"), "Unplug C41");
        let on = Action::Plug { connector: "C51".to_owned() };
        assert_eq!(sentence(&on, Some(&points)), "Put the cable back on its stud, nut tight: C51");
        assert_eq!(sentence(&on, None), "Plug C51 in again");
    }

    #[test]
    fn a_place_says_what_is_known_of_it_once() {
        let pin = "C41.3, harness side";
        assert_eq!(
            place(&end("signal", pin, Some("green, 0.75 mm2"), "at the housing")),
            "signal: C41.3, harness side; wire green, 0.75 mm2; at the housing"
        );
        assert_eq!(place(&end("C41.3", pin, None, "at the housing")), "C41.3, harness side: at the housing");
        let pin = "C41.2, component side";
        assert_eq!(place(&end("C41.2.component", pin, None, "unplugged")), "C41.2, component side: unplugged");
        assert_eq!(place(&end("C4", pin, None, "unplugged")), "C4: C41.2, component side; unplugged");
        assert_eq!(
            place(&end("battery_negative", "battery.negative", None, "in the box")),
            "battery negative: in the box"
        );
        assert_eq!(
            place(&end("starter_case", "engine_block", None, "bare metal of the case")),
            "starter case: bare metal of the case"
        );
        assert_eq!(place(&LeadEnd { name: "frame".into(), ..LeadEnd::default() }), "frame");
    }
}
