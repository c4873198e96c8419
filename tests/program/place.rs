//! A place of its own for every test: an empty folder, an empty environment, a clock that stands still.

use serde_json::Value;
use std::ffi::OsStr;
use std::fmt;
use std::net::Shutdown;
use std::os::fd::OwnedFd;
use std::os::unix::fs::{MetadataExt, PermissionsExt};
use std::os::unix::net::UnixDatagram;
use std::os::unix::process::CommandExt;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// The clock that every test starts from.
pub const CLOCK: &str = "2026-11-24T09:00:00Z";

/// What is said of a vehicle on which no caution fires by itself.
pub const SAFE: [&str; 7] =
    ["key=off", "engine=stopped", "ran=600", "lift=down", "wheels=chocked", "battery=connected", "high_voltage=absent"];

/// A folder that is gone when the test is over.
pub struct Place {
    folder: tempfile::TempDir,
}

/// One call of the program.
pub struct Call<'a> {
    place: &'a Place,
    arguments: Vec<String>,
    input: Vec<u8>,
    environment: Vec<(String, String)>,
    under: String,
    width: usize,
    program: PathBuf,
    user: Option<u32>,
    in_vain: bool,
}

/// What a call printed, and how it ended.
#[derive(Clone, PartialEq, Eq)]
pub struct Shown {
    /// The exit code.
    pub code: i32,
    /// Standard output.
    pub out: String,
    /// Standard error.
    pub err: String,
}

impl Place {
    pub fn new() -> Self {
        Self { folder: tempfile::Builder::new().prefix("ohmwright-test-").tempdir().unwrap() }
    }

    /// With a procedure in it, `p.rhai`: a header that is as short as may be, then `body`.
    pub fn with(body: &str) -> Self {
        let place = Self::new();
        place.procedure(body);
        place
    }

    /// Writes `p.rhai` again.
    pub fn procedure(&self, body: &str) -> &Self {
        let header = "//! title = \"Test\"\n//! revision = 1\n//! [causes]\n\
            //! wire = { cause = \"Wire open\", correction = \"Repair the wire\" }\n\
            //! part = { cause = \"Part worn\", correction = \"Replace the part\" }\n";
        self.file("p.rhai", format!("{header}{body}"))
    }

    /// A shipped circuit of the shop's own, with nothing hazardous near any of its places: where a test is about something else.
    pub fn harmless_circuit(&self, name: &str) -> &Self {
        let path = format!("{}/procedures/circuits/{name}.toml", env!("CARGO_MANIFEST_DIR"));
        let text = std::fs::read_to_string(path).unwrap();
        let mut parts = text.split("near = [");
        let mut harmless = parts.next().unwrap().to_owned();
        for part in parts {
            harmless.push_str("near = [");
            harmless.push_str(&part[part.find(']').unwrap()..]);
        }
        self.file("shop.toml", "name = \"Shop\"\n").file(&format!("circuits/{name}.toml"), harmless)
    }

    /// Writes a file, with the folders that it needs.
    pub fn file(&self, path: &str, content: impl AsRef<[u8]>) -> &Self {
        let path = self.path(path);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, content).unwrap();
        self
    }

    pub fn path(&self, path: &str) -> PathBuf {
        self.folder.path().join(path)
    }

    pub fn read(&self, path: &str) -> String {
        std::fs::read_to_string(self.path(path)).unwrap()
    }

    /// A call of the program with these arguments, split at spaces.
    pub fn call(&self, arguments: &str) -> Call<'_> {
        Call {
            place: self,
            arguments: arguments.split(' ').filter(|word| !word.is_empty()).map(str::to_owned).collect(),
            input: Vec::new(),
            environment: vec![
                ("OHMWRIGHT_CLOCK".to_owned(), CLOCK.to_owned()),
                ("NO_COLOR".to_owned(), "1".to_owned()),
            ],
            under: String::new(),
            width: 80,
            program: env!("CARGO_BIN_EXE_ohmwright").into(),
            user: None,
            in_vain: false,
        }
    }

    /// Runs `p.rhai` at the vehicle, on which nothing is hazardous, and types these lines.
    #[track_caller]
    pub fn at_vehicle(&self, lines: &[&str]) -> Shown {
        self.run_at_vehicle(&SAFE).typing(lines).go()
    }

    /// Runs `p.rhai` at the vehicle and lets stand what it concludes.
    #[track_caller]
    pub fn to_the_end(&self, lines: &[&str]) -> Shown {
        self.run_at_vehicle(&SAFE).typing(lines).typing(&LET_STAND).go()
    }

    /// Runs `p.rhai` at the vehicle: the job is known, the vehicle stands as said.
    pub fn run_at_vehicle(&self, states: &[&str]) -> Call<'_> {
        self.file("job.toml", "[job]\nvehicle = \"Unit 12\"\ntechnician = \"A. Tester\"\n");
        let mut call = self.call("run p.rhai --job job.toml");
        for state in states {
            call = call.and(&["--state", state]);
        }
        call
    }

    /// Runs `p.rhai` from an answers file with these lines under `[answers]`.
    #[track_caller]
    pub fn with_answers(&self, answers: &str) -> Shown {
        let before = self.records();
        let shown = self.answers(answers).call("run p.rhai --answers answers.toml").go();
        self.asked_for_all(answers, &before, &shown);
        shown
    }

    /// The run that came after these records asked for each of these answers, unless it failed on its way: what nobody asked for
    /// would answer a prompt too many in silence.
    #[track_caller]
    pub fn asked_for_all(&self, answers: &str, before: &[String], shown: &Shown) {
        if shown.code == 3 {
            return;
        }
        let written: toml::Table = answers.parse().unwrap();
        for record in self.records().iter().filter(|record| !before.contains(record)) {
            let waits = |id: &&str| shown.flat().contains(&format!("Waits for `{id}`"));
            let mut left = not_asked(&self.events_of(record), written.keys().map(String::as_str));
            left.retain(|id| !waits(id));
            assert!(left.is_empty(), "answers that were not asked for: {left:?}\n{shown}");
        }
    }

    /// Writes `answers.toml` for `p`, on a vehicle on which nothing is hazardous.
    pub fn answers(&self, answers: &str) -> &Self {
        self.file(
            "answers.toml",
            format!(
                "procedure = \"p\"\n[vehicle]\nkey = \"off\"\nengine = \"stopped\"\nengine_stopped_at = 0\n\
                 lift = \"down\"\nwheels = \"chocked\"\nbattery = \"connected\"\nhigh_voltage = \"absent\"\n\
                 [answers]\n{answers}"
            ),
        )
    }

    /// Names of the records, sorted.
    pub fn records(&self) -> Vec<String> {
        let Ok(entries) = std::fs::read_dir(self.path("records")) else { return vec![] };
        let mut names: Vec<String> = entries
            .map(|entry| entry.unwrap())
            .filter(|entry| entry.path().join("journal.jsonl").is_file())
            .map(|entry| entry.file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    }

    /// The only record's name.
    pub fn record(&self) -> String {
        match self.records().as_slice() {
            [one] => one.clone(),
            other => panic!("one record expected, not {other:?}"),
        }
    }

    /// Where a record's journal lies.
    pub fn journal_of(&self, record: &str) -> PathBuf {
        self.path("records").join(record).join("journal.jsonl")
    }

    /// Every record's name with its journal's text.
    pub fn journals(&self) -> Vec<(String, String)> {
        let names = self.records().into_iter();
        names.map(|name| (name.clone(), std::fs::read_to_string(self.journal_of(&name)).unwrap())).collect()
    }

    /// The events of the only record.
    pub fn events(&self) -> Vec<Value> {
        self.events_of(&self.record())
    }

    /// The events of a record.
    pub fn events_of(&self, record: &str) -> Vec<Value> {
        events(&std::fs::read_to_string(self.journal_of(record)).unwrap())
    }
}

/// The events of a journal's text; every line must be whole.
pub fn events(text: &str) -> Vec<Value> {
    assert!(text.is_empty() || text.ends_with('\n'), "the journal's last line is torn: {text:?}");
    text.lines().map(|line| serde_json::from_str(line).unwrap()).collect()
}

/// The same journal as a program wrote it that knew only format 1.
pub fn as_format_1(journal: &str) -> String {
    /// Takes out what stands from `begins` to `ends`, both included.
    fn without(line: &str, begins: &str, ends: &str) -> String {
        let Some((before, rest)) = line.split_once(begins) else { return line.to_owned() };
        let (_, after) = rest.split_once(ends).unwrap();
        format!("{before}{after}")
    }
    let older = |line: &str| {
        let line =
            line.replace("\"format\":2,\"behavior\":4,", "\"format\":1,").replace("\"subject\":\"procedure\",", "");
        let line = without(&without(&line, "\"record\":\"", "\","), "\"station\":\"", "\",");
        let line = line.replace(",\"origin\":{\"from\":\"carried_over\"}", ",\"carried\":true");
        format!("{}\n", without(&line, ",\"origin\":{", "}"))
    };
    journal
        .lines()
        .filter(|line| !line.contains("\"event\":\"continued\"") && !line.contains("\"event\":\"left_changed\""))
        .map(older)
        .collect()
}

/// Events of this kind.
pub fn of_kind<'a>(events: &'a [Value], kind: &str) -> Vec<&'a Value> {
    events.iter().filter(|event| event["event"] == kind).collect()
}

/// Typed where the cause is shown: it stands.
pub const LET_STAND: [&str; 1] = [""];

/// What was typed at a prompt, every answer of it.
pub fn typed(events: &[Value], id: &str) -> Vec<String> {
    of_kind(events, "answered")
        .into_iter()
        .filter(|event| event["id"] == id)
        .map(|event| event["typed"].as_str().unwrap_or_default().to_owned())
        .collect()
}

/// Those of these ids that were not asked for.
pub fn not_asked<'a>(events: &[Value], ids: impl IntoIterator<Item = &'a str>) -> Vec<&'a str> {
    let asked =
        |id: &str| events.iter().any(|event| [&event["id"], &event["prompt"]["id"]].iter().any(|found| **found == id));
    ids.into_iter().filter(|id| !asked(id)).collect()
}

/// The kinds of events, in order.
pub fn kinds(events: &[Value]) -> Vec<&str> {
    events.iter().map(|event| event["event"].as_str().unwrap()).collect()
}

impl Call<'_> {
    /// More arguments.
    pub fn and(mut self, arguments: &[&str]) -> Self {
        self.arguments.extend(arguments.iter().map(|argument| (*argument).to_owned()));
        self
    }

    /// Lines typed, one after the other; then the input ends.
    pub fn typing(mut self, lines: &[&str]) -> Self {
        for line in lines {
            self.input.extend_from_slice(line.as_bytes());
            self.input.push(b'\n');
        }
        self
    }

    /// Another time than [`CLOCK`].
    pub fn clock(self, time: &str) -> Self {
        self.variable("OHMWRIGHT_CLOCK", time)
    }

    pub fn variable(mut self, name: &str, value: &str) -> Self {
        self.environment.retain(|(known, _)| known != name);
        self.environment.push((name.to_owned(), value.to_owned()));
        self
    }

    /// Colors are not switched off.
    pub fn colored(mut self) -> Self {
        self.environment.retain(|(name, _)| name != "NO_COLOR");
        self
    }

    pub fn width(mut self, columns: usize) -> Self {
        self.width = columns;
        self
    }

    /// Shell words that come first in the process: limits, for instance.
    pub fn under(mut self, shell: &str) -> Self {
        self.under = shell.to_owned();
        self
    }

    /// As somebody whom a file's rights bind: to root they mean nothing, so that root hands everything here to a user who has
    /// nothing else, and lets that one run the program.
    pub fn bound_by_rights(mut self) -> Self {
        const NOBODY: u32 = 65534;
        let folder = self.place.folder.path();
        // What this process makes belongs to whom it runs as.
        let made = tempfile::NamedTempFile::new_in(folder).unwrap();
        if made.as_file().metadata().unwrap().uid() != 0 {
            return self;
        }
        drop(made);
        let own = folder.join("program");
        // By another process: what this one has open for writing, a test beside it may hand on to a child, and then it can't be run.
        assert!(Command::new("cp").args([self.program.as_os_str(), own.as_os_str()]).status().unwrap().success());
        for entry in walkdir::WalkDir::new(folder) {
            std::os::unix::fs::chown(entry.unwrap().path(), Some(NOBODY), Some(NOBODY)).unwrap();
        }
        let runs = Command::new(&own).arg("--version").uid(NOBODY).gid(NOBODY).output();
        assert!(
            runs.is_ok_and(|output| output.status.success()),
            "a user without rights can't run the program in {}: set TMPDIR to a folder that everybody may enter",
            folder.display()
        );
        (self.program, self.user) = (own, Some(NOBODY));
        self
    }

    /// As another account, where this one may become that: everything here stays whose it is.
    pub fn by_another_account(mut self) -> Self {
        const NOBODY: u32 = 65534;
        let folder = self.place.folder.path();
        let made = tempfile::NamedTempFile::new_in(folder).unwrap();
        if made.as_file().metadata().unwrap().uid() != 0 {
            return self;
        }
        std::fs::set_permissions(folder, std::fs::Permissions::from_mode(0o755)).unwrap();
        let own = folder.join("program");
        assert!(Command::new("cp").args([self.program.as_os_str(), own.as_os_str()]).status().unwrap().success());
        (self.program, self.user) = (own, Some(NOBODY));
        self
    }

    /// The command as it will be started.
    pub fn command(&self) -> Command {
        let program = &self.program;
        let width = self.width.to_string();
        let arguments = || {
            self.arguments.iter().map(OsStr::new).chain([OsStr::new("--width"), OsStr::new(&width)]).collect::<Vec<_>>()
        };
        let mut command = if self.under.is_empty() {
            let mut command = Command::new(program);
            command.args(arguments());
            command
        } else {
            let mut command = Command::new("/bin/sh");
            command.arg("-c").arg(format!("{}; exec \"$0\" \"$@\"", self.under)).arg(program).args(arguments());
            command
        };
        if let Some(user) = self.user {
            command.uid(user).gid(user);
        }
        command
            .current_dir(self.place.folder.path())
            .env_clear()
            .env("PATH", std::env::var_os("PATH").unwrap_or_default())
            .env("HOME", self.place.folder.path())
            .env("TERM", "xterm")
            .envs(self.environment.iter().map(|(name, value)| (name.as_str(), value.as_str())));
        command
    }

    /// Some of what is typed is not asked for, and that is what the test is about.
    pub fn in_vain(mut self) -> Self {
        self.in_vain = true;
        self
    }

    /// Runs it to its end. A line that was typed and never read is a prompt less than the test says, or would answer one too many.
    #[track_caller]
    pub fn go(self) -> Shown {
        // A packet for each line: what the program did not read lies here still when it has ended.
        let (ours, theirs) = UnixDatagram::pair().unwrap();
        let stdin = OwnedFd::from(theirs.try_clone().unwrap());
        let child = self.command().stdin(stdin).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        let packets: Vec<Vec<u8>> = self
            .input
            .split_inclusive(|byte| *byte == b'\n')
            .flat_map(|line| line.chunks(4096))
            .map(<[u8]>::to_vec)
            .collect();
        let their_end = theirs.try_clone().unwrap();
        let writer = std::thread::spawn(move || {
            for packet in packets {
                ours.send(&packet).unwrap();
            }
            their_end.shutdown(Shutdown::Read).unwrap();
        });
        let done = child.wait_with_output().unwrap();
        theirs.set_nonblocking(true).unwrap();
        let mut unread = Vec::new();
        let mut packet = [0; 4096];
        loop {
            let written = writer.is_finished();
            match theirs.recv(&mut packet) {
                Ok(1..) if packet[0] == b'\n' => unread.push(String::new()),
                Ok(length @ 1..) => unread.push(String::from_utf8_lossy(&packet[..length]).trim_end().to_owned()),
                _ if written => break,
                _ => std::thread::yield_now(),
            }
        }
        writer.join().unwrap();
        let folder = self.place.folder.path();
        let text = |bytes: &[u8]| plain(core::str::from_utf8(bytes).unwrap(), folder);
        let shown = Shown { code: done.status.code().unwrap_or(-1), out: text(&done.stdout), err: text(&done.stderr) };
        assert!(self.in_vain || unread.is_empty(), "typed and never asked for: {unread:?}\n{shown}");
        assert!(!self.in_vain || !unread.is_empty(), "every line was asked for\n{shown}");
        shown
    }
}

fn plain(text: &str, folder: &Path) -> String {
    text.replace(folder.to_str().unwrap(), "[folder]")
}

impl Shown {
    /// The same, having ended with this code.
    #[track_caller]
    pub fn ended(self, code: i32) -> Self {
        assert_eq!(self.code, code, "{self}");
        self.without_panic()
    }

    /// The same, having neither panicked nor been killed.
    #[track_caller]
    pub fn without_panic(self) -> Self {
        let both = format!("{}{}", self.out, self.err);
        assert!(!both.contains("panicked") && !both.contains("RUST_BACKTRACE"), "{self}");
        assert!((0..=7).contains(&self.code) || self.code == 9, "{self}");
        self
    }

    /// The same, with these words in what it printed, however the lines were broken.
    #[track_caller]
    pub fn says(self, words: &str) -> Self {
        assert!(self.flat().contains(words), "`{words}` is missing:\n{self}");
        self
    }

    /// The same, without these words.
    #[track_caller]
    pub fn never_says(self, words: &str) -> Self {
        assert!(!self.flat().contains(words), "`{words}` is there:\n{self}");
        self
    }

    /// Everything printed, on one line with single spaces.
    pub fn flat(&self) -> String {
        format!("{} {}", self.out, self.err).split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// How often these words were printed.
    pub fn count(&self, words: &str) -> usize {
        self.flat().matches(words).count()
    }
}

impl fmt::Display for Shown {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let line = |text: &str| text.lines().map(str::trim_end).collect::<Vec<_>>().join("\n");
        write!(f, "exit {}", self.code)?;
        if !self.out.is_empty() {
            write!(f, "\n--- stdout\n{}", line(&self.out))?;
        }
        if !self.err.is_empty() {
            write!(f, "\n--- stderr\n{}", line(&self.err))?;
        }
        Ok(())
    }
}

impl fmt::Debug for Shown {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{self}")
    }
}
