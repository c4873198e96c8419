//! Ratiometric sensors, sweeps, temperature sensors.

use super::bind::{bind, bind_result};
use crate::model::electrical::{Spot, ratiometric, rtd, sweep, thermistor, thermocouple};
use rhai::Module;

/// Binds them.
pub(super) fn bind(module: &mut Module) {
    bind_result::<Spot>(module);
    bind_result::<ratiometric::TrackError>(module);
    bind_result::<sweep::Sweep>(module);
    bind_result::<sweep::Hysteresis>(module);
    bind_result::<sweep::Line>(module);
    bind_result::<thermistor::SteinhartHart>(module);
    bind!(module, ratiometric:
        percent_of_reference, volts_at_percent, sensor_position, volts_at_position, transfer, tracks_offset,
        tracks_half, tracks_crossed, signal_allowance, signal_range
    );
    bind!(module, sweep:
        analyse_sweep, sweep_hysteresis, best_fit
    );
    bind!(module, thermistor:
        beta_resistance, beta_temperature, beta_from_points, steinhart_hart_temperature, steinhart_hart_resistance,
        steinhart_hart_fit, interpolate, thermistor_table_temperature
    );
    bind!(module, rtd:
        rtd_resistance, rtd_temperature, rtd_tolerance, rtd_resistance_tolerance
    );
    bind!(module, thermocouple:
        thermocouple_volts, thermocouple_temperature
    );
}
