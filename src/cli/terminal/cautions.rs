//! Cautions at the vehicle: each by itself, until it was read.

use crate::cli::terminal::input::Input;
use crate::cli::terminal::output::Output;
use crate::cli::terminal::plain_word::{self, PlainWord};
use crate::model::caution::{Rule, SignalWord};
use crate::model::prompt::PromptId;
use crate::report::entry::Tone;
use crate::report::table::{harmless, table, wrapped};
use crate::run::reply::Form;
use std::collections::BTreeSet;

/// The key that says a caution was read; nothing else uses it there.
pub const READ_KEY: &str = "+";

fn indented(output: &mut Output, text: &str) {
    let width = output.width();
    output.line(&wrapped(&harmless(text), width, "  ", "  "));
}

/// Tells these cautions one after the other, and waits for each that has to be acknowledged. `answered` has the ids that
/// `back` can go to.
pub fn read(rules: &[&Rule], input: &mut Input, output: &mut Output, answered: &BTreeSet<PromptId>) -> Form {
    let mut qualified = None;
    let mut deferred = None;
    for rule in rules {
        let tone = match rule.word {
            SignalWord::Danger | SignalWord::Warning => Tone::Bad,
            SignalWord::Caution | SignalWord::Notice => Tone::Doubtful,
        };
        output.line("");
        // The alert symbol belongs to the words about injury, not to a notice.
        let symbol = if rule.word == SignalWord::Notice { "" } else { "⚠ " };
        output.toned(tone, &format!("{symbol}{}", rule.word));
        indented(output, &rule.text);
        // Once for all that are told together, unless one says it otherwise.
        if deferred.replace(&rule.defers_to) != Some(&rule.defers_to) {
            indented(output, &rule.defers_to);
        }
        if rule.qualified_person {
            loop {
                let Some(text) = input.line("  Name of the qualified person (Enter alone: nobody): ", output) else {
                    return Form::Pause;
                };
                let typed = text.trim();
                match PlainWord::of(typed, true, answered) {
                    _ if typed.is_empty() => return Form::Refused,
                    Some(PlainWord::Pause) => return Form::Pause,
                    Some(PlainWord::Back(to)) => return Form::Back { to },
                    Some(PlainWord::Why) => indented(output, &format!("source: {}", rule.source)),
                    // Nobody is called `+` or `2`.
                    None if typed.chars().any(char::is_alphabetic) => {
                        qualified = Some(typed.to_owned());
                        break;
                    }
                    _ => indented(output, "Type the name; Enter alone ends the run, `pause` puts it down."),
                }
            }
        }
        if !rule.word.needs_acknowledgement() {
            continue;
        }
        let prompt = format!("  Read it? {READ_KEY} and Enter > ");
        loop {
            let Some(text) = input.line(&prompt, output) else { return Form::Pause };
            let typed = text.trim();
            if typed == READ_KEY {
                break;
            }
            match PlainWord::of(typed, false, answered) {
                Some(PlainWord::Pause) => return Form::Pause,
                // Where there is nothing to take back, what was read stays read.
                Some(PlainWord::Back(_)) if answered.is_empty() => {
                    indented(output, "there is no answer yet that could be taken back");
                }
                Some(PlainWord::Back(to)) => return Form::Back { to },
                Some(PlainWord::Why) => indented(output, &format!("source: {}", rule.source)),
                Some(PlainWord::Help) => {
                    let rows = plain_word::help_at_a_caution(READ_KEY);
                    let drawn = table(output.width(), &["type", "to say or do"], &rows, &[]);
                    output.line(&drawn);
                }
                _ => indented(
                    output,
                    &format!("Only {READ_KEY} says that it was read; `help` lists what else can be typed."),
                ),
            }
        }
    }
    Form::Acknowledged { qualified }
}
