//! The meter of a reading: its accuracy, its calibration, and figures that no meter has.

use crate::place::{LET_STAND, Place, Shown, of_kind};
use crate::readings::place;
use insta::assert_snapshot;

const SHOP: &str = "name = \"Test shop\"\n[[meter]]\nid = \"bench\"\nname = \"Bench meter\"\ncalibration_due = \"DUE\"\n\
    [[meter.range]]\nfunction = \"volts\"\nfull_scale = \"6 V\"\nresolution = \"1 mV\"\npercent = 0.5\ncounts = 3.0\n";

fn with_meter(due: &str) -> Place {
    let place = place("between(4.75.V, 5.25.V)");
    place.file("shop.toml", SHOP.replace("DUE", due));
    place
}

fn measured(place: &Place, meter: &[&str], lines: &[&str]) -> Shown {
    // What is refused before it begins asks for nothing.
    let end: &[&str] = if lines.is_empty() { &[] } else { &LET_STAND };
    place.run_at_vehicle(&crate::place::SAFE).and(meter).typing(lines).typing(end).go()
}

#[test]
fn a_reading_nearer_to_its_limit_than_the_meter_can_tell_is_unsure_and_is_offered_again() {
    // ±(0.5 % of 4.76 V + 3 mV) is ±26.8 mV, and the limit is 10 mV away.
    let place = with_meter("2027-03-31");
    measured(&place, &["--meter", "bench"], &["4.76", "4.76"])
        .ended(0)
        .says("Nearer to the limit than the meter can tell");
    let events = place.events();
    assert_eq!(of_kind(&events, "doubted")[0]["doubt"], "unsure");
    assert_eq!(of_kind(&events, "answered")[0]["verdict"]["how"], "unsure");
    let place = with_meter("2027-03-31");
    measured(&place, &["--meter", "bench"], &["5.00"]).ended(0);
    assert_eq!(of_kind(&place.events(), "answered")[0]["verdict"]["how"], "sure");
}

#[test]
fn past_its_calibration_or_without_a_meter_nobody_knows_how_sure() {
    for (due, flags, why) in
        [("2026-11-23", &["--meter", "bench"][..], "calibration_past"), ("2027-03-31", &[][..], "no_meter")]
    {
        let place = with_meter(due);
        measured(&place, flags, if flags.is_empty() { &["", "4.76"] } else { &["4.76"] });
        let events = place.events();
        let verdict = &of_kind(&events, "answered")[0]["verdict"];
        assert_eq!((&verdict["how"], &verdict["why"]), (&"unknown".into(), &why.into()));
        let words = if flags.is_empty() { "accuracy assumed, not your meter" } else { "how sure" };
        place.call("show").go().ended(0).says(words);
    }
    let place = with_meter("2026-11-24");
    measured(&place, &["--meter", "bench"], &["5.00"]).ended(0);
    assert_eq!(of_kind(&place.events(), "answered")[0]["verdict"]["how"], "sure", "good on its last day");
}

#[test]
fn an_unknown_meter_and_a_wrong_date_are_refused_before_the_run() {
    let place = with_meter("2027-03-31");
    assert_snapshot!(measured(&place, &["--meter", "bnech"], &[]).ended(2), @r#"
    exit 2
    --- stderr
    error: the shop has no meter `bnech`; did you mean `bench`?
    help: list meters in shop.toml under [[meter]]
    "#);
    let place = with_meter("31.3.2027");
    assert_snapshot!(measured(&place, &["--meter", "bench"], &[]).ended(3), @r#"
    exit 3
    --- stderr
    error: `31.3.2027` is not a date
      ╭▸ [folder]/shop.toml:5:19
      │
    5 │ calibration_due = "31.3.2027"
      │                   ━━━━━━━━━━━
      ╰╴
    help: write it as 2027-03-31
    "#);
}

#[test]
fn figures_that_no_meter_has_are_refused_before_the_run() {
    let range = |figures: &str| {
        format!(
            "[[meter]]\nid = \"red\"\nname = \"Red\"\nrange = [{{ function = \"volts\", full_scale = \"60 V\", {figures} }}]\n"
        )
    };
    let person =
        |more: &str| format!("[[role]]\nname = \"lead\"\nmay_sign = []\n[[person]]\nname = \"Ana Example\"\n{more}\n");
    let figures = |figures: &str, title: &str| (range(figures), title.to_owned());
    let cases = [
        figures(
            "resolution = \"10 mV\", percent = -0.5, counts = 3",
            "an accuracy can't be -0.5 percent of the reading",
        ),
        figures("resolution = \"10 mV\", percent = nan, counts = 3", "an accuracy can't be NaN percent of the reading"),
        figures("resolution = \"10 mV\", percent = 0.5, counts = -3", "an accuracy can't be -3 counts"),
        figures(
            "resolution = \"-10 mV\", percent = 0.5, counts = 3",
            "has volts above zero as its resolution, not -10 mV",
        ),
        figures(
            "resolution = \"10 ohm\", percent = 0.5, counts = 3",
            "has volts above zero as its resolution, not 10 Ω",
        ),
        figures(
            "resolution = \"100 V\", percent = 0.5, counts = 3",
            "one count can't be 100 V on a range that ends at 60 V",
        ),
        (
            range("resolution = \"1 V\", percent = 1, counts = 1").replace("60 V", "60 A"),
            "as its full scale, not 60 A".to_owned(),
        ),
        (
            "[[meter]]\nid = \"a\"\nname = \"A\"\n[[meter]]\nid = \"a\"\nname = \"B\"\n".to_owned(),
            "the meter `a` is there twice".to_owned(),
        ),
        (
            "[[meter]]\nid = \"a\"\nname = \"A\"\ninput_resistance = \"0 ohm\"\n".to_owned(),
            "is not an input resistance".to_owned(),
        ),
        (
            person("role = \"laed\""),
            "Ana Example has the role `laed`, which no [[role]] defines; did you mean `lead`?".to_owned(),
        ),
        (
            person("from = \"2026-05-01\"\nuntil = \"2026-04-30\""),
            "counts until 2026-04-30, which is before 2026-05-01".to_owned(),
        ),
        (person("until = \"30.4.2026\""), "`30.4.2026` is not a date".to_owned()),
    ];
    for (shop, title) in cases {
        let place = Place::with("conclude(\"wire\");");
        place.file("shop.toml", shop);
        for command in ["list", "run p.rhai"] {
            place.call(command).width(200).go().ended(3).says(&title).says("shop.toml:").says("help: ");
        }
    }
    let place = Place::with("conclude(\"wire\");");
    place.file("shop.toml", range("resolution = \"10 mV\", percent = 0.5, counts = -3"));
    assert_snapshot!(place.call("list").go(), @r#"
    exit 3
    --- stderr
    error: an accuracy can't be -3 counts
      ╭▸ [folder]/shop.toml:4:99
      │
    4 │ … = "10 mV", percent = 0.5, counts = -3 }]
      │                                      ━━
      ╰╴
    help: write what the meter's manufacturer promises, without a sign: 3 for ±3 counts
    "#);
    place.file("shop.toml", range("resolution = \"10 mV\", percent = 0, counts = 0"));
    place.call("list").go().ended(0);
}

#[test]
fn a_meter_without_a_calibration_date_is_not_said_to_be_past_it() {
    let place = with_meter("2027-03-31");
    let dated = place.read("shop.toml");
    place.file("shop.toml", dated.replace("calibration_due = \"2027-03-31\"\n", ""));
    measured(&place, &["--meter", "bench"], &["4.76"]);
    let verdict = of_kind(&place.events(), "answered")[0]["verdict"].clone();
    assert_eq!((&verdict["how"], &verdict["why"]), (&"unknown".into(), &"no_calibration_date".into()));
    let record = place.record();
    let report = place.call("report --format text").go().ended(0);
    report.says("how sure the verdicts are is not known: the meter has no").never_says("past its date");
    // Older records have the other word for it, and are none the worse.
    let journal = place.journal_of(&record);
    let text = std::fs::read_to_string(&journal).unwrap().replace("no_calibration_date", "calibration_past");
    std::fs::write(&journal, text).unwrap();
    place.call("verify --allow-unsigned").go().ended(0).says("same 1 verdict");
}
