//! Alternating voltages about the direct-current point at which a network rests: every element is frozen as it is there.

use super::alternating::Alternating;
use super::complex::{self, Complex};
use super::element::Element;
use super::matrix::Matrix;
use super::network::{Network, Workspace};
use std::f64::consts::{SQRT_2, TAU};

/// Why there are no alternating voltages.
#[derive(Debug, PartialEq)]
pub enum AlternatingError {
    /// No voltage for this unknown.
    Floats(usize),
    /// This element would not stay frozen.
    Moves(usize),
}

/// Node voltages of one frequency, volts RMS; the last is the zero-volt node's.
pub struct Swing {
    pub hertz: f64,
    pub volts: Vec<Complex>,
}

impl Swing {
    /// Volts RMS between two unknowns.
    pub fn across(&self, a: usize, b: usize) -> f64 {
        (self.volts[a] - self.volts[b]).size()
    }
}

/// The alternating voltages of a network that has just been solved: voltages of one frequency are one swing.
pub fn swings(network: &Network, extra: &[Element], work: &Workspace) -> Result<Vec<Swing>, AlternatingError> {
    let mut frequencies: Vec<f64> = Vec::new();
    for source in &network.alternating {
        if let Alternating::Voltage { volts, hertz, .. } | Alternating::Ripple { volts, hertz, .. } = *source
            && volts != 0.0
            && hertz > 0.0
            && !frequencies.contains(&hertz)
        {
            frequencies.push(hertz);
        }
    }
    let swings = frequencies.into_iter().map(|hertz| at(network, extra, work, hertz));
    let swings: Vec<Swing> = swings.collect::<Result<_, _>>().map_err(AlternatingError::Floats)?;
    match (0..network.elements.len()).find(|number| moves(network, *number, work, &swings)) {
        Some(element) => Err(AlternatingError::Moves(element)),
        None => Ok(swings),
    }
}

fn at(network: &Network, extra: &[Element], work: &Workspace, hertz: f64) -> Result<Swing, usize> {
    let size = network.size;
    let mut frozen = Matrix::default();
    frozen.clear(size);
    let states = work.states.iter().copied().chain(std::iter::repeat(0));
    for (number, (element, state)) in network.elements.iter().chain(extra).zip(states).enumerate() {
        if impedance(network, number, work, hertz).is_none() {
            element.stamp(state, &network.segments, &mut frozen);
        }
    }
    for tie in &work.ties {
        frozen.conductance(*tie, size, 1.0);
    }
    let mut rows: Vec<Vec<Complex>> =
        (0..=size).map(|row| (0..=size).map(|column| frozen.cell(row, column).into()).collect()).collect();
    let mut right = vec![Complex::default(); size + 1];
    let mut add = |a: usize, b: usize, siemens: Complex| {
        for (row, column, value) in [(a, a, siemens), (b, b, siemens)] {
            rows[row][column] = rows[row][column] + value;
        }
        rows[a][b] = rows[a][b] - siemens;
        rows[b][a] = rows[b][a] - siemens;
    };
    let mut press = |from: usize, to: usize, amperes: Complex| {
        right[from] = right[from] - amperes;
        right[to] = right[to] + amperes;
    };
    for (number, element) in network.elements.iter().enumerate() {
        if let (Some(siemens), Some((a, b))) = (impedance(network, number, work, hertz), ends(element)) {
            add(a, b, siemens);
        }
    }
    for source in &network.alternating {
        match *source {
            Alternating::Voltage { element, volts, hertz: own } if own == hertz => {
                if let Some((a, b)) = ends(&network.elements[element]) {
                    let siemens = impedance(network, element, work, hertz)
                        .unwrap_or_else(|| slope(&network.elements[element]).into());
                    press(b, a, siemens * volts.into());
                }
            }
            Alternating::Ripple { plus, minus, siemens, volts, hertz: own } => {
                add(plus, minus, siemens.into());
                if own == hertz {
                    press(minus, plus, (siemens * volts).into());
                }
            }
            _ => {}
        }
    }
    // The zero-volt node is no unknown.
    rows.truncate(size);
    rows.iter_mut().for_each(|row| row.truncate(size));
    right.truncate(size);
    complex::solve(&mut rows, &mut right)?;
    right.push(Complex::default());
    Ok(Swing { hertz, volts: right })
}

/// What stands in the place of an element's slope, in siemens.
fn impedance(network: &Network, number: usize, work: &Workspace, hertz: f64) -> Option<Complex> {
    network.alternating.iter().find_map(|alternating| match *alternating {
        Alternating::Inductance { element, henries } if element == number => {
            let ohms = 1.0 / slope(&network.elements[number]);
            Some(Complex::from(1.0) / Complex::new(ohms, TAU * hertz * henries))
        }
        Alternating::Slow { element, siemens } if element == number => {
            Some(siemens.unwrap_or_else(|| at_rest(network, number, work)).into())
        }
        _ => None,
    })
}

/// The current of an element at rest by its volts.
fn at_rest(network: &Network, number: usize, work: &Workspace) -> f64 {
    let element = &network.elements[number];
    let volts = ends(element).map_or(0.0, |(a, b)| work.volts()[a] - work.volts()[b]);
    if volts.abs() < 1e-9 {
        // With nothing across it the slope is the same.
        let Element::Curve { first, .. } = *element else { return slope(element) };
        return network.segments[first + usize::from(work.states[number])].siemens;
    }
    element.amperes(work.states[number], &network.segments, work.volts()) / volts
}

fn ends(element: &Element) -> Option<(usize, usize)> {
    match *element {
        Element::Conductance { a, b, .. } | Element::Curve { a, b, .. } => Some((a, b)),
        Element::Source { plus, minus, .. } => Some((plus, minus)),
        Element::Regulator { output, ground, .. } => Some((output, ground)),
        _ => None,
    }
}

fn slope(element: &Element) -> f64 {
    match *element {
        Element::Conductance { siemens, .. } | Element::Source { siemens, .. } => siemens,
        _ => 0.0,
    }
}

/// Whether an element would be in another state at the peaks of these swings than at rest. Contacts and fuses are too slow for
/// it, and so is what is said to be.
fn moves(network: &Network, number: usize, work: &Workspace, swings: &[Swing]) -> bool {
    let slow =
        |alternating: &Alternating| matches!(alternating, Alternating::Slow { element, .. } if *element == number);
    if network.alternating.iter().any(slow) {
        return false;
    }
    let element = &network.elements[number];
    let (ground, moved) = match *element {
        Element::Curve { a, b, .. } => (b, vec![a]),
        Element::Share { supply, ground, output, .. } => (ground, vec![supply, output]),
        Element::Regulator { input, output, ground, .. } => (ground, input.into_iter().chain([output]).collect()),
        _ => return false,
    };
    let (mut volts, mut groups) = (work.volts().to_vec(), work.groups.clone());
    let peaks: Vec<f64> =
        moved.iter().map(|node| SQRT_2 * swings.iter().map(|swing| swing.across(*node, ground)).sum::<f64>()).collect();
    // Every peak with every other: the ends may swing together or against each other.
    (0..1usize << moved.len()).any(|signs| {
        for (place, (node, peak)) in moved.iter().zip(&peaks).enumerate() {
            volts[*node] = work.volts()[*node] + if signs >> place & 1 == 0 { *peak } else { -*peak };
        }
        network.next(element, work.states[number], &mut groups, &volts, 1e-9) != work.states[number]
    })
}
