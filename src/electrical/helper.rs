//! What is known of a helper: its name, what it takes, what it gives.

use crate::model::dimension::Dimension;
use std::fmt;

/// What an argument or a result is.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Kind {
    /// A quantity of this dimension.
    Quantity(Dimension),
    /// A quantity of any dimension.
    Any,
    /// A list of quantities of this dimension.
    Quantities(Dimension),
    /// A list of quantities of one dimension, whichever.
    AnyQuantities,
    /// A bare number.
    Number,
    /// A whole number.
    Whole,
    /// A text.
    Text,
    /// A wire gauge: a whole number, or a text such as `4/0`.
    Gauge,
    /// A list of whole numbers.
    Numbers,
    /// A result with fields: its name, and the names of its fields.
    Fields(&'static str, &'static [&'static str]),
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Quantity(dimension) => bare(*dimension).fmt(f),
            Self::Any => f.write_str("any quantity"),
            Self::Quantities(dimension) => write!(f, "list of {}", bare(*dimension)),
            Self::AnyQuantities => f.write_str("list of quantities"),
            Self::Number => f.write_str("number"),
            Self::Whole => f.write_str("whole number"),
            Self::Text => f.write_str("text"),
            Self::Gauge => f.write_str("gauge number or text"),
            Self::Numbers => f.write_str("list of whole numbers"),
            Self::Fields(name, _) => f.write_str(name),
        }
    }
}

fn bare(dimension: Dimension) -> String {
    let name = dimension.to_string();
    ["a ", "an "].iter().find_map(|article| name.strip_prefix(article)).unwrap_or(&name).to_owned()
}

/// A helper, as `help()` shows it.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Helper {
    /// Name, as typed in a script.
    pub name: &'static str,
    /// Its topic.
    pub topic: &'static str,
    /// Names and kinds of its arguments.
    pub parameters: &'static [(&'static str, Kind)],
    /// What it gives.
    pub answer: Kind,
    /// Its doc comment.
    pub doc: &'static str,
}

impl Helper {
    /// `wire_drop(current: amperes, wire: ohms per meter, length: length) → volts`
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

    /// The lines of its examples, each an expression of the script language, with its output after `//`.
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
