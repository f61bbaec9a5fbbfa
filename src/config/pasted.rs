//! Undoes what chat programs do to a pasted TOML text. Lines stay where they
//! are, so that a mistake names the line that its writer sees.

/// The text as it was before a chat program made it pretty.
pub(super) fn plain(text: &str) -> String {
    let text = text.replace("\r\n", "\n").replace('\r', "\n");
    let text: String = text.chars().filter_map(plain_character).collect();
    // Quotes of texts over several lines would be taken apart line by line.
    let several_lines = text.contains("\"\"\"") || text.contains("'''");
    let lines: Vec<String> = text
        .split('\n')
        .map(|line| match line {
            fence if fence.trim_start().starts_with("```") => String::new(),
            line if several_lines => line.to_owned(),
            line => straighten(line),
        })
        .collect();
    lines.join("\n")
}

fn plain_character(c: char) -> Option<char> {
    match c {
        // Zero width space, direction marks, word joiner, byte order mark.
        '\u{200B}' | '\u{200E}' | '\u{200F}' | '\u{2060}' | '\u{FEFF}' => None,
        '\t' | '\u{A0}' | '\u{2000}'..='\u{200A}' | '\u{202F}' | '\u{205F}' | '\u{3000}' => {
            Some(' ')
        }
        // Hyphen, non-breaking hyphen, minus sign: a date holds the plain one.
        '\u{2010}' | '\u{2011}' | '\u{2212}' => Some('-'),
        c => Some(c),
    }
}

/// Makes the typographic quotes of a line straight where they delimit a text,
/// and leaves those within a text (the apostrophe of a name) as they are.
fn straighten(line: &str) -> String {
    let mut out = String::with_capacity(line.len());
    let mut rest = line;
    while let Some(c) = rest.chars().next() {
        let after = &rest[c.len_utf8()..];
        let Some(quote) = Quote::opened_by(c) else {
            if c == '#' {
                out.push_str(rest);
                return out;
            }
            out.push(c);
            rest = after;
            continue;
        };
        let Some((inner, behind)) = quote.close(after) else {
            // Never closed: TOML's own complaint about the line is the clearest.
            out.push_str(rest);
            return out;
        };
        if quote.is_straight(c) {
            out.push_str(&rest[..rest.len() - behind.len()]);
        } else {
            out.push('"');
            push_escaped(&mut out, inner);
            out.push('"');
        }
        rest = behind;
    }
    out
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Quote {
    StraightDouble,
    StraightSingle,
    Double,
    Single,
}

impl Quote {
    fn opened_by(c: char) -> Option<Quote> {
        match c {
            '"' => Some(Quote::StraightDouble),
            '\'' => Some(Quote::StraightSingle),
            c if is_double(c) => Some(Quote::Double),
            c if is_single(c) => Some(Quote::Single),
            _ => None,
        }
    }

    fn is_straight(self, opening: char) -> bool {
        matches!(opening, '"' | '\'')
            && matches!(self, Quote::StraightDouble | Quote::StraightSingle)
    }

    /// The text up to the closing quote, and what comes behind that quote.
    fn close(self, text: &str) -> Option<(&str, &str)> {
        let mut escaped = false;
        for (at, c) in text.char_indices() {
            let behind = &text[at + c.len_utf8()..];
            let closes = match self {
                Quote::StraightDouble => c == '"' && !escaped,
                Quote::StraightSingle => c == '\'',
                Quote::Double => (c == '"' || is_double(c)) && delimits(behind),
                Quote::Single => (c == '\'' || is_single(c)) && delimits(behind),
            };
            if closes {
                return Some((&text[..at], behind));
            }
            escaped = c == '\\' && !escaped;
        }
        None
    }
}

fn is_double(c: char) -> bool {
    matches!(c, '“' | '”' | '„' | '‟' | '«' | '»' | '″')
}

fn is_single(c: char) -> bool {
    matches!(c, '‘' | '’' | '‚' | '‛' | '′')
}

/// Whether what comes behind a quote is what follows a text in TOML.
fn delimits(behind: &str) -> bool {
    let next = behind.trim_start().chars().next();
    matches!(next, None | Some(',' | ']' | '}' | '#' | '=' | '.'))
}

fn push_escaped(out: &mut String, inner: &str) {
    for c in inner.chars() {
        if matches!(c, '"' | '\\') {
            out.push('\\');
        }
        out.push(c);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn delimiting_quotes_become_straight() {
        assert_eq!(plain("name = “Juniper”"), "name = \"Juniper\"");
        assert_eq!(plain("name = „Juniper“ # dog"), "name = \"Juniper\" # dog");
        assert_eq!(plain("name = ‘Juniper’"), "name = \"Juniper\"");
        assert_eq!(
            plain("times = [“07:30”, «19:30»]"),
            "times = [\"07:30\", \"19:30\"]"
        );
        assert_eq!(plain("name = “Juniper\""), "name = \"Juniper\"");
    }

    #[test]
    fn quotes_within_a_text_stay() {
        for text in [
            "name = \"O’Hara\"",
            "name = \"the “big” one\"",
            "name = \"a \\\" “b\"",
            "name = 'it“s'",
            "# “a comment’s quotes”",
        ] {
            assert_eq!(plain(text), text);
        }
        assert_eq!(plain("name = “O’Hara”"), "name = \"O’Hara\"");
        assert_eq!(plain("name = ‘O’Hara’"), "name = \"O’Hara\"");
        assert_eq!(plain("name = “a \"b\" c”"), "name = \"a \\\"b\\\" c\"");
    }

    #[test]
    fn spaces_fences_and_line_ends_become_plain_and_lines_keep_their_place() {
        assert_eq!(plain("a\u{A0}=\t1\u{200B}"), "a = 1");
        assert_eq!(plain("```toml\r\n[a]\r\n```"), "\n[a]\n");
        assert_eq!(plain("2026\u{2011}03\u{2011}07"), "2026-03-07");
        assert_eq!(plain("\u{FEFF}[a]"), "[a]");
    }

    #[test]
    fn a_quote_that_never_closes_is_left_to_toml() {
        assert_eq!(plain("name = “Juniper"), "name = “Juniper");
    }

    proptest::proptest! {
        #[test]
        fn lines_are_neither_made_nor_lost(text in "[\\PC\n“”‘’\"'`#=\\[\\],]{0,200}") {
            proptest::prop_assert_eq!(plain(&text).split('\n').count(), text.split('\n').count());
        }

        #[test]
        fn plain_text_stays_as_it_is(text in "[a-z0-9 =\\[\\]\"\n]{0,80}") {
            proptest::prop_assert_eq!(plain(&text), text);
        }
    }
}
