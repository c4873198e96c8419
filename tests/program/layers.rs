//! The house keeps its order: which folder may know which, and what is written down stays true.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

const ROOT: &str = env!("CARGO_MANIFEST_DIR");

/// Each folder with those that it may know.
const ALLOWED: [(&str, &[&str]); 9] = [
    ("model", &[]),
    ("electrical", &["model"]),
    ("circuit", &["model"]),
    ("run", &["model", "circuit"]),
    ("script", &["model", "electrical", "circuit", "run"]),
    ("report", &["model", "circuit"]),
    ("records", &["model", "run"]),
    ("shop", &["model", "electrical", "circuit", "run", "script", "report", "records"]),
    ("cli", &["model", "electrical", "circuit", "run", "script", "report", "records", "shop"]),
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

/// The path that a text begins with.
fn path_at(text: &str) -> String {
    let path: String = text.chars().take_while(|c| c.is_alphanumeric() || matches!(c, '_' | ':')).collect();
    path.trim_matches(':').to_owned()
}

/// Every path that code names behind `way`, such as `crate::`; of `way{one, other::{…}}` one for each in the braces.
fn paths_after(code: &str, way: &str) -> BTreeSet<String> {
    let mut paths = BTreeSet::new();
    for (at, _) in code.match_indices(way) {
        let rest = &code[at + way.len()..];
        let base = path_at(rest);
        let Some(list) = rest[base.len()..].trim_start_matches(':').strip_prefix('{') else {
            paths.insert(base);
            continue;
        };
        let own = if base.is_empty() { String::new() } else { format!("{base}::") };
        for item in items(in_braces(list)) {
            paths.extend(paths_after(&format!("{way}{own}{item}"), way));
        }
    }
    paths
}

/// What stands before the brace that closes.
fn in_braces(text: &str) -> &str {
    let mut depth = 0;
    for (at, c) in text.char_indices() {
        match c {
            '}' if depth == 0 => return &text[..at],
            '{' => depth += 1,
            '}' => depth -= 1,
            _ => {}
        }
    }
    text
}

/// What stands between the commas that are in no further braces.
fn items(list: &str) -> Vec<&str> {
    let (mut depth, mut from, mut items) = (0, 0, Vec::new());
    for (at, c) in list.char_indices() {
        match c {
            '{' => depth += 1,
            '}' => depth -= 1,
            ',' if depth == 0 => {
                items.push(list[from..at].trim());
                from = at + 1;
            }
            _ => {}
        }
    }
    items.push(list[from..].trim());
    items.retain(|item| !item.is_empty());
    items
}

/// The path of the module that a file is, from the top.
fn module_of(path: &Path) -> Vec<String> {
    let whole = path.with_extension("");
    let mut parts: Vec<String> = whole.iter().map(|part| part.to_str().unwrap().to_owned()).collect();
    if parts.last().is_some_and(|last| last == "mod") {
        parts.pop();
    }
    parts
}

/// Every path that the code of a file names, from the top: `crate::…` and `super::…`, as many steps up as there are.
fn named_paths(path: &Path, code: &str) -> BTreeSet<String> {
    let mut paths = BTreeSet::new();
    for way in ["crate::", "ohmwright::"] {
        paths.extend(paths_after(code, way));
    }
    let module = module_of(path);
    for (at, _) in code.match_indices("super::") {
        // The first of several steps up.
        if code[..at].ends_with("super::") {
            continue;
        }
        let steps = code[at..].split("super::").take_while(|between| between.is_empty()).count();
        let steps = steps.min(module.len());
        let above = module[..module.len() - steps].join("::");
        let rest = &code[at + steps * "super::".len()..];
        let from = if above.is_empty() { "crate::".to_owned() } else { format!("crate::{above}::") };
        paths.extend(paths_after(&format!("{from}{}", up_to_semicolon(rest)), "crate::"));
    }
    paths
}

fn up_to_semicolon(text: &str) -> &str {
    text.split(';').next().unwrap()
}

/// Top-level modules that code names: `crate::model`, `crate::{model, run}`, `super::super::…` out of the folder.
fn named(path: &Path, code: &str) -> BTreeSet<String> {
    let first = |named: String| named.split("::").next().unwrap().to_owned();
    let own = folder(path);
    named_paths(path, code).into_iter().map(first).filter(|first| Some(first) != own.as_ref()).collect()
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
    for known in
        ["run -> model", "script -> run", "script -> model", "report -> model", "cli -> script", "shop -> records"]
    {
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

/// Each part of the edge with those of its own parts that it may know.
const WITHIN_CLI: [(&str, &[&str]); 8] = [
    ("arguments", &[]),
    ("exit", &[]),
    ("error", &["exit"]),
    ("settings", &["arguments", "error"]),
    ("job_flags", &["arguments", "error"]),
    ("terminal", &["error"]),
    ("keys", &["error", "terminal"]),
    ("commands", &["arguments", "exit", "error", "job_flags", "terminal", "keys"]),
];

#[test]
fn arrows_within_the_edge_run_one_way_only() {
    let mut offending = Vec::new();
    let mut seen = BTreeSet::new();
    for (path, text) in sources() {
        let module = module_of(&path);
        let [room, from, ..] = module.as_slice() else { continue };
        if room != "cli" {
            continue;
        }
        let Some((_, allowed)) = WITHIN_CLI.iter().find(|(part, _)| part == from) else {
            offending.push(format!("{from} is no part of the edge ({})", path.display()));
            continue;
        };
        for named in named_paths(&path, &code(&text)) {
            let Some(to) = named.strip_prefix("cli::").and_then(|rest| rest.split("::").next()) else { continue };
            if to != from {
                seen.insert(format!("{from} -> {to}"));
                if !allowed.contains(&to) {
                    offending.push(format!("{from} -> {to} ({})", path.display()));
                }
            }
        }
    }
    assert!(offending.is_empty(), "arrows that may not be:\n{}", offending.join("\n"));
    for known in ["commands -> keys", "keys -> terminal", "terminal -> error", "error -> exit"] {
        assert!(seen.contains(known), "{known} was not found: {seen:?}");
    }
}

/// The files that know each other in a circle, one circle of each.
fn circles(sources: &[(PathBuf, String)]) -> Vec<String> {
    let modules: Vec<String> = sources.iter().map(|(path, _)| module_of(path).join("::")).collect();
    // The longest part of a path that is a file.
    let file_of = |named: &str| {
        let mut rest = Some(named);
        while let Some(path) = rest {
            if let Some(at) = modules.iter().position(|module| module == path) {
                return Some(at);
            }
            rest = path.rsplit_once("::").map(|(above, _)| above);
        }
        None
    };
    let known: Vec<BTreeSet<usize>> = sources
        .iter()
        .enumerate()
        .map(|(own, (path, text))| {
            named_paths(path, &code(text)).iter().filter_map(|named| file_of(named)).filter(|to| *to != own).collect()
        })
        .collect();
    // From where one comes back to, over whatever way.
    let reached = |from: usize| {
        let mut seen = BTreeSet::new();
        let mut open: Vec<usize> = known[from].iter().copied().collect();
        while let Some(at) = open.pop() {
            if seen.insert(at) {
                open.extend(&known[at]);
            }
        }
        seen
    };
    let reached: Vec<BTreeSet<usize>> = (0..sources.len()).map(reached).collect();
    let mut found = BTreeSet::new();
    for at in 0..sources.len() {
        let circle: Vec<&str> = (0..sources.len())
            .filter(|other| reached[at].contains(other) && reached[*other].contains(&at))
            .map(|other| modules[other].as_str())
            .collect();
        if circle.len() > 1 {
            found.insert(circle.join(", "));
        }
    }
    found.into_iter().collect()
}

#[test]
fn no_files_know_each_other_in_a_circle() {
    let rooms = ["records", "shop", "cli"];
    let sources: Vec<_> = sources()
        .into_iter()
        .filter(|(path, _)| folder(path).is_some_and(|from| rooms.contains(&from.as_str())))
        .collect();
    assert_eq!(circles(&sources), Vec::<String>::new());
}

#[test]
fn the_search_for_circles_finds_one_over_three_files() {
    let file = |path: &str, code: &str| (PathBuf::from(path), code.to_owned());
    let planted = [
        file("shop/one.rs", "use crate::shop::two::Two;"),
        file("shop/two.rs", "use super::{three::{Three, Four}, clock};"),
        file("shop/three.rs", "fn three() { crate::shop::one::one() }"),
        file("shop/clock.rs", "use crate::model::stamp::Stamp;"),
        file("model/stamp.rs", "// use crate::shop::one::One;"),
    ];
    assert_eq!(circles(&planted), ["shop::one, shop::two, shop::three"]);
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
