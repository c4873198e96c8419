//! Tables that fit the terminal.

use crate::model::clean::{self, Clean};
use comfy_table::{CellAlignment, ColumnConstraint, ContentArrangement, Table, Width, presets};

/// The width of each column's longest word.
fn longest_words(heading: &[&str], rows: &[Vec<String>]) -> Vec<usize> {
    let longest = |text: &str| text.split_whitespace().map(textwrap::core::display_width).max().unwrap_or(0);
    let mut widths: Vec<usize> = heading.iter().map(|text| longest(text)).collect();
    for row in rows {
        widths.resize(widths.len().max(row.len()), 0);
        for (width, cell) in widths.iter_mut().zip(row) {
            *width = longest(cell).max(*width);
        }
    }
    widths
}

/// Whether a table can be drawn in this width without a word that is broken.
pub fn fits(width: usize, heading: &[&str], rows: &[Vec<String>]) -> bool {
    // Each column has a space on both sides and a rule; one more rule closes the table.
    longest_words(heading, rows).iter().map(|word| word + 3).sum::<usize>() < width.clamp(20, 400)
}

/// A cell in which words longer than `most` are broken behind the underscores that names have.
fn broken(cell: &str, most: usize) -> String {
    let wide = |text: &str| textwrap::core::display_width(text);
    let mut out = String::new();
    for word in cell.split_inclusive(char::is_whitespace) {
        let mut line = 0;
        let too_wide = wide(word.trim_end()) > most;
        for piece in word.split_inclusive('_') {
            let width = wide(piece.trim_end());
            if line > 0 && too_wide && line + width > most {
                out.push('\n');
                line = 0;
            }
            line += width;
            out.push_str(piece);
        }
    }
    out
}

/// The rows with as few names broken as the width needs; none where that does not help.
fn with_names_broken(width: usize, heading: &[&str], rows: &[Vec<String>]) -> Option<Vec<Vec<String>>> {
    // A piece that is wider than the screen fits nowhere.
    let longest = longest_words(heading, rows).into_iter().max().unwrap_or(0).min(width);
    (4..longest).rev().find_map(|most| {
        let rows: Vec<Vec<String>> =
            rows.iter().map(|row| row.iter().map(|cell| broken(cell, most)).collect()).collect();
        fits(width, heading, &rows).then_some(rows)
    })
}

fn cleaned(rows: &[Vec<String>]) -> Vec<Vec<String>> {
    rows.iter().map(|row| row.iter().map(|cell| Clean::text(cell).into()).collect()).collect()
}

/// A table with a heading row; `right` names the columns whose numbers stand at the right. Where the width allows, no word is
/// broken.
pub fn table(width: usize, heading: &[&str], rows: &[Vec<String>], right: &[usize]) -> String {
    let rows = &cleaned(rows);
    let names_broken = if fits(width, heading, rows) { None } else { with_names_broken(width, heading, rows) };
    let rows = names_broken.as_deref().unwrap_or(rows);
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
    if fits(width, heading, rows) {
        for (column, word) in longest_words(heading, rows).into_iter().enumerate() {
            if let Some(column) = table.column_mut(column) {
                let with_spaces = u16::try_from(word + 2).unwrap_or(u16::MAX);
                column.set_constraint(ColumnConstraint::LowerBoundary(Width::Fixed(with_spaces)));
            }
        }
    }
    for column in right {
        if let Some(column) = table.column_mut(*column) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    table.to_string()
}

/// A table; where no word may be broken and it does not fit, each row as a sentence with the headings in it.
pub fn table_or_lines(width: usize, heading: &[&str], rows: &[Vec<String>], right: &[usize]) -> String {
    let rows = &cleaned(rows);
    if fits(width, heading, rows) || with_names_broken(width, heading, rows).is_some() {
        return table(width, heading, rows, right);
    }
    let sentence = |row: &Vec<String>| {
        let named = heading.iter().zip(row).skip(1).filter(|(_, cell)| !cell.is_empty());
        let cells: Vec<String> = named.map(|(heading, cell)| format!("{heading} {cell}")).collect();
        wrapped(&format!("{}: {}", row.first().map_or("", String::as_str), cells.join(", ")), width, "  ", "    ")
    };
    rows.iter().map(sentence).collect::<Vec<String>>().join("\n")
}

/// Text wrapped to the terminal, with an indent for the first line and one for the others.
pub fn wrapped(text: &str, width: usize, first: &str, rest: &str) -> String {
    // Names of records and of flags are copied: no line ends at their hyphens.
    let options = textwrap::Options::new(width.max(20))
        .initial_indent(first)
        .subsequent_indent(rest)
        .word_splitter(textwrap::WordSplitter::NoHyphenation);
    textwrap::fill(&clean::lines(text), options)
}

/// Text within a line: what people type must not move a terminal's cursor.
pub fn harmless(text: &str) -> String {
    Clean::line(text).into()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_broken_at_their_underscores_and_only_where_the_width_needs_it() {
        let rows = vec![vec!["reference_to_battery".to_owned(), "sensor_pulls_reference (3)".to_owned()]];
        assert!(
            table(80, &["fault", "named"], &rows, &[])
                .contains("│ reference_to_battery ┆ sensor_pulls_reference (3) │")
        );
        let narrow = table(36, &["fault", "named"], &rows, &[]);
        assert!(narrow.contains("│ reference_to_ ┆ sensor_pulls_ │"), "{narrow}");
        assert!(narrow.contains("│ battery       ┆ reference (3) │"), "{narrow}");
        assert!(narrow.lines().all(|line| textwrap::core::display_width(line) <= 36), "{narrow}");
        assert_eq!(table_or_lines(36, &["fault", "named"], &rows, &[]), narrow);
        // However long a name is that somebody hands in.
        let endless = vec![vec!["x_".repeat(20_000), "y".repeat(20_000)]];
        let drawn = table(80, &["fault", "named"], &endless, &[]);
        assert!(drawn.lines().all(|line| textwrap::core::display_width(line) <= 80));
        let figures = vec![vec!["lamp".to_owned(), "1".to_owned(), "0".to_owned()]];
        assert_eq!(table_or_lines(20, &["fault", "right", "wrong"], &figures, &[]), "  lamp: right 1,\n    wrong 0");
    }
}
