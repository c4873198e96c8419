//! Which source file names which: texts to words, words to paths, paths to files, files to circles.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

/// Source files by their path under `src`, and their texts.
pub struct House {
    files: BTreeMap<PathBuf, File>,
    modules: BTreeMap<Vec<String>, PathBuf>,
}

struct File {
    /// Its modules from the crate's root on.
    module: Vec<String>,
    named: Vec<Vec<String>>,
    /// What its `use` lines call things.
    aliases: BTreeMap<String, Vec<String>>,
    /// What is written in it.
    own: BTreeSet<String>,
}

/// One file naming another, with the paths by which it does.
pub type Edges = BTreeMap<(PathBuf, PathBuf), BTreeSet<String>>;

#[derive(Clone, PartialEq, Eq, Debug)]
enum Token {
    Word(String),
    /// What stands in quotation marks.
    Text(String),
    /// `::` is one mark.
    Mark(&'static str),
}

/// Cut at what means something, with neither comments nor whitespace.
fn tokens(text: &str) -> Vec<Token> {
    let chars: Vec<char> = text.chars().collect();
    let mut tokens = Vec::new();
    let mut at = 0;
    let is = |at: usize, c: char| chars.get(at) == Some(&c);
    let word = |c: char| c.is_alphanumeric() || c == '_';
    while at < chars.len() {
        let c = chars[at];
        if c == '/' && is(at + 1, '/') {
            while at < chars.len() && chars[at] != '\n' {
                at += 1;
            }
        } else if c == '/' && is(at + 1, '*') {
            let mut depth = 0;
            loop {
                match (chars.get(at), chars.get(at + 1)) {
                    (Some('/'), Some('*')) => (depth, at) = (depth + 1, at + 2),
                    (Some('*'), Some('/')) => (depth, at) = (depth - 1, at + 2),
                    (None, _) => break,
                    _ => at += 1,
                }
                if depth == 0 {
                    break;
                }
            }
        } else if c == '"' {
            let start = at + 1;
            at = start;
            while at < chars.len() && chars[at] != '"' {
                at += if chars[at] == '\\' { 2 } else { 1 };
            }
            tokens.push(Token::Text(chars[start..at.min(chars.len())].iter().collect()));
            at += 1;
        } else if c == '\'' {
            // A letter in quotation marks, or a lifetime.
            if is(at + 1, '\\') {
                at += 3;
                while at < chars.len() && chars[at] != '\'' {
                    at += 1;
                }
                at += 1;
            } else {
                at += if is(at + 2, '\'') { 3 } else { 1 };
            }
        } else if word(c) {
            let start = at;
            while at < chars.len() && word(chars[at]) {
                at += 1;
            }
            let found: String = chars[start..at].iter().collect();
            let hashes = chars[at..].iter().take_while(|c| **c == '#').count();
            if ["r", "br", "cr"].contains(&found.as_str()) && is(at + hashes, '"') {
                let close: Vec<char> = std::iter::once('"').chain(std::iter::repeat_n('#', hashes)).collect();
                let start = at + hashes + 1;
                at = start;
                while at < chars.len() && !chars[at..].starts_with(&close) {
                    at += 1;
                }
                tokens.push(Token::Text(chars[start..at].iter().collect()));
                at += close.len();
            } else {
                tokens.push(Token::Word(found));
            }
        } else if c == ':' && is(at + 1, ':') {
            tokens.push(Token::Mark("::"));
            at += 2;
        } else {
            let mark = ["{", "}", "(", ")", "[", "]", ",", ";", "*", "#", "="]
                .into_iter()
                .find(|mark| is(at, mark.chars().next().unwrap()));
            if let Some(mark) = mark {
                tokens.push(Token::Mark(mark));
            } else if !c.is_whitespace() {
                tokens.push(Token::Mark("?"));
            }
            at += 1;
        }
    }
    tokens
}

fn word(token: Option<&Token>) -> Option<&str> {
    match token {
        Some(Token::Word(word)) => Some(word),
        _ => None,
    }
}

fn mark(token: Option<&Token>, mark: &str) -> bool {
    matches!(token, Some(Token::Mark(found)) if *found == mark)
}

/// Without what only tests see, and the test modules that lie in files of their own.
fn without_tests(tokens: Vec<Token>) -> (Vec<Token>, Vec<String>) {
    let signs = ["#", "[", "cfg", "(", "test", ")", "]"];
    let is_sign = |token: &Token, sign: &str| match token {
        Token::Word(word) => word == sign,
        Token::Mark(mark) => *mark == sign,
        Token::Text(_) => false,
    };
    let mut kept = Vec::new();
    let mut files = Vec::new();
    let mut at = 0;
    while at < tokens.len() {
        let here = &tokens[at..];
        if !(here.len() >= signs.len() && here.iter().zip(signs).all(|(token, sign)| is_sign(token, sign))) {
            kept.push(tokens[at].clone());
            at += 1;
            continue;
        }
        at += signs.len();
        if let (Some("mod"), Some(name), true) =
            (word(tokens.get(at)), word(tokens.get(at + 1)), mark(tokens.get(at + 2), ";"))
        {
            files.push(name.to_owned());
        }
        // The thing ends with its `;` or with the brace that closes it.
        let mut depth = 0;
        while let Some(token) = tokens.get(at) {
            at += 1;
            match token {
                Token::Mark("{" | "(" | "[") => depth += 1,
                Token::Mark("}") if depth == 1 => break,
                Token::Mark("}" | ")" | "]") => depth -= 1,
                Token::Mark(";") if depth == 0 => break,
                _ => {}
            }
        }
    }
    (kept, files)
}

/// What a `use` line brings, from behind the word `use`: the whole path, and what it is called from there on.
fn used(tokens: &[Token], at: &mut usize, before: &[String], all: &mut Vec<(Vec<String>, String)>) {
    let mut path = before.to_vec();
    loop {
        if mark(tokens.get(*at), "{") {
            *at += 1;
            while *at < tokens.len() && !mark(tokens.get(*at), "}") {
                if mark(tokens.get(*at), ",") {
                    *at += 1;
                } else {
                    used(tokens, at, &path, all);
                }
            }
            *at += 1;
            return;
        }
        match tokens.get(*at) {
            Some(Token::Word(word)) if word == "self" && !path.is_empty() => {}
            Some(Token::Word(word)) => path.push(word.clone()),
            // Everything of it: the file is named, the names are not known.
            Some(Token::Mark("*")) => {}
            Some(Token::Mark("::")) if path.is_empty() => {}
            _ => {
                *at += 1;
                return;
            }
        }
        *at += 1;
        if mark(tokens.get(*at), "::") {
            *at += 1;
            continue;
        }
        let mut called = path.last().cloned().unwrap_or_default();
        if word(tokens.get(*at)) == Some("as") {
            called = word(tokens.get(*at + 1)).unwrap_or("_").to_owned();
            *at += 2;
        }
        all.push((path, called));
        return;
    }
}

impl File {
    fn read(path: &Path, text: &str) -> (Self, Vec<PathBuf>) {
        let mut module: Vec<String> =
            path.with_extension("").components().map(|part| part.as_os_str().to_str().unwrap().to_owned()).collect();
        if ["mod", "lib"].contains(&module.last().unwrap().as_str()) {
            module.pop();
        }
        let (tokens, tests) = without_tests(tokens(text));
        let folder = module.iter().collect::<PathBuf>();
        let tests =
            tests.iter().flat_map(|name| [folder.join(name).with_extension("rs"), folder.join(name).join("mod.rs")]);
        let (mut named, mut aliases, mut own) = (Vec::new(), BTreeMap::new(), BTreeSet::new());
        // Modules that are written out within the file, each with how deep its brace lies.
        let mut inner: Vec<(String, usize)> = Vec::new();
        let (mut at, mut depth) = (0, 0);
        while at < tokens.len() {
            let here: Vec<String> = module.iter().chain(inner.iter().map(|(name, _)| name)).cloned().collect();
            match &tokens[at] {
                Token::Word(found) if found == "use" => {
                    at += 1;
                    let mut all = Vec::new();
                    used(&tokens, &mut at, &[], &mut all);
                    for (path, called) in all {
                        let path = from_root(&here, &path);
                        aliases.insert(called, path.clone());
                        named.push(path);
                    }
                }
                Token::Word(found) if found == "mod" && mark(tokens.get(at + 2), "{") => {
                    inner.push((word(tokens.get(at + 1)).unwrap_or_default().to_owned(), depth));
                    (at, depth) = (at + 3, depth + 1);
                }
                Token::Word(found) => {
                    if ["fn", "struct", "enum", "trait", "type", "const", "static"].contains(&found.as_str()) {
                        own.extend(word(tokens.get(at + 1)).map(str::to_owned));
                    }
                    let mut path = vec![found.clone()];
                    while mark(tokens.get(at + 1), "::")
                        && let Some(next) = word(tokens.get(at + 2))
                    {
                        path.push(next.to_owned());
                        at += 2;
                    }
                    at += 1;
                    if path.len() > 1 {
                        named.push(from_root(&here, &path));
                    }
                }
                // An attribute may name a function in a text.
                Token::Text(text) => {
                    let path: Vec<String> = text.split("::").map(str::to_owned).collect();
                    if path.len() > 1 && ["crate", "super", "self"].contains(&path[0].as_str()) {
                        named.push(from_root(&here, &path));
                    }
                    at += 1;
                }
                Token::Mark(found) => {
                    match *found {
                        "{" => depth += 1,
                        "}" => {
                            depth -= 1;
                            inner.retain(|(_, outside)| *outside < depth);
                        }
                        _ => {}
                    }
                    at += 1;
                }
            }
        }
        (Self { module, named, aliases, own }, tests.collect())
    }
}

/// A path from the crate's root on, which `crate` stands for; what begins with another word stays relative.
fn from_root(here: &[String], path: &[String]) -> Vec<String> {
    let mut up = here.to_vec();
    let mut rest = path;
    match path[0].as_str() {
        "crate" | "ohmwright" => return std::iter::once("crate".to_owned()).chain(path[1..].iter().cloned()).collect(),
        "self" => rest = &path[1..],
        "super" => {
            while rest.first().is_some_and(|word| word == "super") {
                up.pop();
                rest = &rest[1..];
            }
        }
        _ => return path.to_vec(),
    }
    std::iter::once("crate".to_owned()).chain(up).chain(rest.iter().cloned()).collect()
}

impl House {
    /// Of these files, each by its path under `src`.
    pub fn of<'a>(sources: impl IntoIterator<Item = (&'a Path, &'a str)>) -> Self {
        let mut files = BTreeMap::new();
        let mut tests = BTreeSet::new();
        for (path, text) in sources {
            if path != Path::new("main.rs") {
                let (file, of_tests) = File::read(path, text);
                files.insert(path.to_owned(), file);
                tests.extend(of_tests);
            }
        }
        files.retain(|path, _| !tests.contains(path));
        let modules = files.iter().map(|(path, file)| (file.module.clone(), path.clone())).collect();
        Self { files, modules }
    }

    fn file_of(&self, module: &[String]) -> Option<&PathBuf> {
        self.modules.get(module)
    }

    /// The file in which what a path names is written; `None` for what is none of the crate's.
    fn resolved(&self, from: &Path, path: &[String], steps: usize) -> Option<&PathBuf> {
        let file = &self.files[from];
        if path[0] != "crate" {
            // A module below this one, or something that a `use` line brought.
            let below: Vec<String> = file.module.iter().chain(&path[..1]).cloned().collect();
            let known = match file.aliases.get(&path[0]) {
                Some(known) if known != path => known.clone(),
                _ if self.file_of(&below).is_some() => std::iter::once("crate".to_owned()).chain(below).collect(),
                _ => return None,
            };
            let whole: Vec<String> = known.iter().chain(&path[1..]).cloned().collect();
            return if steps == 0 { None } else { self.resolved(from, &whole, steps - 1) };
        }
        let path = &path[1..];
        let deepest = (0..=path.len()).rev().find(|length| self.file_of(&path[..*length]).is_some())?;
        let found = self.file_of(&path[..deepest])?;
        // What a file has only brought from elsewhere is looked for there.
        if let Some(next) = path.get(deepest)
            && !self.files[found].own.contains(next)
            && let Some(elsewhere) = self.files[found].aliases.get(next)
            && steps > 0
            && let Some(further) = self.resolved(found, elsewhere, steps - 1)
        {
            return Some(further);
        }
        Some(found)
    }

    /// Which file names which.
    pub fn edges(&self) -> Edges {
        let mut edges = Edges::new();
        for (from, file) in &self.files {
            for path in &file.named {
                if let Some(to) = self.resolved(from, path, 8).filter(|to| *to != from) {
                    edges.entry((from.clone(), to.clone())).or_default().insert(path.join("::"));
                }
            }
        }
        edges
    }
}

/// Files of which each leads to each other, every circle sorted, what stands alone left out.
pub fn circles(edges: &Edges) -> Vec<Vec<PathBuf>> {
    let mut next: BTreeMap<&PathBuf, Vec<&PathBuf>> = BTreeMap::new();
    for (from, to) in edges.keys() {
        next.entry(from).or_default().push(to);
        next.entry(to).or_default();
    }
    let reached: BTreeMap<&PathBuf, BTreeSet<&PathBuf>> = next
        .keys()
        .map(|start| {
            let mut reached = BTreeSet::new();
            let mut waiting = vec![*start];
            while let Some(file) = waiting.pop() {
                waiting.extend(next[file].iter().filter(|to| reached.insert(**to)));
            }
            (*start, reached)
        })
        .collect();
    let together = |file: &PathBuf| -> Vec<PathBuf> {
        reached[file].iter().filter(|other| reached[**other].contains(file)).map(|other| (*other).clone()).collect()
    };
    let circles: BTreeSet<Vec<PathBuf>> = next.into_keys().map(together).filter(|circle| circle.len() > 1).collect();
    circles.into_iter().collect()
}

/// What ties a circle: a line for each file in it that names another one in it.
pub fn ties(circle: &[PathBuf], edges: &Edges) -> String {
    let lines: Vec<String> = edges
        .iter()
        .filter(|((from, to), _)| circle.contains(from) && circle.contains(to))
        .map(|((from, to), paths)| {
            let paths: Vec<&str> = paths.iter().map(String::as_str).collect();
            format!("  {} -> {} by {}", from.display(), to.display(), paths.join(", "))
        })
        .collect();
    lines.join("\n")
}
