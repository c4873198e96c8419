//! A record for the terminal.

use super::action;
use super::entry::{answer_text, ending_text, sign_off_text, verdict_text};
use super::finding;
use super::material::{Later, names_a_fault, was_attended};
use super::measured;
use super::one_line::{named, when};
use super::sweep::sweep_text;
use super::table::{harmless, table, wrapped};
use crate::model::answered_by::AnsweredBy;
use crate::model::clean::Clean;
use crate::model::link::LinkKind;
use crate::model::link_state::LinkState;
use crate::model::points::Points;
use crate::model::record::{Item, Placed, Record, RunStatus};
use crate::model::source::SourceKind;
use crate::model::words;
use std::fmt::Write;

/// Over a record that no vehicle stands behind.
pub const SIMULATED: &str = "SIMULATED. A simulated circuit gave the readings. They say nothing about a vehicle.";

/// How the run stands, in a sentence.
pub fn standing_text(standing: &RunStatus) -> String {
    match standing {
        RunStatus::Concluded(causes) => {
            let named: Vec<_> = causes.iter().map(|cause| cause.cause.as_str()).collect();
            harmless(&named.join("; or: "))
        }
        RunStatus::Ended(ending) => harmless(&ending_text(ending)),
        RunStatus::Waiting { prompt, text } => harmless(&format!("Waits for `{prompt}`: {text}")),
        RunStatus::Open => "Open: paused or broken off".to_owned(),
    }
}

/// A check after the repair that names a record, in a sentence: its name, when, and what came of it.
pub fn check_text(check: &Later) -> String {
    let outcome = standing_text(&check.record.status);
    harmless(&format!("{}, {}: {outcome}", Clean::name(&check.name), check.record.began.short()))
}

/// How a record stands against the digest that a check of it names; nothing where all that was there then is there.
pub const fn changed_since(state: LinkState) -> Option<&'static str> {
    match state {
        LinkState::Same | LinkState::Continued => None,
        LinkState::Changed => {
            Some("THIS RECORD WAS CHANGED since that check was begun: it does not hold what it held then.")
        }
    }
}

/// A record's number and name, as one says which it is.
pub fn called(number: Option<u32>, name: &str) -> String {
    let name = Clean::name(name);
    number.map_or_else(|| name.to_string(), |number| format!("{number}  {name}"))
}

/// A record as text that fits `width` columns, with the checks after the repair that name it; in its circuit's words, where
/// there is one. What came of it comes first.
pub fn text(
    (number, name): (Option<u32>, &str),
    record: &Record,
    points: Option<&Points>,
    checks: &[Later],
    width: usize,
) -> String {
    let mut out = String::new();
    let started = &record.started;
    let check = started.link.as_ref().is_some_and(|link| link.kind == LinkKind::AfterRepair);
    if started.circuit().is_some() {
        let _ = writeln!(out, "{}", wrapped(SIMULATED, width, "", ""));
    }
    for line in finding::of_record(record, check) {
        let _ = writeln!(out, "{}", wrapped(&line, width, "", "  "));
    }
    if let Some(left) = how_it_is_left(record) {
        let _ = writeln!(out, "{}", wrapped(&harmless(&format!("Left changed: {left}.")), width, "", "  "));
    }
    if !says_how_it_was_left(record) {
        let _ = writeln!(out, "{}", wrapped(NOT_SAID_HOW_LEFT, width, "", "  "));
    }
    for check in checks {
        let again = checked_again(&record.status);
        let _ = writeln!(out, "{}", wrapped(&format!("{again}: {}", check_text(check)), width, "", "  "));
        if let Some(changed) = changed_since(check.state) {
            let changed =
                format!("{changed} `ohmwright verify {}` says where, as far as it is signed.", Clean::name(name));
            let _ = writeln!(out, "{}", wrapped(&changed, width, "  ", "  "));
        }
    }
    out.push('\n');
    facts(&mut out, (number, name), record, width);
    for step in &record.steps {
        let _ = writeln!(out);
        if !step.title.is_empty() {
            let near: Vec<_> = step.near.iter().map(|zone| zone.as_str().replace('_', " ")).collect();
            let mut heading = format!("{}: {}", with_path("Step", step.struck_at), step.title);
            if !near.is_empty() {
                let _ = write!(heading, " (near {})", words::all(&near));
            }
            let _ = writeln!(out, "{}", wrapped(&harmless(&heading), width, "", "      "));
        }
        items(&mut out, &step.items, points, started.answered_by, width);
    }
    let _ = writeln!(out);
    for sign_off in &record.sign_offs {
        let text = sign_off_text(&sign_off.statement, &sign_off.at);
        let signed = if sign_off.signature.is_some() { "Signed" } else { "Stated, but never signed" };
        let _ = writeln!(out, "{}", wrapped(&format!("{signed}: {text}"), width, "", "  "));
    }
    if !record.sign_offs.is_empty() {
        let which = number.map_or_else(|| Clean::name(name).to_string(), |number| number.to_string());
        let text = format!("Whether the signatures hold: `ohmwright verify {which}`");
        let _ = writeln!(out, "{}", wrapped(&text, width, "", "  "));
    }
    out
}

/// Which record it is, of which vehicle, by whom and with what: a line each.
fn facts(out: &mut String, (number, name): (Option<u32>, &str), record: &Record, width: usize) {
    let started = &record.started;
    let job = &started.job;
    let attended = was_attended(started.answered_by);
    let link = started.link.as_ref().map(|link| {
        let how = match link.kind {
            LinkKind::AfterRepair => "check after the record",
            LinkKind::EditedProcedure => "edited procedure, begun as",
            LinkKind::ChangedRow => "changed row, before as",
        };
        format!("{how} {}", Clean::name(&link.record))
    });
    let all: [(&str, Option<String>); 17] = [
        ("procedure", Some(format!("{} (revision {})", started.title(), started.revision()))),
        ("record", Some(called(number, name))),
        ("part", started.entry_point().as_ref().map(|_| "check after the repair".to_owned())),
        (if attended { "began" } else { "entered on" }, Some(when(&record.began))),
        ("vehicle", job.vehicle.as_deref().map(named)),
        ("system", started.nominal.map(|volts| volts.to_string())),
        ("odometer", job.odometer.clone()),
        ("concern", job.concern.clone()),
        ("verified", job.verified.map(|verified| if verified { "yes" } else { "no" }.to_owned())),
        ("codes", (!job.codes.is_empty()).then(|| job.codes.join(", "))),
        ("conditions", job.conditions.clone()),
        ("found it", Some(super::vehicle::words(&started.vehicle))),
        ("technician", job.technician.as_deref().map(named)),
        ("meter", Some(meter_text(record))),
        ("answered by", Some(answered_by(started.answered_by, started.circuit()))),
        ("linked to", link),
        ("clock", started.clock_set_by_hand.then(|| "set by hand".to_owned())),
    ];
    let indent = " ".repeat(13);
    for (label, value) in all {
        if let Some(value) = value {
            let _ = writeln!(out, "{}", wrapped(&harmless(&value), width, &format!("{label:<13}"), &indent));
        }
    }
}

fn answered_by(by: AnsweredBy, bench: Option<&str>) -> String {
    match (by, bench) {
        (AnsweredBy::Bench, Some(circuit)) => format!("the simulated circuit {circuit}, not a vehicle"),
        (AnsweredBy::Bench, None) => "a simulated circuit, not a vehicle".to_owned(),
        (AnsweredBy::Person, _) => "a person at the vehicle".to_owned(),
        (AnsweredBy::File, _) => "an answers file".to_owned(),
        (AnsweredBy::Table, _) => "a row of a table".to_owned(),
        (AnsweredBy::Record, _) => "an earlier record".to_owned(),
    }
}

/// How an ended run left the vehicle, if not as it stood. Records of before behavior 4 do not say it: of them it is what the
/// actions of somebody who was there changed.
pub fn how_it_is_left(record: &Record) -> Option<String> {
    let left = left_changed(record);
    if left.is_some() || record.started.behavior >= 4 {
        return left;
    }
    let is_over = matches!(record.status, RunStatus::Concluded(_) | RunStatus::Ended(_));
    (is_over && was_attended(record.started.answered_by))
        .then(|| super::vehicle::left(&record.started.vehicle, &record.vehicle))
        .flatten()
}

/// Said where [`says_how_it_was_left`] does not hold.
pub const NOT_SAID_HOW_LEFT: &str = "How the vehicle was left is not recorded.";

/// Whether the record says how the vehicle was left. It does not where the run stopped without an ending or a pause, after
/// something was changed.
pub fn says_how_it_was_left(record: &Record) -> bool {
    let is_open = matches!(record.status, RunStatus::Open | RunStatus::Waiting { .. });
    let is_paused = matches!(record.items().last(), Some(Item::Paused { .. }));
    !is_open
        || is_paused
        || record.started.behavior < 4
        || !record.left_changed.is_empty()
        || super::vehicle::left(&record.started.vehicle, &record.vehicle).is_none()
}

/// The changes left by the last ending or pause: `key ON, C41 unplugged`.
pub fn left_changed(record: &Record) -> Option<String> {
    let words: Vec<String> = record.left_changed.iter().map(|action| action.left_words(&record.vehicle)).collect();
    (!words.is_empty()).then(|| harmless(&words.join(", ")))
}

fn meter_text(record: &Record) -> String {
    let named = record.started.sources.iter().find(|source| source.kind == SourceKind::Meter);
    let unknown = record.answers().find_map(|answered| match answered.verdict?.sureness {
        crate::model::limits::Sureness::Unknown { why } if why != crate::model::limits::NoAccuracy::NotAMeter => {
            Some(why)
        }
        _ => None,
    });
    match (named, unknown) {
        (None, _) if record.started.job.meter.is_some() => {
            let name = record.started.job.meter.as_deref().unwrap_or_default();
            format!("{name}; accuracy assumed, not your meter")
        }
        (Some(source), Some(why)) => format!("{}; how sure the verdicts are is not known: {why}", source.name),
        (Some(source), None) => source.name.clone(),
        (None, _) => "none named; accuracy assumed, not your meter".to_owned(),
    }
}

/// What something is called, with a word where it belongs to a path that was taken back: what was done there stays done,
/// but it did not lead to the cause.
pub fn with_path(label: &str, struck_at: Option<usize>) -> String {
    match struck_at {
        Some(_) => format!("{label} (on the path undone)"),
        None => label.to_owned(),
    }
}

/// The items of a step: readings as a table, the rest as lines.
fn items(out: &mut String, items: &[Placed], points: Option<&Points>, by: AnsweredBy, width: usize) {
    let mut rows: Vec<Vec<String>> = Vec::new();
    let flush = |out: &mut String, rows: &mut Vec<Vec<String>>| {
        if !rows.is_empty() {
            let _ = writeln!(out, "{}", table(width, &["prompt", "reading", "limits", "verdict"], rows, &[1]));
            rows.clear();
        }
    };
    for Placed { item, struck_at, .. } in items {
        let with_path = |label: &str| with_path(label, *struck_at);
        match item {
            Item::Answered(answered) => {
                let question = &answered.prompt.question;
                let mut verdict = verdict_text(answered.verdict) + measured::near_for_assumed(answered);
                if let crate::model::prompt::Question::Sweep { ends, .. } = question {
                    verdict = sweep_text(&answered.sweep, &answered.shown, ends);
                }
                if answered.struck_at.is_some() {
                    verdict = format!("undone (was {})", if verdict.is_empty() { "no verdict" } else { &verdict });
                }
                if answered.origin.is_carried_over() {
                    verdict.push_str(" (earlier record)");
                }
                for (typed, doubt) in &answered.doubts {
                    let between = if verdict.is_empty() { "" } else { "; " };
                    verdict.push_str(&format!("{between}first typed {typed}. {doubt}"));
                }
                let (limits, source) = measured::limits_words(question);
                rows.push(vec![
                    measured::question_words(answered),
                    answer_text(&answered.prompt, &answered.answer),
                    [Some(limits), source]
                        .into_iter()
                        .flatten()
                        .filter(|text| !text.is_empty())
                        .collect::<Vec<_>>()
                        .join("\n"),
                    verdict,
                ]);
                if !answered.sweep.is_empty() {
                    flush(out, &mut rows);
                    line(out, &measured::sweep_list(answered), width);
                }
            }
            Item::Acted { already: true, .. } => {}
            Item::Reminded { cautions } => {
                flush(out, &mut rows);
                let names: Vec<_> = cautions.iter().map(|id| id.as_str().replace('_', " ")).collect();
                line(out, &format!("{}: {}", with_path("Reminded of the cautions"), names.join(", ")), width);
            }
            Item::Cautioned { cautions, by_person, qualified, from_input } => {
                flush(out, &mut rows);
                let names: Vec<_> = cautions.iter().map(|id| id.as_str().replace('_', " ")).collect();
                let how = match by_person {
                    Some(true) => "The technician confirmed",
                    Some(false) if *from_input => "Answered from input, not confirmed by a person",
                    Some(false) => "Not confirmed by a person",
                    None => "Cautions shown",
                };
                let who = qualified
                    .as_ref()
                    .map(|name| format!(" (qualified person: {})", Clean::name(name)))
                    .unwrap_or_default();
                line(out, &format!("{}: {}{who}", with_path(how), names.join(", ")), width);
            }
            other => {
                flush(out, &mut rows);
                let text = match other {
                    Item::Acted { action, at, cut_short_after, .. } if was_attended(by) => {
                        let done = action::done(action, points, *cut_short_after);
                        format!("{}: {done} ({})", with_path("Done"), at.short())
                    }
                    Item::Acted { action, .. } => {
                        format!("{}: {}", with_path("Asked for"), action::sentence(action, points))
                    }
                    Item::Noted { text } => format!("{}: {text}", with_path("Note")),
                    Item::Paused { at } => format!("Paused {}", at.short()),
                    Item::Resumed { at, corrected, unseen, vehicle } => {
                        format!("Resumed {}; {}", at.short(), super::entry::vehicle_words(vehicle, *corrected, *unseen))
                    }
                    Item::TornLineDropped { bytes } => {
                        format!("An incomplete line ({}) was dropped", words::count(*bytes, "byte", "bytes"))
                    }
                    Item::Struck { id, reading: Some(reading), at } => {
                        format!("Undone {}: the reading {reading} of `{id}`", at.short())
                    }
                    Item::Struck { id, at, .. } => format!("Undone {}: `{id}` and all later answers", at.short()),
                    Item::Answered(_) | Item::Cautioned { .. } | Item::Reminded { .. } => continue,
                };
                line(out, &text, width);
            }
        }
    }
    flush(out, &mut rows);
}

fn line(out: &mut String, text: &str, width: usize) {
    let _ = writeln!(out, "{}", wrapped(&harmless(text), width, "  ", "    "));
}

/// The heading of a record's checks. If it named no fault, they are not checks after a repair.
pub fn checked_again(standing: &RunStatus) -> &'static str {
    if names_a_fault(standing) { "Checked again after the repair" } else { "Tested again" }
}
