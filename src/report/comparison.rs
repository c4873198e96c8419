//! Before and after the repair: which reading of the one belongs to which of the other.

use crate::model::prompt::{Answer, Leads, Question};
use crate::model::record::{Answered, Record};

/// A reading after the repair with the one before it that asked the same.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Pair<'a> {
    /// Before; `None` where only the later record has it.
    pub before: Option<&'a Answered>,
    /// After.
    pub after: &'a Answered,
}

/// Both records' readings side by side.
#[derive(Clone, PartialEq, Debug)]
pub struct Comparison<'a> {
    /// In the order of the later record.
    pub pairs: Vec<Pair<'a>>,
    /// Readings of the earlier record that were not taken again.
    pub not_repeated: Vec<&'a Answered>,
}

impl<'a> Comparison<'a> {
    /// Pairs the readings that stand in both records: first those of one name, then those of the same question at the
    /// same points, the last one before the repair first.
    pub fn of(before: &'a Record, after: &'a Record) -> Self {
        let measured =
            |record: &'a Record| -> Vec<&'a Answered> { record.answers().filter(|a| is_measured(a)).collect() };
        let mut earlier = measured(before);
        let later = measured(after);
        let mut pairs: Vec<Pair<'a>> = later.into_iter().map(|after| Pair { before: None, after }).collect();
        for same in [same_name as fn(&Answered, &Answered) -> bool, same_place] {
            for pair in pairs.iter_mut().filter(|pair| pair.before.is_none()) {
                if let Some(at) = earlier.iter().rposition(|before| same(before, pair.after)) {
                    pair.before = Some(earlier.remove(at));
                }
            }
        }
        Self { pairs, not_repeated: earlier }
    }
}

/// Whether a meter or the module gave it: a reading, a module value, a lowest and highest, a sweep.
pub fn is_measured(answered: &Answered) -> bool {
    answered.prompt.question.unit().is_some() && !matches!(answered.answer, Answer::Skipped { .. })
}

fn same_name(before: &Answered, after: &Answered) -> bool {
    before.prompt.id == after.prompt.id && before.prompt.question.asks_the_same_as(&after.prompt.question)
}

fn same_place(before: &Answered, after: &Answered) -> bool {
    let said = match &after.prompt.question {
        Question::ModuleValue { .. } => true,
        other => !matches!(other.leads(), None | Some(Leads::Nowhere)),
    };
    said && before.prompt.question.asks_the_same_as(&after.prompt.question)
}
