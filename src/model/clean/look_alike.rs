//! Names that look alike: letters that nobody sees, and letters of one script that stand for those of another.
//!
//! The table is common practice, no source: the Cyrillic and Greek letters that most typefaces draw as Latin ones.

/// A name by its looks: without what is not seen, with each letter as the one that it is drawn as. Two names that come to
/// the same can't be told apart on a screen; it is no name itself.
pub fn looks(name: &str) -> String {
    name.chars().filter(|c| !is_unseen(*c)).flat_map(char::to_lowercase).map(folded).collect()
}

/// Whether two different names look alike.
///
/// ```
/// use ohmwright::model::clean::look_alike::look_alike;
/// assert!(look_alike("Example Shop", "Example  Shop "));
/// assert!(look_alike("Example Shop", "Ex\u{430}mple Sh\u{200b}op"));
/// assert!(!look_alike("Example Shop", "Example Shop"));
/// assert!(!look_alike("Example Shop", "Example Shops"));
/// ```
pub fn look_alike(one: &str, other: &str) -> bool {
    one != other && looks(one) == looks(other)
}

/// A name in which everything but plain letters, digits and signs is written by its number, so that it can be told from another.
pub fn spelled_out(name: &str) -> String {
    let plain = |c: char| c == ' ' || c.is_ascii_graphic();
    name.chars().map(|c| if plain(c) { c.to_string() } else { format!("<U+{:04X}>", u32::from(c)) }).collect()
}

/// Spaces, controls, marks that stand on other letters, and what takes no room.
const fn is_unseen(c: char) -> bool {
    matches!(c,
        '\0'..=' ' | '\u{7f}'..='\u{a0}' | '\u{ad}' | '\u{300}'..='\u{36f}' | '\u{61c}' | '\u{115f}'..='\u{1160}'
        | '\u{1680}' | '\u{17b4}'..='\u{17b5}' | '\u{180b}'..='\u{180f}' | '\u{2000}'..='\u{200f}'
        | '\u{2028}'..='\u{202f}' | '\u{205f}'..='\u{206f}' | '\u{2800}' | '\u{3000}' | '\u{3164}'
        | '\u{fe00}'..='\u{fe0f}' | '\u{feff}' | '\u{ffa0}' | '\u{e0000}'..='\u{e0fff}')
}

fn folded(c: char) -> char {
    match c {
        // The wide forms of the plain signs, as East Asian keyboards write them.
        '\u{ff01}'..='\u{ff5e}' => {
            let plain = char::from_u32(u32::from(c) - 0xff01 + 0x21).unwrap_or(c).to_ascii_lowercase();
            folded(plain)
        }
        'а' | 'α' | 'ɑ' => 'a',
        'в' | 'β' | 'ß' | 'ь' => 'b',
        'с' | 'ϲ' => 'c',
        'ԁ' => 'd',
        'е' | 'ё' | 'ε' => 'e',
        'ɡ' => 'g',
        'һ' | 'н' | 'η' => 'h',
        // Drawn as one stroke, or as one in some letter case.
        'і' | 'ї' | 'ι' | 'ı' | 'ӏ' | 'l' | '1' | '|' => 'i',
        'ј' | 'ϳ' => 'j',
        'к' | 'κ' => 'k',
        'м' | 'μ' | 'µ' => 'm',
        'ո' | 'ν' => 'n',
        'о' | 'ο' | 'σ' | 'օ' | '0' => 'o',
        'р' | 'ρ' => 'p',
        'ԛ' => 'q',
        'г' => 'r',
        'ѕ' => 's',
        'т' | 'τ' => 't',
        'υ' | 'ս' => 'u',
        'ѵ' => 'v',
        'ԝ' | 'ω' => 'w',
        'х' | 'χ' => 'x',
        'у' | 'γ' => 'y',
        'ζ' => 'z',
        '‐'..='―' | '−' | '﹣' => '-',
        '‘' | '’' | 'ʼ' | '`' | '´' => '\'',
        other => other,
    }
}
