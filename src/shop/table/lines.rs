//! Which line of a table a row stands on, as an editor and a spreadsheet count.

use std::collections::VecDeque;
use std::io::Read;
use std::sync::{Arc, Mutex};

/// A reader that remembers where lines ended. The table's own reader counts a line late after `\r\n` and empty lines.
pub struct Counted<R> {
    inner: R,
    lines: Lines,
    at: u64,
    content: bool,
    /// Behind a `\r`, which ends a line alone, too.
    after_return: bool,
}

/// The lines that went by and were not asked for yet.
#[derive(Clone, Default)]
pub struct Lines(Arc<Mutex<Passed>>);

#[derive(Default)]
struct Passed {
    /// Where each line ended, and whether there was something in it.
    ends: VecDeque<(u64, bool)>,
    /// How many lines were taken away from the front.
    gone: u64,
}

impl<R> Counted<R> {
    /// Around another reader; the lines are asked for of the second.
    pub fn new(inner: R) -> (Self, Lines) {
        let lines = Lines::default();
        (Self { inner, lines: lines.clone(), at: 0, content: false, after_return: false }, lines)
    }
}

impl<R: Read> Read for Counted<R> {
    fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
        let read = self.inner.read(buffer)?;
        if let Ok(mut passed) = self.lines.0.lock() {
            for byte in buffer.iter().take(read) {
                match byte {
                    b'\n' if self.after_return => {}
                    b'\n' | b'\r' => {
                        passed.ends.push_back((self.at, self.content));
                        self.content = false;
                    }
                    _ => self.content = true,
                }
                self.after_return = *byte == b'\r';
                self.at += 1;
            }
        }
        Ok(read)
    }
}

impl Lines {
    /// The line, from 1, of the row that the table's reader found from `byte` on. Rows are asked for in order.
    pub fn of(&self, byte: u64) -> u64 {
        let Ok(mut passed) = self.0.lock() else { return 0 };
        // What ended before, the rest of a line end, and empty lines are no part of the row.
        while passed.ends.front().is_some_and(|(end, content)| *end <= byte || !content) {
            passed.ends.pop_front();
            passed.gone += 1;
        }
        passed.gone + 1
    }
}
