//! The command line.

use crate::model::job::Nominal;
use crate::model::words;
use crate::report::detail::Detail;
use clap::{Args, Parser, Subcommand, ValueEnum};
use std::path::PathBuf;

/// Heads the options that every command has; they stand at the end of its help.
const EVERY_COMMAND: &str = "For every command";
/// Heads what makes a run one on a simulated vehicle.
const SIMULATED: &str = "Simulated vehicle";

/// A repair shop's own electrical test procedures: followed at the vehicle, proven against simulated faults, recorded.
#[derive(Parser, Debug)]
#[command(name = "ohmwright", version, about, propagate_version = true, max_term_width = 100)]
pub struct Arguments {
    /// The shop's folder (else: upward from here, the first one with a shop.toml)
    #[arg(long, global = true, value_name = "FOLDER", help_heading = EVERY_COMMAND)]
    pub shop: Option<PathBuf>,
    /// The folder of the records (else: `records` in the shop's folder, or here)
    #[arg(long, global = true, value_name = "FOLDER", help_heading = EVERY_COMMAND)]
    pub records: Option<PathBuf>,
    /// Columns of the screen (else: the terminal's)
    #[arg(long, global = true, value_name = "COLUMNS", help_heading = EVERY_COMMAND)]
    pub width: Option<usize>,
    /// What to do
    #[command(subcommand)]
    pub command: Command,
}

/// What to do.
#[derive(Subcommand, Debug)]
#[expect(clippy::large_enum_variant, reason = "there is one of them in a process")]
pub enum Command {
    /// Follow a procedure at the vehicle or on a simulated one, or take the answers from a file
    #[command(before_help = "Example: ohmwright run flap_sensor --simulate")]
    Run(Run),
    /// Continue a run that is paused, waits or was interrupted
    #[command(before_help = "Example: ohmwright resume")]
    Resume(Resume),
    /// Run a procedure over a table: one vehicle a row, one prompt a column
    #[command(before_help = "Example: ohmwright batch battery fleet.csv")]
    Batch(Batch),
    /// Show a record
    #[command(before_help = "Example: ohmwright show")]
    Show(Show),
    /// Sign a record
    #[command(before_help = "Example: ohmwright sign --as \"Ana Example\"")]
    Sign(Sign),
    /// Check records: signatures, who may sign, kept sources, and every verdict judged again
    #[command(before_help = "Example: ohmwright verify records")]
    Verify(Verify),
    /// Put a record and all that it depends on into one file, which verifies anywhere
    #[command(before_help = "Example: ohmwright pack --out unit-12.tar")]
    Pack(Pack),
    /// Run a newer revision of a procedure over the answers of old records, which stay as they are
    #[command(before_help = "Example: ohmwright rejudge records --with battery")]
    Rejudge(Rejudge),
    /// Make a key to sign with
    #[command(before_help = "Example: ohmwright key \"Ana Example\"")]
    Key(Key),
    /// Write a report of a record: for the shop or for the customer, or as data
    #[command(before_help = "Example: ohmwright report --form customer")]
    Report(Report),
    /// List the procedures and the runs that you can resume
    #[command(before_help = "Example: ohmwright list")]
    List(List),
    /// Prove a procedure: run it against every fault of its circuit, many times each
    #[command(before_help = "Example: ohmwright prove flap_sensor --samples 200")]
    Prove(Prove),
    /// Show a circuit, or write it as a SPICE netlist
    #[command(before_help = "Example: ohmwright circuit flap_sensor")]
    Circuit(Circuit),
    /// A calculator that knows the trade: the language of the procedures, line by line
    #[command(before_help = "Example: echo '12.6.V / 4.ohm' | ohmwright repl")]
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
    /// A simulated vehicle answers: the circuit CIRCUIT (else: the one that the procedure names)
    #[arg(long = "simulate", alias = "bench", value_name = "CIRCUIT", conflicts_with_all = ["answers", "meter"], num_args = 0..=1, default_missing_value = "own", help_heading = SIMULATED)]
    pub bench: Option<BenchCircuit>,
    /// Put in this fault, `ID` or `ID=SEVERITY`; may be given more than once; `none`: healthy (else: a hidden fault, by --seed)
    #[arg(long = "fault", value_name = "FAULT", requires = "bench", help_heading = SIMULATED)]
    pub faults: Vec<String>,
    /// Which vehicle of many: it sets the part tolerances, the meter's error and the hidden fault
    #[arg(long, value_name = "NUMBER", requires = "bench", value_parser = whole_number, help_heading = SIMULATED)]
    pub seed: Option<u64>,
    /// Show verdicts in letters three rows high
    #[arg(long)]
    pub large: bool,
    /// Check the vehicle after the repair that this record led to
    #[arg(long, value_name = "RECORD")]
    pub after: Option<String>,
    /// The job
    #[command(flatten)]
    pub job: JobFlags,
}

/// The job and the vehicle.
#[derive(Args, Debug, Default)]
#[command(next_help_heading = "Job and vehicle")]
pub struct JobFlags {
    /// Read the job and the state of the vehicle from this file
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
    /// The customer's concern, in their words
    #[arg(long, value_name = "TEXT")]
    pub concern: Option<String>,
    /// Was the concern verified?
    #[arg(long, value_name = "yes|no")]
    pub verified: Option<String>,
    /// A trouble code; may be given more than once
    #[arg(long = "code", value_name = "CODE")]
    pub codes: Vec<String>,
    /// The technician
    #[arg(long, value_name = "NAME")]
    pub technician: Option<String>,
    /// The shop's name for the meter
    #[arg(long, value_name = "METER")]
    pub meter: Option<String>,
    /// Weather and temperature
    #[arg(long, value_name = "TEXT")]
    pub conditions: Option<String>,
    /// The state of the vehicle: key=off, engine=stopped, ran=20 (minutes ago), lift=raised, wheels=chocked,
    /// battery=connected, high_voltage=absent; may be given more than once
    #[arg(long = "state", value_name = "PART=STATE")]
    pub state: Vec<String>,
}

/// Continue a run.
#[derive(Args, Debug)]
pub struct Resume {
    /// The record (else: the latest)
    pub record: Option<String>,
    /// Where the procedure was edited: finish with the copy that the record keeps
    #[arg(long, conflicts_with = "new_run")]
    pub kept_copy: bool,
    /// Where the procedure was edited: begin a linked new run, which takes over the answers that still fit
    #[arg(long)]
    pub new_run: bool,
    /// Take the missing answers from this file
    #[arg(long, value_name = "FILE.toml")]
    pub answers: Option<PathBuf>,
    /// Show verdicts in letters three rows high
    #[arg(long)]
    pub large: bool,
    /// The technician who continues (else: the one before)
    #[arg(long, value_name = "NAME")]
    pub technician: Option<String>,
}

/// Run a procedure over a table.
#[derive(Args, Debug)]
pub struct Batch {
    /// The procedure
    pub procedure: String,
    /// The table: one vehicle a row; columns of the job, of the vehicle's state, and of prompts by id; with --simulate also
    /// `fault` (faults of the circuit, empty for none) and `seed` (else the row's number)
    #[arg(value_name = "TABLE.csv")]
    pub table: PathBuf,
    /// The file for the summary (else: one beside the records)
    #[arg(long, value_name = "FILE.csv")]
    pub summary: Option<PathBuf>,
    /// The shop's name for the meter, where a row names none
    #[arg(long, value_name = "METER")]
    pub meter: Option<String>,
    /// A simulated vehicle answers where the row has no cell: the circuit CIRCUIT (else: the one that the procedure names)
    #[arg(long = "simulate", alias = "bench", value_name = "CIRCUIT", conflicts_with = "meter", num_args = 0..=1, default_missing_value = "own")]
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
    /// Which faults its readings exclude, which are still possible, and which reading would tell most
    #[arg(long)]
    pub evidence: bool,
}

/// Sign a record.
#[derive(Args, Debug)]
pub struct Sign {
    /// The record (else: the latest)
    pub record: Option<String>,
    /// Who signs: a name from shop.toml
    #[arg(long = "as", value_name = "NAME")]
    pub name: String,
    /// The meaning of the signature; shop.toml says which role may sign what
    #[arg(long, value_name = "WORD", default_value = "performed")]
    pub meaning: String,
    /// The private key (else: a running ssh-agent, else where `ohmwright key` puts it)
    #[arg(long, value_name = "FILE")]
    pub key: Option<PathBuf>,
    /// A file whose first line is the passphrase (else: the one that OHMWRIGHT_PASSPHRASE_FILE names, else Ohmwright asks for it)
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
    /// Print the commands that check a record by hand, with OpenSSH alone
    #[arg(long)]
    pub how: bool,
    /// Unsigned records and lines don't count as bad
    #[arg(long)]
    pub allow_unsigned: bool,
    /// Records of another shop that are good by their own list of people don't count as bad
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
    /// Also write one line for each record of the folder to this file
    #[arg(long, value_name = "FILE.csv")]
    pub summary: Option<PathBuf>,
}

/// Make a key.
#[derive(Args, Debug)]
pub struct Key {
    /// The owner's printed name
    pub name: String,
    /// The file for the private key; the public one has `.pub` after its name (else: in the folder of your settings)
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// A file whose first line is the passphrase (else: the one that OHMWRIGHT_PASSPHRASE_FILE names, else Ohmwright asks for it)
    #[arg(long, value_name = "FILE")]
    pub passphrase_file: Option<PathBuf>,
}

/// Prove a procedure.
#[derive(Args, Debug)]
pub struct Prove {
    /// The procedure
    #[arg(required_unless_present = "all", conflicts_with = "all")]
    pub procedure: Option<String>,
    /// Prove every procedure that `list` shows and that names a circuit
    #[arg(long, conflicts_with_all = ["circuit", "json", "csv"])]
    pub all: bool,
    /// The circuit (else: the one that the procedure names)
    #[arg(long, value_name = "CIRCUIT")]
    pub circuit: Option<String>,
    /// Vehicles for each fault, each with its own part tolerances and meter error
    #[arg(long, value_name = "N", default_value_t = 20, value_parser = clap::value_parser!(u64).range(1..=1_000_000))]
    pub samples: u64,
    /// Which vehicles are drawn: another number draws others
    #[arg(long, value_name = "NUMBER", default_value_t = 1, value_parser = whole_number)]
    pub seed: u64,
    /// Also try every pair of faults
    #[arg(long)]
    pub pairs: bool,
    /// Also show the tables of a clean proof
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
    /// Show the faults that a proof adds to the listed ones: of every wire, pin and part, if a driver notices them
    #[arg(long, conflicts_with = "spice")]
    pub generated: bool,
    /// Put this fault in, `ID` or `ID=SEVERITY`; may be given more than once
    #[arg(long = "fault", value_name = "FAULT")]
    pub faults: Vec<String>,
    /// The state of the vehicle: key=on, engine=running, battery=disconnected
    #[arg(long = "state", value_name = "PART=STATE")]
    pub state: Vec<String>,
    /// The position of what is held or switched: flap=closed
    #[arg(long = "position", value_name = "PART=POSITION")]
    pub positions: Vec<String>,
    /// A connector that is unplugged
    #[arg(long = "unplugged", value_name = "CONNECTOR")]
    pub unplugged: Vec<String>,
}

/// Write a report of a record.
#[derive(Args, Debug)]
pub struct Report {
    /// The record (else: the latest)
    pub record: Option<String>,
    /// The file to write; `-`: standard output (else: HTML to a file named after the record; other formats to standard output)
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// The whole record, or one page in plain words for the customer
    #[arg(long, value_enum, default_value_t = Form::Full)]
    pub form: Form,
    /// The format
    #[arg(long, value_enum, default_value_t = Format::Html)]
    pub format: Format,
    /// Leave these out, with commas between: vehicle, odometer, concern, codes, technician, conditions, notes, shop
    ///
    /// `vehicle`: the vehicle or unit, the names of records, which carry it, and the row of a table. `odometer`, `codes`:
    /// these. `concern`: the customer's words, and whether it was verified. `technician`: who did it, qualified
    /// persons, and who signed, with their keys. `conditions`: weather and temperature. `notes`: what somebody
    /// wrote in their own words: remarks, answers in words, why something was skipped or not done, the position of a sweep.
    /// `shop`: its name and address.
    #[arg(long, value_name = "WHAT", value_delimiter = ',', value_parser = detail)]
    pub without: Vec<Detail>,
    /// Print the JSON Schema of `--format json` instead
    #[arg(long, conflicts_with_all = ["record", "form", "format", "without"])]
    pub schema: bool,
}

/// The reader of a report.
#[derive(Clone, Copy, PartialEq, Eq, Debug, ValueEnum)]
pub enum Form {
    /// The whole record
    Full,
    /// One page in plain words
    Customer,
}

/// The format of a report.
#[derive(Clone, Copy, PartialEq, Eq, Debug, ValueEnum)]
pub enum Format {
    /// One page that needs nothing else
    Html,
    /// Data, as the schema describes it
    Json,
    /// One line a reading
    Csv,
    /// Text, as `show` prints it
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
