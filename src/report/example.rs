//! What is said of a record or a procedure whose circuit is an example.

/// What is known.
pub const HEAD: &str = "Pins, colors and limits are an example's, not this vehicle's.";
/// What to do about it.
pub const SAYS: &str = "Use the figures in the vehicle manufacturer's documents.";
