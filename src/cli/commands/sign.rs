//! `sign`: somebody stands for a record.

use crate::cli::arguments;
use crate::cli::commands::how::quoted;
use crate::cli::error::CliError;
use crate::cli::exit::Exit;
use crate::cli::keys::signing_key::{Passphrase, Signer, Wanted};
use crate::cli::terminal::input::Input;
use crate::cli::terminal::output::Output;
use crate::model::clean::Clean;
use crate::model::signoff::Meaning;
use crate::records::chain::fingerprint;
use crate::records::store::RunFolder;
use crate::report::entry::{Tone, sign_off_text};
use crate::report::table::{harmless, wrapped};
use crate::shop::settings::Settings;
use crate::shop::sign::{Signed, ToSign, may_sign};
use std::io::IsTerminal;
use std::path::Path;

/// Who wants to sign, and with what.
struct Request<'a> {
    name: &'a str,
    meaning: Meaning,
    key: Option<&'a Path>,
    passphrase: Passphrase,
    /// How to go on where no passphrase opens the key, if nothing else says so.
    later: Option<String>,
}

/// Signs a record.
pub fn sign(settings: &Settings, arguments: &arguments::Sign, output: &mut Output) -> Result<Exit, CliError> {
    let record = match &arguments.record {
        Some(record) => record.clone(),
        None => settings.latest()?,
    };
    let folder = settings.store.open(&record)?;
    let name = arguments.name.trim();
    let meaning = Meaning::new(arguments.meaning.trim());
    let request = Request {
        name,
        key: arguments.key.as_deref(),
        passphrase: Passphrase::from(arguments.passphrase_file.as_deref()),
        later: Some(format!("{} signs it later", command(&folder.name, name, &meaning))),
        meaning,
    };
    sign_open(settings, &folder, &request, output)?;
    Ok(Exit::Done)
}

/// At the end of a run at the vehicle: offers the sign-off to a technician whom the shop lists.
pub fn offer(settings: &Settings, folder: &RunFolder, person: bool, output: &mut Output) {
    if !person || !std::io::stdin().is_terminal() {
        return;
    }
    let Some(name) = may_sign(settings, folder) else { return };
    let meaning = Meaning::new(Meaning::PERFORMED);
    output.line(&harmless(&format!("Sign it off as {meaning}, {}?", Clean::name(&name))));
    let not_signed = harmless(&format!("Not signed; {} does it later.", command(&folder.name, &name, &meaning)));
    let not_signed = wrapped(&not_signed, output.width(), "", "  ");
    let mut input = Input::open();
    loop {
        match input.line("1 yes, 2 no > ", output).as_deref().map(str::trim) {
            Some("1" | "y" | "yes") => break,
            None | Some("2" | "n" | "no") => {
                output.line(&not_signed);
                return;
            }
            Some(_) => output.line("  Type 1 to sign it, or 2 to leave it for later."),
        }
    }
    let request = Request { name: &name, meaning, key: None, passphrase: Passphrase::from(None), later: None };
    if let Err(error) = sign_open(settings, folder, &request, output) {
        output.error(&error);
        output.line(&not_signed);
    }
}

/// What is typed to sign a record later.
fn command(record: &str, name: &str, meaning: &Meaning) -> String {
    let meaning = if meaning.is_performed() { String::new() } else { format!(" --meaning {meaning}") };
    let record = if record == Clean::name(record).as_str() { record.to_owned() } else { quoted(record) };
    format!("`ohmwright sign {record} --as {}{meaning}`", quoted(name))
}

fn sign_open(
    settings: &Settings,
    folder: &RunFolder,
    request: &Request<'_>,
    output: &mut Output,
) -> Result<(), CliError> {
    let to_sign = ToSign::prepare(settings, folder, request.name, &request.meaning)?;
    let wanted = Wanted {
        name: request.name,
        listed: &to_sign.keys(),
        file: request.key,
        passphrase: &request.passphrase,
        later: request.later.as_deref(),
    };
    let (mut signer, which) = Signer::find(&wanted, output)?;
    let stated = to_sign.state(settings, folder, which)?;
    if signer.is_a_device() {
        output.note("Touch the security key when it blinks.");
    }
    let signature = signer.sign(stated.bytes())?;
    let Signed { statement, at, remark } = stated.signed(signature)?;

    let width = output.width();
    let text = format!("Signed: {}", sign_off_text(&statement, &at));
    output.toned(Tone::Good, &wrapped(&text, width, "", "  "));
    output.line(&format!("Key: {}", fingerprint(&statement.key)));
    if let Some(remark) = remark {
        output.toned(Tone::Doubtful, &wrapped(&harmless(&format!("Note: {remark}.")), width, "", "  "));
    }
    if statement.unfinished {
        output.line("The record names no cause; it is signed as unfinished, and says so.");
    }
    output.line(&format!("Record: {}", Clean::name(&folder.name)));
    Ok(())
}
