//! A record in one file verifies where there is no shop.

use crate::shop::Shop;
use std::process::Command;

#[test]
fn a_pack_verifies_elsewhere_and_any_change_in_it_is_found() {
    let shop = Shop::new();
    shop.sign_as_ana().good();
    let record = shop.record();
    shop.at("2026-11-24T12:00:00Z", &["pack", "--out", "record.tar"]).good();
    shop.at("2026-11-24T12:00:00Z", &["pack", "--out", "record.tar"]).says(2, "record.tar is there already");
    shop.at("2026-11-24T12:00:00Z", &["pack", "--out", "again.tar"]).good();
    let packed = std::fs::read(shop.path("record.tar")).unwrap();
    assert_eq!(packed, std::fs::read(shop.path("again.tar")).unwrap());

    let elsewhere = tempfile::TempDir::new().unwrap();
    std::fs::write(elsewhere.path().join("record.tar"), &packed).unwrap();
    let verify =
        |file: &str| shop.with("2027-01-01T00:00:00Z", &[], elsewhere.path(), &["verify", file, "--width", "240"], "");
    let good = verify("record.tar").says(0, "1 record: good.").out;
    assert!(good.contains("There is no shop here") && good.contains("SHA256:"), "{good}");

    // Unpacked with nothing but tar, it checks by hand.
    let unpacked = Command::new("tar").args(["-xf", "record.tar"]).current_dir(elsewhere.path()).status().unwrap();
    assert!(unpacked.success());
    let script =
        shop.with("2027-01-01T00:00:00Z", &[], elsewhere.path(), &["verify", "record.tar", "--how"], "").good();
    let by_hand = Command::new("sh").args(["-e", "-c", &script.out]).current_dir(elsewhere.path()).output().unwrap();
    assert!(by_hand.status.success(), "{}", String::from_utf8_lossy(&by_hand.stderr));
    assert!(String::from_utf8_lossy(&by_hand.stdout).contains("Good \"ohmwright-record\" signature for ana-example"));
    assert!(elsewhere.path().join(&record).join("journal.jsonl").is_file());

    // Every byte of content counts; padding and times between the files are no content.
    for words in ["5.01", "Reference wire open", "may_sign", "SSH SIGNATURE"] {
        let at = packed.windows(words.len()).position(|bytes| bytes == words.as_bytes());
        let at = at.unwrap_or_else(|| panic!("{words}"));
        let mut bad = packed.clone();
        bad[at] ^= 1;
        std::fs::write(elsewhere.path().join("bad.tar"), bad).unwrap();
        let found = verify("bad.tar");
        assert_ne!(found.code, 0, "{words}: {}", found.out);
    }
}

#[test]
fn a_pack_of_another_shape_is_refused() {
    use tar::EntryType::{Directory, Regular, Symlink};
    let shop = Shop::new();
    let folder = tempfile::TempDir::new().unwrap();
    let refused = |entries: &[(&str, tar::EntryType)]| {
        let mut archive = tar::Builder::new(Vec::new());
        for (name, kind) in entries {
            let mut header = tar::Header::new_gnu();
            header.set_size(0);
            header.set_entry_type(*kind);
            // Written past the library, which does not put such names into an archive.
            header.as_old_mut().name[..name.len()].copy_from_slice(name.as_bytes());
            if *kind == Symlink {
                header.set_link_name("/etc/passwd").unwrap();
            }
            header.set_cksum();
            archive.append(&header, &[][..]).unwrap();
        }
        std::fs::write(folder.path().join("odd.tar"), archive.into_inner().unwrap()).unwrap();
        shop.with("2027-01-01T00:00:00Z", &[], folder.path(), &["verify", "odd.tar"], "")
            .says(3, "not a packed record");
    };
    refused(&[]);
    refused(&[("../journal.jsonl", Regular)]);
    refused(&[("/tmp/journal.jsonl", Regular)]);
    refused(&[("a/b/journal.jsonl", Regular)]);
    refused(&[("sources/../../x", Regular)]);
    refused(&[("sources/abc", Regular)]);
    refused(&[("run/journal.jsonl", Symlink)]);
    refused(&[("run/", Directory)]);
    refused(&[("run/journal.jsonl", Regular), ("other/journal.jsonl", Regular)]);
    std::fs::write(folder.path().join("odd.tar"), "this is not an archive").unwrap();
    shop.with("2027-01-01T00:00:00Z", &[], folder.path(), &["verify", "odd.tar"], "").says(3, "not a packed record");
    assert!(std::fs::read_dir(folder.path()).unwrap().count() == 1);
}

#[test]
fn standing_in_the_shop_its_own_packs_are_compared_with_its_list_and_those_of_others_are_not() {
    let shop = Shop::new();
    shop.sign_as_ana().good();
    let away = tempfile::TempDir::new().unwrap();
    let pack = away.path().join("record.tar").display().to_string();
    shop.at("2026-11-24T12:00:00Z", &["pack", "--out", &pack]).good();
    let verify = || shop.at("2027-01-01T00:00:00Z", &["verify", &pack, "--width", "240"]);
    let own = verify().says(0, "Keys were compared with the list of Example Shop.").out;
    assert!(!own.contains("There is no shop here") && !own.contains("SHA256:"), "{own}");
    // A key that the list no longer has is found, wherever the pack lies.
    let real = shop.read("shop.toml");
    shop.write("shop.toml", &real.replace("name = \"Ana Example\"", "name = \"Bo Example\""));
    verify().says(1, "by the shop's list as it is here, the shop lists nobody named Ana Example");
    // To another shop it is a stranger's: what its own list says, and the fingerprint to ask for.
    shop.write("shop.toml", &real.replace("name = \"Example Shop\"", "name = \"Another Shop\""));
    let foreign = verify().says(9, "Compare them with what that shop tells you").out;
    assert!(!foreign.contains("There is no shop here") && foreign.contains("SHA256:"), "{foreign}");
}
