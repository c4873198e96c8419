//! Before and after the repair: which reading of the one belongs to which of the other.

use crate::model::prompt::{Answer, Leads, Question};
use crate::model::record::Record;
use crate::model::record::given::Answered;
use crate::model::vehicle::VehicleState;
use crate::report::measured::limits_of;

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
    /// Pairs the readings that stand in both records, the last one before the repair first: first those of one name, then
    /// those of the same question at the same points under the same limits. Either was taken with the circuit put together
    /// alike: what a wire shows with its plug off says nothing of what it shows with the plug on.
    pub fn of(before: &'a Record, after: &'a Record) -> Self {
        let measured = |record: &'a Record| -> Vec<Taken<'a>> {
            let answers = record.answers_with_vehicle().into_iter();
            answers.map(|(answered, vehicle)| Taken { answered, vehicle }).filter(|t| is_measured(t.answered)).collect()
        };
        let mut earlier = measured(before);
        let later = measured(after);
        let mut partners: Vec<Option<&'a Answered>> = vec![None; later.len()];
        for same in [same_name as fn(&Answered, &Answered) -> bool, same_place] {
            for (after, partner) in later.iter().zip(&mut partners).filter(|(_, partner)| partner.is_none()) {
                let fits = |before: &Taken<'_>| {
                    same(before.answered, after.answered) && before.vehicle.is_wired_as(&after.vehicle)
                };
                if let Some(at) = earlier.iter().rposition(fits) {
                    *partner = Some(earlier.remove(at).answered);
                }
            }
        }
        let pairs = later.iter().zip(partners).map(|(after, before)| Pair { before, after: after.answered }).collect();
        Self { pairs, not_repeated: earlier.into_iter().map(|taken| taken.answered).collect() }
    }
}

/// A reading with the vehicle as it was then.
struct Taken<'a> {
    answered: &'a Answered,
    vehicle: VehicleState,
}

/// Whether a meter or the module gave it: a reading, a module value, a lowest and highest, a sweep.
pub fn is_measured(answered: &Answered) -> bool {
    answered.prompt.question.unit().is_some() && !matches!(answered.answer, Answer::Skipped { .. })
}

fn same_name(before: &Answered, after: &Answered) -> bool {
    before.prompt.id == after.prompt.id && before.prompt.question.asks_the_same_as(&after.prompt.question)
}

fn same_place(before: &Answered, after: &Answered) -> bool {
    let (mine, theirs) = (&before.prompt.question, &after.prompt.question);
    let said = match theirs {
        Question::ModuleValue { .. } => true,
        // What is measured stands in the words alone.
        Question::Number { .. } => before.prompt.text == after.prompt.text,
        other => !matches!(other.leads(), None | Some(Leads::Nowhere)),
    };
    said && mine.asks_the_same_as(theirs) && same_limits(mine, theirs)
}

/// Whether both may show the same; where the limits come from does not matter.
pub fn same_limits(one: &Question, other: &Question) -> bool {
    match (one, other) {
        (Question::Sweep { ends: one, .. }, Question::Sweep { ends: other, .. }) => {
            (one.one, one.other, one.tolerance) == (other.one, other.other, other.tolerance)
        }
        _ => limits_of(one).map(|limits| limits.bounds) == limits_of(other).map(|limits| limits.bounds),
    }
}
