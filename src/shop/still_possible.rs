//! Asks the evidence engine about a record, and gives its answer as data for screens and pages.

use crate::circuit::error::SolveError;
use crate::circuit::meter::bench_meter;
use crate::circuit::netlist::Circuit;
use crate::evidence::candidate::Candidate;
use crate::evidence::possible::{Possible, Standing, possible};
use crate::evidence::proposal::{Proposal, proposal};
use crate::evidence::rival::{Rival, rivals};
use crate::evidence::table::Table;
use crate::evidence::taken::{LeftOut, Taken, Text, taken};
use crate::model::meter::{Meter, assumed};
use crate::model::prompt::PromptId;
use crate::model::quantity::Quantity;
use crate::model::record::Record;
use crate::model::source::SourceKind;
use crate::model::still_possible::{ExcludedFault, LeftAt, NextReading, ReadingExcludes, StillPossible};
use crate::model::unit::Unit;
use crate::model::vehicle::VehicleState;
use crate::records::store::Store;
use crate::report::action::plain_name;
use crate::report::prompt_card::function_words;
use crate::report::vehicle;
use crate::run::answerer::MeterInUse;
use crate::script::diagnose::Source;
use crate::shop::circuits;
use crate::shop::error::ShopError;
use crate::shop::examine::meter_on;
use std::sync::Arc;

/// A circuit with its single faults, and their hulls as far as they are worked out.
pub struct Evidence {
    table: Table,
    meter: Option<Meter>,
    widened: Option<f64>,
}

/// Makes the engine ready when it is first asked, for a meter and for a vehicle or (`true`) its simulation; `None` where the
/// procedure names no circuit.
pub type MakesEvidence = Box<dyn Fn(Option<Meter>, bool) -> Option<Result<Evidence, ShopError>> + Send>;

/// A meter on whose figures something can be built; without one a common meter is assumed.
pub fn settled(meter: &MeterInUse) -> Option<Meter> {
    meter.meter().filter(|_| meter.why_unsettled().is_none()).cloned()
}

/// An example's tolerances are taken so many times as wide where a vehicle was measured: nobody knows by how much it differs
/// (common practice, no source).
const WIDER: f64 = 2.0;

/// The answer about a record, and the state from which a proposal goes on.
pub struct Found {
    /// The answer.
    pub still: StillPossible,
    possible: Possible,
    stands: usize,
    state: VehicleState,
}

impl Evidence {
    /// Of a circuit, for readings of a vehicle or of the circuit `simulated`. Without a meter a common one is assumed.
    pub fn of(circuit: Circuit, meter: Option<Meter>, simulated: bool) -> Self {
        let widened = (circuit.is_example() && !simulated).then_some(WIDER);
        let circuit = Arc::new(circuit);
        let read_with = meter.clone().unwrap_or_else(bench_meter);
        let rivals = rivals(&circuit, &read_with);
        let table = Table::widened(circuit, read_with, rivals, widened.unwrap_or(1.0));
        Self { table, meter, widened }
    }

    /// Holds a record's readings against every single fault.
    ///
    /// # Errors
    /// The circuit has no faults, or can't be solved.
    pub fn after(&mut self, record: &Record) -> Result<Found, ShopError> {
        if self.table.rivals().len() < 2 {
            return Err(ShopError::refused("this circuit has no faults to hold the readings against"));
        }
        let taken = taken(&mut self.table, record, self.meter.as_ref()).map_err(unsolved)?;
        let possible = possible(&mut self.table, &taken.readings).map_err(unsolved)?;
        let still = self.in_words(&taken, &possible);
        Ok(Found { still, possible, stands: taken.stands, state: record.vehicle.clone() })
    }

    /// The reading that would tell most for its minutes; `None` where no reading tells apart what is left.
    ///
    /// # Errors
    /// The circuit can't be solved.
    pub fn next(&mut self, found: &Found) -> Result<Option<NextReading>, ShopError> {
        let proposed = proposal(&mut self.table, &found.possible, found.stands).map_err(unsolved)?;
        Ok(proposed.map(|proposed| self.proposed(&proposed, &found.state)))
    }

    fn in_words(&self, taken: &Taken, possible: &Possible) -> StillPossible {
        let rivals = self.table.rivals();
        let faults = || rivals.iter().zip(&possible.rivals).filter(|(rival, _)| rival.fault.is_some());
        let number = |index: usize| taken.readings.get(index).map_or(0, |reading| reading.number);
        let readings = taken.texts.iter().enumerate().map(|(index, Text { id, about, shown, unit })| {
            let excluded = rivals.iter().zip(&possible.rivals).filter_map(|(rival, standing)| match standing {
                Standing::Excluded { by, beyond } if by.last() == Some(&number(index)) => Some(ExcludedFault {
                    id: rival.id().to_owned(),
                    what: name_of(rival),
                    beyond: beyond_in_words(*unit, *beyond),
                    with: by[..by.len() - 1].to_vec(),
                }),
                _ => None,
            });
            ReadingExcludes {
                number: number(index),
                id: id.clone(),
                about: about.clone(),
                value: shown.clone(),
                excluded: excluded.collect(),
            }
        });
        StillPossible {
            considered: faults().count(),
            readings: readings.collect(),
            left: self.by_place(possible),
            healthy: possible.has(0),
            contradiction: possible.contradiction.clone(),
            not_used: taken.left_out.iter().map(|(id, why)| (id.clone(), reason(why))).collect::<Vec<(PromptId, _)>>(),
            widened: self.widened,
            assumed_meter: self.meter.is_none().then(|| assumed::IN_WORDS.to_owned()),
        }
    }

    /// The faults that are left, by place, in the order of the circuit's faults.
    fn by_place(&self, possible: &Possible) -> Vec<LeftAt> {
        let mut left: Vec<LeftAt> = Vec::new();
        for (index, rival) in self.table.rivals().iter().enumerate() {
            if rival.fault.is_none() || !possible.has(index) {
                continue;
            }
            let place = self.place(rival);
            let what = format!("{}{}", name_of(rival), self.severity(index, possible));
            match left.iter_mut().find(|at| at.place == place) {
                Some(at) => at.faults.push(what),
                None => left.push(LeftAt { place, faults: vec![what] }),
            }
        }
        left
    }

    /// The severities that are left, where they are not all of its range: ` (30 Ω to 200 Ω)`.
    fn severity(&self, rival: usize, possible: &Possible) -> String {
        let range = self.table.rivals()[rival].fault.as_ref().and_then(|fault| fault.severity);
        let (Some(range), Some(Standing::Possible { slices })) = (range, possible.rivals.get(rival)) else {
            return String::new();
        };
        let left = slices.iter().map(|slice| self.table.slices()[*slice]);
        let (low, high) = left.fold((1.0, 0.0), |(low, high), slice| {
            (slice.from.min(slice.to).min(low), slice.from.max(slice.to).max(high))
        });
        if low <= 0.0 && high >= 1.0 {
            return String::new();
        }
        let show = |share: f64| range.quantity(range.at(share)).show(2);
        format!(" ({} to {})", show(low), show(high))
    }

    fn place(&self, rival: &Rival) -> String {
        let mut places: Vec<String> = rival.places(self.table.circuit()).map(plain_name).collect();
        places.dedup();
        if places.is_empty() { "elsewhere".to_owned() } else { places.join(" or ") }
    }

    fn proposed(&self, proposed: &Proposal, stands: &VehicleState) -> NextReading {
        let name = |index: &usize| name_of(&self.table.rivals()[*index]);
        NextReading {
            what: self.candidate(&proposed.candidate),
            first: vehicle::left(stands, &proposed.state),
            minutes: proposed.next.minutes,
            parts: proposed.parts.iter().map(|part| part.iter().map(name).collect()).collect(),
        }
    }

    fn candidate(&self, candidate: &Candidate) -> String {
        match candidate {
            Candidate::Across { function, red, black } => {
                format!("{}, red on {}, black on {}", function_words(*function), plain_name(red), plain_name(black))
            }
            Candidate::InLine { at } => format!("amperes, the meter in line at {}", plain_name(at)),
            Candidate::Clamp { at } => format!("amperes, the clamp round {}", plain_name(at)),
            Candidate::Module { signal } => format!("what the module shows of {}", plain_name(signal)),
        }
    }
}

fn name_of(rival: &Rival) -> String {
    if rival.fault.is_some() { rival.what().replace('`', "") } else { "a vehicle without a fault".to_owned() }
}

fn beyond_in_words(unit: Unit, beyond: f64) -> String {
    if beyond.is_finite() {
        format!("beyond by {}", Quantity::new(beyond, unit.dimension().difference()).show(2))
    } else {
        "it shows no number there".to_owned()
    }
}

fn reason(why: &LeftOut) -> String {
    match why {
        LeftOut::StateUnknown => "nobody confirmed how the key, the engine or the battery's cable stood".to_owned(),
        LeftOut::NotOfTheCircuit => "it is not a reading of this circuit".to_owned(),
        LeftOut::Unreadable => "its text can't be read as a value".to_owned(),
        LeftOut::UnknownToTheCircuit(error) => format!("the circuit does not know it: {error}"),
    }
}

fn unsolved(error: SolveError) -> ShopError {
    ShopError::refused(format!("what is still possible can't be worked out on this circuit: {error}"))
}

/// The faults that are still possible after a record, by the circuit and the meter that were kept with it.
///
/// # Errors
/// No such record, it names no circuit, or its circuit has no faults or can't be solved.
pub fn of_record(store: &Store, name: &str) -> Result<(Record, Evidence, Found), ShopError> {
    let found = store.find(name)?;
    let back = store.read(name)?;
    let record = Record::of(&back.entries).map_err(|error| ShopError::refused(format!("{name}: {error}")))?;
    let kept = |kind: SourceKind| record.started.sources.iter().find(|source| source.kind == kind);
    let Some(source) = kept(SourceKind::Circuit) else {
        return Err(ShopError::refused_with(
            format!("the procedure of {name} names no circuit, so that nothing can be worked out"),
            "name one in the procedure's header, as `circuit = \"NAME\"`",
        ));
    };
    let text = found.store.kept(source)?;
    let circuit = circuits::parse(&Source { file: source.name.clone(), text })?;
    let day = record.began.as_str().get(..10).and_then(|day| day.parse().ok());
    let meter = settled(&meter_on(&found.store, &record.started, day));
    let mut evidence = Evidence::of(circuit, meter, record.started.circuit().is_some());
    let found = evidence.after(&record)?;
    Ok((record, evidence, found))
}
