//! Ohm's law, resistances together, wire, drops, coils, pulses, battery.

use super::bind::{bind, bind_result, bind_spread};
use crate::model::electrical::{battery, coil, drop, network, ohm, pulse, wire};
use rhai::Module;

/// Binds them.
pub(super) fn bind(module: &mut Module) {
    bind_result::<ohm::Load>(module);
    bind_result::<network::Bridge>(module);
    bind_result::<wire::WireChoice>(module);
    bind_result::<drop::DropBudget>(module);
    bind_result::<battery::Judgement>(module);
    bind!(module, ohm:
        ohms_law, loaded_source, source_resistance
    );
    bind!(module, network:
        series, parallel, divider, loaded_divider, bridge, balanced_bridge, meter_shows, unloaded_volts,
        ammeter_shows, amperes_without_meter, pull_up_volts, pull_up_sensor
    );
    for helper in network::HELPERS {
        match helper.name {
            "series" => bind_spread(module, helper, network::series),
            "parallel" => bind_spread(module, helper, network::parallel),
            _ => {}
        }
    }
    bind!(module, wire:
        awg, awg_diameter, awg_area, nearest_awg, stranded_awg, iec_60228, iec_60228_tinned, iso_6722, copper,
        conductor, copper_at, wire_resistance, wire_drop, wire_drop_both_ways, current_in_wire, longest_wire,
        thinnest_awg, thinnest_iec_60228, thinnest_iso_6722
    );
    bind!(module, drop:
        drop_allowance, cranking_allowance, drop_budget, heat_in
    );
    bind!(module, coil:
        copper_resistance_at, winding_temperature, resistance_at, coil, heater_watts
    );
    bind!(module, pulse:
        duty, average_volts, duty_from_average, effective_volts, pulse_width, frequency_of, tone_wheel_speed,
        tone_wheel_frequency, road_speed, wheel_rotation
    );
    bind!(module, battery:
        state_of_charge, load_test_volts, judge_cranking, judge_charging, judge_key_off_draw, hours_to_flat,
        draw_to_flat, charge_taken
    );
}
