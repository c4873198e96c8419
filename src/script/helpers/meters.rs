//! Meter accuracy, verdicts, uncertainty.

use super::bind::{bind, bind_result};
use crate::electrical::{accuracy, uncertainty};
use crate::script::wanted::Wanted;
use rhai::Module;

/// Binds them.
pub(super) fn bind(module: &mut Module, wanted: &Wanted<'_>) {
    bind_result::<accuracy::Guarded>(module, wanted);
    bind!(module, wanted, accuracy:
        meter_accuracy, guard_band, guard_band_at_most, guard_band_at_least, without_leads
    );
    bind!(module, wanted, uncertainty:
        standard_uncertainty, probability_in_limits, rectangular_probability, combined_uncertainty, ratio_uncertainty,
        correlated_ratio_uncertainty, product_uncertainty, ratio_worst_case
    );
}
