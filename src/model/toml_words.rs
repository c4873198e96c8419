//! The sentences of the reader of configuration files, in Ohmwright's own words.

use super::words;

/// A sentence, and what to do.
pub fn in_own_words(message: &str) -> (String, Option<String>) {
    let message = message.trim().replace('\n', " ");
    let quoted = ticked(&message);
    let known = quoted.get(1..).unwrap_or_default();
    if message.starts_with("unknown field ") {
        let Some(name) = quoted.first() else { return (message, None) };
        return (format!("nothing is called `{name}` here"), Some(one_of(name, known)));
    }
    if message.starts_with("unknown variant ") {
        let Some(name) = quoted.first() else { return (message, None) };
        // Of short words a slip may be either: `of` is no more `on` than `off`.
        let hint = if name.chars().count() < 4 { all_of(known) } else { one_of(name, known) };
        return (format!("`{name}` is not one of the words allowed here"), Some(hint));
    }
    if message.starts_with("missing field ") {
        let Some(name) = quoted.first() else { return (message, None) };
        return (format!("there is no `{name}` here"), Some(format!("add a line `{name} = \u{2026}`")));
    }
    if message.starts_with("data did not match any variant") {
        let hint =
            "an answer is a text in quotation marks, a number, true or false, a list of them, or { skip = \"why\" }";
        return ("this can't be an answer".to_owned(), Some(hint.to_owned()));
    }
    let of_a_kind = message.strip_prefix("invalid type: ").or_else(|| message.strip_prefix("invalid value: "));
    if let Some((found, wanted)) = of_a_kind.and_then(|rest| rest.rsplit_once(", expected ")) {
        return (format!("{} is not {}", found_words(found), wanted_words(wanted)), None);
    }
    (message, None)
}

/// The text between `backticks`.
fn ticked(message: &str) -> Vec<&str> {
    message.split('`').skip(1).step_by(2).collect()
}

fn one_of(name: &str, known: &[&str]) -> String {
    match words::nearest(name, known.iter().copied()) {
        Some(nearest) => format!("did you mean `{nearest}`?"),
        None => all_of(known),
    }
}

fn all_of(known: &[&str]) -> String {
    if known.is_empty() { "take it out".to_owned() } else { format!("use {}", words::either(known)) }
}

fn found_words(found: &str) -> String {
    let inner = ticked(found).first().copied().unwrap_or_default();
    match found.split_whitespace().next() {
        Some("string") => format!("the text {}", found.trim_start_matches("string ")),
        Some("integer" | "boolean" | "floating") => format!("`{inner}`"),
        Some("sequence") => "a list".to_owned(),
        Some("map") => "a table".to_owned(),
        _ => found.to_owned(),
    }
}

fn wanted_words(wanted: &str) -> String {
    match wanted {
        "u8" | "u16" | "u32" | "u64" | "usize" => "a whole number from 0 on",
        "i8" | "i16" | "i32" | "i64" | "isize" => "a whole number",
        "f32" | "f64" => "a number",
        "a string" | "string" => "a text in quotation marks",
        "a boolean" => "true or false",
        "a sequence" => "a list, as [\"one\", \"two\"]",
        "a map" => "a table",
        other if other.starts_with("struct ") => "a table with named values",
        other if other.starts_with("variant ") || other.starts_with("string or table") => "a text in quotation marks",
        other => return other.to_owned(),
    }
    .to_owned()
}

#[cfg(test)]
mod tests {
    use super::in_own_words;

    #[test]
    fn what_the_reader_says_comes_in_plain_words() {
        for (said, title, hint) in [
            (
                "unknown field `minuets`, expected one of `title`, `minutes`",
                "nothing is called `minuets` here",
                "did you mean `minutes`?",
            ),
            (
                "unknown field `colour`, expected `title` or `minutes`",
                "nothing is called `colour` here",
                "use title or minutes",
            ),
            (
                "unknown variant `of`, expected one of `off`, `accessory`, `on`, `unknown`",
                "`of` is not one of the words allowed here",
                "use off, accessory, on or unknown",
            ),
            ("missing field `id`", "there is no `id` here", "add a line `id = \u{2026}`"),
            ("invalid value: integer `-1`, expected u32", "`-1` is not a whole number from 0 on", ""),
            ("invalid type: string \"ten\", expected f64", "the text \"ten\" is not a number", ""),
            ("invalid type: sequence, expected a string", "a list is not a text in quotation marks", ""),
            ("something else", "something else", ""),
        ] {
            let (told, what_to_do) = in_own_words(said);
            assert_eq!((told.as_str(), what_to_do.as_deref().unwrap_or("")), (title, hint));
        }
    }
}
