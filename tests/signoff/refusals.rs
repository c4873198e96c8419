//! Who may not sign, and what is not signed: a clear sentence each.

use crate::shop::{PROCEDURE, ROLES, Shop};

#[test]
fn signing_twice_with_the_same_meaning_is_refused() {
    let shop = Shop::new();
    shop.sign_as_ana().good();
    let before = shop.journal();
    shop.sign_as_ana().says(2, "Ana Example has signed");
    assert_eq!(shop.journal(), before);
    // Another meaning by another person goes on.
    shop.sign_as_lea().good();
    shop.sign("2026-11-24T11:00:00Z", "Lea Lead", "lea", "performed").good();
    shop.verify().says(0, "1 record: good.");
}

#[test]
fn a_record_that_does_not_verify_is_not_signed() {
    let shop = Shop::new();
    shop.sign_as_ana().good();
    let text = String::from_utf8(shop.journal()).unwrap();
    std::fs::write(shop.journal_path(), text.replacen("5.01", "4.01", 1)).unwrap();
    let before = shop.journal();
    shop.sign_as_lea().says(2, "does not verify, so it can't be signed: line");
    assert_eq!(shop.journal(), before);
}

#[test]
fn a_verdict_edited_before_anybody_signed_is_found_by_judging_again() {
    let shop = Shop::new();
    let text = String::from_utf8(shop.journal()).unwrap();
    let edited = text.replacen("\"typed\":\"5.01\"", "\"typed\":\"4.01\"", 1);
    assert_ne!(edited, text);
    std::fs::write(shop.journal_path(), edited).unwrap();
    shop.sign_as_ana().says(2, "has the verdict OK");
    shop.verify().says(1, "judged again it is the verdict LOW");
}

#[test]
fn a_wrong_passphrase_says_so() {
    let shop = Shop::new();
    shop.new_key("locked", "right");
    shop.write("shop.toml", &format!("{ROLES}{}", shop.person("Ana Example", "lead", "locked", "")));
    shop.write("passphrase", "wrong\n");
    let sign = ["sign", "--as", "Ana Example", "--key", "locked", "--passphrase-file", "passphrase"];
    shop.at("2026-11-24T10:00:00Z", &sign)
        .says(2, "the passphrase does not open locked")
        .says(2, "the passphrase is the first line of passphrase");
    shop.verify().says(1, "nobody has signed it");
}

#[test]
fn a_key_counts_from_its_first_day_to_its_last() {
    let shop = Shop::new();
    let dates = "from = \"2026-11-20\"\nuntil = \"2026-11-24\"";
    shop.write("shop.toml", &format!("{ROLES}{}", shop.person("Ana Example", "technician", "ana", dates)));
    let at = |day: &str| shop.sign(&format!("{day}T10:00:00Z"), "Ana Example", "ana", "performed");
    at("2026-11-25").says(2, "the key of Ana Example expired: it counted until 2026-11-24");
    at("2026-11-19").says(2, "the key of Ana Example counts from 2026-11-20");
    at("2026-11-24").good();
    // It stays good when the key has expired since.
    shop.at("2027-06-01T10:00:00Z", &["verify"]).says(0, "1 record: good.");
    shop.write(
        "shop.toml",
        &format!("{ROLES}{}", shop.person("Ana Example", "technician", "ana", "until = \"2026-11-01\"")),
    );
    shop.verify().says(1, "by the shop's list as it is here, the key of Ana Example expired");
}

#[test]
fn only_the_shops_people_sign_with_their_keys_in_their_roles() {
    let shop = Shop::new();
    let sign = |name: &str, key: &str, meaning: &str| shop.sign("2026-11-24T10:00:00Z", name, key, meaning);
    sign("Ana Exampl", "ana", "performed")
        .says(2, "the shop lists nobody named Ana Exampl; did you mean `Ana Example`?");
    sign("Ana Example", "other", "performed").says(2, "other holds the key SHA256:");
    sign("Ana Example", "ana", "reviewed")
        .says(2, "Ana Example is technician and may not sign as reviewed; that role signs performed");
    sign("Ana Example", "shop.toml", "performed").says(2, "shop.toml is no OpenSSH private key");
    let elsewhere = tempfile::TempDir::new().unwrap();
    let records = shop.path("records").display().to_string();
    let away = ["sign", "--records", &records, "--as", "Ana Example"];
    shop.with("2026-11-24T10:00:00Z", &[], elsewhere.path(), &away, "")
        .says(2, "there is no shop here that says who may sign");
    shop.write("shop.toml", ROLES);
    sign("Ana Example", "ana", "performed").says(2, "the shop lists no people, so nobody can sign");
    shop.verify().says(1, "nobody has signed it");
}

#[test]
fn a_record_in_use_is_not_signed() {
    let shop = Shop::new();
    let lock = std::fs::File::create(shop.path("records").join(shop.record()).join("lock")).unwrap();
    lock.lock().unwrap();
    shop.sign_as_ana().says(6, "is in use by another process");
}

#[test]
fn a_statement_of_somebody_who_may_not_is_found_whatever_the_record_says_of_itself() {
    let shop = Shop::new();
    // Somebody with a key and a list of people of their own signs a record of the shop's.
    let real = shop.read("shop.toml");
    shop.write("shop.toml", &format!("{ROLES}{}", shop.person("Ana Example", "lead", "other", "")));
    shop.sign("2026-11-24T10:00:00Z", "Ana Example", "other", "reviewed").good();
    shop.verify().says(0, "1 record: good.");
    shop.write("shop.toml", &real);
    shop.verify().says(
        1,
        "the sign-off of Ana Example: by the shop's list as it is here, this key is not the one that the shop lists for \
         Ana Example",
    );
}

#[test]
fn a_record_without_a_cause_is_signed_as_unfinished_and_says_so() {
    let shop = Shop::without_record(PROCEDURE);
    shop.write("answers.toml", &crate::shop::ANSWERS.replace("track = [0.5, 1.5, 2.5, 3.5, 4.5]\n", ""));
    shop.at("2026-11-24T09:00:00Z", &["run", "flap", "--answers", "answers.toml"]).says(4, "Waits for `track`");
    shop.sign_as_ana().says(0, "it is signed as unfinished, and says so");
    shop.verify().says(0, "performed (unfinished), Ana Example, technician");
    shop.at("2026-11-24T12:00:00Z", &["show"]).says(0, "Signed: performed (unfinished), Ana Example, technician");
    // It goes on, and can be signed again as what it is then.
    shop.write("more.toml", crate::shop::ANSWERS);
    shop.at("2026-11-24T13:00:00Z", &["resume", "--answers", "more.toml"]).good();
    shop.verify().says(1, "are not signed: ");
    shop.sign("2026-11-24T14:00:00Z", "Ana Example", "ana", "performed").good();
    let all = shop.verify().says(0, "1 record: good.").out;
    assert!(all.contains("performed (unfinished), Ana Example") && all.contains("performed, Ana Example"), "{all}");
    // A statement that hides it does not hold.
    let text = String::from_utf8(shop.journal()).unwrap();
    std::fs::write(shop.journal_path(), text.replacen("\"unfinished\":true,", "", 1)).unwrap();
    shop.verify().says(1, "the record names no cause there, and the statement says something else");
}

#[test]
fn a_procedure_can_want_a_second_person() {
    let shop =
        Shop::without_record(&PROCEDURE.replace("//! revision = 1", "//! revision = 1\n//! reviewed_by = [\"lead\"]"));
    shop.at("2026-11-24T09:00:00Z", &["run", "flap", "--answers", "answers.toml"]).good();
    shop.sign("2026-11-24T10:00:00Z", "Lea Lead", "lea", "performed").good();
    shop.sign("2026-11-24T10:00:00Z", "Lea Lead", "lea", "reviewed").good();
    shop.verify().says(1, "the procedure wants it signed by a second person, role lead");
    shop.sign("2026-11-24T10:30:00Z", "Ana Example", "ana", "performed").good();
    shop.verify().says(1, "the procedure wants it signed by a second person, role lead");
}

#[test]
fn the_second_person_who_signs_after_the_first_makes_it_good() {
    let shop =
        Shop::without_record(&PROCEDURE.replace("//! revision = 1", "//! revision = 1\n//! reviewed_by = [\"lead\"]"));
    shop.at("2026-11-24T09:00:00Z", &["run", "flap", "--answers", "answers.toml"]).good();
    shop.sign_as_ana().good();
    shop.verify().says(1, "the procedure wants it signed by a second person, role lead");
    shop.sign_as_lea().good();
    shop.verify().says(0, "reviewed, Lea Lead, lead, 2026-11-24 11:00 UTC");
}

#[test]
fn who_signs_for_another_is_told_where_it_is_signed_and_where_it_is_verified() {
    let shop = Shop::without_record(PROCEDURE);
    let run = ["run", "flap", "--answers", "answers.toml", "--technician", "Ana Exampel"];
    let remark = "The shop lists nobody named Ana Exampel, so the record can't be signed by that name; did you mean";
    shop.at("2026-11-24T09:00:00Z", &run).says(0, remark);
    let signed = "Ana Example signed as performed, and the record's technician is Ana Exampel";
    shop.sign_as_ana().says(0, signed);
    shop.verify().says(0, signed).says(0, "1 record: good.");
    let json = shop.at("2026-11-24T12:00:00Z", &["verify", "--json"]).good().out;
    assert!(json.contains(signed), "{json}");
    // Whoever reviews it is another person anyway.
    shop.new_record();
    shop.sign_as_ana().good();
    shop.sign_as_lea().good();
    let plain = shop.verify().good().out;
    assert!(!plain.contains("the record's technician is"), "{plain}");
}

#[test]
fn what_was_only_reviewed_says_that_nobody_performed_it() {
    let shop = Shop::new();
    shop.sign("2026-11-24T10:00:00Z", "Lea Lead", "lea", "reviewed").good();
    shop.verify().says(0, "nobody signed it as performed");
    shop.sign("2026-11-24T10:30:00Z", "Ana Example", "ana", "performed").good();
    assert!(!shop.verify().good().out.contains("as performed"));
}
