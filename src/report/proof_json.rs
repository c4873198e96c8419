//! A proof as JSON: with the fractions that testability standards define.

use crate::model::proof::whole::Proof;
use serde::Serialize;

/// A proof with its fractions. The screen says "detected" and "right with so many causes" instead.
#[derive(Serialize)]
pub struct WithFractions<'a> {
    #[serde(flatten)]
    proof: &'a Proof,
    /// Whether nothing failed.
    clean: bool,
    /// Fraction of faults detected.
    ffd: Option<f64>,
    /// Fraction of detected faults isolated to no more than one, two and three causes.
    ffi: [Option<f64>; 3],
    /// With none seen, how often a run of the worst fault may still go wrong: percent, with 95 % confidence.
    at_most_percent: Option<f64>,
}

/// Adds the fractions.
pub fn with_fractions(proof: &Proof) -> WithFractions<'_> {
    WithFractions {
        proof,
        clean: proof.is_clean(),
        ffd: proof.fraction_detected(),
        ffi: [1, 2, 3].map(|causes| proof.fraction_isolated(causes)),
        at_most_percent: proof.at_most_percent(),
    }
}
