//! An answers file: read, and held against the procedure that it is for.

use crate::model::clean::Clean;
use crate::model::diagnostic::{self, Diagnostic};
use crate::model::words;
use crate::report::table::harmless;
use crate::run::prepared_answers::AnswersFile;
use crate::shop::error::ShopError;
use crate::shop::loaded::Loaded;
use std::path::Path;

/// Reads an answers file for this procedure.
pub fn answers_file(path: &Path, procedure: &str) -> Result<AnswersFile, ShopError> {
    let text = crate::shop::text_file::read(path)?;
    let file = path.display().to_string();
    let answers: AnswersFile =
        toml::from_str(&text).map_err(|error| ShopError::input(diagnostic::of_toml(&file, &text, &error)))?;
    if answers.procedure != procedure {
        let title = format!("these answers are for the procedure `{}`, not for `{procedure}`", answers.procedure);
        let hint = format!("run `{}`, or give answers for `{procedure}`", answers.procedure);
        let place = diagnostic::value_place(&text, &["procedure"]).unwrap_or_default();
        return Err(ShopError::input(Diagnostic::at(&file, &text, place, title).with_hint(hint)));
    }
    if let Some(id) = answers.unreadable() {
        let title = format!("the list for `{id}` has more in it than readings");
        let hint = "a list holds what was typed; to leave the whole of it out: { skip = \"why\" }";
        return Err(ShopError::input(at_answer(&file, &text, id, title).with_hint(hint)));
    }
    Ok(answers)
}

/// What is wrong with the answer of this id.
fn at_answer(file: &str, text: &str, id: &str, title: String) -> Diagnostic {
    Diagnostic::at(file, text, diagnostic::key_place(text, &["answers", id]).unwrap_or_default(), title)
}

/// An answer to a prompt that the procedure can't have is a slip of the pen, not something to pass over.
pub fn check_ids(path: &Path, answers: &AnswersFile, loaded: &Loaded) -> Result<(), ShopError> {
    let ids = loaded.procedure.prompt_ids();
    let Some(id) = answers.answers.keys().find(|id| !ids.may_be(id)) else { return Ok(()) };
    let text = crate::shop::text_file::read(path)?;
    let title = format!("`{}` has no prompt `{}`", Clean::name(&loaded.procedure.name), harmless(id));
    let mut diagnostic = at_answer(&path.display().to_string(), &text, id, title);
    let nearest = words::nearest(id, ids.literal.iter().map(String::as_str));
    diagnostic.hint = nearest.map(|name| format!("did you mean `{name}`?"));
    Err(ShopError::input(diagnostic))
}
