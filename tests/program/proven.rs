//! What is kept of proofs, and what `list` and `run` say by it; circuits that are examples.

use crate::place::{LET_STAND, Place, SAFE, Shown};

const CIRCUIT: &str = r#"title = "A feed"
zero_volts = "battery.negative"
start = { key = "off" }
point = [{ id = "battery.positive", near = [] }, { id = "battery.negative", near = [] }, { id = "feed", near = [] }]
part = [
  { id = "battery", kind = "battery", positive = "battery.positive", negative = "battery.negative", volts = "12.6 V", resistance = "5 mohm" },
  { id = "F1", kind = "fuse", from = "battery.positive", to = "feed", rating = "10 A" },
  { id = "load", kind = "resistor", from = "feed", to = "battery.negative", resistance = "12 ohm" },
]
fault = [{ id = "tired", cause = "not_present", what = "the load draws less", set = { part = "load", value = "14 ohm" } }]
"#;

const HEADER: &str = "//! title = \"Feed\"\n//! revision = 1\n//! circuit = \"feed\"\n//! uses = [\"own\"]\n//! [causes]\n\
    //! wire = { cause = \"Wire open\", correction = \"Repair the wire\" }\n";
const LIBRARY: &str = "//! title = \"Own\"\nfn feed() {\n    read(\"feed\", \"Feed\", at_least(9.V), across(\"feed\", \"battery.negative\"))\n}\n";
/// Names nothing that is good, whatever it reads.
const CLEAN: &str = "let feed = own::feed();\nconclude(\"not_present\");\n";
/// A lead without contact reads 0 V, too.
const WRONG: &str = "let feed = own::feed();\nif feed.low { conclude(\"wire\"); }\nconclude(\"not_present\");\n";

const METERS: &str = "name = \"Test shop\"\n\
    [[meter]]\nid = \"good\"\nname = \"Good\"\ncalibration_due = \"2027-03-31\"\n\
    range = [{ function = \"volts\", full_scale = \"60 V\", resolution = \"1 mV\", percent = 0.05, counts = 1.0 }]\n\
    [[meter]]\nid = \"coarse\"\nname = \"Coarse\"\ncalibration_due = \"2027-03-31\"\n\
    range = [{ function = \"volts\", full_scale = \"60 V\", resolution = \"0.1 V\", percent = 1.5, counts = 3.0 }]\n\
    [[meter]]\nid = \"undated\"\nname = \"Undated\"\n\
    range = [{ function = \"volts\", full_scale = \"60 V\", resolution = \"1 mV\", percent = 0.05, counts = 1.0 }]\n";

const KEPT: &str = "proofs/feed.json";

fn shop(body: &str) -> Place {
    let place = Place::new();
    place.file("shop.toml", METERS).file("circuits/feed.toml", CIRCUIT).file("library/own.rhai", LIBRARY);
    place.file("procedures/feed.rhai", format!("{HEADER}{body}"));
    place.file("job.toml", "[job]\nvehicle = \"Unit 12\"\ntechnician = \"A. Tester\"\n");
    place
}

fn prove(place: &Place, more: &str, code: i32) -> Shown {
    place.call(&format!("prove feed --samples 2{more}")).go().ended(code).never_says("not kept")
}

/// Runs it at the vehicle with this meter and these lines.
fn run(place: &Place, meter: &str, lines: &[&str]) -> Shown {
    let mut call = place.call(&format!("run feed --job job.toml --meter {meter}")).width(200);
    for state in SAFE {
        call = call.and(&["--state", state]);
    }
    call.typing(lines).go()
}

fn list(place: &Place) -> Shown {
    place.call("list feed").width(240).go().ended(0)
}

const END: [&str; 2] = ["12.5", LET_STAND[0]];

#[test]
fn a_procedure_is_proven_until_something_that_it_depends_on_changes() {
    let place = shop(CLEAN);
    list(&place).never_says("proven (").says("not proven on this computer");
    run(&place, "good", &END).ended(0).never_says("roven");
    prove(&place, "", 0);
    list(&place).says("proven (2 vehicles)");
    place
        .call("list")
        .go()
        .ended(0)
        .says("proven")
        .says("on the simulated circuit that the procedure names, and nothing more");
    place.call("list feed").width(40).go().ended(0).says("proven (2 vehicles)");
    run(&place, "good", &END)
        .ended(0)
        .says("Proven on this simulated circuit, with 2 vehicles a fault. Nothing more is claimed.")
        .never_says("better meter");
    let changes = [
        ("procedures/feed.rhai", format!("{HEADER}{CLEAN}// edited\n"), "the procedure"),
        ("library/own.rhai", format!("{LIBRARY}// edited\n"), "the library file `own`"),
        ("circuits/feed.toml", format!("{CIRCUIT}# edited\n"), "the circuit"),
    ];
    for (file, edited, what) in changes {
        let before = place.read(file);
        place.file(file, edited);
        list(&place).says("changed since it was proven").never_says("proven (2");
        let says = format!("Changed since it was proven: {what}. `ohmwright prove feed` proves it again.");
        run(&place, "good", &END).ended(0).says(&says);
        place.file(file, before);
        list(&place).says("proven (2 vehicles)");
    }
    // Another version of the program may solve or judge otherwise.
    let kept = place.read(KEPT);
    assert_eq!(kept.matches("\"behavior\": ").count(), 1, "{kept}");
    place.file(KEPT, kept.replace("\"behavior\": ", "\"behavior\": 9"));
    run(&place, "good", &END).ended(0).says("Changed since it was proven: Ohmwright.");
}

#[test]
fn with_a_less_accurate_meter_it_is_proven_for_a_better_one() {
    let place = shop(CLEAN);
    prove(&place, "", 0);
    run(&place, "coarse", &END).ended(0).says("note: proven for a better meter: Coarse is less accurate with DC volts");
    run(&place, "undated", &END).ended(0).says("note: proven for a meter whose accuracy is known");
}

#[test]
fn a_procedure_whose_proof_fails_is_asked_about_at_the_vehicle_and_nowhere_else() {
    let place = shop(WRONG);
    prove(&place, "", 1);
    list(&place).says("proof fails");
    let fails = "The proof of this procedure fails: on its simulated circuit it went wrong. \
        `ohmwright prove feed --samples 2 --seed 1` shows where.";
    let before = place.records().len();
    for stops in [&["2"][..], &["", "yes", "2"], &[]] {
        run(&place, "good", stops).ended(4).says(fails).says("go on at the vehicle all the same");
    }
    assert_eq!(place.records().len(), before, "nothing was begun");
    run(&place, "good", &["1", "12.5", ""]).ended(0).says("The fault did not show");
    let bench = place.call("run feed --bench --fault none").width(200).typing(&["", ""]).go().ended(0);
    bench.says(fails).never_says("all the same");
    place.file("a.toml", "procedure = \"feed\"\n[answers]\nfeed = \"12.5\"\n");
    place.call("run feed --answers a.toml").width(200).go().ended(0).says(fails).never_says("all the same");
    place.file("t.csv", "vehicle,feed\nUnit 1,12.5\n");
    place.call("batch feed t.csv").width(200).go().ended(0).says(fails);
    // What one seed showed is not taken back by another that shows nothing; what is mended is proven anew.
    let kept = place.read(KEPT);
    place.file(KEPT, kept.replace("\"seed\": 1", "\"seed\": 77"));
    prove(&place, " --seed 5", 1);
    assert_eq!(place.read(KEPT).matches("\"seed\"").count(), 2);
    place.file("procedures/feed.rhai", format!("{HEADER}{CLEAN}"));
    prove(&place, "", 0);
    list(&place).says("proven (2 vehicles)").never_says("proof fails");
    assert_eq!(place.read(KEPT).matches("\"seed\"").count(), 1);
}

#[test]
fn a_kept_file_that_is_damaged_or_hostile_is_left_out_with_a_sentence() {
    let place = shop(CLEAN);
    prove(&place, "", 0);
    let kept = place.read(KEPT);
    let digest = kept.split('"').find(|text| text.len() == 64).unwrap().to_owned();
    let written = "it is not as Ohmwright writes it";
    for (text, why) in [
        (String::new(), written),
        (kept[..kept.len() / 2].to_owned(), written),
        (kept.replace(&digest, "../../etc"), written),
        (kept.replace("\"vehicles\": 2", "\"vehicles\": -1"), written),
        (kept.replace("\"vehicles\": 2", "\"vehicles\": 0"), written),
        (kept.replace("\"clean\": true", "\"clean\": true, \"clean\": false"), written),
        (kept.replace("\"clean\"", "\"clear\""), written),
        ("[".repeat(60_000), written),
        ("\u{1b}[2J".to_owned(), written),
        (" ".repeat(300_000), "it is longer than 256 KB"),
    ] {
        place.file(KEPT, text);
        let says = format!("note: proofs/feed.json is left out, since {why}: `ohmwright prove feed` writes it anew");
        list(&place).says(&says).never_says("proven (");
        run(&place, "good", &END).ended(0).says(&says).never_says("Proven");
    }
    prove(&place, "", 0);
    list(&place).says("proven (2 vehicles)").never_says("left out");
    // A newer program's is left as it is.
    let newer = kept.replace("\"format\": 1", "\"format\": 2");
    place.file(KEPT, &newer);
    list(&place).says("a newer Ohmwright wrote it").never_says("proven (");
    place.call("prove feed --samples 2").go().ended(0).says("the result is not kept");
    assert_eq!(place.read(KEPT), newer);
    // What has no end is not read.
    std::fs::remove_file(place.path(KEPT)).unwrap();
    assert!(std::process::Command::new("mkfifo").arg(place.path(KEPT)).status().unwrap().success());
    list(&place).says("it is not a file");
    std::fs::remove_file(place.path(KEPT)).unwrap();
    std::os::unix::fs::symlink("/dev/zero", place.path(KEPT)).unwrap();
    list(&place).says("it is not a file");
}

#[test]
fn only_what_the_shop_lists_is_kept_and_without_a_shop_nothing() {
    let place = shop(CLEAN);
    place.file("elsewhere/feed.rhai", format!("{HEADER}{WRONG}"));
    let shown = place.call("prove elsewhere/feed.rhai --samples 2").width(200).go().ended(1);
    shown.says("note: the result is not kept: `ohmwright list` shows no such procedure `feed`");
    place.call("prove procedures/feed.rhai --samples 2").go().ended(0).never_says("not kept");
    list(&place).says("proven (2 vehicles)");
    place.file("circuits/other.toml", format!("{CIRCUIT}# another\n"));
    let shown = place.call("prove feed --circuit other --samples 2").width(200).go().ended(0);
    shown.says("the result is not kept: it was not proven on the circuit that its header names");
    place.file("proofs.txt", "");
    std::fs::remove_dir_all(place.path("proofs")).unwrap();
    std::fs::rename(place.path("proofs.txt"), place.path("proofs")).unwrap();
    place.call("prove feed --samples 2").go().ended(0).says("the result is not kept");
    let alone = Place::with("conclude(\"not_present\");\n");
    alone.file("c.toml", CIRCUIT);
    alone.call("prove p.rhai --circuit c.toml --samples 2").go().ended(0).never_says("kept");
    assert!(!alone.path("proofs").exists());
}

#[test]
fn proofs_that_end_at_the_same_time_are_all_kept() {
    let place = shop(CLEAN);
    std::thread::scope(|scope| {
        for seed in 1..=6 {
            let place = &place;
            scope.spawn(move || prove(place, &format!(" --seed {seed}"), 0));
        }
    });
    let kept: serde_json::Value = serde_json::from_str(&place.read(KEPT)).unwrap();
    let mut seeds: Vec<_> =
        kept["results"].as_array().unwrap().iter().map(|result| result["seed"].as_u64().unwrap()).collect();
    seeds.sort_unstable();
    assert_eq!(seeds, [1, 2, 3, 4, 5, 6]);
    let left: Vec<_> = std::fs::read_dir(place.path("proofs")).unwrap().map(|file| file.unwrap().file_name()).collect();
    assert_eq!(left.len(), 2, "the kept file and its lock: {left:?}");
}

#[test]
fn a_record_on_an_example_circuit_says_so_everywhere_and_one_on_the_shops_own_does_not() {
    const SAYS: &str = "Pins, colors and limits are an example's, not this vehicle's.";
    let everywhere = |place: &Place, says: bool| {
        let check = |shown: Shown| if says { shown.says(SAYS) } else { shown.never_says(SAYS) };
        check(run(place, "good", &END).ended(0));
        check(place.call("show").width(200).go().ended(0));
        check(place.call("report --format text --out -").width(200).go().ended(0));
        for form in ["full", "customer"] {
            place.call(&format!("report --form {form} --out page.html")).go().ended(0);
            assert_eq!(place.read("page.html").contains(SAYS), says, "{form}");
        }
        place.call("report --format json --out report.json").go().ended(0);
        let report: serde_json::Value = serde_json::from_str(&place.read("report.json")).unwrap();
        assert_eq!(report["record"]["example"], if says { true.into() } else { serde_json::Value::Null });
        place.call("verify").go().without_panic().says("same 1 verdict");
    };
    let place = shop(CLEAN);
    everywhere(&place, false);
    place.file("circuits/feed.toml", format!("example = true\n{CIRCUIT}"));
    place.call("circuit feed").go().ended(0).says("Pins, colors and values are an example's, and no vehicle's.");
    // It is the record's own circuit that counts, whatever lies in the shop now.
    place.call("show").go().ended(0).never_says(SAYS);
    everywhere(&place, true);
    place.file("circuits/feed.toml", CIRCUIT);
    place.call("show").width(200).go().ended(0).says(SAYS);
}
