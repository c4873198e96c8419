//! `pack`: a record with all that it depends on, in one tar file.

use crate::cli::arguments;
use crate::cli::error::CliError;
use crate::cli::exit::Exit;
use crate::cli::terminal::output::Output;
use crate::model::clean::Clean;
use crate::model::words;
use crate::records::pack::{Packed, write};
use crate::shop::settings::Settings;

/// Packs a record.
pub fn pack(settings: &Settings, arguments: &arguments::Pack, output: &mut Output) -> Result<Exit, CliError> {
    let given = match &arguments.record {
        Some(record) => record.clone(),
        None => settings.latest()?,
    };
    let Packed { name, sources, file } = write(&settings.store, &given, arguments.out.as_deref())?;
    let sources = words::count(sources, "source", "sources");
    output.line(&format!("Packed {} with {sources}: {}", Clean::name(&name), file.display()));
    output.line(&format!("Anywhere: `ohmwright verify {}`", file.display()));
    Ok(Exit::Done)
}
