//! Signing with a key that only a running ssh-agent has.
#![cfg(unix)]

use crate::shop::{Shop, installed};
use std::process::{Child, Stdio};

/// An agent that ends with the test.
pub struct Agent {
    child: Child,
    pub socket: String,
}

impl Agent {
    pub fn start(shop: &Shop) -> Self {
        let socket = shop.path("agent.socket").display().to_string();
        let child =
            installed("ssh-agent", &["-D", "-a", &socket]).stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
        let agent = Self { child, socket };
        for _ in 0..200 {
            if shop.path("agent.socket").exists() {
                break;
            }
            std::thread::sleep(std::time::Duration::from_millis(25));
        }
        agent
    }

    pub fn add(&self, shop: &Shop, keys: &[&str]) {
        let added = installed("ssh-add", &[&["-q"], keys].concat())
            .current_dir(shop.folder.path())
            .env("SSH_AUTH_SOCK", &self.socket)
            .stdin(Stdio::null())
            .status()
            .unwrap();
        assert!(added.success());
    }
}

impl Drop for Agent {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

#[test]
fn a_key_in_the_agent_signs_without_its_file() {
    let shop = Shop::new();
    let agent = Agent::start(&shop);
    let environment = [("SSH_AUTH_SOCK", agent.socket.as_str())];
    let sign = ["sign", "--as", "Ana Example"];
    agent.add(&shop, &["other"]);
    shop.with("2026-11-24T10:00:00Z", &environment, shop.folder.path(), &sign, "")
        .says(2, "the key of Ana Example is neither in a running ssh-agent nor in");
    agent.add(&shop, &["ana"]);
    std::fs::remove_file(shop.path("ana")).unwrap();
    shop.with("2026-11-24T10:00:00Z", &environment, shop.folder.path(), &sign, "").good();
    shop.verify().says(0, "1 record: good.");
}

#[test]
fn the_key_is_found_among_many() {
    let shop = Shop::new();
    let agent = Agent::start(&shop);
    let names: Vec<String> = (0..60).map(|number| format!("key{number}")).collect();
    for name in &names {
        shop.new_key_of(&["-t", "ecdsa"], name, "");
    }
    agent.add(&shop, &names.iter().map(String::as_str).collect::<Vec<_>>());
    // With its certificate, which `ssh-add` takes along: that is none of the shop's keys.
    shop.keygen(&["-q", "-s", "other", "-I", "ana", "-n", "ana", "ana.pub"]);
    agent.add(&shop, &["ana"]);
    let environment = [("SSH_AUTH_SOCK", agent.socket.as_str())];
    shop.with("2026-11-24T10:00:00Z", &environment, shop.folder.path(), &["sign", "--as", "Ana Example"], "").good();
    shop.verify().says(0, "1 record: good.");
}

#[test]
fn an_agent_that_was_emptied_meanwhile_has_no_key() {
    let shop = Shop::new();
    let agent = Agent::start(&shop);
    agent.add(&shop, &["ana"]);
    let environment = [("SSH_AUTH_SOCK", agent.socket.as_str())];
    let mut emptied = installed("ssh-add", &["-q", "-D"]);
    assert!(emptied.env("SSH_AUTH_SOCK", &agent.socket).stderr(Stdio::null()).status().unwrap().success());
    shop.with("2026-11-24T10:00:00Z", &environment, shop.folder.path(), &["sign", "--as", "Ana Example"], "")
        .says(2, "the key of Ana Example is neither in a running ssh-agent nor in");
}

#[test]
fn a_socket_that_nobody_listens_at_is_as_good_as_none() {
    let shop = Shop::new();
    let socket = shop.path("nobody").display().to_string();
    let environment = [("SSH_AUTH_SOCK", socket.as_str())];
    shop.with("2026-11-24T10:00:00Z", &environment, shop.folder.path(), &["sign", "--as", "Ana Example"], "")
        .says(2, "neither in a running ssh-agent nor in");
}
