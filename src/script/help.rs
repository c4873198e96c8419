//! Help at the prompt: from the doc comments of the language's own functions.

use super::engine;
use crate::model::words;
use rhai::FuncInfo;
use std::collections::BTreeMap;
use std::sync::OnceLock;

/// One function as it can be called, with its doc comment.
#[derive(Clone, Debug)]
struct Entry {
    signature: String,
    doc: String,
}

fn entries() -> &'static BTreeMap<String, Vec<Entry>> {
    static ENTRIES: OnceLock<BTreeMap<String, Vec<Entry>>> = OnceLock::new();
    ENTRIES.get_or_init(|| {
        let mut entries: BTreeMap<String, Vec<Entry>> = BTreeMap::new();
        let found = engine::build().collect_fn_metadata(
            None,
            |info: FuncInfo| {
                let metadata = info.metadata;
                let doc: Vec<String> = metadata
                    .comments
                    .iter()
                    .flat_map(|comment| comment.lines())
                    .map(|line| line.trim_start().trim_start_matches("///").trim().to_owned())
                    .collect();
                let named = metadata.name.chars().all(|c| c.is_alphanumeric() || c == '_');
                (named && !doc.is_empty() && !metadata.params_info.is_empty()).then(|| {
                    let mut parameters: Vec<&str> = metadata.params_info.iter().map(|text| text.as_str()).collect();
                    let result = if parameters.len() > metadata.num_params { parameters.pop() } else { None };
                    let result =
                        result.filter(|kind| *kind != "()").map(|kind| format!(" -> {kind}")).unwrap_or_default();
                    (
                        metadata.name.to_string(),
                        Entry {
                            signature: format!("{}({}){result}", metadata.name, parameters.join(", ")),
                            doc: doc.join("\n"),
                        },
                    )
                })
            },
            true,
        );
        for (name, entry) in found {
            entries.entry(name).or_default().push(entry);
        }
        for list in entries.values_mut() {
            list.sort_by(|a, b| (a.signature.len(), &a.signature).cmp(&(b.signature.len(), &b.signature)));
            list.dedup_by(|a, b| a.signature == b.signature);
        }
        entries
    })
}

/// What `help()` says.
pub fn index() -> String {
    let ours = ["read", "sweep", "between", "across", "key_on", "unplug", "step", "conclude"];
    let mut text = String::from("help(\"name\") says more of one.\n");
    text.push_str("\nA number and its unit: 4.75.V, 370.mV, 2.2.kohm, 5.pct, 25.degC, 0.75.mm2, 40.min\n");
    text.push_str("The other way round: quantity.mV is its number of millivolts.\n");
    text.push_str("The last result: last\n\nIn procedures: ");
    let names: Vec<&str> = entries().keys().map(String::as_str).collect();
    text.push_str(&ours.iter().filter(|name| names.contains(name)).copied().collect::<Vec<_>>().join(", "));
    text.push_str(" …\nAll functions:\n");
    text.push_str(&textwrap::fill(
        &names.join(", "),
        textwrap::Options::new(78).initial_indent("  ").subsequent_indent("  "),
    ));
    text
}

/// What `help("name")` says.
pub fn of(name: &str) -> String {
    let name = name.trim().trim_end_matches("()");
    match entries().get(name) {
        Some(list) => {
            let signatures: Vec<_> = list.iter().map(|entry| entry.signature.clone()).collect();
            let mut docs: Vec<&str> = list.iter().map(|entry| entry.doc.as_str()).collect();
            docs.dedup();
            format!("{}\n{}", signatures.join("\n"), docs.join("\n"))
        }
        None => {
            let nearest = words::nearest(name, entries().keys().map(String::as_str));
            format!("nothing here is called `{name}`{}", words::did_you_mean(nearest.as_deref()))
        }
    }
}
