//! A line at a prompt, until it is a reply.

use crate::cli::terminal::how::How;
use crate::cli::terminal::menu::Typed;
use crate::cli::terminal::person::Person;
use crate::cli::terminal::takes::Takes;
use crate::model::shop::Decimal;
use crate::model::typed::{self, TypedError};
use crate::run::reply::Form;

impl Person {
    pub(super) fn ask(&mut self, prompt: &str, options: &[String], takes: Takes) -> Form {
        self.ask_so(prompt, options, takes, How::AsItComes)
    }

    pub(super) fn ask_so(&mut self, prompt: &str, options: &[String], takes: Takes, mut how: How) -> Form {
        loop {
            let Some(mut text) = self.input.read(prompt, how, &mut self.output) else { return Form::Pause };
            if how == How::Fresh {
                how = How::AsItComes;
            }
            // Any other line leaves the answer as it is.
            loop {
                match self.understand(text, options, takes) {
                    Typed::Form(Form::Text(typed)) => match self.with_point(typed.to_string(), takes) {
                        Some(typed) => return Form::text(typed),
                        None => break,
                    },
                    Typed::Form(form) => return form,
                    Typed::Again => break,
                    Typed::Line(line) => text = line,
                }
            }
        }
    }

    /// A number with its decimal comma as a point, once it is said what a comma is. `None`: it is asked again.
    fn with_point(&mut self, typed: String, takes: Takes) -> Option<String> {
        let Some(unit) = takes.unit().filter(|_| typed.contains(',')) else { return Some(typed) };
        let is_unclear = |word: &str| matches!(typed::read(word, unit), Err(TypedError::Comma { .. }));
        let words: Vec<&str> = typed.split_inclusive([' ', ';']).collect();
        let bare = |word: &&str| word.trim_end_matches([' ', ';', ',']).to_owned();
        let Some(unclear) = words.iter().map(bare).find(|word| is_unclear(word)) else { return Some(typed) };
        if self.decimal.is_none() {
            let (point, none) = (unclear.replacen(',', ".", 1), unclear.replacen(',', "", 1));
            self.indented(&format!("{unclear} can be read in two ways. The answer counts for the whole run."));
            let line = self.input.line(&format!("1 it is {point}, 2 it is {none} > "), &mut self.output)?;
            self.decimal = match line.trim() {
                "1" => Some(Decimal::Comma),
                "2" => Some(Decimal::Point),
                _ => {
                    self.indented(&format!("{unclear} was not taken. Type it again."));
                    return None;
                }
            };
        }
        let sign = if self.decimal == Some(Decimal::Comma) { "." } else { "" };
        let one = |word: &str| if is_unclear(&bare(&word)) { word.replacen(',', sign, 1) } else { word.to_owned() };
        Some(words.into_iter().map(one).collect())
    }
}
