//! A circuit as a SPICE netlist: what each element of its network is there.

use super::error::SolveError;
use super::fault::FaultId;
use super::memory::Memory;
use super::netlist::Circuit;
use super::sample::Sample;
use super::severity::Placed;
use super::solution::{Phase, Solution};
use super::solving::clock::{Clock, Moment};
use super::solving::element::{BLOWN, COLLAPSED, Drive, Element, Segment, stays_on};
use super::solving::network::{Network, Owner, Turn, Workspace};
use super::solving::prepared::{Prepared, Situation, prepare};
use crate::model::clean::Clean;
use crate::model::vehicle::VehicleState;
use std::collections::BTreeSet;
use std::fmt::{self, Write};

/// A circuit in a state with faults as a SPICE netlist, nominal values, for any program that reads one.
///
/// Nodes are numbered as `n1`, `n2` … with a comment that names each; a data bus comes as two networks, `r1` … while
/// recessive and `d1` … while dominant, and `n1` … their average. What floats is tied to zero volts by 1 Ω.
pub fn netlist(circuit: &Circuit, state: &VehicleState, faults: &[FaultId]) -> Result<String, SolveError> {
    netlist_with(circuit, state, &circuit.placed(faults)?)
}

/// The same with faults as bad as they were placed.
pub fn netlist_with(circuit: &Circuit, state: &VehicleState, faults: &[Placed]) -> Result<String, SolveError> {
    let situation = Situation {
        state,
        faults,
        sample: Sample::NOMINAL,
        chosen: None,
        blown: &BTreeSet::new(),
        clock: &Clock::default(),
        moment: Moment::Now,
    };
    let prepared = prepare(circuit, &situation)?;
    let solution = Solution::new(circuit, &prepared, &Memory::default(), &mut Workspace::default())?;
    let mut text = String::new();
    // Writing into a string can't fail.
    _ = write(&mut text, circuit, &prepared, &solution);
    Ok(text)
}

fn write(text: &mut String, circuit: &Circuit, prepared: &Prepared, solution: &Solution) -> fmt::Result {
    // A line end in a text would make an element of what follows.
    writeln!(text, "* {}", Clean::line(&circuit.title))?;
    for (number, name) in circuit.node_names().enumerate() {
        writeln!(text, "* n{} = {}", number + 1, Clean::name(name))?;
    }
    let phases = prepared.phases.iter().zip(&solution.phases);
    match &prepared.phases[..] {
        [_] => {
            for ((_, network), phase) in phases {
                Deck { circuit, network, letter: 'n', suffix: "" }.write(text, phase)?;
            }
        }
        _ => {
            for (((_, network), phase), letter) in phases.zip(['r', 'd']) {
                let suffix = if letter == 'r' { "_recessive" } else { "_dominant" };
                Deck { circuit, network, letter, suffix }.write(text, phase)?;
            }
            for node in 1..circuit.nodes.len() {
                let (recessive, dominant) = (prepared.phases[0].0, prepared.phases[1].0);
                writeln!(text, "Baverage{node} n{node} 0 V={recessive:e}*V(r{node})+{dominant:e}*V(d{node})")?;
            }
        }
    }
    // gmin below the default, so that a megohm is a megohm.
    // A high pivot threshold: with the default one ngspice 39 was seen to lose three digits beside a diode that is off.
    writeln!(text, ".options gmin=1e-18 pivrel=0.9 reltol=1e-10 abstol=1e-15 vntol=1e-12 itl1=2000")?;
    writeln!(text, ".end")
}

struct Deck<'a> {
    circuit: &'a Circuit,
    network: &'a Network,
    letter: char,
    suffix: &'a str,
}

impl Deck<'_> {
    fn node(&self, unknown: usize) -> String {
        if unknown == self.network.size { "0".to_owned() } else { format!("{}{}", self.letter, unknown + 1) }
    }

    fn write(&self, text: &mut String, Phase { ties, turns, .. }: &Phase) -> fmt::Result {
        let [Turn { states, volts }, rest @ ..] = turns.as_slice() else { return Ok(()) };
        if !rest.is_empty() {
            writeln!(
                text,
                "* finds no rest: {} sets of contacts return, and this begins from one of them",
                turns.len()
            )?;
        }
        for (number, (element, owner)) in self.network.elements.iter().zip(&self.network.owners).enumerate() {
            let owner = match owner {
                Owner::Part(part) => self.circuit.parts[*part].id.as_str(),
                Owner::Added => "added",
            };
            writeln!(text, "* {}", Clean::name(owner))?;
            self.element(text, &format!("{number}{}", self.suffix), element, states[number])?;
        }
        for tie in ties {
            writeln!(text, "Rtie{tie}{} {} 0 1", self.suffix, self.node(*tie))?;
        }
        if self.network.elements.iter().any(Element::switches) {
            // Where a solver with steps and kinks begins; it still has to find that the equations hold there.
            for (unknown, volts) in volts.iter().enumerate().take(self.network.size) {
                writeln!(text, ".nodeset V({})={volts:e}", self.node(unknown))?;
            }
        }
        Ok(())
    }

    fn element(&self, text: &mut String, number: &str, element: &Element, state: u8) -> fmt::Result {
        let node = |unknown: usize| self.node(unknown);
        match *element {
            Element::Conductance { a, b, siemens } => {
                writeln!(text, "R{number} {} {} {:e}", node(a), node(b), 1.0 / siemens)
            }
            Element::Source { plus, minus, siemens, volts } => {
                writeln!(text, "V{number} inner{number} {} {volts:e}", node(minus))?;
                writeln!(text, "R{number} inner{number} {} {:e}", node(plus), 1.0 / siemens)
            }
            Element::Share { .. } if state == COLLAPSED => writeln!(text, "* off: it takes its own supply away"),
            Element::Share { supply, ground, output, share, siemens, minimum, drive } => {
                let (vs, vg, vo) = (self.volts(supply), self.volts(ground), self.volts(output));
                // Off below its least supply, on above, staying as it is between the two thresholds.
                let minimum = if element.is_on(state) { stays_on(minimum) } else { minimum };
                let (above, on) =
                    (format!("({share:e}*{vs}+{:e}*{vg}-{vo})", 1.0 - share), format!("u({vs}-{vg}-{minimum:e})"));
                let (gives, takes) = (format!("max(0,{above})"), format!("min(0,{above})"));
                let [from_supply, from_ground] = match drive {
                    Drive::Both => [share, 1.0 - share].map(|part| format!("{part:e}*{above}")),
                    Drive::Up => [share, 1.0 - share].map(|part| format!("{part:e}*{gives}")),
                    Drive::Down => [share, 1.0 - share].map(|part| format!("{part:e}*{takes}")),
                    Drive::Amplifier => [gives, takes],
                };
                writeln!(text, "Bs{number} {} {} I={siemens:e}*{from_supply}*{on}", node(supply), node(output))?;
                writeln!(text, "Bg{number} {} {} I={siemens:e}*{from_ground}*{on}", node(ground), node(output))
            }
            Element::Curve { a, b, first, count } => {
                let across = format!("{}-{}", self.volts(a), self.volts(b));
                let amperes = kinks(&self.network.segments[first..first + count], &across);
                writeln!(text, "B{number} {} {} I={amperes}", node(a), node(b))
            }
            Element::Regulator { input, output, ground, volts, siemens, limit, dropout } => {
                let (vo, vg) = (self.volts(output), self.volts(ground));
                let (held, powered) = match input {
                    Some(input) => {
                        let available = format!("{}-{vg}-{dropout:e}", self.volts(input));
                        (format!("max(0,min({volts:e},{available}))"), String::new())
                    }
                    None => (format!("{volts:e}"), String::new()),
                };
                let from = node(input.unwrap_or(ground));
                let amperes = format!("max(0,min({limit:e},{siemens:e}*({held}-max(0,{vo}-{vg})))){powered}");
                writeln!(text, "B{number} {from} {} I={amperes}", node(output))?;
                // Gives the first rounds of a solver that starts in the current limit, where nothing else holds the output.
                writeln!(text, "Rhold{number} {} {} 1e12", node(output), node(ground))
            }
            Element::Contact { coil, pulls_in, drops_out, a, b, siemens, when_pulled } => {
                // Its pull has no sign, so the switch sees its square.
                let pulls = coil.windings.iter().filter(|(.., factor)| *factor != 0.0);
                let pull: Vec<String> = pulls
                    .map(|(from, to, factor)| format!("{factor:e}*({}-{})", self.volts(*from), self.volts(*to)))
                    .collect();
                let pull = if pull.is_empty() { "0".to_owned() } else { format!("({})", pull.join("+")) };
                let (high, low) = (pulls_in * pulls_in, drops_out * drops_out);
                let (middle, half) = ((high + low) / 2.0, (high - low) / 2.0);
                let sign = if when_pulled { 1.0 } else { -1.0 };
                let initial = if (state == 1) == when_pulled { "ON" } else { "OFF" };
                writeln!(text, "Bcoil{number} coil{number} 0 V={sign}*({pull}*{pull}-{middle:e})")?;
                writeln!(text, "S{number} {} {} coil{number} 0 relay{number} {initial}", node(a), node(b))?;
                writeln!(text, ".model relay{number} SW(vt=0 vh={half:e} ron={:e} roff=1e15)", 1.0 / siemens)
            }
            Element::Fuse { a, b, siemens, .. } if state != BLOWN => {
                writeln!(text, "R{number} {} {} {:e}", node(a), node(b), 1.0 / siemens)
            }
            Element::Fuse { .. } => writeln!(text, "* blown"),
        }
    }

    fn volts(&self, unknown: usize) -> String {
        if unknown == self.network.size { "0".to_owned() } else { format!("V({})", self.node(unknown)) }
    }
}

/// A curve as its first straight piece and a change of slope at each corner.
fn kinks(segments: &[Segment], across: &str) -> String {
    let mut text = String::new();
    if let Some(first) = segments.first() {
        _ = write!(text, "{:e}+({:e})*({across})", first.amperes, first.siemens);
    }
    for pair in segments.windows(2) {
        _ = write!(text, "+({:e})*uramp({across}-({:e}))", pair[1].siemens - pair[0].siemens, pair[0].high);
    }
    text
}
