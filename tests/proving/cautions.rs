//! Cautions over every run of a proof, slips and answers included: none that was told once is lost.

use super::{procedure, proving, root, with_circuits};
use ohmwright::model::caution::CautionRules;
use ohmwright::model::event::{Entry, Event};
use ohmwright::script::prove::course::OneRun;
use ohmwright::script::prove::watch::{Stage, Watch};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, Mutex};

/// What is told before what: by rule, the prompts and actions.
type Pairs = BTreeMap<String, BTreeSet<String>>;

/// Looks on for cautions.
struct Looks {
    rules: Arc<CautionRules>,
    pairs: Mutex<Pairs>,
}

impl Watch for Looks {
    fn begins(&self, _: Stage, _: u64) {}
    fn ran(&self) {}
    fn rules(&self) -> Arc<CautionRules> {
        Arc::clone(&self.rules)
    }
    fn came(&self, run: &OneRun) {
        let mut pairs = self.pairs.lock().unwrap();
        for (rule, before) in pairs_of(&run.entries) {
            let known = pairs.entry(rule).or_default();
            if !known.contains(&before) {
                known.insert(before);
            }
        }
    }
}

/// Each caution of a run with what came right after it.
fn pairs_of(entries: &[Entry]) -> Vec<(String, String)> {
    let mut pairs = Vec::new();
    let mut told: Vec<String> = Vec::new();
    for entry in entries {
        let before = match &entry.event {
            Event::Cautioned { cautions, .. } => {
                told.extend(cautions.iter().map(|told| told.id.to_string()));
                continue;
            }
            Event::Acted { action, .. } => action.to_string(),
            Event::Answered { prompt, .. } => prompt.id.to_string(),
            Event::Doubted { id, .. } => id.to_string(),
            _ => continue,
        };
        pairs.extend(told.drain(..).map(|rule| (rule, before.clone())));
    }
    pairs
}

fn rules() -> Arc<CautionRules> {
    let text = std::fs::read_to_string(root().join("stdlib/cautions.toml")).unwrap();
    Arc::new(toml::from_str(&text).unwrap())
}

/// Every run of the proof of a shipped procedure.
fn look_at(name: &str, circuit: &str) -> Looks {
    let mut proving = proving(procedure(name), circuit, 3);
    proving.slips = true;
    proving.pairs = true;
    let looks = Looks { rules: rules(), pairs: Mutex::default() };
    let pool = rayon::ThreadPoolBuilder::new().stack_size(ohmwright::script::engine::STACK).build().unwrap();
    pool.install(|| proving.prove(&looks)).unwrap_or_else(|problem| panic!("{problem}"));
    looks
}

#[test]
fn list() {
    let mut all: BTreeMap<String, Pairs> = BTreeMap::new();
    for (name, circuit) in with_circuits() {
        let looks = look_at(&name, &circuit);
        all.insert(name, looks.pairs.into_inner().unwrap());
    }
    let text = toml::to_string(&all).unwrap();
    std::fs::write(std::env::var("CAUTION_LIST").unwrap(), text).unwrap();
}
