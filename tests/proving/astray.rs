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
pub const PAIRS_ASTRAY: [PairAstray; 15] = [
    pair("charging", "regulator_high + output_cable_corroded", Judgement::Missed, HIDDEN, true),
    pair("charging", "regulator_high + engine_strap_corroded", Judgement::Missed, HIDDEN, false),
    pair("charging", "regulator_high + positive_clamp_corroded", Judgement::Missed, HIDDEN, true),
    pair("charging", "regulator_high + negative_clamp_corroded", Judgement::Missed, HIDDEN, true),
    pair("data_bus", "engine_terminator_open + extra_terminator", Judgement::Missed, HIDDEN, true),
    pair("data_bus", "dash_terminator_open + extra_terminator", Judgement::Missed, HIDDEN, true),
    pair("data_bus", "high_to_ground + low_to_switched_feed", Judgement::NoConclusion, AT_ODDS, true),
    pair("data_bus", "low_to_ground + high_to_switched_feed", Judgement::NoConclusion, AT_ODDS, true),
    pair("data_bus", "high_to_battery + low_to_switched_feed", Judgement::NoConclusion, AT_ODDS, true),
    pair("data_bus", "low_to_battery + high_to_switched_feed", Judgement::NoConclusion, AT_ODDS, true),
    pair("data_bus", "dash_shorts_bus + engine_module_shorts_bus", Judgement::NoConclusion, AT_ODDS, true),
    pair("data_bus", "engine_module_babbles + dash_babbles", Judgement::NoConclusion, AT_ODDS, true),
    pair("flap_sensor", "sensor_reads_a_little_high + signal_pin_corroded", Judgement::Missed, HIDDEN, false),
    pair("temperature_sensor", "sensor_reads_hot + sensor_reads_cold", Judgement::Missed, HIDDEN, true),
    pair("temperature_sensor", "sensor_reads_hot + connector_pin_corroded", Judgement::Missed, HIDDEN, true),
];
const HIDDEN: &str = "one makes up for the other: everything that is read is in, and the circuit works";
const AT_ODDS: &str = "the readings fit no single fault: it ends without a cause and says which readings to take again, and condemns nothing";
