//! How a record begins, and how each further sitting of it begins.

use super::answered_by::AnsweredBy;
use super::format::{BEHAVIOR, FIRST_FORMAT, FORMAT, PROGRAM};
use super::id::RecordId;
use super::job::{Job, Nominal};
use super::link::Link;
use super::quantity::Quantity;
use super::source::SourceRef;
use super::table_row::TableRow;
use super::vehicle::VehicleState;
use serde::{Deserialize, Deserializer, Serialize, de};
use std::fmt;

/// The subject of a record.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(tag = "subject", rename_all = "snake_case")]
pub enum Subject {
    /// A procedure was run.
    Procedure(ProcedureRun),
    /// An exercise on a vehicle that does not exist.
    Exercise {
        /// Its name.
        exercise: String,
        /// Its title.
        title: String,
        /// The procedure along which it is worked, where it is not free.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        along: Option<ProcedureRun>,
    },
    /// Measurements in free order on a circuit, without a script.
    Free {
        /// The circuit's name.
        circuit: String,
        /// Its title.
        title: String,
    },
}

/// Which procedure was run, and from where.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct ProcedureRun {
    /// Its name.
    #[serde(rename = "procedure")]
    pub name: String,
    /// Its title.
    pub title: String,
    /// Its revision.
    pub revision: u32,
    /// The function that was run instead of the body, such as `after_repair`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub entry_point: Option<String>,
}

/// Where a record was made: the shop's name for the place, or the computer's name. At most 64 characters, none of which
/// could be taken for another text on the screen.
#[derive(Clone, PartialEq, Eq, Debug, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Station(String);

impl Station {
    /// The longest name, in characters.
    pub const LONGEST: usize = 64;

    /// Of any text: what is no letter, digit, space or one of `.-_#` is left out, and spaces are kept single.
    ///
    /// ```
    /// use ohmwright::model::started::Station;
    /// assert_eq!(Station::of("  Bay\u{200b} 2\n").unwrap().as_str(), "Bay 2");
    /// assert!(Station::of("\u{1b}\u{202e}").is_none());
    /// ```
    pub fn of(text: &str) -> Option<Self> {
        let plain = |c: &char| c.is_alphanumeric() || matches!(c, ' ' | '.' | '-' | '_' | '#');
        let kept: String = text.chars().map(|c| if c.is_whitespace() { ' ' } else { c }).filter(plain).collect();
        let words: Vec<&str> = kept.split_whitespace().collect();
        let name: String = words.join(" ").chars().take(Self::LONGEST).collect();
        Some(name.trim_end().to_owned()).filter(|name| !name.is_empty()).map(Self)
    }

    /// The name.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for Station {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// A simulated vehicle.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Simulated {
    /// The circuit's name.
    pub circuit: String,
    /// The faults in it.
    #[serde(flatten)]
    pub hidden: Hidden,
}

/// The faults of a simulated vehicle: open to everybody who reads the record, or sealed.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Hidden {
    /// Everybody may read it.
    Open {
        /// The faults that were put in.
        faults: Vec<PlacedFault>,
        /// What its tolerances, its severities and its meter's error are drawn from.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        seed: Option<u64>,
        /// Which vehicle it is, from 1, of those of a proof.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        vehicle: Option<u32>,
        /// How many vehicles that proof has.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        of: Option<u32>,
    },
    /// Only who has the exercise's secret may.
    Sealed {
        /// How it is sealed.
        version: u32,
        /// The assignment, as it was typed; at most [`Hidden::LONGEST_ASSIGNMENT`] bytes.
        assignment: String,
    },
}

impl Hidden {
    /// The longest assignment, in bytes.
    pub const LONGEST_ASSIGNMENT: usize = 4096;
}

/// A fault that was put into a circuit.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct PlacedFault {
    /// Its name in the circuit.
    pub id: String,
    /// How bad it is, in the fault's own unit; left out where the circuit gives one value.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub severity: Option<f64>,
}

impl Simulated {
    /// The names of the faults, where everybody may read them.
    pub fn faults(&self) -> impl Iterator<Item = &str> {
        let faults = match &self.hidden {
            Hidden::Open { faults, .. } => faults.as_slice(),
            Hidden::Sealed { .. } => &[],
        };
        faults.iter().map(|fault| fault.id.as_str())
    }

    /// Whether its readings can be computed again only with the exercise's secret.
    pub const fn is_sealed(&self) -> bool {
        matches!(self.hidden, Hidden::Sealed { .. })
    }
}

/// The first event of a run.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Started {
    /// Format of the first sitting.
    pub format: u32,
    /// Behavior of the first sitting.
    #[serde(skip_serializing_if = "is_zero")]
    pub behavior: u32,
    /// Program and version.
    pub program: String,
    /// The record's own id. None in records of format 1, and in runs that nobody keeps.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub record: Option<RecordId>,
    /// Where it was begun.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub station: Option<Station>,
    /// Its subject.
    #[serde(flatten)]
    pub subject: Subject,
    /// Everything that the run depends on.
    pub sources: Vec<SourceRef>,
    /// Who or what answers in the first sitting.
    pub answered_by: AnsweredBy,
    /// The simulated vehicle, where there is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub simulated: Option<Simulated>,
    /// The job.
    pub job: Job,
    /// The system's nominal voltage, if it was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub nominal: Option<Quantity>,
    /// The vehicle as it stood.
    pub vehicle: VehicleState,
    /// The record that this one came out of.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub link: Option<Link>,
    /// The row of a table that it stands for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub row: Option<TableRow>,
    /// True when the clock was set by hand, for tests and demonstrations.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub clock_set_by_hand: bool,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "this is how serde asks")]
const fn is_zero(number: &u32) -> bool {
    *number == 0
}

impl Started {
    /// A run by this program, of which nothing else is said.
    pub fn of(procedure: &str, title: &str, revision: u32, answered_by: AnsweredBy) -> Self {
        let run = ProcedureRun { name: procedure.to_owned(), title: title.to_owned(), revision, entry_point: None };
        Self {
            format: FORMAT,
            behavior: BEHAVIOR,
            program: PROGRAM.to_owned(),
            record: None,
            station: None,
            subject: Subject::Procedure(run),
            sources: vec![],
            answered_by,
            simulated: None,
            job: Job::default(),
            nominal: None,
            vehicle: VehicleState::default(),
            link: None,
            row: None,
            clock_set_by_hand: false,
        }
    }

    /// What is known of the job, with the system's nominal voltage.
    pub fn whole_job(&self) -> Job {
        Job { nominal: self.nominal.and_then(Nominal::of), ..self.job.clone() }
    }

    /// The procedure that was run, where one was.
    pub const fn procedure(&self) -> Option<&ProcedureRun> {
        match &self.subject {
            Subject::Procedure(run) | Subject::Exercise { along: Some(run), .. } => Some(run),
            Subject::Exercise { along: None, .. } | Subject::Free { .. } => None,
        }
    }

    /// The same, to be changed.
    pub const fn procedure_mut(&mut self) -> Option<&mut ProcedureRun> {
        match &mut self.subject {
            Subject::Procedure(run) | Subject::Exercise { along: Some(run), .. } => Some(run),
            Subject::Exercise { along: None, .. } | Subject::Free { .. } => None,
        }
    }

    /// Its name in lists and in the names of records: the procedure, the exercise or the circuit.
    pub fn name(&self) -> &str {
        match &self.subject {
            Subject::Procedure(run) => &run.name,
            Subject::Exercise { exercise, .. } => exercise,
            Subject::Free { circuit, .. } => circuit,
        }
    }

    /// Its title, for people.
    pub fn title(&self) -> &str {
        match &self.subject {
            Subject::Procedure(run) => &run.title,
            Subject::Exercise { title, .. } | Subject::Free { title, .. } => title,
        }
    }

    /// The procedure's revision; 0 where there is no procedure.
    pub fn revision(&self) -> u32 {
        self.procedure().map_or(0, |run| run.revision)
    }

    /// The function that was run instead of the procedure's body.
    pub fn entry_point(&self) -> Option<&str> {
        self.procedure()?.entry_point.as_deref()
    }

    /// The simulated circuit's name, where there is one.
    pub fn circuit(&self) -> Option<&str> {
        self.simulated.as_ref().map(|simulated| simulated.circuit.as_str())
    }

    /// A title and, where there is one, a revision: `Flap sensor (revision 3)`.
    pub fn heading(&self) -> String {
        match self.procedure() {
            Some(_) => format!("{} (revision {})", self.title(), self.revision()),
            None => self.title().to_owned(),
        }
    }
}

/// The fields of a start as they are written, in either format.
#[derive(Deserialize)]
struct Fields {
    format: u32,
    #[serde(default)]
    behavior: u32,
    program: String,
    record: Option<RecordId>,
    station: Option<Station>,
    subject: Option<String>,
    procedure: Option<String>,
    exercise: Option<String>,
    circuit: Option<String>,
    title: Option<String>,
    revision: Option<u32>,
    entry_point: Option<String>,
    along: Option<ProcedureRun>,
    /// Format 1.
    part: Option<String>,
    sources: Vec<SourceRef>,
    answered_by: AnsweredBy,
    simulated: Option<Simulated>,
    /// Format 1.
    bench: Option<String>,
    /// Format 1.
    #[serde(default)]
    bench_faults: Vec<String>,
    /// Format 1.
    bench_seed: Option<u64>,
    job: Job,
    nominal: Option<Quantity>,
    vehicle: VehicleState,
    link: Option<Link>,
    row: Option<TableRow>,
    #[serde(default)]
    clock_set_by_hand: bool,
}

impl<'de> Deserialize<'de> for Started {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let fields = Fields::deserialize(deserializer)?;
        let title = fields.title.ok_or_else(|| de::Error::missing_field("title"))?;
        let named = |name: Option<String>, field| name.ok_or_else(|| de::Error::missing_field(field));
        let subject = match (fields.format, fields.subject.as_deref()) {
            (FIRST_FORMAT, None) | (_, Some("procedure")) => Subject::Procedure(ProcedureRun {
                name: named(fields.procedure, "procedure")?,
                title,
                revision: fields.revision.ok_or_else(|| de::Error::missing_field("revision"))?,
                entry_point: fields.entry_point.or(fields.part),
            }),
            (_, Some("exercise")) => {
                Subject::Exercise { exercise: named(fields.exercise, "exercise")?, title, along: fields.along }
            }
            (_, Some("free")) => Subject::Free { circuit: named(fields.circuit, "circuit")?, title },
            (_, Some(other)) => return Err(de::Error::unknown_variant(other, &["procedure", "exercise", "free"])),
            (_, None) => return Err(de::Error::missing_field("subject")),
        };
        let simulated = fields.simulated.or_else(|| {
            let faults = fields.bench_faults.into_iter().map(|id| PlacedFault { id, severity: None }).collect();
            let hidden = Hidden::Open { faults, seed: fields.bench_seed, vehicle: None, of: None };
            fields.bench.map(|circuit| Simulated { circuit, hidden })
        });
        if let Some(Simulated { hidden: Hidden::Sealed { assignment, .. }, .. }) = &simulated
            && assignment.len() > Hidden::LONGEST_ASSIGNMENT
        {
            return Err(de::Error::custom("the assignment is longer than any that a program writes"));
        }
        Ok(Self {
            format: fields.format,
            behavior: fields.behavior,
            program: fields.program,
            record: fields.record,
            station: fields.station,
            subject,
            sources: fields.sources,
            answered_by: fields.answered_by,
            simulated,
            job: fields.job,
            nominal: fields.nominal,
            vehicle: fields.vehicle,
            link: fields.link,
            row: fields.row,
            clock_set_by_hand: fields.clock_set_by_hand,
        })
    }
}

/// A new sitting of a record: by which program, where, and who is at it.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Continued {
    /// The format from here on.
    pub format: u32,
    /// The behavior from here on.
    pub behavior: u32,
    /// Program and version.
    pub program: String,
    /// Where.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub station: Option<Station>,
    /// Who does it from here on, if it was said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub technician: Option<String>,
    /// Who or what answers from here on.
    pub answered_by: AnsweredBy,
}

impl Continued {
    /// By this program.
    pub fn here(station: Option<Station>, technician: Option<String>, answered_by: AnsweredBy) -> Self {
        Self { format: FORMAT, behavior: BEHAVIOR, program: PROGRAM.to_owned(), station, technician, answered_by }
    }
}
