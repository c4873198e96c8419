//! The meter that a run is measured with: the shop's, or the one that was kept with a record.

use crate::model::diagnostic;
use crate::model::limits::NoAccuracy;
use crate::model::meter::Meter;
use crate::model::source::{SourceKind, SourceRef};
use crate::model::words;
use crate::records::store::Store;
use crate::run::answerer::MeterInUse;
use crate::shop::error::ShopError;
use crate::shop::settings::Settings;

/// The meter by the shop's name for it; none is fine, and the record says so.
pub fn meter_in_use(settings: &Settings, named: Option<&str>) -> Result<MeterInUse, ShopError> {
    let Some(named) = named else { return Ok(MeterInUse::default()) };
    let meters = &settings.shop.shop.meters;
    match meters.iter().find(|meter| meter.id == named) {
        Some(meter) => Ok(on(meter.clone(), settings.clock.today())),
        // Without a shop, a meter is only a name.
        None if settings.shop.root.is_none() => Ok(MeterInUse::default()),
        None => {
            let nearest = words::nearest(named, meters.iter().map(|meter| meter.id.as_str()));
            Err(ShopError::refused_with(
                format!("the shop has no meter `{named}`{}", words::did_you_mean(nearest.as_deref())),
                "list meters in shop.toml under [[meter]]",
            ))
        }
    }
}

/// The meter that was kept with a record.
pub fn kept_meter(store: &Store, sources: &[SourceRef], today: jiff::civil::Date) -> Result<MeterInUse, ShopError> {
    let Some(source) = sources.iter().find(|source| source.kind == SourceKind::Meter) else {
        return Ok(MeterInUse::default());
    };
    let text = store.kept(source)?;
    let meter: Meter =
        toml::from_str(&text).map_err(|error| ShopError::input(diagnostic::of_toml(&source.name, &text, &error)))?;
    Ok(on(meter, today))
}

/// A meter on a day: its figures count until its calibration is due.
fn on(meter: Meter, today: jiff::civil::Date) -> MeterInUse {
    // A meter without a date was never calibrated that anybody knows of.
    match meter.calibration_due.as_ref().and_then(|due| due.parse::<jiff::civil::Date>().ok()) {
        Some(due) if due < today => MeterInUse::unsettled(meter, NoAccuracy::CalibrationPast),
        Some(_) => MeterInUse::new(meter),
        None => MeterInUse::unsettled(meter, NoAccuracy::NoCalibrationDate),
    }
}
