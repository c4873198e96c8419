//! A shop in a folder of its own, and the program run in it with nothing from outside.

use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use tempfile::TempDir;

/// What a command printed and how it ended.
pub struct Ran {
    pub code: i32,
    pub out: String,
    pub err: String,
}

impl Ran {
    fn of(output: &Output) -> Self {
        Self {
            code: output.status.code().unwrap_or(-1),
            out: String::from_utf8_lossy(&output.stdout).into_owned(),
            err: String::from_utf8_lossy(&output.stderr).into_owned(),
        }
    }
    /// It came out well.
    pub fn good(self) -> Self {
        assert_eq!(self.code, 0, "{}\n{}", self.out, self.err);
        self
    }
    /// It ended with this code, and says this on standard error or output.
    pub fn says(self, code: i32, words: &str) -> Self {
        assert_eq!(self.code, code, "{}\n{}", self.out, self.err);
        let plain = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
        let all = plain(&format!("{} {}", self.out, self.err));
        assert!(all.contains(&plain(words)), "`{words}` is not in:\n{}\n{}", self.out, self.err);
        self
    }
}

pub const PROCEDURE: &str = r#"//! title = "Flap sensor"
//! revision = 1
//!
//! [causes]
//! reference_open = { cause = "Reference wire open", correction = "Repair it" }
//! signal_open = { cause = "Signal wire open", correction = "Repair it" }

step("Supply", near("lift", "exhaust"));
key_on();
let supply = read("supply", "Reference to ground", between(4.75.V, 5.25.V), across("reference", "ground"));
if supply.low { conclude("reference_open"); }
let track = sweep("track", "Turn the shaft", ends(0.5.V, 4.5.V), across("signal", "ground"), moving("flap"));
if track.follows { conclude("not_present"); }
key_off();
unplug("C41");
conclude("signal_open");
"#;

pub const ANSWERS: &str = r#"procedure = "flap"
[job]
vehicle = "Unit 7"
technician = "Ana Example"
[vehicle]
key = "off"
engine = "stopped"
lift = "down"
wheels = "chocked"
battery = "connected"
high_voltage = "absent"
[answers]
supply = "5.01"
track = [0.5, 1.5, 2.5, 3.5, 4.5]
"#;

pub const ROLES: &str = r#"name = "Example Shop"
[[role]]
name = "technician"
may_sign = ["performed"]
[[role]]
name = "lead"
may_sign = ["performed", "reviewed"]
"#;

/// OpenSSH's `ssh-keygen`, or a sentence that says what to install.
pub fn ssh_keygen(arguments: &[&str]) -> Command {
    installed("ssh-keygen", arguments)
}

/// A program that comes with OpenSSH.
pub fn installed(program: &str, arguments: &[&str]) -> Command {
    let there = Command::new(program).arg("-?").stdout(Stdio::null()).stderr(Stdio::null()).status();
    assert!(
        there.is_ok(),
        "{program} is not there: install OpenSSH's client (Debian: apt-get install openssh-client), without it \
         nothing shows that signatures are those of OpenSSH"
    );
    let mut command = Command::new(program);
    command.args(arguments);
    command
}

/// A shop: Ana, a technician, and Lea, the lead.
pub struct Shop {
    pub folder: TempDir,
}

impl Shop {
    /// With keys and one record, of a run that named its cause.
    pub fn new() -> Self {
        let shop = Self::without_record(PROCEDURE);
        shop.at("2026-11-24T09:00:00Z", &["run", "flap", "--answers", "answers.toml"]).good();
        shop
    }

    pub fn without_record(procedure: &str) -> Self {
        let shop = Self { folder: TempDir::new().unwrap() };
        std::fs::create_dir(shop.path("procedures")).unwrap();
        shop.write("procedures/flap.rhai", procedure);
        shop.write("answers.toml", ANSWERS);
        for name in ["ana", "lea", "other"] {
            shop.new_key(name, "");
        }
        let ana = shop.person("Ana Example", "technician", "ana", "");
        let lea = shop.person("Lea Lead", "lead", "lea", "");
        shop.write("shop.toml", &format!("{ROLES}{ana}{lea}"));
        shop
    }

    /// A key made by OpenSSH.
    pub fn new_key(&self, name: &str, passphrase: &str) {
        self.new_key_of(&["-t", "ed25519"], name, passphrase);
    }

    /// A key of some kind made by OpenSSH.
    pub fn new_key_of(&self, kind: &[&str], name: &str, passphrase: &str) {
        let rest = ["-q", "-N", passphrase, "-C", "a comment", "-f", name];
        self.keygen(&[kind, &rest].concat());
    }

    /// OpenSSH's `ssh-keygen` in the shop's folder, with success.
    pub fn keygen(&self, arguments: &[&str]) -> Output {
        let output = ssh_keygen(arguments).current_dir(self.folder.path()).output().unwrap();
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        output
    }

    /// A record of a run that named its cause, and no other.
    pub fn new_record(&self) {
        let _ = std::fs::remove_dir_all(self.path("records"));
        self.at("2026-11-24T09:00:00Z", &["run", "flap", "--answers", "answers.toml"]).good();
    }

    /// Only Ana is listed, as the lead, with this text as her key.
    pub fn only_ana(&self, key: &str) {
        let key = toml::Value::from(key.trim());
        let ana = format!("[[person]]\nname = \"Ana Example\"\nrole = \"lead\"\nkey = {key}\n");
        self.write("shop.toml", &format!("{ROLES}{ana}"));
    }

    pub fn person(&self, name: &str, role: &str, key: &str, more: &str) -> String {
        let public = self.read(&format!("{key}.pub"));
        format!("[[person]]\nname = \"{name}\"\nrole = \"{role}\"\nkey = \"{}\"\n{more}\n", public.trim())
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }
    pub fn read(&self, name: &str) -> String {
        std::fs::read_to_string(self.path(name)).unwrap()
    }
    pub fn write(&self, name: &str, text: &str) {
        std::fs::write(self.path(name), text).unwrap();
        // A passphrase is its owner's alone.
        #[cfg(unix)]
        std::fs::set_permissions(self.path(name), std::os::unix::fs::PermissionsExt::from_mode(0o600)).unwrap();
    }

    /// The program in the shop's folder, at this time.
    pub fn at(&self, time: &str, arguments: &[&str]) -> Ran {
        self.with(time, &[], self.folder.path(), arguments, "")
    }

    /// The program with nothing of the environment but what is given.
    pub fn with(
        &self,
        time: &str,
        environment: &[(&str, &str)],
        folder: &Path,
        arguments: &[&str],
        input: &str,
    ) -> Ran {
        use std::io::Write;
        let mut child = Command::new(env!("CARGO_BIN_EXE_ohmwright"))
            .args(arguments)
            .current_dir(folder)
            .env_clear()
            .env("OHMWRIGHT_CLOCK", time)
            .env("HOME", self.folder.path())
            .envs(environment.iter().copied())
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        // The program may end before it reads all that is typed.
        let _ = child.stdin.take().unwrap().write_all(input.as_bytes());
        Ran::of(&child.wait_with_output().unwrap())
    }

    pub fn sign(&self, time: &str, name: &str, key: &str, meaning: &str) -> Ran {
        self.at(time, &["sign", "--as", name, "--key", key, "--meaning", meaning])
    }
    pub fn sign_as_ana(&self) -> Ran {
        self.sign("2026-11-24T10:00:00Z", "Ana Example", "ana", "performed")
    }
    pub fn sign_as_lea(&self) -> Ran {
        self.sign("2026-11-24T11:00:00Z", "Lea Lead", "lea", "reviewed")
    }
    pub fn verify(&self) -> Ran {
        self.at("2026-11-24T12:00:00Z", &["verify", "--width", "240"])
    }

    /// The only record.
    pub fn record(&self) -> String {
        let mut names: Vec<_> = std::fs::read_dir(self.path("records"))
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .filter(|name| name != "sources" && !name.starts_with('.'))
            .collect();
        assert_eq!(names.len(), 1, "{names:?}");
        names.remove(0)
    }
    pub fn journal_path(&self) -> PathBuf {
        self.path("records").join(self.record()).join("journal.jsonl")
    }
    pub fn journal(&self) -> Vec<u8> {
        std::fs::read(self.journal_path()).unwrap()
    }
    pub fn lines(&self) -> Vec<String> {
        String::from_utf8(self.journal()).unwrap().lines().map(str::to_owned).collect()
    }
    pub fn set_lines(&self, lines: &[String]) {
        std::fs::write(self.journal_path(), lines.join("\n") + "\n").unwrap();
    }
}
