//! Lines from a person: edited at a terminal, plain from a pipe.

use crate::cli::terminal::how::How;
use crate::cli::terminal::output::Output;
#[cfg(unix)]
use crate::cli::terminal::tty::Tty;
use crate::cli::terminal::typed_line::{self, TypedLine};
use crate::cli::terminal::wait::Countdown;
use crate::model::origin::Origin;
#[cfg(unix)]
use std::io::IsTerminal;

/// Where lines come from.
pub enum Input {
    /// A terminal, key by key.
    #[cfg(unix)]
    Terminal(Tty),
    /// Anything else.
    Pipe,
}

impl Input {
    /// As standard input is.
    pub fn open() -> Self {
        #[cfg(unix)]
        if std::io::stdin().is_terminal() {
            return Self::Terminal(Tty::default());
        }
        Self::Pipe
    }

    /// Where a line comes from: typed, or out of a pipe or file.
    pub const fn origin(&self) -> Origin {
        match self {
            #[cfg(unix)]
            Self::Terminal(_) => Origin::TYPED,
            Self::Pipe => Origin::Input,
        }
    }

    /// A wait is counted down while the next line is read at a terminal.
    pub fn counts_down(&mut self, countdown: Countdown) {
        #[cfg(unix)]
        if let Self::Terminal(tty) = self {
            tty.countdown = Some(countdown);
        }
    }

    /// One line; `None` at the end of input and on Ctrl-C. One that is too long is left out, and asked for again.
    pub fn line(&mut self, prompt: &str, output: &mut Output) -> Option<String> {
        self.read(prompt, How::AsItComes, output)
    }

    /// The same, but a terminal ignores and counts earlier input.
    pub fn fresh_line(&mut self, prompt: &str, output: &mut Output) -> Option<String> {
        self.read(prompt, How::Fresh, output)
    }

    /// One line, read so.
    pub fn read(&mut self, prompt: &str, how: How, output: &mut Output) -> Option<String> {
        match self {
            #[cfg(unix)]
            Self::Terminal(tty) => tty.line(prompt, how, output),
            Self::Pipe => loop {
                match piped(prompt, output)? {
                    TypedLine::Whole(line) => return Some(line),
                    TypedLine::TooLong => output.line(&typed_line::too_long()),
                }
            },
        }
    }
}

fn piped(prompt: &str, output: &mut Output) -> Option<TypedLine> {
    output.text(prompt);
    let read = typed_line::read(&mut std::io::stdin().lock()).ok().flatten();
    match &read {
        // A pipe does not echo: print the line, so that a saved output reads like a session.
        Some(TypedLine::Whole(line)) => output.line(line),
        Some(TypedLine::TooLong) => output.line("\u{2026}"),
        None => output.line(""),
    }
    read
}
