//! Trouble codes and scaled bytes.

use crate::check::{Check, Source, Status, figures, q, values};
use ohmwright::electrical::code::*;

const TWO_BYTES: Source = Source::seen("SAE J2012 / ISO 15031-6, by its bit arithmetic").known(Status::Computed);
const FOUR_BYTES: Source = Source::seen("j1939 0.3.0, a Rust crate, its tests of SAE J1939-73");
const COMPUTED: Source = Source::seen("can-j1939 2.0.12").known(Status::Computed);
const LAMPS: Source = Source::seen("SAE J1939-73, by two public libraries that agree");
const ASSIGNED: Source = Source::seen("SAE J2012 DEC2007 and ISO 15031-6, headings in secondary copies");
const SCALED: Source = Source::seen("SAE J1979 / ISO 15031-5, service 01").known(Status::FromMemory);
const HEAVY: Source = Source::seen("SAE J1939-71").known(Status::FromMemory);

const CODES: &[(i64, &str)] = &[
    (0x0133, "P0133"),
    (0x0117, "P0117"),
    (0x0118, "P0118"),
    (0x0562, "P0562"),
    (0x0641, "P0641"),
    (0x2138, "P2138"),
    (0x4035, "C0035"),
    (0x9234, "B1234"),
    (0xC100, "U0100"),
    (0xE803, "U2803"),
    (0x3FFF, "P3FFF"),
];

fn bytes(numbers: &[i64]) -> String {
    numbers.iter().map(|number| format!("{number:02X}")).collect::<Vec<_>>().join(" ")
}

pub fn checks() -> Vec<Check> {
    let mut checks = Vec::new();
    for (word, text) in CODES {
        let source = TWO_BYTES.at("bits 15-14 letter, 13-12 first digit");
        let got = trouble_code(word >> 8, word & 0xFF);
        checks.push(Check::text(&format!("trouble_code({word:#06X})"), got, text, source));
        let back = trouble_code_bytes((*text).to_owned()).map(|bytes| bytes[0] * 256 + bytes[1]);
        assert_eq!(back, Ok(*word), "{text} back to its bytes");
    }
    for (spn, fmi, count, want, source) in [
        (159, 3, 1, "9F 00 03 01", FOUR_BYTES.at("SPN 159")),
        (639, 2, 0, "7F 02 02 00", FOUR_BYTES.at("SPN 639")),
        (110, 3, 5, "6E 00 03 05", COMPUTED.at("SPN 110")),
        (524_287, 31, 127, "FF FF FF 7F", COMPUTED.at("the highest of each")),
    ] {
        let got = fault_code_bytes(spn, fmi, count).map(|four| bytes(&four));
        checks.push(Check::text(&format!("fault_code_bytes({spn}, {fmi}, {count})"), got, want, source));
        let four = fault_code_bytes(spn, fmi, count).unwrap();
        let back = fault_code(four[0], four[1], four[2], four[3]).unwrap();
        assert_eq!((back.spn, back.fmi, back.occurrences.unwrap_or(127)), (Some(spn), fmi, count));
    }
    let third = fault_code_bytes(524_287, 3, 0).map(|four| bytes(&four[..3]));
    checks.push(Check::text(
        "fault_code_bytes(524287, 3, …), first three",
        third,
        "FF FF E3",
        FOUR_BYTES.at("SPN 524287"),
    ));
    let spn = fault_code(0xFF, 0xFF, 0xE3, 1).map(|code| code.spn.unwrap());
    checks.push(Check::text("fault_code(FF FF E3 …).spn", spn, "524287", FOUR_BYTES.at("SPN 524287")));
    // Two bits a lamp, from the lowest: protect, amber, red, malfunction.
    for (on, flash, want) in [
        (0x00, 0xFF, "malfunction off, red stop off, amber warning off, protect off"),
        (0x01, 0xFF, "malfunction off, red stop off, amber warning off, protect on"),
        (0x04, 0xFF, "malfunction off, red stop off, amber warning on, protect off"),
        (0x10, 0xFF, "malfunction off, red stop on, amber warning off, protect off"),
        (0x40, 0xFF, "malfunction on, red stop off, amber warning off, protect off"),
        (
            0xFF,
            0xFF,
            "malfunction not available, red stop not available, amber warning not available, protect not available",
        ),
    ] {
        let what = format!("dm1_lamps({on:#04X}, {flash:#04X})");
        checks.push(Check::text(&what, dm1_lamps(on, flash), want, LAMPS.at("DM1, byte 1")));
    }
    checks.push(Check::text(
        "dm1_lamps(0x55, 0x39)",
        dm1_lamps(0x55, 0x39),
        "malfunction slow flash, red stop on, amber warning on, protect fast flash",
        LAMPS.at("DM1, byte 2").known(Status::FromMemory),
    ));
    for (code, want, place) in [
        ("P0133", "ISO/SAE", "P0xxx"),
        ("P1133", "manufacturer", "P1xxx"),
        ("P2138", "ISO/SAE", "P2xxx"),
        ("P3000", "manufacturer", "P30xx to P33xx"),
        ("P33FF", "manufacturer", "P30xx to P33xx"),
        ("P3400", "ISO/SAE", "P34xx"),
        ("B0012", "ISO/SAE", "B0xxx"),
        ("B1234", "manufacturer", "B1xxx"),
        ("B2FFF", "manufacturer", "B2xxx"),
        ("B3000", "reserved", "B3xxx"),
        ("C0035", "ISO/SAE", "C0xxx"),
        ("C1ABC", "manufacturer", "C1xxx"),
        ("C2000", "manufacturer", "C2xxx"),
        ("C3FFF", "reserved", "C3xxx"),
        ("U0100", "ISO/SAE", "U0xxx"),
        ("U1000", "manufacturer", "U1xxx"),
        ("U2803", "manufacturer", "U2xxx"),
        ("U3000", "ISO/SAE or manufacturer", "U3xxx"),
    ] {
        let got = code_assigned_by(code.to_owned());
        checks.push(Check::text(&format!("code_assigned_by({code})"), got, want, ASSIGNED.at(place)));
    }
    figures!(checks, SCALED.at("PIDs 04, 11: percent");
        j1979_percent(0) => "0 pct",
        j1979_percent(255) => "100 pct",
    );
    figures!(checks, SCALED.at("PIDs 05, 0F: temperature");
        j1979_temperature(0) => "-40 degC",
        j1979_temperature(255) => "215 degC",
    );
    figures!(checks, SCALED.at("PIDs 06-09: trim");
        j1979_trim(0) => "-100 pct",
        j1979_trim(128) => "0 pct",
    );
    values!(checks, SCALED.at("PIDs 06-09: trim");
        j1979_trim(255) => "99.22 pct",
    );
    figures!(checks, SCALED.at("PID 0C: engine speed");
        j1979_engine_speed(0, 0) => "0 rpm",
        j1979_engine_speed(255, 255) => "16383.75 rpm",
    );
    figures!(checks, HEAVY.at("0.4 % and 1 °C a bit");
        j1939_percent(250) => "100.0 pct",
        j1939_percent(1) => "0.4 pct",
        j1939_temperature(0) => "-40 degC",
        j1939_temperature(250) => "210 degC",
    );
    for (byte, want) in [(q("0 pct"), "0"), (q("100 pct"), "255")] {
        checks.push(Check::text(
            &format!("j1979_percent_byte({byte})"),
            j1979_percent_byte(byte),
            want,
            SCALED.at("PIDs 04, 11"),
        ));
    }
    for (byte, want) in [(q("-40 degC"), "0"), (q("215 degC"), "255")] {
        checks.push(Check::text(
            &format!("j1979_temperature_byte({byte})"),
            j1979_temperature_byte(byte),
            want,
            SCALED.at("PIDs 05, 0F"),
        ));
    }
    checks
}
