//! What lists need to know of a record, folded line by line, so that a longer journal is never read from its start again.

use crate::model::event::{Entry, Event, NamedCause};
use crate::model::id::RecordId;
use crate::model::link::Link;
use crate::model::stamp::Stamp;
use crate::model::started::{Started, Station};
use crate::model::table_row::TableRow;
use crate::records::bounded;
use crate::records::error::RecordsError;
use crate::records::journal_file::{NO_START, first_line};
use crate::records::line::LineReader;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::io::{BufRead, BufReader, Read};
use std::path::Path;

/// No line of a journal is longer.
const LONGEST_LINE: u64 = 16 << 20;

/// How a record stands, for a list.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SummaryStatus {
    /// It can be gone on with.
    Open,
    /// It waits for an answer that nobody gave.
    Waiting,
    /// It named its causes.
    Concluded(Vec<NamedCause>),
    /// It ended without one.
    Ended,
    /// Its script failed; mended, it can be gone on with.
    Failed,
}

/// A record in short.
#[derive(Clone, Debug)]
pub struct RecordSummary {
    /// The record's own id; none in records of format 1.
    pub id: Option<RecordId>,
    /// Its title.
    pub title: String,
    /// The procedure, exercise or circuit.
    pub name: String,
    /// The vehicle.
    pub vehicle: Option<String>,
    /// Whether a simulated vehicle answered.
    pub simulated: bool,
    /// Where its last sitting was.
    pub station: Option<Station>,
    /// Who is at it in its last sitting, if it was said.
    pub technician: Option<String>,
    /// The record that it came out of.
    pub link: Option<Link>,
    /// The row of a table that it stands for.
    pub row: Option<TableRow>,
    /// When it began.
    pub began: Stamp,
    /// When the last thing happened in it.
    pub last: Stamp,
    /// How it stands.
    pub status: SummaryStatus,
    /// Lines.
    pub lines: usize,
    /// The last line that is signed; 0 where none is.
    pub signed_to: usize,
    /// Bytes of the whole lines.
    pub bytes: u64,
    so_far: Sha256,
}

impl RecordSummary {
    /// Version of what is kept of a record here: an older summary is made again.
    pub const VERSION: u32 = 1;

    /// Of the first line, with its bytes without the line end. None where it does not begin a record.
    pub fn begin(entry: &Entry, line: &[u8]) -> Option<Self> {
        let Event::Started(started) = &entry.event else { return None };
        let mut summary = Self {
            id: started.record,
            title: started.title().to_owned(),
            name: started.name().to_owned(),
            vehicle: started.job.vehicle.clone(),
            simulated: started.simulated.is_some(),
            station: started.station.clone(),
            technician: started.job.technician.clone(),
            link: started.link.clone(),
            row: started.row.clone(),
            began: entry.at.clone(),
            last: entry.at.clone(),
            status: SummaryStatus::Open,
            lines: 0,
            signed_to: 0,
            bytes: 0,
            so_far: Sha256::new(),
        };
        summary.count(line);
        Some(summary)
    }

    /// Takes the next line in, with its bytes without the line end.
    pub fn add(&mut self, entry: &Entry, line: &[u8]) {
        self.count(line);
        self.last = entry.at.clone();
        let is_over = matches!(self.status, SummaryStatus::Concluded(_) | SummaryStatus::Ended);
        if !is_over && !entry.event.is_of_a_sign_off() {
            self.status = SummaryStatus::Open;
        }
        match &entry.event {
            Event::Continued(sitting) => {
                self.station.clone_from(&sitting.station);
                self.technician.clone_from(&sitting.technician);
            }
            Event::Signed { .. } => self.signed_to = self.lines,
            Event::Struck { .. } => self.status = SummaryStatus::Open,
            Event::Waited { .. } => self.status = SummaryStatus::Waiting,
            Event::Concluded { causes } => self.status = SummaryStatus::Concluded(causes.clone()),
            Event::Ended { .. } if entry.event.is_an_end() => self.status = SummaryStatus::Ended,
            Event::Ended { .. } => self.status = SummaryStatus::Failed,
            _ => {}
        }
    }

    /// Of a journal's first line alone, if it is `wanted` and can be read: what a record came out of, and its row.
    pub fn of_first_line(path: &Path, wanted: impl Fn(&[u8]) -> bool) -> Option<Self> {
        let line = first_line(path).filter(|line| wanted(line))?;
        Self::begin(&LineReader::new().read(&line).ok()?, &line)
    }

    /// Of a journal's whole lines, read one by one.
    ///
    /// # Errors
    /// The journal can't be read, or a line of it can't be taken.
    pub fn read(path: &Path) -> Result<Self, RecordsError> {
        let mut lines = BufReader::new(fs_err::File::open(path)?.take(bounded::LARGEST_JOURNAL));
        let (mut reader, mut line) = (LineReader::new(), Vec::new());
        let mut summary: Option<Self> = None;
        for number in 1.. {
            line.clear();
            (&mut lines).take(LONGEST_LINE).read_until(b'\n', &mut line)?;
            // What was not written whole is no line yet.
            let Some(whole) = line.strip_suffix(b"\n") else { break };
            let entry = reader
                .read(whole)
                .map_err(|problem| RecordsError::file(path, format!("line {number} can't be read: {problem}")))?;
            match &mut summary {
                Some(summary) => summary.add(&entry, whole),
                None => summary = Self::begin(&entry, whole),
            }
            if summary.is_none() {
                break;
            }
        }
        summary.ok_or_else(|| RecordsError::file(path, NO_START))
    }

    fn count(&mut self, line: &[u8]) {
        self.lines += 1;
        self.bytes += line.len() as u64 + 1;
        self.so_far.update(line);
        self.so_far.update(b"\n");
    }

    /// SHA-256 of the whole lines so far, in hexadecimal.
    pub fn sha256(&self) -> String {
        crate::records::digest::hex(&self.so_far.clone().finalize())
    }

    /// Whether the run can be gone on with.
    pub const fn is_open(&self) -> bool {
        matches!(self.status, SummaryStatus::Open | SummaryStatus::Waiting | SummaryStatus::Failed)
    }

    /// Whether this station wrote its last sitting. A record of format 1 does not say where it was made.
    pub fn is_from(&self, station: &Station) -> bool {
        self.station.as_ref().is_none_or(|from| from == station)
    }

    /// Whether a start has the same subject as this record.
    pub fn is_of(&self, started: &Started) -> bool {
        self.name == started.name()
    }
}
