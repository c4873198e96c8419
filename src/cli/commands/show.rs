//! `show`: a record on the screen.

use crate::cli::arguments;
use crate::cli::commands::report::note_left_out;
use crate::cli::error::CliError;
use crate::cli::exit::Exit;
use crate::cli::terminal::output::Output;
use crate::report::text;
use crate::shop::material::material;
use crate::shop::settings::Settings;

/// Shows a record.
pub fn show(settings: &Settings, arguments: &arguments::Show, output: &mut Output) -> Result<Exit, CliError> {
    let name = match &arguments.record {
        Some(name) => name.clone(),
        None => settings.latest()?,
    };
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
