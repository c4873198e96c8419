//! Sign-offs, which reports take as they are given.

use crate::workshop::Workshop;
use ohmwright::model::event::Entry;
use ohmwright::model::record::Record;
use ohmwright::model::stamp::Stamp;
use ohmwright::report::detail::Detail;
use ohmwright::report::material::{Integrity, Material, SignoffLine, signal_words};
use ohmwright::report::{html, json};

fn signed() -> Material {
    let shop = Workshop::copied();
    let journal = std::fs::read_to_string(shop.journal(&shop.before())).unwrap();
    let entries: Vec<Entry> = journal.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    let line = |name: &str, meaning: &str, state: &str| SignoffLine {
        name: name.to_owned(),
        role: "lead technician".to_owned(),
        meaning: meaning.to_owned(),
        at: Stamp::new("2026-11-24T16:05:00+01:00"),
        state: state.to_owned(),
        nameless: state.replace(" by B. Lead's key", ""),
        holds: state.starts_with("holds"),
        unsigned_behind: 0,
    };
    Material {
        name: "a-record".to_owned(),
        number: None,
        record: Record::of(&entries).unwrap(),
        journal_sha256: "0".repeat(64),
        torn: 0,
        shop_name: String::new(),
        shop_address: None,
        rules: std::sync::Arc::default(),
        points: None,
        signal_words: signal_words(&entries),
        meter: None,
        is_example: false,
        circuit: None,
        earlier: None,
        checks: vec![],
        signoffs: vec![
            line("B. Lead <i>", "reviewed", "holds; by B. Lead's key"),
            line("C. Other", "performed (unfinished)", "does NOT hold: line 7 was changed"),
        ],
        asked_about: None,
        integrity: Integrity::Changed,
        withheld: vec![],
    }
}

#[test]
fn a_signature_that_does_not_hold_stands_beside_one_that_does() {
    let page = html::full::page(&signed());
    for words in [
        "B. Lead &lt;i&gt;",
        "reviewed",
        "2026-11-24 16:05",
        "holds; by B. Lead's key",
        "<strong class=\"wrong\">does NOT hold: line 7 was changed</strong>",
        "THIS RECORD WAS CHANGED",
    ] {
        assert!(page.contains(words), "{words}");
    }
    assert!(!page.contains("Nobody has signed"));
    let customer = html::customer::page(&signed());
    for words in [
        "Signed as reviewed by B. Lead &lt;i&gt;, lead technician, 2026-11-24 16:05.",
        "Signed as performed (unfinished) by C. Other, lead technician, 2026-11-24 16:05: \
         <strong>this signature does NOT hold: line 7 was changed</strong>.",
        "THIS RECORD WAS CHANGED",
    ] {
        assert!(customer.contains(words), "{words} in {customer}");
    }
    assert!(!customer.contains("B. Lead's key"));
    let data: serde_json::Value = serde_json::from_str(json::text(&signed()).unwrap().as_str()).unwrap();
    assert_eq!(data["signoffs"][1]["state"], "does NOT hold: line 7 was changed");
    assert!(crate::data::problems(&crate::data::schema(), &data).is_empty());
}

#[test]
fn without_the_technician_nobody_who_signed_is_named() {
    let material = signed().without(&[Detail::Technician]);
    for page in [html::full::page(&material), html::customer::page(&material), json::text(&material).unwrap().into()] {
        assert!(!page.contains("B. Lead") && !page.contains("C. Other"));
        assert!(page.contains("does NOT hold: line 7 was changed"));
    }
}

#[test]
fn a_caution_keeps_its_signal_word_where_its_rule_was_not_kept() {
    let page = html::full::page(&signed());
    let cautions = page.split_once("id=\"cautions\"").unwrap().1;
    assert!(cautions.contains("<th scope=\"row\">DANGER</th><td>raised vehicle</td>"), "{cautions}");
}
