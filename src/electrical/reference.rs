//! The reference of the helpers, made from their own doc comments.

use super::{
    accuracy, battery, code, coil, door::Kind, drop, network, ohm, pulse, ratiometric, rtd, sweep, thermistor,
    thermocouple, uncertainty, wire,
};
use std::fmt::Write as _;

/// A helper, as `help()` shows it.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Helper {
    /// Name, as typed in a script.
    pub name: &'static str,
    /// What it is about.
    pub topic: &'static str,
    /// Names and kinds of its arguments.
    pub parameters: &'static [(&'static str, Kind)],
    /// What it gives.
    pub answer: Kind,
    /// Its doc comment.
    pub doc: &'static str,
}

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

impl Helper {
    /// `wire_drop(current: amperes, wire: ohms per metre, length: length) → volts`
    pub fn signature(&self) -> String {
        let parameters: Vec<_> = self.parameters.iter().map(|(name, kind)| format!("{name}: {kind}")).collect();
        format!("{}({}) → {}", self.name, parameters.join(", "), self.answer)
    }

    /// The most arguments that it takes: up to four quantities of a list of one kind may be given without brackets, too.
    pub const fn most_arguments(&self) -> usize {
        match self.parameters {
            [(_, Kind::Quantities(_))] => 4,
            parameters => parameters.len(),
        }
    }

    /// The doc comment's lines, without the blank that each begins with.
    pub fn lines(&self) -> impl Iterator<Item = &'static str> {
        self.doc.lines().map(|line| line.strip_prefix(' ').unwrap_or(line))
    }

    /// Its first sentence, for an index.
    pub fn summary(&self) -> &'static str {
        self.lines().next().unwrap_or_default()
    }

    /// The lines of its examples, each an expression of the script language, with what it prints behind `//`.
    pub fn examples(&self) -> Vec<&'static str> {
        let mut examples = Vec::new();
        let mut inside = false;
        for line in self.lines() {
            match line.trim_start() {
                fence if fence.starts_with("```") => inside = !inside && fence == "```rhai",
                _ if inside => examples.push(line),
                _ => {}
            }
        }
        examples
    }
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
