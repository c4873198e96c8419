//! Ohm's law, resistances together, wire, drops, coils, pulses, battery.

use super::bind::{bind, bind_result, bind_spread};
use crate::electrical::{battery, coil, drop, network, ohm, pulse, wire};
use crate::script::wanted::Wanted;
use rhai::Module;

/// Binds them.
pub(super) fn bind(module: &mut Module, wanted: &Wanted<'_>) {
    bind_result::<ohm::Load>(module, wanted);
    bind_result::<network::Bridge>(module, wanted);
    bind_result::<wire::WireChoice>(module, wanted);
    bind_result::<drop::DropBudget>(module, wanted);
    bind_result::<battery::Judgement>(module, wanted);
    bind!(module, wanted, ohm:
        ohms_law, loaded_source, source_resistance
    );
    bind!(module, wanted, network:
        series, parallel, divider, loaded_divider, bridge, balanced_bridge, meter_shows, unloaded_volts,
        ammeter_shows, amperes_without_meter, pull_up_volts, pull_up_sensor
    );
    for helper in network::HELPERS {
        match helper.name {
            "series" => bind_spread(module, wanted, helper, network::series::at),
            "parallel" => bind_spread(module, wanted, helper, network::parallel::at),
            _ => {}
        }
    }
    bind!(module, wanted, wire:
        awg, awg_diameter, awg_area, nearest_awg, stranded_awg, iec_60228, iec_60228_tinned, iso_6722, copper,
        conductor, copper_at, wire_resistance, wire_drop, wire_drop_both_ways, current_in_wire, longest_wire,
        thinnest_awg, thinnest_iec_60228, thinnest_iso_6722
    );
    bind!(module, wanted, drop:
        drop_allowance, cranking_allowance, drop_budget, heat_in
    );
    bind!(module, wanted, coil:
        copper_resistance_at, winding_temperature, resistance_at, coil, heater_watts
    );
    bind!(module, wanted, pulse:
        duty, average_volts, duty_from_average, effective_volts, pulse_width, frequency_of, tone_wheel_speed,
        tone_wheel_frequency, road_speed, wheel_rotation
    );
    bind!(module, wanted, battery:
        state_of_charge, state_of_charge_by_table, load_test_volts, judge_cranking, judge_charging, judge_key_off_draw, hours_to_flat,
        draw_to_flat, charge_taken
    );
}
