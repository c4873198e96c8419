//! Where a limit or a caution comes from, as a page says it.

/// What stands in procedures and rules where nothing was found to name.
const NO_SOURCE: &str = "common practice, no source";
/// The same, for the reader of a record.
const PRACTICE: &str = "shop practice";
/// An author's remarks on how a source was found: for the reviewer of the procedure, not for a report.
const REMARKS: [&str; 2] = ["from memory", "seen in summaries only"];

/// A source without its author's remarks.
///
/// ```
/// use ohmwright::report::source_words::source_words;
/// assert_eq!(source_words("29 CFR 1910.219(c), shafts (section number from memory)"), "29 CFR 1910.219(c), shafts");
/// assert_eq!(source_words("chocks: common practice, no source"), "chocks: shop practice");
/// assert_eq!(source_words("120 ohm, 10 %: ISO 11898-2, from memory; again"), "120 ohm, 10 %: ISO 11898-2; again");
/// ```
pub fn source_words(source: &str) -> String {
    let is_remark = |part: &str| REMARKS.iter().any(|remark| part.contains(remark));
    let mut text = source.replace(NO_SOURCE, PRACTICE);
    let mut from = 0;
    while let Some((start, end)) = bracket(&text, from) {
        match is_remark(&text[start..end]) {
            true => {
                text.replace_range(start..end, "");
                from = start;
            }
            false => from = end,
        }
    }
    let without = |part: &str| {
        let kept: Vec<&str> = part.split(',').filter(|clause| !is_remark(clause)).collect();
        kept.join(",").trim().to_owned()
    };
    let parts: Vec<String> = text.split(';').map(without).filter(|part| !part.is_empty()).collect();
    parts.join("; ")
}

/// The next pair of brackets, with the space before it.
fn bracket(text: &str, from: usize) -> Option<(usize, usize)> {
    let open = from + text.get(from..)?.find('(')?;
    let end = open + text[open..].find(')')? + 1;
    let start = text[..open].trim_end().len();
    Some((start.max(from), end))
}
