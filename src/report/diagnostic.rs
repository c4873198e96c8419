//! Draws a diagnostic: the sentence, the line of the source, the caret, what to do.

use crate::model::diagnostic::Diagnostic;
use annotate_snippets::renderer::DecorStyle;
use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet};
use std::ops::Range;

/// As text; with colours when `styled`.
pub fn render(diagnostic: &Diagnostic, width: usize, styled: bool) -> String {
    let mut groups: Vec<Group<'_>> = Vec::new();
    let title = Level::ERROR.primary_title(diagnostic.title.as_str());
    match &diagnostic.place {
        Some(place) => {
            let mut annotation = AnnotationKind::Primary.span(whole_characters(&place.text, place.range.clone()));
            if !place.label.is_empty() {
                annotation = annotation.label(place.label.as_str());
            }
            let snippet =
                Snippet::source(place.text.as_str()).path(place.file.as_str()).fold(true).annotation(annotation);
            groups.push(title.element(snippet));
        }
        None => groups.push(Group::with_title(title)),
    }
    if let Some(hint) = &diagnostic.hint {
        groups.push(Group::with_title(Level::HELP.secondary_title(hint.as_str())));
    }
    let renderer = if styled { Renderer::styled() } else { Renderer::plain() };
    renderer.decor_style(DecorStyle::Unicode).term_width(width).render(&groups)
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
        let drawn = render(&diagnostic, 80, false);
        let expected = ["error: can't add", "  ╭▸ p.rhai:2:11", "  │", "2 │ let b = a + 1.A;", "  │           ━"];
        assert_eq!(drawn.lines().take(5).map(str::trim_end).collect::<Vec<_>>(), expected);
        assert!(drawn.ends_with("help: take amperes"), "{drawn}");
    }

    #[test]
    fn a_range_that_ends_within_a_character_is_drawn() {
        let text = "# \u{e9}\u{e9}\u{e9}\n";
        for range in [0..3, 3..4, 5..5, 7..900] {
            let drawn = render(&Diagnostic::at("a.toml", text, range, "no"), 80, false);
            assert!(drawn.contains("a.toml:1:"), "{drawn}");
        }
    }
}
