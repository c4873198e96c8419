//! Whose word comes before a report's, and whose limits it shows.

/// Once on every report.
pub const FIRST: &str =
    "The vehicle manufacturer's instructions, local codes and licensed practice come before this report.";
/// On every report that shows limits.
pub const LIMITS: &str =
    "The limits are those of the shop's test procedure. Do not take them for the vehicle manufacturer's.";
