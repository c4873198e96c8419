//! `show`: a record on the screen.

use crate::cli::arguments;
use crate::cli::commands::report::note_left_out;
use crate::cli::error::CliError;
use crate::cli::exit::Exit;
use crate::cli::terminal::output::Output;
use crate::report::still_possible as shown;
use crate::report::text;
use crate::shop::material::material;
use crate::shop::settings::Settings;
use crate::shop::still_possible;

/// Shows a record.
pub fn show(settings: &Settings, arguments: &arguments::Show, output: &mut Output) -> Result<Exit, CliError> {
    let name = match &arguments.record {
        Some(name) => name.clone(),
        None => settings.latest()?,
    };
    if arguments.evidence {
        output.line("Comparing the readings with each fault of the circuit. This takes some seconds.");
        let (record, mut evidence, found) = still_possible::of_record(&settings.store, &name)?;
        if record.started.circuit().is_some() {
            output.line("SIMULATED. No vehicle was measured.");
        }
        output.text(&shown::text(&found.still, false, output.width()));
        if found.still.choices() > 1 {
            output.text(&shown::next(evidence.next(&found)?.as_ref(), output.width()));
        }
        return Ok(Exit::Done);
    }
    let shop = settings.shop.root.as_ref().map(|_| &settings.shop.shop);
    // Whether it comes out the same again is for `verify` and `report` to say: a look at a record has to be quick. That a
    // reading is not where its verdict says is seen here, too.
    let (material, left_out) = material(&settings.store, &name, shop, false)?;
    note_left_out(&left_out, output);
    output.text(&text::text(&material, output.width()));
    if settings.store.is_held(&name) {
        output.line("Another window is writing to it just now: there may be more of it in a moment.");
    }
    if material.torn > 0 {
        output.line(&format!("The last line was not written whole ({} bytes); `resume` drops it.", material.torn));
    }
    Ok(Exit::Done)
}
