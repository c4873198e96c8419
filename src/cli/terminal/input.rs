//! Lines from a person: edited on a terminal, plain from a pipe.

use crate::cli::terminal::output::Output;
use crate::cli::terminal::typed_line::{self, Full, TypedLine};
use crate::model::clean::Clean;
use crate::model::origin::Origin;
use rustyline::error::ReadlineError;
use rustyline::history::MemHistory;
use rustyline::{Config, Editor};
use std::io::IsTerminal;

/// Where lines come from.
pub enum Input {
    /// A terminal, with line editing.
    Terminal(Box<Editor<(), MemHistory>>),
    /// Anything else.
    Pipe,
}

impl Input {
    /// As standard input is.
    pub fn open() -> Self {
        let editor = || {
            let mut editor =
                Editor::with_history(Config::builder().auto_add_history(false).build(), MemHistory::new())?;
            let (event, full) = Full::binding();
            editor.bind_sequence(event, full);
            Ok::<_, ReadlineError>(editor)
        };
        match std::io::stdin().is_terminal().then(editor) {
            Some(Ok(editor)) => Self::Terminal(Box::new(editor)),
            _ => Self::Pipe,
        }
    }

    /// Where a line comes from: typed, or out of a pipe or file.
    pub const fn origin(&self) -> Origin {
        match self {
            Self::Terminal(_) => Origin::TYPED,
            Self::Pipe => Origin::Input,
        }
    }

    /// One line; `None` at the end of input and on Ctrl-C. One that is too long is left out, and asked for again.
    pub fn line(&mut self, prompt: &str, output: &mut Output) -> Option<String> {
        loop {
            match self.next_line(prompt, output)? {
                TypedLine::Whole(line) => return Some(line),
                TypedLine::TooLong => output.line(&typed_line::too_long()),
            }
        }
    }

    fn next_line(&mut self, prompt: &str, output: &mut Output) -> Option<TypedLine> {
        match self {
            Self::Terminal(editor) => match editor.readline(Clean::text(prompt).as_str()) {
                Ok(line) if line.len() <= typed_line::LONGEST => Some(TypedLine::Whole(line)),
                Ok(_) => Some(TypedLine::TooLong),
                Err(ReadlineError::Interrupted | ReadlineError::Eof) => {
                    output.line("");
                    None
                }
                Err(_) => None,
            },
            Self::Pipe => {
                output.text(prompt);
                let read = typed_line::read(&mut std::io::stdin().lock()).ok().flatten();
                match &read {
                    // What was typed is not on the screen: show it, so that a kept output reads like a session.
                    Some(TypedLine::Whole(line)) => output.line(line),
                    Some(TypedLine::TooLong) => output.line("\u{2026}"),
                    None => output.line(""),
                }
                read
            }
        }
    }
}
