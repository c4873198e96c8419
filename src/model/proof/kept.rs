//! What is kept of proofs of a procedure, and what it says of that procedure as it is now.

use super::whole::Proof;
use crate::model::words;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};

/// Version of the kept file's format.
pub const FORMAT: u32 = 1;

/// So many results are kept of one basis; of those beyond, the clean ones with the fewest vehicles go first.
const MOST_RESULTS: usize = 40;
/// So many limits of one unit are kept; what decides is a handful of values.
const MOST_LIMITS: usize = 100;

/// Everything that a proof depends on, besides seed and number of vehicles: digests are SHA-256 in hexadecimal.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Basis {
    /// The program and its version.
    pub program: String,
    /// How it works out cautions, doubts and verdicts (`model/format.rs`).
    pub behavior: u32,
    /// The procedure's text.
    pub procedure: String,
    /// The text of each of its library files, by name.
    pub libraries: BTreeMap<String, String>,
    /// The text of the circuit that its header names.
    pub circuit: String,
    /// The meter of the simulated circuit.
    pub meter: String,
}

/// The result of one proof.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct KeptResult {
    /// Where its draws began.
    pub seed: u64,
    /// Vehicles for each case.
    pub vehicles: u64,
    /// Whether nothing went wrong. Pairs of faults are not part of it.
    pub clean: bool,
    /// What was read, by its unit, with the limits that decided, in that unit: there it matters how much a meter errs.
    pub limits: BTreeMap<String, Vec<f64>>,
}

/// What is kept of the proofs of one procedure: those of one basis, since nothing is known of it by those of another.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct KeptProofs {
    /// Version of the format.
    pub format: u32,
    /// Their basis.
    pub basis: Basis,
    /// Their results.
    pub results: Vec<KeptResult>,
}

/// What the kept proofs say of a procedure.
#[derive(Clone, PartialEq, Debug)]
pub enum Standing {
    /// Nothing is kept.
    NotProven,
    /// Every proof of it as it is now was clean; this is the one with the most vehicles.
    Proven(KeptResult),
    /// What was proven is not what there is now: what has changed.
    Changed(Vec<String>),
    /// A proof of it as it is now was not clean.
    Fails(KeptResult),
}

impl KeptResult {
    /// The kept result of a proof.
    pub fn of(proof: &Proof) -> Self {
        let mut limits: BTreeMap<String, Vec<f64>> = BTreeMap::new();
        for (prompt, asked) in proof.every_case().flat_map(|case| &case.prompts) {
            let Some(unit) = asked.unit else { continue };
            let known = limits.entry(unit.to_owned()).or_default();
            let of_prompt = proof.limits.iter().filter(|limit| limit.prompt == *prompt).map(|limit| limit.limit);
            for limit in of_prompt {
                if known.len() < MOST_LIMITS && !known.contains(&limit) {
                    known.push(limit);
                }
            }
        }
        Self { seed: proof.seed, vehicles: proof.samples, clean: proof.is_clean_but_for_pairs(), limits }
    }
}

impl KeptProofs {
    /// With one more result. Those of another basis are left out; a proof that failed stays, whatever other seeds came to:
    /// a clean one does not take back what it showed.
    pub fn with(before: Option<Self>, basis: Basis, result: KeptResult) -> Self {
        let mut results =
            before.filter(|before| before.basis == basis).map(|before| before.results).unwrap_or_default();
        results.retain(|known| (known.seed, known.vehicles) != (result.seed, result.vehicles));
        results.push(result);
        results.sort_by_key(|known| (known.clean, std::cmp::Reverse(known.vehicles)));
        results.truncate(MOST_RESULTS);
        Self { format: FORMAT, basis, results }
    }

    /// What they say of a procedure that depends on this now.
    pub fn standing(&self, now: &Basis) -> Standing {
        let changed = self.basis.changed(now);
        if !changed.is_empty() {
            return Standing::Changed(changed);
        }
        let failed = self.results.iter().find(|result| !result.clean);
        let clean = || self.results.iter().max_by_key(|result| result.vehicles);
        match (failed, clean()) {
            (Some(failed), _) => Standing::Fails(failed.clone()),
            (None, Some(clean)) => Standing::Proven(clean.clone()),
            (None, None) => Standing::NotProven,
        }
    }
}

impl Basis {
    /// What of it is another now, in words.
    fn changed(&self, now: &Self) -> Vec<String> {
        let mut changed = Vec::new();
        if self.procedure != now.procedure {
            changed.push("the procedure".to_owned());
        }
        let names: BTreeSet<&String> = self.libraries.keys().chain(now.libraries.keys()).collect();
        for name in names {
            if self.libraries.get(name) != now.libraries.get(name) {
                changed.push(format!("the library file `{name}`"));
            }
        }
        if self.circuit != now.circuit {
            changed.push("the circuit".to_owned());
        }
        if (&self.program, self.behavior, &self.meter) != (&now.program, now.behavior, &now.meter) {
            changed.push("Ohmwright".to_owned());
        }
        changed
    }
}

impl Standing {
    /// In few words, for a list; nothing where nothing is kept.
    pub fn in_few_words(&self) -> String {
        match self {
            Self::NotProven => "not proven on this computer".to_owned(),
            Self::Proven(result) => format!("proven ({})", vehicles(result)),
            Self::Changed(_) => "changed since it was proven".to_owned(),
            Self::Fails(_) => "proof fails".to_owned(),
        }
    }

    /// In a sentence or two, for a person about to follow the procedure; nothing where nothing is kept.
    pub fn in_words(&self, procedure: &str) -> Option<String> {
        match self {
            Self::NotProven => None,
            Self::Proven(result) => Some(format!(
                "Proven on this simulated circuit, with {} a fault. Nothing more is claimed.",
                vehicles(result)
            )),
            Self::Changed(what) => {
                let what: Vec<&str> = what.iter().map(String::as_str).collect();
                let what = words::all(&what);
                Some(format!("Changed since it was proven: {what}. `ohmwright prove {procedure}` proves it again."))
            }
            Self::Fails(result) => Some(format!(
                "The proof of this procedure fails: on its simulated circuit it went wrong. `ohmwright prove {procedure} --samples {} \
                 --seed {}` shows where.",
                result.vehicles, result.seed
            )),
        }
    }
}

fn vehicles(result: &KeptResult) -> String {
    let number = usize::try_from(result.vehicles).unwrap_or(usize::MAX);
    words::count(number, "vehicle", "vehicles")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn basis(procedure: &str) -> Basis {
        Basis {
            program: "ohmwright 0".to_owned(),
            behavior: 2,
            procedure: procedure.to_owned(),
            libraries: BTreeMap::from([("supply".to_owned(), "s1".to_owned())]),
            circuit: "c1".to_owned(),
            meter: "m1".to_owned(),
        }
    }

    fn result(seed: u64, vehicles: u64, clean: bool) -> KeptResult {
        KeptResult { seed, vehicles, clean, limits: BTreeMap::from([("V".to_owned(), vec![9.0])]) }
    }

    #[test]
    fn a_proof_that_failed_stands_until_something_changes() {
        let kept = KeptProofs::with(None, basis("p1"), result(1, 20, true));
        let kept = KeptProofs::with(Some(kept), basis("p1"), result(1, 200, true));
        assert_eq!(kept.standing(&basis("p1")), Standing::Proven(result(1, 200, true)));
        let kept = KeptProofs::with(Some(kept), basis("p1"), result(7, 20, false));
        let kept = KeptProofs::with(Some(kept), basis("p1"), result(8, 900, true));
        assert_eq!(kept.standing(&basis("p1")), Standing::Fails(result(7, 20, false)));
        assert_eq!(kept.results.len(), 4);
        let kept = KeptProofs::with(Some(kept), basis("p2"), result(1, 20, true));
        assert_eq!(kept.standing(&basis("p2")), Standing::Proven(result(1, 20, true)));
        assert_eq!(kept.standing(&basis("p1")), Standing::Changed(vec!["the procedure".to_owned()]));
    }

    #[test]
    fn results_are_bounded_and_failures_are_the_last_to_go() {
        let mut kept = KeptProofs::with(None, basis("p1"), result(0, 1, false));
        for seed in 1..100 {
            kept = KeptProofs::with(Some(kept), basis("p1"), result(seed, 10 + seed, true));
        }
        assert_eq!(kept.results.len(), MOST_RESULTS);
        assert_eq!(kept.standing(&basis("p1")), Standing::Fails(result(0, 1, false)));
        assert_eq!(kept.results.iter().map(|result| result.vehicles).max(), Some(109));
    }

    #[test]
    fn what_changed_is_named() {
        let kept = KeptProofs::with(None, basis("p1"), result(1, 20, true));
        let now = Basis {
            libraries: BTreeMap::from([("supply".to_owned(), "s2".to_owned()), ("own".to_owned(), "o".to_owned())]),
            circuit: "c2".to_owned(),
            behavior: crate::model::format::BEHAVIOR,
            ..basis("p1")
        };
        let Standing::Changed(what) = kept.standing(&now) else { panic!("{:?}", kept.standing(&now)) };
        assert_eq!(what, ["the library file `own`", "the library file `supply`", "the circuit", "Ohmwright"]);
    }
}
