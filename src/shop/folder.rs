//! The shop's folder, found upward from where one stands; every command works without one, too.

use crate::model::caution::{CautionRules, RuleError};
use crate::model::diagnostic::{self, Diagnostic};
use crate::model::shop::Shop;
use crate::model::shop_check::Way;
use crate::model::words;
use crate::script::diagnose::Source;
use crate::shop::builtin;
use crate::shop::error::ShopError;
use crate::shop::text_file;
use std::path::{Path, PathBuf};
use toml::de::DeTable;

/// The shop's folder and what its `shop.toml` says.
#[derive(Clone, Debug)]
pub struct ShopFolder {
    /// The folder; `None` when there is no shop.
    pub root: Option<PathBuf>,
    /// What the file says.
    pub shop: Shop,
    /// The file's text, to be kept with records.
    pub text: String,
}

impl ShopFolder {
    /// At `given`, else upward from `here`.
    pub fn find(given: Option<&Path>, here: &Path) -> Result<Self, ShopError> {
        let root = match given {
            Some(folder) => {
                if !folder.join("shop.toml").is_file() {
                    return Err(ShopError::refused_with(
                        format!("there is no shop.toml in {}", folder.display()),
                        "name the folder that has it",
                    ));
                }
                Some(folder.to_owned())
            }
            None => here.ancestors().find(|folder| folder.join("shop.toml").is_file()).map(Path::to_owned),
        };
        let Some(root) = root else {
            return Ok(Self { root: None, shop: Shop::default(), text: String::new() });
        };
        let path = root.join("shop.toml");
        let text = text_file::read(&path)?;
        let shop: Shop = toml::from_str(&text)
            .map_err(|error| ShopError::input(diagnostic::of_toml(&path.display().to_string(), &text, &error)))?;
        if let Some(problem) = shop.problem() {
            let file = path.display().to_string();
            let mut diagnostic = match place_of(&text, &problem.way) {
                Some(range) => Diagnostic::at(&file, &text, range, problem.title),
                None => Diagnostic::of_file(&file, problem.title),
            };
            diagnostic.hint = Some(problem.hint);
            return Err(ShopError::input(diagnostic));
        }
        Ok(Self { root: Some(root), shop, text })
    }

    /// The library's caution rules and the shop's own.
    pub fn cautions(&self) -> Result<CautionRules, ShopError> {
        let (file, text) = builtin::cautions();
        let rules: CautionRules =
            toml::from_str(text).map_err(|error| ShopError::input(diagnostic::of_toml(file, text, &error)))?;
        let own = CautionRules { rules: self.shop.cautions.clone() };
        rules.with(own).map_err(|error| ShopError::input(self.of_caution(&error)))
    }

    /// What is wrong with one of the shop's own cautions, at its place.
    fn of_caution(&self, error: &RuleError) -> Diagnostic {
        let (id, field, hint) = match error {
            RuleError::Silences { id } => (id, "id", "give it a name of its own, such as `own_` and what it is about"),
            RuleError::Twice { id } => (id, "id", "give each caution a name of its own"),
            RuleError::NotWhole { id, field, hint } => (id, *field, *hint),
            RuleError::Always { id } => (id, "when", "say when it comes, as when = { zones = [\"hopper\"] }"),
        };
        let file = self.root.as_ref().map_or_else(|| PathBuf::from("shop.toml"), |root| root.join("shop.toml"));
        let number = self.shop.cautions.iter().rposition(|rule| rule.id == *id);
        let place = number
            .and_then(|number| place_of(&self.text, &[Way::Name("caution"), Way::Number(number), Way::Name(field)]));
        let file = file.display().to_string();
        match place {
            Some(place) => Diagnostic::at(&file, &self.text, place, error.to_string()),
            None => Diagnostic::of_file(&file, error),
        }
        .with_hint(hint)
    }

    /// A library file: the shop's own, else one that comes with the program.
    pub fn library(&self, name: &str) -> Option<Source> {
        if !is_plain(name) {
            return None;
        }
        if let Some(root) = &self.root {
            let path = root.join("library").join(format!("{name}.rhai"));
            if let Ok(text) = text_file::read(&path) {
                return Some(Source { file: path.display().to_string(), text });
            }
        }
        builtin::library(name).map(|(file, text)| Source { file, text: text.to_owned() })
    }

    /// A procedure by path, or by name: the shop's own, else one that comes with the program.
    pub fn procedure(&self, given: &str) -> Result<(String, Source), ShopError> {
        self.named_file(given, "procedures", "rhai", "procedure", builtin::procedure, &builtin::procedure_names())
    }

    /// A circuit by path, or by name: the shop's own, else one that comes with the program.
    pub fn circuit(&self, given: &str) -> Result<(String, Source), ShopError> {
        self.named_file(given, "circuits", "toml", "circuit", builtin::circuit, &builtin::circuit_names())
    }

    fn named_file(
        &self,
        given: &str,
        folder: &str,
        ending: &str,
        kind: &str,
        builtin: fn(&str) -> Option<(String, &'static str)>,
        builtin_names: &[String],
    ) -> Result<(String, Source), ShopError> {
        let path = Path::new(given);
        if path.extension().is_some_and(|found| found == ending) || given.contains('/') {
            let text = text_file::read(path)?;
            let name = path.file_stem().and_then(|stem| stem.to_str()).unwrap_or("unnamed").to_owned();
            return Ok((name, Source { file: given.to_owned(), text }));
        }
        if is_plain(given) {
            if let Some(root) = &self.root {
                let path = root.join(folder).join(format!("{given}.{ending}"));
                if path.is_file() {
                    let text = text_file::read(&path)?;
                    return Ok((given.to_owned(), Source { file: path.display().to_string(), text }));
                }
            }
            if let Some((file, text)) = builtin(given) {
                return Ok((given.to_owned(), Source { file, text: text.to_owned() }));
            }
        }
        let mut names = self.names(folder, ending);
        names.extend(builtin_names.iter().cloned());
        names.sort();
        names.dedup();
        let nearest = words::nearest(given, names.iter().map(String::as_str));
        Err(ShopError::NoSuchFile {
            sentence: format!("there is no {kind} `{given}`{}", words::did_you_mean(nearest.as_deref())),
            hint: format!("name a file that ends in .{ending}, or one of these: {}", names.join(", ")),
        })
    }

    /// Names of the shop's own files in a folder.
    pub fn names(&self, folder: &str, ending: &str) -> Vec<String> {
        let Some(root) = &self.root else { return vec![] };
        let Ok(entries) = fs_err::read_dir(root.join(folder)) else { return vec![] };
        let mut names: Vec<_> = entries
            .flatten()
            .map(|entry| entry.path())
            .filter(|path| path.extension().is_some_and(|found| found == ending) && path.is_file())
            .filter_map(|path| path.file_stem()?.to_str().map(str::to_owned))
            .collect();
        names.sort();
        names
    }
}

/// Where something stands in a file that was read already, or what it would stand in.
fn place_of(text: &str, way: &[Way]) -> Option<std::ops::Range<usize>> {
    let whole = DeTable::parse(text).ok()?;
    let Some((Way::Name(first), rest)) = way.split_first() else { return None };
    let mut value = whole.get_ref().get(*first)?;
    for step in rest {
        let next = match step {
            Way::Name(name) => value.get_ref().get(*name),
            Way::Number(number) => value.get_ref().get(*number),
        };
        // What is left out has no place of its own.
        let Some(next) = next else { break };
        value = next;
    }
    Some(value.span())
}

fn is_plain(name: &str) -> bool {
    !name.is_empty() && name.chars().all(|c| c.is_alphanumeric() || c == '_' || c == '-')
}
