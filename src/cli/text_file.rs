//! Files that people write: read as text, or refused with the place at which they are none.

use super::error::CliError;
use crate::model::diagnostic::Diagnostic;
use std::path::Path;

/// What some editors put before a text, to say that it is UTF-8.
pub const BYTE_ORDER_MARK: char = '\u{feff}';

/// Reads a text, without a byte order mark.
pub fn read(path: &Path) -> Result<String, CliError> {
    let text = String::from_utf8(fs_err::read(path)?).map_err(|error| {
        let start = error.utf8_error().valid_up_to();
        // What can be read of it keeps its place; what can't is drawn as the sign for that.
        let text = String::from_utf8_lossy(error.as_bytes());
        let range = start..start + char::REPLACEMENT_CHARACTER.len_utf8();
        CliError::input(
            Diagnostic::at(&path.display().to_string(), &text, range, "here the file is not UTF-8 text")
                .with_hint("save it as UTF-8 in the editor that it was written with"),
        )
    })?;
    Ok(match text.strip_prefix(BYTE_ORDER_MARK) {
        Some(text) => text.to_owned(),
        None => text,
    })
}
