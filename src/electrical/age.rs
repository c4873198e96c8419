//! As which version a helper answers.

use crate::model::format::BEHAVIOR;

/// What newer versions refuse, older ones had an answer to. A record that is judged again gets the answer of its own time.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Age(u32);

impl Age {
    /// As now.
    pub const TODAY: Self = Self(BEHAVIOR);

    /// As a program of this behavior.
    pub const fn of(behavior: u32) -> Self {
        Self(behavior)
    }

    /// Whether what is refused since this behavior is refused.
    pub const fn refuses(self, since: u32) -> bool {
        self.0 >= since
    }
}
