//! How a value that is written as a text is read: from the text where it stands, which is not kept.

use serde::{Deserializer, de};
use std::fmt;
use std::marker::PhantomData;

struct Text<F, T>(F, PhantomData<T>);

impl<T, E: fmt::Display, F: FnOnce(&str) -> Result<T, E>> de::Visitor<'_> for Text<F, T> {
    type Value = T;
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a string")
    }
    fn visit_str<D: de::Error>(self, text: &str) -> Result<T, D> {
        (self.0)(text).map_err(D::custom)
    }
}

/// Reads a string and makes of it what `read` says.
pub fn from_text<'de, D: Deserializer<'de>, T, E: fmt::Display>(
    deserializer: D,
    read: impl FnOnce(&str) -> Result<T, E>,
) -> Result<T, D::Error> {
    deserializer.deserialize_str(Text(read, PhantomData))
}
