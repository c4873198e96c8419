//! Every ordinary kind of OpenSSH key, both ways with OpenSSH, from a file and from an agent; and those that sign nothing.

use crate::openssh::{armour, blob_of, openssh_signs, run_by_hand, signed_bytes, with_signature};
use crate::shop::{Shop, ssh_keygen};
use ohmwright::model::signoff::Statement;
use ohmwright::run::signature::{Broken, holds, parse_signature};
use std::io::Write;
use std::process::Stdio;
use std::sync::LazyLock;

/// A kind of key.
struct Kind {
    /// What `ssh-keygen` is asked for.
    asked: &'static [&'static str],
    /// What `ssh-keygen -Y verify` calls it.
    called: &'static str,
    /// Whether the same bytes are signed the same way every time: RFC 8017, section 8.2 (RSASSA-PKCS1-v1_5); RFC 8032
    /// (Ed25519). An ECDSA signature has a random number in it with OpenSSH. All from memory.
    always_the_same: bool,
}

const KINDS: [Kind; 6] = [
    Kind { asked: &["-t", "ed25519"], called: "ED25519", always_the_same: true },
    Kind { asked: &["-t", "rsa", "-b", "2048"], called: "RSA", always_the_same: true },
    // Longer than what the library that reads keys signs and verifies with.
    Kind { asked: &["-t", "rsa", "-b", "4160"], called: "RSA", always_the_same: true },
    Kind { asked: &["-t", "ecdsa", "-b", "256"], called: "ECDSA", always_the_same: false },
    Kind { asked: &["-t", "ecdsa", "-b", "384"], called: "ECDSA", always_the_same: false },
    Kind { asked: &["-t", "ecdsa", "-b", "521"], called: "ECDSA", always_the_same: false },
];

impl Kind {
    fn name(&self) -> String {
        self.asked.concat().replace('-', "")
    }
}

/// The private and the public half of a key of each kind, made once: long RSA keys take their time.
static KEYS: LazyLock<Vec<(String, String)>> = LazyLock::new(|| {
    let folder = tempfile::TempDir::new().unwrap();
    let made = |kind: &Kind| {
        let name = kind.name();
        let arguments = [kind.asked, &["-q", "-N", "", "-C", "a comment", "-f", &name]].concat();
        assert!(ssh_keygen(&arguments).current_dir(folder.path()).status().unwrap().success());
        let read = |end: &str| std::fs::read_to_string(folder.path().join(format!("{name}{end}"))).unwrap();
        (read(""), read(".pub"))
    };
    KINDS.iter().map(made).collect()
});

/// A shop with a key of each kind.
fn shop_with_all() -> Shop {
    let shop = Shop::without_record(crate::shop::PROCEDURE);
    shop.write("passphrase", "long and wide\n");
    for (kind, (private, public)) in KINDS.iter().zip(KEYS.iter()) {
        let name = kind.name();
        shop.write(&name, private);
        shop.write(&format!("{name}.pub"), public);
        // OpenSSH takes no key that others can read.
        #[cfg(unix)]
        std::fs::set_permissions(shop.path(&name), std::os::unix::fs::PermissionsExt::from_mode(0o600)).unwrap();
    }
    shop
}

/// The record verifies here and with the commands that `--how` prints.
fn good_both_ways(shop: &Shop, kind: &Kind) {
    shop.verify().says(0, "1 record: good.");
    let script = shop.at("2026-11-24T12:00:00Z", &["verify", "--how"]).good().out;
    let words = format!("signature for ana-example with {} key", kind.called);
    run_by_hand(&script).says(0, &words);
}

#[test]
fn every_kind_signs_from_its_file_and_each_verifies_the_others() {
    let shop = shop_with_all();
    for kind in &KINDS {
        let name = kind.name();
        shop.only_ana(&shop.read(&format!("{name}.pub")));
        shop.new_record();
        shop.sign("2026-11-24T10:00:00Z", "Ana Example", &name, "performed").good();
        good_both_ways(&shop, kind);
        let ours = shop.lines().pop().unwrap();
        for more in [&[][..], &["-O", "hashalg=sha256"]] {
            with_signature(&shop, &openssh_signs(&shop, &signed_bytes(&shop), &name, "ohmwright-record", more));
            shop.verify().says(0, "1 record: good.");
            let theirs = shop.lines().pop().unwrap();
            assert_eq!(theirs == ours, kind.always_the_same && more.is_empty(), "{name}");
        }
        let good = String::from_utf8(shop.journal()).unwrap();
        std::fs::write(shop.journal_path(), good.replacen("5.01", "4.01", 1)).unwrap();
        shop.verify().says(1, "was changed after it was signed");

        shop.keygen(&["-q", "-p", "-P", "", "-N", "long and wide", "-f", &name]);
        shop.new_record();
        let sign = ["sign", "--as", "Ana Example", "--key", &name, "--passphrase-file", "passphrase"];
        shop.at("2026-11-24T10:00:00Z", &sign).good();
        if kind.always_the_same {
            let key = serde_json::from_str::<serde_json::Value>(&ours).unwrap()["signature"].clone();
            let now = serde_json::from_str::<serde_json::Value>(&shop.lines().pop().unwrap()).unwrap();
            assert_eq!(now["signature"], key, "{name}: locked and not, it is the same key");
        }
        good_both_ways(&shop, kind);
    }
}

#[cfg(unix)]
#[test]
fn every_kind_signs_by_way_of_openssh_s_agent() {
    let shop = shop_with_all();
    let agent = crate::agent::Agent::start(&shop);
    let names: Vec<String> = KINDS.iter().map(Kind::name).collect();
    agent.add(&shop, &names.iter().map(String::as_str).collect::<Vec<_>>());
    let environment = [("SSH_AUTH_SOCK", agent.socket.as_str())];
    for kind in &KINDS {
        shop.only_ana(&shop.read(&format!("{}.pub", kind.name())));
        shop.new_record();
        let sign = ["sign", "--as", "Ana Example"];
        shop.with("2026-11-24T10:00:00Z", &environment, shop.folder.path(), &sign, "").good();
        good_both_ways(&shop, kind);
    }
}

/// Every byte of the key and of the signature changed, in what is stated as in what signed: nothing holds, nothing panics.
pub fn nothing_holds_once_a_byte_is_changed(shop: &Shop, signature: &str, bytes: &[u8]) {
    let parsed = parse_signature(signature).unwrap();
    let key = ssh_key::PublicKey::from(parsed.public_key().clone());
    let stated: serde_json::Value = serde_json::from_str(shop.lines().iter().rev().nth(1).unwrap()).unwrap();
    let mut statement: Statement = serde_json::from_value(stated).unwrap();
    assert_eq!(holds(&statement, signature, bytes), Ok(()));
    let sealed = |key: &[u8], inner: &[u8]| armour(&blob_of(&[key, b"ohmwright-record", b"", b"sha512", inner], 1));
    let key = key.to_bytes().unwrap();
    let mut inner = Vec::new();
    let device = if parsed.algorithm().as_str().starts_with("sk-") { 5 } else { 0 };
    let (raw, trailer) = parsed.signature_bytes().split_at(parsed.signature_bytes().len() - device);
    for part in [parsed.algorithm().as_str().as_bytes(), raw] {
        inner.extend(u32::try_from(part.len()).unwrap().to_be_bytes());
        inner.extend(part);
    }
    inner.extend(trailer);
    assert_eq!(sealed(&key, &inner), signature);
    let changed = |good: &[u8], position: usize| {
        let mut bad = good.to_vec();
        bad[position] ^= 1;
        bad
    };
    for position in 0..inner.len() {
        let found = holds(&statement, &sealed(&key, &changed(&inner, position)), bytes);
        assert!(found.is_err(), "byte {position} of the signature");
    }
    for position in 0..key.len() {
        let key = changed(&key, position);
        assert!(holds(&statement, &sealed(&key, &inner), bytes).is_err(), "byte {position} of the key");
        if let Ok(line) = ssh_key::PublicKey::from_bytes(&key).and_then(|key| key.to_openssh()) {
            let good = std::mem::replace(&mut statement.key, line);
            assert!(holds(&statement, &sealed(&key, &inner), bytes).is_err(), "byte {position} of both keys");
            statement.key = good;
        }
    }
}

#[test]
fn a_changed_byte_of_a_key_or_a_signature_is_found_whatever_its_kind() {
    let shop = shop_with_all();
    for kind in KINDS.iter().filter(|kind| !kind.name().contains("4160")) {
        shop.only_ana(&shop.read(&format!("{}.pub", kind.name())));
        shop.new_record();
        shop.sign("2026-11-24T10:00:00Z", "Ana Example", &kind.name(), "performed").good();
        let last: serde_json::Value = serde_json::from_str(&shop.lines().pop().unwrap()).unwrap();
        nothing_holds_once_a_byte_is_changed(&shop, last["signature"].as_str().unwrap(), &signed_bytes(&shop));
    }
}

/// RSA signs with SHA-512 (RFC 8332, section 3, from memory; PROTOCOL.sshsig forbids the older `ssh-rsa`).
#[test]
fn an_rsa_signature_that_says_it_is_over_sha1_is_refused_by_both() {
    let shop = Shop::new();
    shop.new_key_of(&["-t", "rsa", "-b", "2048"], "rsa", "");
    shop.only_ana(&shop.read("rsa.pub"));
    shop.sign("2026-11-24T10:00:00Z", "Ana Example", "rsa", "performed").good();
    let last: serde_json::Value = serde_json::from_str(&shop.lines().pop().unwrap()).unwrap();
    let signature = parse_signature(last["signature"].as_str().unwrap()).unwrap();
    assert_eq!(signature.algorithm().as_str(), "rsa-sha2-512");
    let key = ssh_key::PublicKey::new(signature.public_key().clone(), "").to_bytes().unwrap();
    let with_name = |name: &[u8]| {
        let mut inner = Vec::new();
        for part in [name, signature.signature_bytes()] {
            inner.extend(u32::try_from(part.len()).unwrap().to_be_bytes());
            inner.extend(part);
        }
        armour(&blob_of(&[&key, b"ohmwright-record", b"", b"sha512", &inner], 1))
    };
    assert_eq!(with_name(b"rsa-sha2-512"), last["signature"].as_str().unwrap());
    let old = with_name(b"ssh-rsa");
    assert_eq!(parse_signature(&old), Err(Broken::Sha1));
    let bytes = signed_bytes(&shop);
    with_signature(&shop, &old);
    shop.verify().says(1, "it was made over SHA-1 (`ssh-rsa`), which shows nothing any more");

    shop.write("old", &old);
    shop.write("allowed", &format!("ana {}", shop.read("rsa.pub")));
    let mut theirs = ssh_keygen(&["-Y", "verify", "-f", "allowed", "-I", "ana", "-n", "ohmwright-record", "-s", "old"])
        .current_dir(shop.folder.path())
        .stdin(Stdio::piped())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    theirs.stdin.take().unwrap().write_all(&bytes).unwrap();
    assert!(!theirs.wait().unwrap().success());
}

#[test]
fn a_signature_of_another_kind_than_its_key_is_refused() {
    let shop = Shop::new();
    shop.sign_as_ana().good();
    let last: serde_json::Value = serde_json::from_str(&shop.lines().pop().unwrap()).unwrap();
    let signature = parse_signature(last["signature"].as_str().unwrap()).unwrap();
    let mut inner = Vec::new();
    for part in [&b"rsa-sha2-512"[..], signature.signature_bytes()] {
        inner.extend(u32::try_from(part.len()).unwrap().to_be_bytes());
        inner.extend(part);
    }
    let key = ssh_key::PublicKey::new(signature.public_key().clone(), "").to_bytes().unwrap();
    with_signature(&shop, &armour(&blob_of(&[&key, b"ohmwright-record", b"", b"sha512", &inner], 1)));
    shop.verify().says(1, "a key of the kind ssh-ed25519 makes no signature of the kind rsa-sha2-512");
    // What is reserved is signed by nobody: OpenSSH leaves it empty.
    with_signature(&shop, &armour(&blob_of(&[&key, b"ohmwright-record", b"x", b"sha512", &inner], 1)));
    shop.verify().says(1, "what is reserved in it is not empty");
}

/// Every other P-521 key has a secret number that begins with a zero byte, which OpenSSH leaves out.
#[test]
fn keys_whose_secret_number_begins_with_zeros_sign() {
    let shop = Shop::new();
    let number = (0..200).find(|number| {
        let name = format!("curve{number}");
        shop.new_key_of(&["-t", "ecdsa", "-b", "521"], &name, "");
        ssh_key::PrivateKey::from_openssh(shop.read(&name)).is_err()
    });
    let name = format!("curve{}", number.expect("one in four has such a number"));
    shop.only_ana(&shop.read(&format!("{name}.pub")));
    shop.sign("2026-11-24T10:00:00Z", "Ana Example", &name, "performed").good();
    good_both_ways(&shop, &KINDS[5]);
}

/// The order of the curve P-256. Source: SEC 2, version 2, section 2.4.2 (from memory).
const ORDER: &[u8] = b"FFFFFFFF00000000FFFFFFFFFFFFFFFFBCE6FAADA7179E84F3B9CAC2FC632551";

/// README says that it has one, and that this is all that can be done with it.
#[test]
fn an_ecdsa_signature_has_a_twin_that_stands_for_the_same_lines() {
    let shop = Shop::new();
    shop.new_key_of(&["-t", "ecdsa"], "curve", "");
    shop.only_ana(&shop.read("curve.pub"));
    shop.sign("2026-11-24T10:00:00Z", "Ana Example", "curve", "performed").good();
    let before = shop.lines();
    let last: serde_json::Value = serde_json::from_str(&before[before.len() - 1]).unwrap();
    let signature = parse_signature(last["signature"].as_str().unwrap()).unwrap();
    let bytes = signature.signature_bytes();
    let first = 4 + u32::from_be_bytes(bytes[..4].try_into().unwrap()) as usize;
    let order = rsa::BigUint::parse_bytes(ORDER, 16).unwrap();
    let mut second = (order - rsa::BigUint::from_bytes_be(&bytes[first + 4..])).to_bytes_be();
    if second[0] >= 0x80 {
        second.insert(0, 0);
    }
    let parts = [&bytes[..first], &u32::try_from(second.len()).unwrap().to_be_bytes(), &second].concat();
    let twin = ssh_key::Signature::new(signature.algorithm(), parts).unwrap();
    with_signature(&shop, &ohmwright::run::signature::seal(signature.public_key(), twin).unwrap());
    let after = shop.lines();
    assert!(after[..after.len() - 1] == before[..before.len() - 1] && after.last() != before.last());
    good_both_ways(&shop, &KINDS[3]);
}

/// When this fails, a newer library does it, and what stands in for it here can go.
#[test]
fn what_the_library_does_not_do_it_still_does_not() {
    let shop = shop_with_all();
    for (kind, verifies) in KINDS[1..3].iter().zip([true, false]) {
        let name = kind.name();
        let key = ssh_key::PrivateKey::from_openssh(shop.read(&name)).unwrap();
        assert!(key.sign("file", ssh_key::HashAlg::Sha512, b"bytes").is_err(), "{name}: it signs");
        let theirs = ssh_key::SshSig::from_pem(openssh_signs(&shop, b"bytes", &name, "file", &[])).unwrap();
        assert_eq!(key.public_key().verify("file", b"bytes", &theirs).is_ok(), verifies, "{name}");
    }
}

/// Made for this test with OpenSSH 9.2; newer ones make none.
const DSA: &str = "ssh-dss AAAAB3NzaC1kc3MAAACBAKC/c11V64J71/oTnLdUE3JrFcUXg50kXtseVn0lVwLJTww6R7NQzLIAXETtEiliTm7LhSB/ppdRHpu4NpItFczurudbEqWv3+fUwCcMHmCyYGQc5zSdTKZZDaOIEk5HbgeeR9K8ty/H/rMsq7XgSNwzeErd2PxKjxCJgDpCU6IjAAAAFQCH9pMjGNeVeHiOjJmIAzwS8xU5mQAAAIB8oiC2HJr0YP0904RXz0YJrB2okZSU4K+zxSch4U2eIk2t2Nf7x6XcCbxCNNODVVl/7grCn2ESzrkzW5NW9tA9fzZ1FFTbv4uJwbdRCMR1Uys7B1cxtEfrlnZYKXkG8ckaoA6XCsfPnTmbV2puKzwLT1sWrPyMNMc7J6+P1jgduQAAAIAc6ftuJG+tBYw2g0WHGJzGOg4/75sOZjc7JynfuRANai/m0iPWA5iBhQ9e9ldosPg8+CU6DeornskQaXMg19xPZlslQrYdqFuSEd+C+n12/LrOxNytT2+EWJJaeRe/CKEYZ6KT6GXhOlfTTJnaXCEhsF03Ub7PUMKC4kpzhSUSsA==";

#[test]
fn kinds_that_sign_no_records_say_why() {
    let shop = Shop::new();
    shop.new_key_of(&["-t", "rsa", "-b", "1024"], "short", "");
    shop.keygen(&["-q", "-s", "other", "-I", "ana", "-n", "ana", "ana.pub"]);
    let before = shop.journal();
    let sign = |key: &str| shop.sign("2026-11-24T10:00:00Z", "Ana Example", key, "performed");
    let listed = "what shop.toml has as the key of Ana Example can't be used: ";
    let ana = shop.read("ana.pub");
    for (key, words) in [
        (DSA.to_owned(), "DSA keys sign no records, since they sign over SHA-1"),
        (shop.read("short.pub"), "an RSA key of 1024 bits signs no records: it has 2048 bits at least"),
        (shop.read("ana-cert.pub"), "a certificate signs no records: give the key itself"),
        (format!("namespaces=\"file\" {ana}"), "`namespaces=\"file\"` stands before the key"),
        (shop.read("ana"), "it is a PRIVATE key: take it out"),
        (ana.replace("AAAAC3", "AAAAC4"), "it is no OpenSSH public key ("),
        (format!("{}\n{}", ana.trim(), ana.trim()), "it has more than one line"),
    ] {
        shop.only_ana(&key);
        sign("ana").says(2, &format!("{listed}{words}"));
    }
    shop.only_ana(&format!("{} at home, with another comment", ana.trim()));
    for (key, words) in [
        ("short", "short can't sign: an RSA key of 1024 bits signs no records"),
        ("ana.pub", "ana.pub is the public half of a key: name the file of the key itself"),
        ("ana-cert.pub", "ana-cert.pub is a certificate: name the file of the key itself"),
        ("shop.toml", "shop.toml is no OpenSSH private key"),
        ("procedures", "procedures"),
        ("nowhere", "nowhere"),
    ] {
        let code = if key == "procedures" || key == "nowhere" { 7 } else { 2 };
        sign(key).says(code, words);
    }
    std::fs::copy(shop.path("ana"), shop.path("damaged")).unwrap();
    let text = shop.read("damaged");
    shop.write("damaged", &text.replace("\n-----END", "A\n-----END"));
    sign("damaged").says(2, "damaged is no OpenSSH private key");
    shop.new_key_of(&["-t", "rsa", "-b", "2048", "-m", "PEM"], "older", "");
    sign("older").says(2, "older has a private key in another form than OpenSSH's: `ssh-keygen -p -f FILE`");
    shop.new_key_of(&["-t", "ed25519", "-Z", "3des-cbc"], "cipher", "long and wide");
    sign("cipher").says(2, "cipher is locked with 3des-cbc, which is not known here");
    assert_eq!(shop.journal(), before);

    // A comment is not the key.
    sign("ana").good();
    shop.verify().says(0, "1 record: good.");
}

#[cfg(unix)]
#[test]
fn a_key_or_a_passphrase_that_others_can_read_is_refused() {
    use std::os::unix::fs::PermissionsExt;
    let shop = Shop::new();
    let open_to = |name: &str, mode: u32| {
        std::fs::set_permissions(shop.path(name), std::fs::Permissions::from_mode(mode)).unwrap();
    };
    let before = shop.journal();
    for mode in [0o644, 0o640, 0o602] {
        open_to("ana", mode);
        shop.sign_as_ana().says(2, &format!("read or write ana (its mode is {mode:04o})")).says(2, "`chmod 600 ana`");
    }
    open_to("ana", 0o600);
    shop.new_key("locked", "long and wide");
    shop.write("passphrase", "long and wide\n");
    open_to("passphrase", 0o644);
    let people = shop.person("Ana Example", "technician", "locked", "");
    shop.write("shop.toml", &format!("{}{people}", crate::shop::ROLES));
    let sign = ["sign", "--as", "Ana Example", "--key", "locked", "--passphrase-file", "passphrase"];
    shop.at("2026-11-24T10:00:00Z", &sign).says(2, "`chmod 600 passphrase`");
    assert_eq!(shop.journal(), before);
    open_to("passphrase", 0o600);
    shop.at("2026-11-24T10:00:00Z", &sign).says(0, "Signed: performed");
    shop.verify().says(0, "1 record: good.");
}

#[test]
fn a_person_with_two_keys_signs_with_either() {
    let shop = Shop::new();
    shop.new_key_of(&["-t", "ecdsa"], "tablet", "");
    shop.write("unfit.pub", DSA);
    let listed: String = [("technician", "ana"), ("lead", "tablet"), ("lead", "unfit")]
        .iter()
        .map(|(role, key)| shop.person("Ana Example", role, key, ""))
        .collect();
    shop.write("shop.toml", &format!("{}{listed}", crate::shop::ROLES));
    let sign = |key: &str| shop.sign("2026-11-24T10:00:00Z", "Ana Example", key, "performed");
    sign("other").says(2, "other holds the key SHA256:").says(2, " and SHA256:");
    sign("tablet").says(0, "Signed: performed, Ana Example, lead");
    shop.verify().says(0, "1 record: good.");
    shop.new_record();
    sign("ana").says(0, "Signed: performed, Ana Example, technician");
    shop.verify().says(0, "1 record: good.");
}
