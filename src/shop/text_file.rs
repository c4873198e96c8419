//! Files that people write: read as text, or refused with the place at which they are none.

use crate::model::diagnostic::Diagnostic;
use crate::shop::error::ShopError;
use std::io::Read;
use std::path::Path;

/// The mark that some editors put before a text, to say that it is UTF-8.
pub const BYTE_ORDER_MARK: char = '\u{feff}';

/// No file that a person writes is longer than this.
const LONGEST: u64 = 16 * 1024 * 1024;

/// Reads a text, without a byte order mark. Of what has no end no more is read than a text may have.
pub fn read(path: &Path) -> Result<String, ShopError> {
    let mut bytes = Vec::new();
    fs_err::File::open(path)?.take(LONGEST + 1).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > LONGEST {
        let title = format!("this is longer than {} MB, and no file of this kind is", LONGEST / 1024 / 1024);
        let diagnostic = Diagnostic::of_file(&path.display().to_string(), title);
        return Err(ShopError::input(diagnostic.with_hint("look whether it is the file that you meant")));
    }
    let text = String::from_utf8(bytes).map_err(|error| not_utf8(path, error.into_bytes()))?;
    Ok(match text.strip_prefix(BYTE_ORDER_MARK) {
        Some(text) => text.to_owned(),
        None => text,
    })
}

/// What is said of a file that is no text, with the place from which on it is none.
pub fn not_utf8(path: &Path, bytes: Vec<u8>) -> ShopError {
    // Where every other byte is none, each of them alone is UTF-8.
    let start = match std::str::from_utf8(&bytes) {
        Err(error) => error.valid_up_to(),
        Ok(_) => bytes.iter().position(|byte| *byte == 0).unwrap_or(0),
    };
    // What can be read of it keeps its place; what can't is drawn as the sign for that.
    let text = String::from_utf8_lossy(&bytes).replace('\0', "\u{fffd}");
    let range = start..start + char::REPLACEMENT_CHARACTER.len_utf8();
    ShopError::input(
        Diagnostic::at(&path.display().to_string(), &text, range, "here the file is not UTF-8 text")
            .with_hint("save it as UTF-8 in the editor that it was written with"),
    )
}
