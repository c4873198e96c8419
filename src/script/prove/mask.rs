//! A script's text with everything blanked that is no code, byte for byte as long: comments become spaces, texts become `x`.

/// What stands for a byte of a text.
const TEXT: u8 = b'x';

/// Blanks comments and texts.
pub(super) fn mask(text: &str) -> Vec<u8> {
    let mut masked = text.as_bytes().to_vec();
    code(text.as_bytes(), &mut masked, 0, false);
    masked
}

fn blank(masked: &mut [u8], from: usize, to: usize, with: u8) {
    for byte in &mut masked[from..to] {
        if *byte != b'\n' || with == TEXT {
            *byte = with;
        }
    }
}

/// Goes through code from `at`; inside of a text's `${…}` up to its closing brace. Gives where it ended.
fn code(text: &[u8], masked: &mut [u8], mut at: usize, inside: bool) -> usize {
    let mut depth = 0_usize;
    while at < text.len() {
        let from = at;
        match text[at] {
            b'/' if text.get(at + 1) == Some(&b'/') => {
                at = text[at..].iter().position(|byte| *byte == b'\n').map_or(text.len(), |length| at + length);
                blank(masked, from, at, b' ');
            }
            b'/' if text.get(at + 1) == Some(&b'*') => {
                at = end_of_comment(text, at + 2);
                blank(masked, from, at, b' ');
            }
            quote @ (b'"' | b'\'') => {
                at = end_of_text(text, at + 1, quote);
                blank(masked, from, at, TEXT);
            }
            b'#' if raw_hashes(&text[at..]).is_some() => {
                let hashes = raw_hashes(&text[at..]).unwrap_or(1);
                let end: Vec<u8> = std::iter::once(b'"').chain(std::iter::repeat_n(b'#', hashes)).collect();
                let begin = (at + hashes + 1).min(text.len());
                let found = text[begin..].windows(end.len()).position(|window| window == end);
                at = found.map_or(text.len(), |length| begin + length + end.len());
                blank(masked, from, at, TEXT);
            }
            b'`' => {
                at = end_of_back_quoted(text, masked, at + 1);
                blank(masked, from, at, TEXT);
            }
            b'{' => {
                depth += 1;
                at += 1;
            }
            b'}' if inside && depth == 0 => return at + 1,
            b'}' => {
                depth = depth.saturating_sub(1);
                at += 1;
            }
            _ => at += 1,
        }
    }
    at
}

/// Of `##"…"##` how many signs stand before the quotation mark.
fn raw_hashes(text: &[u8]) -> Option<usize> {
    let hashes = text.iter().take_while(|byte| **byte == b'#').count();
    (text.get(hashes) == Some(&b'"')).then_some(hashes)
}

fn end_of_comment(text: &[u8], mut at: usize) -> usize {
    let mut depth = 1;
    while at < text.len() && depth > 0 {
        match (text[at], text.get(at + 1)) {
            (b'/', Some(b'*')) => (depth, at) = (depth + 1, at + 2),
            (b'*', Some(b'/')) => (depth, at) = (depth - 1, at + 2),
            _ => at += 1,
        }
    }
    at.min(text.len())
}

fn end_of_text(text: &[u8], mut at: usize, quote: u8) -> usize {
    while at < text.len() {
        match text[at] {
            b'\\' => at += 2,
            byte if byte == quote => return at + 1,
            _ => at += 1,
        }
    }
    text.len()
}

fn end_of_back_quoted(text: &[u8], masked: &mut [u8], mut at: usize) -> usize {
    while at < text.len() {
        match (text[at], text.get(at + 1)) {
            (b'`', Some(b'`')) => at += 2,
            (b'`', _) => return at + 1,
            (b'$', Some(b'{')) => at = code(text, masked, at + 2, true),
            _ => at += 1,
        }
    }
    text.len()
}

#[cfg(test)]
mod tests {
    use super::mask;

    #[test]
    fn only_code_is_left() {
        for (text, left) in [
            ("a && b // && c\n|| d", "a && b        \n|| d"),
            ("a /* x /* && */ || */ && \"{ && }\"", "a                     && xxxxxxxx"),
            ("'{' \"\\\"{\" {", "xxx xxxxx {"),
            ("##\"a\"# && \"## ?? b", "xxxxxxxxxxxxx ?? b"),
            ("`a ${ if b { `}` } else { 1 } } {` {", "xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx {"),
            ("#{ a: 1 }", "#{ a: 1 }"),
            ("\"never closed", "xxxxxxxxxxxxx"),
        ] {
            assert_eq!(String::from_utf8(mask(text)).unwrap(), left, "{text}");
        }
    }
}
