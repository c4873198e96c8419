//! A wait at the terminal: it counts down above the line that is being typed, and rings at its end.

use crate::model::vehicle::Action;
use crate::report::action::seconds_in_words;
use std::time::{Duration, Instant};

/// A wait that is asked for.
pub struct Wait {
    /// Its remaining time.
    pub seconds: u64,
    /// When it ends, as a time of day.
    pub until: String,
}

/// A wait that is counted down while a line is read.
#[derive(Debug)]
pub struct Countdown {
    ends: Instant,
    until: String,
    /// Seconds that are left when it is said next.
    mark: u64,
}

impl Countdown {
    /// How long nothing has to be said; `None` once the wait is over.
    pub fn silent_for(&self) -> Option<Duration> {
        let left = self.ends.saturating_duration_since(Instant::now());
        (self.mark != u64::MAX).then(|| left.saturating_sub(Duration::from_secs(self.mark)))
    }

    /// The next line: the minutes left, or that the wait is over.
    pub fn say(&mut self) -> String {
        let mark = self.mark;
        if mark == 0 {
            self.mark = u64::MAX;
            return format!("  {}: the wait is over.", self.until);
        }
        self.mark = next_mark(mark);
        format!("  {} min left, until {}", mark / 60, self.until)
    }

    /// Whether it is over, and said so.
    pub const fn is_over(&self) -> bool {
        self.mark == u64::MAX
    }
}

impl Wait {
    /// It begins to count.
    pub fn countdown(self) -> Countdown {
        let ends = Instant::now() + Duration::from_secs(self.seconds);
        Countdown { ends, until: self.until, mark: next_mark(self.seconds) }
    }
}

/// How many seconds are left when it is said next: every 5 min, of the last 5 every one, and the end.
const fn next_mark(left: u64) -> u64 {
    let every = if left > 5 * 60 { 5 * 60 } else { 60 };
    left.saturating_sub(1) / every * every
}

/// The question to a technician who ends a wait early.
pub fn too_soon(action: &Action, seconds: u64) -> String {
    let Action::Wait { time, .. } = action else { return String::new() };
    let began = match seconds {
        0..10 => "The wait just started".to_owned(),
        _ => format!("The wait started {} ago", seconds_in_words(seconds)),
    };
    format!("{began}. Enter again only if it has already stood {time}.")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_is_said_every_five_minutes_and_at_last_every_minute() {
        assert_eq!(
            [2400, 2399, 2100, 301, 300, 240, 61, 60, 1, 0].map(next_mark),
            [2100, 2100, 1800, 300, 240, 180, 60, 0, 0, 0]
        );
    }

    #[test]
    fn it_says_what_is_left_and_that_it_is_over_and_then_nothing() {
        let mut countdown = Countdown { ends: Instant::now(), until: "14:32".to_owned(), mark: 120 };
        let said = [countdown.say(), countdown.say(), countdown.say()];
        assert_eq!(said, ["  2 min left, until 14:32", "  1 min left, until 14:32", "  14:32: the wait is over."]);
        assert!(countdown.is_over() && countdown.silent_for().is_none());
    }
}
