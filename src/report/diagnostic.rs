//! Draws a diagnostic: the sentence, the line of the source, the caret, what to do.

use crate::model::clean::{self, Clean};
use crate::model::diagnostic::Diagnostic;
use annotate_snippets::renderer::DecorStyle;
use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet};
use std::borrow::Cow;
use std::fmt;
use std::ops::Range;

/// A diagnostic as a screen shows it: styles of our own, and of everything else clean text only.
pub struct Drawn(String);

impl fmt::Display for Drawn {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// As text; with colors when `styled`.
pub fn render(diagnostic: &Diagnostic, width: usize, styled: bool) -> Drawn {
    let title = clean::lines(&diagnostic.title);
    let hint = diagnostic.hint.as_deref().map(clean::lines);
    let place = diagnostic.place.as_ref().map(|place| {
        let (text, range) = clean_source(&place.text, place.range.clone());
        (text, range, Clean::line(&place.label), Clean::name(&place.file))
    });
    let mut groups: Vec<Group<'_>> = Vec::new();
    let title = Level::ERROR.primary_title(title);
    match &place {
        Some((text, range, label, file)) => {
            let mut annotation = AnnotationKind::Primary.span(range.clone());
            if !label.as_str().is_empty() {
                annotation = annotation.label(label.as_str());
            }
            let snippet = Snippet::source(&**text).path(file.as_str()).fold(true).annotation(annotation);
            groups.push(title.element(snippet));
        }
        None => groups.push(Group::with_title(title)),
    }
    if let Some(hint) = hint {
        groups.push(Group::with_title(Level::HELP.secondary_title(hint)));
    }
    let renderer = if styled { Renderer::styled() } else { Renderer::plain() };
    Drawn(renderer.decor_style(DecorStyle::Unicode).term_width(width).render(&groups))
}

/// A source as it may be shown, and where in it the range is then.
fn clean_source(text: &str, range: Range<usize>) -> (Cow<'_, str>, Range<usize>) {
    let Range { start, end } = whole_characters(text, range);
    let parts = [&text[..start], &text[start..end], &text[end..]].map(clean::lines);
    let [before, within, _] = &parts;
    let range = before.len()..before.len() + within.len();
    let is_clean = parts.iter().all(|part| matches!(part, Cow::Borrowed(_)));
    (if is_clean { Cow::Borrowed(text) } else { Cow::Owned(parts.concat()) }, range)
}

/// The range within the text, from and to the ends of characters.
fn whole_characters(text: &str, range: Range<usize>) -> Range<usize> {
    let mut end = range.end.min(text.len());
    let mut start = range.start.min(end);
    while !text.is_char_boundary(start) {
        start -= 1;
    }
    while !text.is_char_boundary(end) {
        end += 1;
    }
    start..end
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_caret_stands_under_the_word() {
        let text = "let a = 5.V;\nlet b = a + 1.A;\n";
        let at = text.find('+').unwrap();
        let diagnostic = Diagnostic::at("p.rhai", text, at..at + 1, "can't add").with_hint("take amperes");
        let drawn = render(&diagnostic, 80, false).to_string();
        let expected = ["error: can't add", "  ╭▸ p.rhai:2:11", "  │", "2 │ let b = a + 1.A;", "  │           ━"];
        assert_eq!(drawn.lines().take(5).map(str::trim_end).collect::<Vec<_>>(), expected);
        assert!(drawn.ends_with("help: take amperes"), "{drawn}");
    }

    #[test]
    fn a_range_that_ends_within_a_character_is_drawn() {
        let text = "# \u{e9}\u{e9}\u{e9}\n";
        for range in [0..3, 3..4, 5..5, 7..900] {
            let drawn = render(&Diagnostic::at("a.toml", text, range, "no"), 80, false).to_string();
            assert!(drawn.contains("a.toml:1:"), "{drawn}");
        }
    }

    #[test]
    fn the_caret_stands_under_the_word_behind_what_can_not_be_shown() {
        let text = "let a = \"\u{202e}\u{1b}[2J\u{9b}\"; \u{200b}wrong\r\n";
        let at = text.find("wrong").unwrap();
        let diagnostic = Diagnostic::at("\u{1b}]0;p\u{7}.rhai", text, at..at + 5, "\u{9b}31m").with_hint("\u{feff}do");
        let drawn = render(&diagnostic, 120, false).to_string();
        assert!(!drawn.contains(|c: char| c != '\n' && clean::is_hidden(c)), "{drawn:?}");
        let lines: Vec<&str> = drawn.lines().collect();
        assert_eq!(lines[0], "error: \\u{9b}31m");
        assert!(lines[1].contains("\\u{1b}]0;p\\u{7}.rhai:1:"), "{drawn}");
        let column = |line: &str, what: &str| line.find(what).map(|at| line[..at].chars().count());
        assert_eq!(column(lines[3], "wrong"), column(lines[4], "\u{2501}"), "{drawn}");
    }
}
