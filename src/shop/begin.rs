//! How a run begins.

use crate::model::job::{Job, Nominal};
use crate::model::link::{Link, LinkKind};
use crate::model::record::Record;
use crate::model::started::Started;
use crate::model::vehicle::VehicleState;
use crate::model::words;
use crate::records::store::{RunFolder, slug};
use crate::run::answerer::MeterInUse;
use crate::run::session::Session;
use crate::run::stop::Stop;
use crate::script::execute::{EntryPoint, Finished, execute};
use crate::script::procedure::AFTER_REPAIR;
use crate::shop::error::ShopError;
use crate::shop::loaded::{Loaded, WhoAnswers};
use crate::shop::settings::Settings;
use crate::shop::simulated::Simulated;
use crate::shop::station;
use std::sync::Arc;

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
        nominal: over.nominal.or(under.nominal),
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
pub fn after(settings: &Settings, loaded: &Loaded, name: &str, simulated: bool) -> Result<(Link, Job), ShopError> {
    if !loaded.procedure.has_after_repair() {
        return Err(ShopError::refused_with(
            format!("`{}` has no check for after the repair", loaded.procedure.name),
            format!("write it as `fn {}() {{ … }}` in the procedure", AFTER_REPAIR),
        ));
    }
    let back = settings.store.read(name)?;
    let record = Record::of(&back.entries).map_err(|error| ShopError::refused(format!("{name}: {error}")))?;
    if record.started.name() != loaded.procedure.name {
        return Err(ShopError::refused(format!(
            "{name} is a record of `{}`, not of `{}`{}",
            record.started.name(),
            loaded.procedure.name,
            words::did_you_mean(Some(record.started.name())),
        )));
    }
    // A simulated circuit says nothing of a vehicle's repair, nor a vehicle of the circuit's.
    match (simulated, record.started.circuit().is_some()) {
        (true, false) => {
            return Err(ShopError::refused(format!(
                "{name} is the record of a vehicle: a simulated check can't say how its repair went. Leave out `--simulate`"
            )));
        }
        (false, true) => {
            return Err(ShopError::refused(format!("{name} is simulated: check it with `--simulate`, too")));
        }
        _ => {}
    }
    // By a name that lasts: a part of its name is soon that of another record, too, and a path is one from here.
    let lasting = settings.store.lasting_name(&settings.store.path_of(name)?)?;
    let link = Link { kind: LinkKind::AfterRepair, record: lasting, id: record.started.record, sha256: back.sha256() };
    // Who checks, with what, in which weather and what is seen then is not what it was.
    let Job { vehicle, nominal, concern, .. } = record.started.whole_job();
    Ok((link, Job { vehicle, nominal, concern, ..Job::default() }))
}

/// One sitting at a run: from where it was begun or taken up to where it stopped.
pub struct Sitting {
    /// The record's folder, held against other processes.
    pub folder: RunFolder,
    /// How it came out, and what was recorded.
    pub finished: Finished,
}

/// In the names of records that no vehicle stands behind.
pub const SIMULATED: &str = "-simulated";

/// The beginning of a new run.
pub struct Begin {
    /// The job.
    pub job: Job,
    /// How the vehicle stands.
    pub vehicle: VehicleState,
    /// The meter.
    pub meter: Arc<MeterInUse>,
    /// What is run.
    pub entry_point: EntryPoint,
    /// The record that it comes out of.
    pub link: Option<Link>,
    /// The simulated circuit.
    pub bench: Option<Simulated>,
}

impl Begin {
    /// Begins a record, says which (`begun`), and runs the procedure in it until it stops.
    ///
    /// # Errors
    /// The folder of records or the journal can't be written.
    pub fn go(
        mut self,
        settings: &Settings,
        loaded: &Loaded,
        who: WhoAnswers,
        begun: impl FnOnce(&RunFolder),
    ) -> Result<Sitting, ShopError> {
        let procedure = &loaded.procedure;
        let sources = loaded.keep(&settings.store, &self.meter, &settings.shop.text)?;
        let folder = settings.store.create(&self.folder_name(settings, &procedure.name))?;
        let (journal, _) = folder.journal()?;
        let by_hand = settings.clock.is_by_hand();
        let nominal = self.job.nominal.take().map(Nominal::quantity);
        let mut started = Started {
            record: Some(station::record_id(&folder.name, by_hand)),
            station: settings.station.clone(),
            sources,
            job: self.job,
            nominal,
            vehicle: self.vehicle,
            link: self.link,
            clock_set_by_hand: by_hand,
            ..procedure.started(who.1.answered_by)
        };
        self.entry_point.put_into(&mut started);
        if let Some(simulated) = self.bench {
            simulated.put_into(&mut started);
        }
        let clock = Box::new(settings.clock.clone());
        let parts = loaded.parts(Box::new(journal.clone()), who, clock, self.meter);
        let id = started.record;
        let session = Session::start(parts, started).map_err(journal_failed)?;
        settings.sits_at(&folder.name, id)?;
        begun(&folder);
        let finished = execute(procedure, self.entry_point, session, loaded.points.clone());
        journal.finish().map_err(ShopError::Files)?;
        Ok(Sitting { folder, finished })
    }

    /// When, what, and of which vehicle.
    fn folder_name(&self, settings: &Settings, procedure: &str) -> String {
        let mut name = format!("{}-{}", settings.clock.folder_stamp(), slug(procedure));
        if self.bench.is_some() {
            name.push_str(SIMULATED);
        }
        let vehicle = self.job.vehicle.as_deref().map(slug);
        match vehicle
            .as_deref()
            .map(|slug| slug.strip_prefix("simulated-").unwrap_or(slug))
            .filter(|slug| !slug.is_empty())
        {
            Some(vehicle) => format!("{name}-{vehicle}"),
            None => name,
        }
    }
}

/// A number that nobody can foresee.
pub fn any_number() -> u64 {
    use std::hash::{BuildHasher, Hasher};
    std::hash::RandomState::new().build_hasher().finish()
}
