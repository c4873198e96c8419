//! Cautions at the vehicle: each by itself, until it was confirmed; reminders in one line.

use crate::cli::terminal::input::Input;
use crate::cli::terminal::output::Output;
use crate::cli::terminal::plain_word::{self, PlainWord};
use crate::model::caution::{Rule, SignalWord};
use crate::model::prompt::PromptId;
use crate::report::table::{harmless, table, wrapped};
use crate::run::reply::Form;
use anstyle::{Ansi256Color, AnsiColor, Color, Style};
use std::collections::BTreeSet;

/// The key that confirms a caution; nothing else uses it there.
pub const READ_KEY: &str = "+";

fn indented(output: &mut Output, text: &str) {
    let width = output.width();
    output.line(&wrapped(&harmless(text), width, "  ", "  "));
}

/// The colors of ANSI Z535 (from memory), beside the word and never instead of it.
const fn style_of(word: SignalWord) -> Style {
    let (letters, ground) = match word {
        SignalWord::Danger => (AnsiColor::BrightWhite, Color::Ansi256(Ansi256Color(160))),
        SignalWord::Warning => (AnsiColor::Black, Color::Ansi256(Ansi256Color(208))),
        SignalWord::Caution => (AnsiColor::Black, Color::Ansi256(Ansi256Color(220))),
        SignalWord::Notice => (AnsiColor::BrightWhite, Color::Ansi256(Ansi256Color(25))),
    };
    Style::new().fg_color(Some(Color::Ansi(letters))).bg_color(Some(ground)).bold()
}

/// One line for each caution that was confirmed before and is true again.
pub fn remind(rules: &[&Rule], output: &mut Output) {
    for rule in rules {
        let line = wrapped(&harmless(&rule.reminder()), output.width(), "", "  ");
        output.styled(style_of(rule.word()), &line);
    }
}

/// The word with its symbol, then the hazard, what comes of it, and how to avoid it.
fn show(rule: &Rule, output: &mut Output) {
    let word = rule.word();
    output.line("");
    output.styled(style_of(word), &format!("{}{word}", word.symbol()));
    for sentence in rule.sentences() {
        indented(output, sentence);
    }
    if !rule.defers_to.is_empty() {
        indented(output, &rule.defers_to);
    }
}

/// Tells these cautions one after the other, and waits for each that has to be confirmed. `answered` has the ids that
/// `back` can go to.
pub fn read(rules: &[&Rule], input: &mut Input, output: &mut Output, answered: &BTreeSet<PromptId>) -> Form {
    let mut qualified = None;
    for rule in rules {
        show(rule, output);
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
        if !rule.word().needs_acknowledgement() {
            continue;
        }
        let says = if rule.confirm_text.is_empty() { "read" } else { rule.confirm_text.trim() };
        let prompt = format!("  {READ_KEY} {} > ", harmless(says));
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
                _ => indented(output, &format!("Only {READ_KEY} confirms it; `help` lists what else can be typed.")),
            }
        }
    }
    Form::Acknowledged { qualified }
}
