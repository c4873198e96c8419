//! Trouble codes and scaled bytes.

use super::bind::{bind, bind_result};
use crate::electrical::code;
use crate::script::wanted::Wanted;
use rhai::Module;

/// Binds them.
pub(super) fn bind(module: &mut Module, wanted: &Wanted<'_>) {
    bind_result::<code::FaultCode>(module, wanted);
    bind_result::<code::Lamps>(module, wanted);
    bind!(module, wanted, code:
        trouble_code, trouble_code_bytes, fault_code, fault_code_bytes, code_assigned_by, dm1_lamps, failure_mode, j1979_percent,
        j1979_percent_byte, j1979_temperature, j1979_temperature_byte, j1979_trim, j1979_engine_speed, j1939_percent,
        j1939_percent_byte, j1939_temperature, j1939_temperature_byte
    );
}
