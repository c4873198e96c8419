//! The page's style.

/// As CSS; screen and paper, light and dark, wide and narrow.
pub const STYLE: &str = include_str!("style.css");

#[cfg(test)]
mod tests {
    use super::STYLE;
    use std::collections::BTreeMap;

    fn colors(block: &str) -> BTreeMap<&str, [f64; 3]> {
        let channel = |text: &str, at: usize| {
            let value = f64::from(u8::from_str_radix(&text[at..at + 2], 16).unwrap()) / 255.0;
            if value <= 0.040_45 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) }
        };
        let declarations = block.split([';', '{']).filter_map(|part| part.trim().strip_prefix("--")?.split_once(": #"));
        declarations.map(|(name, hex)| (name, [1, 3, 5].map(|at| channel(&format!("#{hex}"), at)))).collect()
    }

    /// Contrast ratio as in WCAG 2.2.
    fn contrast(one: [f64; 3], other: [f64; 3]) -> f64 {
        let luminance = |[red, green, blue]: [f64; 3]| 0.2126 * red + 0.7152 * green + 0.0722 * blue;
        let (one, other) = (luminance(one), luminance(other));
        (one.max(other) + 0.05) / (one.min(other) + 0.05)
    }

    #[test]
    fn text_and_marks_stand_out_in_both_themes() {
        let themes: Vec<_> = STYLE.split(":root").skip(1).map(|rest| colors(rest.split_once('}').unwrap().0)).collect();
        assert_eq!(themes.len(), 2);
        assert!((contrast([0.0; 3], [1.0; 3]) - 21.0).abs() < 1e-9);
        for theme in themes {
            for (text, grounds) in [
                ("ink", &["paper", "wash", "band"][..]),
                ("faint", &["paper", "wash"]),
                ("bad", &["paper", "bad-wash"]),
                ("unsure", &["paper", "unsure-wash"]),
                ("line", &["paper", "band"]),
            ] {
                for ground in grounds {
                    let ratio = contrast(theme[text], theme[*ground]);
                    assert!(ratio >= 4.5, "{text} on {ground}: {ratio:.2}");
                }
            }
        }
    }
}
