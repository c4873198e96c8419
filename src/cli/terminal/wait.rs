//! A wait at the terminal: it counts down above the line that is being typed, and rings at its end.

use crate::cli::terminal::input::Input;
use crate::model::vehicle::Action;
use crate::report::action::seconds_in_words;
use rustyline::ExternalPrinter;
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::time::{Duration, Instant};

/// The terminal's bell.
const BELL: char = '\u{7}';

/// A wait that is asked for.
pub struct Wait {
    /// What is left of it.
    pub seconds: u64,
    /// When it ends, as a time of day.
    pub until: String,
}

/// It counts until this is dropped.
pub struct Countdown {
    _stops: Sender<()>,
}

impl Wait {
    /// Counts down at a terminal; nothing is written into a pipe.
    pub fn count_down(self, input: &mut Input) -> Option<Countdown> {
        let Input::Terminal(editor) = input else { return None };
        let mut printer = editor.create_external_printer().ok()?;
        let (stops, is_stopped) = channel();
        let ends = Instant::now() + Duration::from_secs(self.seconds);
        std::thread::spawn(move || self.count(ends, &is_stopped, |text| printer.print(text).is_ok()));
        Some(Countdown { _stops: stops })
    }

    fn count(&self, ends: Instant, is_stopped: &Receiver<()>, mut print: impl FnMut(String) -> bool) {
        loop {
            let left = ends.saturating_duration_since(Instant::now());
            let mark = next_mark(left.as_secs());
            let until_mark = left.saturating_sub(Duration::from_secs(mark));
            match is_stopped.recv_timeout(until_mark) {
                Err(RecvTimeoutError::Timeout) => {}
                Ok(()) | Err(RecvTimeoutError::Disconnected) => return,
            }
            if mark == 0 {
                print(format!("{BELL}  {}: the wait is over.\n", self.until));
                return;
            }
            if !print(format!("  {} min left, until {}\n", mark / 60, self.until)) {
                return;
            }
        }
    }
}

/// How many seconds are left when it is said next: every 5 min, of the last 5 every one, and the end.
const fn next_mark(left: u64) -> u64 {
    let every = if left > 5 * 60 { 5 * 60 } else { 60 };
    left.saturating_sub(1) / every * every
}

/// What is said where somebody says that a wait is over before its time.
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
    fn it_rings_at_its_end_and_not_once_it_is_stopped() {
        let wait = Wait { seconds: 0, until: "14:32".to_owned() };
        let mut said = Vec::new();
        let (stops, is_stopped) = channel();
        wait.count(Instant::now(), &is_stopped, |text| {
            said.push(text);
            true
        });
        assert_eq!(said, ["\u{7}  14:32: the wait is over.\n"]);
        drop(stops);
        wait.count(Instant::now() + Duration::from_secs(60), &is_stopped, |_| panic!("it is stopped"));
    }
}
