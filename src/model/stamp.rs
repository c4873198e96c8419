//! Date and time of an event.

use serde::{Deserialize, Deserializer, Serialize};
use std::convert::Infallible;
use std::fmt;
use std::sync::Arc;

/// Date and time with its offset, RFC 3339: `2026-11-24T14:03:00+01:00`.
#[derive(Clone, PartialEq, Eq, Debug, PartialOrd, Ord, Serialize)]
#[serde(transparent)]
pub struct Stamp(Arc<str>);

impl<'de> Deserialize<'de> for Stamp {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        super::text::from_text(deserializer, |text| Ok::<_, Infallible>(Self::new(text)))
    }
}

impl Stamp {
    /// Takes the text as it is.
    pub fn new(text: impl Into<Arc<str>>) -> Self {
        Self(text.into())
    }
    /// The text.
    pub fn as_str(&self) -> &str {
        &self.0
    }
    /// Minutes since the epoch; 0 if the text is no time.
    pub fn minute(&self) -> i64 {
        self.0.parse::<jiff::Timestamp>().map_or(0, |time| time.as_second().div_euclid(60))
    }
    /// Seconds since the epoch; `None` if the text is no time.
    pub fn second(&self) -> Option<i64> {
        self.0.parse::<jiff::Timestamp>().ok().map(jiff::Timestamp::as_second)
    }
    /// Whether `later` lies in the same minute and not before this. It compares the texts, which is quick; `false` may also mean that
    /// the texts can't tell.
    pub(crate) fn is_within_a_minute_before(&self, later: &Self) -> bool {
        const OF_MINUTE: std::ops::RangeTo<usize> = ..17;
        const SECOND: std::ops::Range<usize> = 17..19;
        let (one, other) = (self.0.as_bytes(), later.0.as_bytes());
        one == other
            || one.get(OF_MINUTE).is_some_and(|minute| Some(minute) == other.get(OF_MINUTE))
                && one.get(SECOND.end..) == other.get(SECOND.end..)
                && one.get(SECOND) <= other.get(SECOND)
    }
    /// The time of day so many seconds later, as `14:32`; a minute that has begun counts whole. `None` if the text is no time.
    pub fn time_of_day_after(&self, seconds: i64) -> Option<String> {
        self.second()?;
        let of_day = |at: std::ops::Range<usize>| self.0.get(at)?.parse::<i64>().ok();
        let second = of_day(11..13)? * 3600 + of_day(14..16)? * 60 + of_day(17..19)? + seconds;
        let minute = second.div_euclid(60) + i64::from(second.rem_euclid(60) > 0);
        Some(format!("{:02}:{:02}", minute.div_euclid(60).rem_euclid(24), minute.rem_euclid(60)))
    }
    /// Date and time of day without seconds, for people.
    pub fn short(&self) -> String {
        self.0.get(..16).unwrap_or(&self.0).replace('T', " ")
    }
}

impl fmt::Display for Stamp {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}
