//! What the customer's page says, and what both pages say of what is not known.

use crate::workshop::Workshop;

const CUSTOMER: &[&str] = &["--form", "customer"];

/// Without what ended it.
fn unended(text: &str) -> String {
    text.lines().filter(|line| !line.contains("\"event\":\"concluded\"")).map(|line| format!("{line}\n")).collect()
}

#[test]
fn the_page_names_its_test_and_says_how_much_of_it_is_shown() {
    let shop = Workshop::copied();
    let page = shop.report(&shop.before(), CUSTOMER);
    for words in [
        "Test: Exhaust brake flap: position sensor",
        "We took 6 readings; 2 were outside the limits, one was too close to call.",
        "Too close to call: nearer to a limit than our meter can tell",
        "Do not take them for the vehicle manufacturer's.",
        "local codes and licensed practice come before this report.",
    ] {
        assert!(page.contains(words), "{words} in {page}");
    }
    assert_eq!(page.matches("Checked again after the repair").count(), 1);
    assert!(!page.contains("Replace"), "work is for the shop to recommend: {page}");
}

#[test]
fn the_check_after_a_repair_shows_both_sides_and_asks_for_nothing_more() {
    let shop = Workshop::copied();
    let page = shop.report(&shop.after(), CUSTOMER);
    let sides = page.split_once("<h2>Before and after the repair</h2>").unwrap().1;
    for words in
        ["4.761 V", "5.02 V", "drops out over part of its travel", "within the limits", "our limits: 4.75 to 5.25 V"]
    {
        assert!(sides.contains(words), "{words} in {sides}");
    }
    assert!(!page.contains("should be done") && !page.contains("In the drawings"));
    let full = shop.report(&shop.after(), &[]);
    assert!(full.contains("<dt>Result of the check</dt>") && !full.contains("<dt>Correction</dt>"), "{full}");
}

#[test]
fn what_was_read_with_a_plug_off_or_under_other_limits_is_not_set_beside_it() {
    let shop = Workshop::copied();
    let (before, after) = (shop.before(), shop.after());
    let sides =
        |page: &str| page.split_once("id=\"comparison\"").unwrap().1.split_once("</section>").unwrap().0.to_owned();
    let kept = std::fs::read_to_string(shop.journal(&before)).unwrap();
    shop.edit(&before, |text| {
        let first = text.find("{\"at\":\"2026-11-24T09:00").unwrap();
        let unplugged = "{\"at\":\"2026-11-24T09:00:00Z\",\"event\":\"acted\",\"action\":{\"do\":\"unplug\",\"connector\":\"C41\"}}\n";
        let second = first + text[first..].find('\n').unwrap() + 1;
        format!("{}{unplugged}{}", &text[..second], &text[second..])
    });
    let off = sides(&shop.report(&after, &[]));
    assert!(off.contains("not measured before") && !off.contains("4.761 V"), "{off}");
    assert!(off.contains("Not measured again: Reference to sensor ground"), "{off}");
    // The sweep was taken with the plug on again.
    assert!(off.contains("DROPS OUT"), "{off}");
    shop.edit(&before, |_| kept.replace("\"other\":\"4 V\"", "\"other\":\"3.9 V\""));
    let other = sides(&shop.report(&after, &[]));
    assert!(other.contains("4.761 V") && !other.contains("DROPS OUT"), "{other}");
}

#[test]
fn what_was_typed_in_afterwards_claims_no_day_and_no_deed() {
    let shop = Workshop::copied();
    let record = shop.starter();
    let full = shop.report(&record, &[]);
    for words in [
        "<dt>Entered on</dt><dd>2026-11-24 08:00 UTC</dd>",
        "<strong>Asked for</strong>: Connect battery + to starter terminal through 10 Ω</td>",
        "The record does not say on which day they were taken.",
    ] {
        assert!(full.contains(words), "{words} in {full}");
    }
    assert!(!full.contains("<strong>Done</strong>") && !full.contains("<dt>Began</dt>"));
    let page = shop.report(&record, CUSTOMER);
    assert!(page.contains("<dt>Entered on</dt>") && !page.contains("<dt>Tested</dt>"), "{page}");
}

#[test]
fn a_meter_past_its_calibration_is_told_to_both() {
    let shop = Workshop::copied();
    let record = shop.before();
    shop.edit(&record, |text| text.replacen("\"how\":\"sure\"", "\"how\":\"unknown\",\"why\":\"calibration_past\"", 2));
    let page = shop.report(&record, CUSTOMER);
    let sentence = "How accurate 1 reading is, is not known: the meter's calibration was past its date.";
    assert!(page.contains(sentence), "{page}");
    let full = shop.report(&record, &[]);
    assert!(full.contains("the meter's calibration was past its date"), "{full}");
}

#[test]
fn a_run_that_is_not_finished_says_what_remains() {
    let shop = Workshop::copied();
    let record = shop.before();
    shop.edit(&record, |text| {
        unended(&text)
            + "{\"at\":\"2026-11-24T09:59:00Z\",\"event\":\"waited\",\"prompt\":\"bore\",\"text\":\"Bore of the shaft\"}\n"
    });
    let page = shop.report(&record, CUSTOMER);
    assert!(page.contains("The rest of this test, from \u{201c}Bore of the shaft\u{201d} on."), "{page}");
    shop.edit(&record, |text| unended(&text).lines().take(12).map(|line| format!("{line}\n")).collect());
    assert!(shop.report(&record, CUSTOMER).contains("The rest of this test, which was not finished."));
}

#[test]
fn that_nobody_saw_it_is_no_news_on_the_customers_page() {
    let shop = Workshop::copied();
    let record = shop.before();
    shop.edit(&record, |text| text.replacen("\"verified\":true", "\"verified\":false", 1));
    let page = shop.report(&record, CUSTOMER);
    assert!(!page.contains("see it"), "{page}");
    assert!(shop.report(&record, &[]).contains("Not verified: not seen happening."));
}

#[test]
fn an_exercise_is_not_a_customers_vehicle() {
    let shop = Workshop::copied();
    let record = shop.before();
    shop.edit(&record, |text| {
        text.replacen(
            "\"answered_by\":\"person\"",
            "\"answered_by\":\"bench\",\"simulated\":{\"circuit\":\"flap_sensor\",\"open\":{\"faults\":[]}}",
            1,
        )
    });
    let page = shop.report(&record, CUSTOMER);
    assert!(page.contains("<h1>Exercise on a simulated circuit</h1>"), "{page}");
    for words in ["your vehicle", "Your vehicle", "What you told us", "The shop keeps"] {
        assert!(!page.contains(words), "{words} in {page}");
    }
}

#[test]
fn what_does_not_come_out_the_same_again_says_so_over_everything_else() {
    let shop = Workshop::copied();
    let record = shop.before();
    for form in [&[][..], CUSTOMER] {
        assert!(!shop.report(&record, form).contains("class=\"banner\""));
    }
    shop.edit(&record, |text| text.replace("\"4.761\"", "\"4.999\""));
    for form in [&[][..], CUSTOMER] {
        let page = shop.report(&record, form);
        let banner = page.find("SOMETHING IS WRONG WITH THIS RECORD").unwrap();
        assert!(banner < page.find("<h2").unwrap(), "{page}");
    }
}

#[test]
fn what_was_typed_keeps_its_digits_and_gets_its_unit() {
    let shop = Workshop::copied();
    let record = shop.before();
    shop.edit(&record, |text| {
        text.replace("\"typed\":\"85\"", "\"typed\":\"85.0m\"").replace("\"text\":\"1.38\"", "\"text\":\"1.380\"")
    });
    let full = shop.report(&record, &[]);
    assert!(full.contains("85.0 mV") && full.contains("1.380 V"), "{full}");
    let text = shop.report(&record, &["--format", "text"]);
    assert!(text.contains("85.0 mV") && !text.contains("85.0m "), "{text}");
}
