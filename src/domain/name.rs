//! What a person's or an animal's name may be: one line that reads as it is written.

/// The longest name that is taken from somebody, in characters.
pub const LONGEST_NAME: usize = 60;

/// Whether a character would begin another line, turn the order of what stands
/// around it, or not be seen: control characters, line and paragraph separators,
/// explicit directional formatting (Unicode Standard Annex 9), zero-width
/// spaces. Joiners are none of these: scripts and emoji need them.
#[must_use]
pub fn is_disguise(c: char) -> bool {
    c.is_control()
        || matches!(c,
            '\u{2028}' | '\u{2029}' | '\u{200B}' | '\u{200E}' | '\u{200F}' | '\u{061C}' | '\u{2060}'
            | '\u{202A}'..='\u{202E}' | '\u{2066}'..='\u{2069}' | '\u{FEFF}')
}

/// The name without spaces around it, where it is one: not empty, at most 60
/// characters, nothing in disguise.
#[must_use]
pub fn name(text: &str) -> Option<&str> {
    let text = text.trim();
    let fits = (1..=LONGEST_NAME).contains(&text.chars().count());
    (fits && !text.contains(is_disguise)).then_some(text)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_one_short_line_that_reads_as_it_is_written() {
        for text in [
            "Maren Oakhollow",
            " Łucja O'Neill-سلمى ",
            "🐈\u{200D}⬛",
            "<b>",
        ] {
            assert_eq!(name(text), Some(text.trim()));
        }
        let long = "x".repeat(61);
        for text in [
            "",
            " \u{2003}",
            "a\nb",
            "a\u{2028}b",
            "\u{202E}a",
            "a\u{200B}b",
            "a\u{0}",
            &long,
        ] {
            assert_eq!(name(text), None, "accepted: {text:?}");
        }
    }
}
