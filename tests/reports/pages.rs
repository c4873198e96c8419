//! The HTML forms.

use crate::workshop::{Workshop, text_of};
use sha2::{Digest, Sha256};

const FORMS: [&[&str]; 2] = [&[], &["--form", "customer"]];

/// The part of a page between two texts.
fn between<'a>(page: &'a str, from: &str, to: &str) -> &'a str {
    let rest = page.split_once(from).unwrap_or_else(|| panic!("no `{from}` in {page}")).1;
    rest.split_once(to).unwrap_or_else(|| panic!("no `{to}` behind `{from}`")).0
}

#[test]
fn what_people_typed_is_text_and_nothing_else() {
    let shop = Workshop::copied();
    for form in FORMS {
        for record in shop.names() {
            let page = shop.report(&record, form);
            assert!(page.contains("Truck 12 &lt;script&gt;alert(1)&lt;/script&gt;"), "{page}");
            assert!(page.contains("Lamp comes on &lt;b&gt;uphill&lt;/b&gt;"));
            assert!(!page.contains("<script"), "{page}");
            assert!(!page.contains("<b>"));
            assert!(!page.chars().any(|c| c.is_control() && c != '\n'), "control character in {page}");
        }
    }
    assert!(shop.report(&shop.before(), &[]).contains("=corrosion on \\u{1b}[31mthe shield"));
}

#[test]
fn a_hostile_record_breaks_out_of_no_attribute_no_drawing_and_no_style() {
    let shop = Workshop::copied();
    let hostile = "x\\\"' onload=alert(1) </title></style></svg><img src=x onerror=alert(1)>\u{202e}";
    for field in [
        "Truck 12 <script>alert(1)</script>",
        "Reference to sensor ground",
        "common practice, no source",
        "reference pin",
        "The sensor's track breaks off on the way",
        "Signal follows the shaft",
    ] {
        let record = shop.before();
        let kept = std::fs::read(shop.journal(&record)).unwrap();
        shop.edit(&record, |text| {
            assert!(text.contains(field), "{field}");
            text.replace(field, hostile)
        });
        let mut escaped = 0;
        for form in FORMS {
            let page = shop.report(&record, form);
            // A quote that is left as it is ends an attribute's value, and what follows is an attribute.
            assert!(!page.contains("x\"'"), "{field}: a quote breaks out");
            escaped += page.matches("x&quot;' onload").count();
            for tag in ["<img", "<script", "</style></svg>", "\u{202e}"] {
                assert!(!page.contains(tag), "{field}: {tag}");
            }
            assert_eq!(page.matches("</style>").count(), 1, "{field}");
            assert_eq!(page.matches("<svg").count(), page.matches("</svg>").count());
        }
        assert!(escaped > 0, "{field} is on no page");
        std::fs::write(shop.journal(&record), kept).unwrap();
    }
}

#[test]
fn the_full_report_has_result_readings_doubts_cautions_and_digests() {
    let shop = Workshop::copied();
    let record = shop.before();
    let page = shop.report(&record, &[]);
    let result = between(&page, "id=\"result\"", "</section>");
    for words in
        ["Lamp comes on", "Verified", "The sensor's track breaks off on the way", "Replace the flap position sensor"]
    {
        assert!(result.contains(words), "{words} in {result}");
    }
    let rows = between(&page, "id=\"readings\"", "id=\"detours\"");
    for words in [
        "4.761 V",
        "OK, unsure",
        "4.75 … 5.25 V",
        "shop practice",
        "red: reference pin; black: ground pin",
        "OPEN",
        "skipped: could not reach it",
        "DROPS OUT",
    ] {
        assert!(rows.contains(words), "{words} in {rows}");
    }
    let detours = between(&page, "id=\"detours\"", "</section>");
    assert!(detours.contains("First entered: 4.76 V.") && detours.contains("Then entered: 4.761 V."), "{detours}");
    assert!(detours.contains("First entered: 0.37 V.") && detours.contains("Then entered: 3.72 V."), "{detours}");
    assert!(detours.contains("Was: 250 mV, HIGH. Answered again: 85 mV."), "{detours}");
    assert!(detours.contains("Could not reach it."), "{detours}");
    let cautions = between(&page, "id=\"cautions\"", "</section>");
    assert!(cautions.contains("DANGER") && cautions.contains("crushes anyone under it"), "{cautions}");
    // What came out of a pipe confirms nothing.
    assert!(cautions.contains("Answered from input, not confirmed by a person."), "{cautions}");
    assert!(between(&page, "id=\"signoffs\"", "</section>").contains("Nobody has signed this record."));
    let digest: String = Sha256::digest(std::fs::read(shop.journal(&record)).unwrap())
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect();
    let digests = between(&page, "id=\"digests\"", "</section>");
    assert!(digests.contains(&digest), "{digests}");
    for source in std::fs::read_dir(shop.path().join("records/sources")).unwrap() {
        let name = source.unwrap().file_name().into_string().unwrap();
        assert!(digests.contains(&name), "{name}");
    }
}

#[test]
fn what_is_asked_again_after_taking_back_stands_in_its_own_step() {
    let shop = Workshop::copied();
    let page = shop.report(&shop.before(), &[]);
    let again = between(&page, "Reference and ground, together, again", "</table>");
    assert!(again.contains("85 mV"), "{again}");
    let dead = between(&page, ">On a dead circuit<", "</table>");
    assert!(!dead.contains("85 mV") && dead.contains("heater"), "{dead}");
}

#[test]
fn what_was_done_on_a_path_that_was_taken_back_says_so_in_words() {
    let shop = Workshop::empty();
    let record = shop.astray();
    let page = shop.report(&record, &[]);
    let dead = between(&page, ">On a dead circuit (on the path undone)<", "</section>");
    for (label, what) in [("Done", "Turn the key off"), ("Done", "Unplug C41"), ("Note", "probe slipped")] {
        assert!(dead.contains(&format!("<strong>{label} (on the path undone)</strong>: {what}")), "{what}: {dead}");
    }
    let rest = page.split_once(">On a dead circuit, again<").unwrap().1;
    assert!(rest.contains("<strong>Done</strong>: Plug C41 in again") && !rest.contains("(on the path undone)"));
    let text = shop.report(&record, &["--format", "text"]);
    for words in [
        "Step (on the path undone): On a dead circuit",
        "  Done (on the path undone): Unplug C41",
        "  Note (on the path undone): probe slipped",
        "  Done: Plug C41 in again",
    ] {
        assert!(text.contains(words), "{words} in {text}");
    }
}

#[test]
fn accuracy_is_drawn_from_the_kept_meter_and_not_invented_without_it() {
    let shop = Workshop::copied();
    let record = shop.before();
    let rest = |page: &str| between(between(page, ">rest<", "</tr>"), "<svg", "</svg>").to_owned();
    // 3.72 V on the 6 V range: 0.5 % + 3 counts of 1 mV = 21.6 mV.
    let with = rest(&shop.report(&record, &[]));
    assert!(with.contains("class=\"accuracy\"") && with.contains("±22 mV"), "{with}");
    shop.edit(&record, |text| text.replace("\"kind\":\"meter\"", "\"kind\":\"people\""));
    let without = rest(&shop.report(&record, &[]));
    assert!(!without.contains("class=\"accuracy\"") && !without.contains('±'), "{without}");
}

#[test]
fn before_and_after_the_repair_stand_side_by_side() {
    let shop = Workshop::copied();
    let page = shop.report(&shop.after(), &[]);
    let sides = between(&page, "id=\"comparison\"", "</section>");
    let supply = between(sides, "Reference to sensor ground", "</tr>");
    assert!(supply.find("4.761 V").unwrap() < supply.find("5.02 V").unwrap(), "{supply}");
    let sweep = between(sides, "Turn the flap shaft", "</tr>");
    assert!(sweep.contains("DROPS OUT") && sweep.contains("follows"), "{sweep}");
    assert_eq!(sides.matches("class=\"plot\"").count(), 2);
    assert!(sides.contains("It is unchanged since.") && sides.contains("Not measured again: Signal at rest"));
    assert!(!shop.report(&shop.before(), &[]).contains("id=\"comparison\""));
    let customer = shop.report(&shop.after(), &["--form", "customer"]);
    assert!(customer.contains("The fault did not show during this test (rain, 8 degC)."), "{customer}");
    assert!(customer.contains("What was found before") && !customer.contains("Replace the flap position sensor"));
}

#[test]
fn a_record_points_forward_to_its_check_after_the_repair() {
    let shop = Workshop::copied();
    let (before, after) = (shop.before(), shop.after());
    let page = shop.report(&before, &[]);
    let checks = between(&page, "id=\"checks\"", "</section>");
    assert!(checks.contains(&format!("{after}, 2026-11-24 10:00: Not present while tested.")), "{checks}");
    let customer = shop.report(&before, &["--form", "customer"]);
    let checks = between(&customer, "Checked again after the repair", "</section>");
    assert!(
        checks.contains("2026-11-24 10:00: ") && checks.contains("The fault did not show during this test"),
        "{checks}"
    );
    let shown = text_of(&shop.run("11", &["show", &before], ""));
    let flat = shown.split_whitespace().collect::<Vec<_>>().join(" ");
    let sentence = format!("Checked again after the repair: {after}, 2026-11-24 10:00: Not present while tested");
    assert!(flat.contains(&sentence), "{shown}");
    for form in FORMS {
        assert!(!shop.report(&after, form).contains("Checked again"), "the check itself was not checked again");
    }
    // Other records beside it, however they look, change nothing.
    for (name, journal) in
        [("2026-11-25-torn", "{\"at\":"), ("2026-11-25-empty", ""), ("2026-11-25-other", "after_repair\n")]
    {
        let folder = shop.path().join("records").join(name);
        std::fs::create_dir(&folder).unwrap();
        std::fs::write(folder.join("journal.jsonl"), journal).unwrap();
    }
    assert_eq!(shop.report(&before, &[]), page);
    // Changed since: the check was of something else.
    shop.edit(&before, |text| text.replace("\"4.761\"", "\"4.999\""));
    assert!(shop.report(&before, &[]).contains("THIS RECORD WAS CHANGED since that check was begun"));
    shop.edit(&after, |text| text.replacen("\"at\":\"", "\"at\":\"x", 2).replace("\"answered\"", "\"guessed\""));
    let output = shop.run("11", &["report", &before, "--out", "-"], "");
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(
        output.status.success() && said.contains(&format!("note: the report goes without the check {after}")),
        "{said}"
    );
}

#[test]
fn an_earlier_record_that_was_written_to_or_changed_is_not_passed_off_as_the_old_one() {
    let shop = Workshop::copied();
    let (before, after) = (shop.before(), shop.after());
    let whole = std::fs::read_to_string(shop.journal(&before)).unwrap();
    let note = "{\"at\":\"2026-11-24T12:00:00Z\",\"event\":\"paused\"}\n";
    shop.edit(&before, |text| text + note);
    assert!(shop.report(&after, &[]).contains("lines were added to it since"));
    shop.edit(&before, |_| whole.replace("\"4.761\"", "\"4.999\""));
    assert!(shop.report(&after, &[]).contains("IT WAS CHANGED since"));
    std::fs::remove_file(shop.journal(&before)).unwrap();
    let page = shop.report(&after, &[]);
    assert!(page.contains("The record before the repair is missing.") && !page.contains("id=\"comparison\""));
}

#[test]
fn a_bench_record_says_that_no_vehicle_was_measured() {
    let shop = Workshop::copied();
    let record = shop.before();
    for form in FORMS {
        let page = shop.report(&record, form);
        assert!(!page.contains("No vehicle was measured"));
        assert!(page.contains("The clock was set by hand."));
    }
    shop.edit(&record, |text| {
        text.replacen(
            "\"answered_by\":\"person\"",
            "\"answered_by\":\"bench\",\"simulated\":{\"circuit\":\"flap_sensor\",\"open\":{\"faults\":[]}}",
            1,
        )
        .replacen(",\"clock_set_by_hand\":true", "", 1)
    });
    for form in FORMS {
        let page = shop.report(&record, form);
        assert!(page.contains("No vehicle was measured.") && page.contains("flap sensor"), "{page}");
        assert!(!page.contains("The clock was set by hand."));
    }
}

#[test]
fn a_run_without_an_end_says_so_and_names_no_cause() {
    let shop = Workshop::copied();
    let record = shop.before();
    shop.edit(&record, |text| text.lines().take(8).map(|line| format!("{line}\n")).collect());
    let page = shop.report(&record, &[]);
    assert!(page.contains("Not finished: it was paused or broken off") && !page.contains("Replace the flap"), "{page}");
    let customer = shop.report(&record, &["--form", "customer"]);
    assert!(customer.contains("This test names no cause."));
    shop.edit(&record, |text| text + "{\"at\":\"2026");
    assert!(shop.report(&record, &[]).contains("last line is not whole."));
}

#[test]
fn what_is_to_be_left_out_is_nowhere() {
    let shop = Workshop::copied();
    let everything = "vehicle,odometer,concern,codes,technician,conditions,notes,shop";
    for record in shop.names() {
        for format in [&["--format", "json"][..], &["--format", "csv"], &["--format", "text"], FORMS[0], FORMS[1]] {
            let page = shop.report(&record, &[format, &["--without", everything]].concat());
            for word in [
                "Truck",
                "truck-12",
                "412 300",
                "uphill",
                "P2F01",
                "A. Technician",
                "rain, 8",
                "corrosion",
                "Hillside",
                "Quarry",
                "could not reach it",
            ] {
                assert!(!page.contains(word), "{word} in {format:?}: {page}");
            }
            assert!(page.contains("4.761") || page.contains("5.02"), "{page}");
        }
    }
    // Where the part that was moved stood, in somebody's words; why the run was not finished, too.
    let record = shop.before();
    shop.edit(&record, |text| {
        let lines = text.lines().filter(|line| !line.contains("\"event\":\"concluded\""));
        let mut text: String = lines.map(|line| format!("{line}\n")).collect();
        text = text.replacen("\"text\":\"1.38\"", "\"text\":\"1.38\",\"position\":\"by the torn boot\"", 1);
        text + "{\"at\":\"2026-11-24T09:59:00Z\",\"event\":\"ended\",\"how\":\"unfinished\",\"why\":\"needs\",\"id\":\"fit\",\"words\":\"the boot is torn\"}\n"
    });
    for format in [&["--format", "json"][..], &["--format", "csv"], &["--format", "text"], FORMS[0], FORMS[1]] {
        let page = shop.report(&record, &[format, &["--without", "notes"]].concat());
        for words in ["boot", "could not reach it", "corrosion"] {
            assert!(!page.contains(words), "{words} in {format:?}: {page}");
        }
        // The customer's page gives no reason at all.
        let says_why = format != ["--format", "csv"] && format != FORMS[1];
        assert!(!says_why || page.contains("left out of this report"), "{format:?}: {page}");
    }
    assert!(
        shop.report(&record, &[]).contains("the boot is torn")
            && shop.report(&record, &[]).contains("by the torn boot")
    );
    let page = shop.report(&shop.before(), &["--without", "odometer"]);
    assert!(
        page.contains("Left out of this report on purpose:") && page.contains("Truck 12") && !page.contains("412 300")
    );
    let output = shop.run("11", &["report", "--without", "vehicle"], "");
    assert!(!text_of(&output).contains("truck"), "{}", text_of(&output));
    let wrong = shop.run("11", &["report", "--without", "vehcle"], "");
    assert_eq!(wrong.status.code(), Some(2));
    assert!(text_of(&wrong).contains("did you mean `vehicle`?"), "{}", text_of(&wrong));
}

#[test]
fn a_report_goes_to_a_file_named_after_the_latest_record_and_never_over_a_journal() {
    let shop = Workshop::copied();
    // Copying put both records at nearly one time; the one after the repair is written to last.
    shop.edit(&shop.after(), |text| text);
    let output = shop.run("11", &["report"], "");
    assert_eq!(output.status.code(), Some(0), "{}", text_of(&output));
    let page = std::fs::read_to_string(shop.path().join(format!("{}.html", shop.after()))).unwrap();
    assert!(page.starts_with("<!DOCTYPE html><html lang=\"en\">") && page.contains("Follows again"));
    let journal = shop.journal(&shop.before());
    let kept = std::fs::read(&journal).unwrap();
    let refused = shop.run("11", &["report", "--out", journal.to_str().unwrap()], "");
    assert_eq!(refused.status.code(), Some(2), "{}", text_of(&refused));
    assert_eq!(std::fs::read(&journal).unwrap(), kept);
}

#[test]
fn the_same_record_gives_the_same_bytes() {
    let shop = Workshop::copied();
    for form in FORMS {
        assert_eq!(shop.report(&shop.after(), form), shop.report(&shop.after(), form));
    }
}

#[test]
fn folders_of_the_shops_own_computer_are_in_no_report() {
    let shop = Workshop::copied();
    for format in ["html", "json", "csv", "text"] {
        for record in shop.names() {
            let page = shop.report(&record, &["--format", format]);
            assert!(!page.contains("/procedures/"), "{format}: {page}");
        }
    }
    assert!(shop.report(&shop.before(), &[]).contains("procedure flap.rhai"));
}

#[test]
fn every_kind_of_question_is_on_the_page_and_two_causes_are_not_made_one() {
    let shop = Workshop::copied();
    let record = shop.starter();
    let page = shop.report(&record, &[]);
    for words in [
        "The readings fit more than one cause:",
        "7.9 V … 12.1 V",
        "lowest and highest while: starter",
        "as the control module shows it: supply voltage",
        "in line: positive cable",
        "no limits; recorded in A",
        "follows",
        "slow",
        "green\\u{7} crust",
        "Connect battery + to starter terminal through 10 Ω",
        "none named; accuracy assumed, not your meter: DC volts 0.5 %",
        "Readings came from a file.",
    ] {
        assert!(page.contains(words), "{words} in {page}");
    }
    // Lowest 7.9 V is below 9.6 V, highest 12.1 V is not.
    let load = between(&page, ">load<", "</tr>");
    for mark in ["class=\"range\"", "class=\"mark bad\"", "class=\"mark\""] {
        assert_eq!(load.matches(mark).count(), 1, "{mark} in {load}");
    }
    assert_eq!(page.matches("class=\"dot\"").count() + page.matches("class=\"turn\"").count(), 61);
    let customer = shop.report(&record, &["--form", "customer"]);
    for words in [
        "The readings fit more than one cause:",
        "Further testing has to tell which of them it is.",
        "Starter draws too much.",
    ] {
        assert!(customer.contains(words), "{words} in {customer}");
    }
    for jargon in ["limits at", "OK, unsure", "HIGH", "LOW", "…"] {
        assert!(!customer.contains(jargon), "{jargon} in {customer}");
    }
}

#[test]
fn a_sweep_that_was_taken_back_says_so_in_its_drawing() {
    let shop = Workshop::copied();
    let record = shop.before();
    assert!(!shop.report(&record, &[]).contains(">taken back</text>"));
    shop.edit(&record, |text| {
        let line = text.lines().position(|line| line.contains("\"ask\":\"sweep\"")).unwrap() + 1;
        format!(
            "{text}{{\"at\":\"2026-11-24T09:59:00Z\",\"event\":\"struck\",\"from_line\":{line},\"id\":\"track\"}}\n"
        )
    });
    let page = shop.report(&record, &[]);
    let drawing = between(&page, "<tr class=\"wide struck\">", "</svg>");
    assert!(
        drawing.contains(">taken back</text>") && drawing.contains("Sweep, taken back: Turn the flap"),
        "{drawing}"
    );
}
