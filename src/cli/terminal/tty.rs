//! A terminal, key by key, so that input from before a caution is known from input at it.

use crate::cli::terminal::edited_line::{self, EditedLine, Then};
use crate::cli::terminal::how::How;
use crate::cli::terminal::key::NUM_LOCK;
use crate::cli::terminal::output::Output;
use crate::cli::terminal::wait::Countdown;
use crate::model::clean::Clean;
use crate::model::words;
use rustix::event::{PollFd, PollFlags, Timespec, poll};
use rustix::io::Errno;
use rustix::process::{Signal, getpid, kill_process};
use rustix::stdio::stdin;
use rustix::termios::{InputModes, LocalModes, OptionalActions, Termios, tcgetattr, tcsetattr};
use std::collections::VecDeque;
use std::io::Write;
use std::time::Duration;

/// How long the rest of a key's code may take.
const REST_OF_A_CODE: Duration = Duration::from_millis(30);

/// The nanoseconds after which a stop has surely reached this thread.
const UNTIL_STOPPED: i64 = 200_000_000;

/// The terminal's bell.
const BELL: &str = "\u{7}";

/// The terminal at standard input.
#[derive(Debug, Default)]
pub struct Tty {
    /// Sent, and not read as keys yet.
    sent: VecDeque<u8>,
    /// The wait that is counted down while the next line is read.
    pub countdown: Option<Countdown>,
}

/// Keys come one by one while this lives.
struct Raw(Termios);

impl Raw {
    fn enter() -> std::io::Result<Self> {
        let before = tcgetattr(stdin())?;
        let mut raw = before.clone();
        raw.local_modes -= LocalModes::ICANON | LocalModes::ECHO | LocalModes::ISIG | LocalModes::IEXTEN;
        raw.input_modes -= InputModes::ICRNL | InputModes::IXON | InputModes::INLCR;
        tcsetattr(stdin(), OptionalActions::Now, &raw)?;
        show("\x1b[?2004h");
        Ok(Self(before))
    }
}

impl Drop for Raw {
    fn drop(&mut self) {
        show("\x1b[?2004l");
        let _ = tcsetattr(stdin(), OptionalActions::Now, &self.0);
    }
}

fn show(text: &str) {
    let mut out = std::io::stdout();
    let _ = out.write_all(text.as_bytes()).and_then(|()| out.flush());
}

/// How far the drawn line reaches down, to draw it again.
#[derive(Default)]
struct Drawn {
    /// Rows above the one with the cursor.
    above: usize,
}

impl Drawn {
    /// Draws prompt and line again, with the cursor where it belongs.
    fn again(&mut self, prompt: &str, line: &EditedLine) {
        let columns = terminal_size::terminal_size().map_or(80, |(width, _)| usize::from(width.0)).max(1);
        let (before, after) = line.parts();
        let (before, after) = (Clean::line(before), Clean::line(after));
        let wide = |text: &str| textwrap::core::display_width(text);
        let mut out = String::new();
        if self.above > 0 {
            out.push_str(&format!("\x1b[{}A", self.above));
        }
        out.push_str("\r\x1b[J");
        out.push_str(prompt);
        out.push_str(before.as_str());
        out.push_str(after.as_str());
        let cursor = wide(prompt) + wide(before.as_str());
        let all = cursor + wide(after.as_str());
        // At the edge the cursor has not gone down yet.
        if all > 0 && all.is_multiple_of(columns) {
            out.push_str("\r\n");
        }
        let up = all / columns - cursor / columns;
        if up > 0 {
            out.push_str(&format!("\x1b[{up}A"));
        }
        out.push('\r');
        if cursor % columns > 0 {
            out.push_str(&format!("\x1b[{}C", cursor % columns));
        }
        self.above = cursor / columns;
        show(&out);
    }

    /// Takes the prompt off the screen.
    fn away(&mut self) {
        self.again("", &EditedLine::new(false));
    }
}

impl Tty {
    /// One line; `None` at the end of input and on Ctrl-C.
    pub fn line(&mut self, prompt: &str, how: How, output: &mut Output) -> Option<String> {
        let mut raw = Raw::enter().ok()?;
        if how == How::Fresh
            && let Some(ignored) = self.ignore_what_came_before()
        {
            output.line(&ignored);
        }
        let prompt: String = Clean::text(prompt).into();
        let mut line = EditedLine::new(how == How::Joined);
        let mut drawn = Drawn::default();
        show(&prompt);
        let mut countdown = self.countdown.take();
        loop {
            while let Some(counting) = countdown.as_mut().filter(|_| self.sent.is_empty())
                && let Some(silent) = counting.silent_for()
                && !Self::has_more(silent)
            {
                show("\r\x1b[J");
                output.line(&counting.say());
                if counting.is_over() {
                    show(BELL);
                }
                drawn = Drawn::default();
                drawn.again(&prompt, &line);
            }
            let Some(pressed) = self.key() else {
                show("\r\n");
                return None;
            };
            let before = line.text();
            match line.press(pressed) {
                Then::GoesOn if line.text() == before && line.parts().1.is_empty() => {}
                Then::GoesOn => drawn.again(&prompt, &line),
                Then::Done => {
                    if !line.parts().1.is_empty() {
                        line.press(edited_line::Pressed::End);
                        drawn.again(&prompt, &line);
                    }
                    // Enter alone says no more than what follows it: its prompt takes no line.
                    if line.text().is_empty() && line.not_taken == 0 {
                        drawn.away()
                    } else {
                        show("\r\n")
                    }
                    if line.not_taken > 0 {
                        let count = words::count(line.not_taken, "more pasted line", "more pasted lines");
                        output.line(&format!("  {count} not taken: one line is one answer here."));
                    }
                    return Some(line.text());
                }
                Then::GivenUp => {
                    show("\r\n");
                    return None;
                }
                Then::Sleeps => {
                    show("\r\n");
                    drop(raw);
                    let _ = kill_process(getpid(), Signal::TSTP);
                    // The stop reaches another thread first. What is drawn before it would be gone by the time it ends.
                    let _ = poll(&mut [], Some(&Timespec { tv_sec: 0, tv_nsec: UNTIL_STOPPED }));
                    raw = Raw::enter().ok()?;
                    // Other programs wrote over it meanwhile.
                    output.again();
                    drawn = Drawn::default();
                    drawn.again(&prompt, &line);
                }
                Then::NumLockOff => {
                    show("\r\n");
                    output.line(&format!("  {NUM_LOCK}"));
                    self.sent.clear();
                    drawn = Drawn::default();
                    drawn.again(&prompt, &line);
                }
            }
        }
    }

    /// Takes more of what the terminal sent; false at the end.
    fn take(&mut self) -> bool {
        let mut bytes = [0; 4096];
        loop {
            match rustix::io::read(stdin(), &mut bytes) {
                Ok(0) => return false,
                Ok(length) => {
                    self.sent.extend(&bytes[..length]);
                    return true;
                }
                Err(Errno::INTR) => {}
                Err(_) => return false,
            }
        }
    }

    /// Whether more is there, or comes within a time.
    fn has_more(within: Duration) -> bool {
        let seconds = i64::try_from(within.as_secs()).unwrap_or(i64::MAX);
        let wait = Timespec { tv_sec: seconds, tv_nsec: i64::from(within.subsec_nanos()) };
        let terminal = stdin();
        let mut polled = [PollFd::new(&terminal, PollFlags::IN)];
        matches!(poll(&mut polled, Some(&wait)), Ok(1..)) && polled[0].revents().contains(PollFlags::IN)
    }

    fn key(&mut self) -> Option<edited_line::Pressed> {
        loop {
            if let Some(pressed) = edited_line::next(&mut self.sent, false) {
                return Some(pressed);
            }
            if !self.sent.is_empty() && !Self::has_more(REST_OF_A_CODE) && !is_a_paste(&self.sent) {
                return edited_line::next(&mut self.sent, true);
            }
            if !self.take() {
                return None;
            }
        }
    }

    /// Drops the earlier input; says how much it was.
    fn ignore_what_came_before(&mut self) -> Option<String> {
        while Self::has_more(Duration::ZERO) {
            if !self.take() {
                break;
            }
        }
        // Ctrl-C and Ctrl-D still mean what they mean.
        if self.sent.contains(&0x03) {
            self.sent = VecDeque::from([0x03]);
            return None;
        }
        let is_end = |byte: &u8| matches!(byte, b'\r' | b'\n');
        let lines = self.sent.iter().filter(|byte| is_end(byte)).count();
        let keys = self.sent.len();
        self.sent.clear();
        match (lines, keys) {
            (_, 0) => None,
            (0, _) => Some("  Keys pressed earlier are ignored.".to_owned()),
            (lines, _) => Some(format!("  {} ignored", words::count(lines, "earlier line", "earlier lines"))),
        }
    }
}

/// A long paste comes in pieces.
fn is_a_paste(sent: &VecDeque<u8>) -> bool {
    sent.iter().take(6).copied().eq(*b"\x1b[200~")
}
