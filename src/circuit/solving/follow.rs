//! The solution followed while all sources rise from zero, contacts, fuses and outputs held as they are.
//!
//! What is left is made of straight pieces that meet without a step, so the voltages are straight lines over the sources' share
//! until one element comes to the end of its piece. From there the next piece's line goes on, towards the side on which that
//! element is inside its new piece: that may be down again. Each step changes one element by one piece.

use super::element::{BLOWN, Element, ON, OUTPUTS, Segment, TAKES};
use super::network::Network;
use super::path::{Form, Path};

/// Steps after which it is given up.
const MOST_STEPS: usize = 5000;
/// Holds what would float, in siemens. It only leads the search: the solution is then computed without it.
const HOLD: f64 = 1e-10;
/// Volts by which each corner is moved, more or less, so that no two are reached at once.
const APART: f64 = 1e-9;

/// Pieces of a regulator while it is followed: the supply's part times this, plus the output's.
const PIECES: u8 = 5;
const LOW: u8 = 0;
const ENOUGH: u8 = 1;
const BLOCKED: u8 = 0;
const REGULATING: u8 = 1;
const LIMITED: u8 = 2;
/// The output is below ground: the current goes by the supply alone.
const SUNK: u8 = 3;
const BLOCKED_SUNK: u8 = 4;

/// A fixed number between a half and one for each element and corner.
fn shift(number: usize, corner: usize) -> f64 {
    let mixed = (number as u64 * 2 + corner as u64 + 1).wrapping_mul(0x9e37_79b9_7f4a_7c15);
    APART * (0.5 + (mixed >> 11) as f64 / (1u64 << 54) as f64)
}

/// What a regulator's current goes by: what the supply allows, and the output's voltage.
fn regulator(number: usize, element: &Element, supply: u8) -> Option<(Form, Form, Form)> {
    let Element::Regulator { input, output, ground, volts, dropout, .. } = *element else { return None };
    let available = input.map(|input| Form::between(input, ground, shift(number, 0) - dropout));
    let allowed = match (available, supply) {
        (Some(available), LOW) => available,
        (Some(_), _) => Form::constant(volts, 0.0),
        (None, _) => Form::constant(0.0, volts),
    };
    Some((allowed, Form::between(output, ground, shift(number, 1)), available.unwrap_or_default()))
}

/// How far an output is held above where it is, times `sign`.
fn above(number: usize, element: &Element, sign: f64) -> [(f64, Form); 2] {
    let Element::Share { supply, ground, output, share, .. } = *element else { return Default::default() };
    let from = |rail: usize| Form::between(rail, output, shift(number, 0));
    [(sign * share, from(supply)), (sign * (1.0 - share), from(ground))]
}

impl Network {
    fn piece_at_rest(&self, element: &Element, state: u8) -> u8 {
        match element {
            Element::Regulator { input, .. } => (if input.is_some() { LOW } else { ENOUGH }) * PIECES + BLOCKED,
            Element::Share { .. } => {
                if element.is_on(state) {
                    ON
                } else {
                    0
                }
            }
            _ => element.initial(&self.segments),
        }
    }

    /// Calls `gate` with each condition of a piece, as a sum of forms that is not negative inside, and the piece beyond it.
    fn gates(&self, number: usize, element: &Element, piece: u8, mut gate: impl FnMut(&[(f64, Form)], u8)) {
        let one = |value: f64| Form::constant(value, 0.0);
        match *element {
            Element::Curve { a, b, first, count } => {
                let across = Form::between(a, b, shift(number, 0));
                let segment = self.segments[first + usize::from(piece)];
                if piece > 0 {
                    gate(&[(1.0, across), (-segment.low, one(1.0))], piece - 1);
                }
                if usize::from(piece) + 1 < count {
                    gate(&[(segment.high, one(1.0)), (-1.0, across)], piece + 1);
                }
            }
            Element::Share { drive, .. } => match (piece, drive.has_ways()) {
                (ON, true) => gate(&above(number, element, 1.0), TAKES),
                (TAKES, true) => gate(&above(number, element, -1.0), ON),
                _ => {}
            },
            Element::Regulator { input, volts, siemens, limit, .. } => {
                let (supply, held) = (piece / PIECES, piece % PIECES);
                let Some((allowed, output, available)) = regulator(number, element, supply) else { return };
                if input.is_some() {
                    match supply {
                        LOW => gate(&[(volts, one(1.0)), (-1.0, available)], ENOUGH * PIECES + held),
                        _ => gate(&[(1.0, available), (-volts, one(1.0))], LOW * PIECES + held),
                    }
                }
                let to = |held: u8| supply * PIECES + held;
                let most = limit / siemens;
                match held {
                    BLOCKED => {
                        gate(&[(1.0, output)], to(BLOCKED_SUNK));
                        gate(&[(1.0, output), (-1.0, allowed)], to(REGULATING));
                    }
                    BLOCKED_SUNK => {
                        gate(&[(-1.0, output)], to(BLOCKED));
                        gate(&[(-1.0, allowed)], to(SUNK));
                    }
                    REGULATING => {
                        gate(&[(1.0, output)], to(SUNK));
                        gate(&[(1.0, allowed), (-1.0, output)], to(BLOCKED));
                        gate(&[(most, one(1.0)), (-1.0, allowed), (1.0, output)], to(LIMITED));
                    }
                    SUNK => {
                        gate(&[(-1.0, output)], to(REGULATING));
                        gate(&[(1.0, allowed)], to(BLOCKED_SUNK));
                        gate(&[(most, one(1.0)), (-1.0, allowed)], to(LIMITED));
                    }
                    _ => {
                        gate(&[(1.0, allowed), (-1.0, output), (-most, one(1.0))], to(REGULATING));
                        gate(&[(1.0, allowed), (-most, one(1.0))], to(SUNK));
                    }
                }
            }
            _ => {}
        }
    }

    fn lines(&self, extra: &[Element], states: &[u8], path: &mut Path) -> bool {
        let size = self.size;
        path.clear(size);
        let one = Form::constant(1.0, 0.0);
        let rest = std::iter::repeat(&0);
        for (number, (element, state)) in self.elements.iter().chain(extra).zip(states.iter().chain(rest)).enumerate() {
            let state = *state;
            match *element {
                Element::Conductance { a, b, siemens } => {
                    path.flows(size, a, b, siemens, &[(1.0, Form::between(a, b, 0.0))]);
                }
                Element::Source { plus, minus, siemens, volts } => {
                    let held = (-volts, Form::constant(0.0, 1.0));
                    path.flows(size, plus, minus, siemens, &[(1.0, Form::between(plus, minus, 0.0)), held]);
                }
                Element::Share { output, siemens, .. } => {
                    for (from, part) in element.rails(path.pieces[number]).into_iter().flatten() {
                        path.flows(size, from, output, siemens * part, &above(number, element, 1.0));
                    }
                }
                Element::Contact { a, b, siemens, when_pulled, .. } if (state == 1) == when_pulled => {
                    path.flows(size, a, b, siemens, &[(1.0, Form::between(a, b, 0.0))]);
                }
                Element::Fuse { a, b, siemens, .. } if state != BLOWN => {
                    path.flows(size, a, b, siemens, &[(1.0, Form::between(a, b, 0.0))]);
                }
                Element::Curve { a, b, first, .. } => {
                    let Segment { siemens, amperes, .. } = self.segments[first + usize::from(path.pieces[number])];
                    path.flows(size, a, b, siemens, &[(1.0, Form::between(a, b, shift(number, 0)))]);
                    path.flows(size, a, b, amperes, &[(1.0, one)]);
                }
                Element::Regulator { input, output, ground, siemens, limit, .. } => {
                    let piece = path.pieces[number];
                    let Some((allowed, out, _)) = regulator(number, element, piece / PIECES) else { continue };
                    let from = input.unwrap_or(ground);
                    match piece % PIECES {
                        REGULATING => path.flows(size, from, output, siemens, &[(1.0, allowed), (-1.0, out)]),
                        SUNK => path.flows(size, from, output, siemens, &[(1.0, allowed)]),
                        LIMITED => path.flows(size, from, output, limit, &[(1.0, one)]),
                        _ => {}
                    }
                }
                Element::Contact { .. } | Element::Fuse { .. } => {}
            }
        }
        for node in 0..size {
            path.cells[node * (size + 1) + node] += HOLD;
        }
        path.solve(size)
    }

    /// Sets the states of curves and regulators to those at full sources; whether the path arrived there.
    pub(in crate::circuit) fn follow(&self, extra: &[Element], states: &mut [u8], path: &mut Path) -> bool {
        path.pieces.clear();
        path.pieces
            .extend(self.elements.iter().zip(&*states).map(|(element, state)| self.piece_at_rest(element, *state)));
        let (mut share, mut direction, mut entry) = (0.0_f64, 1.0_f64, None);
        for _ in 0..MOST_STEPS {
            if !self.lines(extra, states, path) {
                return false;
            }
            if let Some((number, from)) = entry {
                let element: &Element = &self.elements[number];
                self.gates(number, element, path.pieces[number], |forms, to| {
                    if to == from {
                        let rate: f64 = forms.iter().map(|(sign, form)| sign * (form.at(&path.rate) + form.rate)).sum();
                        if rate != 0.0 {
                            direction = rate.signum();
                        }
                    }
                });
            }
            let mut nearest = (f64::INFINITY, usize::MAX, 0);
            for (number, element) in self.elements.iter().enumerate() {
                self.gates(number, element, path.pieces[number], |forms, to| {
                    if entry == Some((number, to)) {
                        return;
                    }
                    let (mut fixed, mut rate) = (0.0, 0.0);
                    for (sign, form) in forms {
                        fixed += sign * (form.at(&path.fixed) + form.fixed);
                        rate += sign * (form.at(&path.rate) + form.rate);
                    }
                    let (value, falls) = (fixed + rate * share, -rate * direction);
                    if falls > 0.0 {
                        let away = value.max(0.0) / falls;
                        if away < nearest.0 {
                            nearest = (away, number, to);
                        }
                    }
                });
            }
            let (away, number, to) = nearest;
            if direction > 0.0 && share + away >= 1.0 {
                for (number, (element, state)) in self.elements.iter().zip(states).enumerate() {
                    let piece = path.pieces[number];
                    match element {
                        Element::Curve { .. } => *state = piece,
                        Element::Share { .. } if element.is_on(*state) => *state = piece,
                        Element::Regulator { input, .. } => {
                            let supply = match (input, piece / PIECES) {
                                (Some(_), LOW) => {
                                    let Some((_, _, available)) = regulator(number, element, LOW) else { continue };
                                    let volts = available.at(&path.fixed) + available.fixed + available.at(&path.rate);
                                    u8::from(volts >= 0.0)
                                }
                                _ => 2,
                            };
                            *state = supply * OUTPUTS + [0, 1, 2, 3, 0][usize::from(piece % PIECES)];
                        }
                        _ => {}
                    }
                }
                return true;
            }
            if number == usize::MAX || direction < 0.0 && share - away < 0.0 {
                return false;
            }
            share += direction * away;
            entry = Some((number, path.pieces[number]));
            path.pieces[number] = to;
        }
        false
    }
}
