//! How a run is judged, held against what is in the circuit.

use crate::circuit::cause::Cause;
use crate::circuit::fault::Fault;
use crate::circuit::netlist::Circuit;
use crate::circuit::showing::Plain;
use crate::model::prompt::CauseId;
use crate::model::proof::case::Judgement;
use crate::script::execute::Outcome;

/// What a run is held against.
#[derive(Clone, Copy)]
pub(super) struct Truth<'a> {
    circuit: &'a Circuit,
    faults: &'a [&'a Fault],
    /// How plainly the fault shows; of two, or of none, it says nothing.
    plain: Plain,
}

/// Whether the circuit's own causes say which parts they cover: else a run is judged by their names alone.
pub(super) fn by_parts(circuit: &Circuit) -> bool {
    circuit.causes().iter().any(|cause| cause.declared)
}

impl<'a> Truth<'a> {
    pub(super) const fn new(circuit: &'a Circuit, faults: &'a [&'a Fault], plain: Plain) -> Self {
        Self { circuit, faults, plain }
    }

    fn covers(&self, cause: &str) -> bool {
        self.faults.iter().any(|fault| fault.causes.iter().any(|right| right == cause))
    }

    fn need_not_show(&self) -> bool {
        self.plain == Plain::AtTheLimit || self.covers(CauseId::NOT_PRESENT)
    }

    /// Whether a cause replaces a part that is whole.
    fn replaces_good(&self, cause: &Cause) -> bool {
        let faulty =
            |part: &usize| self.faults.iter().any(|fault| fault.places().iter().flatten().any(|it| it == part));
        cause.replaces().iter().any(|part| !faulty(part))
    }

    /// Whether the circuit knows them all: of one that it doesn't know, nobody can say that it replaces nothing.
    fn all_known(&self, named: &[String]) -> bool {
        named.iter().all(|id| id == CauseId::NOT_PRESENT || self.circuit.cause(id).is_some())
    }

    /// Those named that replace a part that is whole.
    fn replacing<'b>(&'b self, named: &'b [String]) -> impl Iterator<Item = &'b Cause> {
        named.iter().filter_map(|id| self.circuit.cause(id)).filter(|cause| self.replaces_good(cause))
    }

    /// A run of the procedure itself, and what it named.
    pub(super) fn judge(&self, outcome: &Outcome) -> (Judgement, Vec<String>) {
        let Some(named) = names(outcome) else { return no_conclusion() };
        let nothing = named.iter().all(|cause| cause == CauseId::NOT_PRESENT);
        let judgement = if self.faults.is_empty() && nothing {
            Judgement::Right
        } else if nothing {
            match self.plain {
                Plain::Hidden => Judgement::Right,
                _ if self.need_not_show() => Judgement::NotShown,
                _ => Judgement::Missed,
            }
        } else if named.iter().any(|cause| cause != CauseId::NOT_PRESENT && self.covers(cause)) {
            Judgement::Right
        } else if by_parts(self.circuit) && self.all_known(&named) && self.replacing(&named).next().is_none() {
            Judgement::SentElsewhere
        } else {
            Judgement::Wrong
        };
        (judgement, named)
    }

    /// The check after the repair: well is what only the healthy circuit may be called.
    pub(super) fn judge_after_repair(&self, outcome: &Outcome) -> (Judgement, Vec<String>) {
        let Some(named) = names(outcome) else { return no_conclusion() };
        let well = |cause: &String| cause == CauseId::REPAIRED || cause == CauseId::NOT_PRESENT;
        let judgement = match self.faults {
            [] if named.iter().all(well) => Judgement::Right,
            [] => Judgement::Wrong,
            _ if !named.iter().any(well) => Judgement::Right,
            _ if self.need_not_show() => Judgement::NotShown,
            _ => Judgement::Missed,
        };
        (judgement, named)
    }

    /// Whether a good part would be replaced, and nothing named covers what is wrong.
    pub(super) fn condemns_good(&self, outcome: &Outcome) -> Option<Vec<String>> {
        let (judgement, named) = self.judge(outcome);
        (judgement == Judgement::Wrong).then_some(named)
    }

    /// The same of the check after the repair: what it names beside "well".
    pub(super) fn replaces_good_after_repair(&self, outcome: &Outcome) -> Option<Vec<String>> {
        let named = names(outcome)?;
        let covered = named.iter().any(|cause| self.covers(cause));
        (!covered && self.replacing(&named).next().is_some()).then_some(named)
    }

    /// Whether the check after the repair calls a fault repaired that is still in.
    pub(super) fn missed_after_repair(&self, outcome: &Outcome) -> Option<Vec<String>> {
        let (judgement, named) = self.judge_after_repair(outcome);
        (judgement == Judgement::Missed).then_some(named)
    }

    /// The same as [`Self::condemns_good`], where the cause does not say that it may rest on what somebody saw or said.
    pub(super) fn condemns_on_a_word(&self, outcome: &Outcome) -> Option<Vec<String>> {
        self.condemns_good(outcome).filter(|named| !self.may_rest_on_a_word(named))
    }

    /// The same of the check after the repair.
    pub(super) fn condemns_on_a_word_after_repair(&self, outcome: &Outcome) -> Option<Vec<String>> {
        self.replaces_good_after_repair(outcome).filter(|named| !self.may_rest_on_a_word(named))
    }

    /// Whether each cause that replaces a good part says that it may rest on what somebody saw or said.
    pub(super) fn may_rest_on_a_word(&self, named: &[String]) -> bool {
        self.replacing(named).next().is_some() && self.replacing(named).all(|cause| cause.on_a_look)
    }
}

fn names(outcome: &Outcome) -> Option<Vec<String>> {
    let Outcome::Concluded(named) = outcome else { return None };
    Some(named.iter().map(|cause| cause.id.to_string()).collect())
}

fn no_conclusion() -> (Judgement, Vec<String>) {
    (Judgement::NoConclusion, vec!["no conclusion".to_owned()])
}
