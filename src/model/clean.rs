//! Text that a screen, a page or a report may show: no character in it moves a cursor, turns text around or can't be seen.

use std::borrow::Cow;
use std::fmt::{self, Write};

pub mod look_alike;

/// Text for people. Only cleaning makes one, so what takes a `Clean` can't be given anything else. What may not be shown
/// stands as an escape: U+202E as `\u{202e}`.
///
/// ```
/// use ohmwright::model::clean::Clean;
/// assert_eq!(Clean::text("red\u{1b}[2J\n wire").as_str(), "red\\u{1b}[2J\n wire");
/// assert_eq!(Clean::line("two\nlines").as_str(), "two\\u{a}lines");
/// assert_eq!(Clean::name("An\u{430} Example").as_str(), "An\\u{430} Example");
/// assert_eq!(Clean::name("Ана").as_str(), "Ана");
/// ```
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Clean(String);

impl Clean {
    /// Text in lines, which stay. A tab is a space.
    pub fn text(text: &str) -> Self {
        Self(lines(text).into_owned())
    }

    /// Text within a line: a line end is an escape, too.
    pub fn line(text: &str) -> Self {
        if is_plain(text) {
            return Self(text.to_owned());
        }
        let mut clean = String::with_capacity(text.len() + 8);
        text.chars().for_each(|c| put(&mut clean, c));
        Self(clean)
    }

    /// What somebody or something is called, which has to differ on a screen where it differs. Letters that look like those of
    /// another alphabet, and spaces other than the usual one, are escapes, too.
    pub fn name(name: &str) -> Self {
        if is_plain(name) {
            return Self(name.to_owned());
        }
        let units: Vec<Unit<'_>> = Units(name).collect();
        let has_latin = units.iter().any(|unit| Script::of(unit.stands_for) == Some(Script::Latin));
        let mut clean = String::with_capacity(name.len() + 8);
        for word in units.split_inclusive(|unit| !unit.stands_for.is_alphanumeric()) {
            let scripts = Scripts::of(word);
            for Unit { stands_for: c, written } in word {
                if written.len() > c.len_utf8() {
                    clean.push_str(written);
                } else if looks_like_another(*c, &scripts, has_latin) || is_unusual_space(*c) || is_variation(*c) {
                    escape(&mut clean, *c);
                } else {
                    put(&mut clean, *c);
                }
            }
        }
        Self(clean)
    }

    /// A JSON text: what may not be shown stands in its strings as JSON's own escape, so that a reader gets the true text.
    pub fn json(text: &str) -> Self {
        let mut clean = String::with_capacity(text.len());
        for c in text.chars() {
            if c == '\n' || !is_hidden(c) {
                clean.push(c);
                continue;
            }
            for unit in c.encode_utf16(&mut [0; 2]) {
                // Writing into a string can't fail.
                _ = write!(clean, "\\u{unit:04x}");
            }
        }
        Self(clean)
    }

    /// The text.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for Clean {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

impl From<&str> for Clean {
    fn from(text: &str) -> Self {
        Self::text(text)
    }
}

impl From<&String> for Clean {
    fn from(text: &String) -> Self {
        Self::text(text)
    }
}

impl From<String> for Clean {
    fn from(text: String) -> Self {
        match lines(&text) {
            Cow::Owned(clean) => Self(clean),
            Cow::Borrowed(_) => Self(text),
        }
    }
}

impl From<Clean> for String {
    fn from(clean: Clean) -> Self {
        clean.0
    }
}

/// Text in lines, cleaned where it has to be.
pub fn lines(text: &str) -> Cow<'_, str> {
    if text.split('\n').all(is_plain) {
        return Cow::Borrowed(text);
    }
    let mut clean = String::with_capacity(text.len() + 8);
    let mut characters = text.chars().peekable();
    while let Some(c) = characters.next() {
        match c {
            '\n' => clean.push(c),
            '\r' if characters.peek() == Some(&'\n') => clean.push(c),
            _ => put(&mut clean, c),
        }
    }
    Cow::Owned(clean)
}

/// Nothing in it needs a look.
fn is_plain(text: &str) -> bool {
    text.bytes().all(|byte| matches!(byte, b' '..=b'~'))
}

fn put(clean: &mut String, c: char) {
    match c {
        '\t' => clean.push(' '),
        _ if is_hidden(c) => escape(clean, c),
        _ => clean.push(c),
    }
}

fn escape(clean: &mut String, c: char) {
    clean.extend(c.escape_unicode());
}

/// Whether a character has no look of its own or changes that of others: a control or format character, one that turns the
/// writing around, one without a width, one that is not assigned or is private.
pub fn is_hidden(c: char) -> bool {
    match c {
        ' '..='~' => false,
        // What our own pages and tables are full of.
        '\u{a1}'..='\u{ac}' | '\u{ae}'..='\u{2ff}' | '\u{2010}'..='\u{2027}' | '\u{2190}'..='\u{23ff}' => false,
        '\u{2500}'..='\u{25ff}' => false,
        _ if is_unusual_space(c) => false,
        // Letters and marks by their category, but with nothing to see (from memory).
        '\u{34f}' | '\u{115f}' | '\u{1160}' | '\u{17b4}' | '\u{17b5}' | '\u{180b}'..='\u{180f}' => true,
        '\u{2800}' | '\u{3164}' | '\u{ffa0}' | '\u{e0000}'..='\u{e0fff}' => true,
        _ => {
            // The standard library escapes what has no look: control, format, private, unassigned characters. It escapes a
            // mark that goes onto a letter only where there is no letter.
            let mut bytes = [b'a'; 5];
            let length = 1 + c.encode_utf8(&mut bytes[1..]).len();
            let both = std::str::from_utf8(&bytes[..length]).unwrap_or_default();
            both.escape_debug().nth(1) != Some(c)
        }
    }
}

/// A space that looks like the usual one, or nearly so.
const fn is_unusual_space(c: char) -> bool {
    matches!(c, '\u{a0}' | '\u{1680}' | '\u{2000}'..='\u{200a}' | '\u{202f}' | '\u{205f}' | '\u{3000}')
}

/// A mark that chooses between two looks of a character, of which most have but one.
const fn is_variation(c: char) -> bool {
    matches!(c, '\u{fe00}'..='\u{fe0f}')
}

/// Alphabets with letters that look alike.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Script {
    Latin,
    Greek,
    Cyrillic,
    /// Armenian, Cherokee, Coptic, Lisu.
    Rarer,
}

impl Script {
    /// The alphabet of a letter; by blocks, from memory.
    const fn of(c: char) -> Option<Self> {
        Some(match c {
            '\u{d7}' | '\u{f7}' | '\u{37e}' | '\u{387}' => return None,
            'A'..='Z' | 'a'..='z' | '\u{c0}'..='\u{2af}' | '\u{1e00}'..='\u{1eff}' => Self::Latin,
            '\u{370}'..='\u{3ff}' | '\u{1f00}'..='\u{1fff}' => Self::Greek,
            '\u{400}'..='\u{52f}' | '\u{1c80}'..='\u{1c8f}' | '\u{2de0}'..='\u{2dff}' | '\u{a640}'..='\u{a69f}' => {
                Self::Cyrillic
            }
            '\u{530}'..='\u{58f}' | '\u{13a0}'..='\u{13ff}' | '\u{ab70}'..='\u{abbf}' | '\u{2c80}'..='\u{2cff}' => {
                Self::Rarer
            }
            '\u{a4d0}'..='\u{a4ff}' => Self::Rarer,
            _ => return None,
        })
    }
}

/// A character of a name, or the escape that stands for one: a name that is cleaned twice comes out as after the first time.
struct Unit<'a> {
    stands_for: char,
    written: &'a str,
}

struct Units<'a>(&'a str);

impl<'a> Iterator for Units<'a> {
    type Item = Unit<'a>;

    fn next(&mut self) -> Option<Unit<'a>> {
        let first = self.0.chars().next()?;
        let (stands_for, length) = escaped(self.0).unwrap_or((first, first.len_utf8()));
        let (written, rest) = self.0.split_at(length);
        self.0 = rest;
        Some(Unit { stands_for, written })
    }
}

/// The character of an escape with which a text begins, and the escape's length.
fn escaped(text: &str) -> Option<(char, usize)> {
    let digits = text.strip_prefix("\\u{")?.split_once('}')?.0;
    let c = char::from_u32(u32::from_str_radix(digits, 16).ok()?)?;
    Some((c, digits.len() + 4))
}

/// The alphabets of a word.
struct Scripts {
    latin: bool,
    cyrillic: bool,
    /// Each of its letters looks like one of another alphabet.
    all_alike: bool,
}

impl Scripts {
    fn of(word: &[Unit<'_>]) -> Self {
        let letters = || word.iter().map(|unit| unit.stands_for);
        let has = |script| letters().any(|c| Script::of(c) == Some(script));
        let all_alike = letters().filter(|c| Script::of(*c).is_some()).all(is_alike);
        Self { latin: has(Script::Latin), cyrillic: has(Script::Cyrillic), all_alike }
    }
}

/// Greek and Cyrillic letters that look like Latin ones (from memory).
fn is_alike(c: char) -> bool {
    "ΑΒΕΖΗΙΚΜΝΟΡΤΥΧαγικνορτυχϲϳϹͿАВЕЅІЈКМНОРСТУХҮӀԌԚԜЅаеѕіјорсухүһӏԁԍԛԝ".contains(c)
}

/// Whether a letter can be taken for one of another alphabet beside which it stands. A word that is of one alphabet, and shows it
/// by a letter that no other has, stays readable; so does a name without Latin letters.
fn looks_like_another(c: char, word: &Scripts, name_has_latin: bool) -> bool {
    match c {
        // Letters and signs of another width or style, and those for phonetics.
        '\u{ff01}'..='\u{ff5e}' | '\u{1d400}'..='\u{1d7ff}' | '\u{2160}'..='\u{217f}' => return true,
        '\u{251}' | '\u{261}' | '\u{269}' => return true,
        _ => {}
    }
    match Script::of(c) {
        None | Some(Script::Latin) => false,
        // In one word with Latin letters none of these is usual.
        Some(Script::Cyrillic | Script::Rarer) if word.latin => true,
        // Units are: kΩ, Δp.
        Some(Script::Greek) if word.latin || word.cyrillic => is_alike(c),
        Some(_) => name_has_latin && word.all_alike,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// What no sink lets through: written down a second time, by number.
    fn is_dangerous(c: char) -> bool {
        let bidi = ['\u{202a}'..='\u{202e}', '\u{2066}'..='\u{2069}', '\u{200e}'..='\u{200f}', '\u{61c}'..='\u{61c}'];
        let unseen = ['\u{200b}'..='\u{200d}', '\u{2060}'..='\u{2064}', '\u{feff}'..='\u{feff}', '\u{ad}'..='\u{ad}'];
        let others = ['\u{e000}'..='\u{f8ff}', '\u{e0000}'..='\u{e007f}', '\u{2028}'..='\u{2029}'];
        c.is_control() || [bidi.as_slice(), &unseen, &others].concat().iter().any(|range| range.contains(&c))
    }

    fn nasty() -> impl Strategy<Value = String> {
        let some = prop_oneof![
            any::<char>(),
            (0_u32..0xa0).prop_filter_map("a character", char::from_u32),
            (0x2000_u32..0x2070).prop_filter_map("a character", char::from_u32),
            Just('\u{feff}'),
            Just('\u{61c}'),
            Just('\u{e0041}'),
            Just('а'),
            Just('a'),
        ];
        prop::collection::vec(some, 0..40).prop_map(|characters| characters.into_iter().collect())
    }

    proptest! {
        #[test]
        fn nothing_dangerous_passes_and_cleaning_twice_changes_nothing(text in nasty()) {
            let clean = Clean::text(&text);
            let without_line_ends = clean.as_str().replace("\r\n", "").replace('\n', "");
            prop_assert!(!without_line_ends.contains(is_dangerous), "{clean:?}");
            prop_assert_eq!(&Clean::text(clean.as_str()), &clean);
            prop_assert_eq!(&Clean::from(text.clone()), &clean);
            let line = Clean::line(&text);
            prop_assert!(!line.as_str().contains(is_dangerous), "{line:?}");
            prop_assert_eq!(&Clean::line(line.as_str()), &line);
            prop_assert_eq!(&Clean::text(line.as_str()), &line);
            let name = Clean::name(&text);
            prop_assert!(!name.as_str().contains(|c| is_dangerous(c) || is_unusual_space(c)), "{name:?}");
            prop_assert_eq!(&Clean::name(name.as_str()), &name);
            prop_assert_eq!(&Clean::text(name.as_str()), &name);
        }

        #[test]
        fn json_keeps_the_true_text_and_shows_nothing_dangerous(text in nasty()) {
            let json = Clean::json(&serde_json::to_string(&text).unwrap());
            prop_assert!(!json.as_str().contains(is_dangerous), "{json:?}");
            prop_assert_eq!(&serde_json::from_str::<String>(json.as_str()).unwrap(), &text);
            prop_assert_eq!(&Clean::text(json.as_str()), &json);
        }

        #[test]
        fn what_is_written_in_usual_letters_stays(text in "[ -~äöüßéñçæøåžčřłőığ]{0,40}") {
            prop_assert_eq!(&String::from(Clean::name(&text)), &text);
            prop_assert_eq!(&String::from(Clean::text(&text)), &text);
        }
    }

    #[test]
    fn names_in_one_alphabet_stay_readable_and_look_alikes_do_not_pass() {
        for name in
            ["Ана Пример", "Сара", "Ελένη Παράδειγμα", "Ана Example", "100 kΩ", "Δp sensor", "5 µA", "李 Example"]
        {
            assert_eq!(Clean::name(name).as_str(), name);
        }
        let shown = [
            ("An\u{430} Example", "An\\u{430} Example"),
            ("\u{421}\u{430}\u{440}\u{430} Example", "\\u{421}\\u{430}\\u{440}\\u{430} Example"),
            ("\u{39f}sk", "\\u{39f}sk"),
            ("Ana\u{a0}Example", "Ana\\u{a0}Example"),
            ("Ana\u{200b} Example", "Ana\\u{200b} Example"),
            ("Ana\u{fe0f} Example", "Ana\\u{fe0f} Example"),
            ("\u{ff21}na", "\\u{ff21}na"),
            ("\u{1d400}na", "\\u{1d400}na"),
            ("bay\u{202f}2", "bay\\u{202f}2"),
        ];
        for (name, expected) in shown {
            assert_eq!(Clean::name(name).as_str(), expected);
        }
        // Elsewhere these are text.
        assert_eq!(Clean::text("An\u{430}: 5\u{a0}V").as_str(), "An\u{430}: 5\u{a0}V");
    }

    #[test]
    fn what_a_table_and_a_page_are_drawn_with_stays() {
        let drawn = "│ ┆ ╞ ═ ╪ ━ ╭ ▸ ╰ • … → ← Ω µ ° ± × · “ ” ‘ ’ – — ≤ ≥ ✓ \u{fffd} ─ ▔ 😀 e\u{301}";
        assert_eq!(Clean::text(drawn).as_str(), drawn);
        // Shortcuts for what is frequent are true.
        for c in ('\u{a1}'..='\u{25ff}').filter(|c| !is_hidden(*c) && !is_unusual_space(*c)) {
            assert_eq!(format!("a{c}").escape_debug().nth(1), Some(c), "{}", c.escape_unicode());
        }
        for c in ["\u{34f}", "\u{2800}", "\u{378}", "\u{fdd0}", "\u{10ffff}", "\u{e0041}", "\u{85}", "\u{7f}", "\r"] {
            assert!(Clean::text(c).as_str().starts_with("\\u{"), "{}", c.escape_unicode());
        }
    }
}
