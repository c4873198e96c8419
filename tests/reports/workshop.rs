//! A shop in a scratch folder, with records made by running its procedure.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::sync::OnceLock;

/// The vehicle that every record is of.
pub const VEHICLE: &str = "Truck 12 <script>alert(1)</script>";

const JOB: &str = "Truck 12 <script>alert(1)</script>\n12\n1\n1\n412 300 km\nLamp comes on <b>uphill</b>\n1\nP2F01\nA. Technician\n\
    rain, 8 degC\n";
/// What is asked anew after a repair.
const JOB_AFTER: &str = "1\n1\n412 300 km\n1\nP2F01\nA. Technician\nrain, 8 degC\n";
const STATE: &str = "1\n1\n20\n2\n1\n1\n1\n";
/// Two doubts, one answer taken back, one skipped, two over range, a sweep that breaks off twice.
const BEFORE: &str = "+\n+\n\n4.76\n4.761\n0.37\n3.72\n250\nback\n+\n+\n85\n\n\n*\nOL\n\
    note =corrosion on \u{1b}[31mthe shield\nskip could not reach it\n\n\n+\n\
    0.7\n1.38\n2.02\n0.01\n2.71\n3.3\n3.98\n3.1\nOL\n1.6\n0.72\n\n1\n\n\n\n\n";
/// An action, a remark and a step on a path that is taken back.
const ASTRAY: &str = "+\n+\n\n5.0\n3.7\n250\n\n\nnote probe slipped\nback ground_drop\n\n+\n+\n\n\n85\n\n\n70\nOL\n1\n\n\n+\n\
    0.7\n2.1\n4.01\n2.2\n0.7\n\n\n\n\n\n";
const AFTER: &str = "+\n+\n5.02\n0.71\n1.4\n2.1\n2.9\n3.4\n4.01\n3.2\n2.2\n1.3\n0.7\n\n\n";

/// A shop in a folder of its own.
pub struct Workshop {
    /// Goes away with it.
    folder: tempfile::TempDir,
}

impl Workshop {
    /// With no records.
    pub fn empty() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reports/shop");
        std::fs::create_dir_all(folder.path().join("procedures")).unwrap();
        for file in ["shop.toml", "procedures/flap.rhai", "procedures/starter.rhai"] {
            std::fs::copy(source.join(file), folder.path().join(file)).unwrap();
        }
        Self { folder }
    }

    /// With a record before a repair and one after it.
    pub fn with_records() -> Self {
        let shop = Self::empty();
        let before = shop.run("09", &["run", "flap"], &format!("{JOB}{STATE}{BEFORE}"));
        assert_eq!(before.status.code(), Some(0), "{}", text_of(&before));
        let after = shop.run("10", &["run", "flap", "--after", &shop.before()], &format!("{JOB_AFTER}{STATE}{AFTER}"));
        assert_eq!(after.status.code(), Some(0), "{}", text_of(&after));
        assert_eq!(shop.names().len(), 2);
        shop
    }

    /// Makes a record whose answers come from a file: every kind of question, two causes, no meter, nobody there.
    pub fn starter(&self) -> String {
        let pedal: Vec<String> =
            (0..=60).map(|index| format!("\"{:.3}\"", 4.2 - 3.4 * f64::from((index - 30_i32).abs()) / 30.0)).collect();
        let answers = format!(
            "procedure = \"starter\"\n[job]\nvehicle = \"Bus 7\"\n[answers]\nrest = \"12.7\"\nload = \"7.9 12.1\"\n\
             shown = \"12.2\"\ndrop = \"1.4 V\"\ndraw = \"410\"\npedal = [{}]\nsound = \"slow\"\nseen = \"green\\u0007 crust\"\n",
            pedal.join(", ")
        );
        let file = self.path().join("answers.toml");
        std::fs::write(&file, answers).unwrap();
        let before = self.names();
        let output = self.run("08", &["run", "starter", "--answers", file.to_str().unwrap()], "");
        assert_eq!(output.status.code(), Some(0), "{}", text_of(&output));
        self.names().into_iter().find(|name| !before.contains(name)).unwrap()
    }

    /// Makes a record in which actions and a remark belong to a path that was taken back.
    pub fn astray(&self) -> String {
        let output = self.run("07", &["run", "flap"], &format!("{JOB}{STATE}{ASTRAY}"));
        assert_eq!(output.status.code(), Some(0), "{}", text_of(&output));
        self.names()[0].clone()
    }

    /// Makes a copy of a record in which the customer said a great deal.
    pub fn with_a_long_concern(&self, record: &str) -> String {
        let name = format!("{record}-long");
        let path = self.journal(&name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        let text = std::fs::read_to_string(self.journal(record)).unwrap();
        let told = "Lamp comes on uphill, and goes out again on the flat. ".repeat(42);
        assert!(text.contains("Lamp comes on <b>uphill</b>"));
        std::fs::write(path, text.replace("Lamp comes on <b>uphill</b>", &told)).unwrap();
        name
    }

    /// A copy of one with records; making it anew for every test would take its time.
    pub fn copied() -> Self {
        static MADE: OnceLock<Workshop> = OnceLock::new();
        let made = MADE.get_or_init(Self::with_records);
        let copy = Self::empty();
        for entry in walkdir::WalkDir::new(made.path()) {
            let entry = entry.unwrap();
            let to = copy.path().join(entry.path().strip_prefix(made.path()).unwrap());
            if entry.file_type().is_dir() {
                std::fs::create_dir_all(to).unwrap();
            } else {
                std::fs::copy(entry.path(), to).unwrap();
            }
        }
        copy
    }

    /// Its folder.
    pub fn path(&self) -> &Path {
        self.folder.path()
    }

    /// Records' names, oldest first.
    pub fn names(&self) -> Vec<String> {
        let mut names: Vec<String> = std::fs::read_dir(self.path().join("records"))
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .filter(|name| name.starts_with("2026"))
            .collect();
        names.sort();
        names
    }

    /// The record before the repair.
    pub fn before(&self) -> String {
        self.names()[0].clone()
    }

    /// The record after it.
    pub fn after(&self) -> String {
        self.names()[1].clone()
    }

    /// A record's journal.
    pub fn journal(&self, record: &str) -> PathBuf {
        self.path().join("records").join(record).join("journal.jsonl")
    }

    /// Changes a record's journal.
    pub fn edit(&self, record: &str, change: impl FnOnce(String) -> String) {
        let path = self.journal(record);
        std::fs::write(&path, change(std::fs::read_to_string(&path).unwrap())).unwrap();
    }

    /// Runs the program at an hour of one day, with these lines typed.
    pub fn run(&self, hour: &str, arguments: &[&str], typed: &str) -> Output {
        let mut child = Command::new(env!("CARGO_BIN_EXE_ohmwright"))
            .args(["--shop".as_ref(), self.path().as_os_str()])
            .args(arguments)
            .current_dir(self.path())
            .env_clear()
            .env("HOME", self.path())
            .env("OHMWRIGHT_CLOCK", format!("2026-11-24T{hour}:00:00Z"))
            .env("NO_COLOR", "1")
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        child.stdin.take().unwrap().write_all(typed.as_bytes()).unwrap();
        child.wait_with_output().unwrap()
    }

    /// What a report prints.
    pub fn report(&self, record: &str, arguments: &[&str]) -> String {
        let all = [&["report", record, "--out", "-"], arguments].concat();
        let output = self.run("11", &all, "");
        assert_eq!(output.status.code(), Some(0), "{}", text_of(&output));
        String::from_utf8(output.stdout).unwrap()
    }
}

/// Both of a process's outputs.
pub fn text_of(output: &Output) -> String {
    format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr))
}
