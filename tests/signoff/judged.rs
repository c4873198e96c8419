//! Records judged again: by what they were run with, and by a newer procedure.

use crate::shop::{ANSWERS, PROCEDURE, Shop};

const JOB: &str = r#"[job]
vehicle = "Unit 8"
technician = "Ana Example"
[vehicle]
key = "off"
engine = "stopped"
lift = "down"
wheels = "chocked"
battery = "connected"
high_voltage = "absent"
"#;

/// A run at the vehicle with all that can happen in one: cautions, a note, a doubt, answers taken back, a pause, a vehicle
/// that was changed meanwhile, a torn line, a skipped reading.
fn eventful() -> Shop {
    let shop = Shop::without_record(PROCEDURE);
    shop.write("job.toml", JOB);
    let typed = "+\n\n501\n\nnote windy\n0.52 @ closed\nback\nback\n5.02\n0.51\n1.4\npause\n";
    let run = ["run", "flap", "--job", "job.toml"];
    let ran = shop.with("2026-11-24T09:00:00Z", &[], shop.folder.path(), &run, typed);
    assert_eq!(ran.code, 4, "{}", ran.out);
    let mut torn = shop.journal();
    torn.extend(b"{\"at\":");
    std::fs::write(shop.journal_path(), torn).unwrap();
    let typed = "lift=raised\n\n+\n+\n2.4\n3.4\nskip meter fell\n2\n";
    let ran = shop.with("2026-11-24T13:00:00Z", &[], shop.folder.path(), &["resume"], typed);
    assert_eq!(ran.code, 5, "{}", ran.out);
    let text = String::from_utf8(shop.journal()).unwrap();
    for event in [
        "acknowledged",
        "noted",
        "doubted",
        "struck",
        "paused",
        "resumed",
        "torn_line_dropped",
        "sweep_read",
        "skipped",
    ] {
        assert!(text.contains(event), "{event} is missing:\n{text}");
    }
    shop
}

#[test]
fn an_eventful_run_comes_out_the_same_again() {
    let shop = eventful();
    shop.at("2026-11-24T15:00:00Z", &["verify", "--width", "240", "--allow-unsigned"]).says(0, "same");
    shop.sign("2026-11-24T16:00:00Z", "Ana Example", "ana", "performed").good();
    shop.verify().says(0, "1 record: good.");
}

#[test]
fn cutting_an_eventful_run_anywhere_leaves_one_that_comes_out_the_same() {
    let shop = eventful();
    let lines = shop.lines();
    for length in 1..lines.len() {
        shop.set_lines(&lines[..length]);
        let found = shop.verify();
        assert!(found.out.contains("same"), "{length} lines: {}", found.out);
    }
}

#[test]
fn every_event_that_matters_is_weighed() {
    let shop = eventful();
    let lines = shop.lines();
    let weighed = ["step_began", "cautioned", "acted", "doubted", "answered", "reminded", "left_changed"];
    let mut tried = 0;
    for (index, line) in lines.iter().enumerate() {
        let value: serde_json::Value = serde_json::from_str(line).unwrap();
        if !weighed.contains(&value["event"].as_str().unwrap()) {
            continue;
        }
        tried += 1;
        let mut without = lines.clone();
        without.remove(index);
        shop.set_lines(&without);
        shop.verify().says(1, "judged again it is");
    }
    assert!(tried >= 8, "{tried}");
}

#[test]
fn whatever_is_done_to_the_lines_judging_again_comes_to_an_end() {
    let shop = eventful();
    let lines = shop.lines();
    let same = |lines: &[String]| {
        shop.set_lines(lines);
        let found = shop.verify();
        assert_eq!(found.code, 1, "{}{}", found.out, found.err);
        !found.out.contains("DIFFERS")
    };
    let mut differ = 0;
    for index in 1..lines.len() {
        let mut doubled = lines.clone();
        doubled.insert(index, lines[index].clone());
        let mut swapped = lines.clone();
        swapped.swap(index, index % (lines.len() - 1) + 1);
        let mut without = lines.clone();
        without.remove(index);
        differ += [doubled, swapped, without].iter().filter(|lines| !same(lines)).count();
    }
    assert!(differ > lines.len(), "{differ}");
}

#[test]
fn a_caution_left_out_or_a_cause_put_in_is_found() {
    let shop = Shop::new();
    let lines = shop.lines();
    let is = |name: &str| lines.iter().position(|line| line.contains(&format!("\"event\":\"{name}\""))).unwrap();
    let mut without = lines.clone();
    without.drain(is("cautioned")..=is("acknowledged"));
    shop.set_lines(&without);
    shop.verify().says(1, "judged again it is the cautions hot_exhaust");

    let mut other = lines.clone();
    let last = other.len() - 1;
    other[last] = r#"{"at":"2026-11-24T09:00:20Z","event":"concluded","causes":[{"id":"signal_open","cause":"Signal wire open","correction":"Repair it"}]}"#.to_owned();
    shop.set_lines(&other);
    shop.verify().says(1, "has the conclusion signal_open; judged again it is the conclusion not_present");
}

#[test]
fn a_record_verifies_when_the_shops_files_have_moved_on() {
    let shop = Shop::new();
    shop.sign_as_ana().good();
    shop.write("procedures/flap.rhai", "no procedure any more");
    std::fs::create_dir(shop.path("library")).unwrap();
    shop.verify().says(0, "1 record: good.");
    let sources: Vec<_> =
        std::fs::read_dir(shop.path("records/sources")).unwrap().map(|entry| entry.unwrap().path()).collect();
    assert_eq!(sources.len(), 3);
    for path in sources {
        let text = std::fs::read_to_string(&path).unwrap();
        std::fs::write(&path, format!("{text}\n")).unwrap();
        shop.verify().says(1, "was changed");
        std::fs::remove_file(&path).unwrap();
        shop.verify().says(1, "is missing");
        std::fs::write(&path, text).unwrap();
    }
    shop.verify().says(0, "1 record: good.");
}

#[test]
fn json_says_what_the_table_says() {
    let shop = Shop::new();
    shop.sign_as_ana().good();
    let json = |code: i32| -> serde_json::Value {
        let ran = shop.at("2026-11-24T12:00:00Z", &["verify", "--json"]);
        assert_eq!(ran.code, code, "{}", ran.err);
        serde_json::from_str(&ran.out).unwrap()
    };
    let good = json(0);
    let record = &good["records"][0];
    assert_eq!(good["format"], 1);
    assert_eq!(record["state"], "good");
    assert_eq!(record["judged_again"]["result"], "same");
    assert_eq!(record["judged_again"]["verdicts"], 1);
    assert_eq!(record["judged_again"]["concluded"], true);
    assert_eq!(record["sign_offs"][0]["name"], "Ana Example");
    assert_eq!(record["sign_offs"][0]["holds"], true);
    let text = String::from_utf8(shop.journal()).unwrap();
    std::fs::write(shop.journal_path(), text.replacen("5.01", "4.01", 1)).unwrap();
    let bad = json(1);
    assert_eq!(bad["records"][0]["state"], "bad");
    assert_eq!(bad["records"][0]["judged_again"]["result"], "differs");
    assert_eq!(bad["records"][0]["wrong"][0]["line"], bad["records"][0]["judged_again"]["line"]);
}

fn newer(limits: &str) -> String {
    PROCEDURE.replace("revision = 1", "revision = 2").replace("between(4.75.V, 5.25.V)", limits)
}

#[test]
fn a_newer_revision_says_what_would_differ_and_touches_nothing() {
    let shop = Shop::new();
    let before = shop.journal();
    shop.write("procedures/flap.rhai", &newer("between(4.70.V, 5.30.V)"));
    let record = shop.record();
    let judge = || shop.at("2026-11-24T12:00:00Z", &["rejudge", &record, "--with", "flap", "--width", "160"]);
    judge().says(0, "Judged again: every verdict is the same; the result is the same");
    shop.write("procedures/flap.rhai", &newer("between(5.02.V, 5.25.V)"));
    let other = judge().says(0, "Judged again: 1 verdict differs; the result differs").out;
    assert!(other.contains("DIFFERS: LOW (5.02 … 5.25 V)"), "{other}");
    assert!(other.contains("Then: Not present while tested") && other.contains("Now:  Reference wire open"), "{other}");

    let asks = newer("between(4.75.V, 5.25.V)").replace(
        "let track",
        "if !ask(\"connector\", \"Is the connector clean?\").yes { conclude(\"signal_open\"); }\nlet track",
    );
    shop.write("procedures/flap.rhai", &asks);
    judge().says(0, "Now: would still ask `connector`: Is the connector clean?");
    assert_eq!(shop.journal(), before);
}

#[test]
fn over_a_folder_it_is_a_table() {
    let shop = Shop::without_record(PROCEDURE);
    for (number, volts) in ["5.01", "4.99", "5.20", "4.10"].iter().enumerate() {
        shop.write("answers.toml", &ANSWERS.replace("5.01", volts));
        let time = format!("2026-11-24T09:0{number}:00Z");
        shop.at(&time, &["run", "flap", "--answers", "answers.toml"]).good();
    }
    shop.write("procedures/other.rhai", PROCEDURE);
    shop.write("answers.toml", &ANSWERS.replace("\"flap\"", "\"other\""));
    shop.at("2026-11-24T10:00:00Z", &["run", "other", "--answers", "answers.toml"]).good();
    shop.write("procedures/flap.rhai", &newer("between(5.0.V, 5.25.V)"));
    let arguments = ["rejudge", "records", "--with", "flap", "--summary", "all.csv", "--width", "160"];
    let table = shop
        .at("2026-11-24T12:00:00Z", &arguments)
        .says(0, "4 records: 1 other outcome, 3 same. 1 record of other procedures left out.")
        .out;
    assert!(table.contains("2026-11-24-090100-flap-unit-7") && !table.contains("2026-11-24-090000-flap"), "{table}");
    let summary = shop.read("all.csv");
    assert_eq!(summary.lines().count(), 5, "{summary}");
    assert!(summary.contains("090100-flap-unit-7,other outcome,1,supply,Not present while tested,Reference wire open"));
    shop.at("2026-11-24T12:00:00Z", &["verify", "records", "--width", "240"])
        .says(1, "5 records: 0 good, 5 not signed, 0 bad.");
}

#[test]
fn reports_show_who_signed_and_whether_it_holds() {
    let shop = Shop::new();
    shop.sign_as_ana().good();
    let report =
        |format: &str| shop.at("2026-11-24T12:00:00Z", &["report", "--format", format, "--out", "-"]).good().out;
    let sign_off = || -> serde_json::Value {
        let json: serde_json::Value = serde_json::from_str(&report("json")).unwrap();
        assert_eq!(json["signoffs"].as_array().unwrap().len(), 1);
        json["signoffs"][0].clone()
    };
    let good = sign_off();
    assert_eq!((&good["name"], &good["role"]), (&"Ana Example".into(), &"technician".into()));
    assert!(good["state"].as_str().unwrap().starts_with("holds; key SHA256:"), "{good}");
    assert!(report("html").contains("holds; key SHA256:"));
    let text = String::from_utf8(shop.journal()).unwrap();
    std::fs::write(shop.journal_path(), text.replacen("5.01", "5.02", 1)).unwrap();
    assert!(sign_off()["state"].as_str().unwrap().starts_with("does NOT hold"), "{}", sign_off());
    std::fs::write(shop.journal_path(), text).unwrap();
    shop.write("shop.toml", crate::shop::ROLES);
    assert!(sign_off()["state"].as_str().unwrap().starts_with("not one that counts"), "{}", sign_off());
}

#[test]
fn a_report_without_the_technician_names_nobody_however_the_sign_off_stands() {
    let shop = Shop::new();
    shop.sign_as_ana().good();
    let report = |arguments: &[&str]| {
        let all = [&["report", "--out", "-"], arguments].concat();
        shop.at("2026-11-24T12:00:00Z", &all).good().out
    };
    let states = |state: &str| {
        // The text says how to see whether a sign-off holds; the others say whether it does.
        for (format, says_state) in [("html", true), ("json", true), ("text", false)] {
            let whole = report(&["--format", format]);
            assert!(whole.contains("Ana Example"), "{state}, {format}: {whole}");
            let without = report(&["--format", format, "--without", "technician"]);
            for name in ["Ana", "ana-", "SHA256:"] {
                assert!(!without.contains(name), "{state}, {format}: {name} in {without}");
            }
            for page in [&whole, &without].into_iter().filter(|_| says_state) {
                assert!(page.contains(state), "{state}, {format}: {page}");
            }
        }
    };
    states("holds");
    let text = String::from_utf8(shop.journal()).unwrap();
    std::fs::write(shop.journal_path(), text.replacen("5.01", "5.02", 1)).unwrap();
    states("does NOT hold");
    std::fs::write(shop.journal_path(), text).unwrap();
    shop.write("shop.toml", crate::shop::ROLES);
    states("not one that counts");
}
