//! Concern, cause, correction; the job and the vehicle.

use crate::model::ending::Ending;
use crate::model::record::{Record, RunStatus};
use crate::report::detail::Detail;
use crate::report::entry::ending_text;
use crate::report::finding::with_prompt_words;
use crate::report::material::{Material, correction, was_attended};
use crate::report::one_line::{named, plain, when};
use crate::report::record::{NOT_SAID_HOW_LEFT, changed_since, check_text, checked_again, says_how_it_was_left};
use crate::report::withhold::LEFT_OUT;
use maud::{Markup, html};

/// How a run stands without a cause, in a sentence; `None` where it has one.
pub fn without_cause(record: &Record) -> Option<String> {
    match &record.status {
        RunStatus::Concluded(_) => None,
        RunStatus::Ended(ending) => Some(with_prompt_words(&plain(&ending_text(ending)), record)),
        RunStatus::Waiting { prompt, text } => Some(plain(&format!("Not finished. It waits for: {text} (`{prompt}`)"))),
        RunStatus::Open => Some("Not finished: it was paused or broken off".to_owned()),
    }
}

/// Concern, cause and correction.
pub fn result(material: &Material) -> Markup {
    let job = &material.record.started.job;
    html! {
        section aria-labelledby="result" {
            h2 id="result" { "Result" }
            dl class="result" {
                dt { "Concern" }
                dd {
                    @if let Some(concern) = &job.concern {
                        (plain(concern))
                        @match job.verified {
                            Some(true) => { span class="aside" { " Verified: seen happening." } }
                            Some(false) => { span class="aside" { " Not verified: not seen happening." } }
                            None => {}
                        }
                    } @else { span class="aside" { (absent(material, Detail::Concern)) } }
                }
                @match &material.record.status {
                    RunStatus::Concluded(causes) => {
                        dt { @if material.is_check() { "Result of the check" } @else { "Cause" } }
                        dd {
                            @if causes.len() > 1 { p { "The readings fit more than one cause:" } }
                            @for cause in causes { p class="cause" { (plain(&cause.cause)) } }
                        }
                        @let corrections: Vec<(&str, &str)> = causes.iter()
                            .filter_map(|cause| Some((cause.cause.as_str(), correction(cause, material.is_check())?)))
                            .collect();
                        @if !corrections.is_empty() {
                            dt { "Correction" }
                            dd { @for (cause, correction) in corrections { p {
                                @if causes.len() > 1 { span class="aside" { (plain(cause)) ": " } }
                                (plain(correction))
                            } } }
                        }
                    }
                    RunStatus::Ended(Ending::Failed { .. } | Ending::Unconcluded | Ending::Unfinished { .. })
                    | RunStatus::Waiting { .. } | RunStatus::Open => {
                        dt { "Result" }
                        dd { p class="cause open" { (without_cause(&material.record).unwrap_or_default()) } }
                        dt { "Correction" }
                        dd { span class="aside" { "none: no cause was named" } }
                    }
                }
                (left(&material.record))
            }
        }
    }
}

/// The changes that were left at the vehicle, beside the result: the next driver has to know.
fn left(record: &Record) -> Markup {
    html! {
        @if let Some(left) = crate::report::record::how_it_is_left(record) {
            dt { "Left changed" }
            dd { (plain(&left)) }
        } @else if !says_how_it_was_left(record) {
            dt { "Left changed" }
            dd { (NOT_SAID_HOW_LEFT) }
        }
    }
}

/// The checks after the repair that name this record; nothing where there are none.
pub fn checks(material: &Material) -> Markup {
    html! {
        @if !material.checks.is_empty() {
            section aria-labelledby="checks" {
                h2 id="checks" { (checked_again(&material.record.status)) }
                @for check in &material.checks {
                    p { (plain(check_text(check).trim_end_matches('.'))) "." }
                    @if let Some(changed) = changed_since(check.state) { p { strong { (changed) } } }
                }
                p class="small" { "The report of that check has the readings before and after side by side." }
            }
        }
    }
}

/// What stands where nothing is known, or where it is left out.
pub fn absent(material: &Material, detail: Detail) -> &'static str {
    if material.withholds(detail) { LEFT_OUT } else { "not stated" }
}

/// The vehicle, the person, the meter.
pub fn job(material: &Material) -> Markup {
    let record = &material.record;
    let started = &record.started;
    let job = &started.job;
    let of =
        |value: &Option<String>, detail| value.as_deref().map_or_else(|| absent(material, detail).to_owned(), plain);
    let called =
        |value: &Option<String>, detail| value.as_deref().map_or_else(|| absent(material, detail).to_owned(), named);
    let codes =
        if job.codes.is_empty() { absent(material, Detail::Codes).to_owned() } else { plain(&job.codes.join(", ")) };
    let mut facts: Vec<(&str, String)> = vec![
        ("Vehicle", called(&job.vehicle, Detail::Vehicle)),
        ("System voltage", started.nominal.map_or_else(|| "not stated".to_owned(), |volts| plain(&volts.to_string()))),
        ("Odometer", of(&job.odometer, Detail::Odometer)),
        ("Trouble codes", codes),
        ("Conditions", of(&job.conditions, Detail::Conditions)),
        ("The vehicle stood", plain(&crate::report::vehicle::words(&started.vehicle))),
        ("Technician", called(&job.technician, Detail::Technician)),
        ("Meter", meter(material)),
        ("Procedure", plain(&format!("{}, revision {}", started.title(), started.revision()))),
    ];
    if started.entry_point().is_some() {
        let part = if material.is_after_a_repair() { "Check after the repair" } else { "Tested again" };
        facts.push(("Part", part.to_owned()));
    }
    if was_attended(started.answered_by) {
        facts.push(("Began", when(&record.began)));
        facts.push(("Last entry", when(&record.last)));
    } else {
        facts.push(("Entered on", when(&record.began)));
    }
    facts.push(("Record", crate::report::record::called(material.number, &material.name)));
    html! {
        section aria-labelledby="job" {
            h2 id="job" { "Vehicle and job" }
            dl class="facts" { @for (label, value) in &facts { div { dt { (label) } dd { (value) } } } }
        }
    }
}

/// The meter in words, and what is not known of its accuracy.
fn meter(material: &Material) -> String {
    use crate::model::limits::{NoAccuracy, Sureness};
    use crate::model::meter::assumed;
    let unknown = material.record.answers().find_map(|answered| match answered.verdict?.sureness {
        Sureness::Unknown { why } if why != NoAccuracy::NotAMeter => Some(why),
        _ => None,
    });
    let due = |due: &Option<String>| due.as_ref().map(|due| format!(", calibration due {due}")).unwrap_or_default();
    let named = match (&material.meter, &material.record.started.job.meter) {
        (Some(meter), _) => format!("{}{}", meter.name, due(&meter.calibration_due)),
        (None, Some(name)) => name.clone(),
        (None, None) => "none named".to_owned(),
    };
    plain(&match unknown {
        Some(NoAccuracy::NoMeter) => format!("{named}; accuracy assumed, not your meter: {}", assumed::IN_WORDS),
        Some(why) => format!("{named}; the accuracy of some readings is not known: {why}"),
        None => named,
    })
}
