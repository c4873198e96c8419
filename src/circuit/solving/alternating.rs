//! What gives and what hinders alternating current in a network.

/// What an element is to alternating current, where that is not the slope that it has at rest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Alternating {
    /// This resistance has an inductance in series, in henries.
    Inductance { element: usize, henries: f64 },
    /// This element has an alternating voltage in series, in volts RMS, at so many hertz.
    Voltage { element: usize, volts: f64, hertz: f64 },
    /// An alternating voltage in series with a conductance, which direct current does not see.
    Ripple { plus: usize, minus: usize, siemens: f64, volts: f64, hertz: f64 },
    /// This element does not follow within a period: a filament stays as hot as it is, a motor as fast. In siemens; `None` is
    /// its current at rest by its volts at rest.
    Slow { element: usize, siemens: Option<f64> },
}
