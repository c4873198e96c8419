//! The system's clock; or one set by hand, for tests and demonstrations, which the record says.

use crate::model::stamp::Stamp;
use crate::run::journal::Clock;
use jiff::tz::TimeZone;
use jiff::{Timestamp, ToSpan, ZonedDateTime};
use std::sync::OnceLock;
use std::time::SystemTime;

/// The environment variable that sets the clock by hand: `2026-11-24T09:00:00+01:00`.
pub const VARIABLE: &str = "OHMWRIGHT_CLOCK";

/// The time here. The zone's own file is read where the machine has one: looking its name up would list every zone there is.
fn now() -> ZonedDateTime {
    static ZONE: OnceLock<TimeZone> = OnceLock::new();
    let zone = ZONE.get_or_init(|| {
        let own_file = std::env::var_os("TZ").is_none().then(|| std::fs::read("/etc/localtime").ok()).flatten();
        own_file.and_then(|bytes| TimeZone::tzif("local", &bytes).ok()).unwrap_or_else(TimeZone::system)
    });
    ZonedDateTime::new(instant(), zone.clone())
}

/// This moment, or the last one that can be written down; a run is not begun then.
fn instant() -> Timestamp {
    Timestamp::try_from(SystemTime::now()).unwrap_or(Timestamp::MAX)
}

/// Refuses a computer's time that no date of four figures can say.
fn look_at(time: SystemTime) -> Result<(), String> {
    match Timestamp::try_from(time) {
        Ok(time) if time < Timestamp::MAX => Ok(()),
        _ => Err("the clock of this computer is past the year 9999 or before the year -9999: set it right".to_owned()),
    }
}

/// A clock for a run.
#[derive(Clone, Debug)]
pub enum EdgeClock {
    /// The system's.
    System {
        /// The last second that was asked for, as written: a batch asks many times a second.
        written: Option<(i64, Stamp)>,
    },
    /// Set by hand; goes on one second with every event.
    ByHand {
        /// What it shows next.
        next: Timestamp,
    },
}

impl EdgeClock {
    /// As the environment says.
    pub fn from_environment() -> Result<Self, String> {
        match std::env::var(VARIABLE) {
            Ok(text) => {
                let next =
                    text.parse().map_err(|_| format!("{VARIABLE}={text} is not a time: write 2026-11-24T09:00:00Z"))?;
                Ok(Self::ByHand { next })
            }
            Err(_) => {
                look_at(SystemTime::now())?;
                Ok(Self::System { written: None })
            }
        }
    }

    /// Whether it was set by hand.
    pub const fn is_by_hand(&self) -> bool {
        matches!(self, Self::ByHand { .. })
    }

    /// Today, for calibration dates.
    pub fn today(&self) -> jiff::civil::Date {
        match self {
            Self::System { .. } => now().date(),
            Self::ByHand { next } => jiff::tz::Offset::UTC.to_datetime(*next).date(),
        }
    }

    /// For a folder's name: date and time of day.
    pub fn folder_stamp(&self) -> String {
        match self {
            Self::System { .. } => now().strftime("%Y-%m-%d-%H%M%S").to_string(),
            Self::ByHand { next } => next.strftime("%Y-%m-%d-%H%M%S").to_string(),
        }
    }
}

impl Clock for EdgeClock {
    fn now(&mut self) -> Stamp {
        match self {
            Self::System { written } => {
                let second = instant().as_second();
                match written {
                    Some((at, stamp)) if *at == second => stamp.clone(),
                    _ => {
                        let stamp = Stamp::new(now().strftime("%Y-%m-%dT%H:%M:%S%:z").to_string());
                        *written = stamp.second().map(|second| (second, stamp.clone()));
                        stamp
                    }
                }
            }
            Self::ByHand { next } => {
                let stamp = Stamp::new(next.strftime("%Y-%m-%dT%H:%M:%SZ").to_string());
                *next = next.checked_add(1.second()).unwrap_or(*next);
                stamp
            }
        }
    }

    fn minute(&mut self) -> i64 {
        match self {
            Self::System { .. } => instant().as_second().div_euclid(60),
            Self::ByHand { .. } => self.now().minute(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::time::{Duration, UNIX_EPOCH};

    #[test]
    fn a_clock_past_the_year_9999_is_refused_in_a_sentence() {
        let in_year_10000 = UNIX_EPOCH + Duration::from_secs(253_402_300_800);
        let sentence = look_at(in_year_10000).unwrap_err();
        assert!(sentence.contains("past the year 9999"), "{sentence}");
        assert_eq!(look_at(UNIX_EPOCH + Duration::from_secs(1_764_000_000)), Ok(()));
    }
}
