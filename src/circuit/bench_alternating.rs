//! What a meter reads of alternating voltages on the bench: AC volts, as true RMS without what is direct, and their frequency.

use super::bench::Bench;
use super::error::SolveError;
use super::meter::{self, Reading, Shown, TRIGGERS};
use super::nodes::Node;
use super::solving::element::Element;
use super::solving::network::{Network, Owner};
use super::solving::prepared::in_words;
use super::solving::swings::{AlternatingError, swings};
use crate::model::meter::{Function, Range};
use std::f64::consts::SQRT_2;

/// The least share of all that swings that a range of the meter has to be made for: a hundredth of the volts.
const COUNTS: f64 = 1e-4;

/// The most outputs that may switch at the same time, each on and off with each of the others.
const MOST_SWITCHING: usize = 8;

/// What swings between two leads.
#[derive(Debug, Default)]
struct Swinging {
    /// Mean square in all, in volts squared.
    square: f64,
    /// Mean square at each frequency in hertz; `None` where the circuit does not say how often it switches.
    parts: Vec<(Option<f64>, f64)>,
}

impl Swinging {
    fn add(&mut self, hertz: Option<f64>, square: f64) {
        match self.parts.iter_mut().find(|(known, _)| *known == hertz) {
            Some((_, sum)) => *sum += square,
            None => self.parts.push((hertz, square)),
        }
    }

    /// Frequencies that count, and what is outside of a range's.
    fn outside(&self, range: &Range) -> Option<Option<f64>> {
        let (lowest, highest) = (range.lowest_hertz, range.highest_hertz);
        let counts = |square: f64| square > COUNTS * self.square && square > 0.0;
        self.parts.iter().filter(|(_, square)| counts(*square)).map(|(hertz, _)| *hertz).find(|hertz| match hertz {
            None => lowest.is_some() || highest.is_some(),
            Some(hertz) => {
                lowest.is_some_and(|lowest| *hertz < lowest.si())
                    || highest.is_some_and(|highest| *hertz > highest.si())
            }
        })
    }
}

impl Bench {
    /// AC volts with the red lead on one point or role and the black one on another: true RMS without what is direct, which is
    /// `√(Σ share·v² − (Σ share·v)²)` of what switches. Voltages of one frequency add as they swing, others as squares.
    pub fn ac_volts(&mut self, red: &str, black: &str) -> Result<Reading, SolveError> {
        let swinging = self.swinging(red, black)?;
        let exact = swinging.square.max(0.0).sqrt();
        let ranges = meter::ranges(&self.meter, Function::AcVolts);
        if ranges.is_empty() {
            return Err(self.no_range(Function::AcVolts));
        }
        let mut outside = None;
        let mut fits = false;
        for (number, range) in ranges {
            if let Some(hertz) = swinging.outside(range) {
                outside = Some((hertz, range));
                continue;
            }
            fits = true;
            if let shown @ Shown::Value(_) = meter::shown(range, number, exact, self.sample) {
                return Ok(Reading { shown, exact, range: Some(range.clone()), live: false });
            }
        }
        match outside {
            Some((hertz, range)) if !fits => Err(SolveError::OutsideHertz {
                meter: self.meter.id.clone(),
                hertz,
                lowest: range.lowest_hertz.map_or(0.0, |lowest| lowest.si()),
                highest: range.highest_hertz.map_or(f64::INFINITY, |highest| highest.si()),
            }),
            _ => Ok(Reading { shown: Shown::OverRange, exact, range: None, live: false }),
        }
    }

    /// The frequency of the strongest alternating voltage between two leads that makes a meter count.
    pub(super) fn alternating_hertz(&mut self, red: &str, black: &str) -> Result<Option<f64>, SolveError> {
        if self.prepared.phases.iter().all(|(_, network)| network.alternating.is_empty()) {
            return Ok(None);
        }
        let mut alternating = Swinging::default();
        let (a, b, extra) = self.voltmeter(red, black)?;
        for phase in 0..self.prepared.phases.len() {
            let (share, network) = self.prepared.phases[phase].clone();
            self.swings_of((phase, &network), &extra, (a, b), share, &mut alternating)?;
        }
        let strongest = alternating.parts.iter().max_by(|one, other| one.1.total_cmp(&other.1));
        Ok(strongest.filter(|(_, square)| 2.0 * SQRT_2 * square.sqrt() > TRIGGERS).and_then(|(hertz, _)| *hertz))
    }

    /// Both leads' unknowns, and the meter's input resistance between them.
    fn voltmeter(&self, red: &str, black: &str) -> Result<(usize, usize, Vec<Element>), SolveError> {
        let (from, to) = self.leads(red, black)?;
        let ohms = self.meter.input_resistance.si().max(1.0);
        let extra = if from == to { vec![] } else { vec![self.between(from, to, 0.0, ohms)] };
        Ok((self.unknown(from), self.unknown(to), extra))
    }

    /// The true AC volts between two nodes, without a meter.
    pub(super) fn true_ac_volts(&mut self, from: Node, to: Node) -> Result<f64, SolveError> {
        let between = (self.unknown(from), self.unknown(to));
        Ok(self.swinging_between(between, &[])?.square.max(0.0).sqrt())
    }

    fn swinging(&mut self, red: &str, black: &str) -> Result<Swinging, SolveError> {
        let (a, b, extra) = self.voltmeter(red, black)?;
        self.swinging_between((a, b), &extra)
    }

    fn swinging_between(&mut self, (a, b): (usize, usize), extra: &[Element]) -> Result<Swinging, SolveError> {
        let mut swinging = Swinging::default();
        let (mut mean, mut mean_square) = (0.0, 0.0);
        let mut means_of_phases = Vec::new();
        for phase in 0..self.prepared.phases.len() {
            let (share, network) = self.prepared.phases[phase].clone();
            let outputs = self.switching_outputs(&network);
            if outputs.len() > MOST_SWITCHING {
                return Err(SolveError::TooManySwitch { count: outputs.len(), most: MOST_SWITCHING });
            }
            // Of each output the volts while it is on and while it is off, whatever the others do.
            let mut ends = vec![[0.0; 2]; outputs.len()];
            let mut mean_of_phase = 0.0;
            for on in 0..1usize << outputs.len() {
                let mut switched = network.clone();
                let mut share_of_set = 1.0;
                for (place, (element, at_supply, _)) in outputs.iter().enumerate() {
                    let is_on = on >> place & 1 == 1;
                    share_of_set *= if is_on { *at_supply } else { 1.0 - at_supply };
                    if let Element::Share { share, .. } = &mut switched.elements[*element] {
                        *share = f64::from(u8::from(is_on));
                    }
                }
                let volts = self.swings_of((phase, &switched), extra, (a, b), share * share_of_set, &mut swinging)?;
                mean_of_phase += share_of_set * volts;
                mean_square += share * share_of_set * volts * volts;
                for (place, (_, at_supply, _)) in outputs.iter().enumerate() {
                    let is_on = on >> place & 1;
                    let own = if is_on == 1 { *at_supply } else { 1.0 - at_supply };
                    ends[place][is_on] += share_of_set / own * volts;
                }
            }
            for ((_, at_supply, hertz), [off, on]) in outputs.iter().zip(ends) {
                swinging.add(*hertz, share * at_supply * (1.0 - at_supply) * (on - off) * (on - off));
            }
            mean += share * mean_of_phase;
            means_of_phases.push((share, mean_of_phase));
        }
        // How often a data bus switches, the circuit does not say.
        let between_phases = means_of_phases.iter().map(|(share, volts)| share * (volts - mean) * (volts - mean)).sum();
        if between_phases > 0.0 {
            swinging.add(None, between_phases);
        }
        let of_sources = swinging.square;
        swinging.square = of_sources + (mean_square - mean * mean).max(0.0);
        Ok(swinging)
    }

    /// Outputs that switch in a network: element, share of the time at the supply, how often.
    fn switching_outputs(&self, network: &Network) -> Vec<(usize, f64, Option<f64>)> {
        let owned = network.elements.iter().zip(&network.owners).enumerate();
        let switching = owned.filter_map(|(number, (element, owner))| match (element, owner) {
            (Element::Share { share, .. }, Owner::Part(part)) if *share > 0.0 && *share < 1.0 => {
                Some((number, *share, self.circuit.parts[*part].kind.switching()?.frequency))
            }
            _ => None,
        });
        switching.collect()
    }

    /// Solves a network, adds what its sources make swing between two unknowns, and returns the direct volts there.
    fn swings_of(
        &mut self,
        (phase, network): (usize, &Network),
        extra: &[Element],
        (a, b): (usize, usize),
        share: f64,
        swinging: &mut Swinging,
    ) -> Result<f64, SolveError> {
        let solved = network.solve(extra, self.memory.contacts(phase), &mut self.work);
        solved.map_err(|error| in_words(&self.circuit, error, &network.owners).in_state(&self.state))?;
        let owner = |element: usize| match network.owners[element] {
            Owner::Part(part) => self.circuit.parts[part].id.clone(),
            Owner::Added => "what was connected".to_owned(),
        };
        if let Some(restless) = network.restless(&self.work).first() {
            return Err(SolveError::Restless { part: owner(*restless) });
        }
        if !network.alternating.is_empty() {
            let swings = swings(network, extra, &self.work).map_err(|error| match error {
                AlternatingError::Floats(unknown) => {
                    SolveError::Floats { node: self.circuit.nodes[unknown + 1].clone() }
                }
                AlternatingError::Moves(element) => SolveError::Swings { part: owner(element) },
            })?;
            for swing in swings {
                let square = share * swing.across(a, b).powi(2);
                swinging.square += square;
                swinging.add(Some(swing.hertz), square);
            }
        }
        Ok(self.work.volts()[a] - self.work.volts()[b])
    }
}
