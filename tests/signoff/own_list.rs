//! Whoever forges a record brings a list of people that fits it: whose list it was is said, and that it proves nothing here.

use crate::shop::{PROCEDURE, ROLES, Ran, Shop};
use serde_json::Value;
use std::path::Path;

/// A pack that is good by its own list, of a shop of this name in which `other` is the key of Ana Example.
fn forged(name: &str, into: &Path) -> String {
    let shop = Shop::without_record(PROCEDURE);
    let ana = shop.person("Ana Example", "technician", "other", "");
    let roles = ROLES.replace("\"Example Shop\"", &toml::Value::from(name).to_string());
    shop.write("shop.toml", &format!("{roles}{ana}"));
    shop.new_record();
    shop.sign("2026-11-24T10:00:00Z", "Ana Example", "other", "performed").good();
    let pack = into.join("forged.tar");
    let _ = std::fs::remove_file(&pack);
    let pack = pack.display().to_string();
    shop.at("2026-11-24T12:00:00Z", &["pack", "--out", &pack]).good();
    pack
}

fn verify(shop: &Shop, arguments: &[&str]) -> Ran {
    shop.at("2027-01-01T00:00:00Z", &[&["verify", "--width", "240"], arguments].concat())
}

#[test]
fn a_list_of_another_shop_is_not_good_here() {
    let shop = Shop::new();
    let away = tempfile::TempDir::new().unwrap();
    let pack = forged("Another Shop", away.path());
    let shown = verify(&shop, &[&pack]).says(9, "good by its own list").out;
    assert!(shown.contains("of `Another Shop`: keys not compared with this shop"), "{shown}");
    assert!(shown.contains("1 record: 0 good, 1 good by their own list"), "{shown}");
    verify(&shop, &[&pack, "--own-list"]).says(0, "keys not compared with this shop");
    let json: Value = serde_json::from_str(&verify(&shop, &[&pack, "--json"]).out).unwrap();
    let record = &json["records"][0];
    assert_eq!((&record["state"], &record["keys_compared"]), (&"own_list".into(), &false.into()));
    assert_eq!(record["sign_offs"][0]["list"], "Another Shop");
    // The shop's own record beside it is as good as before.
    shop.sign_as_ana().good();
    let own = shop.record();
    verify(&shop, &[&own]).says(0, "1 record: good.");
    let json: Value = serde_json::from_str(&verify(&shop, &[&own, "--json"]).out).unwrap();
    assert_eq!(json["records"][0]["keys_compared"], true);
    verify(&shop, &[&own, &pack]).says(9, "2 records: 1 good, 1 good by their own list");
    // Whose list counts can be said.
    let folder = shop.path("").display().to_string();
    verify(&shop, &[&pack, "--shop", &folder]).says(1, "by the shop's list as it is here");
    // Where there is no shop, there is nothing to compare with, and that is said.
    let alone = shop.with("2027-01-01T00:00:00Z", &[], away.path(), &["verify", &pack, "--width", "240"], "");
    alone.says(
        0,
        "There is no shop here: keys are those of the record's own copy of the shop's list, of `Another Shop`",
    );
}

#[test]
fn a_name_that_only_looks_like_this_shops_is_held_against_its_list() {
    let shop = Shop::new();
    let away = tempfile::TempDir::new().unwrap();
    for (name, shown) in [
        ("Example Shop ", "Example Shop "),
        ("Example  Shop", "Example  Shop"),
        ("Example\u{a0}Shop", "Example<U+00A0>Shop"),
        ("Ex\u{430}mple Shop", "Ex<U+0430>mple Shop"),
        ("Example Sh\u{200b}op", "Example Sh<U+200B>op"),
        ("EXAMPLE SHOP", "EXAMPLE SHOP"),
        ("Examp1e Sh0p", "Examp1e Sh0p"),
    ] {
        let pack = forged(name, away.path());
        let found = verify(&shop, &[&pack]);
        assert_eq!(found.code, 1, "{name:?}: {}", found.out);
        let flat = found.out.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(
            flat.contains("this key is not the one that the shop lists for Ana Example"),
            "{name:?}: {}",
            found.out
        );
        let named = format!("of a shop named `{shown}`, which only looks like the name of this shop, `Example Shop`");
        assert!(found.out.contains("suspicious") && found.out.contains(&named), "{name:?}: {}", found.out);
    }
}

#[test]
fn a_signer_whom_the_shop_does_not_list_is_said_once_for_many_records() {
    let shop = Shop::new();
    shop.at("2026-11-24T09:10:00Z", &["run", "flap", "--answers", "answers.toml"]).good();
    let records: Vec<String> = std::fs::read_dir(shop.path("records"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| name.starts_with("2026"))
        .collect();
    for record in &records {
        shop.at("2026-11-24T10:00:00Z", &["sign", record, "--as", "Ana Example", "--key", "ana"]).good();
    }
    let real = shop.read("shop.toml");
    shop.write("shop.toml", &real.replace("name = \"Ana Example\"", "name = \"Bo Example\""));
    let shown = verify(&shop, &["records"]).says(1, "the shop lists nobody named Ana Example").out;
    assert_eq!(shown.matches("lists nobody named").count(), 1, "{shown}");
    assert!(shown.contains("(the same in 1 more record)") && shown.contains("2 bad"), "{shown}");
}
