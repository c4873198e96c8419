//! `show`: a record on the screen.

use super::arguments;
use super::error::CliError;
use super::exit::Exit;
use super::output::Output;
use super::settings::Settings;
use crate::model::record::Record;
use crate::report::record;

/// Shows a record.
pub fn show(settings: &Settings, arguments: &arguments::Show, output: &mut Output) -> Result<Exit, CliError> {
    let name = match &arguments.record {
        Some(name) => name.clone(),
        None => settings.store.latest()?,
    };
    let back = settings.store.read(&name)?;
    if back.entries.is_empty() {
        return Err(CliError::usage(format!("{name} was broken off before anything was recorded")));
    }
    let folded = Record::of(&back.entries).map_err(|error| CliError::usage(format!("{name}: {error}")))?;
    output.text(&record::text(&name, &folded, output.width()));
    if back.torn > 0 {
        output.line(&format!("The last line was not written whole ({} bytes); `resume` drops it.", back.torn));
    }
    Ok(Exit::Done)
}
