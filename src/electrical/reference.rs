//! The reference of the helpers, made from their own doc comments.

use super::{
    accuracy, battery, code, coil, drop, helper::Helper, network, ohm, pulse, ratiometric, rtd, sweep, thermistor,
    thermocouple, uncertainty, wire,
};
use std::fmt::Write as _;

/// Every helper, by topic, in the order of the reference.
pub const HELPERS: &[&[Helper]] = &[
    ohm::HELPERS,
    network::HELPERS,
    wire::HELPERS,
    drop::HELPERS,
    ratiometric::HELPERS,
    sweep::HELPERS,
    thermistor::HELPERS,
    rtd::HELPERS,
    thermocouple::HELPERS,
    coil::HELPERS,
    pulse::HELPERS,
    battery::HELPERS,
    accuracy::HELPERS,
    uncertainty::HELPERS,
    code::HELPERS,
];

/// The helper of this name.
pub fn find(name: &str) -> Option<&'static Helper> {
    HELPERS.iter().flat_map(|topic| topic.iter()).find(|helper| helper.name == name)
}

/// What stands above the helpers in the reference.
const HEAD: &str = "\
# Helpers

The trade's arithmetic, usable in procedures, in library files and at the prompt. Made from the doc comments of
`src/electrical`; a test holds it equal to them. To write it anew:
`OHMWRIGHT_WRITE_REFERENCE=1 cargo test --lib reference_is_current`

A quantity is written with its unit (`4.75.V`, `370.mV`, `40.pct`); a bare number is refused where a unit belongs. A result
with several values has fields (`ohms_law(12.V, 3.ohm).watts`). Whatever is out of range is an error in words.
";

/// The reference: every helper by topic, in Markdown.
pub fn reference() -> String {
    let mut page = HEAD.to_owned();
    for topic in HELPERS {
        if let Some(first) = topic.first() {
            let _ = write!(page, "\n## {}\n", first.topic);
        }
        for helper in *topic {
            let _ = write!(page, "\n### {}\n\n`{}`\n\n", helper.name, helper.signature());
            for line in helper.lines() {
                page.push_str(line);
                page.push('\n');
            }
        }
    }
    page
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_given_once() {
        let mut names: Vec<_> = HELPERS.iter().flat_map(|topic| topic.iter()).map(|helper| helper.name).collect();
        names.sort_unstable();
        let count = names.len();
        names.dedup();
        assert_eq!(names.len(), count);
    }

    #[test]
    fn every_helper_names_its_source_and_shows_an_example() {
        for helper in HELPERS.iter().flat_map(|topic| topic.iter()) {
            let examples = helper.examples();
            assert!(
                examples.iter().any(|line| line.contains(helper.name) && line.contains("  // ")),
                "{}",
                helper.name
            );
            assert!(helper.doc.contains("Source:"), "{} names no source", helper.name);
            assert!(helper.doc.contains("Error"), "{} does not say when it refuses", helper.name);
        }
    }

    #[test]
    fn reference_is_current() {
        const PAGE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/stdlib/HELPERS.md");
        #[expect(clippy::disallowed_methods, reason = "the test holds a file against the doc comments")]
        let (wanted, page) = {
            if std::env::var("OHMWRIGHT_WRITE_REFERENCE").is_ok() {
                std::fs::write(PAGE, reference()).unwrap();
            }
            (reference(), std::fs::read_to_string(PAGE).unwrap_or_default())
        };
        assert!(
            page == wanted,
            "stdlib/HELPERS.md is not what the doc comments say; its head tells how to write it anew"
        );
    }
}
