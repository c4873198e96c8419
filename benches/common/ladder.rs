//! A ladder of resistors on a battery: `p1` to the last point along the rungs, each with a load to `p0`.

use std::fmt::Write as _;

/// The circuit file of a ladder with so many points besides `p0`; ohms of the load at a point and of the rung behind it.
pub fn circuit(points: usize, load: impl Fn(usize) -> f64, rung: impl Fn(usize) -> f64) -> String {
    let mut named = String::from("{ id = \"p0\" }, { id = \"p1\" }");
    let mut parts = String::from(
        "{ id = \"feed\", kind = \"battery\", positive = \"p1\", negative = \"p0\", volts = \"12 V\", resistance = \"50 ohm\" },",
    );
    for point in 1..=points {
        let ohms = load(point);
        let _ = write!(
            parts,
            "{{ id = \"load{point}\", kind = \"resistor\", from = \"p{point}\", to = \"p0\", resistance = \"{ohms} ohm\" }},"
        );
        if point < points {
            let (next, ohms) = (point + 1, rung(point));
            let _ = write!(named, ", {{ id = \"p{next}\" }}");
            let _ = write!(
                parts,
                "{{ id = \"series{point}\", kind = \"resistor\", from = \"p{point}\", to = \"p{next}\", resistance = \"{ohms} ohm\" }},"
            );
        }
    }
    format!(
        "title = \"ladder\"\nzero_volts = \"p0\"\nstart = {{ key = \"on\" }}\npoint = [{named}]\npart = [{parts}]\n"
    )
}
