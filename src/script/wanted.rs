//! Which functions of the language are made.

use std::collections::HashSet;

/// Which functions of the language a script can reach. Making one costs as much as many readings, so what no script names is
/// not made.
pub struct Wanted<'a>(Option<HashSet<&'a str>>);

impl<'a> Wanted<'a> {
    /// Every function.
    pub const ALL: Wanted<'static> = Wanted(None);

    /// Those with these names; every function where one may be called by a name that is put together.
    pub fn by(words: HashSet<&'a str>) -> Self {
        Self((!words.contains("Fn")).then_some(words))
    }

    /// Whether this one is.
    pub fn has(&self, name: &str) -> bool {
        self.0.as_ref().is_none_or(|words| words.contains(name))
    }
}
