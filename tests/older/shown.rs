//! `show` and `report`: what was recorded is there, in every form.

use crate::kept::{self, Facts, Shop};
use serde_json::{Value, json};

/// What came of the run, and how many lines the readings have as a table.
fn facts_of(shop: &Shop, record: &str) -> Value {
    let report = shop.ask(&["report", "--format", "json", record]).json();
    let causes = report["result"]["causes"].as_array().unwrap();
    let causes: Vec<_> = causes.iter().map(|cause| cause["id"].clone()).collect();
    let table = shop.ask(&["report", "--format", "csv", record]);
    assert_eq!(table.code, 0, "{record}: {}", table.err);
    let mut reader = csv::Reader::from_reader(table.out.as_bytes());
    let lines = reader.records().map(Result::unwrap).filter(|row| row.get(0) == Some(record)).count();
    json!({
        "standing": report["result"]["standing"],
        "causes": causes,
        "torn_bytes": report["record"]["torn_bytes"],
        "table_lines": lines,
    })
}

/// Of every record of a version.
pub fn facts(version: &str) -> Facts {
    let shop = Shop::of(version);
    kept::records(version).into_iter().map(|record| (record.clone(), facts_of(&shop, &record))).collect()
}

#[test]
fn every_record_came_to_what_is_expected() {
    kept::assert_as_expected("report", facts);
}

/// Where the value now is another one than it was. What is new beside it is no difference, and neither are the program's own
/// words.
fn differences(then: &Value, now: &Value, at: &str, found: &mut Vec<String>) {
    match (then, now) {
        (Value::Object(then_fields), Value::Object(now_fields)) => {
            // An action is told in the program's words, unless the author put it into words.
            let action = then["kind"] == "action";
            for (key, then) in then_fields {
                let is_wording = match key.as_str() {
                    "text" => action,
                    "answer" | "question" | "words" | "reason" | "accuracy_words" => then.is_string(),
                    "schema_version" => true,
                    _ => false,
                };
                match now_fields.get(key) {
                    _ if is_wording => {}
                    Some(now) => differences(then, now, &format!("{at}.{key}"), found),
                    None => found.push(format!("{at}.{key} was {then} and is gone")),
                }
            }
        }
        (Value::Array(then), Value::Array(now)) if then.len() == now.len() => {
            for (index, (then, now)) in then.iter().zip(now).enumerate() {
                differences(then, now, &format!("{at}[{index}]"), found);
            }
        }
        // Numbers that nothing but rounding parts are equal.
        (Value::Number(then), Value::Number(now))
            if (then.as_f64().unwrap() - now.as_f64().unwrap()).abs() <= 1e-9 * then.as_f64().unwrap().abs() => {}
        _ if then == now => {}
        _ => found.push(format!("{at} was {then} and is {now}")),
    }
}

#[test]
fn as_data_every_record_says_what_it_said_to_the_version_that_wrote_it() {
    let mut found = Vec::new();
    let mut compared = 0;
    for version in kept::versions() {
        let shop = Shop::of(&version);
        for (record, said) in kept::lines_of("as_it_was", &version) {
            let now = shop.ask(&["report", "--format", "json", &record]);
            assert_eq!((now.code, now.err.as_str()), (0, ""), "{version} {record}");
            differences(&said["report"], &now.json(), &format!("{version} {record}: "), &mut found);
            compared += 1;
        }
    }
    assert!(found.is_empty(), "{}", found.join("\n"));
    assert!(compared > 100, "{compared}");
}

#[test]
fn the_comparison_finds_what_changed_and_leaves_the_words_alone() {
    let then = json!({"a": [1.0, {"kind": "action", "text": "Turn it", "line": 3}], "text": "Supply", "words": "in"});
    let found = |now: Value| {
        let mut found = Vec::new();
        differences(&then, &now, "", &mut found);
        found
    };
    let none: [&str; 0] = [];
    assert_eq!(
        found(
            json!({"a": [1.0, {"kind": "action", "text": "Turn", "line": 3}], "text": "Supply", "words": "OK", "b": 1})
        ),
        none
    );
    assert_eq!(found(json!({"a": [2.0, {"kind": "action", "line": 4}], "text": "Feed", "words": "in"})).len(), 3);
    assert_eq!(found(json!({"a": [1.0], "text": "Supply", "words": "in"})).len(), 1);
    assert_eq!(found(json!({"a": then["a"], "words": "in"})), [".text was \"Supply\" and is gone"]);
}

/// The program has words of its own for a cause that every procedure may have.
fn is_the_authors(cause: &Value) -> bool {
    cause["id"] != "not_present"
}

/// Whatever somebody typed or the author wrote, which no change of the program's words may lose.
fn recorded_words(journal: &[u8]) -> Vec<String> {
    let mut words = Vec::new();
    for event in kept::events(journal) {
        let keys: &[&str] = match event["event"].as_str().unwrap() {
            "started" => &["title"],
            "step_began" => &["title"],
            "noted" => &["text"],
            "answered" => &["text", "words", "reason", "option"],
            "ended" => &["words"],
            _ => &[],
        };
        words.extend(keys.iter().filter_map(|key| event[*key].as_str().map(str::to_owned)));
        for cause in event["causes"].as_array().into_iter().flatten().filter(|cause| is_the_authors(cause)) {
            words.extend(["cause", "correction"].map(|key| cause[key].as_str().unwrap().to_owned()));
        }
        // A number as it was typed, without its unit.
        if event["event"] == "answered" {
            let typed = event["typed"].as_str().unwrap_or_default();
            let number = typed.trim_end_matches(|c: char| !c.is_ascii_digit());
            words.extend((!number.is_empty()).then(|| number.to_owned()));
        }
    }
    words
}

#[test]
fn show_has_every_word_and_every_number_that_was_recorded() {
    for version in kept::versions() {
        let shop = Shop::of(&version);
        for record in kept::records(&version) {
            let ran = shop.ask(&["show", &record]);
            assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{version} {record}");
            let flat = ran.flat();
            for words in recorded_words(&kept::journal(&version, &record)) {
                assert!(flat.contains(&words), "{version} {record}: `{words}` is missing\n{}", ran.out);
            }
        }
    }
}

#[test]
fn as_a_page_every_record_has_its_cause_and_what_was_measured() {
    for version in kept::versions() {
        let shop = Shop::of(&version);
        for record in kept::records(&version) {
            let words = recorded_words(&kept::journal(&version, &record));
            let page = shop.ask(&["report", "--out", "-", &record]);
            assert_eq!((page.code, page.err.as_str()), (0, ""), "{version} {record}");
            for words in &words {
                let escaped = words.replace('&', "&amp;").replace('"', "&quot;");
                assert!(page.out.contains(&escaped), "{version} {record}: `{words}` is missing on the page");
            }
            let customer = shop.ask(&["report", "--form", "customer", "--out", "-", &record]);
            assert_eq!((customer.code, customer.err.as_str()), (0, ""), "{version} {record}");
            let events = kept::events(&kept::journal(&version, &record));
            let causes = events.iter().flat_map(|event| event["causes"].as_array().into_iter().flatten());
            for cause in causes.filter(|cause| is_the_authors(cause)) {
                let cause = cause["cause"].as_str().unwrap();
                assert!(customer.out.contains(cause), "{version} {record}: `{cause}` is missing for the customer");
            }
        }
    }
}
