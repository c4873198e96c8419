//! Small helpers for sentences: counts, lists, nearest names.

use super::clean::Clean;

/// `1 reading`, `3 readings`.
pub fn count(number: usize, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}

/// `1 argument`, `1 or 2 arguments`.
pub fn arguments(numbers: impl IntoIterator<Item = usize>) -> String {
    let numbers: Vec<String> = numbers.into_iter().map(|number| number.to_string()).collect();
    let one = numbers == ["1"];
    format!("{} argument{}", either(&numbers), if one { "" } else { "s" })
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

/// So much of a name's beginning is enough to know which one is meant.
const TELLING: usize = 3;

/// The name that looks most like `name`, if one does: a slip of one letter first, then the shortest that begins so.
pub fn nearest<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> Option<String> {
    let allowed = (name.chars().count() / 3).max(1) + 1;
    let known: Vec<&str> = known.into_iter().collect();
    let slipped = |candidate: &str| strsim::damerau_levenshtein(name, candidate) <= 1;
    if name.chars().count() >= TELLING && !known.iter().any(|candidate| slipped(candidate)) {
        let begun = known.iter().filter(|candidate| candidate.starts_with(name));
        if let Some(candidate) = begun.min_by_key(|candidate| (candidate.chars().count(), **candidate)) {
            return Some((*candidate).to_owned());
        }
    }
    known
        .into_iter()
        .map(|candidate| {
            // Letters that changed places are likelier than one that is missing.
            let longer = candidate.chars().count().abs_diff(name.chars().count());
            // What was begun and not ended is likelier than what begins otherwise: of `lo`, `low` and not `no`.
            (strsim::damerau_levenshtein(name, candidate), !candidate.starts_with(name), longer, candidate)
        })
        .filter(|(distance, .., candidate)| *distance <= allowed && *distance < candidate.chars().count())
        .min()
        .map(|(.., candidate)| candidate.to_owned())
}

/// `; did you mean \`x\`?`, or nothing.
pub fn did_you_mean(nearest: Option<&str>) -> String {
    nearest.map_or_else(String::new, |name| format!("; did you mean `{}`?", Clean::name(name)))
}

/// The beginning of a text that is longer than so many letters, with a sign that it goes on.
pub fn cut(mut text: String, letters: usize) -> String {
    if let Some((end, _)) = text.char_indices().nth(letters) {
        text.truncate(end);
        text.push('\u{2026}');
    }
    text
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn of_two_that_are_as_near_the_one_that_was_begun_is_meant() {
        assert_eq!(nearest("lo", ["no", "low", "ok"]).as_deref(), Some("low"));
        assert_eq!(nearest("of", ["on", "off"]).as_deref(), Some("off"));
    }

    #[test]
    fn the_beginning_of_a_name_is_enough_and_a_slip_comes_before_it() {
        let known = ["lamp", "flap_sensor", "flap_sensor_two", "signal_wire_open"];
        for (name, meant) in [
            ("flap", Some("flap_sensor")),
            ("lamb", Some("lamp")),
            ("signal_wier_open", Some("signal_wire_open")),
            ("fl", None),
            ("lam", Some("lamp")),
            ("starter", None),
        ] {
            assert_eq!(nearest(name, known).as_deref(), meant, "{name}");
        }
    }
}
