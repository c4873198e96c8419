//! What flags say of the job.

use crate::cli::arguments::JobFlags;
use crate::cli::error::CliError;
use crate::model::job::Job;

/// What flags say, over what a file says.
pub fn job_of(flags: &JobFlags, base: Job) -> Result<Job, CliError> {
    let verified = match flags.verified.as_deref() {
        None => base.verified,
        Some("yes") => Some(true),
        Some("no") => Some(false),
        Some(other) => return Err(CliError::usage(format!("--verified is yes or no, not `{other}`"))),
    };
    Ok(Job {
        vehicle: flags.vehicle.clone().or(base.vehicle),
        nominal: flags.nominal.or(base.nominal),
        odometer: flags.odometer.clone().or(base.odometer),
        concern: flags.concern.clone().or(base.concern),
        verified,
        codes: if flags.codes.is_empty() { base.codes } else { flags.codes.clone() },
        technician: flags.technician.clone().or(base.technician),
        meter: flags.meter.clone().or(base.meter),
        conditions: flags.conditions.clone().or(base.conditions),
    })
}
