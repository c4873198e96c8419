//! The house keeps its order: which folder may know which, and what is written down stays true.

use crate::house::{Edges, House, circles, ties};
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

const ROOT: &str = env!("CARGO_MANIFEST_DIR");

/// Each folder with those that it may know.
const ALLOWED: [(&str, &[&str]); 10] = [
    ("model", &[]),
    ("electrical", &["model"]),
    ("circuit", &["model"]),
    ("evidence", &["model", "circuit"]),
    ("run", &["model", "circuit"]),
    ("script", &["model", "electrical", "circuit", "run"]),
    ("report", &["model", "circuit"]),
    ("records", &["model", "run"]),
    ("shop", &["model", "electrical", "circuit", "evidence", "run", "script", "report", "records"]),
    ("cli", &["model", "electrical", "circuit", "run", "script", "report", "records", "shop"]),
];
/// Each folder of the edge with those that it may know; the files that lie loose there are known to all and know all.
const CLI_ALLOWED: [(&str, &[&str]); 3] =
    [("terminal", &[]), ("keys", &["terminal"]), ("commands", &["keys", "terminal"])];
/// Circles of files that are allowed, each for what it is: a quantity is shown in its unit and a unit scales a quantity; an
/// answer is held against limits, limits are of a prompt, and a prompt knows its answer.
const TIED: [&[&str]; 2] =
    [&["model/quantity.rs", "model/unit.rs"], &["model/answered.rs", "model/limits.rs", "model/prompt.rs"]];
/// Circles that are there still. Whoever cuts one takes its line away; no line is added.
const STILL_THERE: [&[&str]; 0] = [];
/// Files with a `pub use` outside of `lib.rs` that are there still. Whoever takes one away takes its name away; none is added.
const PASSED_ON_STILL: [&str; 0] = [];
/// Lines that a file may have, its tests left out, and a test's file with everything.
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

/// The folder within `cli` in which a file lies.
fn folder_of_the_edge(path: &Path) -> Option<String> {
    folder(path.strip_prefix("cli").ok()?)
}

/// Arrows between the rooms that `room` puts files in, each with a file that draws it.
fn arrows(edges: &Edges, room: impl Fn(&Path) -> Option<String>) -> BTreeMap<(String, String), String> {
    let mut arrows = BTreeMap::new();
    for ((from, to), paths) in edges {
        if let (Some(one), Some(other)) = (room(from), room(to))
            && one != other
        {
            let first = paths.first().unwrap();
            arrows.insert((one, other), format!("{} by {first}", from.display()));
        }
    }
    arrows
}

/// The arrows that a table does not allow, and the rooms that stand in no table.
fn offending(arrows: &BTreeMap<(String, String), String>, allowed: &[(&str, &[&str])]) -> Vec<String> {
    let known = |from: &str, to: &str| allowed.iter().any(|(room, rooms)| *room == from && rooms.contains(&to));
    arrows
        .iter()
        .filter(|((from, to), _)| !known(from, to))
        .map(|((from, to), example)| format!("{from} -> {to} ({example})"))
        .collect()
}

fn house(sources: &[(PathBuf, String)]) -> House {
    House::of(sources.iter().map(|(path, text)| (path.as_path(), text.as_str())))
}

#[test]
fn arrows_between_the_folders_run_one_way_only() {
    let sources = sources();
    let arrows = arrows(&house(&sources).edges(), folder);
    assert_eq!(offending(&arrows, &ALLOWED), Vec::<String>::new(), "arrows that may not be");
    let folders: BTreeSet<String> = sources.iter().filter_map(|(path, _)| folder(path)).collect();
    let known: BTreeSet<String> = ALLOWED.iter().map(|(folder, _)| (*folder).to_owned()).collect();
    assert_eq!(folders, known, "the folders under src and those of the table");
    // The search itself finds arrows that are known to be there.
    for (from, to) in [("run", "model"), ("script", "run"), ("script", "model"), ("report", "model"), ("cli", "script")]
    {
        assert!(arrows.contains_key(&(from.to_owned(), to.to_owned())), "{from} -> {to} was not found: {arrows:?}");
    }
}

#[test]
fn arrows_between_the_folders_of_the_edge_run_one_way_only() {
    let sources = sources();
    let arrows = arrows(&house(&sources).edges(), folder_of_the_edge);
    assert_eq!(offending(&arrows, &CLI_ALLOWED), Vec::<String>::new(), "arrows that may not be");
    let folders: BTreeSet<String> = sources.iter().filter_map(|(path, _)| folder_of_the_edge(path)).collect();
    let known: BTreeSet<String> = CLI_ALLOWED.iter().map(|(folder, _)| (*folder).to_owned()).collect();
    assert_eq!(folders, known, "the folders under src/cli and those of the table");
    assert!(!arrows.is_empty(), "the search finds no arrow at all");
}

#[test]
fn files_that_know_each_other_in_a_circle_are_those_that_are_listed() {
    let edges = house(&sources()).edges();
    assert!(edges.len() > 300, "only {} files naming another were found", edges.len());
    let listed: BTreeSet<Vec<PathBuf>> =
        TIED.iter().chain(&STILL_THERE).map(|circle| circle.iter().map(PathBuf::from).collect()).collect();
    let found: BTreeSet<Vec<PathBuf>> = circles(&edges).into_iter().collect();
    let new: Vec<String> = found
        .difference(&listed)
        .map(|circle| format!("{} files in a circle:\n{}", circle.len(), ties(circle, &edges)))
        .collect();
    assert!(new.is_empty(), "these may not be:\n{}", new.join("\n"));
    let gone: Vec<_> = listed.difference(&found).collect();
    assert!(gone.is_empty(), "these are cut: take them out of the list: {gone:?}");
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
fn one_file_prints_and_takes_clean_text_only() {
    let prints = [
        "println!",
        "print!",
        "eprint!",
        "anstream::stdout",
        "anstream::stderr",
        "io::stdout().lock",
        "io::stderr().lock",
    ];
    let printing: Vec<String> = sources()
        .into_iter()
        .filter(|(_, text)| prints.iter().any(|word| code(text).contains(word)))
        .map(|(path, _)| path.display().to_string())
        .collect();
    assert_eq!(printing, ["cli/terminal/output.rs"], "what is printed goes through `Output`, which takes `Clean`");
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
fn every_thing_has_one_path() {
    // What is called on within a folder only, such as a macro, is not passed on.
    let passes_on =
        |line: &str| ["pub use ", "pub(crate) use "].iter().any(|begins| line.trim_start().starts_with(begins));
    let passing_on: Vec<String> = sources()
        .into_iter()
        .filter(|(path, text)| path != Path::new("lib.rs") && code(text).lines().any(passes_on))
        .map(|(path, _)| path.display().to_string())
        .collect();
    assert_eq!(
        passing_on, PASSED_ON_STILL,
        "`pub use` stands in src/lib.rs only: name the file in which the thing is written"
    );
}

#[test]
fn no_file_of_a_test_program_grows_without_end() {
    let files = walkdir::WalkDir::new(Path::new(ROOT).join("tests"))
        .sort_by_file_name()
        .into_iter()
        .map(|entry| entry.unwrap().into_path());
    let lines: Vec<(PathBuf, usize)> = files
        .filter(|path| path.extension().is_some_and(|ending| ending == "rs"))
        .map(|path| (path.clone(), std::fs::read_to_string(&path).unwrap().lines().count()))
        .collect();
    assert!(lines.len() > 50, "only {} files were found", lines.len());
    let long: Vec<String> = lines
        .into_iter()
        .filter(|(_, lines)| *lines > LONGEST)
        .map(|(path, lines)| format!("{}: {lines} lines", path.display()))
        .collect();
    assert_eq!(long, Vec::<String>::new(), "longer than {LONGEST} lines: split it by what it tests");
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
        ohmwright::cli::exit::Exit::TABLE.iter().map(|(_, code, meaning)| (*code, (*meaning).to_owned())).collect();
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
    assert_eq!(
        programs,
        ["circuit", "evidence", "fuzzed", "older", "outside", "program", "proving", "reports", "signoff"]
    );
}

/// The circles among these planted files, a line each, and below each what ties it.
fn planted(files: &[(&str, &str)]) -> String {
    let edges = House::of(files.iter().map(|(path, text)| (Path::new(path), *text))).edges();
    circles(&edges).iter().map(|circle| ties(circle, &edges)).collect::<Vec<_>>().join("\n\n")
}

/// The files that `circuit/a/one.rs` names when this is its text.
fn names(text: &str) -> String {
    let files = [
        ("lib.rs", "pub mod circuit; pub mod model;"),
        ("circuit/mod.rs", "pub mod a; pub mod b;\npub(crate) use b::Passed;"),
        ("circuit/a/mod.rs", "pub mod one; pub mod two;"),
        ("circuit/a/two.rs", ""),
        ("circuit/b.rs", "use crate::model::words::Word;"),
        ("model/mod.rs", "pub mod words; pub mod unit;"),
        ("model/words.rs", ""),
        ("model/unit.rs", ""),
    ];
    let files = files.into_iter().chain([("circuit/a/one.rs", text)]);
    let edges = House::of(files.map(|(path, text)| (Path::new(path), text))).edges();
    let named = edges.keys().filter(|(from, _)| from == Path::new("circuit/a/one.rs"));
    named.map(|(_, to)| to.display().to_string()).collect::<Vec<_>>().join(" ")
}

#[test]
fn a_planted_circle_of_three_is_found_with_what_ties_it() {
    let lib = ("lib.rs", "pub mod a; pub mod b;");
    let others = [lib, ("a/mod.rs", "pub mod one; pub mod two;"), ("b.rs", "fn f() { super::a::one::f() }")];
    let one = ("a/one.rs", "use super::two::{Two, also};");
    let found = planted(&[&others[..], &[one, ("a/two.rs", "fn f() { crate::b::f(); }")]].concat());
    assert_eq!(
        found,
        "  a/one.rs -> a/two.rs by crate::a::two::Two, crate::a::two::also\n  a/two.rs -> b.rs by crate::b::f\n  b.rs -> a/one.rs by crate::a::one::f"
    );
    // Cut at one place it is none.
    assert_eq!(planted(&[&others[..], &[one, ("a/two.rs", "// crate::b::f();")]].concat()), "");
    assert_eq!(
        planted(&[&others[..], &[one, ("a/two.rs", "#[cfg(test)]\nmod tests { use crate::b::f; }")]].concat()),
        ""
    );
}

#[test]
fn the_search_finds_every_way_to_name_a_file() {
    for (text, files) in [
        ("use crate::model::words;", "model/words.rs"),
        ("use crate::model::words::Word as Other;", "model/words.rs"),
        (
            "use crate::{circuit::{a::two::X, b}, model::{unit::Unit, words}};",
            "circuit/a/two.rs circuit/b.rs model/unit.rs model/words.rs",
        ),
        ("use crate::model::{self, unit};", "model/mod.rs model/unit.rs"),
        ("use crate::model::unit::*;", "model/unit.rs"),
        ("use super::two::X;", "circuit/a/two.rs"),
        ("use super::super::b::X;", "circuit/b.rs"),
        ("use super::{super::b::{X, Y}, two};", "circuit/a/two.rs circuit/b.rs"),
        ("use super::super::super::model::words;", "model/words.rs"),
        (
            "fn f() -> crate::model::unit::Unit { super::two::X::new(crate::circuit::b::y()) }",
            "circuit/a/two.rs circuit/b.rs model/unit.rs",
        ),
        ("use crate::model; fn f() { model::words::list() }", "model/mod.rs model/words.rs"),
        ("use crate::circuit as c; fn f() { c::a::two::list() }", "circuit/a/two.rs circuit/mod.rs"),
        ("mod inner { use super::super::two::X; fn f() { super::g() } } fn g() { self::h() }", "circuit/a/two.rs"),
        ("macro_rules! m { () => { $crate::model::words::f() } }", "model/words.rs"),
        ("#[serde(with = \"crate::model::words::f\")] struct S;", "model/words.rs"),
        // What a folder has from one of its files is looked for in the file.
        ("use crate::circuit::Passed;", "circuit/b.rs"),
        ("use super::super::Passed;", "circuit/b.rs"),
        // None of these is a name of anything here.
        ("/* crate::model::words */ // crate::model::words\nconst X: &str = \"as crate::model::words says\";", ""),
        ("const X: char = '\"'; // \" crate::model::words\nconst Y: &str = r#\"\" crate::model::words\"#;", ""),
        ("fn f<'a>(x: &'a str) { words::list(std::env::args(), serde::de::Error) }", ""),
        ("#[cfg(test)]\nmod tests { use crate::model::words; }", ""),
    ] {
        assert_eq!(names(text), files, "{text}");
    }
    // And what stands behind the tests is read again.
    assert_eq!(
        names("#[cfg(test)]\nfn only_here(x: [u8; 2]) { crate::circuit::b::f() }\nuse crate::model::unit;"),
        "model/unit.rs"
    );
}
