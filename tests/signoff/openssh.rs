//! Both directions with OpenSSH: it verifies what the program signs, and the program verifies what it signs.

use crate::shop::{Ran, Shop, ssh_keygen};
use ohmwright::model::signoff::{Meaning, Statement};
use ohmwright::run::signature::{Broken, holds, parse_signature};
use std::io::Write;
use std::process::{Command, Stdio};

/// What `ssh-keygen -Y sign` makes of these bytes.
pub fn openssh_signs(shop: &Shop, bytes: &[u8], key: &str, namespace: &str, more: &[&str]) -> String {
    let mut arguments = vec!["-Y", "sign", "-q", "-n", namespace, "-f", key];
    arguments.extend(more);
    let mut child = ssh_keygen(&arguments)
        .current_dir(shop.folder.path())
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(bytes).unwrap();
    let output = child.wait_with_output().unwrap();
    assert!(output.status.success());
    String::from_utf8(output.stdout).unwrap()
}

/// The record with the last line replaced by one that holds this signature.
pub fn with_signature(shop: &Shop, signature: &str) {
    let mut lines = shop.lines();
    let last = lines.pop().unwrap();
    let mut value: serde_json::Value = serde_json::from_str(&last).unwrap();
    value["signature"] = signature.into();
    let at = value["at"].as_str().unwrap();
    lines.push(format!("{{\"at\":\"{at}\",\"event\":\"signed\",\"signature\":{}}}", value["signature"]));
    shop.set_lines(&lines);
}

pub fn signed_bytes(shop: &Shop) -> Vec<u8> {
    let lines = shop.lines();
    (lines[..lines.len() - 1].join("\n") + "\n").into_bytes()
}

pub fn run_by_hand(script: &str) -> Ran {
    ssh_keygen(&[]);
    let output = Command::new("sh").args(["-e", "-c", script]).output().unwrap();
    Ran {
        code: output.status.code().unwrap(),
        out: String::from_utf8_lossy(&output.stdout).into_owned(),
        err: String::from_utf8_lossy(&output.stderr).into_owned(),
    }
}

#[test]
fn the_commands_that_how_prints_verify_ours_and_find_a_change() {
    let shop = Shop::new();
    shop.sign_as_ana().good();
    shop.sign_as_lea().good();
    let script = shop.at("2026-11-24T12:00:00Z", &["verify", "--how"]).good().out;
    assert!(script.lines().any(|line| line.starts_with("cd -- '")), "{script}");
    let by_hand = run_by_hand(&script).good();
    assert_eq!(by_hand.out.matches("Good \"ohmwright-record\" signature for ").count(), 2, "{}", by_hand.out);
    assert!(by_hand.out.contains("signature for ana-example with ED25519"), "{}", by_hand.out);
    assert!(by_hand.out.contains("signature for lea-lead with ED25519"), "{}", by_hand.out);
    assert_eq!(by_hand.out.matches(": OK").count(), 3, "{}", by_hand.out);

    let good = shop.journal();
    let mut bad = good.clone();
    let at = String::from_utf8(good).unwrap().find("5.01").unwrap();
    bad[at] = b'4';
    std::fs::write(shop.journal_path(), bad).unwrap();
    let by_hand = run_by_hand(&script);
    assert_ne!(by_hand.code, 0);
    assert!(!by_hand.out.contains("Good"), "{}", by_hand.out);
}

#[test]
fn a_name_can_not_slip_a_command_into_the_script() {
    let shop = Shop::new();
    let name = "A 'b' $(touch hacked) `touch hacked` ; touch hacked #";
    shop.write("shop.toml", &format!("{}{}", crate::shop::ROLES, shop.person(name, "lead", "ana", "")));
    shop.sign("2026-11-24T10:00:00Z", name, "ana", "performed").good();
    let how = || shop.at("2026-11-24T12:00:00Z", &["verify", "--how"]);
    let by_hand = run_by_hand(&how().good().out).good();
    assert!(by_hand.out.contains("Good"), "{}", by_hand.out);
    assert!(!shop.journal_path().with_file_name("hacked").exists());

    // A forged record may say anything.
    let forged = String::from_utf8(shop.journal())
        .unwrap()
        .replace(name, "Ana\\nEND\\ntouch hacked\\n")
        .replace("\"key\":\"", "\"key\":\"\\nEND\\ntouch hacked\\n")
        .replace("\"meaning\":\"", "\"meaning\":\"\\ntouch hacked\\n")
        .replace("\"sha256\":\"", "\"sha256\":\"\\nEND\\ntouch hacked\\n");
    std::fs::write(shop.journal_path(), forged).unwrap();
    // The commands are printed, and the exit code says what was found.
    let Ran { code: 1, out: script, .. } = how() else { panic!("a forged record ends with code 1") };
    assert!(script.contains("touch hacked") && !script.lines().any(|line| line.starts_with("touch")), "{script}");
    assert_ne!(run_by_hand(&script).code, 0);
    assert!(!shop.journal_path().with_file_name("hacked").exists());
}

#[test]
fn a_changed_source_is_found_by_hand() {
    let shop = Shop::new();
    shop.sign_as_ana().good();
    let script = shop.at("2026-11-24T12:00:00Z", &["verify", "--how"]).good().out;
    let source = std::fs::read_dir(shop.path("records/sources")).unwrap().next().unwrap().unwrap().path();
    std::fs::write(source, "other").unwrap();
    let by_hand = run_by_hand(&script);
    assert_ne!(by_hand.code, 0);
    assert!(by_hand.out.contains("FAILED"), "{}", by_hand.out);
}

#[test]
fn a_signature_made_by_openssh_verifies() {
    let shop = Shop::new();
    shop.sign_as_ana().good();
    let ours = shop.lines().pop().unwrap();
    let theirs = openssh_signs(&shop, &signed_bytes(&shop), "ana", "ohmwright-record", &[]);
    with_signature(&shop, &theirs);
    // Ed25519 signs the same bytes the same way every time.
    assert_eq!(shop.lines().pop().unwrap(), ours);
    shop.verify().says(0, "1 record: good.");

    let shorter = openssh_signs(&shop, &signed_bytes(&shop), "ana", "ohmwright-record", &["-O", "hashalg=sha256"]);
    assert_ne!(shorter, theirs);
    with_signature(&shop, &shorter);
    shop.verify().says(0, "1 record: good.");
}

#[test]
fn a_signature_for_something_else_or_by_another_key_does_not_hold() {
    let shop = Shop::new();
    shop.sign_as_ana().good();
    let bytes = signed_bytes(&shop);
    with_signature(&shop, &openssh_signs(&shop, &bytes, "ana", "file", &[]));
    shop.verify().says(1, "it was made for `file`, not for a record");
    with_signature(&shop, &openssh_signs(&shop, &bytes, "other", "ohmwright-record", &[]));
    shop.verify().says(1, "it was made with another key than the statement names");
    with_signature(&shop, &openssh_signs(&shop, &bytes[1..], "ana", "ohmwright-record", &[]));
    shop.verify().says(1, "it does not fit the lines that it stands for");
}

#[test]
fn keys_of_openssh_in_all_their_ciphers_open_with_their_passphrase() {
    let shop = Shop::without_record(crate::shop::PROCEDURE);
    shop.write("passphrase", "long and wide\nsecond line");
    for (number, cipher) in ["aes256-ctr", "aes256-gcm@openssh.com", "chacha20-poly1305@openssh.com"].iter().enumerate()
    {
        let name = format!("key{number}");
        let arguments = ["-q", "-t", "ed25519", "-N", "long and wide", "-Z", cipher, "-f", &name];
        assert!(ssh_keygen(&arguments).current_dir(shop.folder.path()).status().unwrap().success());
        shop.write("shop.toml", &format!("{}{}", crate::shop::ROLES, shop.person("Ana Example", "lead", &name, "")));
        shop.at("2026-11-24T09:00:00Z", &["run", "flap", "--answers", "answers.toml"]).good();
        let sign = ["sign", "--as", "Ana Example", "--key", &name, "--passphrase-file", "passphrase"];
        shop.at("2026-11-24T10:00:00Z", &sign).good();
        shop.verify().says(0, "1 record: good.");
        std::fs::remove_dir_all(shop.path("records")).unwrap();
    }
}

#[test]
fn a_key_made_here_is_an_openssh_key_that_only_its_owner_can_read() {
    let shop = Shop::without_record(crate::shop::PROCEDURE);
    shop.write("passphrase", "long and wide\n");
    let made = shop
        .at("2026-11-24T09:00:00Z", &["key", "Ana Example", "--out", "made", "--passphrase-file", "passphrase"])
        .good();
    let public = shop.read("made.pub");
    assert!(made.out.contains(public.trim()), "{}", made.out);
    let (_, snippet) = made.out.split_once("[[person]]").unwrap();
    shop.write("shop.toml", &format!("{}[[person]]{snippet}", crate::shop::ROLES));
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let mode = std::fs::metadata(shop.path("made")).unwrap().permissions().mode();
        assert_eq!(mode & 0o777, 0o600);
    }
    let derived =
        ssh_keygen(&["-y", "-P", "long and wide", "-f", "made"]).current_dir(shop.folder.path()).output().unwrap();
    let derived = String::from_utf8(derived.stdout).unwrap();
    let bare = |key: &str| key.split_whitespace().take(2).collect::<Vec<_>>().join(" ");
    assert_eq!(bare(&derived), bare(&public));
    let wrong = ssh_keygen(&["-y", "-P", "wrong", "-f", "made"]).current_dir(shop.folder.path()).output().unwrap();
    assert!(!wrong.status.success());

    shop.at("2026-11-24T09:00:00Z", &["run", "flap", "--answers", "answers.toml"]).good();
    let sign = ["sign", "--as", "Ana Example", "--key", "made", "--passphrase-file", "passphrase"];
    shop.at("2026-11-24T10:00:00Z", &sign).good();
    shop.verify().says(0, "1 record: good.");
    shop.at("2026-11-24T09:00:00Z", &["key", "Ana Example", "--out", "made", "--passphrase-file", "passphrase"])
        .says(2, "made is there already");
    shop.write("passphrase", "\n");
    shop.at("2026-11-24T09:00:00Z", &["key", "Ana Example", "--out", "new", "--passphrase-file", "passphrase"])
        .says(2, "the passphrase is empty");
    assert!(!shop.path("new").exists());
}

#[test]
fn a_key_lies_in_the_folder_for_the_users_settings_if_nothing_else_is_said() {
    let shop = Shop::new();
    shop.write("passphrase", "long and wide\n");
    let environment = [("OHMWRIGHT_PASSPHRASE_FILE", "passphrase")];
    let made = shop.with("2026-01-01T00:00:00Z", &environment, shop.folder.path(), &["key", "Ana Example"], "").good();
    let (_, snippet) = made.out.split_once("[[person]]").unwrap();
    shop.write("shop.toml", &format!("{}[[person]]{snippet}", crate::shop::ROLES));
    let sign = ["sign", "--as", "Ana Example"];
    shop.with("2026-11-24T10:00:00Z", &environment, shop.folder.path(), &sign, "").good();
    shop.verify().says(0, "1 record: good.");
}

/// Source: the `ssh-key` crate 0.6.7, `tests/examples/sshsig_ed25519`; message, namespace and key from its `tests/sshsig.rs`.
const PUBLISHED: &str = "-----BEGIN SSH SIGNATURE-----
U1NIU0lHAAAAAQAAADMAAAALc3NoLWVkMjU1MTkAAAAgsz6u836i33yqAQ3v3qNOJB9l8b
UppPQ+0UMn9cVKq2IAAAAHZXhhbXBsZQAAAAAAAAAGc2hhNTEyAAAAUwAAAAtzc2gtZWQy
NTUxOQAAAEBPEav+tMGNnox4MuzM7rlHyVBajCn8B0kAyiOWwPKprNsG3i6X+voz/WCSik
/FowYwqhgCABUJSvRX3AERVBUP
-----END SSH SIGNATURE-----
";
const PUBLISHED_KEY: &str = "ssh-ed25519 AAAAC3NzaC1lZDI1NTE5AAAAILM+rvN+ot98qgEN796jTiQfZfG1KaT0PtFDJ/XFSqti";

#[test]
fn the_published_signature_reads_as_published_and_holds() {
    let signature = parse_signature(PUBLISHED).unwrap();
    assert_eq!(signature.namespace(), "example");
    let raw: String = signature.signature_bytes().iter().map(|byte| format!("{byte:02x}")).collect();
    assert!(raw.starts_with("4f11abfe") && raw.ends_with("1154150f") && raw.len() == 128, "{raw}");
    let key: ssh_key::PublicKey = PUBLISHED_KEY.parse().unwrap();
    assert!(key.verify("example", b"testing", &signature).is_ok());
    assert!(key.verify("example", b"testinG", &signature).is_err());
    // Good as it is, it is not one for a record.
    let statement = Statement {
        name: "Ana Example".into(),
        role: "lead".into(),
        meaning: Meaning::new("performed"),
        key: PUBLISHED_KEY.into(),
        unfinished: false,
        people: ohmwright::model::source::SourceRef {
            kind: ohmwright::model::source::SourceKind::People,
            name: "shop.toml".into(),
            sha256: String::new(),
        },
        lines: String::new(),
    };
    assert_eq!(holds(&statement, PUBLISHED, b"testing"), Err(Broken::Namespace { namespace: "example".into() }));
}

/// Source: the `ssh-key` crate 0.6.7, `tests/examples/sshsig_sk_ed25519` and `id_sk_ed25519_2.pub`.
const PUBLISHED_BY_DEVICE: &str = "-----BEGIN SSH SIGNATURE-----
U1NIU0lHAAAAAQAAAEoAAAAac2stc3NoLWVkMjU1MTlAb3BlbnNzaC5jb20AAAAg1KgSUW
V4f6c3zcWguqp6kmM37LsazmWufupeMGpBnK4AAAAEc3NoOgAAAAdleGFtcGxlAAAAAAAA
AAZzaGE1MTIAAABnAAAAGnNrLXNzaC1lZDI1NTE5QG9wZW5zc2guY29tAAAAQC9WcLb5NG
XRdCOHinQIS/MxdnAx7SQMYnyOt5q4+huTWh/Zk/UvWhP+wXl/ikNPlDpgliRq6o3VyKqS
LLo9lQYBAAAACQ==
-----END SSH SIGNATURE-----
";
const DEVICE_KEY: &str = "sk-ssh-ed25519@openssh.com AAAAGnNrLXNzaC1lZDI1NTE5QG9wZW5zc2guY29tAAAAINSoElFleH+nN83FoLqqepJjN+y7Gs5lrn7qXjBqQZyuAAAABHNzaDo=";

#[test]
fn a_published_signature_of_a_security_key_holds() {
    let signature = parse_signature(PUBLISHED_BY_DEVICE).unwrap();
    let key: ssh_key::PublicKey = DEVICE_KEY.parse().unwrap();
    assert!(key.verify("example", b"testing", &signature).is_ok());
    assert!(key.verify("example", b"testinG", &signature).is_err());
}

#[test]
fn other_spellings_of_the_same_signature_are_refused() {
    for other in [
        PUBLISHED.trim_end().to_owned(),
        PUBLISHED.replace('\n', "\r\n"),
        format!("{PUBLISHED}\n"),
        PUBLISHED.replace("UppPQ", "Upp\nPQ"),
        PUBLISHED.replace("UppPQ", "Upp PQ"),
    ] {
        assert!(parse_signature(&other).is_err(), "{other:?}");
    }
}

/// The armour of a blob, in lines of 70 characters.
pub fn armour(blob: &[u8]) -> String {
    const ALPHABET: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut text = String::new();
    for chunk in blob.chunks(3) {
        let bits = chunk.iter().fold(0u32, |bits, byte| bits << 8 | u32::from(*byte)) << (8 * (3 - chunk.len()));
        for place in 0..4 {
            let letter = ALPHABET[(bits >> (18 - 6 * place) & 63) as usize];
            text.push(if place <= chunk.len() { char::from(letter) } else { '=' });
        }
    }
    let lines: Vec<_> = text.as_bytes().chunks(70).map(|line| std::str::from_utf8(line).unwrap()).collect();
    format!("-----BEGIN SSH SIGNATURE-----\n{}\n-----END SSH SIGNATURE-----\n", lines.join("\n"))
}

pub fn blob_of(parts: &[&[u8]], version: u32) -> Vec<u8> {
    let mut blob = b"SSHSIG".to_vec();
    blob.extend(version.to_be_bytes());
    for part in parts {
        blob.extend(u32::try_from(part.len()).unwrap().to_be_bytes());
        blob.extend(*part);
    }
    blob
}

#[test]
fn blobs_that_are_no_sshsig_are_refused() {
    let good = parse_signature(PUBLISHED).unwrap();
    let key = good.public_key().clone();
    let key = ssh_key::PublicKey::new(key, "").to_bytes().unwrap();
    let mut signature = Vec::new();
    for part in [&b"ssh-ed25519"[..], good.signature_bytes()] {
        signature.extend(u32::try_from(part.len()).unwrap().to_be_bytes());
        signature.extend(part);
    }
    let whole: [&[u8]; 5] = [&key, b"example", b"", b"sha512", &signature];
    assert_eq!(armour(&blob_of(&whole, 1)), PUBLISHED);

    // The example in OpenSSH's own PROTOCOL.sshsig, section 1, has no hash algorithm, against its section 2: decoded, it
    // is public key, namespace `foo`, empty reserved, signature.
    let without_hash = blob_of(&[&key, b"foo", b"", &signature], 1);
    assert_eq!(without_hash.len(), 163);
    assert!(matches!(parse_signature(&armour(&without_hash)), Err(Broken::Unreadable { .. })));
    assert!(parse_signature(&armour(&blob_of(&whole, 2))).is_err());
    assert!(parse_signature(&armour(&blob_of(&whole, 0))).is_err());
    assert!(parse_signature(&armour(&blob_of(&[&key, b"", b"", b"sha512", &signature], 1))).is_err());
    assert!(parse_signature(&armour(&blob_of(&[&key, b"example", b"", b"md5", &signature], 1))).is_err());
    let mut longer = blob_of(&whole, 1);
    longer.push(0);
    assert!(parse_signature(&armour(&longer)).is_err());
}

proptest::proptest! {
    #[test]
    fn hostile_text_is_refused_and_nothing_panics(text in ".{0,300}") {
        proptest::prop_assert!(parse_signature(&text).is_err());
        let armoured = format!("-----BEGIN SSH SIGNATURE-----\n{text}\n-----END SSH SIGNATURE-----\n");
        proptest::prop_assert!(parse_signature(&armoured).is_err());
    }

    #[test]
    fn hostile_blobs_are_refused_and_nothing_panics(
        bytes in proptest::collection::vec(proptest::prelude::any::<u8>(), 0..200),
        cut in 0usize..200,
    ) {
        proptest::prop_assert!(parse_signature(&armour(&bytes)).is_err());
        // What begins well and goes on badly.
        let good = parse_signature(PUBLISHED).unwrap();
        let key = ssh_key::PublicKey::new(good.public_key().clone(), "").to_bytes().unwrap();
        let mut blob = blob_of(&[&key, b"example", b"", b"sha512"], 1);
        blob.truncate(cut.max(10));
        blob.extend(&bytes);
        proptest::prop_assert!(parse_signature(&armour(&blob)).is_err());
    }
}
