//! `ohmwright --help`: the commands by who uses them, on one screen.

use crate::cli::arguments::Arguments;
use anstyle::Style;
use clap::builder::StyledStr;
use clap::{Command, CommandFactory};
use std::fmt::Write;

/// Commands of one kind of work: how each is typed, and what it is for.
struct Group {
    heading: &'static str,
    commands: &'static [(&'static str, &'static str)],
}

/// Side by side where the screen is wide enough.
const LEFT: [Group; 2] = [
    Group {
        heading: "At the vehicle",
        commands: &[
            ("list", "the procedures"),
            ("run", "follow a procedure"),
            ("resume", "continue a paused run"),
            ("batch", "many vehicles from a table"),
            ("show", "show a record"),
        ],
    },
    Group {
        heading: "Records",
        commands: &[
            ("report", "a page for shop or customer"),
            ("sign", "sign a record"),
            ("verify", "check records"),
            ("pack", "a record in one file"),
            ("rejudge", "new procedure, old answers"),
        ],
    },
];
/// The other column.
const RIGHT: [Group; 3] = [
    Group {
        heading: "Writing procedures",
        commands: &[
            ("prove", "try it on simulated faults"),
            ("circuit", "show a simulated circuit"),
            ("repl", "try the language, calculate"),
        ],
    },
    Group { heading: "Teaching", commands: &[("run NAME --simulate", "a hidden fault")] },
    Group { heading: "Setting up", commands: &[("key", "make a key to sign with")] },
];

/// One column, with the space to the next.
const COLUMN: usize = 40;
/// Of a command's name, in a column.
const NAME: usize = 7;
/// What stands before a line under a heading.
const INDENT: &str = "  ";
/// No terminal that a person reads has fewer columns.
const NARROWEST: usize = 20;
/// Each command's help explains them.
const EVERY_COMMAND: &str = "--shop FOLDER  --records FOLDER  --width COLUMNS  -h, --help  -V, --version";
/// What a terminal has that does not say how wide it is.
const USUAL: usize = 80;

/// The command line, with the help of the program itself put together here.
pub fn command() -> Command {
    let width = terminal_size::terminal_size().map_or(USUAL, |(width, _)| usize::from(width.0));
    let command = Arguments::command();
    let about = command.get_about().map(ToString::to_string).unwrap_or_default();
    command.override_help(text(&about, width))
}

fn text(about: &str, width: usize) -> StyledStr {
    let head = Style::new().bold().underline();
    let mut text = String::new();
    let mut line = |words: &str| _ = writeln!(text, "{words}");
    textwrap::wrap(about, width.clamp(NARROWEST, USUAL)).iter().for_each(|words| line(words));
    line("");
    line(&format!("{head}Usage{head:#}: ohmwright COMMAND …"));
    line("With an example: ohmwright COMMAND --help");
    line("");
    let (left, right) = (lines(&LEFT), lines(&RIGHT));
    if width < USUAL {
        left.iter().chain(&right).for_each(|(shown, _)| line(shown));
    } else {
        for at in 0..left.len().max(right.len()) {
            let (shown, plain) = left.get(at).map_or(("", 0), |(shown, plain)| (shown.as_str(), *plain));
            let other = right.get(at).map_or("", |(shown, _)| shown.as_str());
            line(format!("{shown}{:space$}{other}", "", space = COLUMN - plain).trim_end());
        }
    }
    line(&format!("{head}For every command{head:#}"));
    for words in textwrap::wrap(EVERY_COMMAND, width.clamp(NARROWEST, USUAL) - INDENT.len()) {
        line(&format!("{INDENT}{words}"));
    }
    StyledStr::from(text.trim_end().to_owned() + "\n")
}

/// The lines of a column, each with how many columns it takes. An empty one is after each group.
fn lines(groups: &[Group]) -> Vec<(String, usize)> {
    let head = Style::new().bold().underline();
    let mut lines = Vec::new();
    for Group { heading, commands } in groups {
        lines.push((format!("{head}{heading}{head:#}"), heading.len()));
        for (name, words) in *commands {
            let line = format!("{INDENT}{name:NAME$}  {words}");
            let wide = line.len();
            lines.push((line, wide));
        }
        lines.push((String::new(), 0));
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    /// More than the program will have: each takes a line of its column.
    const LATER: usize = 14;

    fn shown(width: usize) -> String {
        text(
            "A line of words about the program, as long as it is now, which is more than one line of 80 columns.",
            width,
        )
        .to_string()
    }

    #[test]
    fn every_command_is_listed_once_and_nothing_else_is() {
        let listed: Vec<&str> =
            LEFT.iter().chain(&RIGHT).flat_map(|group| group.commands).map(|(name, _)| *name).collect();
        let words: BTreeSet<&str> = listed.iter().filter_map(|name| name.split(' ').next()).collect();
        let command = Arguments::command();
        let known: BTreeSet<&str> = command.get_subcommands().map(Command::get_name).collect();
        assert_eq!(words, known);
        let alone: Vec<&str> = listed.into_iter().filter(|name| !name.contains(' ')).collect();
        assert_eq!(alone.len(), known.len(), "{alone:?}");
    }

    #[test]
    fn it_fits_a_screen_with_room_for_later_commands() {
        let wide = shown(80);
        assert!(wide.lines().count() + LATER / 2 <= 30, "{wide}");
        for (text, columns) in [(wide, 80), (shown(50), 50)] {
            let long: Vec<&str> = text.lines().filter(|line| line.chars().count() > columns).collect();
            assert!(long.is_empty(), "{long:?}");
        }
    }

    #[test]
    fn the_help_of_each_command_begins_with_an_example_of_it_and_ends_with_what_every_command_has() {
        let mut command = Arguments::command();
        command.build();
        for command in command.get_subcommands_mut().filter(|command| command.get_name() != "help") {
            let name = command.get_name().to_owned();
            let help = command.render_long_help().to_string();
            let first = help.lines().next().unwrap_or_default();
            let example = first.strip_prefix("Example: ").unwrap_or_else(|| panic!("{name}: {first}"));
            assert!(example.contains(&format!("ohmwright {name}")), "{example}");
            let (_, end) = help.split_once("For every command:").unwrap_or_else(|| panic!("{help}"));
            let options: Vec<&str> = end.split_whitespace().filter(|word| word.starts_with("--")).collect();
            assert_eq!(options, ["--shop", "--records", "--width"], "{help}");
        }
    }
}
