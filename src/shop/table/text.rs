//! A table as a text: what stands between its cells, and what can't be right, seen before its first row is begun.

use crate::model::diagnostic::Diagnostic;
use crate::shop::error::ShopError;
use crate::shop::text_file;
use std::io::{BufRead, BufReader, Read};
use std::path::Path;

/// No row has more bytes than this.
const LONGEST_ROW: u64 = 1024 * 1024;
/// Columns of free text: only there a line end within a cell may be meant.
const FREE_TEXT: [&str; 2] = ["concern", "conditions"];

/// What is known of a table before it is read.
pub struct TableText {
    /// What stands between the cells: commas, else the semicolons or tabs that spreadsheets write in countries with a
    /// decimal comma.
    pub delimiter: u8,
    /// How many lines it has.
    pub lines: u64,
}

impl TableText {
    /// Reads the table once, row by row.
    ///
    /// # Errors
    /// No file, a header that is no UTF-8 text, a row without an end, a quotation mark that is opened and never closed.
    pub fn look(path: &Path) -> Result<Self, ShopError> {
        let kind = fs_err::metadata(path)?;
        if !kind.is_file() && !kind.is_dir() {
            let title = "a table is read more than once, and this is not a file on a disk";
            let diagnostic = Diagnostic::of_file(&path.display().to_string(), title);
            return Err(ShopError::input(diagnostic.with_hint("save it in a file, and name that")));
        }
        let header = first_line(path)?;
        if header.len() as u64 >= LONGEST_ROW {
            return Err(too_long(path, 1));
        }
        if std::str::from_utf8(&header).is_err() || header.contains(&0) {
            return Err(text_file::not_utf8(path, header));
        }
        let delimiter = [b',', b';', b'\t'].into_iter().find(|sign| header.contains(sign)).unwrap_or(b',');
        let mut reader = csv::ReaderBuilder::new().delimiter(delimiter).trim(csv::Trim::All).from_reader(&*header);
        let names: Vec<String> =
            reader.headers().map(|names| names.iter().map(str::to_owned).collect()).unwrap_or_default();
        let mut scan = Scan::of(names, delimiter);
        let mut file = BufReader::new(fs_err::File::open(path)?);
        let mut at_start = true;
        loop {
            let buffer = file.fill_buf()?;
            if buffer.is_empty() {
                break;
            }
            // As the table's own reader does it: a byte order mark is no part of the first cell.
            let mark = text_file::BYTE_ORDER_MARK.len_utf8();
            let skip = if at_start && buffer.starts_with("\u{feff}".as_bytes()) { mark } else { 0 };
            at_start = false;
            for byte in &buffer[skip..] {
                scan.take(*byte).map_err(|wrong| wrong.said(path))?;
            }
            let length = buffer.len();
            file.consume(length);
        }
        scan.end().map_err(|wrong| wrong.said(path))?;
        Ok(Self { delimiter, lines: scan.line })
    }
}

/// The first line with something in it, without its end.
fn first_line(path: &Path) -> Result<Vec<u8>, ShopError> {
    let mut line = Vec::new();
    for byte in BufReader::new(fs_err::File::open(path)?).take(LONGEST_ROW).bytes() {
        match byte? {
            b'\r' | b'\n' if line.is_empty() => {}
            b'\r' | b'\n' => break,
            byte => line.push(byte),
        }
    }
    Ok(line)
}

fn too_long(path: &Path, line: u64) -> ShopError {
    let title = format!("row {line} has more than a million bytes and no end: this is not a table");
    ShopError::file(path, title)
}

/// Where the scan is within a cell.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Cell {
    /// Before its first sign.
    Begin,
    /// In one without quotation marks.
    Plain,
    /// Behind its opening quotation mark.
    Quoted,
    /// Behind a quotation mark that closes it, or is the first of two.
    Closing,
}

/// What can't be right, and where.
enum Wrong {
    TooLong { line: u64 },
    Quotation { line: u64, column: String, last: u64, is_closed: bool },
}

impl Wrong {
    fn said(self, path: &Path) -> ShopError {
        let (line, column, last, is_closed) = match self {
            Self::TooLong { line } => return too_long(path, line),
            Self::Quotation { line, column, last, is_closed } => (line, column, last, is_closed),
        };
        let taken = match last - line {
            0 => String::new(),
            1 => format!("row {last} was taken into the cell"),
            _ => format!("rows {}-{last} were taken into the cell", line + 1),
        };
        let place = format!("row {line}, column {column}: a quotation mark is opened");
        let (title, hint) = if is_closed {
            (
                format!("{place}, and {taken}, up to the next quotation mark"),
                "take it out; a cell that is meant to have several lines is written on one",
            )
        } else {
            let behind = if taken.is_empty() { taken } else { format!("; {taken}") };
            (
                format!("{place} and never closed{behind}"),
                "take it out, or close it; in a cell that has quotation marks around it, write one as two",
            )
        };
        ShopError::input(Diagnostic::of_file(&path.display().to_string(), title).with_hint(hint))
    }
}

/// Goes over a table's bytes and minds its quotation marks.
struct Scan {
    names: Vec<String>,
    delimiter: u8,
    /// The line it is on, from 1.
    line: u64,
    column: usize,
    cell: Cell,
    /// The line on which the cell was opened.
    opened: u64,
    /// Delimiters since a line began within the cell; `None` on the line on which it was opened.
    within: Option<usize>,
    /// Whether one of the lines within the cell looks like a row.
    has_row: bool,
    after_return: bool,
    is_line_empty: bool,
    row_bytes: u64,
}

impl Scan {
    const fn of(names: Vec<String>, delimiter: u8) -> Self {
        Self {
            names,
            delimiter,
            line: 1,
            column: 0,
            cell: Cell::Begin,
            opened: 1,
            within: None,
            has_row: false,
            after_return: false,
            is_line_empty: true,
            row_bytes: 0,
        }
    }

    fn take(&mut self, byte: u8) -> Result<(), Wrong> {
        // `\r\n` is one line end.
        let is_rest = byte == b'\n' && self.after_return;
        self.after_return = byte == b'\r';
        self.row_bytes += 1;
        if self.row_bytes > LONGEST_ROW {
            return Err(self.too_long());
        }
        if is_rest {
            return Ok(());
        }
        let is_line_end = matches!(byte, b'\r' | b'\n');
        self.is_line_empty = is_line_end;
        match (self.cell, byte) {
            (Cell::Begin, b'"') => {
                (self.cell, self.opened, self.within, self.has_row) = (Cell::Quoted, self.line, None, false);
            }
            (Cell::Quoted, b'"') => self.cell = Cell::Closing,
            (Cell::Quoted, _) if is_line_end => {
                self.look_at_line_within();
                self.within = Some(0);
            }
            (Cell::Quoted, _) => {
                if byte == self.delimiter
                    && let Some(within) = &mut self.within
                {
                    *within += 1;
                }
            }
            (Cell::Closing, b'"') => self.cell = Cell::Quoted,
            (Cell::Begin | Cell::Plain | Cell::Closing, _) if is_line_end || byte == self.delimiter => {
                self.close()?;
                self.column = if is_line_end { 0 } else { self.column + 1 };
                self.cell = Cell::Begin;
            }
            // Something after the closing mark: it was the opening one of another cell.
            (Cell::Closing, _) if self.within.is_some() && byte != b' ' => return Err(self.quotation(true)),
            (Cell::Begin | Cell::Plain | Cell::Closing, _) => self.cell = Cell::Plain,
        }
        if is_line_end {
            self.line += 1;
            if self.cell == Cell::Begin {
                self.row_bytes = 0;
            }
        }
        Ok(())
    }

    /// A line of a cell that has as many delimiters as a row has is one.
    fn look_at_line_within(&mut self) {
        let in_a_row = self.names.len().saturating_sub(1).max(1);
        self.has_row |= self.within.is_some_and(|within| within >= in_a_row);
    }

    /// At the end of a cell: one that goes over several lines must be free text, and none of its lines a row.
    fn close(&mut self) -> Result<(), Wrong> {
        if self.cell != Cell::Closing || self.within.is_none() {
            return Ok(());
        }
        self.look_at_line_within();
        let is_free = self.names.get(self.column).is_some_and(|name| FREE_TEXT.contains(&name.as_str()));
        if is_free && !self.has_row { Ok(()) } else { Err(self.quotation(true)) }
    }

    fn end(&mut self) -> Result<(), Wrong> {
        match self.cell {
            Cell::Quoted => Err(self.quotation(false)),
            _ => self.close(),
        }
    }

    fn too_long(&self) -> Wrong {
        if self.cell == Cell::Quoted { self.quotation(false) } else { Wrong::TooLong { line: self.line } }
    }

    fn quotation(&self, is_closed: bool) -> Wrong {
        let name = self.names.get(self.column).cloned();
        let column = name.unwrap_or_else(|| (self.column + 1).to_string());
        // Behind the last line end there is no row.
        let last = if self.is_line_empty && !is_closed { self.line - 1 } else { self.line };
        Wrong::Quotation { line: self.opened, column, last: last.max(self.opened), is_closed }
    }
}
