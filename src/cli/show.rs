//! `show`: a record on the screen.

use super::arguments;
use super::error::CliError;
use super::examine::store_of;
use super::exit::Exit;
use super::later::checks_of;
use super::output::Output;
use super::settings::Settings;
use super::store::{self, JOURNAL};
use crate::model::record::Record;
use crate::report::record;

/// Shows a record.
pub fn show(settings: &Settings, arguments: &arguments::Show, output: &mut Output) -> Result<Exit, CliError> {
    let name = match &arguments.record {
        Some(name) => name.clone(),
        None => settings.store.latest()?,
    };
    let folder = settings.store.path_of(&name)?;
    let path = folder.join(JOURNAL);
    let bytes = fs_err::read(&path)?;
    let back = store::parse(&path, bytes.clone())?;
    if back.entries.is_empty() {
        return Err(CliError::usage(format!("{name} was broken off before anything was recorded")));
    }
    let folded = Record::of(&back.entries).map_err(|error| CliError::usage(format!("{name}: {error}")))?;
    let plain_name = folder.file_name().map_or_else(|| name.clone(), |name| name.to_string_lossy().into_owned());
    let checks = checks_of(&store_of(&folder), &plain_name, &bytes, output)?;
    output.text(&record::text(&name, &folded, &checks, output.width()));
    if back.torn > 0 {
        output.line(&format!("The last line was not written whole ({} bytes); `resume` drops it.", back.torn));
    }
    Ok(Exit::Done)
}
