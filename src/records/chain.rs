//! The chain of sign-offs in a journal's bytes: what each signature covers, whether it holds, and what was changed.

use super::bounded::MOST_SIGN_OFFS;
use super::damage::Problem;
use super::line::{LineProblem, LineReader, Newer};
use crate::model::event::{Entry, Event};
use crate::model::signoff::{Statement, bare_key};
use crate::model::stamp::Stamp;
use crate::run::signature::{Broken, holds};
use sha2::{Digest, Sha256};
use ssh_key::{HashAlg, PublicKey};
use std::collections::BTreeSet;

/// With more problems than these no further sign-off is held against the lines above it.
const MOST_COMPARED: usize = 1000;

/// Hexadecimal digits of a line's short digest.
const SHORT: usize = 8;

/// A line of a journal.
#[derive(Clone, Debug)]
pub struct Line<'a> {
    /// Without its line end.
    pub bytes: &'a [u8],
    /// Offset of the byte after its line end.
    pub end: usize,
    /// What it says, or why it can't be taken.
    pub entry: Result<Entry, LineProblem>,
}

/// A journal's bytes, line by line.
#[derive(Clone, Debug)]
pub struct Lines<'a> {
    bytes: &'a [u8],
    /// The whole lines; the first one is line 1.
    pub lines: Vec<Line<'a>>,
    /// The number of bytes after the last line end.
    pub torn: usize,
}

/// One sign-off.
#[derive(Clone, Debug)]
pub struct SignOff {
    /// The statement's line; its signature's is the next.
    pub line: usize,
    /// How many bytes the signature covers.
    pub covers: usize,
    /// When it was stated.
    pub at: Stamp,
    /// Who, as what.
    pub statement: Statement,
    /// The signature as OpenSSH writes it.
    pub signature: String,
    /// Whether it holds.
    pub holds: Result<(), Broken>,
    /// SHA-256 fingerprint of the key, as OpenSSH shows it.
    pub fingerprint: String,
}

/// The result of checking a journal's signatures.
#[derive(Clone, Debug, Default)]
pub struct Chain {
    /// The sign-offs, in order.
    pub sign_offs: Vec<SignOff>,
    /// What is wrong, each once, by line.
    pub problems: Vec<Problem>,
    /// The line of the last signature; 0 where there is none.
    pub signed_to: usize,
    /// The lines after the last signature: number and kind.
    pub unsigned: Vec<(usize, String)>,
    /// Bytes of a last line that was not written whole.
    pub torn: usize,
    /// Where a newer program's lines begin, which this one does not judge.
    pub newer: Option<(usize, Newer)>,
}

impl<'a> Lines<'a> {
    /// Splits a journal.
    pub fn of(bytes: &'a [u8]) -> Self {
        let whole = bytes.iter().rposition(|byte| *byte == b'\n').map_or(0, |end| end + 1);
        let mut end = 0;
        let mut reader = LineReader::new();
        let lines = bytes[..whole]
            .split_inclusive(|byte| *byte == b'\n')
            .map(|line| {
                end += line.len();
                let bytes = &line[..line.len() - 1];
                Line { bytes, end, entry: reader.read(bytes) }
            })
            .collect();
        Self { bytes, lines, torn: bytes.len() - whole }
    }

    /// The first line of a sitting that a newer program wrote, and which program.
    pub fn newer(&self) -> Option<(usize, &Newer)> {
        self.lines.iter().enumerate().find_map(|(index, line)| match &line.entry {
            Err(LineProblem::Newer(newer)) => Some((index + 1, newer)),
            _ => None,
        })
    }

    /// The entries, where every line can be read.
    pub fn into_entries(self) -> Option<Vec<Entry>> {
        self.lines.into_iter().map(|line| line.entry.ok()).collect()
    }

    /// A short digest of each line, and one of these digests: what a statement below them keeps.
    pub fn digests(&self) -> String {
        let mut all = digests(&self.lines);
        let own = short(all.as_bytes());
        all.push_str(&own);
        all
    }

    fn what(&self, line: usize) -> String {
        match &self.lines[line - 1].entry {
            Ok(entry) => entry.event.kind_in_words(),
            Err(_) => "a line that can't be read".to_owned(),
        }
    }
}

fn digests(lines: &[Line<'_>]) -> String {
    let mut all = String::with_capacity(lines.len() * SHORT);
    for line in lines {
        all.push_str(&short(line.bytes));
    }
    all
}

fn short(bytes: &[u8]) -> String {
    Sha256::digest(bytes)[..SHORT / 2].iter().map(|byte| format!("{byte:02x}")).collect()
}

impl Chain {
    /// Examines a journal's bytes.
    pub fn of(lines: &Lines<'_>) -> Self {
        let newer = lines.newer().map(|(line, newer)| (line, newer.clone()));
        let mut chain = Self { torn: lines.torn, newer, ..Self::default() };
        let first = lines.lines.first().map(|line| &line.entry);
        if !matches!(first, Some(Ok(Entry { event: Event::Started(_), .. }) | Err(LineProblem::Newer(_)))) {
            chain.problems.push(Problem::NoStart);
        }
        let mut unreadable = BTreeSet::new();
        let mut empty = 0;
        let mut signed = 0;
        for (index, line) in lines.lines.iter().enumerate() {
            let number = index + 1;
            match &line.entry {
                Err(LineProblem::Newer(_)) => {}
                Err(LineProblem::Empty) => {
                    unreadable.insert(number);
                    empty += 1;
                }
                Err(problem) => {
                    unreadable.insert(number);
                    chain.problems.push(Problem::Unreadable { line: number, problem: problem.to_string() });
                }
                Ok(Entry { at, event: Event::Signed { signature }, .. }) => {
                    chain.signed_to = number;
                    signed += 1;
                    if signed > MOST_SIGN_OFFS {
                        if signed == MOST_SIGN_OFFS + 1 {
                            chain.problems.push(Problem::SignOffs { line: number });
                        }
                        continue;
                    }
                    let above = index.checked_sub(1).and_then(|above| lines.lines[above].entry.as_ref().ok());
                    match above {
                        Some(Entry { at: stated_at, event: Event::Stated(statement), .. }) => {
                            let covers = lines.lines[index - 1].end;
                            let rewritten = stated_at != at || written(line) != line.bytes;
                            let holds = holds(statement, signature, &lines.bytes[..covers]).and(if rewritten {
                                Err(Broken::Rewritten)
                            } else {
                                Ok(())
                            });
                            chain.sign_offs.push(SignOff {
                                line: index,
                                covers,
                                at: at.clone(),
                                statement: (**statement).clone(),
                                signature: signature.clone(),
                                holds,
                                fingerprint: fingerprint(&statement.key),
                            });
                        }
                        _ => chain.problems.push(Problem::Alone { line: number }),
                    }
                }
                Ok(_) => {}
            }
        }
        let is_empty = |line: &Line<'_>| line.bytes.is_empty();
        if let Some(first) = lines.lines.iter().position(is_empty) {
            chain.problems.push(Problem::Empty { first: first + 1, more: empty - 1 });
        }
        let mut known: BTreeSet<String> = chain.problems.iter().map(ToString::to_string).collect();
        for sign_off in &chain.sign_offs {
            // Where so much is wrong already, each further sign-off would say most of it again.
            if chain.problems.len() > MOST_COMPARED {
                break;
            }
            if let Err(why) = &sign_off.holds {
                let found = compare(lines, sign_off.line, &sign_off.statement.lines);
                if found.is_empty() {
                    let (line, name) = (sign_off.line, sign_off.statement.name.clone());
                    chain.problems.push(Problem::Signature { line, name, why: why.clone() });
                }
                for problem in found {
                    let of_one_that_is_known =
                        matches!(&problem, Problem::Changed { line, .. } if unreadable.contains(line));
                    if !of_one_that_is_known && known.insert(problem.to_string()) {
                        chain.problems.push(problem);
                    }
                }
            }
        }
        chain.problems.sort_by_key(Problem::line);
        chain.unsigned = (chain.signed_to + 1..=lines.lines.len()).map(|line| (line, lines.what(line))).collect();
        chain
    }

    /// Whether everything up to the last signature is as it was signed.
    pub fn is_whole(&self) -> bool {
        self.problems.is_empty() && self.sign_offs.iter().all(|sign_off| sign_off.holds.is_ok())
    }
}

/// The line as the program writes it.
fn written(line: &Line<'_>) -> Vec<u8> {
    line.entry.as_ref().ok().and_then(|entry| serde_json::to_vec(entry).ok()).unwrap_or_default()
}

/// What differs between the lines above a statement and the digests that it keeps; nothing if they agree, or if the
/// digests themselves were changed.
fn compare(lines: &Lines<'_>, statement: usize, kept: &str) -> Vec<Problem> {
    let kept = match kept.len().checked_sub(SHORT).and_then(|end| kept.split_at_checked(end)) {
        Some((kept, own)) if short(kept.as_bytes()) == own => kept,
        _ => return vec![],
    };
    let now = digests(&lines.lines[..statement - 1]);
    let split = |text: &str| -> Vec<String> {
        text.as_bytes().chunks(SHORT).map(|chunk| String::from_utf8_lossy(chunk).into_owned()).collect()
    };
    let (were, are) = (split(kept), split(&now));
    let same_before = were.iter().zip(&are).take_while(|(was, is)| was == is).count();
    let rest = were.len().min(are.len()) - same_before;
    let same_behind = were.iter().rev().zip(are.iter().rev()).take(rest).take_while(|(was, is)| was == is).count();
    let were = &were[same_before..were.len() - same_behind];
    let are = &are[same_before..are.len() - same_behind];
    let first = same_before + 1;
    let last = same_before + are.len();
    let words = || (first..=last).map(|line| lines.what(line)).collect::<Vec<_>>();
    if were.is_empty() && are.is_empty() {
        return vec![];
    }
    if are.is_empty() {
        return vec![Problem::Dropped { after: same_before, count: were.len() }];
    }
    if were.is_empty() {
        return vec![Problem::Inserted { first: (first, lines.what(first)), count: are.len() }];
    }
    let sorted = |list: &[String]| {
        let mut list = list.to_vec();
        list.sort();
        list
    };
    if sorted(were) == sorted(are) {
        return vec![Problem::Reordered { first, last, what: words() }];
    }
    if were.len() == are.len() {
        return were
            .iter()
            .zip(are)
            .enumerate()
            .filter(|(_, (was, is))| was != is)
            .map(|(index, _)| Problem::Changed { line: first + index, what: lines.what(first + index) })
            .collect();
    }
    vec![Problem::Block { first, last, were: were.len(), what: words() }]
}

/// SHA-256 fingerprint of an OpenSSH public key; a dash if it is none.
pub fn fingerprint(key: &str) -> String {
    bare_key(key)
        .and_then(|key| key.parse::<PublicKey>().ok())
        .map_or_else(|| "-".to_owned(), |key| key.fingerprint(HashAlg::Sha256).to_string())
}
