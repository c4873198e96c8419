//! Reads `[[part]]`.

use super::part::{Law, Opens, Part, PartKind};
use crate::circuit::decode::{Kind, Section, check_name, pairs, text_of};
use crate::circuit::error::{Flaw, Problem};
use crate::circuit::movement::{Condition, Movement, Place, Travel, ends};
use crate::circuit::nodes::{Node, Nodes};
use crate::circuit::sample::Spread;
use crate::model::words::nearest;

/// Every kind of part, as written in a file.
pub const KINDS: &[&str] = &[
    "wire",
    "joint",
    "ground_stud",
    "negative_clamp",
    "resistor",
    "coil",
    "terminator",
    "load",
    "switch",
    "fuse",
    "battery",
    "relay",
    "lamp",
    "diode",
    "led",
    "motor",
    "regulator",
    "alternator",
    "module_input",
    "module_output",
    "potentiometer",
    "active_sensor",
    "thermistor",
    "variable_resistor",
    "switch_ladder",
    "transceiver",
];

pub(in crate::circuit) fn decode(
    section: &Section,
    nodes: &mut dyn Nodes,
    movements: &[Movement],
) -> Result<Part, Flaw> {
    let id = section.name("id")?.to_owned();
    let place = || format!("part `{id}`");
    check_name(&id).map_err(|problem| Flaw::new(problem).at(section.span()))?;
    part(section, nodes, movements, &id).map_err(|flaw| flaw.at(section.span()).of(place))
}

fn part(section: &Section, nodes: &mut dyn Nodes, movements: &[Movement], id: &str) -> Result<Part, Flaw> {
    let asked = section.name("kind")?;
    let Some(word) = KINDS.iter().copied().find(|kind| *kind == asked) else {
        let nearest = nearest(asked, KINDS.iter().copied());
        return Err(Problem::UnknownName { what: "kind of part", name: asked.to_owned(), nearest }.into());
    };
    let reader = Reader { section, movements };
    let kind = match word {
        "wire" | "joint" | "ground_stud" | "negative_clamp" | "resistor" | "coil" | "terminator" | "load"
        | "switch" | "fuse" => reader.link(word, nodes)?,
        "battery" => PartKind::Battery {
            positive: reader.end(nodes, "positive")?,
            negative: reader.end(nodes, "negative")?,
            volts: section.spread_needed("volts", Kind::VOLTAGE, 0.01)?,
            resistance: section.spread_or("resistance", Kind::RESISTANCE, 0.01, 0.2)?,
        },
        "relay" => reader.relay(nodes)?,
        "lamp" => {
            let volts = section.needed("volts", Kind::POSITIVE_VOLTAGE)?;
            let amperes = section.spread_needed("amperes", Kind::CURRENT, 0.08)?;
            // LIEC ch 2 and OpenStax m42714: a headlamp of 4.80 Ω hot has 0.350 Ω cold, about a fourteenth.
            let cold = section.spread_or("cold", Kind::RESISTANCE, volts / amperes.nominal / 13.7, 0.1)?;
            if cold.high >= volts / amperes.high {
                return Err(section.not_a("cold", "a resistance below that of the hot filament"));
            }
            PartKind::Lamp { from: reader.end(nodes, "from")?, to: reader.end(nodes, "to")?, volts, amperes, cold }
        }
        "diode" | "led" => {
            let (forward, resistance) = if word == "led" { (1.9, 15.0) } else { (0.6, 0.05) };
            PartKind::Diode {
                from: reader.end(nodes, "from")?,
                to: reader.end(nodes, "to")?,
                forward: section.spread_or("forward", Kind::POSITIVE_VOLTAGE, forward, 0.05)?,
                resistance: section.quantity("resistance", Kind::RESISTANCE)?.unwrap_or(resistance),
            }
        }
        "motor" => {
            let winding = section.spread_needed("winding", Kind::RESISTANCE, 0.05)?;
            PartKind::Motor {
                from: reader.end(nodes, "from")?,
                to: reader.end(nodes, "to")?,
                load: section.spread_needed("load", Kind::CURRENT, 0.1)?,
                // A tenth of a fortieth of the stall slope: bearings and brushes; no source, small by choice.
                slope: 1.0 / (winding.nominal * 40.0),
                winding,
            }
        }
        "regulator" | "alternator" => {
            let regulator = word == "regulator";
            PartKind::Regulator {
                input: if regulator { Some(reader.end(nodes, "input")?) } else { None },
                output: reader.end(nodes, "output")?,
                ground: reader.end(nodes, "ground")?,
                volts: section.spread_needed("volts", Kind::POSITIVE_VOLTAGE, 0.01)?,
                resistance: section.spread_or("resistance", Kind::RESISTANCE, 0.1, 0.2)?,
                limit: section.spread_needed("limit", Kind::CURRENT, 0.1)?,
                dropout: if regulator {
                    section.quantity("dropout", Kind::POSITIVE_VOLTAGE)?.unwrap_or(0.5)
                } else {
                    0.0
                },
                works: Condition::decode(section, "works_when", movements)?,
            }
        }
        "module_input" => PartKind::ModuleInput {
            pin: reader.end(nodes, "pin")?,
            ground: reader.end(nodes, "ground")?,
            resistance: section.spread_or("resistance", Kind::RESISTANCE, 220e3, 0.05)?,
            pull: match (reader.end_if(nodes, "pull_to")?, section.spread("pull", Kind::RESISTANCE, 0.02)?) {
                (Some(node), Some(spread)) => Some((node, spread)),
                (None, None) => None,
                (Some(_), None) => return Err(section.missing("pull")),
                (None, Some(_)) => return Err(section.missing("pull_to")),
            },
        },
        "module_output" => PartKind::ModuleOutput {
            pin: reader.end(nodes, "pin")?,
            supply: reader.end(nodes, "supply")?,
            ground: reader.end(nodes, "ground")?,
            low_side: match section.name("side")? {
                "low" => true,
                "high" => false,
                _ => return Err(section.not_a("side", "`low` or `high`")),
            },
            resistance: section.spread_or("resistance", Kind::RESISTANCE, 0.1, 0.3)?,
            works: Condition::decode(section, "works_when", movements)?,
            duty: section.quantity("duty", Kind::SHARE)?.unwrap_or(1.0),
            frequency: section.quantity("frequency", Kind::FREQUENCY)?,
        },
        "potentiometer" => PartKind::Potentiometer {
            low: reader.end(nodes, "low")?,
            high: reader.end(nodes, "high")?,
            wiper: reader.end(nodes, "wiper")?,
            junction: nodes.inside(format!("{id}.track")),
            resistance: section.spread_needed("resistance", Kind::RESISTANCE, 0.1)?,
            contact: section.spread_or("wiper_contact", Kind::RESISTANCE, 100.0, 0.5)?,
            movement: reader.travelled("moves")?,
            ends: reader.shares(0.02, 0.98)?,
        },
        "active_sensor" => {
            let (lowest, highest) =
                (section.quantity("lowest", Kind::SHARE)?, section.quantity("highest", Kind::SHARE)?);
            let saturates = (lowest.unwrap_or(0.02), highest.unwrap_or(0.98));
            if saturates.0 >= saturates.1 {
                return Err(Problem::NotRising { key: "highest" }.into());
            }
            PartKind::ActiveSensor {
                supply: reader.end(nodes, "supply")?,
                ground: reader.end(nodes, "ground")?,
                output: reader.end(nodes, "output")?,
                load: section.spread_or("load", Kind::RESISTANCE, 600.0, 0.1)?,
                resistance: section.spread_or("resistance", Kind::RESISTANCE, 50.0, 0.2)?,
                movement: reader.travelled("moves")?,
                ends: reader.shares(0.1, 0.9)?,
                saturates,
                minimum_supply: section.quantity("minimum_supply", Kind::POSITIVE_VOLTAGE)?.unwrap_or(3.0),
            }
        }
        "thermistor" => PartKind::Variable {
            from: reader.end(nodes, "from")?,
            to: reader.end(nodes, "to")?,
            law: Law::Thermistor {
                at_25: section.spread_needed("at_25", Kind::RESISTANCE, 0.03)?,
                beta: section
                    .number("beta")?
                    .filter(|beta| (500.0..=10_000.0).contains(beta))
                    .ok_or_else(|| section.not_a("beta", "a number of kelvin between 500 and 10000"))?,
            },
            movement: reader.temperature("temperature")?,
        },
        "variable_resistor" => reader.curve(nodes)?,
        "switch_ladder" => reader.ladder(nodes)?,
        _ => PartKind::Transceiver {
            supply: reader.end(nodes, "supply")?,
            ground: reader.end(nodes, "ground")?,
            high: reader.end(nodes, "high")?,
            low: reader.end(nodes, "low")?,
            bias: section.spread_or("bias", Kind::RESISTANCE, 25e3, 0.2)?,
            driver: section.spread_or("driver", Kind::RESISTANCE, 45.0, 0.1)?,
            sends: Condition::decode(section, "sends_when", movements)?,
        },
    };
    let gauge = section.gauge("gauge")?;
    let colour = section.text("colour")?.map(str::to_owned);
    _ = section.text("note")?;
    section.finish()?;
    Ok(Part { id: id.to_owned(), word, kind, colour, gauge, span: section.span() })
}

struct Reader<'a> {
    section: &'a Section<'a>,
    movements: &'a [Movement],
}

/// Keys behind which a point stands.
const ENDS: &[&str] = &[
    "coil_from",
    "coil_to",
    "common",
    "from",
    "ground",
    "high",
    "input",
    "low",
    "negative",
    "normally_closed",
    "normally_open",
    "output",
    "pin",
    "positive",
    "pull_to",
    "supply",
    "to",
    "wiper",
];

impl Reader<'_> {
    /// What is missing, and what may have been written in its place.
    fn one_end(&self, nodes: &dyn Nodes, end: &'static str) -> Flaw {
        let others: Vec<String> = self
            .section
            .texts()
            .filter(|(key, text, _)| !matches!(*key, "id" | "kind") && !ENDS.contains(key) && nodes.find(text).is_ok())
            .map(|(key, ..)| key.to_owned())
            .collect();
        let first = self.section.texts().find(|(key, ..)| others.first().is_some_and(|other| other == key));
        let span = first.map(|(_, _, span)| span);
        let flaw = Flaw::new(Problem::OneEnd { end, others });
        span.into_iter().fold(flaw, Flaw::at)
    }

    fn end_if(&self, nodes: &dyn Nodes, key: &'static str) -> Result<Option<Node>, Flaw> {
        let Some(item) = self.section.item(key) else { return Ok(None) };
        nodes.find(text_of(key, item)?).map(Some).map_err(|problem| Flaw::new(problem).at(item.span()))
    }

    fn end(&self, nodes: &dyn Nodes, key: &'static str) -> Result<Node, Flaw> {
        self.end_if(nodes, key)?.ok_or_else(|| self.one_end(nodes, key))
    }

    fn link(&self, word: &'static str, nodes: &dyn Nodes) -> Result<PartKind, Flaw> {
        let section = self.section;
        let (from, to) = (self.end(nodes, "from")?, self.end(nodes, "to")?);
        let given = section.spread("resistance", Kind::RESISTANCE, if word == "wire" { 0.1 } else { 0.05 })?;
        let usual = |ohms: f64, fraction: f64| {
            given.unwrap_or_else(|| section.spread_of(ohms, ohms * (1.0 - fraction), ohms * (1.0 + fraction)))
        };
        let when = Condition::decode(section, "closed_when", self.movements)?;
        let (resistance, opens) = match word {
            "wire" => {
                let length = section.quantity("length", Kind::LENGTH)?;
                let celsius = section.quantity("at", Kind::TEMPERATURE)?.unwrap_or(20.0);
                let resistance = match (section.gauge("gauge")?, length, given) {
                    (_, None, Some(given)) => given,
                    (Some(gauge), Some(length), None) => usual(gauge.resistance(length, celsius).max(1e-6), 0.1),
                    (None, _, None) => return Err(section.missing("gauge")),
                    (_, None, None) => return Err(section.missing("length")),
                    (_, Some(_), Some(_)) => {
                        return Err(section.not_a("resistance", "needed where gauge and length are given"));
                    }
                };
                (resistance, Opens::Never)
            }
            "switch" => {
                let when = when.clone().ok_or_else(|| section.missing("closed_when"))?;
                (usual(0.01, 0.5), Opens::Unless(when))
            }
            "fuse" => {
                let rating = section.needed("rating", Kind::CURRENT)?;
                // From memory: blade fuses to ISO 8820 carry 110 % for good and open at 135 % within minutes.
                (usual(0.08 / rating.max(1.0), 0.3), Opens::Blown(rating * 1.35))
            }
            "joint" | "ground_stud" => (usual(0.002, 0.5), Opens::Never),
            "negative_clamp" => (usual(0.0005, 0.5), Opens::BatteryOff),
            _ => {
                let given = given.ok_or_else(|| section.missing("resistance"))?;
                (given, when.clone().map_or(Opens::Never, Opens::Unless))
            }
        };
        if when.is_some() && !matches!(opens, Opens::Unless(_)) {
            return Err(section.not_a("closed_when", "a key of this kind of part"));
        }
        Ok(PartKind::Link { from, to, resistance, opens })
    }

    fn relay(&self, nodes: &dyn Nodes) -> Result<PartKind, Flaw> {
        let section = self.section;
        let (normally_open, normally_closed) =
            (self.end_if(nodes, "normally_open")?, self.end_if(nodes, "normally_closed")?);
        if normally_open.is_none() && normally_closed.is_none() {
            return Err(self.one_end(nodes, "normally_open"));
        }
        let pulls_in = section.needed("pulls_in", Kind::POSITIVE_VOLTAGE)?;
        let drops_out = section.quantity("drops_out", Kind::POSITIVE_VOLTAGE)?.unwrap_or(pulls_in * 0.3);
        if drops_out >= pulls_in {
            return Err(section.not_a("drops_out", "a voltage below `pulls_in`"));
        }
        Ok(PartKind::Relay {
            coil: (self.end(nodes, "coil_from")?, self.end(nodes, "coil_to")?),
            resistance: section.spread_needed("coil", Kind::RESISTANCE, 0.1)?,
            common: self.end(nodes, "common")?,
            normally_open,
            normally_closed,
            contact: section.spread_or("contact", Kind::RESISTANCE, 0.01, 0.5)?,
            pulls_in,
            drops_out,
        })
    }

    fn movement(&self, key: &'static str) -> Result<usize, Flaw> {
        let name = self.section.name(key)?;
        self.movements.iter().position(|movement| movement.id == name).ok_or_else(|| {
            let known = self.movements.iter().map(|movement| movement.id.as_str());
            Problem::UnknownName { what: "movement", name: name.to_owned(), nearest: nearest(name, known) }.into()
        })
    }

    fn travelled(&self, key: &'static str) -> Result<usize, Flaw> {
        let index = self.movement(key)?;
        match ends(&self.movements[index]) {
            Some(_) => Ok(index),
            None => Err(self.section.not_a(key, "a movement with two ends, `from` and `to`")),
        }
    }

    fn temperature(&self, key: &'static str) -> Result<usize, Flaw> {
        let index = self.movement(key)?;
        match ends(&self.movements[index]) {
            Some((from, to, kind)) if kind.dimension == Kind::TEMPERATURE.dimension && from >= -60.0 && to <= 250.0 => {
                Ok(index)
            }
            _ => Err(self.section.not_a(key, "a movement between two temperatures, -60 to 250 °C")),
        }
    }

    fn shares(&self, low: f64, high: f64) -> Result<(Spread, Spread), Flaw> {
        let (at_start, at_end) =
            (self.section.spread("at_start", Kind::SHARE, 0.0)?, self.section.spread("at_end", Kind::SHARE, 0.0)?);
        let usual = |share: f64| self.section.spread_of(share, share - 0.01, share + 0.01);
        Ok((at_start.unwrap_or_else(|| usual(low)), at_end.unwrap_or_else(|| usual(high))))
    }

    fn curve(&self, nodes: &dyn Nodes) -> Result<PartKind, Flaw> {
        let section = self.section;
        let movement = self.travelled("moves")?;
        let Some((_, _, kind)) = ends(&self.movements[movement]) else { return Err(section.missing("moves")) };
        let points = pairs(section, "curve", kind, Kind::RESISTANCE)?;
        let factor = self.tolerance(0.05)?;
        Ok(PartKind::Variable {
            from: self.end(nodes, "from")?,
            to: self.end(nodes, "to")?,
            law: Law::Curve { points, factor },
            movement,
        })
    }

    fn ladder(&self, nodes: &dyn Nodes) -> Result<PartKind, Flaw> {
        let section = self.section;
        let movement = self.movement("moves")?;
        let Travel::Choices(choices) = &self.movements[movement].travel else {
            return Err(section.not_a("moves", "a movement with choices"));
        };
        let mut steps = vec![None; choices.len()];
        for (name, span, item) in section.named_entries("steps")? {
            let Ok(Place::Choice(number)) = self.movements[movement].place(name) else {
                let nearest = nearest(name, choices.iter().map(String::as_str));
                return Err(Flaw::new(Problem::UnknownName { what: "choice", name: name.to_owned(), nearest }).at(span));
            };
            let ohms = Kind::RESISTANCE.read(name, text_of(name, item)?);
            steps[number] = Some(ohms.map_err(|problem| Flaw::new(problem).at(item.span()))?);
        }
        let steps = steps.into_iter().collect::<Option<Vec<_>>>().ok_or_else(|| section.missing("steps"))?;
        Ok(PartKind::Variable {
            from: self.end(nodes, "from")?,
            to: self.end(nodes, "to")?,
            law: Law::Ladder { steps, factor: self.tolerance(0.02)? },
            movement,
        })
    }

    fn tolerance(&self, usual: f64) -> Result<Spread, Flaw> {
        let fraction = self.section.quantity("tolerance", Kind::SHARE)?.unwrap_or(usual);
        Ok(self.section.spread_of(1.0, 1.0 - fraction, 1.0 + fraction))
    }
}
