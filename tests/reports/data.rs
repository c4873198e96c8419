//! JSON against its schema, CSV, text.

use crate::workshop::{VEHICLE, Workshop, text_of};
use serde_json::Value;

/// The schema that the program prints.
pub fn schema() -> jsonschema::Validator {
    let shop = Workshop::empty();
    let printed = shop.run("11", &["report", "--schema"], "");
    assert_eq!(printed.status.code(), Some(0), "{}", text_of(&printed));
    let schema: Value = serde_json::from_slice(&printed.stdout).unwrap();
    assert!(jsonschema::meta::is_valid(&schema));
    jsonschema::draft202012::new(&schema).unwrap()
}

/// What a schema says of a report.
pub fn problems(schema: &jsonschema::Validator, report: &Value) -> Vec<String> {
    schema.iter_errors(report).map(|error| format!("{}: {error}", error.instance_path())).collect()
}

fn json(shop: &Workshop, record: &str, arguments: &[&str]) -> Value {
    serde_json::from_str(&shop.report(record, &[&["--format", "json"], arguments].concat())).unwrap()
}

#[test]
fn every_json_report_is_valid_against_the_published_schema() {
    let shop = Workshop::copied();
    let schema = schema();
    let none: Vec<String> = vec![];
    for record in shop.names() {
        assert_eq!(problems(&schema, &json(&shop, &record, &[])), none);
        let withheld =
            json(&shop, &record, &["--without", "vehicle,odometer,concern,codes,technician,conditions,notes,shop"]);
        assert_eq!(problems(&schema, &withheld), none);
        assert_eq!(withheld["job"]["vehicle"], Value::Null);
    }
    let before = shop.before();
    shop.edit(&before, |text| {
        text.replacen(
            "\"answered_by\":\"person\"",
            "\"answered_by\":\"bench\",\"simulated\":{\"circuit\":\"flap_sensor\",\"open\":{\"faults\":[]}}",
            1,
        )
    });
    let whole = std::fs::read_to_string(shop.journal(&before)).unwrap();
    // Broken off after any line, the record still gives a valid report.
    for lines in 1..=whole.lines().count() {
        shop.edit(&before, |_| whole.lines().take(lines).map(|line| format!("{line}\n")).collect());
        let report = json(&shop, &before, &[]);
        assert_eq!(problems(&schema, &report), none, "after line {lines}");
        assert_eq!(report["record"]["vehicle_measured"], Value::Bool(false));
    }
}

#[test]
fn the_schema_refuses_what_is_missing_unknown_or_of_another_version() {
    let shop = Workshop::copied();
    let schema = schema();
    let report = json(&shop, &shop.before(), &[]);
    for key in report.as_object().unwrap().keys() {
        let mut broken = report.clone();
        broken.as_object_mut().unwrap().remove(key);
        assert!(!schema.is_valid(&broken), "without {key}");
    }
    let changes: [(&str, Value); 7] = [
        ("/schema_version", 2.into()),
        ("/record/journal_sha256", "abc".into()),
        ("/result/standing", "fine".into()),
        ("/result/causes", Value::Array(vec![])),
        ("/steps/0/items/0/kind", "guess".into()),
        ("/steps/0/items/2/verdict/standing", "good".into()),
        ("/steps/0/items/2/unknown", 1.into()),
    ];
    for (place, value) in changes {
        let mut broken = report.clone();
        match broken.pointer_mut(place) {
            Some(slot) => *slot = value,
            None => {
                let (parent, key) = place.rsplit_once('/').unwrap();
                broken.pointer_mut(parent).unwrap().as_object_mut().unwrap().insert(key.to_owned(), value);
            }
        }
        assert!(!schema.is_valid(&broken), "{place}");
    }
}

#[test]
fn json_holds_the_numbers_the_doubts_and_the_other_side() {
    let shop = Workshop::copied();
    let report = json(&shop, &shop.after(), &[]);
    assert_eq!(report["job"]["vehicle"], VEHICLE);
    assert_eq!(report["record"]["link"]["state"], "same");
    assert_eq!(report["record"]["checks_after_repair"], Value::Array(vec![]));
    let first = json(&shop, &shop.before(), &[]);
    let check = &first["record"]["checks_after_repair"][0];
    assert_eq!((&check["record"], &check["state"]), (&shop.after().into(), &"same".into()));
    assert_eq!(check["result"]["causes"][0]["id"], "not_present");
    let pair = &report["comparison"]["pairs"][0];
    assert_eq!(pair["before"]["values"][0], 4.761);
    assert_eq!(pair["before"]["doubts"][0]["typed"], "4.76");
    assert_eq!(pair["before"]["verdict"]["sure"], Value::Bool(false));
    let accuracy = pair["before"]["verdict"]["accuracies"][0].as_f64().unwrap();
    // 0.5 % of 4.761 V and 3 counts of 1 mV.
    assert!((accuracy - 0.026_805).abs() < 1e-9, "{accuracy}");
}

#[test]
fn what_was_done_on_a_path_that_was_taken_back_says_so_in_the_data() {
    let shop = Workshop::empty();
    let record = shop.astray();
    let report = json(&shop, &record, &[]);
    let none: Vec<String> = vec![];
    assert_eq!(problems(&schema(), &report), none);
    let text = std::fs::read_to_string(shop.journal(&record)).unwrap();
    let struck = text.lines().position(|line| line.contains("\"event\":\"struck\"")).unwrap() + 1;
    let steps = report["steps"].as_array().unwrap();
    let of_step: Vec<(&str, &Value)> =
        steps.iter().map(|step| (step["title"].as_str().unwrap(), &step["taken_back_at_line"])).collect();
    let (ground, dead, follows) = ("Reference and ground, together", "On a dead circuit", "Signal follows the shaft");
    let (stands, back) = (&Value::Null, &Value::from(struck));
    assert_eq!(of_step, [(ground, stands), (dead, back), (ground, stands), (dead, stands), (follows, stands)]);
    let items: Vec<(&str, &Value)> = steps
        .iter()
        .flat_map(|step| step["items"].as_array().unwrap())
        .filter(|item| item["kind"] == "note" || item["kind"] == "action" && item["already"] == false)
        .map(|item| (item["text"].as_str().unwrap(), &item["taken_back_at_line"]))
        .collect();
    assert_eq!(
        items,
        [
            ("Turn the key on, engine not running", stands),
            ("Turn the key off", back),
            ("Unplug C41", back),
            ("probe slipped", back),
            // The way back, and then the same again.
            ("Plug C41 in again", stands),
            ("Turn the key on, engine not running", stands),
            ("Turn the key off", stands),
            ("Unplug C41", stands),
            ("Plug C41 in again", stands),
            ("Turn the key on, engine not running", stands),
            // What was left changed is put back at the end.
            ("Turn the key off", stands),
            ("Take the meter's leads off", stands),
        ]
    );
}

#[test]
fn csv_has_one_line_a_reading_and_no_formula() {
    let shop = Workshop::copied();
    let record = shop.before();
    shop.edit(&record, |text| text.replace("Signal at rest", "=HYPERLINK(1)").replace("\"0.7\"", "\"-0.7\""));
    let text = shop.report(&record, &["--format", "csv"]);
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let heading: Vec<String> = reader.headers().unwrap().iter().map(str::to_owned).collect();
    let column = |name: &str| heading.iter().position(|found| found == name).unwrap();
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    let of = |id: &str| rows.iter().filter(|row| &row[column("id")] == id).collect::<Vec<_>>();
    assert_eq!(of("track").len(), 11);
    let cell = |id: &str, line: usize, name: &str| of(id)[line][column(name)].to_owned();
    assert_eq!(
        (
            cell("supply", 0, "typed"),
            cell("supply", 0, "value"),
            cell("supply", 0, "mark"),
            cell("supply", 0, "verdict")
        ),
        ("4.76".to_owned(), "4.76".to_owned(), "doubted".to_owned(), String::new())
    );
    assert!(cell("supply", 0, "reason").contains("Nearer to the limit"), "{}", cell("supply", 0, "reason"));
    assert_eq!(cell("supply", 1, "typed"), "4.761");
    assert_eq!((cell("supply", 1, "low"), cell("supply", 1, "high")), ("4.75".to_owned(), "5.25".to_owned()));
    assert_eq!(
        (cell("supply", 1, "sure"), cell("supply", 1, "accuracy")),
        ("unsure".to_owned(), "0.026805".to_owned())
    );
    assert_eq!((cell("ground_drop", 0, "value"), cell("ground_drop", 0, "unit")), ("250".to_owned(), "mV".to_owned()));
    assert_eq!(
        (cell("ground_drop", 0, "taken_back"), cell("ground_drop", 1, "taken_back")),
        ("yes".to_owned(), String::new())
    );
    assert_eq!((cell("heater", 0, "value"), cell("heater", 0, "verdict")), ("OL".to_owned(), "OPEN".to_owned()));
    assert_eq!(
        (cell("shield", 0, "mark"), cell("shield", 0, "typed"), cell("shield", 0, "reason")),
        ("skipped".to_owned(), String::new(), "could not reach it".to_owned())
    );
    assert_eq!(
        (cell("track", 3, "mark"), cell("track", 8, "mark")),
        ("breaks off".to_owned(), "breaks off".to_owned())
    );
    assert_eq!(cell("track", 0, "value"), "-0.7");
    assert_eq!((cell("track", 0, "low"), cell("track", 0, "high")), ("0.7".to_owned(), "4".to_owned()));
    assert_eq!(cell("rest", 0, "text"), "'=HYPERLINK(1)");
    assert_eq!(column("simulated"), heading.len() - 1);
    for row in &rows {
        for cell in row {
            assert!(!cell.starts_with(['=', '+', '@', '\t', '\r']), "{cell}");
            assert!(!cell.chars().any(char::is_control), "{cell}");
        }
    }
}

#[test]
fn text_is_what_show_prints() {
    let shop = Workshop::copied();
    let record = shop.before();
    let shown = shop.run("11", &["show", &record], "");
    assert_eq!(shop.report(&record, &["--format", "text"]), String::from_utf8(shown.stdout).unwrap());
}

#[test]
fn the_customers_form_is_a_page_and_no_data() {
    let shop = Workshop::copied();
    let refused = shop.run("11", &["report", "--form", "customer", "--format", "csv"], "");
    assert_eq!(refused.status.code(), Some(2));
    assert!(text_of(&refused).contains("the customer's form is there as HTML only"), "{}", text_of(&refused));
}

#[test]
fn every_kind_of_question_is_in_the_data() {
    let shop = Workshop::copied();
    let record = shop.starter();
    let report = json(&shop, &record, &[]);
    let none: Vec<String> = vec![];
    assert_eq!(problems(&schema(), &report), none);
    let answers: Vec<&Value> = report["steps"]
        .as_array()
        .unwrap()
        .iter()
        .flat_map(|step| step["items"].as_array().unwrap())
        .filter(|item| item["kind"] == "answer")
        .collect();
    let asked: Vec<&str> = answers.iter().map(|answer| answer["asked"].as_str().unwrap()).collect();
    assert_eq!(
        asked,
        ["reading", "lowest and highest", "module value", "reading", "reading", "sweep", "choice", "note"]
    );
    assert_eq!(answers[1]["values"], serde_json::json!([7.9, 12.1]));
    assert_eq!(answers[1]["verdict"]["standing"], "low");
    assert_eq!(answers[2]["signal"], "supply voltage");
    assert_eq!(answers[2]["verdict"]["why_unknown"], "not_a_meter");
    assert_eq!(answers[4]["verdict"], Value::Null);
    assert_eq!(answers[5]["sweep"]["shape"], "follows");
    assert_eq!(answers[7]["typed"][0], "green\u{7} crust");
    assert_eq!(report["result"]["causes"].as_array().unwrap().len(), 2);
    let csv = shop.report(&record, &["--format", "csv"]);
    assert!(csv.contains(",lowest,") && csv.contains("green\\u{7} crust") && csv.contains(",pedal,"), "{csv}");
}

#[test]
fn text_says_all_that_the_page_says_and_fits_its_columns() {
    let shop = Workshop::copied();
    let text = |record: &str, arguments: &[&str]| {
        shop.report(record, &[&["--format", "text", "--width", "80"], arguments].concat())
    };
    let before = text(&shop.before(), &[]);
    let after = text(&shop.after(), &[]);
    let flat = |text: &str| text.replace(['│', '┆'], " ").split_whitespace().collect::<Vec<_>>().join(" ");
    for words in [
        "red: reference pin",
        "shop practice",
        "In order: 0.7 V, 1.38 V, 2.02 V, 0.01 V (breaks off)",
        "Done: Unplug C41 (2026-11-24 09:00)",
        "What the cautions said: ",
        "DANGER, raised vehicle: ",
        "began 2026-11-24 09:00 UTC",
    ] {
        assert!(flat(&before).contains(words), "{words} in {before}");
    }
    for words in ["Before and after the repair:", "Not measured again: Signal at rest"] {
        assert!(flat(&after).contains(words), "{words} in {after}");
    }
    let withheld = text(&shop.before(), &["--without", "odometer"]);
    assert!(withheld.starts_with("Left out of this report on purpose: odometer."), "{withheld}");
    let starter = text(&shop.starter(), &[]);
    assert!(
        flat(&starter)
            .starts_with("The readings were typed in later. The record does not say on which day they were taken."),
        "{starter}"
    );
    assert!(flat(&starter).contains("Asked for: Connect battery + to starter terminal"), "{starter}");
    for page in [before, after, withheld, starter] {
        for line in page.lines() {
            assert!(textwrap::core::display_width(line) <= 80, "{line}");
        }
    }
}
