//! `key`: makes a person's key and says what belongs into `shop.toml`.

use crate::cli::arguments;
use crate::cli::error::CliError;
use crate::cli::exit::Exit;
use crate::cli::keys::signing_key::{KeyError, Passphrase, create_folder, default_path};
use crate::cli::terminal::output::Output;
use crate::model::clean::Clean;
use crate::report::table::wrapped;
use crate::shop::settings::Settings;
use ssh_key::rand_core::OsRng;
use ssh_key::{Algorithm, HashAlg, LineEnding, PrivateKey};
use std::io::Write;
use std::path::Path;

/// Makes a key.
pub fn key(settings: &Settings, arguments: &arguments::Key, output: &mut Output) -> Result<Exit, CliError> {
    let name = arguments.name.trim();
    if name.is_empty() || name.chars().any(char::is_control) {
        return Err(CliError::usage("a key belongs to a person: give the name as it will be printed"));
    }
    let shown = Clean::name(name);
    if shown.as_str() != name {
        return Err(CliError::usage_with(
            format!("the name {shown} has characters that can't be seen or that look like others"),
            "the shop's list has to tell people apart: type the name anew, in one alphabet",
        ));
    }
    let path = match &arguments.out {
        Some(path) => path.clone(),
        None => default_path(name)?,
    };
    let public_path = Path::new(&format!("{}.pub", path.display())).to_owned();
    for taken in [&path, &public_path] {
        if taken.exists() {
            return Err(CliError::usage_with(
                format!("{} is there already", taken.display()),
                "a key is never written over: name another file with --out",
            ));
        }
    }
    let passphrase = Passphrase::from(arguments.passphrase_file.as_deref()).new_one(name)?;
    let mut key = PrivateKey::random(&mut OsRng, Algorithm::Ed25519).map_err(KeyError::Signing)?;
    key.set_comment(name);
    let public = key.public_key().to_openssh().map_err(KeyError::Signing)?;
    let fingerprint = key.fingerprint(HashAlg::Sha256);
    let locked = key.encrypt(&mut OsRng, passphrase.as_bytes()).map_err(KeyError::Signing)?;
    let text = locked.to_openssh(LineEnding::LF).map_err(KeyError::Signing)?;
    if let Some(folder) = path.parent().filter(|folder| !folder.as_os_str().is_empty()) {
        create_folder(folder)?;
    }
    write_new(&path, text.as_bytes(), true)?;
    write_new(&public_path, format!("{public}\n").as_bytes(), false)?;
    let width = output.width();
    output.line(&format!("Key of {name}: {}", path.display()));
    output.line(&format!("Fingerprint: {fingerprint}"));
    output.line("");
    output.line(&public);
    output.line("");
    output.line(&wrapped(
        "Put this into shop.toml, with a role that a [[role]] there defines. The key itself stays with its owner.",
        width,
        "",
        "",
    ));
    output.line("");
    output.line("[[person]]");
    output.line(&format!("name = {}", toml::Value::from(name)));
    // What is pasted must not make a technician of the lead.
    let people = &settings.shop.shop.people;
    let role = people.iter().rev().find(|person| person.name == name && !person.role.is_empty());
    output.line(&format!("role = {}", toml::Value::from(role.map_or("technician", |person| &person.role))));
    output.line(&format!("key = {}", toml::Value::from(public)));
    output.line(&format!("from = \"{}\"", settings.clock.today()));
    Ok(Exit::Done)
}

/// Writes a file that must not be there; a private one is its owner's alone from the first byte on.
fn write_new(path: &Path, bytes: &[u8], private: bool) -> Result<(), CliError> {
    let mut options = fs_err::OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    {
        use fs_err::os::unix::fs::OpenOptionsExt;
        options.mode(if private { 0o600 } else { 0o644 });
    }
    let mut file = options.open(path)?;
    #[cfg(unix)]
    if private {
        // Not less than its owner needs either, whatever the umask.
        use std::os::unix::fs::PermissionsExt;
        file.file().set_permissions(std::fs::Permissions::from_mode(0o600))?;
    }
    file.write_all(bytes)?;
    file.file().sync_all()?;
    Ok(())
}
