//! Small helpers for sentences: counts, lists, nearest names.

/// `1 reading`, `3 readings`.
pub fn count(number: usize, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}

/// `a, b or c`.
pub fn either(words: &[impl AsRef<str>]) -> String {
    joined(words, "or")
}

/// `a, b and c`.
pub fn all(words: &[impl AsRef<str>]) -> String {
    joined(words, "and")
}

fn joined(words: &[impl AsRef<str>], last: &str) -> String {
    match words {
        [] => String::new(),
        [one] => one.as_ref().to_owned(),
        [rest @ .., end] => {
            let rest: Vec<_> = rest.iter().map(AsRef::as_ref).collect();
            format!("{} {last} {}", rest.join(", "), end.as_ref())
        }
    }
}

/// The name that looks most like `name`, if one does.
pub fn nearest<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> Option<String> {
    let allowed = (name.chars().count() / 3).max(1) + 1;
    known
        .into_iter()
        .map(|candidate| {
            // Letters that changed places are likelier than one that is missing.
            let longer = candidate.chars().count().abs_diff(name.chars().count());
            (strsim::damerau_levenshtein(name, candidate), longer, candidate)
        })
        .filter(|(distance, _, candidate)| *distance <= allowed && *distance < candidate.chars().count())
        .min()
        .map(|(.., candidate)| candidate.to_owned())
}

/// `; did you mean \`x\`?`, or nothing.
pub fn did_you_mean(nearest: Option<&str>) -> String {
    nearest.map_or_else(String::new, |name| format!("; did you mean `{name}`?"))
}
