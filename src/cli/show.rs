//! `show`: a record on the screen.

use super::arguments;
use super::circuits::kept_points;
use super::error::CliError;
use super::exit::Exit;
use super::journal_file::parse;
use super::links::checks_of;
use super::output::Output;
use super::settings::Settings;
use crate::report::record;

/// Shows a record.
pub fn show(settings: &Settings, arguments: &arguments::Show, output: &mut Output) -> Result<Exit, CliError> {
    let name = match &arguments.record {
        Some(name) => name.clone(),
        None => settings.store.latest()?,
    };
    let mut found = settings.store.find(&name)?;
    let back = parse(&found.journal, std::mem::take(&mut found.bytes))?;
    let folded = found.record(&back.entries)?;
    let checks = checks_of(&found.store, &found.name, &folded, back.bytes(), output)?;
    let points = kept_points(&found.store, &folded.started.sources);
    output.text(&record::text(&name, &folded, points.as_ref(), &checks, output.width()));
    if back.torn() > 0 {
        output.line(&format!("The last line was not written whole ({} bytes); `resume` drops it.", back.torn()));
    }
    Ok(Exit::Done)
}
