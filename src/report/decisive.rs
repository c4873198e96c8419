//! Which answers a result hangs on: what somebody reads who reads only a few of them.

use super::comparison::is_measured;
use super::measured::{self, Mark};
use crate::model::prompt::{Answer, PromptId, Question};
use crate::model::record::given::Answered;

/// The answers that the procedure asked about, if the record was judged again.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct AskedAbout {
    /// Before the last answer was given, in the order in which it asked last.
    pub before: Vec<PromptId>,
    /// Since: what it did then hung on them.
    pub last: Vec<PromptId>,
}

/// How much an answer has to do with the result: the less the more.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Part {
    /// The procedure asked about it last.
    Decided,
    /// It is out of its limits, or too near to them to tell.
    Out,
    /// It is within them.
    Within,
}

/// The answers that matter most, at most so many, in the order of the record. Those that the procedure asked about last come
/// first, then those out of their limits, then the latest of the others. What has no limits is shown only where the result hangs on it.
pub fn decisive<'a>(
    answers: impl Iterator<Item = &'a Answered>,
    asked: Option<&AskedAbout>,
    most: usize,
) -> Vec<&'a Answered> {
    let ranked = |answered: &'a Answered| Some((rank(answered, asked)?, answered));
    let mut ranked: Vec<_> = answers.filter_map(ranked).collect();
    ranked.sort_by_key(|&(rank, answered)| (rank, std::cmp::Reverse(answered.line)));
    ranked.truncate(most);
    let mut chosen: Vec<&Answered> = ranked.into_iter().map(|(_, answered)| answered).collect();
    chosen.sort_by_key(|answered| answered.line);
    chosen
}

/// What part it has in the result, and how long ago it was asked about; nothing where it has none.
fn rank(answered: &Answered, asked: Option<&AskedAbout>) -> Option<(Part, usize)> {
    if !is_shown(answered) {
        return None;
    }
    let id = &answered.prompt.id;
    if asked.is_some_and(|asked| asked.last.contains(id)) {
        return Some((Part::Decided, 0));
    }
    let ago = asked.map_or(Some(0), |asked| asked.before.iter().rev().position(|known| known == id));
    match (Mark::of(answered), measured::is_unsure(answered)) {
        (mark, unsure) if mark.is_bad() || unsure => Some((Part::Out, ago.unwrap_or(usize::MAX))),
        (Mark::Good, _) => Some((Part::Within, ago.unwrap_or(usize::MAX))),
        _ => None,
    }
}

/// A reading, or a look that was answered; not what somebody wrote in words of their own.
fn is_shown(answered: &Answered) -> bool {
    let looked = matches!(answered.prompt.question, Question::YesNo | Question::Choice { .. });
    is_measured(answered) || looked && !matches!(answered.answer, Answer::Skipped { .. })
}
