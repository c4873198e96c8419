//! Pairs of faults that go astray on the shipped procedures.

use ohmwright::model::proof::case::Judgement;

/// What a pair comes to that goes astray, and why nothing better can be asked of the procedure.
pub struct PairAstray {
    /// The procedure.
    pub procedure: &'static str,
    /// Both faults, as a proof names them.
    pub faults: &'static str,
    /// How the first run that went astray was judged.
    pub judgement: Judgement,
    /// Why.
    pub why: &'static str,
    /// Astray in so many vehicles that a few samples are sure to hold one; the others show at twenty.
    pub often: bool,
}

const fn pair(
    procedure: &'static str,
    faults: &'static str,
    judgement: Judgement,
    why: &'static str,
    often: bool,
) -> PairAstray {
    PairAstray { procedure, faults, judgement, why, often }
}

/// Every one of them, as twenty samples show them.
pub const PAIRS_ASTRAY: [PairAstray; 17] = [
    pair("charging", "regulator_high + output_cable_corroded", Judgement::Missed, HIDDEN, true),
    pair("charging", "regulator_high + engine_strap_corroded", Judgement::Missed, HIDDEN, false),
    pair("charging", "regulator_high + positive_clamp_corroded", Judgement::Missed, HIDDEN, true),
    pair("charging", "regulator_high + negative_clamp_corroded", Judgement::Missed, HIDDEN, true),
    pair("data_bus", "engine_terminator_open + extra_terminator", Judgement::Missed, HIDDEN, true),
    pair("data_bus", "dash_terminator_open + extra_terminator", Judgement::Missed, HIDDEN, true),
    pair("data_bus", "high_to_ground + high_to_battery", Judgement::Wrong, FLAT, false),
    pair("data_bus", "low_to_ground + low_to_battery", Judgement::Wrong, FLAT, false),
    pair("flap_sensor", "sensor_reads_a_little_high + signal_pin_corroded", Judgement::Missed, HIDDEN, false),
    pair("lamp_drop", "feed_wire_to_ground + feed_wire_to_battery", Judgement::Wrong, FLAT, true),
    pair("relay_low_side", "load_wire_to_ground + load_wire_to_battery", Judgement::Wrong, FLAT, true),
    pair("relay_low_side", "contacts_welded + fan_held", Judgement::Wrong, HELD, true),
    pair("relay_low_side", "load_wire_to_battery + fan_held", Judgement::Wrong, HELD, true),
    pair("solenoid_high_side", "coil_shorted + connector_pin_corroded", Judgement::Missed, HIDDEN, true),
    pair("solenoid_high_side", "feed_wire_to_ground + feed_wire_to_battery", Judgement::Wrong, FLAT, true),
    pair("temperature_sensor", "sensor_reads_hot + sensor_reads_cold", Judgement::Missed, HIDDEN, true),
    pair("temperature_sensor", "sensor_reads_hot + connector_pin_corroded", Judgement::Missed, HIDDEN, true),
];
const HIDDEN: &str = "one makes up for the other: everything that is read is in, and the circuit works";
const FLAT: &str =
    "the two join battery and ground: it reads as a flat battery, and the correction is to find out why it is flat";
const HELD: &str = "a load that is held and never off pulls the battery down: it reads as a flat battery, and the correction is to find out why it is flat";
