//! A record's first line is held against what was kept with it, and a sign-off against the dates of what it signs.

use crate::shop::Shop;

/// A shop whose unsigned record was changed by hand.
fn edited(from: &str, to: &str) -> Shop {
    let shop = Shop::new();
    let text = String::from_utf8(shop.journal()).unwrap();
    let changed = text.replacen(from, to, 1);
    assert_ne!(text, changed, "{from} is not in the journal");
    std::fs::write(shop.journal_path(), changed).unwrap();
    shop
}

#[test]
fn a_first_line_that_does_not_fit_the_kept_sources_is_named_and_the_record_is_not_signed() {
    let ana = "\"technician\":\"Ana Example\"";
    for (from, to, words) in [
        ("\"title\":\"Flap sensor\"", "\"title\":\"Other sensor\"", "line 1 has the title `Other sensor`"),
        ("\"revision\":1", "\"revision\":2", "line 1 has the revision `2`, and the kept copy has `1`"),
        ("\"procedure\":\"flap\"", "\"procedure\":\"flip\"", "line 1 has the procedure `flip`"),
        (ana, &format!("{ana},\"meter\":\"blue\""), "line 1 names the meter `blue`, and none was kept"),
    ] {
        let shop = edited(from, to);
        shop.verify().says(1, words);
        let before = shop.journal();
        shop.sign_as_ana().says(2, words);
        assert_eq!(shop.journal(), before, "nothing was written");
    }
}

#[test]
fn a_sign_off_that_is_dated_before_what_it_signs_is_remarked_on() {
    let shop = Shop::new();
    shop.sign("2026-11-20T10:00:00Z", "Ana Example", "ana", "performed").good();
    // The signature holds: a clock may have been wrong.
    shop.verify().says(0, "the sign-off of Ana Example is dated 2026-11-20T10:00:00Z, before line");
}
