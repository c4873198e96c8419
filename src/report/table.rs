//! Tables that fit the terminal.

use comfy_table::{CellAlignment, ContentArrangement, Table, presets};

/// A table with a heading row; `right` names the columns whose numbers stand at the right.
pub fn table(width: usize, heading: &[&str], rows: &[Vec<String>], right: &[usize]) -> String {
    let mut table = Table::new();
    table.load_style(presets::UTF8_FULL_CONDENSED);
    table.set_content_arrangement(ContentArrangement::Dynamic);
    table.set_width(u16::try_from(width.clamp(20, 400)).unwrap_or(80));
    if !heading.is_empty() {
        table.set_header(heading.iter().copied());
    }
    for row in rows {
        table.add_row(row);
    }
    for column in right {
        if let Some(column) = table.column_mut(*column) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    table.to_string()
}

/// Text wrapped to the terminal, with an indent for the first line and one for the others.
pub fn wrapped(text: &str, width: usize, first: &str, rest: &str) -> String {
    // Names of records and of flags are copied: no line ends at their hyphens.
    let options = textwrap::Options::new(width.max(20))
        .initial_indent(first)
        .subsequent_indent(rest)
        .word_splitter(textwrap::WordSplitter::NoHyphenation);
    textwrap::fill(text, options)
}

/// Control characters made harmless: what people type must not move a terminal's cursor.
pub fn harmless(text: &str) -> String {
    text.chars()
        .map(|c| {
            if c.is_control() || matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}') {
                '\u{fffd}'
            } else {
                c
            }
        })
        .collect()
}
