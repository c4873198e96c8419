//! Everything that a report is written from: the record, and what the edge found beside it.

use super::decisive::AskedAbout;
use super::detail::Detail;
use crate::model::answered_by::AnsweredBy;
use crate::model::caution::CautionRules;
use crate::model::caution::signal_word::SignalWord;
use crate::model::event::{Entry, Event, NamedCause};
use crate::model::link::LinkKind;
use crate::model::link_state::LinkState;
use crate::model::meter::Meter;
use crate::model::points::Points;
use crate::model::prompt::{CauseId, CautionId};
use crate::model::record::{Record, RunStatus};
use crate::model::source::SourceRef;
use crate::model::stamp::Stamp;
use std::collections::BTreeMap;
use std::sync::Arc;

/// A sign-off with what checking it found.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct SignoffLine {
    /// Printed name.
    pub name: String,
    /// Role.
    pub role: String,
    /// What the signature means: performed, reviewed …
    pub meaning: String,
    /// When, as stated.
    pub at: Stamp,
    /// What checking it found, in words.
    pub state: String,
    /// The same, naming neither a person nor a key.
    pub nameless: String,
    /// Whether it holds, and is one that counts.
    pub holds: bool,
    /// Lines behind it, if it is the last one, that no signature covers.
    pub unsigned_behind: usize,
}

/// Whether a record is what it was.
#[derive(Clone, Copy, PartialEq, Eq, Debug, PartialOrd, Ord)]
pub enum Integrity {
    /// Nothing speaks against it.
    Whole,
    /// Something is wrong with it: what it was judged by is missing, it comes out otherwise when it is judged again, a
    /// signer could not sign so.
    Doubtful,
    /// It is not what was signed or written.
    Changed,
}

/// The record that this one came out of.
#[derive(Clone, PartialEq, Debug)]
pub struct Earlier {
    /// Its name.
    pub name: String,
    /// What happened in it.
    pub record: Record,
    /// The meter that was kept with it.
    pub meter: Option<Meter>,
    /// How it stands against the digest.
    pub state: LinkState,
}

/// A check after the repair that names this record.
#[derive(Clone, PartialEq, Debug)]
pub struct Later {
    /// Its name.
    pub name: String,
    /// SHA-256 of its journal.
    pub journal_sha256: String,
    /// What happened in it.
    pub record: Record,
    /// How this record stands against the digest that the check names.
    pub state: LinkState,
}

/// Everything that a report is written from.
#[derive(Clone, PartialEq, Debug)]
pub struct Material {
    /// The record's name.
    pub name: String,
    /// Its short number, where it has one.
    pub number: Option<u32>,
    /// What happened.
    pub record: Record,
    /// SHA-256 of the journal.
    pub journal_sha256: String,
    /// Bytes of a last line that was not written whole.
    pub torn: usize,
    /// The shop's name; empty where there is no shop.
    pub shop_name: String,
    /// Its address.
    pub shop_address: Option<String>,
    /// The caution rules that were kept with the record.
    pub rules: Arc<CautionRules>,
    /// The circuit's title, where one was kept with the record.
    pub circuit: Option<String>,
    /// Whether that circuit's pins, colors and values are an example's.
    pub is_example: bool,
    /// The names of the circuit that was kept with the record.
    pub points: Option<Arc<Points>>,
    /// The signal words under which cautions were told.
    pub signal_words: BTreeMap<CautionId, SignalWord>,
    /// The meter that was kept with the record.
    pub meter: Option<Meter>,
    /// The record that this one came out of, where it could be read.
    pub earlier: Option<Earlier>,
    /// The checks after the repair that name this record, oldest first.
    pub checks: Vec<Later>,
    /// Sign-offs, oldest first.
    pub signoffs: Vec<SignoffLine>,
    /// What its procedure asked about its answers, where it was judged again.
    pub asked_about: Option<AskedAbout>,
    /// Whether it is what it was.
    pub integrity: Integrity,
    /// What the report leaves out.
    pub withheld: Vec<Detail>,
}

/// The signal words under which a journal's cautions were told.
pub fn signal_words(entries: &[Entry]) -> BTreeMap<CautionId, SignalWord> {
    let told = entries.iter().filter_map(|entry| match &entry.event {
        Event::Cautioned { cautions } | Event::Reminded { cautions } => Some(cautions),
        _ => None,
    });
    told.flatten().map(|told| (told.id.clone(), told.word)).collect()
}

impl Material {
    /// Whether a detail is left out.
    pub fn withholds(&self, detail: Detail) -> bool {
        self.withheld.contains(&detail)
    }

    /// Whether it is the check after a repair.
    pub fn is_check(&self) -> bool {
        self.record.started.link.as_ref().is_some_and(|link| link.kind == LinkKind::AfterRepair)
    }

    /// Whether something may have been repaired before this check: the record before it named a cause, or can't be read.
    pub fn is_after_a_repair(&self) -> bool {
        self.is_check() && self.before_repair().is_none_or(|earlier| names_a_fault(&earlier.record.status))
    }

    /// The record before the repair, where this one is the check after it.
    pub fn before_repair(&self) -> Option<&Earlier> {
        let link = self.record.started.link.as_ref()?;
        self.earlier.as_ref().filter(|_| link.kind == LinkKind::AfterRepair)
    }
}

/// Whether a cause says that nothing was wrong while testing.
pub fn is_not_present(cause: &NamedCause) -> bool {
    cause.id.as_str() == CauseId::NOT_PRESENT
}

/// Whether a run named something that can be repaired.
pub fn names_a_fault(standing: &RunStatus) -> bool {
    matches!(standing, RunStatus::Concluded(causes) if !causes.iter().all(is_not_present))
}

/// Whether a check came to this: what was wrong is wrong no longer.
pub fn is_gone(standing: &RunStatus) -> bool {
    let gone = |cause: &NamedCause| is_not_present(cause) || cause.id.as_str() == CauseId::REPAIRED;
    matches!(standing, RunStatus::Concluded(causes) if causes.iter().all(gone))
}

/// What is to be done about a cause; nothing where its author wrote that there is nothing, nor, after a repair, about what
/// is no longer there.
pub fn correction(cause: &NamedCause, after_repair: bool) -> Option<&str> {
    let text = cause.correction.trim();
    let nothing = text.is_empty() || text.trim_end_matches('.').eq_ignore_ascii_case("none");
    (!(nothing || after_repair && is_not_present(cause))).then_some(text)
}

/// A source's name without the folders that it lay in: those are the shop's business.
pub fn file_name(source: &SourceRef) -> &str {
    source.name.rsplit(['/', '\\']).next().unwrap_or(&source.name)
}

/// Whether somebody, or a simulated circuit, was there while the answers were given: only then are their times those at
/// which it happened.
pub const fn was_attended(by: AnsweredBy) -> bool {
    match by {
        AnsweredBy::Person | AnsweredBy::Bench => true,
        AnsweredBy::File | AnsweredBy::Table | AnsweredBy::Record => false,
    }
}
