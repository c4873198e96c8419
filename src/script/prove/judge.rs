//! How a run is judged, held against what is in the circuit.

use crate::model::prompt::CauseId;
use crate::model::proof::case::Judgement;
use crate::script::execute::Outcome;

pub(super) fn judge(outcome: &Outcome, causes: &[String]) -> (Judgement, Vec<String>) {
    let Outcome::Concluded(named) = outcome else { return (Judgement::NoConclusion, vec!["no conclusion".to_owned()]) };
    let named: Vec<String> = named.iter().map(|cause| cause.id.to_string()).collect();
    let nothing = named.iter().all(|cause| cause == CauseId::NOT_PRESENT);
    let judgement = match (causes.is_empty(), nothing) {
        (true, true) => Judgement::Right,
        (true, false) => Judgement::Wrong,
        (false, true) if causes.iter().any(|cause| cause == CauseId::NOT_PRESENT) => Judgement::NotShown,
        (false, true) => Judgement::Missed,
        (false, false) if named.iter().any(|cause| causes.contains(cause)) => Judgement::Right,
        (false, false) => Judgement::Wrong,
    };
    (judgement, named)
}

/// The check after the repair: well is what only the healthy circuit may be called.
pub(super) fn judge_after_repair(outcome: &Outcome, causes: &[String]) -> (Judgement, Vec<String>) {
    let Outcome::Concluded(named) = outcome else { return (Judgement::NoConclusion, vec!["no conclusion".to_owned()]) };
    let named: Vec<String> = named.iter().map(|cause| cause.id.to_string()).collect();
    let well = |cause: &String| cause == CauseId::REPAIRED || cause == CauseId::NOT_PRESENT;
    let judgement = match causes {
        [] if named.iter().all(well) => Judgement::Right,
        [] => Judgement::Wrong,
        _ if !named.iter().any(well) => Judgement::Right,
        _ if causes.iter().any(|cause| cause == CauseId::NOT_PRESENT) => Judgement::NotShown,
        _ => Judgement::Missed,
    };
    (judgement, named)
}
