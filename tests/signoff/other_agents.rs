//! Agents that are not OpenSSH's: one that a test makes up, and what becomes of a sign-off when it misbehaves.
#![cfg(unix)]

use crate::shop::Shop;
use std::io::{Read, Write};
use std::os::unix::net::{UnixListener, UnixStream};

/// Message numbers of the agent protocol, from memory; the tests with OpenSSH's own agent hold them.
const FAILURE: u8 = 5;
const IDENTITIES_ANSWER: u8 = 12;
const SIGN_RESPONSE: u8 = 14;

/// Puts a length and bytes behind a message.
pub fn put(message: &mut Vec<u8>, bytes: &[u8]) {
    message.extend(u32::try_from(bytes.len()).unwrap().to_be_bytes());
    message.extend(bytes);
}

/// Takes a length and bytes off a message.
fn take(message: &mut &[u8]) -> Vec<u8> {
    let (length, rest) = message.split_at(4);
    let length = u32::from_be_bytes(length.try_into().unwrap()) as usize;
    let (bytes, rest) = rest.split_at(length);
    *message = rest;
    bytes.to_vec()
}

/// A socket at which a made-up agent answers until the test ends: with the list of these keys, and with what `sign` makes of
/// what is to be signed and of the flags. An agent that makes nothing hangs up.
pub fn made_up(
    shop: &Shop,
    name: &str,
    keys: Vec<Vec<u8>>,
    sign: impl Fn(&[u8], u32) -> Option<Vec<u8>> + Send + 'static,
) -> String {
    let socket = shop.path(name);
    let listener = UnixListener::bind(&socket).unwrap();
    std::thread::spawn(move || {
        for stream in listener.incoming() {
            let Ok(mut stream) = stream else { return };
            while let Some(request) = request(&mut stream) {
                let answer = match request[0] {
                    11 => {
                        let mut list = vec![IDENTITIES_ANSWER];
                        list.extend(u32::try_from(keys.len()).unwrap().to_be_bytes());
                        for key in &keys {
                            put(&mut list, key);
                            put(&mut list, b"a comment");
                        }
                        Some(list)
                    }
                    _ => {
                        let mut rest = &request[1..];
                        let (_, data) = (take(&mut rest), take(&mut rest));
                        sign(&data, u32::from_be_bytes(rest.try_into().unwrap()))
                    }
                };
                let Some(answer) = answer else { break };
                let mut message = Vec::new();
                put(&mut message, &answer);
                let _ = stream.write_all(&message);
            }
        }
    });
    socket.display().to_string()
}

fn request(stream: &mut UnixStream) -> Option<Vec<u8>> {
    let mut length = [0; 4];
    stream.read_exact(&mut length).ok()?;
    let mut request = vec![0; u32::from_be_bytes(length) as usize];
    stream.read_exact(&mut request).ok()?;
    Some(request)
}

/// An agent's answer with this signature in it.
pub fn answer_with(signature: &[u8]) -> Vec<u8> {
    let mut answer = vec![SIGN_RESPONSE];
    put(&mut answer, signature);
    answer
}

/// A signature blob of one kind.
fn blob(kind: &str, signature: &[u8]) -> Vec<u8> {
    let mut blob = Vec::new();
    put(&mut blob, kind.as_bytes());
    put(&mut blob, signature);
    blob
}

#[test]
fn what_an_agent_does_wrong_is_said_and_nothing_is_written() {
    let shop = Shop::new();
    shop.new_key_of(&["-t", "rsa", "-b", "2048"], "rsa", "");
    let before = shop.journal();
    let bytes_of = |key: &str| ssh_key::PublicKey::from_openssh(&shop.read(&format!("{key}.pub"))).unwrap();
    type Signs = Box<dyn Fn(&[u8], u32) -> Option<Vec<u8>> + Send>;
    let cases: [(&str, &str, Signs, &str); 6] = [
        ("ana", "refuses", Box::new(|_, _| Some(vec![FAILURE])), "the ssh-agent refused: it may be locked"),
        ("ana", "dies", Box::new(|_, _| None), "the ssh-agent ended before it answered"),
        ("ana", "babbles", Box::new(|_, _| Some(answer_with(b"what"))), "the ssh-agent's answer makes no sense"),
        (
            "ana",
            "forges",
            Box::new(|_, _| Some(answer_with(&blob("ssh-ed25519", &[7; 64])))),
            "the signature that was made is not taken: it does not fit the lines that it stands for",
        ),
        (
            "ana",
            "mixes",
            Box::new(|_, _| Some(answer_with(&blob("rsa-sha2-512", &[7; 64])))),
            "not taken: a key of the kind ssh-ed25519 makes no signature of the kind rsa-sha2-512",
        ),
        (
            "rsa",
            "old",
            Box::new(|_, flags| {
                assert_eq!(flags, 4, "RSA is asked for with SHA-512");
                Some(answer_with(&blob("ssh-rsa", &[7; 256])))
            }),
            "the ssh-agent is too old for this RSA key: it signed over SHA-1",
        ),
    ];
    for (key, name, sign, words) in cases {
        shop.only_ana(&shop.read(&format!("{key}.pub")));
        let socket = made_up(&shop, name, vec![bytes_of(key).to_bytes().unwrap()], sign);
        let environment = [("SSH_AUTH_SOCK", socket.as_str())];
        shop.with("2026-11-24T10:00:00Z", &environment, shop.folder.path(), &["sign", "--as", "Ana Example"], "")
            .says(2, words);
        assert_eq!(shop.journal(), before, "{name}");
    }
}

#[test]
fn an_agent_that_can_not_list_its_keys_does_not_stand_in_the_way_of_a_file() {
    let shop = Shop::new();
    let listener = UnixListener::bind(shop.path("mute")).unwrap();
    std::thread::spawn(move || {
        // Hangs up on everybody.
        for stream in listener.incoming() {
            drop(stream);
        }
    });
    let socket = shop.path("mute").display().to_string();
    let environment = [("SSH_AUTH_SOCK", socket.as_str())];
    let sign = ["sign", "--as", "Ana Example"];
    let asked = || shop.with("2026-11-24T10:00:00Z", &environment, shop.folder.path(), &sign, "");
    asked().says(2, "the ssh-agent ended before it answered");
    std::fs::create_dir_all(shop.path(".config/ohmwright/keys")).unwrap();
    std::fs::copy(shop.path("ana"), shop.path(".config/ohmwright/keys/ana-example")).unwrap();
    asked().says(0, "the ssh-agent ended before it answered; the key is taken from its file");
    shop.verify().says(0, "1 record: good.");
}
