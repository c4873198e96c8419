//! The kept records, and the program of today in a copy of their shop.
//!
//! `shop` is what the records were made with, `make` makes them. `records/VERSION` is what a version wrote, `as_it_was` what that
//! version said of it, `expected` what the program of today must say of it, `resume.toml` how an open one goes on.

use serde_json::Value;
use std::collections::BTreeMap;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use tempfile::TempDir;

/// When the older versions were asked about their own records, and when the program of today is.
pub const TIME: &str = "2026-11-24T18:00:00Z";

/// A fact for each record, by the record's name.
pub type Facts = BTreeMap<String, Value>;

/// This folder.
pub fn here() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/older")
}

fn names_in(folder: &Path) -> Vec<String> {
    let entries = std::fs::read_dir(folder).unwrap_or_else(|error| panic!("{}: {error}", folder.display()));
    let mut names: Vec<_> = entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

/// The versions, by their commits.
pub fn versions() -> Vec<String> {
    names_in(&here().join("records"))
}

/// Names of the records that a version wrote.
pub fn records(version: &str) -> Vec<String> {
    let mut names = names_in(&here().join("records").join(version));
    names.retain(|name| name != "sources");
    names
}

/// One JSON object a line, by its `record`.
pub fn lines_of(folder: &str, version: &str) -> Facts {
    let path = here().join(folder).join(format!("{version}.jsonl"));
    let text = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    let mut facts = Facts::new();
    for line in text.lines() {
        let value: Value = serde_json::from_str(line).unwrap();
        let twice = facts.insert(value["record"].as_str().unwrap().to_owned(), value);
        assert!(twice.is_none(), "{}: twice there: {twice:?}", path.display());
    }
    facts
}

/// The journal of a record as it is kept.
pub fn journal(version: &str, record: &str) -> Vec<u8> {
    std::fs::read(here().join("records").join(version).join(record).join("journal.jsonl")).unwrap()
}

/// The whole lines of a journal.
pub fn events(journal: &[u8]) -> Vec<Value> {
    let end = journal.iter().rposition(|byte| *byte == b'\n').map_or(0, |end| end + 1);
    let text = std::str::from_utf8(&journal[..end]).unwrap();
    text.lines().map(|line| serde_json::from_str(line).unwrap()).collect()
}

/// A copy of the shop with the records of one version. It is gone when the test is over.
pub struct Shop {
    folder: TempDir,
}

/// What a command printed and how it ended.
pub struct Ran {
    pub code: i32,
    pub out: String,
    pub err: String,
}

impl Ran {
    /// Everything that it printed, on one line with single spaces.
    pub fn flat(&self) -> String {
        format!("{} {}", self.out, self.err).split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// It printed JSON.
    pub fn json(&self) -> Value {
        serde_json::from_str(&self.out).unwrap_or_else(|error| panic!("{error}: {}\n{}", self.out, self.err))
    }
}

impl Shop {
    pub fn of(version: &str) -> Self {
        let shop = Self { folder: tempfile::Builder::new().prefix("ohmwright-older-").tempdir().unwrap() };
        copy(&here().join("shop"), shop.folder.path());
        copy(&here().join("records").join(version), &shop.path("records"));
        // A checkout does not keep who may read a key.
        #[cfg(unix)]
        for key in std::fs::read_dir(shop.path("keys")).unwrap() {
            let alone = std::os::unix::fs::PermissionsExt::from_mode(0o600);
            std::fs::set_permissions(key.unwrap().path(), alone).unwrap();
        }
        shop
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// The journal of a record as it is here.
    pub fn journal_of(&self, record: &str) -> PathBuf {
        self.path("records").join(record).join("journal.jsonl")
    }

    /// The program with nothing of the environment but the time, and these lines typed.
    pub fn run(&self, time: &str, arguments: &[&str], typed: &[String]) -> Ran {
        let mut child = Command::new(env!("CARGO_BIN_EXE_ohmwright"))
            .args(arguments)
            .args(["--width", "1000"])
            .current_dir(self.folder.path())
            .env_clear()
            .envs([("OHMWRIGHT_CLOCK", time), ("NO_COLOR", "1"), ("TZ", "UTC")])
            .env("HOME", self.folder.path())
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let mut input = typed.join("\n");
        if !typed.is_empty() {
            input.push('\n');
        }
        // The program may end before it reads all that is typed.
        let _ = child.stdin.take().unwrap().write_all(input.as_bytes());
        let done = child.wait_with_output().unwrap();
        let text = |bytes| String::from_utf8(bytes).unwrap();
        let ran = Ran { code: done.status.code().unwrap_or(-1), out: text(done.stdout), err: text(done.stderr) };
        assert!((0..8).contains(&ran.code), "{arguments:?} ended with {}\n{}\n{}", ran.code, ran.out, ran.err);
        ran
    }

    /// The program at [`TIME`], with nothing typed.
    pub fn ask(&self, arguments: &[&str]) -> Ran {
        self.run(TIME, arguments, &[])
    }
}

fn copy(from: &Path, to: &Path) {
    for entry in walkdir::WalkDir::new(from).min_depth(1) {
        let entry = entry.unwrap();
        let target = to.join(entry.path().strip_prefix(from).unwrap());
        match entry.file_type().is_dir() {
            true => std::fs::create_dir_all(target).unwrap(),
            false => {
                std::fs::create_dir_all(target.parent().unwrap()).unwrap();
                std::fs::write(target, std::fs::read(entry.path()).unwrap()).unwrap();
            }
        }
    }
}

/// Every version's records are, under this key, as `expected` says.
pub fn assert_as_expected(key: &str, facts: impl Fn(&str) -> Facts) {
    let mut wrong = Vec::new();
    let mut looked_at = 0;
    for version in versions() {
        let expected = lines_of("expected", &version);
        let now = facts(&version);
        looked_at += now.len();
        assert_eq!(now.keys().collect::<Vec<_>>(), records(&version).iter().collect::<Vec<_>>(), "{version}");
        for (record, now) in now {
            let expected = expected.get(&record).map_or(&Value::Null, |line| &line[key]);
            if *expected != now {
                wrong.push(format!("{version} {record}\n  expected: {expected}\n  now:      {now}"));
            }
        }
    }
    assert!(wrong.is_empty(), "{} of {looked_at} records come out otherwise:\n{}", wrong.len(), wrong.join("\n"));
    assert!(looked_at > 100, "only {looked_at} records");
}
