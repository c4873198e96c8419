//! The line being typed at a terminal: the code of each key, and its effect on the line.

use crate::cli::terminal::typed_line::LONGEST;
use std::collections::VecDeque;

/// A key.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Pressed {
    /// A letter, a digit, a sign.
    Char(char),
    /// The line is done.
    Enter,
    /// Delete the letter left of the cursor.
    Backspace,
    /// Delete the letter right of it.
    Delete,
    /// One to the left.
    Left,
    /// One to the right.
    Right,
    /// To the beginning.
    Home,
    /// To the end.
    End,
    /// Take the whole line away.
    Clear,
    /// Take the last word away.
    WordBack,
    /// Ctrl-C.
    Interrupt,
    /// Ctrl-D.
    EndOfInput,
    /// Ctrl-Z.
    Suspend,
    /// A key that moves up, down or by pages: a pad sends these while Num Lock is off.
    Arrow,
    /// Text that was pasted.
    Paste(String),
    /// Nothing that means anything here.
    Nothing,
}

const PASTE_BEGINS: &[u8] = b"\x1b[200~";
const PASTE_ENDS: &[u8] = b"\x1b[201~";

/// The next key of what a terminal sent; `None` where the rest of it has not come yet. `is_all`: no more comes.
pub fn next(sent: &mut VecDeque<u8>, is_all: bool) -> Option<Pressed> {
    let first = *sent.front()?;
    if first == 0x1b {
        return escape(sent, is_all);
    }
    if first >= 0x80 {
        return letter(sent, is_all);
    }
    sent.pop_front();
    Some(match first {
        b'\r' => {
            // A pasted line may end with both.
            if sent.front() == Some(&b'\n') {
                sent.pop_front();
            }
            Pressed::Enter
        }
        b'\n' => Pressed::Enter,
        0x7f | 0x08 => Pressed::Backspace,
        0x01 => Pressed::Home,
        0x05 => Pressed::End,
        0x03 => Pressed::Interrupt,
        0x04 => Pressed::EndOfInput,
        0x15 => Pressed::Clear,
        0x17 => Pressed::WordBack,
        0x1a => Pressed::Suspend,
        b'\t' => Pressed::Char(' '),
        byte if byte < 0x20 => Pressed::Nothing,
        byte => Pressed::Char(char::from(byte)),
    })
}

fn letter(sent: &mut VecDeque<u8>, is_all: bool) -> Option<Pressed> {
    let length = match sent.front()? {
        0xc2..=0xdf => 2,
        0xe0..=0xef => 3,
        0xf0..=0xf4 => 4,
        _ => 1,
    };
    if sent.len() < length && !is_all {
        return None;
    }
    let bytes: Vec<u8> = sent.iter().copied().take(length).collect();
    match std::str::from_utf8(&bytes).ok().and_then(|text| text.chars().next()) {
        Some(letter) => {
            sent.drain(..length);
            Some(Pressed::Char(letter))
        }
        None => {
            sent.pop_front();
            Some(Pressed::Nothing)
        }
    }
}

fn escape(sent: &mut VecDeque<u8>, is_all: bool) -> Option<Pressed> {
    let bytes = sent.make_contiguous();
    if bytes.starts_with(PASTE_BEGINS) {
        let rest = &bytes[PASTE_BEGINS.len()..];
        let end = rest.windows(PASTE_ENDS.len()).position(|window| window == PASTE_ENDS);
        let (text, taken) = match end {
            Some(end) => {
                (String::from_utf8_lossy(&rest[..end]).into_owned(), PASTE_BEGINS.len() + end + PASTE_ENDS.len())
            }
            None if is_all => (String::from_utf8_lossy(rest).into_owned(), bytes.len()),
            None => return None,
        };
        sent.drain(..taken);
        return Some(Pressed::Paste(text));
    }
    let length = match bytes {
        [_, b'O', _, ..] => 3,
        [_, b'[', rest @ ..] => match rest.iter().position(|byte| (0x40..=0x7e).contains(byte)) {
            Some(end) => end + 3,
            None if is_all => bytes.len(),
            None => return None,
        },
        [_, b'O'] | [_] if !is_all => return None,
        [_, b'O'] => 2,
        // With a letter after it: Alt and that letter.
        _ => bytes.len().min(2),
    };
    let code: Vec<u8> = sent.drain(..length).skip(1).collect();
    Some(match code.as_slice() {
        b"[D" | b"OD" => Pressed::Left,
        b"[C" | b"OC" => Pressed::Right,
        b"[H" | b"OH" | b"[1~" | b"[7~" => Pressed::Home,
        b"[F" | b"OF" | b"[4~" | b"[8~" => Pressed::End,
        b"[3~" => Pressed::Delete,
        b"[A" | b"OA" | b"[B" | b"OB" | b"[E" | b"OE" | b"[G" | b"[2~" | b"[5~" | b"[6~" => Pressed::Arrow,
        // Some pads send a code of their own for Enter.
        b"OM" => Pressed::Enter,
        _ => Pressed::Nothing,
    })
}

/// What became of the line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Then {
    /// It goes on.
    GoesOn,
    /// It is done.
    Done,
    /// It is given up, and so is the run for now.
    GivenUp,
    /// The program is put to sleep.
    Sleeps,
    /// The pad sends arrows.
    NumLockOff,
}

/// The line.
#[derive(Debug, Default)]
pub struct EditedLine {
    before: String,
    after: String,
    /// How many pasted lines were not taken.
    pub not_taken: usize,
    joins: bool,
}

impl EditedLine {
    /// An empty one; `joins`: pasted lines become one, with spaces between.
    pub fn new(joins: bool) -> Self {
        Self { joins, ..Self::default() }
    }

    /// All of it.
    pub fn text(&self) -> String {
        format!("{}{}", self.before, self.after)
    }

    /// What stands left of the cursor, and right of it.
    pub fn parts(&self) -> (&str, &str) {
        (&self.before, &self.after)
    }

    fn put(&mut self, c: char) {
        if self.before.len() + self.after.len() + c.len_utf8() <= LONGEST {
            self.before.push(c);
        }
    }

    fn paste(&mut self, text: &str) {
        let text = text.replace("\r\n", "\n").replace('\r', "\n");
        let lines: Vec<&str> = text.trim_end_matches('\n').split('\n').collect();
        let taken = if self.joins { lines.join(" ") } else { lines[0].to_owned() };
        if !self.joins {
            self.not_taken += lines.len() - 1;
        }
        taken.chars().filter(|c| !c.is_control()).for_each(|c| self.put(c));
    }

    /// Does what a key says.
    pub fn press(&mut self, pressed: Pressed) -> Then {
        let is_empty = self.before.is_empty() && self.after.is_empty();
        match pressed {
            Pressed::Char(c) => self.put(c),
            Pressed::Paste(text) => self.paste(&text),
            Pressed::Enter => return Then::Done,
            Pressed::Interrupt => return Then::GivenUp,
            Pressed::EndOfInput if is_empty => return Then::GivenUp,
            Pressed::Suspend => return Then::Sleeps,
            Pressed::Arrow => return Then::NumLockOff,
            // On an empty line there is nothing to move in.
            Pressed::Left | Pressed::Right | Pressed::Home | Pressed::End | Pressed::Delete if is_empty => {
                return Then::NumLockOff;
            }
            Pressed::Backspace => _ = self.before.pop(),
            Pressed::Delete | Pressed::EndOfInput => _ = (!self.after.is_empty()).then(|| self.after.remove(0)),
            Pressed::Left => {
                if let Some(c) = self.before.pop() {
                    self.after.insert(0, c);
                }
            }
            Pressed::Right => {
                if !self.after.is_empty() {
                    self.before.push(self.after.remove(0));
                }
            }
            Pressed::Home => {
                self.after.insert_str(0, &self.before);
                self.before.clear();
            }
            Pressed::End => self.before.push_str(&std::mem::take(&mut self.after)),
            Pressed::Clear => {
                self.before.clear();
                self.after.clear();
            }
            Pressed::WordBack => {
                let kept = self.before.trim_end().rfind(' ').map_or(0, |at| at + 1);
                self.before.truncate(kept);
            }
            Pressed::Nothing => {}
        }
        Then::GoesOn
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pressed(sent: &[u8]) -> Vec<Pressed> {
        let mut sent: VecDeque<u8> = sent.iter().copied().collect();
        std::iter::from_fn(|| next(&mut sent, true)).collect()
    }

    /// What a line is after these bytes, and what became of it.
    fn typed(sent: &[u8]) -> (String, Vec<Then>) {
        let mut line = EditedLine::default();
        let then: Vec<Then> = pressed(sent).into_iter().map(|key| line.press(key)).collect();
        (line.text(), then.into_iter().filter(|then| *then != Then::GoesOn).collect())
    }

    #[test]
    fn a_line_is_edited_as_it_is_typed() {
        for (sent, text) in [
            ("12.6\x7f5", "12.5"),
            ("2.5\x1b[D\x1b[D\x1b[D1\x1b[F9", "12.59"),
            ("one two\x17", "one "),
            ("one\x15two", "two"),
            ("12\x1b[H\x1b[3~", "2"),
            ("5 kΩ µ", "5 kΩ µ"),
            ("1\x1bx2", "12"),
            ("a\x0bb\tc", "ab c"),
        ] {
            assert_eq!(typed(sent.as_bytes()), (text.to_owned(), vec![]), "{sent:?}");
        }
        assert_eq!(typed(b"12\r\n").1, [Then::Done]);
        assert_eq!(typed(b"12\x1bOM").1, [Then::Done]);
        assert_eq!(typed(b"12\x03").1, [Then::GivenUp]);
        assert_eq!(typed(b"\x04").1, [Then::GivenUp]);
        assert_eq!(typed(b"1\x04"), ("1".to_owned(), vec![]));
    }

    #[test]
    fn arrows_on_an_empty_line_say_that_num_lock_is_off() {
        for code in ["[A", "[B", "[C", "[D", "[F", "[H", "OA", "OE", "[2~", "[3~", "[5~", "[6~"] {
            assert_eq!(typed(format!("\x1b{code}").as_bytes()).1, [Then::NumLockOff], "{code}");
        }
    }

    #[test]
    fn of_a_pasted_list_the_first_line_is_taken_and_the_rest_is_counted() {
        let paste = Pressed::Paste("4.1\r\n4.2\n4.3\n".to_owned());
        assert_eq!(pressed(b"\x1b[200~4.1\r\n4.2\n4.3\n\x1b[201~\r"), [paste.clone(), Pressed::Enter]);
        let mut line = EditedLine::default();
        line.press(paste.clone());
        assert_eq!((line.text().as_str(), line.not_taken), ("4.1", 2));
        let mut line = EditedLine::new(true);
        line.press(paste);
        assert_eq!((line.text().as_str(), line.not_taken), ("4.1 4.2 4.3", 0));
    }

    #[test]
    fn what_has_not_come_whole_is_waited_for() {
        for part in ["\x1b", "\x1b[", "\x1bO", "\x1b[20", "\x1b[200~4.1"] {
            let mut sent: VecDeque<u8> = part.bytes().collect();
            assert_eq!(next(&mut sent, false), None, "{part:?}");
            assert!(next(&mut sent, true).is_some() && sent.is_empty(), "{part:?}");
        }
        let mut sent: VecDeque<u8> = [0xc2].into();
        assert_eq!(next(&mut sent, false), None);
        sent.push_back(0xb5);
        assert_eq!(next(&mut sent, false), Some(Pressed::Char('µ')));
    }

    proptest::proptest! {
        #[test]
        fn nothing_that_a_terminal_sends_makes_it_panic(sent in proptest::collection::vec(proptest::num::u8::ANY, 0..60)) {
            let _ = typed(&sent);
        }
    }
}
