//! Pairs of faults that are missed, or for which something good is condemned, on the shipped procedures.

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
pub const PAIRS_ASTRAY: [PairAstray; 5] = [
    pair("data_bus", "engine_terminator_open + extra_terminator", Judgement::Missed, HIDDEN, true),
    pair("data_bus", "dash_terminator_open + extra_terminator", Judgement::Missed, HIDDEN, true),
    pair("flap_sensor", "sensor_reads_a_little_high + signal_pin_corroded", Judgement::Missed, HIDDEN, false),
    pair("module_supply", "module_shorted + main_relay_welded", Judgement::Wrong, FED, true),
    pair("temperature_sensor", "sensor_reads_hot + sensor_reads_cold", Judgement::Missed, HIDDEN, true),
];
const HIDDEN: &str = "one makes up for the other: everything that is read is in, and the circuit works";
const FED: &str =
    "the welded relay feeds the module while its short is looked for by ohms: the meter shows a number that is none";
