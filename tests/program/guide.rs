//! The pages for whoever writes procedures: every example in them runs, and their tables have every word that the code knows.

use crate::place::Place;
use serde_json::Value;
use std::collections::BTreeSet;
use std::path::Path;

const README: &str = "README.md";
const PROCEDURES: &str = "procedures/WRITING.md";
const CIRCUITS: &str = "procedures/circuits/WRITING.md";

/// Every page with links.
const LINKED: [&str; 7] =
    [README, PROCEDURES, CIRCUITS, "CHANGELOG.md", "DEVELOPERS.md", "procedures/SIGNING.md", "procedures/FOLLOWING.md"];

/// Words at the prompt alone, and functions' names in help, are listed by these topics.
const TOPICS: [&str; 3] = ["written", "asked", "prompt"];

/// A file of the project's.
fn file(path: &str) -> String {
    std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(path)).unwrap()
}

/// An example: a fenced block whose first line says what it is, such as `procedure=spreader`.
struct Example {
    kind: String,
    name: String,
    text: String,
}

impl Example {
    /// Where it lies in a shop's folder.
    fn path(&self) -> String {
        let name = &self.name;
        match self.kind.as_str() {
            "procedure" => format!("procedures/{name}.rhai"),
            "library" => format!("library/{name}.rhai"),
            "circuit" => format!("circuits/{name}.toml"),
            "answers" => format!("answers/{name}.toml"),
            "table" => format!("{name}.csv"),
            "shop" => "shop.toml".to_owned(),
            other => panic!("an example is marked `{other}`, which is nothing that is run here"),
        }
    }

    /// The value of a key that stands alone on a line, of a TOML file or of a header.
    fn value(&self, key: &str) -> Option<&str> {
        let lines = self.text.lines().map(|line| line.trim_start_matches("//!").trim());
        let mut values = lines.filter_map(|line| line.strip_prefix(key)?.trim_start().strip_prefix('='));
        values.next().map(|value| value.trim().trim_matches('"'))
    }
}

/// Every marked example of the pages.
fn examples() -> Vec<Example> {
    let mut examples: Vec<Example> = Vec::new();
    for page in [README, PROCEDURES, CIRCUITS] {
        let text = file(page);
        let mut in_block = false;
        let mut marked = false;
        for line in text.lines() {
            match line.strip_prefix("```") {
                Some(_) if in_block => in_block = false,
                Some(info) => {
                    in_block = true;
                    let mark = info.split_whitespace().nth(1);
                    marked = mark.is_some();
                    if let Some(mark) = mark {
                        let (kind, name) = mark.split_once('=').unwrap_or((mark, ""));
                        examples.push(Example { kind: kind.to_owned(), name: name.to_owned(), text: String::new() });
                    }
                }
                None if in_block && marked => {
                    let example = examples.last_mut().unwrap();
                    example.text.push_str(line);
                    example.text.push('\n');
                }
                None => {}
            }
        }
        assert!(!in_block, "{page} has a block that does not end");
    }
    examples
}

fn of_kind<'a>(examples: &'a [Example], kind: &str) -> Vec<&'a Example> {
    examples.iter().filter(|example| example.kind == kind).collect()
}

/// A shop's folder with every example in it.
fn shop() -> Place {
    let place = Place::new();
    let mut paths = BTreeSet::new();
    for example in examples() {
        let path = example.path();
        place.file(&path, &example.text);
        assert!(paths.insert(path), "two examples are `{}`", example.path());
    }
    place
}

#[test]
fn every_procedure_of_the_pages_that_names_a_circuit_keeps_its_faults_apart() {
    let (place, examples) = (shop(), examples());
    let circuits: BTreeSet<&str> = of_kind(&examples, "circuit").iter().map(|circuit| circuit.name.as_str()).collect();
    let mut proven = BTreeSet::new();
    for procedure in of_kind(&examples, "procedure") {
        let Some(circuit) = procedure.value("circuit") else { continue };
        let call = format!("prove {} --samples 5 --table --json proof.json", procedure.name);
        place.call(&call).go().without_panic().says("good part condemned").says("not_present");
        let proof: Value = serde_json::from_str(&place.read("proof.json")).unwrap();
        for case in proof["cases"].as_array().unwrap().iter().chain(proof["after_repair"].as_array().unwrap()) {
            assert_eq!(case["astray"], Value::Null, "{}", procedure.name);
        }
        proven.insert(circuit.to_owned());
    }
    assert!(circuits.iter().all(|circuit| proven.contains(*circuit)), "{circuits:?} {proven:?}");
    assert!(circuits.len() >= 2);
}

#[test]
fn every_circuit_of_the_pages_is_shown_and_measured_by_hand() {
    let place = shop();
    place.call("circuit spreader").width(200).go().ended(0).says("red/white, 2.5 mm2").says("motor_stuck");
    let switched_on = "circuit spreader --spice --position spreader_switch=on --unplugged C85 --fault fuse_open";
    place.call(switched_on).go().ended(0).says("* feed_wire");
    let by_hand = ["bench(\"spreader\")", "hold(\"spreader_switch\", \"on\")", "volts(\"feed\", \"ground\")"];
    place.call("repl").typing(&by_hand).go().ended(0).says("11.95 V");
}

#[test]
fn every_answers_file_of_the_pages_comes_to_the_cause_that_the_page_is_about() {
    let (place, examples) = (shop(), examples());
    let causes = [("rusty", "Found: The ground side drops too much voltage")];
    let entered = [("current", "no clamp at hand"), ("feed", "1.212"), ("feed", "12.12")];
    let files = of_kind(&examples, "answers");
    assert_eq!(files.len(), causes.len());
    for file in files {
        let cause = causes.iter().find(|(name, _)| *name == file.name).unwrap().1;
        let procedure = file.value("procedure").unwrap();
        let shown = place.call(&format!("run {procedure} --answers {}", file.path())).go().ended(0);
        shown.says(cause);
        let events = place.events();
        for (id, text) in entered {
            let is_there = |event: &Value| event["id"] == id && event.to_string().contains(&format!("\"{text}\""));
            assert!(events.iter().any(is_there), "{id} {text}: {events:?}");
        }
    }
}

#[test]
fn a_job_file_is_an_answers_file_without_its_answers() {
    let (place, examples) = (shop(), examples());
    let answers = &of_kind(&examples, "answers")[0].text;
    let (job, _) = answers.split_once("[answers]").unwrap();
    place.file("job.toml", job.replace("procedure = \"spreader\"\n", ""));
    // No job and no state is asked for: the first caution is.
    let shown = place.call("run spreader --job job.toml").typing(&["+", "+", "+", "12.56", "pause"]).go();
    shown.ended(4).says("Battery at rest").never_says("Odometer");
}

#[test]
fn the_check_after_the_repair_begins_anew() {
    let place = shop();
    place.call("run spreader --answers answers/rusty.toml").go().ended(0);
    let answers = "procedure = \"spreader\"\n[answers]\npins_after = \"11.6\"\ncurrent_after = ";
    for (current, cause) in
        [("8.1", "The readings that were bad are now within limits"), ("21.4", "Still wrong after the repair")]
    {
        place.file("after.toml", format!("{answers}\"{current}\"\n"));
        let record = place.records()[0].clone();
        place.call("run spreader --answers after.toml --after").and(&[&record]).go().ended(0).says(cause);
    }
}

#[test]
fn the_table_of_the_page_comes_to_what_its_rows_say() {
    let place = shop();
    place.call("batch spreader units.csv").go().ended(4).says("row 4, column current: empty");
    let summary = place.read("records/units-spreader-summary.csv");
    for row in ["concluded,stuck,", "concluded,ground_lost,", "waits,,"] {
        assert!(summary.contains(row), "{row}: {summary}");
    }
    place.file("simulated.csv", "vehicle,fault,seed\nUnit 05,,1\nUnit 11,pin_corroded,\n");
    place.call("batch spreader simulated.csv --simulate").go().ended(0).says("not_present").says("terminals");
}

#[test]
fn a_caution_of_the_shops_own_has_a_zone_of_its_own() {
    let place = shop();
    let procedure = place.read("procedures/spreader.rhai");
    place.file("procedures/spreader.rhai", procedure.replace("\"powered_part\"", "\"hopper\""));
    place.call("run spreader --answers answers/rusty.toml").go().ended(0).says("salt dust");
    place.file("procedures/spreader.rhai", procedure.replace("\"powered_part\"", "\"hoper\""));
    place.call("run spreader --answers answers/rusty.toml").go().ended(3).says("did you mean `hopper`?");
}

/// The vehicle's state and the battery, then what each row has of feed, ground and lights.
const DARK_LAMP: [(&str, &str); 10] = [
    ("12.4,0.04,no", "concluded,lamp,"),
    ("12.4,0.04,yes", "concluded,not_present,"),
    ("0.02,0.00,no", "concluded,feed_lost,"),
    ("12.4,11.9,no", "concluded,ground_lost,"),
    ("12.4,-11.9; -11.9,no", "ended,,Unfinished: a reading is below zero"),
    ("-12.4; -12.4,0.04,no", "ended,,Unfinished: a reading is below zero"),
    ("12.4,OL,no", "ended,,\"Unfinished: the meter shows OL"),
    ("OL,0.04,no", "ended,,\"Unfinished: the meter shows OL"),
    ("1.24,0.04,no", "waits,,\"row 10, column feed: `1.24`: Expected about 12.4 V"),
    ("12.4,-11.9,no", "waits,,\"row 11, column ground: `-11.9`: The sign is not as expected"),
];

#[test]
fn the_readmes_procedure_condemns_no_lamp_for_swapped_leads_or_a_meter_over_range() {
    let place = shop();
    let rows: String = DARK_LAMP.iter().map(|(cells, _)| format!("12 V,off,12.6,{cells}\n")).collect();
    place.file("lamps.csv", format!("nominal,key,answer.battery,feed,ground,lights\n{rows}"));
    place.call("batch dark_lamp lamps.csv").go().without_panic();
    let summary = place.read("records/lamps-dark-lamp-summary.csv");
    for ((cells, outcome), line) in DARK_LAMP.iter().zip(summary.lines().skip(1)) {
        assert!(line.contains(outcome), "{cells}: {line}");
    }
    assert_eq!(summary.lines().count(), 1 + DARK_LAMP.len(), "{summary}");
}

#[test]
fn the_pages_are_no_procedures_and_no_circuits() {
    let place = Place::new();
    place.call("list").go().ended(0).never_says("WRITING");
    place.call("run WRITING").go().ended(2).says("there is no procedure `WRITING`");
    place.call("circuit WRITING").go().ended(2).says("there is no circuit `WRITING`");
}

/// The names that a page's headings have in links.
fn headings(path: &Path) -> BTreeSet<String> {
    let text = std::fs::read_to_string(path).unwrap();
    let headings = text.split("```").step_by(2).flat_map(str::lines).filter(|line| line.starts_with('#'));
    let plain = |heading: &str| -> String {
        let letters =
            heading.trim_start_matches('#').trim().chars().filter(|c| c.is_alphanumeric() || " -_".contains(*c));
        letters.map(|c| if c == ' ' { '-' } else { c.to_ascii_lowercase() }).collect()
    };
    headings.map(plain).collect()
}

#[test]
fn every_source_that_the_developers_page_names_is_there() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let text = file("DEVELOPERS.md");
    let is_path = |span: &&str| span.ends_with(".rs") && span.contains('/') && !span.contains([' ', '\n', '<']);
    let named: BTreeSet<&str> = text.split('`').filter(is_path).collect();
    let missing: Vec<&&str> =
        named.iter().filter(|name| !root.join(name).exists() && !root.join("src").join(name).exists()).collect();
    assert!(missing.is_empty(), "DEVELOPERS.md names {missing:?}");
    assert!(named.len() >= 40, "{named:?}");
}

#[test]
fn a_reader_of_the_readme_is_done_in_150_lines() {
    let lines = file(README).lines().count();
    assert!(lines <= 150, "{README} has {lines} lines; details belong to a page of their own");
}

#[test]
fn every_link_of_the_pages_leads_to_a_file_and_a_heading() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut links = 0;
    for page in LINKED {
        let text = file(page);
        for link in text.split("](").skip(1).filter_map(|rest| rest.split(')').next()) {
            let (target, heading) = link.split_once('#').unwrap_or((link, ""));
            let from = root.join(page);
            let path = if target.is_empty() { from } else { from.parent().unwrap().join(target) };
            assert!(path.exists(), "{page} links to {link}");
            let found = heading.is_empty() || headings(&path).contains(heading);
            assert!(found, "{page} links to {link}, and there is no such heading: {:?}", headings(&path));
            links += 1;
        }
    }
    assert!(links >= 8, "{links} links");
}

/// The words in a page's code spans, outside of its examples.
fn code_words(page: &str) -> BTreeSet<String> {
    let text = file(page);
    let outside: Vec<&str> = text.split("```").step_by(2).collect();
    let spans = outside.iter().flat_map(|part| part.split('`').skip(1).step_by(2));
    let words = spans.flat_map(|span| span.split(|c: char| !c.is_alphanumeric() && c != '_'));
    words.filter(|word| !word.is_empty()).map(str::to_owned).collect()
}

#[track_caller]
fn all_stand_in(page: &str, what: &str, names: &BTreeSet<String>) {
    let words = code_words(page);
    let missing: Vec<_> = names.iter().filter(|name| !words.contains(*name)).collect();
    assert!(missing.is_empty(), "{page} lacks {what} {missing:?}");
}

#[test]
fn every_word_that_help_knows_of_procedures_stands_in_the_page() {
    let lines = TOPICS.map(|topic| format!("help(\"{topic}\")"));
    let shown = Place::new().call("repl").typing(&lines.each_ref().map(String::as_str)).width(200).go().ended(0);
    let names: BTreeSet<String> = shown
        .out
        .lines()
        .filter_map(|line| line.strip_prefix("  ")?.split_once(": "))
        .flat_map(|(name, _)| name.split('.').map(str::to_owned).collect::<Vec<_>>())
        .filter(|name| !name.contains(' '))
        // The kinds of answers stand there as words of the table.
        .filter(|name| !name.starts_with(char::is_uppercase))
        .collect();
    for known in ["read", "conclude", "expecting", "short_of_end", "step_through", "put_back"] {
        assert!(names.contains(known), "help has no {known}: {names:?}");
    }
    all_stand_in(PROCEDURES, "words", &names);
}

/// The keys of a structure that is read from a file, as its fields and their renames say.
fn keys(source: &str, structure: &str) -> BTreeSet<String> {
    let text = file(source);
    let (_, rest) = text.split_once(&format!("pub struct {structure} {{\n")).unwrap();
    let (body, _) = rest.split_once("\n}").unwrap();
    let mut renamed = None;
    let mut keys = BTreeSet::new();
    for line in body.lines().map(str::trim) {
        if let Some((_, name)) = line.split_once("rename = \"") {
            renamed = name.split('"').next().map(str::to_owned);
        } else if let Some((name, _)) = line.strip_prefix("pub ").and_then(|field| field.split_once(':')) {
            keys.insert(renamed.take().unwrap_or_else(|| name.to_owned()));
        }
    }
    assert!(!keys.is_empty(), "{structure} in {source}");
    keys
}

#[test]
fn every_key_of_headers_shops_jobs_and_cautions_stands_in_the_page() {
    for (source, structure) in [
        ("src/script/header.rs", "Header"),
        ("src/script/header.rs", "CauseText"),
        ("src/model/shop.rs", "Shop"),
        ("src/model/shop.rs", "Role"),
        ("src/model/shop.rs", "Person"),
        ("src/model/meter.rs", "Meter"),
        ("src/model/meter.rs", "Range"),
        ("src/model/caution.rs", "Rule"),
        ("src/model/caution/when.rs", "When"),
        ("src/model/job.rs", "Job"),
        ("src/run/prepared_answers.rs", "AnswersFile"),
    ] {
        all_stand_in(PROCEDURES, structure, &keys(source, structure));
    }
    let cautions = file("stdlib/cautions.toml");
    let zones: BTreeSet<String> = cautions
        .split("zones = [")
        .skip(1)
        .flat_map(|rest| rest.split(']').next().unwrap().split(", "))
        .map(|zone| zone.trim_matches('"').to_owned())
        .collect();
    assert!(zones.len() >= 8, "{zones:?}");
    all_stand_in(PROCEDURES, "zones", &zones);
}

/// What stands in quotes behind these beginnings: the keys that a circuit file is asked for.
const ASKED_FOR: [&str; 25] = [
    ".color(\"",
    ".text(\"",
    ".name(\"",
    ".quantity(\"",
    ".number(\"",
    ".words(\"",
    ".sections(\"",
    ".spread(\"",
    ".flag(\"",
    ".range(\"",
    ".number_range(\"",
    ".spread_or(\"",
    ".spread_needed(\"",
    ".needed(\"",
    ".gauge(\"",
    ".named_entries(\"",
    ".item(\"",
    ".movement(\"",
    ".travelled(\"",
    ".end(\"",
    ".end_if(\"",
    ".condition(\"",
    "decode(section, \"",
    "pairs(section, \"",
    "place(\"",
];

#[test]
fn every_kind_of_part_and_every_key_of_a_circuit_stands_in_the_page() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/circuit/parts");
    let parts: Vec<String> = walkdir::WalkDir::new(folder)
        .into_iter()
        .map(|entry| entry.unwrap().into_path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "rs"))
        .map(|path| std::fs::read_to_string(path).unwrap())
        .collect();
    let listed = |list: &str| -> BTreeSet<String> {
        let lists = parts.iter().flat_map(|part| part.split(list).skip(1)).map(|rest| rest.split(']').next().unwrap());
        lists.flat_map(|words| words.split('"').skip(1).step_by(2)).map(str::to_owned).collect()
    };
    let kinds = listed("words: &[");
    assert!(kinds.contains("wire") && kinds.contains("transceiver"), "{kinds:?}");
    all_stand_in(CIRCUITS, "kinds of part", &kinds);
    let mut asked = BTreeSet::new();
    let others = ["file", "movement", "signal", "fault", "cause", "look", "shows"]
        .map(|source| file(&format!("src/circuit/{source}.rs")));
    for text in parts.iter().chain(&others) {
        for beginning in ASKED_FOR {
            let keys = text.split(beginning).skip(1).filter_map(|rest| rest.split('"').next());
            asked.extend(keys.map(str::to_owned));
        }
    }
    asked.extend(ohmwright::model::vehicle::STATE_PARTS.iter().map(|part| part.name.to_owned()));
    for known in ["zero_volts", "at_start", "normally_open", "powered_at", "only_while", "how_common", "wheels"] {
        assert!(asked.contains(known), "{known} is not among {asked:?}");
    }
    all_stand_in(CIRCUITS, "keys", &asked);
    let branches = listed("branches: &[");
    assert!(branches.contains("wiper"), "{branches:?}");
    all_stand_in(CIRCUITS, "branches", &branches);
}
