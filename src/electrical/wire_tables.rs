//! Standard wires: cross section and the most that the standard lets a meter of it have.

/// A row of a table: cross section in mm², ohms per kilometer at 20 °C.
pub type Row = (f64, f64);

/// IEC 60228:2004, Tables 1 and 2, classes 1 and 2 (solid, stranded), plain copper.
///
/// Seen in four independent copies of the table; the standard itself was not.
pub const IEC_60228_CLASS_2: &[Row] = &[
    (0.5, 36.0),
    (0.75, 24.5),
    (1.0, 18.1),
    (1.5, 12.1),
    (2.5, 7.41),
    (4.0, 4.61),
    (6.0, 3.08),
    (10.0, 1.83),
    (16.0, 1.15),
    (25.0, 0.727),
    (35.0, 0.524),
    (50.0, 0.387),
    (70.0, 0.268),
    (95.0, 0.193),
    (120.0, 0.153),
];

/// The same classes, metal-coated (tinned) copper.
pub const IEC_60228_CLASS_2_COATED: &[Row] = &[
    (0.5, 36.7),
    (0.75, 24.8),
    (1.0, 18.2),
    (1.5, 12.2),
    (2.5, 7.56),
    (4.0, 4.70),
    (6.0, 3.11),
    (10.0, 1.84),
    (16.0, 1.16),
    (25.0, 0.734),
    (35.0, 0.529),
    (50.0, 0.391),
    (70.0, 0.270),
    (95.0, 0.195),
    (120.0, 0.154),
];

/// IEC 60228:2004, Table 3, classes 5 and 6 (flexible, extra flexible), plain copper. Seen as above.
pub const IEC_60228_CLASS_5: &[Row] = &[
    (0.5, 39.0),
    (0.75, 26.0),
    (1.0, 19.5),
    (1.5, 13.3),
    (2.5, 7.98),
    (4.0, 4.95),
    (6.0, 3.30),
    (10.0, 1.91),
    (16.0, 1.21),
    (25.0, 0.780),
    (35.0, 0.554),
    (50.0, 0.386),
    (70.0, 0.272),
    (95.0, 0.206),
    (120.0, 0.161),
];

/// The same classes, metal-coated (tinned) copper.
pub const IEC_60228_CLASS_5_COATED: &[Row] = &[
    (0.5, 40.1),
    (0.75, 26.7),
    (1.0, 20.0),
    (1.5, 13.7),
    (2.5, 8.21),
    (4.0, 5.09),
    (6.0, 3.39),
    (10.0, 1.95),
    (16.0, 1.24),
    (25.0, 0.795),
    (35.0, 0.565),
    (50.0, 0.393),
    (70.0, 0.277),
    (95.0, 0.210),
    (120.0, 0.164),
];

/// ISO 6722-1:2011, bare copper. From memory: no copy of the table was found; 0.13 and 5 mm² fit the run of the others
/// worst and are the least to be trusted.
#[expect(clippy::approx_constant, reason = "3.14 mΩ/m is a figure of the table")]
pub const ISO_6722: &[Row] = &[
    (0.13, 136.0),
    (0.22, 84.8),
    (0.35, 54.4),
    (0.5, 37.1),
    (0.75, 24.7),
    (1.0, 18.5),
    (1.25, 14.9),
    (1.5, 12.7),
    (2.0, 9.42),
    (2.5, 7.60),
    (3.0, 6.15),
    (4.0, 4.71),
    (5.0, 3.94),
    (6.0, 3.14),
    (8.0, 2.38),
    (10.0, 1.82),
    (16.0, 1.16),
    (25.0, 0.743),
    (35.0, 0.527),
    (50.0, 0.368),
];

/// FAA AC 43.13-1B CHG 1, Table 11-9: stranded tin-plated aircraft wire, gauge and ohms per 1000 ft at 20 °C.
pub const STRANDED_AWG: &[(i64, f64)] = &[
    (24, 28.40),
    (22, 16.20),
    (20, 9.88),
    (18, 6.23),
    (16, 4.81),
    (14, 3.06),
    (12, 2.02),
    (10, 1.26),
    (8, 0.70),
    (6, 0.44),
    (4, 0.28),
    (2, 0.18),
    (1, 0.15),
    (0, 0.12),
    (-1, 0.09),
    (-2, 0.07),
    (-3, 0.06),
];
