//! Letters three rows high, drawn with half blocks: read from two meters away.

/// Five rows of three points each, the left one worth 4.
const fn shape(c: char) -> [u8; 5] {
    match c {
        'A' => [2, 5, 7, 5, 5],
        'B' => [6, 5, 6, 5, 6],
        'C' => [3, 4, 4, 4, 3],
        'D' => [6, 5, 5, 5, 6],
        'E' => [7, 4, 6, 4, 7],
        'F' => [7, 4, 6, 4, 4],
        'G' => [3, 4, 5, 5, 3],
        'H' => [5, 5, 7, 5, 5],
        'I' => [7, 2, 2, 2, 7],
        'J' => [1, 1, 1, 5, 2],
        'K' | 'k' => [5, 5, 6, 5, 5],
        'L' => [4, 4, 4, 4, 7],
        'M' | 'm' => [5, 7, 7, 5, 5],
        'N' => [6, 5, 5, 5, 5],
        'O' => [7, 5, 5, 5, 7],
        'P' => [7, 5, 7, 4, 4],
        'Q' => [7, 5, 5, 7, 1],
        'R' => [6, 5, 6, 5, 5],
        'S' | '5' => [7, 4, 7, 1, 7],
        'T' => [7, 2, 2, 2, 2],
        'U' => [5, 5, 5, 5, 7],
        'V' => [5, 5, 5, 5, 2],
        'W' => [5, 5, 7, 7, 5],
        'X' => [5, 5, 2, 5, 5],
        'Y' => [5, 5, 2, 2, 2],
        'Z' => [7, 1, 2, 4, 7],
        '0' => [2, 5, 5, 5, 2],
        '1' => [2, 6, 2, 2, 7],
        '2' => [7, 1, 7, 4, 7],
        '3' => [7, 1, 3, 1, 7],
        '4' => [5, 5, 7, 1, 1],
        '6' => [7, 4, 7, 5, 7],
        '7' => [7, 1, 2, 2, 2],
        '8' => [7, 5, 7, 5, 7],
        '9' => [7, 5, 7, 1, 7],
        '-' | '−' => [0, 0, 7, 0, 0],
        '+' => [0, 2, 7, 2, 0],
        '.' => [0, 0, 0, 0, 2],
        '?' => [7, 1, 3, 0, 2],
        '%' => [5, 1, 2, 4, 5],
        'Ω' => [2, 5, 5, 2, 7],
        'µ' => [5, 5, 5, 7, 4],
        '°' => [2, 5, 2, 0, 0],
        _ => [0; 5],
    }
}

/// How many columns a text takes.
fn columns(text: &str) -> usize {
    (text.chars().count() * 4).saturating_sub(1)
}

/// The text in three rows.
fn rows(text: &str) -> [String; 3] {
    let mut rows = [const { String::new() }; 3];
    for (index, c) in text.chars().enumerate() {
        let shape = if c == 'z' || (c.is_ascii_lowercase() && !matches!(c, 'm' | 'k')) {
            shape(c.to_ascii_uppercase())
        } else {
            shape(c)
        };
        for (number, row) in rows.iter_mut().enumerate() {
            if index > 0 {
                row.push(' ');
            }
            // A row of points above the letter keeps two lines of letters apart.
            let points = |line: usize| if line == 0 { 0 } else { shape[line - 1] };
            let (upper, lower) = (points(number * 2), points(number * 2 + 1));
            for bit in [4, 2, 1] {
                row.push(match (upper & bit != 0, lower & bit != 0) {
                    (true, true) => '█',
                    (true, false) => '▀',
                    (false, true) => '▄',
                    (false, false) => ' ',
                });
            }
        }
    }
    rows
}

/// A word and a value in three rows beside each other, or in six where the width has no room; `None` where not even that fits.
pub fn drawn(word: &str, value: &str, width: usize) -> Option<Vec<String>> {
    let one_line = if word.is_empty() { value.to_owned() } else { format!("{word}  {value}") };
    let texts = if columns(&one_line) <= width { vec![one_line.as_str()] } else { vec![word, value] };
    if texts.iter().any(|text| columns(text) > width) {
        return None;
    }
    Some(texts.into_iter().flat_map(rows).map(|row| row.trim_end().to_owned()).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_word_and_a_value_are_three_rows_high() {
        assert_eq!(
            drawn("OK", "0.31 V", 80).unwrap(),
            [
                "▄▄▄ ▄ ▄          ▄      ▄▄▄  ▄      ▄ ▄",
                "█ █ █▄▀         █ █      ▄█ ▀█      █ █",
                "█▄█ █ █         ▀▄▀  ▄  ▄▄█ ▄█▄     ▀▄▀",
            ]
        );
        assert_eq!(drawn("NEAR THE LIMIT", "12.43 V", 80).unwrap().len(), 6);
        assert_eq!(drawn("NEAR THE LIMIT", "12.43 V", 50), None);
        // No two signs of a value look alike.
        let signs: Vec<char> = "0123456789-.VAmkMΩ%".chars().collect();
        for (index, one) in signs.iter().enumerate() {
            for other in &signs[index + 1..] {
                assert!(shape(*one) != shape(*other) || "mM".contains([*one, *other]), "{one} {other}");
            }
        }
    }
}
