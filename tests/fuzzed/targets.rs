//! What is read from outside, each as one function over any bytes: it comes back, or it panics. The fuzzer and the tests both
//! call them; what is wrong with the bytes is of no interest here.

use ohmwright::circuit::file;
use ohmwright::circuit::meter::bench_meter;
use ohmwright::cli::keys::key_file::KeyFile;
use ohmwright::cli::terminal::plain_word::PlainWord;
use ohmwright::model::answered_by::AnsweredBy;
use ohmwright::model::caution::CautionRules;
use ohmwright::model::ending::{Ending, Why};
use ohmwright::model::event::{Entry, Event};
use ohmwright::model::format::{FIRST_FORMAT, FORMAT};
use ohmwright::model::origin::Origin;
use ohmwright::model::stamp::Stamp;
use ohmwright::model::started::Started;
use ohmwright::model::typed;
use ohmwright::model::unit::Unit;
use ohmwright::records::chain::{Chain, Lines};
use ohmwright::records::journal_file::parse as journal_file;
use ohmwright::records::line::LineReader;
use ohmwright::records::pack::unpack;
use ohmwright::run::answerer::{Answerer, Answering, MeterInUse};
use ohmwright::run::journal::{FixedClock, Memory};
use ohmwright::run::meaning::sweep_texts;
use ohmwright::run::notice::Notice;
use ohmwright::run::prepared_answers::{AnswersFile, PreparedAnswers};
use ohmwright::run::public_key::listed;
use ohmwright::run::reply::{Form, Reply};
use ohmwright::run::request::Request;
use ohmwright::run::session::{Parts, Session};
use ohmwright::run::signature::{armoured, parse_signature};
use ohmwright::run::view::View;
use ohmwright::script::diagnose::Source;
use ohmwright::script::execute::{EntryPoint, execute};
use ohmwright::script::procedure::Procedure;
use ohmwright::shop::folder::ShopFolder;
use ohmwright::shop::table::text::TableText;
use std::collections::BTreeSet;
use std::path::Path;
use std::sync::{Arc, LazyLock};

/// Reads any bytes.
pub type Target = fn(&[u8]);

/// Every target by name; its corpus lies in a folder of this name.
pub const TARGETS: [(&str, Target); 12] = [
    ("typed", typed_at_a_prompt),
    ("header", header),
    ("script", script),
    ("circuit", circuit),
    ("shop", shop),
    ("journal_line", journal_line),
    ("journal", journal),
    ("table", table),
    ("answers", answers),
    ("pack", pack),
    ("signature", signature),
    ("key", key),
];

/// The target of this name.
pub fn of(name: &str) -> Target {
    TARGETS.iter().find(|(known, _)| *known == name).map(|(_, target)| *target).expect("a target has this name")
}

/// What is typed at a prompt: a reading in the unit of the prompt, the readings of a sweep, a plain word.
fn typed_at_a_prompt(bytes: &[u8]) {
    let Some((first, text)) = text_behind_a_byte(bytes) else { return };
    const UNITS: [&str; 8] = ["V", "mV", "ohm", "A", "Hz", "degC", "%", "s"];
    let Ok(unit) = UNITS[usize::from(first) % UNITS.len()].parse::<Unit>() else { return };
    let read = typed::read(text, unit);
    let shown = typed::as_shown(text, unit);
    if let (Ok(read), false) = (&read, shown.trim() == text.trim()) {
        // What is shown of a reading is the same reading.
        assert_eq!(typed::read(&shown, unit).as_ref(), Ok(read), "{text:?} is shown as {shown:?}");
    }
    _ = typed::is_bare(text);
    _ = sweep_texts(text, unit);
    for free_text in [false, true] {
        _ = PlainWord::of(text, free_text, &BTreeSet::new());
    }
}

/// A procedure's header, with nothing in its body.
fn header(bytes: &[u8]) {
    if let Ok(text) = core::str::from_utf8(bytes) {
        let lines: String = text.lines().map(|line| format!("//! {line}\n")).collect();
        _ = compiled(&format!("{lines}conclude(\"not_present\");\n"));
    }
}

/// A procedure's body: compiled, checked, and run with answers that nobody gives or that are skipped.
fn script(bytes: &[u8]) {
    let Some((first, body)) = text_behind_a_byte(bytes) else { return };
    let body = body.to_owned();
    // A script may nest deeper than a thread's usual stack.
    let work = move || {
        const HEADER: &str =
            "//! title = \"T\"\n//! revision = 1\n//! [causes]\n//! wire = { cause = \"x\", correction = \"y\" }\n";
        if let Some(procedure) = compiled(&format!("{HEADER}{body}")) {
            _ = procedure.semantic_errors(&BTreeSet::new(), None);
            run(&procedure, Answers { skips: first & 1 == 1, entries: usize::from(first >> 1) });
        }
    };
    let thread = std::thread::Builder::new().stack_size(ohmwright::script::engine::STACK).spawn(work);
    if let Err(panic) = thread.expect("a thread can be had").join() {
        std::panic::resume_unwind(panic);
    }
}

/// A circuit file.
fn circuit(bytes: &[u8]) {
    if let Ok(text) = core::str::from_utf8(bytes)
        && let Ok(circuit) = file::parse(text, "circuit.toml")
    {
        _ = circuit.semantic_errors();
    }
}

/// A `shop.toml`, with its own cautions.
fn shop(bytes: &[u8]) {
    in_a_folder(|folder| {
        std::fs::write(folder.join("shop.toml"), bytes).expect("the folder can be written");
        if let Ok(shop) = ShopFolder::find(Some(folder), folder) {
            _ = shop.cautions();
        }
    });
}

/// One line of a journal, in a sitting of the first format and in one of today's: what is read can be written today and is then
/// read as the same.
fn journal_line(bytes: &[u8]) {
    static BEGUN: LazyLock<[LineReader; 2]> = LazyLock::new(|| {
        let procedure =
            compiled("//! title = \"T\"\n//! revision = 1\nconclude(\"not_present\");\n").expect("it is right");
        [FIRST_FORMAT, FORMAT].map(|format| {
            let started = Started { format, ..procedure.started(AnsweredBy::File) };
            let entry = Entry::new(Stamp::new("2026-01-05T08:00:00Z"), Event::Started(Box::new(started)));
            let mut reader = LineReader::new();
            reader.read(&written(&entry)).expect("a sitting can begin so");
            reader
        })
    });
    let [first, today] = &*BEGUN;
    for reader in [first, today] {
        let Ok(entry) = reader.clone().read(bytes) else { continue };
        let line = written(&entry);
        match today.clone().read(&line) {
            Ok(again) => assert_eq!(written(&again), line),
            // A sentence of the first format that nobody understands stays one.
            Err(problem) => assert!(
                matches!(
                    entry.event,
                    Event::Ended {
                        ending: Ending::Unfinished { why: Why::InWords { .. } | Why::NotDoneInWords { .. }, .. }
                    }
                ),
                "{problem}: {}",
                String::from_utf8_lossy(&line)
            ),
        }
    }
}

fn written(entry: &Entry) -> Vec<u8> {
    serde_json::to_vec(entry).expect("an entry can be written")
}

/// A whole journal: its entries, and what its signatures say of its lines.
fn journal(bytes: &[u8]) {
    _ = journal_file(Path::new("journal.jsonl"), bytes.to_vec());
    let lines = Lines::of(bytes);
    _ = Chain::of(&lines).is_whole();
    _ = lines.digests();
    _ = lines.into_entries();
}

/// A table of vehicles, before its first row is begun.
fn table(bytes: &[u8]) {
    in_a_folder(|folder| {
        let path = folder.join("table.csv");
        std::fs::write(&path, bytes).expect("the folder can be written");
        if let Ok(text) = TableText::look(&path) {
            let mut reader = csv::ReaderBuilder::new().delimiter(text.delimiter).flexible(true).from_reader(bytes);
            assert!(reader.records().count() <= bytes.len());
        }
    });
}

/// An answers file, and a run that takes its answers.
fn answers(bytes: &[u8]) {
    if let Ok(text) = core::str::from_utf8(bytes)
        && let Ok(file) = toml::from_str::<AnswersFile>(text)
        && file.unreadable().is_none()
    {
        const BODY: &str = "//! title = \"T\"\n//! revision = 1\nread(\"a\", \"A\", between(1.V, 2.V));\n\
            sweep(\"b\", \"B\", ends(0.5.V, 4.5.V), across(\"x\", \"y\"), moving(\"z\"));\nask(\"c\", \"C?\");\n\
            choose(\"d\", \"D?\", [\"one\", \"two\"]);\nnote(\"e\", \"E?\");\n\
            lowest_highest(\"f\", \"F\", between(4.V, 6.V), across(\"x\", \"y\"), moving(\"z\"));\nconclude(\"not_present\");\n";
        let prepared = PreparedAnswers::new(AnsweredBy::File, file.answers);
        let used = prepared.used();
        run(&compiled(BODY).expect("it is right"), prepared);
        _ = (used.ids(), used.not_used());
    }
}

/// A packed record.
fn pack(bytes: &[u8]) {
    in_a_folder(|folder| {
        let file = folder.join("record.tar");
        std::fs::write(&file, bytes).expect("the folder can be written");
        let into = folder.join("into");
        std::fs::create_dir(&into).expect("the folder can be written");
        _ = unpack(&file, &into);
    });
}

/// An SSHSIG: what is taken is written again byte for byte.
fn signature(bytes: &[u8]) {
    if let Ok(text) = core::str::from_utf8(bytes)
        && let Ok(signature) = parse_signature(text)
    {
        assert_eq!(armoured(&signature).ok().as_deref(), Some(text));
    }
}

/// A key as a shop lists it, and a key file.
fn key(bytes: &[u8]) {
    if let Ok(text) = core::str::from_utf8(bytes) {
        _ = listed(text);
    }
    if let Ok(file) = KeyFile::read(bytes)
        && !file.is_locked()
    {
        _ = file.open("");
    }
}

fn text_behind_a_byte(bytes: &[u8]) -> Option<(u8, &str)> {
    let (first, rest) = bytes.split_first()?;
    Some((*first, core::str::from_utf8(rest).ok()?))
}

fn compiled(text: &str) -> Option<Procedure> {
    let source = Source { file: "p.rhai".to_owned(), text: text.to_owned() };
    Procedure::compile("p", source, &|_| None).ok()
}

fn run(procedure: &Procedure, answerer: impl Answerer + 'static) {
    let started = procedure.started(AnsweredBy::File);
    let parts = Parts {
        journal: Box::new(Memory::default()),
        answerer: Box::new(answerer),
        answering: Answering::unattended(AnsweredBy::File),
        clock: Box::new(FixedClock::at(Stamp::new("2026-01-05T08:00:00Z"))),
        rules: Arc::new(CautionRules::default()),
        meter: Arc::new(MeterInUse::of_bench(bench_meter())),
        causes: Arc::clone(&procedure.causes),
        past: None,
    };
    if let Ok(session) = Session::start(parts, started) {
        _ = execute(procedure, EntryPoint::Body, session, None);
    }
}

/// A folder of this thread, empty for the work and emptied behind it.
fn in_a_folder(work: impl FnOnce(&Path)) {
    let folder = tempfile::tempdir().expect("a folder can be made");
    work(folder.path());
}

/// Nobody who answers, or somebody who skips as many questions and is gone then.
struct Answers {
    skips: bool,
    entries: usize,
}

impl Answers {
    fn next(&mut self) -> Form {
        if !self.skips || self.entries == 0 {
            return Form::Nobody;
        }
        self.entries -= 1;
        Form::Skip { reason: "out of reach".to_owned() }
    }
}

impl Answerer for Answers {
    fn ask(&mut self, request: Request<'_>, _view: View<'_>) -> Reply {
        let form = match request {
            Request::Act { .. } => Form::enter(),
            Request::Answer { .. } | Request::NextOfSweep { .. } => self.next(),
            _ => Form::Nobody,
        };
        form.from(Origin::File)
    }

    fn notice(&mut self, _notice: Notice<'_>) {}
}
