//! How a run begins.

use crate::model::event::{Link, LinkKind};
use crate::model::job::Job;
use crate::model::record::Record;
use crate::model::words;
use crate::run::stop::Stop;
use crate::shop::error::ShopError;
use crate::shop::loaded::Loaded;
use crate::shop::settings::Settings;

/// A session that could not begin.
pub fn journal_failed(stop: Stop) -> ShopError {
    match stop {
        Stop::Journal(problem) => ShopError::Files(problem),
        other => ShopError::Files(format!("the run could not begin: {other:?}")),
    }
}

/// What one says of a job, over what another says.
pub fn merged(over: Job, under: Job) -> Job {
    Job {
        vehicle: over.vehicle.or(under.vehicle),
        odometer: over.odometer.or(under.odometer),
        concern: over.concern.or(under.concern),
        verified: over.verified.or(under.verified),
        codes: if over.codes.is_empty() { under.codes } else { over.codes },
        technician: over.technician.or(under.technician),
        meter: over.meter.or(under.meter),
        conditions: over.conditions.or(under.conditions),
    }
}

/// The link of a check after the repair with the record of this name, and what is known of its job.
pub fn after(settings: &Settings, loaded: &Loaded, name: &str) -> Result<(Link, Job), ShopError> {
    if !loaded.procedure.has_after_repair() {
        return Err(ShopError::refused_with(
            format!("`{}` has no check for after the repair", loaded.procedure.name),
            format!("write it as `fn {}() {{ … }}` in the procedure", crate::script::procedure::AFTER_REPAIR),
        ));
    }
    let back = settings.store.read(name)?;
    let record = Record::of(&back.entries).map_err(|error| ShopError::refused(format!("{name}: {error}")))?;
    if record.started.procedure != loaded.procedure.name {
        return Err(ShopError::refused(format!(
            "{name} is a record of `{}`, not of `{}`{}",
            record.started.procedure,
            loaded.procedure.name,
            words::did_you_mean(Some(&record.started.procedure)),
        )));
    }
    // By what names it for good: a part of its name is soon that of another record, too, and a path is one from here.
    let lasting = settings.store.lasting_name(&settings.store.path_of(name)?)?;
    let link = Link { kind: LinkKind::AfterRepair, record: lasting, sha256: back.sha256() };
    // Who checks, with what, in which weather and what is seen then is not what it was.
    let Job { vehicle, concern, .. } = record.started.job;
    Ok((link, Job { vehicle, concern, ..Job::default() }))
}

/// A number that nobody can foresee.
pub fn any_number() -> u64 {
    use std::hash::{BuildHasher, Hasher};
    std::hash::RandomState::new().build_hasher().finish()
}
