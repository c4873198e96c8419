//! Small inputs that the fuzzer found worth keeping: each is read again, without a panic and in time.
#![expect(clippy::disallowed_methods, reason = "tests read files and look at the clock")]

mod targets;

use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};
use targets::TARGETS;

/// A build for tests is slow, and so is a machine with other work.
const PATIENCE: Duration = Duration::from_secs(10);
/// Bytes that one target's inputs may have together.
const LARGEST: u64 = 32 * 1024;

fn corpus() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fuzzed/corpus")
}

#[test]
fn every_kept_input_is_read_without_a_panic_and_in_time() {
    for (name, target) in TARGETS {
        assert!(std::ptr::fn_addr_eq(targets::of(name), target), "{name} is there twice");
        let (mut inputs, mut bytes) = (0, 0);
        for entry in std::fs::read_dir(corpus().join(name)).unwrap() {
            let path = entry.unwrap().path();
            let input = std::fs::read(&path).unwrap();
            let begun = Instant::now();
            target(&input);
            assert!(begun.elapsed() < PATIENCE, "{} took {:?}", path.display(), begun.elapsed());
            inputs += 1;
            bytes += input.len() as u64;
        }
        assert!(inputs >= 3, "{name} has {inputs} inputs");
        assert!(bytes <= LARGEST, "{name} has {bytes} bytes: keep the small ones");
    }
}

#[test]
fn every_cut_of_a_kept_input_is_read_too() {
    for (name, target) in TARGETS {
        for entry in std::fs::read_dir(corpus().join(name)).unwrap() {
            let input = std::fs::read(entry.unwrap().path()).unwrap();
            let step = (input.len() / 16).max(1);
            for end in (0..input.len()).step_by(step) {
                target(&input[..end]);
                // And with one bit turned.
                let mut turned = input.clone();
                turned[end] ^= 1 << (end % 8);
                target(&turned);
            }
        }
    }
}

#[test]
fn every_target_has_a_corpus_and_every_corpus_a_target() {
    let names = |folder: &Path| -> Vec<String> {
        let entries = std::fs::read_dir(folder).unwrap();
        let mut names: Vec<String> = entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        names
    };
    let mut targets: Vec<String> = TARGETS.iter().map(|(name, _)| (*name).to_owned()).collect();
    targets.sort();
    assert_eq!(names(&corpus()), targets);
    let programs = names(&Path::new(env!("CARGO_MANIFEST_DIR")).join("fuzz/fuzz_targets"));
    let programs: Vec<&str> = programs.iter().filter_map(|name| name.strip_suffix(".rs")).collect();
    assert_eq!(programs, targets);
}
