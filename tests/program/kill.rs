//! Killed in earnest: the process is ended from outside at many moments, and nothing that it acknowledged is lost.

use crate::place::{Place, SAFE, events, of_kind};
use serde_json::Value;
use std::io::{Read, Write};
use std::process::{Child, Command, Stdio};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

/// Every kind of event that typing brings about, and a line of readings that takes a while to write.
const BODY: &str = "step(\"First\", near(\"lift\"));\nkey_on();\n\
    let supply = read(\"supply\", \"Reference\", between(4.75.V, 5.25.V), across(\"reference\", \"ground\"));\n\
    let track = sweep(\"track\", \"Turn the shaft\", ends(0.V, 4.5.V), across(\"signal\", \"ground\"), moving(\"shaft\"));\n\
    step(\"Second\");\nkey_off();\nunplug(\"C41\");\n\
    let seen = ask(\"seen\", \"Is it corroded?\");\n\
    let how = choose(\"how\", \"What is it like?\", [\"loose\", \"tight\"]);\n\
    let words = note(\"words\", \"What else?\");\nconclude(\"wire\");\n";
/// Readings that are typed on one line.
const PASTED: usize = 40;
/// Long enough that a busy machine does not fail a test.
const PATIENCE: Duration = Duration::from_secs(60);

fn readings() -> Vec<String> {
    (0..PASTED).map(|number| format!("{:.2}", number as f64 * 4.5 / (PASTED - 1) as f64)).collect()
}

/// What is typed for the whole run: a doubt, a slip in the sweep that is taken back, a note.
fn lines() -> Vec<String> {
    let mut lines: Vec<String> = ["", "49.98", "4.998"].map(str::to_owned).to_vec();
    lines.push(readings().join(" "));
    lines.extend(["9.9", "back", "", "note all dry", "", "", "2", "2", "rust Ω", "", "", ""].map(str::to_owned));
    lines
}

/// What is left to be typed after what the journal holds, when the run is taken up: the vehicle first.
fn left(happened: &[Value]) -> Vec<String> {
    let mut standing: Vec<&str> = Vec::new();
    for event in happened {
        match event["event"].as_str().unwrap() {
            "sweep_read" => standing.push(event["text"].as_str().unwrap()),
            "struck" => _ = standing.pop(),
            _ => {}
        }
    }
    let count = |kind: &str| of_kind(happened, kind).len();
    let back = of_kind(happened, "acted").into_iter().filter(|event| event["back"] == true).count();
    let (acted, answered) = (count("acted") - back, count("answered"));
    let mut left = vec![String::new()];
    let mut type_if = |missing: bool, line: &str| {
        if missing {
            left.push(line.to_owned());
        }
    };
    type_if(acted < 1, "");
    type_if(answered < 1 && count("doubted") < 1, "49.98");
    type_if(answered < 1, "4.998");
    if answered < 2 {
        let rest = readings().get(standing.len()..).unwrap_or_default().join(" ");
        type_if(!rest.is_empty(), &rest);
        type_if(count("struck") < 1 && !standing.contains(&"9.9"), "9.9");
        type_if(count("struck") < 1, "back");
        type_if(true, "");
    }
    type_if(count("noted") < 1, "note all dry");
    type_if(acted < 2, "");
    type_if(acted < 3, "");
    type_if(answered < 3, "2");
    type_if(answered < 4, "2");
    type_if(answered < 5, "rust Ω");
    // What it concludes stands; the leads come off and C41 is plugged in.
    type_if(count("concluded") < 1, "");
    type_if(back < 1 && count("concluded") < 1, "");
    type_if(back < 2 && count("concluded") < 1, "");
    left
}

/// How many of the typed lines are in the journal for good.
fn recorded_lines(happened: &[Value]) -> usize {
    // That the conclusion stands is seen by the way back, and said again where the run was broken off on it.
    let is_left = of_kind(happened, "left_changed").len() - of_kind(happened, "concluded").len();
    1 + lines().len() - left(happened).len() + is_left
}

/// The program with somebody before it.
struct Sitting {
    child: Child,
    shown: Arc<Mutex<Vec<u8>>>,
    reader: std::thread::JoinHandle<()>,
}

impl Sitting {
    fn begin(place: &Place) -> Self {
        let mut command = place.run_at_vehicle(&SAFE).command();
        let mut child = command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::null()).spawn().unwrap();
        let shown = Arc::new(Mutex::new(Vec::new()));
        let mut out = child.stdout.take().unwrap();
        let seen = Arc::clone(&shown);
        let reader = std::thread::spawn(move || {
            let mut buffer = [0; 4096];
            while let Ok(read @ 1..) = out.read(&mut buffer) {
                seen.lock().unwrap().extend_from_slice(&buffer[..read]);
            }
        });
        Self { child, shown, reader }
    }

    /// How many times something was asked so far: each prompt ends so, and nothing that is typed here has it.
    fn prompts(&self) -> usize {
        prompts(&self.shown.lock().unwrap())
    }

    fn type_line(&mut self, line: &str) {
        let stdin = self.child.stdin.as_mut().unwrap();
        stdin.write_all(format!("{line}\n").as_bytes()).unwrap();
        stdin.flush().unwrap();
    }

    /// Types the first lines, each when it is asked for.
    fn type_up_to(&mut self, number: usize) {
        for (index, line) in lines()[..number].iter().enumerate() {
            wait_until(|| self.prompts() > index);
            self.type_line(line);
        }
    }

    /// Ends the process and returns how many prompts it had shown.
    fn kill(mut self) -> usize {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
        self.reader.join().unwrap();
        let shown = self.shown.lock().unwrap();
        prompts(&shown)
    }
}

fn prompts(shown: &[u8]) -> usize {
    shown.windows(2).filter(|pair| *pair == b"> ").count()
}

fn wait_until(done: impl Fn() -> bool) {
    let began = Instant::now();
    while !done() {
        assert!(began.elapsed() < PATIENCE, "it took too long");
        std::thread::yield_now();
    }
}

/// What the script brought about, without times and without what was struck.
fn standing(happened: &[Value]) -> Vec<Value> {
    let mut standing: Vec<Value> = Vec::new();
    for event in happened {
        match event["event"].as_str().unwrap() {
            "struck" => _ = standing.pop(),
            "step_began" | "acted" | "sweep_read" | "answered" | "concluded" => {
                let mut event = event.clone();
                event.as_object_mut().unwrap().remove("at");
                standing.push(event);
            }
            _ => {}
        }
    }
    standing
}

/// What lies on disk after the kill; nothing but whole lines and at most one torn one.
struct Left {
    whole: String,
    events: Vec<Value>,
}

fn left_on_disk(place: &Place) -> Option<Left> {
    let [record] = place.records().try_into().ok()?;
    let bytes = std::fs::read(place.journal_of(&record)).unwrap();
    let end = bytes.iter().rposition(|byte| *byte == b'\n').map_or(0, |end| end + 1);
    let whole = String::from_utf8(bytes[..end].to_vec()).unwrap();
    let events = events(&whole);
    (!events.is_empty()).then_some(Left { whole, events })
}

/// Takes the run up again and types what is left: it comes to the same, and asks for nothing that was recorded.
fn taken_up(place: &Place, left_there: &Left, whole: &[Value], moment: &str) {
    let rest = left(&left_there.events);
    let rest: Vec<&str> = rest.iter().map(String::as_str).collect();
    let shown = place.call("resume").typing(&rest).go();
    assert_eq!(shown.code, 0, "{moment}\n{shown}");
    let journal = std::fs::read_to_string(place.journal_of(&place.record())).unwrap();
    assert!(journal.starts_with(&left_there.whole), "{moment}: what stood before stands after\n{shown}");
    let after = events(&journal);
    assert_eq!(standing(&after), whole, "{moment}\n{shown}");
    // Every line that is left was asked for once, and no other.
    assert_eq!(prompts(shown.out.as_bytes()), rest.len(), "{moment}\n{shown}");
    for (kind, times) in [("doubted", 1), ("noted", 1), ("struck", 1), ("answered", 5), ("acted", 5)] {
        assert_eq!(of_kind(&after, kind).len(), times, "{moment}: {kind}\n{shown}");
    }
}

fn whole_run() -> Vec<Value> {
    let place = Place::with(BODY);
    let lines = lines();
    let lines: Vec<&str> = lines.iter().map(String::as_str).collect();
    place.at_vehicle(&lines).ended(0);
    standing(&place.events())
}

#[test]
fn killed_at_any_prompt_and_at_once_after_any_line_nothing_acknowledged_is_lost_and_nothing_asked_twice() {
    let whole = whole_run();
    let mut moments = 0;
    for number in 0..lines().len() {
        for (pause, what) in [
            (Some(Duration::ZERO), "at once after"),
            (Some(Duration::from_micros(300)), "a little after"),
            (None, "at the prompt after"),
        ] {
            let moment = format!("killed {what} line {number}");
            let place = Place::with(BODY);
            let mut sitting = Sitting::begin(&place);
            sitting.type_up_to(number);
            match pause {
                Some(pause) => {
                    wait_until(|| sitting.prompts() > number);
                    sitting.type_line(&lines()[number]);
                    let until = Instant::now() + pause;
                    while Instant::now() < until {
                        std::hint::spin_loop();
                    }
                }
                None => wait_until(|| sitting.prompts() > number),
            }
            let prompts = sitting.kill();
            let left_there = left_on_disk(&place).expect(&moment);
            // The next prompt says that the line before it was taken.
            let acknowledged = prompts - 1;
            let recorded = recorded_lines(&left_there.events);
            assert!(recorded >= acknowledged, "{moment}: {acknowledged} acknowledged, {recorded} recorded");
            assert!(recorded <= number + 1, "{moment}: {recorded} recorded of {number} typed");
            if left_there.events.last().unwrap()["event"] == "concluded" {
                assert_eq!(standing(&left_there.events), whole, "{moment}");
            } else {
                taken_up(&place, &left_there, &whole, &moment);
            }
            moments += 1;
        }
    }
    assert!(moments >= 20, "{moments}");
}

#[test]
fn killed_while_it_writes_a_line_of_readings_it_goes_on_with_the_next_reading() {
    let whole = whole_run();
    let mut within = 0;
    for reading in 1..PASTED {
        let moment = format!("killed while it wrote reading {reading}");
        let place = Place::with(BODY);
        let mut sitting = Sitting::begin(&place);
        sitting.type_up_to(3);
        wait_until(|| sitting.prompts() > 3);
        let journal = place.journal_of(&place.record());
        let begun = std::fs::metadata(&journal).unwrap().len();
        sitting.type_line(&lines()[3]);
        // Each reading is a line of its own, and written by itself.
        let line = "{\"at\":\"2026-11-24T09:00:00Z\",\"event\":\"sweep_read\",\"id\":\"track\",\"text\":\"0.00\",\"origin\":{\"from\":\"input\"}}\n";
        let enough = begun + (line.len() * reading) as u64;
        wait_until(|| std::fs::metadata(&journal).unwrap().len() >= enough);
        sitting.kill();
        let left_there = left_on_disk(&place).unwrap();
        let written = of_kind(&left_there.events, "sweep_read").len();
        assert!(written >= reading, "{moment}: {written}");
        within += usize::from(written < PASTED);
        taken_up(&place, &left_there, &whole, &moment);
    }
    // On a machine that is busy a kill may come late, but not every time.
    assert!(within >= 10, "only {within} of {} kills came while it wrote", PASTED - 1);
}

/// What the program asked of the system, line by line: writes and syncs.
fn traced(place: &Place, typed: &str) -> String {
    let inner = place.run_at_vehicle(&SAFE).command();
    let trace = place.path("trace");
    let mut command = Command::new("strace");
    command.args(["-f", "-e", "trace=write,fdatasync,fsync", "-s", "120", "-o"]).arg(&trace);
    command.arg(inner.get_program()).args(inner.get_args()).current_dir(inner.get_current_dir().unwrap()).env_clear();
    command.envs(inner.get_envs().filter_map(|(name, value)| Some((name, value?))));
    let child = command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn();
    let mut child = child.unwrap_or_else(|error| panic!("strace can't be started ({error}): apt-get install strace"));
    // It may have ended before it reads what is typed.
    let _ = child.stdin.take().unwrap().write_all(typed.as_bytes());
    let done = child.wait_with_output().unwrap();
    let said = String::from_utf8_lossy(&done.stderr);
    assert_eq!(
        done.status.code(),
        Some(0),
        "strace must be there and allowed to trace (apt-get install strace; in a container: SYS_PTRACE): {said}"
    );
    std::fs::read_to_string(trace).unwrap()
}

#[test]
fn what_was_answered_is_on_disk_before_anything_more_is_shown() {
    let place = Place::with(BODY);
    let trace = traced(&place, &(lines().join("\n") + "\n"));
    // The journal's line that was written and not yet synced.
    let mut pending: Option<&str> = None;
    let (mut answers, mut prompts) = (0, 0);
    for line in trace.lines() {
        let (_, call) = line.split_once(' ').unwrap();
        let call = call.trim_start();
        if call.contains(r#"{\"at\":"#) {
            pending = Some(line);
            answers += usize::from(call.contains(r#"\"event\":\"answered\""#));
        } else if (call.contains("fdatasync") || call.contains("fsync")) && call.ends_with("= 0") {
            pending = None;
        } else if call.starts_with("write(1,") {
            assert_eq!(pending, None, "shown before that was on disk: {line}\n{trace}");
            prompts += usize::from(call.contains("> \""));
        }
    }
    assert_eq!(pending, None, "never brought to disk");
    assert_eq!((answers, prompts), (5, lines().len()), "{trace}");
}
