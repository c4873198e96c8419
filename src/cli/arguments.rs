//! The command line.

use crate::model::job::Nominal;
use crate::model::words;
use crate::report::detail::Detail;
use clap::{Args, Parser, Subcommand, ValueEnum};
use std::path::PathBuf;

/// A repair shop's own electrical test procedures: followed at the vehicle, proven against simulated faults, recorded.
#[derive(Parser, Debug)]
#[command(name = "ohmwright", version, about, propagate_version = true, max_term_width = 100)]
pub struct Arguments {
    /// The shop's folder (else: upward from here, the first one with a shop.toml)
    #[arg(long, global = true, value_name = "FOLDER")]
    pub shop: Option<PathBuf>,
    /// Where records lie (else: `records` in the shop's folder, or here)
    #[arg(long, global = true, value_name = "FOLDER")]
    pub records: Option<PathBuf>,
    /// Columns of the screen (else: the terminal's)
    #[arg(long, global = true, value_name = "COLUMNS")]
    pub width: Option<usize>,
    /// What to do
    #[command(subcommand)]
    pub command: Command,
}

/// What to do.
#[derive(Subcommand, Debug)]
#[expect(clippy::large_enum_variant, reason = "there is one of them in a process")]
pub enum Command {
    /// Run a procedure: at the vehicle, or from an answers file
    Run(Run),
    /// Resume a run that waits, was paused or was broken off
    Resume(Resume),
    /// Run a procedure over a table: one vehicle a row, one prompt a column
    Batch(Batch),
    /// Show a record
    Show(Show),
    /// Sign a record off
    Sign(Sign),
    /// Check records: signatures, who may sign, kept sources, and every verdict judged again
    Verify(Verify),
    /// Put a record with all that it depends on into one file, to be verified elsewhere
    Pack(Pack),
    /// Run a newer revision of a procedure over the answers of old records, which stay as they are
    Rejudge(Rejudge),
    /// Make a key to sign with
    Key(Key),
    /// Write a report of a record: for the shop or for the customer, or as data
    Report(Report),
    /// List the procedures and the runs that can be resumed
    List(List),
    /// Prove a procedure: run it against every fault of its circuit, many times each
    Prove(Prove),
    /// Show a circuit, or write it as a SPICE netlist
    Circuit(Circuit),
    /// A calculator that knows the trade: the procedures' language, line by line
    Repl,
}

/// The circuit that answers in place of a vehicle.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum BenchCircuit {
    /// The one that the procedure names.
    Own,
    /// By name or path.
    Named(String),
}

impl From<String> for BenchCircuit {
    fn from(typed: String) -> Self {
        if typed == "own" { Self::Own } else { Self::Named(typed) }
    }
}

impl BenchCircuit {
    /// Its name or path, where one was typed.
    pub fn named(&self) -> Option<&str> {
        match self {
            Self::Own => None,
            Self::Named(name) => Some(name),
        }
    }
}

/// Run a procedure.
#[derive(Args, Debug)]
pub struct Run {
    /// The procedure: a name that `ohmwright list` shows, or a .rhai file
    pub procedure: String,
    /// Take the answers from this file instead of asking
    #[arg(long, value_name = "FILE.toml")]
    pub answers: Option<PathBuf>,
    /// Run on a simulated circuit instead of a vehicle (`own`: the circuit that the procedure names)
    #[arg(long, value_name = "CIRCUIT", conflicts_with_all = ["answers", "meter"], num_args = 0..=1, default_missing_value = "own")]
    pub bench: Option<BenchCircuit>,
    /// Put this fault into the simulated circuit, `ID` or `ID=SEVERITY`; may be given more than once; `none` for a healthy one (else: one that nobody sees, by --seed)
    #[arg(long = "fault", value_name = "FAULT", requires = "bench")]
    pub faults: Vec<String>,
    /// Which vehicle of many: part tolerances, meter error, and the hidden fault
    #[arg(long, value_name = "NUMBER", requires = "bench", value_parser = whole_number)]
    pub seed: Option<u64>,
    /// Check after the repair that this record led to
    #[arg(long, value_name = "RECORD")]
    pub after: Option<String>,
    /// What is known of the job
    #[command(flatten)]
    pub job: JobFlags,
}

/// What is known of the job and of the vehicle.
#[derive(Args, Debug, Default)]
pub struct JobFlags {
    /// A file that says what is known of the job
    #[arg(long = "job", value_name = "FILE.toml")]
    pub file: Option<PathBuf>,
    /// Vehicle or unit
    #[arg(long, value_name = "TEXT")]
    pub vehicle: Option<String>,
    /// The system's nominal voltage: 12 or 24
    #[arg(long, value_name = "VOLTS")]
    pub nominal: Option<Nominal>,
    /// Odometer with its unit
    #[arg(long, value_name = "TEXT")]
    pub odometer: Option<String>,
    /// The concern, in the customer's words
    #[arg(long, value_name = "TEXT")]
    pub concern: Option<String>,
    /// Whether the concern was verified
    #[arg(long, value_name = "yes|no")]
    pub verified: Option<String>,
    /// A trouble code; may be given more than once
    #[arg(long = "code", value_name = "CODE")]
    pub codes: Vec<String>,
    /// Who does it
    #[arg(long, value_name = "NAME")]
    pub technician: Option<String>,
    /// The shop's name for the meter
    #[arg(long, value_name = "METER")]
    pub meter: Option<String>,
    /// Weather and temperature
    #[arg(long, value_name = "TEXT")]
    pub conditions: Option<String>,
    /// How the vehicle stands: key=off, engine=stopped, ran=20 (minutes ago), lift=raised, wheels=chocked,
    /// battery=connected, high_voltage=absent; may be given more than once
    #[arg(long = "state", value_name = "PART=STATE")]
    pub state: Vec<String>,
}

/// Go on with a run.
#[derive(Args, Debug)]
pub struct Resume {
    /// The record (else: the latest)
    pub record: Option<String>,
    /// The procedure was edited: finish on the copy that was kept
    #[arg(long, conflicts_with = "new_run")]
    pub kept_copy: bool,
    /// The procedure was edited: begin a linked new run with it, taking over what still fits
    #[arg(long)]
    pub new_run: bool,
    /// Take what is missing from this file
    #[arg(long, value_name = "FILE.toml")]
    pub answers: Option<PathBuf>,
    /// Who goes on with it (else: who was at it before)
    #[arg(long, value_name = "NAME")]
    pub technician: Option<String>,
}

/// Run a procedure over a table.
#[derive(Args, Debug)]
pub struct Batch {
    /// The procedure
    pub procedure: String,
    /// The table: one vehicle a row; columns of the job, of the vehicle's state, and of prompts by id; with --bench also
    /// `fault` (names of the circuit's faults, empty for none) and `seed` (else the row's number)
    #[arg(value_name = "TABLE.csv")]
    pub table: PathBuf,
    /// Where the summary goes (else: beside the records)
    #[arg(long, value_name = "FILE.csv")]
    pub summary: Option<PathBuf>,
    /// The shop's name for the meter, for rows that name none
    #[arg(long, value_name = "METER")]
    pub meter: Option<String>,
    /// A simulated circuit answers where a row's cells do not (`own`: the circuit that the procedure names)
    #[arg(long, value_name = "CIRCUIT", conflicts_with = "meter", num_args = 0..=1, default_missing_value = "own")]
    pub bench: Option<BenchCircuit>,
}

/// List the procedures.
#[derive(Args, Debug)]
pub struct List {
    /// This procedure, with what it needs and what its proof came to
    pub procedure: Option<String>,
}

/// Show a record.
#[derive(Args, Debug)]
pub struct Show {
    /// The record: its number, or its name (else: the latest)
    pub record: Option<String>,
}

/// Sign a record off.
#[derive(Args, Debug)]
pub struct Sign {
    /// The record (else: the latest)
    pub record: Option<String>,
    /// Who signs: a name that stands in shop.toml
    #[arg(long = "as", value_name = "NAME")]
    pub name: String,
    /// What the signature stands for; shop.toml says which role may sign what
    #[arg(long, value_name = "WORD", default_value = "performed")]
    pub meaning: String,
    /// The private key (else: a running ssh-agent, else where `ohmwright key` puts it)
    #[arg(long, value_name = "FILE")]
    pub key: Option<PathBuf>,
    /// A file whose first line is the passphrase (else: OHMWRIGHT_PASSPHRASE_FILE names one, else it is asked for)
    #[arg(long, value_name = "FILE")]
    pub passphrase_file: Option<PathBuf>,
}

/// Check records.
#[derive(Args, Debug)]
pub struct Verify {
    /// Records by name, folders of records, or packs (else: the latest record)
    #[arg(value_name = "RECORD")]
    pub given: Vec<String>,
    /// As JSON
    #[arg(long, conflicts_with = "how")]
    pub json: bool,
    /// Print the commands with which anybody checks a record by hand, with OpenSSH alone
    #[arg(long)]
    pub how: bool,
    /// Records and lines that nobody has signed yet don't count as bad
    #[arg(long)]
    pub allow_unsigned: bool,
    /// Records of another shop, good by the list of people that they brought themselves, don't count as bad
    #[arg(long)]
    pub own_list: bool,
}

/// Put a record into one file.
#[derive(Args, Debug)]
pub struct Pack {
    /// The record (else: the latest)
    pub record: Option<String>,
    /// The file (else: the record's name with .tar, here)
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
}

/// Judge old records by a newer procedure.
#[derive(Args, Debug)]
pub struct Rejudge {
    /// A record, or a folder of records
    #[arg(value_name = "RECORD")]
    pub record: String,
    /// The newer procedure
    #[arg(long = "with", value_name = "PROCEDURE")]
    pub procedure: String,
    /// Of a folder: records of this procedure (else: of the name of the newer one)
    #[arg(long, value_name = "NAME")]
    pub of: Option<String>,
    /// Write a line for every record of the folder here, too
    #[arg(long, value_name = "FILE.csv")]
    pub summary: Option<PathBuf>,
}

/// Make a key.
#[derive(Args, Debug)]
pub struct Key {
    /// Whose: the printed name
    pub name: String,
    /// The file for the private key; the public one gets `.pub` behind it (else: in the folder for this user's settings)
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// A file whose first line is the passphrase (else: OHMWRIGHT_PASSPHRASE_FILE names one, else it is asked for)
    #[arg(long, value_name = "FILE")]
    pub passphrase_file: Option<PathBuf>,
}

/// Prove a procedure.
#[derive(Args, Debug)]
pub struct Prove {
    /// The procedure
    #[arg(required_unless_present = "all", conflicts_with = "all")]
    pub procedure: Option<String>,
    /// Every procedure that `list` shows and that names a circuit
    #[arg(long, conflicts_with_all = ["circuit", "json", "csv"])]
    pub all: bool,
    /// The circuit (else: the one that the procedure names)
    #[arg(long, value_name = "CIRCUIT")]
    pub circuit: Option<String>,
    /// Vehicles for each fault: each with other part tolerances and another meter error
    #[arg(long, value_name = "N", default_value_t = 20, value_parser = clap::value_parser!(u64).range(1..=1_000_000))]
    pub samples: u64,
    /// Where the draws begin
    #[arg(long, value_name = "NUMBER", default_value_t = 1, value_parser = whole_number)]
    pub seed: u64,
    /// Every pair of faults, too
    #[arg(long)]
    pub pairs: bool,
    /// Show the tables of a clean proof, too
    #[arg(long)]
    pub table: bool,
    /// Count lines and branches in every run, and write them as an LCOV tracefile
    #[arg(long, value_name = "FILE")]
    pub coverage: Option<PathBuf>,
    /// Write everything as JSON
    #[arg(long, value_name = "FILE.json")]
    pub json: Option<PathBuf>,
    /// Write the fault × prompt table as CSV
    #[arg(long, value_name = "FILE.csv")]
    pub csv: Option<PathBuf>,
}

/// Show a circuit.
#[derive(Args, Debug)]
pub struct Circuit {
    /// The circuit: a name, or a .toml file
    pub circuit: String,
    /// Write it as a SPICE netlist, in the state and with the faults given
    #[arg(long)]
    pub spice: bool,
    /// Show what a proof puts in besides the listed faults: every wire, pin and part, as far as a driver notices it
    #[arg(long, conflicts_with = "spice")]
    pub generated: bool,
    /// Put this fault in, `ID` or `ID=SEVERITY`; may be given more than once
    #[arg(long = "fault", value_name = "FAULT")]
    pub faults: Vec<String>,
    /// How the vehicle stands: key=on, engine=running, battery=disconnected
    #[arg(long = "state", value_name = "PART=STATE")]
    pub state: Vec<String>,
    /// Where something is held or switched: flap=closed
    #[arg(long = "position", value_name = "PART=POSITION")]
    pub positions: Vec<String>,
    /// A connector that is apart
    #[arg(long = "unplugged", value_name = "CONNECTOR")]
    pub unplugged: Vec<String>,
}

/// Write a report of a record.
#[derive(Args, Debug)]
pub struct Report {
    /// The record (else: the latest)
    pub record: Option<String>,
    /// Where it goes; `-`: standard output (else: HTML to a file named after the record, here; the rest to standard output)
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Everything, or one page in plain words for the customer
    #[arg(long, value_enum, default_value_t = Form::Full)]
    pub form: Form,
    /// What it is written as
    #[arg(long, value_enum, default_value_t = Format::Html)]
    pub format: Format,
    /// Leave these out, with commas between: vehicle, odometer, concern, codes, technician, conditions, notes, shop
    ///
    /// `vehicle`: the vehicle or unit, the names of records, which carry it, and the row of a table. `odometer`, `codes`:
    /// these. `concern`: the customer's words, and whether it was verified. `technician`: whoever did it, qualified
    /// persons, and who signed, with their keys. `conditions`: weather and temperature. `notes`: whatever somebody wrote in
    /// words of their own: remarks, answers in words, why something was skipped or not done, where the moving part of a
    /// sweep stood. `shop`: its name and address.
    #[arg(long, value_name = "WHAT", value_delimiter = ',', value_parser = detail)]
    pub without: Vec<Detail>,
    /// Print the JSON Schema of `--format json` instead
    #[arg(long, conflicts_with_all = ["record", "form", "format", "without"])]
    pub schema: bool,
}

/// For whom a report is.
#[derive(Clone, Copy, PartialEq, Eq, Debug, ValueEnum)]
pub enum Form {
    /// Everything that the record holds
    Full,
    /// One page in plain words
    Customer,
}

/// What a report is written as.
#[derive(Clone, Copy, PartialEq, Eq, Debug, ValueEnum)]
pub enum Format {
    /// One page that needs nothing else
    Html,
    /// Data, as the schema describes it
    Json,
    /// One line a reading
    Csv,
    /// As `show` prints it
    Text,
}

fn detail(word: &str) -> Result<Detail, String> {
    Detail::named(word).ok_or_else(|| {
        let known: Vec<_> = Detail::TABLE.iter().map(|(name, _)| *name).collect();
        let nearest = words::nearest(word, known.iter().copied());
        format!("it is one of {}{}", words::either(&known), words::did_you_mean(nearest.as_deref()))
    })
}

fn whole_number(text: &str) -> Result<u64, String> {
    text.parse().map_err(|_| format!("a whole number from 0 to {} is wanted", u64::MAX))
}
