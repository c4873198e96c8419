//! From the engine's positions (line, column in characters) to bytes of the source.

use rhai::Position;
use std::ops::Range;

/// The bytes of the word, text or sign that begins at a position.
pub fn span(source: &str, position: Position) -> Range<usize> {
    let start = offset(source, position);
    let rest = source.get(start..).unwrap_or("");
    let first = rest.chars().next();
    let length = match first {
        Some(quote @ ('"' | '`')) => rest[1..].find(quote).map_or(1, |end| end + 2),
        Some(c) if c.is_alphanumeric() || c == '_' => {
            rest.find(|c: char| !(c.is_alphanumeric() || c == '_')).unwrap_or(rest.len())
        }
        Some(c) => c.len_utf8(),
        None => 0,
    };
    start..start + length
}

fn offset(source: &str, position: Position) -> usize {
    let Some(line) = position.line() else { return 0 };
    let column = position.position().unwrap_or(1);
    let start = if line == 1 {
        0
    } else {
        source.match_indices('\n').nth(line - 2).map_or(source.len(), |(index, _)| index + 1)
    };
    let text = source.get(start..).unwrap_or("");
    let text = text.split('\n').next().unwrap_or("");
    start + text.char_indices().nth(column.saturating_sub(1)).map_or(text.len(), |(index, _)| index)
}
