//! `report`: a record as a page, as data, as text.

use crate::cli::arguments::{self, Form, Format};
use crate::cli::error::CliError;
use crate::cli::exit::Exit;
use crate::cli::terminal::output::Output;
use crate::model::clean::Clean;
use crate::records::store::JOURNAL;
use crate::report::{csv, html, json, text};
use crate::shop::material::material;
use crate::shop::settings::Settings;
use std::path::{Path, PathBuf};

/// Writes a report.
pub fn report(settings: &Settings, arguments: &arguments::Report, output: &mut Output) -> Result<Exit, CliError> {
    if arguments.schema {
        return write(&Clean::text(json::SCHEMA), arguments.out.as_deref().unwrap_or(Path::new("-")), output);
    }
    if arguments.form == Form::Customer && arguments.format != Format::Html {
        return Err(CliError::usage_with(
            "the customer's form is there as HTML only",
            "leave out --format, or take the full form",
        ));
    }
    let name = match &arguments.record {
        Some(name) => name.clone(),
        None => settings.latest()?,
    };
    let shop = settings.shop.root.as_ref().map(|_| &settings.shop.shop);
    let (material, left_out) = material(&settings.store, &name, shop, true)?;
    note_left_out(&left_out, output);
    let material = material.without(&arguments.without);
    let written = match (arguments.format, arguments.form) {
        (Format::Html, Form::Full) => html::full::page(&material).into(),
        (Format::Html, Form::Customer) => html::customer::page(&material).into(),
        (Format::Json, _) => json::text(&material).map_err(|error| CliError::Files(error.to_string()))?,
        (Format::Csv, _) => csv::text(&material).map_err(|error| CliError::Files(error.to_string()))?.into(),
        (Format::Text, _) => text::text(&material, output.width()).into(),
    };
    let out = match (&arguments.out, arguments.format, arguments.form) {
        (Some(out), ..) => out.clone(),
        (None, Format::Html, Form::Full) => PathBuf::from(format!("{}.html", material.name)),
        (None, Format::Html, Form::Customer) => PathBuf::from(format!("{}-customer.html", material.name)),
        (None, ..) => PathBuf::from("-"),
    };
    write(&written, &out, output)
}

fn write(text: &Clean, out: &Path, output: &mut Output) -> Result<Exit, CliError> {
    if out == Path::new("-") {
        output.text(text.as_str());
        return Ok(Exit::Done);
    }
    if out.file_name().is_some_and(|name| name == JOURNAL) {
        return Err(CliError::usage_with(
            format!("{} is a record's journal, and no report goes there", out.display()),
            "name another file",
        ));
    }
    fs_err::write(out, text.as_str())?;
    output.line(&format!("Report: {}", out.display()));
    Ok(Exit::Done)
}

/// Says what a report goes without.
pub fn note_left_out(left_out: &[String], output: &mut Output) {
    for what in left_out {
        output.note(&format!("note: the report goes without {what}"));
    }
}
