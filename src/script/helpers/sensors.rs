//! Ratiometric sensors, sweeps, temperature sensors.

use super::bind::{bind, bind_result};
use crate::electrical::results::Spot;
use crate::electrical::{ratiometric, rtd, sweep, thermistor, thermocouple};
use crate::script::wanted::Wanted;
use rhai::Module;

/// Binds them.
pub(super) fn bind(module: &mut Module, wanted: &Wanted<'_>) {
    bind_result::<Spot>(module, wanted);
    bind_result::<ratiometric::TrackError>(module, wanted);
    bind_result::<sweep::Sweep>(module, wanted);
    bind_result::<sweep::Hysteresis>(module, wanted);
    bind_result::<sweep::Line>(module, wanted);
    bind_result::<sweep::LineTrust>(module, wanted);
    bind_result::<thermistor::SteinhartHart>(module, wanted);
    bind!(module, wanted, ratiometric:
        percent_of_reference, volts_at_percent, sensor_position, volts_at_position, transfer, tracks_offset,
        tracks_half, tracks_crossed, signal_allowance, signal_range, signal_band
    );
    bind!(module, wanted, sweep:
        analyse_sweep, sweep_hysteresis, best_fit, best_fit_trust
    );
    bind!(module, wanted, thermistor:
        beta_resistance, beta_temperature, beta_from_points, steinhart_hart_temperature, steinhart_hart_resistance,
        steinhart_hart_fit, interpolate, thermistor_table_temperature
    );
    bind!(module, wanted, rtd:
        rtd_resistance, rtd_temperature, rtd_tolerance, rtd_resistance_tolerance
    );
    bind!(module, wanted, thermocouple:
        thermocouple_volts, thermocouple_temperature
    );
}
