//! The keys at every prompt. A numeric pad has all of them, and no reading is written with them.

/// A line that is a key and nothing else.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Key {
    /// `--`: undo the last answer.
    Undo,
    /// `//`: skip.
    Skip,
    /// `..` or `,,`: the menu.
    More,
    /// `+`: a caution is confirmed, a doubted value accepted, an undo carried out.
    Plus,
    /// One sign alone, which is half a key or the beginning of a number.
    Half,
    /// The pad sent the codes of arrows.
    NumLockOff,
}

impl Key {
    /// Which one this line is, if one.
    pub fn of(line: &str) -> Option<Self> {
        Some(match line.trim() {
            "--" => Self::Undo,
            "//" => Self::Skip,
            ".." | ",," => Self::More,
            "+" => Self::Plus,
            "-" | "/" | "." | "," => Self::Half,
            text if is_an_arrow(text) => Self::NumLockOff,
            _ => return None,
        })
    }
}

/// Whether this is what arrows and their neighbors send, and nothing else.
fn is_an_arrow(text: &str) -> bool {
    let is_code = |code: &str| {
        let code = code.strip_prefix(['[', 'O']).unwrap_or("");
        matches!(code, "A" | "B" | "C" | "D" | "E" | "F" | "H" | "2~" | "3~" | "5~" | "6~")
    };
    text.strip_prefix('\u{1b}').is_some_and(|codes| codes.split('\u{1b}').all(is_code))
}

/// The answer to half a key.
pub const HALF: &str = "Not a reading. -- undo, // skip, .. more";
/// The answer to arrow codes.
pub const NUM_LOCK: &str = "Num Lock is off: the pad sends arrows. Switch it on, and type the line again.";
/// The answer to a `+` with nothing to confirm.
pub const NOTHING_TO_CONFIRM: &str = "+ has nothing to confirm here. Enter, a number, or .. for more.";

/// The answer to `--` and `back` before the first answer.
pub const NOTHING_TO_UNDO: &str = "There is no answer yet that could be undone.";
/// What `+` comes to at a doubt, where Enter says nothing.
pub const ACCEPTED: &str = "+";

/// The reasons to skip, by their number from 1; the last one asks for words.
pub const REASONS: [&str; 5] = ["can't reach", "not fitted", "not safe now", "meter can't", "other"];

/// The menu's entries by number. The numbers are fixed; 7 is reserved.
pub const MENU: [(u8, &str); 6] =
    [(1, "why"), (2, "readings so far"), (3, "note"), (CHANGE, "change"), (5, "pause"), (6, "help")];
/// Its entry that no caution offers.
pub const CHANGE: u8 = 4;
/// The menu's extra entry at a caution.
pub const STOP_HERE: (u8, &str) = (9, "stop here: not safe");

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cli::terminal::plain_word::PlainWord;
    use crate::model::typed;
    use crate::model::unit::Unit;
    use proptest::prelude::*;
    use std::collections::BTreeSet;

    /// Whether the reading parser takes it, in any unit that a meter shows.
    fn is_a_reading(text: &str) -> bool {
        ["V", "mV", "ohm", "kohm", "A", "degC", "pct", "Hz", "s"].iter().any(|unit| {
            let unit: Unit = unit.parse().unwrap();
            typed::read(text, unit).is_ok() || typed::read_reading(text, unit).is_ok()
        })
    }

    fn is_a_command(text: &str) -> bool {
        Key::of(text).is_some() || PlainWord::of(text.trim(), false, &BTreeSet::new()).is_some()
    }

    #[test]
    fn no_line_of_a_pad_is_a_reading_and_a_key() {
        const PAD: [char; 9] = ['0', '7', '.', ',', '-', '+', '*', '/', ' '];
        let mut lines = vec![String::new()];
        let mut seen = (0, 0);
        for _ in 0..4 {
            lines = lines.iter().flat_map(|line| PAD.map(|sign| format!("{line}{sign}"))).collect();
            for line in &lines {
                let (reading, command) = (is_a_reading(line), is_a_command(line));
                assert!(!(reading && command), "{line:?}");
                seen = (seen.0 + usize::from(reading), seen.1 + usize::from(command));
            }
        }
        assert!(seen.0 > 500 && seen.1 > 8, "{seen:?}");
        for line in ["*", "-*", "-0.2", "+12.6", ",5", ".5", "12,4", "-.5"] {
            assert!(is_a_reading(line) && !is_a_command(line), "{line}");
        }
        for line in ["--", "//", "..", ",,", "+", " -- ", "-", "/", ".", ",", "\u{1b}[A", "\u{1b}[A\u{1b}OD"] {
            assert!(is_a_command(line) && !is_a_reading(line), "{line}");
        }
    }

    proptest! {
        #[test]
        fn what_the_reading_parser_takes_is_no_command(text in "[-+*/., 0-9a-zA-Z%…°Ωµ−–]{0,8}") {
            prop_assert!(!(is_a_reading(&text) && is_a_command(&text)), "{:?}", text);
        }

        #[test]
        fn a_command_is_no_reading(
            command in "(--|//|\\.\\.|,,|\\+|-|/|\\.|,|why|help|\\?|pause|back( [a-z_]{1,5})?|skip( [a-z0-9]{1,5})?|note( [0-9.]{1,5})?)",
            before in " {0,2}",
            after in " {0,2}",
        ) {
            let text = format!("{before}{command}{after}");
            prop_assert!(is_a_command(&text) && !is_a_reading(&text), "{:?}", text);
        }
    }
}
