//! A folder of records that several share: whose files may be read by whom, and what happens when somebody moves them.

use crate::place::{Place, SAFE};
use std::io::{Read, Write};
use std::os::unix::fs::PermissionsExt;
use std::path::Path;
use std::process::{Child, Stdio};
use std::time::{Duration, Instant};

const BODY: &str = "step(\"First\", near(\"lift\"));\nkey_on();\n\
    let supply = read(\"supply\", \"Supply\", between(4.75.V, 5.25.V));\n\
    let seen = ask(\"seen\", \"Is it corroded?\");\nconclude(\"wire\");\n";

fn mode(path: &Path) -> u32 {
    std::fs::metadata(path).unwrap().permissions().mode() & 0o777
}

/// The modes of everything that a run, a table and a pack leave, under a umask.
fn modes_under(umask: &str) -> Vec<(String, u32)> {
    let place = Place::with(BODY);
    place.answers("supply = \"5\"\nseen = true\n");
    place.file("t.csv", "vehicle,supply,seen\nUnit 1,5,yes\n");
    let set = format!("umask {umask}");
    place.call("run p.rhai --answers answers.toml").under(&set).go().ended(0);
    place.call("pack --out one.tar").and(&[&place.record()]).under(&set).go().ended(0);
    place.call("batch p.rhai t.csv").under(&set).go().without_panic();
    let mut modes = vec![("one.tar".to_owned(), mode(&place.path("one.tar")))];
    for entry in walkdir::WalkDir::new(place.path("records")).sort_by_file_name() {
        let entry = entry.unwrap();
        if entry.file_type().is_file() {
            modes.push((entry.path().display().to_string(), mode(entry.path())));
        }
    }
    assert!(modes.iter().any(|(path, _)| path.contains("/sources/")), "{modes:?}");
    assert!(modes.iter().any(|(path, _)| path.ends_with("-summary.csv")), "{modes:?}");
    modes
}

#[test]
fn files_have_the_rights_that_the_umask_leaves() {
    for (umask, wanted) in [("002", 0o664), ("022", 0o644), ("077", 0o600)] {
        for (path, mode) in modes_under(umask) {
            assert_eq!(mode, wanted, "{path} under umask {umask} has {mode:03o}");
        }
    }
}

#[test]
fn a_second_account_verifies_packs_and_resumes_a_record_of_the_first() {
    let place = Place::with(BODY);
    place.answers("supply = \"5\"\n");
    place.call("run p.rhai --answers answers.toml").under("umask 000").go().ended(4);
    let record = place.record();
    std::fs::set_permissions(place.path("records"), std::fs::Permissions::from_mode(0o777)).unwrap();
    // Everything stays the first account's; only the second one's place is its own.
    let second = |call: &str| place.call(call).and(&[&record]).by_another_account();
    second("verify --allow-unsigned").go().ended(0);
    std::fs::create_dir(place.path("theirs")).unwrap();
    std::fs::set_permissions(place.path("theirs"), std::fs::Permissions::from_mode(0o777)).unwrap();
    second("pack --out theirs/one.tar").go().ended(0);
    place.answers("supply = \"5\"\nseen = true\n");
    second("resume --answers answers.toml").go().ended(0).says("Wire open");
    place.call("verify --allow-unsigned").and(&[&record]).go().ended(0);
}

#[test]
fn a_kept_copy_that_cannot_be_read_is_not_called_missing() {
    let place = Place::with(BODY);
    place.answers("supply = \"5\"\nseen = true\n");
    place.call("run p.rhai --answers answers.toml").go().ended(0);
    let record = place.record();
    for entry in std::fs::read_dir(place.path("records/sources")).unwrap() {
        std::fs::set_permissions(entry.unwrap().path(), std::fs::Permissions::from_mode(0o000)).unwrap();
    }
    let shown = place.call("verify").and(&[&record]).bound_by_rights().width(200).go().ended(1);
    shown.says("can't be read").never_says("is missing");
}

/// A run at the vehicle that waits for its second answer.
fn waiting(place: &Place) -> Child {
    place.file("job.toml", "[job]\nvehicle = \"Unit 12\"\n");
    let mut command = place.run_at_vehicle(&SAFE).command();
    command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().unwrap();
    child.stdin.as_mut().unwrap().write_all(b"\n5\n").unwrap();
    let begun = Instant::now();
    let answered = || {
        let records = place.records();
        records.iter().any(|name| std::fs::read_to_string(place.journal_of(name)).unwrap().contains("\"answered\""))
    };
    while !answered() {
        assert!(begun.elapsed() < Duration::from_secs(60), "the first answer never came to the disk");
        std::thread::sleep(Duration::from_millis(20));
    }
    child
}

/// Types the rest; the exit code and standard error.
fn ended(mut child: Child, typed: &str) -> (i32, String) {
    // It may have ended before it reads what is typed.
    let _ = child.stdin.take().unwrap().write_all(typed.as_bytes());
    let mut said = String::new();
    child.stderr.take().unwrap().read_to_string(&mut said).unwrap();
    (child.wait().unwrap().code().unwrap(), said)
}

#[test]
fn a_folder_of_records_that_is_moved_removed_or_replaced_ends_the_run() {
    type Change = fn(&Place);
    let changes: [(&str, Change); 3] = [
        ("moved", |place| std::fs::rename(place.path("records"), place.path("elsewhere")).unwrap()),
        ("removed", |place| std::fs::remove_dir_all(place.path("records")).unwrap()),
        ("replaced", |place| {
            let record = place.record();
            let journal = place.read(&format!("records/{record}/journal.jsonl"));
            std::fs::rename(place.path("records"), place.path("elsewhere")).unwrap();
            place.file(&format!("records/{record}/journal.jsonl"), journal);
        }),
    ];
    for (what, change) in changes {
        let place = Place::with(BODY);
        let child = waiting(&place);
        change(&place);
        let (code, said) = ended(child, "1\n\n");
        assert_eq!(code, 7, "{what}: {said}");
        let words = said.split_whitespace().collect::<Vec<_>>().join(" ");
        for wanted in ["moved, removed or replaced during the run", "Put the folder back", "begin the run again"] {
            assert!(words.contains(wanted), "{what}: {words}");
        }
        assert!(!words.contains("panicked"), "{what}: {words}");
    }
}

#[test]
fn a_lock_that_is_deleted_lets_no_second_writer_in() {
    let place = Place::with(BODY);
    let child = waiting(&place);
    let record = place.record();
    std::fs::remove_file(place.path(&format!("records/{record}/lock"))).unwrap();
    place.answers("supply = \"5\"\nseen = true\n");
    let second = place.call("resume --answers answers.toml").and(&[&record]).go().ended(6);
    second.says("in use by another process");
    place.call("list").go().ended(0).says("open in another window");
    let (code, said) = ended(child, "1\n\n");
    assert_eq!(code, 0, "{said}");
    place.call("verify --allow-unsigned").and(&[&record]).go().ended(0);
}

#[test]
fn a_run_that_was_killed_before_its_first_line_is_no_record() {
    let place = Place::with(BODY);
    place.answers("supply = \"5\"\n");
    place.call("run p.rhai --answers answers.toml").go().ended(4);
    let record = place.record();
    for (name, left) in [("2026-12-01-090000-p", ""), ("2026-12-02-090000-p", "{\"at\":\"2026-12-02T0")] {
        place.file(&format!("records/{name}/journal.jsonl"), left);
        // The record before is the last one still.
        place.call("show").go().ended(0).says(&record);
        place.call("list").go().ended(0).says(&record).never_says(name);
        place.call("show").and(&[name]).go().ended(2).says("before anything was recorded");
    }
}

#[test]
fn a_clock_that_no_date_can_say_is_refused_in_a_sentence() {
    let place = Place::with(BODY);
    place.answers("supply = \"5\"\nseen = true\n");
    for time in ["10000-01-01T00:00:00Z", "9999-12-31T23:59:59Z"] {
        let call = place.call("run p.rhai --answers answers.toml").variable("OHMWRIGHT_CLOCK", time);
        call.go().without_panic().ended(2).says("is not a time");
    }
    // The last second that there is.
    let call = place.call("run p.rhai --answers answers.toml").variable("OHMWRIGHT_CLOCK", "9999-12-30T22:00:00Z");
    call.go().without_panic().ended(0);
}

#[test]
fn keys_are_their_owners_alone_whatever_the_umask() {
    for umask in ["000", "022", "077"] {
        let place = Place::with(BODY);
        place.file("secret", "some words\n");
        std::fs::set_permissions(place.path("secret"), std::fs::Permissions::from_mode(0o600)).unwrap();
        let call = place.call("key --passphrase-file secret").and(&["Ilse Example"]).under(&format!("umask {umask}"));
        call.go().ended(0);
        let keys = place.path(".config/ohmwright/keys");
        assert_eq!(mode(&keys), 0o700, "umask {umask}");
        assert_eq!(mode(&keys.join("ilse-example")), 0o600, "umask {umask}");
    }
}
