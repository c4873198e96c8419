//! What is larger than any of its kind is refused by a sentence, in little memory and time.

use crate::place::{Place, Shown};
use std::fs::File;

/// Kilobytes of address space and seconds of processor time that a call may have: what reads without end dies of them.
const LIMITS: &str = "ulimit -v 300000; ulimit -t 10";

fn limited(place: &Place, arguments: &str) -> Shown {
    place.call(arguments).under(LIMITS).go().without_panic()
}

/// A place with one record, and the record's name.
fn recorded() -> (Place, String) {
    let place = Place::with("if ask(\"a\", \"Clean?\").yes { conclude(\"wire\"); }");
    place.with_answers("a = true").ended(0);
    let record = place.record();
    (place, record)
}

fn packed(entries: &[(&str, &[u8])]) -> Vec<u8> {
    let mut archive = tar::Builder::new(Vec::new());
    for (name, bytes) in entries {
        let mut header = tar::Header::new_gnu();
        header.set_size(bytes.len() as u64);
        header.set_mode(0o644);
        archive.append_data(&mut header, name, *bytes).unwrap();
    }
    archive.into_inner().unwrap()
}

#[test]
fn a_journal_of_line_ends_only_is_refused_in_little_memory() {
    let (place, record) = recorded();
    let lines = vec![b'\n'; 10 * 1024 * 1024];
    place.file("newlines.tar", packed(&[(&format!("{record}/journal.jsonl"), &lines)]));
    let too_many = "this journal has more than 200000 lines, and no run writes so many";
    limited(&place, "verify newlines.tar").ended(1).says(too_many).says("1 record: 0 good");
    place.file("newlines.jsonl", &lines);
    std::fs::copy(place.path("newlines.jsonl"), place.journal_of(&record)).unwrap();
    for command in ["show", "report --format text", "pack", "resume", "sign --as Ana"] {
        let shown = limited(&place, &format!("{command} {record}"));
        assert!(matches!(shown.code, 2 | 3), "{command}: {shown}");
        assert!(shown.flat().contains(too_many) || command.starts_with("sign"), "{command}: {shown}");
    }
    limited(&place, "list").ended(0);
}

#[test]
fn empty_lines_are_damage_that_is_said_once() {
    let (place, record) = recorded();
    let journal = std::fs::read_to_string(place.journal_of(&record)).unwrap();
    let lines = journal.lines().count();
    std::fs::write(place.journal_of(&record), format!("{journal}{}", "\n".repeat(150_000))).unwrap();
    limited(&place, "verify").ended(1).says(&format!("line {} is empty, and 149999 more", lines + 1));
    std::fs::write(place.journal_of(&record), format!("{journal}\n")).unwrap();
    place.call("verify").go().ended(1).says(&format!("line {} is empty", lines + 1)).never_says("more");
    let shown = place.call("show").go().ended(3).says("it is empty");
    assert!(shown.err.contains(&format!("journal.jsonl:{}", lines + 1)), "{shown}");
}

#[test]
fn after_fifty_problems_a_list_ends_with_how_many_more_there_are() {
    let (place, record) = recorded();
    let journal = std::fs::read_to_string(place.journal_of(&record)).unwrap();
    std::fs::write(place.journal_of(&record), format!("{journal}{}", "x\n".repeat(100_000))).unwrap();
    let shown = limited(&place, "verify --allow-unsigned").ended(1).says("and 99950 more");
    assert_eq!(shown.count("can't be read"), 50, "{shown}");
    let json: serde_json::Value = serde_json::from_str(&limited(&place, "verify --json").ended(1).out).unwrap();
    let wrong = json["records"][0]["wrong"].as_array().unwrap();
    assert_eq!(wrong.len(), 51);
    assert_eq!(wrong[50]["text"], "and 99950 more");
}

#[test]
fn a_journal_and_a_source_without_end_are_not_read() {
    let (place, record) = recorded();
    let sparse = |path: &std::path::Path| {
        File::options().write(true).open(path).unwrap().set_len(3 << 30).unwrap();
    };
    // Without its cautions a report is poorer; without its procedure nothing shows that the record is right.
    let sources = std::fs::read_dir(place.path("records/sources")).unwrap().map(|entry| entry.unwrap().path());
    let (procedures, others): (Vec<_>, Vec<_>) =
        sources.partition(|path| std::fs::read_to_string(path).unwrap().starts_with("//!"));
    for (kept, words) in
        [(&others[0], "the report goes without"), (&procedures[0], "SOMETHING IS WRONG WITH THIS RECORD")]
    {
        let whole = std::fs::read(kept).unwrap();
        sparse(kept);
        limited(&place, "verify").ended(1).says("is longer than 16 MB, and no source is");
        limited(&place, "pack").ended(3).says("is longer than 16 MB").says("from where it was made");
        limited(&place, "report --format text").ended(0).says(words);
        std::fs::write(kept, whole).unwrap();
    }
    sparse(&place.journal_of(&record));
    limited(&place, "verify").ended(1).says("this journal is longer than 64 MB, and no run writes such a one");
    let shown = limited(&place, "show").ended(3).says("this journal is longer than 64 MB");
    assert!(shown.err.contains("journal.jsonl"), "{shown}");
    // Another record is checked all the same.
    place.call("run p.rhai --answers answers.toml").go().ended(0);
    place.call("verify records --allow-unsigned").go().ended(1).says("2 records: 0 good, 1 not signed, 1 bad");
}

#[test]
fn a_pack_says_what_in_it_is_too_large_before_it_is_read() {
    let (place, record) = recorded();
    let refused = |pack: Vec<u8>, words: &str| {
        place.file("odd.tar", pack);
        limited(&place, "verify odd.tar").ended(3).says("this is not a packed record").says(words);
    };
    let long = format!("{}/journal.jsonl", "n".repeat(300));
    refused(packed(&[(&long, b"")]), "a name in it is longer than 255 bytes");
    // A name of 3 GB, of which the file has only the beginning.
    let mut header = tar::Header::new_gnu();
    header.set_entry_type(tar::EntryType::GNULongName);
    header.set_size(3 << 30);
    header.set_path("././@LongLink").unwrap();
    header.set_cksum();
    refused(header.as_bytes().to_vec(), "a name in it is longer than 255 bytes");
    let mut header = tar::Header::new_ustar();
    header.set_entry_type(tar::EntryType::XHeader);
    header.set_size(3 << 30);
    header.set_path("pax").unwrap();
    header.set_cksum();
    refused(header.as_bytes().to_vec(), "pax is not a file");
    let mut header = tar::Header::new_gnu();
    header.set_size(3 << 30);
    header.set_path(format!("{record}/journal.jsonl")).unwrap();
    header.set_cksum();
    refused(header.as_bytes().to_vec(), "in it is longer than 64 MB");
    let digests: Vec<String> = (0..1001).map(|number| format!("sources/{number:064x}")).collect();
    let entries: Vec<(&str, &[u8])> = digests.iter().map(|name| (name.as_str(), &b""[..])).collect();
    refused(packed(&entries), "it has more than 1000 files");
    // The longest name that a run gives its record goes into a pack and out again.
    let long = format!("{record}-{}", "n".repeat(200));
    std::fs::rename(place.path("records").join(&record), place.path("records").join(&long)).unwrap();
    place.call(&format!("pack {long} --out long.tar")).go().ended(0);
    place.call("verify long.tar --allow-unsigned").go().ended(0).says("1 not signed, 0 bad");
}

#[test]
fn a_line_without_end_is_left_out_and_asked_for_again() {
    let place = Place::with("let n = note(\"n\", \"Remark?\");\nconclude(\"wire\");");
    place.file("job.toml", "[job]\nvehicle = \"Unit 12\"\ntechnician = \"A. Tester\"\n");
    let states: Vec<String> = crate::place::SAFE.iter().map(|state| format!("--state {state}")).collect();
    let program = env!("CARGO_BIN_EXE_ohmwright");
    let line = "head -c 400000000 /dev/zero | tr '\\0' x";
    let run = format!(
        "({line}; echo; echo a short one; echo) | (ulimit -v 300000; \"{program}\" run p.rhai --job job.toml {})",
        states.join(" ")
    );
    let shell = |script: &str| {
        let done = std::process::Command::new("sh")
            .args(["-c", script])
            .current_dir(place.path(""))
            .env("OHMWRIGHT_CLOCK", crate::place::CLOCK)
            .output()
            .unwrap();
        (done.status.code(), [done.stdout, done.stderr].map(|bytes| String::from_utf8(bytes).unwrap()).concat())
    };
    let (code, out) = shell(&run);
    assert_eq!(code, Some(0), "{out}");
    assert!(out.contains("That line has more than 65536 bytes and is left out"), "{out}");
    assert!(out.len() < 10_000, "{} bytes", out.len());
    assert_eq!(crate::place::typed(&place.events(), "n").len(), 1);
    assert!(std::fs::read_to_string(place.journal_of(&place.record())).unwrap().contains("a short one"));
    let (code, out) = shell(&format!("({line}; echo; echo 1+1) | (ulimit -v 300000; \"{program}\" repl)"));
    assert_eq!(code, Some(3), "{out}");
    assert!(out.contains("is left out") && out.lines().any(|line| line.trim() == "2"), "{out}");
}

#[test]
fn a_passphrase_without_end_is_refused() {
    let place = Place::new();
    let sentence = "/dev/zero is longer than 4096 bytes, and no such file is";
    limited(&place, "key Ana --out key --passphrase-file /dev/zero").ended(2).says(sentence);
    let shown = place.call("key Ana --out key").variable("OHMWRIGHT_PASSPHRASE_FILE", "/dev/zero").under(LIMITS);
    shown.go().ended(2).says(sentence).says("look whether it is the file that you meant");
    assert!(!place.path("key").exists());
}

#[test]
fn files_that_people_write_have_a_longest_length() {
    let place = Place::with("if ask(\"a\", \"Clean?\").yes { conclude(\"wire\"); }");
    place.with_answers("").ended(4);
    let too_long = |arguments: &str| {
        let shown = limited(&place, arguments).ended(3);
        shown.says("this is longer than 16 MB, and no file of this kind is");
    };
    too_long("run p.rhai --answers /dev/zero");
    too_long("run p.rhai --answers answers.toml --job /dev/zero");
    too_long("resume --answers /dev/zero");
    limited(&place, "batch p.rhai /dev/zero").ended(3).says("this is not a file on a disk");
    place.file("shop.toml", "");
    File::options().write(true).open(place.path("shop.toml")).unwrap().set_len(3 << 30).unwrap();
    too_long("list");
}

#[test]
fn a_run_writes_no_journal_that_could_not_be_read() {
    let header = "//! title = \"Test\"\n//! revision = 1\n//! events = 100000\n\
        let s = \"\";\ns.pad(3900, \"x\");\nloop { step(s); }\n";
    let place = Place::new();
    place.file("p.rhai", header);
    place.answers("");
    let shown = place.call("run p.rhai --answers answers.toml").under("ulimit -v 1000000").go().ended(7);
    shown.says("has reached 60 MB, and no journal is longer: begin a new run");
    let record = place.record();
    let bytes = std::fs::metadata(place.journal_of(&record)).unwrap().len();
    assert!((50 << 20..=60 << 20).contains(&bytes), "{bytes} bytes");
    place.call("show").go().ended(0);
}
