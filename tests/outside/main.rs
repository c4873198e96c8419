//! Holds the helpers against the outside, and does nothing else: published values with their sources, and reference
//! libraries run live on random inputs.
#![expect(clippy::unwrap_used, reason = "a check that can't be set up is to fail at its place")]

mod battery;
mod check;
mod circuits;
mod codes;
mod decisions;
mod live;
mod oracle;
mod sensors;
mod wire;

use check::Check;
use std::collections::BTreeSet;

/// Every published value, by file.
fn every() -> Vec<(&'static str, Vec<Check>)> {
    vec![
        ("wire", wire::checks()),
        ("circuits", circuits::checks()),
        ("sensors", sensors::checks()),
        ("battery", battery::checks()),
        ("decisions", decisions::checks()),
        ("codes", codes::checks()),
    ]
}

#[test]
fn every_published_value_is_met_to_its_last_printed_digit() {
    let missed: Vec<_> = every().iter().flat_map(|(_, checks)| checks).filter_map(Check::missed).collect();
    assert!(missed.is_empty(), "{} values missed:\n{}", missed.len(), missed.join("\n"));
}

#[test]
fn there_are_three_hundred_values_from_fifteen_sources() {
    let every = every();
    let checks: Vec<_> = every.iter().flat_map(|(_, checks)| checks).collect();
    let sources: BTreeSet<_> = checks.iter().map(|check| check.source.title).collect();
    // A value is a call and what it must give; the same call twice is one value.
    let values: BTreeSet<_> = checks.iter().map(|check| (check.what.as_str(), check.want)).collect();
    assert!(values.len() >= 300 && sources.len() >= 15, "{} values, {} sources", values.len(), sources.len());
    for check in checks {
        assert!(!check.source.title.is_empty() && !check.source.place.is_empty(), "{} has no source", check.what);
    }
}
