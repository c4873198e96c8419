//! Lines from a person: edited on a terminal, plain from a pipe.

use crate::cli::terminal::output::Output;
use crate::model::clean::Clean;
use crate::model::origin::Origin;
use rustyline::error::ReadlineError;
use rustyline::history::MemHistory;
use rustyline::{Config, Editor};
use std::io::{BufRead, IsTerminal};

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
        let editor = || Editor::with_history(Config::builder().auto_add_history(false).build(), MemHistory::new());
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

    /// One line; `None` at the end of input and on Ctrl-C.
    pub fn line(&mut self, prompt: &str, output: &mut Output) -> Option<String> {
        match self {
            Self::Terminal(editor) => match editor.readline(Clean::text(prompt).as_str()) {
                Ok(line) => Some(line),
                Err(ReadlineError::Interrupted | ReadlineError::Eof) => {
                    output.line("");
                    None
                }
                Err(_) => None,
            },
            Self::Pipe => {
                output.text(prompt);
                let mut bytes = Vec::new();
                let read = std::io::stdin().lock().read_until(b'\n', &mut bytes).unwrap_or(0);
                if read == 0 {
                    output.line("");
                    return None;
                }
                let line = String::from_utf8_lossy(&bytes);
                let line = line.trim_end_matches(['\n', '\r']).to_owned();
                // What was typed is not on the screen: show it, so that a kept output reads like a session.
                output.line(&line);
                Some(line)
            }
        }
    }
}
