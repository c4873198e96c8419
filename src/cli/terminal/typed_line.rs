//! A line that is typed or comes out of a pipe: of one without an end no more is kept than a line may have.

use rustyline::{
    Cmd, ConditionalEventHandler, Event, EventContext, EventHandler, KeyCode, KeyEvent, Modifiers, RepeatCount,
};
use std::io::BufRead;

/// The longest line, in bytes: no answer comes near it.
pub const LONGEST: usize = 64 * 1024;

/// A line that was read.
pub enum TypedLine {
    /// Without its line end.
    Whole(String),
    /// It was longer than a line may be. It was read to its end, and nothing of it was kept.
    TooLong,
}

/// What is said of a line that is too long.
pub fn too_long() -> String {
    format!("That line has more than {LONGEST} bytes and is left out: type a shorter one.")
}

/// The next line; nothing at the end of the input.
///
/// # Errors
/// The input can't be read.
pub fn read(input: &mut impl BufRead) -> std::io::Result<Option<TypedLine>> {
    let mut kept = Vec::new();
    let mut length = 0;
    loop {
        let part = input.fill_buf()?;
        let end = part.iter().position(|byte| *byte == b'\n');
        let taken = end.map_or(part.len(), |end| end + 1);
        if taken == 0 {
            break;
        }
        // Two more for the line end.
        let room = (LONGEST + 2).saturating_sub(kept.len());
        kept.extend_from_slice(&part[..taken.min(room)]);
        length += taken;
        input.consume(taken);
        if end.is_some() {
            break;
        }
    }
    if length == 0 {
        return Ok(None);
    }
    let line = String::from_utf8_lossy(&kept);
    let line = line.trim_end_matches(['\n', '\r']);
    let is_whole = length <= kept.len() && line.len() <= LONGEST;
    Ok(Some(if is_whole { TypedLine::Whole(line.to_owned()) } else { TypedLine::TooLong }))
}

/// At a terminal: letters that a line has no room for are not taken.
pub struct Full;

impl Full {
    /// To be bound to every key that has nothing else bound to it.
    pub fn binding() -> (Event, EventHandler) {
        (Event::Any, EventHandler::Conditional(Box::new(Self)))
    }
}

impl ConditionalEventHandler for Full {
    fn handle(&self, event: &Event, _: RepeatCount, _: bool, context: &EventContext<'_>) -> Option<Cmd> {
        let is_letter = matches!(event.get(0), Some(KeyEvent(KeyCode::Char(_), Modifiers::NONE | Modifiers::SHIFT)));
        (is_letter && context.line().len() >= LONGEST).then_some(Cmd::Noop)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_is_kept_whole_or_not_at_all() {
        let most = "x".repeat(LONGEST);
        let text = format!("one\n{most}\r\n{most}y\nthree");
        let mut input = std::io::BufReader::with_capacity(1000, text.as_bytes());
        let mut next = || match read(&mut input).unwrap() {
            Some(TypedLine::Whole(line)) => Some(line),
            Some(TypedLine::TooLong) => Some("too long".to_owned()),
            None => None,
        };
        assert_eq!(next().as_deref(), Some("one"));
        assert_eq!(next(), Some(most));
        assert_eq!(next().as_deref(), Some("too long"));
        assert_eq!(next().as_deref(), Some("three"));
        assert_eq!(next(), None);
    }
}
