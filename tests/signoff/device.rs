//! Security keys, without one: software makes what the device would, and OpenSSH says whether it is as it should be.
//!
//! Source: OpenSSH's `PROTOCOL.u2f` (from memory): a device signs SHA-256 of its application, flags, counter and SHA-256 of
//! the message; the signature is followed by flags and counter. What is made up here is held against `ssh-keygen -Y verify`.
#![cfg(unix)]

use crate::openssh::run_by_hand;
use crate::other_agents::{answer_with, made_up, put};
use crate::shop::Shop;
use ohmwright::run::signature::parse_signature;
use rsa::signature::Signer;
use sha2::{Digest, Sha256};
use ssh_key::PrivateKey;

const APPLICATION: &str = "ssh:";
/// The flag that somebody touched it.
const TOUCHED: u8 = 1;
/// The flag that it knew by a number or a finger who that was.
const VERIFIED: u8 = 4;

/// What a device does, with an ordinary key inside.
#[derive(Clone)]
struct Device {
    kind: &'static str,
    inside: PrivateKey,
}

impl Device {
    fn new(shop: &Shop, kind: &'static str, asked: &[&str]) -> Self {
        let name = format!("inside-{}", &kind[..8]);
        // The library can't read every key with a curve (see the test of secret numbers); another is soon made.
        loop {
            let _ = std::fs::remove_file(shop.path(&name));
            shop.new_key_of(asked, &name, "");
            if let Ok(inside) = PrivateKey::from_openssh(shop.read(&name)) {
                return Self { kind, inside };
            }
        }
    }

    /// The public half: as that of the key inside, with the application behind it.
    fn public(&self) -> Vec<u8> {
        let mut inside = self.inside.public_key().to_bytes().unwrap();
        let kind = 4 + self.inside.algorithm().as_str().len();
        let mut public = Vec::new();
        put(&mut public, self.kind.as_bytes());
        public.append(&mut inside.split_off(kind));
        put(&mut public, APPLICATION.as_bytes());
        public
    }

    fn line(&self) -> String {
        ssh_key::PublicKey::from_bytes(&self.public()).unwrap().to_openssh().unwrap()
    }

    fn signs(&self, data: &[u8], flags: u8, counter: u32) -> Vec<u8> {
        let mut signed = Sha256::digest(APPLICATION).to_vec();
        signed.push(flags);
        signed.extend(counter.to_be_bytes());
        signed.extend(Sha256::digest(data));
        let inside = self.inside.key_data().try_sign(&signed).unwrap();
        let mut signature = Vec::new();
        put(&mut signature, self.kind.as_bytes());
        put(&mut signature, inside.as_bytes());
        signature.push(flags);
        signature.extend(counter.to_be_bytes());
        signature
    }
}

fn both(shop: &Shop) -> [Device; 2] {
    [
        Device::new(shop, "sk-ssh-ed25519@openssh.com", &["-t", "ed25519"]),
        Device::new(shop, "sk-ecdsa-sha2-nistp256@openssh.com", &["-t", "ecdsa", "-b", "256"]),
    ]
}

/// Ana signs by way of an agent that has this device.
fn sign_by(shop: &Shop, socket: &str) -> crate::shop::Ran {
    let environment = [("SSH_AUTH_SOCK", socket)];
    shop.with("2026-11-24T10:00:00Z", &environment, shop.folder.path(), &["sign", "--as", "Ana Example"], "")
}

#[test]
fn a_security_key_signs_by_way_of_an_agent_and_openssh_agrees() {
    let shop = Shop::new();
    for (device, called) in both(&shop).into_iter().zip(["ED25519-SK", "ECDSA-SK"]) {
        shop.only_ana(&device.line());
        shop.new_record();
        let (does, name) = (device.clone(), called.to_owned());
        let flags = TOUCHED | VERIFIED;
        let socket = made_up(&shop, &name, vec![device.public()], move |data, _| {
            Some(answer_with(&does.signs(data, flags, 258)))
        });
        sign_by(&shop, &socket).says(0, "Touch the security key when it blinks.");
        shop.verify().says(0, "1 record: good.");
        let script = shop.at("2026-11-24T12:00:00Z", &["verify", "--how"]).good().out;
        run_by_hand(&script).says(0, &format!("signature for ana-example with {called} key"));

        // The library by itself writes the one with a curve otherwise; when it no longer does, `signature.rs` need not.
        let last: serde_json::Value = serde_json::from_str(&shop.lines().pop().unwrap()).unwrap();
        let written = last["signature"].as_str().unwrap();
        let by_itself = parse_signature(written).unwrap().to_pem(ssh_key::LineEnding::LF).unwrap();
        assert_eq!(by_itself == written, called == "ED25519-SK");
        crate::kinds::nothing_holds_once_a_byte_is_changed(&shop, written, &crate::openssh::signed_bytes(&shop));

        let good = String::from_utf8(shop.journal()).unwrap();
        std::fs::write(shop.journal_path(), good.replacen("5.01", "4.01", 1)).unwrap();
        shop.verify().says(1, "was changed after it was signed");
        assert_ne!(run_by_hand(&script).code, 0);
    }
}

#[test]
fn a_security_key_that_nobody_touched_signs_nothing() {
    let shop = Shop::new();
    for device in both(&shop) {
        shop.only_ana(&device.line());
        let before = shop.journal();
        let does = device.clone();
        let socket = made_up(&shop, &device.kind[..8], vec![device.public()], move |data, _| {
            Some(answer_with(&does.signs(data, VERIFIED, 1)))
        });
        sign_by(&shop, &socket)
            .says(2, "the signature that was made is not taken: it was made by a security key that nobody touched");
        assert_eq!(shop.journal(), before);
    }
}

#[test]
fn flags_and_counter_are_signed_with_the_rest() {
    let shop = Shop::new();
    for device in both(&shop) {
        shop.only_ana(&device.line());
        let before = shop.journal();
        for place in 0..5 {
            let does = device.clone();
            let name = format!("{}{place}", &device.kind[..8]);
            let socket = made_up(&shop, &name, vec![device.public()], move |data, _| {
                let mut signature = does.signs(data, TOUCHED, 1);
                let at = signature.len() - 1 - place;
                signature[at] ^= 2;
                Some(answer_with(&signature))
            });
            sign_by(&shop, &socket).says(2, "not taken: it does not fit the lines that it stands for");
        }
        assert_eq!(shop.journal(), before);
    }
}

/// The file of a security key holds no secret, but what the device needs to find it.
#[test]
fn the_file_of_a_security_key_says_that_an_agent_is_needed() {
    let shop = Shop::new();
    for device in both(&shop) {
        let mut secret = vec![1, 2, 3, 4, 1, 2, 3, 4];
        secret.extend(device.public());
        secret.push(TOUCHED);
        for part in ["a handle", "", "a comment"] {
            put(&mut secret, part.as_bytes());
        }
        for number in 1.. {
            if secret.len() % 8 == 0 {
                break;
            }
            secret.push(number);
        }
        let mut file = b"openssh-key-v1\0".to_vec();
        for part in ["none", "none", ""] {
            put(&mut file, part.as_bytes());
        }
        file.extend(1u32.to_be_bytes());
        put(&mut file, &device.public());
        put(&mut file, &secret);
        let armoured = crate::openssh::armour(&file).replace("SSH SIGNATURE", "OPENSSH PRIVATE KEY");
        shop.write("handle", &armoured);
        std::fs::set_permissions(shop.path("handle"), std::os::unix::fs::PermissionsExt::from_mode(0o600)).unwrap();
        // OpenSSH reads it so, too.
        let read = String::from_utf8(shop.keygen(&["-y", "-f", "handle"]).stdout).unwrap();
        let bare = |line: &str| line.split_whitespace().take(2).collect::<Vec<_>>().join(" ");
        assert_eq!(bare(&read), bare(&device.line()));

        shop.only_ana(&device.line());
        shop.sign("2026-11-24T10:00:00Z", "Ana Example", "handle", "performed")
            .says(2, "handle is for a security key, which signs by way of the ssh-agent: `ssh-add FILE`");
    }
    shop.verify().says(1, "nobody has signed it");
}
