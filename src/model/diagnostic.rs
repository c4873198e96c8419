//! Something wrong with an input, as data: what, where, what to do. One renderer draws it.

use super::toml_words::in_own_words;
use std::ops::Range;

/// A place in a file.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Place {
    /// The file, as it was named.
    pub file: String,
    /// Its whole text.
    pub text: String,
    /// Bytes in it.
    pub range: Range<usize>,
    /// The text there, in few words.
    pub label: String,
}

/// The problem.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Diagnostic {
    /// One clear sentence without its full stop.
    pub title: String,
    /// Where.
    pub place: Option<Place>,
    /// The advice.
    pub hint: Option<String>,
}

impl std::fmt::Display for Diagnostic {
    /// The sentence and the place, without the lines that are drawn on a screen.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.title)?;
        self.place_in_words().map_or(Ok(()), |place| write!(f, " ({place})"))
    }
}

impl Diagnostic {
    /// Of a file as a whole.
    pub fn of_file(file: &str, title: impl std::fmt::Display) -> Self {
        Self { title: format!("{file}: {title}"), place: None, hint: None }
    }

    /// At a place in a file.
    pub fn at(file: &str, text: &str, range: Range<usize>, title: impl Into<String>) -> Self {
        let place = Place { file: file.to_owned(), text: text.to_owned(), range, label: String::new() };
        Self { title: title.into(), place: Some(place), hint: None }
    }

    /// With words on what to do.
    #[must_use]
    pub fn with_hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = Some(hint.into());
        self
    }

    /// The place in words: `line 6 of library/own.rhai`.
    pub fn place_in_words(&self) -> Option<String> {
        Some(format!("line {} of {}", self.line()?, self.place.as_ref()?.file))
    }

    /// Line of the place, from 1.
    pub fn line(&self) -> Option<usize> {
        let place = self.place.as_ref()?;
        Some(place.text.get(..place.range.start)?.matches('\n').count() + 1)
    }
}

/// Where a key stands in a TOML text that was read before, by its name and those of the tables above it; `None` where it is not.
///
/// ```
/// use ohmwright::model::diagnostic::key_place;
/// let text = "feed = 1\n[answers]\n  feed_long = 2\n  feed = 3\n";
/// assert_eq!(key_place(text, &["answers", "feed"]), Some(37..41));
/// ```
pub fn key_place(text: &str, way: &[&str]) -> Option<Range<usize>> {
    places(text, way).map(|(key, _)| key)
}

/// Where what a key stands for stands, likewise.
///
/// ```
/// use ohmwright::model::diagnostic::value_place;
/// assert_eq!(value_place("procedure = \"p\"\n", &["procedure"]), Some(12..15));
/// ```
pub fn value_place(text: &str, way: &[&str]) -> Option<Range<usize>> {
    places(text, way).map(|(_, value)| value)
}

fn places(text: &str, way: &[&str]) -> Option<(Range<usize>, Range<usize>)> {
    let whole = toml::de::DeTable::parse(text).ok()?;
    let (name, above) = way.split_last()?;
    let mut table = whole.get_ref();
    for name in above {
        table = table.get(*name)?.get_ref().as_table()?;
    }
    table.get_key_value(*name).map(|(key, value)| (key.span(), value.span()))
}

/// A TOML error with its place.
pub fn of_toml(file: &str, text: &str, error: &toml::de::Error) -> Diagnostic {
    let (title, hint) = in_own_words(error.message());
    let mut diagnostic = match error.span() {
        Some(range) => Diagnostic::at(file, text, range, title),
        None => Diagnostic::of_file(file, title),
    };
    diagnostic.hint = hint;
    diagnostic
}
