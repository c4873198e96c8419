//! A job file: what is known of the job and of the vehicle before a run begins.

use crate::model::diagnostic;
use crate::model::job::Job;
use crate::model::vehicle::VehicleState;
use crate::shop::error::ShopError;
use serde::Deserialize;
use std::path::Path;

/// A job file: the job's fields, and the vehicle's state in its own table.
#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields)]
pub struct JobFile {
    /// The job.
    #[serde(default)]
    pub job: Job,
    /// How the vehicle stands.
    #[serde(default)]
    pub vehicle: Option<VehicleState>,
}

/// Reads a job file.
pub fn job_file(path: &Path) -> Result<JobFile, ShopError> {
    let text = crate::shop::text_file::read(path)?;
    toml::from_str(&text)
        .map_err(|error| ShopError::input(diagnostic::of_toml(&path.display().to_string(), &text, &error)))
}
