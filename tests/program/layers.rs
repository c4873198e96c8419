//! The house keeps its order: which folder may know which, and what is written down stays true.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

const ROOT: &str = env!("CARGO_MANIFEST_DIR");

/// Each folder with those that it may know.
const ALLOWED: [(&str, &[&str]); 7] = [
    ("model", &[]),
    ("electrical", &["model"]),
    ("circuit", &["model"]),
    ("run", &["model", "circuit"]),
    ("script", &["model", "electrical", "circuit", "run"]),
    ("report", &["model", "circuit"]),
    ("cli", &["model", "electrical", "circuit", "run", "script", "report"]),
];
/// Lines that a file may have, its tests left out.
const LONGEST: usize = 700;

/// Every source file by its path under `src`, and its text.
fn sources() -> Vec<(PathBuf, String)> {
    let root = Path::new(ROOT).join("src");
    let files: Vec<_> = walkdir::WalkDir::new(&root)
        .sort_by_file_name()
        .into_iter()
        .map(|entry| entry.unwrap().into_path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "rs"))
        .map(|path| (path.strip_prefix(&root).unwrap().to_owned(), std::fs::read_to_string(&path).unwrap()))
        .collect();
    assert!(files.len() > 50, "only {} source files were found", files.len());
    files
}

/// The code without its comments and what only tests see.
fn code(text: &str) -> String {
    let text = text.split("#[cfg(test)]\nmod ").next().unwrap();
    let lines: Vec<&str> = text.lines().map(|line| line.split("//").next().unwrap()).collect();
    lines.join("\n")
}

fn folder(path: &Path) -> Option<String> {
    let mut parts = path.components();
    let first = parts.next()?.as_os_str().to_str()?.to_owned();
    parts.next().map(|_| first)
}

/// Top-level modules that code names: `crate::model`, `crate::{model, run}`, `super::super::…` out of the folder.
fn named(path: &Path, code: &str) -> BTreeSet<String> {
    let word = |text: &str| text.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect::<String>();
    let mut named = BTreeSet::new();
    for way in ["crate::", "ohmwright::"] {
        for (at, _) in code.match_indices(way) {
            let rest = &code[at + way.len()..];
            match rest.strip_prefix('{') {
                None => _ = named.insert(word(rest)),
                Some(list) => {
                    let mut depth = 0;
                    let mut item = String::new();
                    for c in list.chars() {
                        match c {
                            '}' if depth == 0 => break,
                            '{' => depth += 1,
                            '}' => depth -= 1,
                            ',' if depth == 0 => _ = named.insert(word(std::mem::take(&mut item).trim())),
                            _ => {}
                        }
                        if !(c == ',' && depth == 0) {
                            item.push(c);
                        }
                    }
                    named.insert(word(item.trim()));
                }
            }
        }
    }
    // As many steps up as the file lies deep come out at the top.
    let depth = path.components().count() - usize::from(path.ends_with("mod.rs"));
    let up = "super::".repeat(depth);
    for (at, _) in code.match_indices(&up) {
        named.insert(word(&code[at + up.len()..]));
    }
    named
}

#[test]
fn arrows_between_the_folders_run_one_way_only() {
    let folders: BTreeSet<&str> = ALLOWED.iter().map(|(folder, _)| *folder).collect();
    let mut offending = Vec::new();
    let mut seen = BTreeSet::new();
    for (path, text) in sources() {
        let Some(from) = folder(&path) else { continue };
        let Some((_, allowed)) = ALLOWED.iter().find(|(folder, _)| *folder == from) else {
            offending.push(format!("{from} is none of the folders ({})", path.display()));
            continue;
        };
        for to in named(&path, &code(&text)) {
            if to != from && folders.contains(to.as_str()) {
                seen.insert(format!("{from} -> {to}"));
                if !allowed.contains(&to.as_str()) {
                    offending.push(format!("{from} -> {to} ({})", path.display()));
                }
            }
        }
    }
    assert!(offending.is_empty(), "arrows that may not be:\n{}", offending.join("\n"));
    // The search itself finds arrows that are known to be there.
    for known in ["run -> model", "script -> run", "script -> model", "report -> model", "cli -> script"] {
        assert!(seen.contains(known), "{known} was not found: {seen:?}");
    }
}

#[test]
fn the_search_for_arrows_finds_every_way_to_name_a_folder() {
    let found = |path: &str, code: &str| named(Path::new(path), code).into_iter().collect::<Vec<_>>().join(" ");
    assert_eq!(found("run/ask.rs", "use crate::cli::Output;"), "cli");
    assert_eq!(found("run/ask.rs", "use crate::{cli::{Output, Exit}, report, model::words};"), "cli model report");
    assert_eq!(found("run/ask.rs", "let x = crate::script::engine::STACK;"), "script");
    assert_eq!(found("run/ask.rs", "use super::super::cli;"), "cli");
    assert_eq!(found("run/mod.rs", "use super::cli;"), "cli");
    assert_eq!(found("run/ask.rs", "use super::stop::Stop;"), "");
}

#[test]
fn only_the_script_folder_knows_the_engine() {
    let naming: Vec<String> = sources()
        .into_iter()
        .filter(|(path, text)| {
            // The ending of a procedure's file name is no mention of the engine.
            let code = code(text);
            folder(path).as_deref() != Some("script")
                && (code.contains("rhai::") || code.contains("use rhai") || code.contains("extern crate rhai"))
        })
        .map(|(path, _)| path.display().to_string())
        .collect();
    assert_eq!(naming, Vec::<String>::new(), "these name the script engine outside of src/script");
    assert!(sources().iter().any(|(path, text)| path.starts_with("script") && text.contains("use rhai::")));
}

#[test]
fn no_file_grows_without_end() {
    let long: Vec<String> = sources()
        .into_iter()
        .map(|(path, text)| (path, text.split("#[cfg(test)]\nmod ").next().unwrap().lines().count()))
        .filter(|(_, lines)| *lines > LONGEST)
        .map(|(path, lines)| format!("{}: {lines} lines", path.display()))
        .collect();
    assert_eq!(long, Vec::<String>::new(), "longer than {LONGEST} lines without their tests");
}

#[test]
fn the_binary_is_thin_and_nothing_lies_loose_in_the_source_folder() {
    let sources = sources();
    let main = &sources.iter().find(|(path, _)| path == Path::new("main.rs")).unwrap().1;
    assert!(main.lines().count() <= 10, "src/main.rs has {} lines", main.lines().count());
    let loose: Vec<_> =
        sources.iter().filter(|(path, _)| folder(path).is_none()).map(|(path, _)| path.display().to_string()).collect();
    assert_eq!(loose, ["lib.rs", "main.rs"]);
}

#[test]
fn an_index_page_is_short() {
    let long: Vec<String> = sources()
        .into_iter()
        .filter(|(path, text)| path.ends_with("mod.rs") && !path.starts_with("cli/mod.rs") && text.lines().count() > 40)
        .map(|(path, _)| path.display().to_string())
        .collect();
    assert_eq!(long, Vec::<String>::new(), "`mod.rs` is an index page");
}

#[test]
fn the_readme_has_the_exit_codes_that_the_program_has() {
    let readme = std::fs::read_to_string(Path::new(ROOT).join("README.md")).expect("README.md is there");
    // A table row of two cells, the first one a number.
    let documented: Vec<(u8, String)> = readme
        .lines()
        .filter_map(|line| {
            let mut cells = line.trim().strip_prefix('|')?.strip_suffix('|')?.splitn(2, '|').map(str::trim);
            Some((cells.next()?.trim_matches('`').parse().ok()?, cells.next()?.to_owned()))
        })
        .collect();
    let known: Vec<(u8, String)> =
        ohmwright::cli::Exit::TABLE.iter().map(|(_, code, meaning)| (*code, (*meaning).to_owned())).collect();
    assert_eq!(documented, known, "README.md has a table with `| code | meaning |` as src/cli/exit.rs has it");
}

#[test]
fn every_source_of_a_test_program_is_part_of_it() {
    let mut programs = Vec::new();
    for entry in std::fs::read_dir(Path::new(ROOT).join("tests")).unwrap() {
        let folder = entry.unwrap().path();
        let Ok(main) = std::fs::read_to_string(folder.join("main.rs")) else { continue };
        for entry in std::fs::read_dir(&folder).unwrap() {
            let name = entry.unwrap().file_name().into_string().unwrap();
            if let Some(module) = name.strip_suffix(".rs").filter(|module| *module != "main") {
                let named = main.lines().any(|line| line == format!("mod {module};"));
                assert!(named, "{}: {name} is forgotten in main.rs", folder.display());
            }
        }
        programs.push(folder.file_name().unwrap().to_str().unwrap().to_owned());
    }
    programs.sort();
    assert_eq!(programs, ["circuit", "older", "outside", "program", "proving", "reports", "signoff"]);
}
