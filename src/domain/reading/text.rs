//! Raw text to plain tokens: lower case, no accents, no emoji, one spelling of numbers.

use super::fractions;

/// What a token is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    /// Letters a to z only.
    Word,
    /// Digits with at most one decimal point: `1.5`, `7`, `1930`.
    Number,
    /// Digits with a colon: `7:30`.
    Clock,
    /// The end of a sentence or a line.
    Stop,
    /// A comma, a dash, a bracket: a pause inside a sentence.
    Pause,
    /// A question mark.
    Question,
    /// Letters of another script: something was said that cannot be read.
    Foreign,
}

/// One token of a message.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Token {
    pub kind: Kind,
    start: u32,
    end: u32,
}

/// A message in plain tokens.
#[derive(Debug, Default)]
pub(super) struct Plain {
    buffer: String,
    pub tokens: Vec<Token>,
}

/// A message beyond this many characters is read only up to here; a chat
/// platform's own limit is lower (Telegram: 4096).
const LONGEST: usize = 8_192;

/// "7.32", "19.35": a time, where no unit follows and it is no usual amount.
fn is_time_with_a_point(number: &str, after: &[u8]) -> bool {
    let Some((hour, minute)) = number.split_once('.') else {
        return false;
    };
    let hour: u8 = hour.parse().unwrap_or(u8::MAX);
    let minutes = minute.len() == 2 && minute.parse::<u8>().is_ok_and(|minute| minute < 60);
    let after = after.trim_ascii_start();
    let unit = [
        "ml", "mil", "m l", "cc", "kg", "kilo", "lb", "mg", "%", "eur", "dollar", "peso",
    ];
    (5..=23).contains(&hour)
        && minutes
        && !unit.iter().any(|unit| after.starts_with(unit.as_bytes()))
}

/// Words as people write them in a chat, in full; no other word is spelled like one of these.
fn written_out(word: &str) -> &str {
    match word {
        "q" | "qe" => "que",
        "pal" | "pa" => "para",
        "ur" => "your",
        "wot" | "wht" => "what",
        "nxt" => "next",
        "thru" => "through",
        "whch" | "wich" => "which",
        "abt" => "about",
        "t" => "te",
        "porfis" | "porfi" => "porfa",
        _ => word,
    }
}

impl Plain {
    pub fn of(text: &str) -> Self {
        let mut plain = Self {
            buffer: String::with_capacity(text.len() + 8),
            tokens: Vec::with_capacity(text.len() / 4 + 4),
        };
        let folded = fold(text);
        let bytes = folded.as_bytes();
        let mut at = 0;
        while at < bytes.len() {
            at = match bytes[at] {
                b'a'..=b'z' => plain.take_word(bytes, at),
                b'0'..=b'9' => plain.take_number(bytes, at),
                // "use-by": one word in two parts.
                b'-' if is_letter(previous(bytes, at)) && is_letter(bytes.get(at + 1)) => at + 1,
                b'.' if is_digit(bytes.get(at + 1)) && !is_digit(previous(bytes, at)) => {
                    plain.take_number(bytes, at)
                }
                other => {
                    plain.take_mark(other);
                    at + 1
                }
            };
        }
        fractions::join(&mut plain);
        plain
    }

    pub fn text(&self, token: Token) -> &str {
        &self.buffer[token.start as usize..token.end as usize]
    }

    pub(super) fn push(&mut self, kind: Kind, text: &str) {
        let start = self.buffer.len() as u32;
        self.buffer.push_str(text);
        self.tokens.push(Token {
            kind,
            start,
            end: self.buffer.len() as u32,
        });
    }

    fn take_word(&mut self, bytes: &[u8], from: usize) -> usize {
        let mut word = String::with_capacity(12);
        let mut at = from;
        while let Some(&byte) = bytes.get(at) {
            match byte {
                b'a'..=b'z' => {
                    let doubled = word.len() >= 2
                        && word.as_bytes()[word.len() - 1] == byte
                        && word.as_bytes()[word.len() - 2] == byte;
                    if !doubled {
                        word.push(byte as char);
                    }
                    at += 1;
                }
                b'\'' if matches!(bytes.get(at + 1), Some(b'a'..=b'z')) => {
                    let rest = &bytes[at + 1..];
                    let possessive = rest[0] == b's' && !matches!(rest.get(1), Some(b'a'..=b'z'));
                    if possessive && !STAND_BEFORE_IS.contains(&word.as_str()) {
                        at += 2;
                        break;
                    }
                    at += 1;
                }
                // "p.m." and "a.m." lose their points; other words keep their full stop.
                b'.' if at == from + 1 && matches!(word.as_str(), "a" | "p") => {
                    let space = usize::from(bytes.get(at + 1) == Some(&b' '));
                    let m = at + 1 + space;
                    if bytes.get(m) == Some(&b'm') && !matches!(bytes.get(m + 1), Some(b'a'..=b'z'))
                    {
                        word.push('m');
                        at = m + 1 + usize::from(bytes.get(m + 1) == Some(&b'.'));
                    }
                    break;
                }
                _ => break,
            }
        }
        match (word.as_str(), bytes.get(at)) {
            ("w", Some(b'/')) if bytes.get(at + 1) == Some(&b'o') => {
                self.push(Kind::Word, "without");
                return at + 2;
            }
            ("w", Some(b'/')) => {
                self.push(Kind::Word, "with");
                return at + 1;
            }
            ("no", next) if self.ends_in_a_vial() => {
                let point = usize::from(next == Some(&b'.'));
                let space = usize::from(bytes.get(at + point) == Some(&b' '));
                if is_digit(bytes.get(at + point + space)) {
                    self.push(Kind::Word, "number");
                    return at + point;
                }
            }
            _ => {}
        }
        self.push(Kind::Word, written_out(&word));
        at
    }

    /// "vial no. 2" numbers the vial.
    fn ends_in_a_vial(&self) -> bool {
        const VIALS: [&str; 5] = ["vial", "bottle", "btl", "frasco", "botella"];
        self.tokens
            .last()
            .is_some_and(|last| VIALS.contains(&self.text(*last)))
    }

    fn take_number(&mut self, bytes: &[u8], from: usize) -> usize {
        if let Some(part) = written_fraction(&bytes[from..]) {
            self.push(Kind::Word, part);
            return from + 3;
        }
        let mut number = String::with_capacity(6);
        let mut kind = Kind::Number;
        let mut at = from;
        if bytes[at] == b'.' {
            number.push('0');
        }
        while let Some(&byte) = bytes.get(at) {
            let before_digit = is_digit(bytes.get(at + 1));
            match byte {
                b'0'..=b'9' => number.push(byte as char),
                b'.' | b',' if before_digit && kind == Kind::Number && !number.contains('.') => {
                    number.push('.');
                }
                b':' | b'h' if before_digit && kind == Kind::Number && !number.contains('.') => {
                    number.push(':');
                    kind = Kind::Clock;
                }
                _ => break,
            }
            at += 1;
        }
        if kind == Kind::Number && is_time_with_a_point(&number, &bytes[at..]) {
            number = number.replace('.', ":");
            kind = Kind::Clock;
        }
        self.push(kind, &number);
        at
    }

    fn take_mark(&mut self, mark: u8) {
        match mark {
            b'?' => self.push(Kind::Question, "?"),
            b'.' | b'!' | b';' | b'\n' => self.push(Kind::Stop, "."),
            b',' | b'(' | b')' | b':' | b'-' | b'>' | b'/' => self.push(Kind::Pause, ","),
            b'#' => self.push(Kind::Word, "number"),
            b'&' => self.push(Kind::Word, "and"),
            b'%' => self.push(Kind::Word, "percent"),
            FOREIGN
                if !self
                    .tokens
                    .last()
                    .is_some_and(|last| last.kind == Kind::Foreign) =>
            {
                self.push(Kind::Foreign, "~");
            }
            _ => {}
        }
    }
}

/// After these an apostrophe and s means "is"; after others it is possessive
/// or an "is" that carries nothing ("the vial's in the bin").
const STAND_BEFORE_IS: [&str; 11] = [
    "he", "she", "it", "that", "what", "when", "who", "where", "how", "there", "let",
];

const FOREIGN: u8 = b'~';

/// "1/2", "3/4", and not a date or a score.
fn written_fraction(bytes: &[u8]) -> Option<&'static str> {
    let part = match bytes.get(..3)? {
        b"1/2" => "half",
        b"1/3" | b"2/3" | b"1/4" | b"3/4" => "part",
        _ => return None,
    };
    (!matches!(bytes.get(3), Some(b'0'..=b'9' | b'/'))).then_some(part)
}

fn is_letter(byte: Option<&u8>) -> bool {
    byte.is_some_and(u8::is_ascii_lowercase)
}

fn is_digit(byte: Option<&u8>) -> bool {
    byte.is_some_and(u8::is_ascii_digit)
}

fn previous(bytes: &[u8], at: usize) -> Option<&u8> {
    at.checked_sub(1).and_then(|before| bytes.get(before))
}

/// Lower-case ASCII; emoji that say something become words, others go.
fn fold(text: &str) -> String {
    let mut folded = String::with_capacity(text.len());
    let mut chars = text.chars().take(LONGEST).peekable();
    while let Some(char) = chars.next() {
        // The accent is all that tells "si" (if) from "sí" (yes).
        let word_ends = !chars.peek().is_some_and(|next| next.is_alphanumeric());
        if matches!(char, 'í' | 'Í') && word_ends && ends_in_lone_s(&folded) {
            folded.push_str("ip");
        } else {
            fold_char(char, &mut folded);
        }
    }
    folded
}

fn ends_in_lone_s(folded: &str) -> bool {
    let mut before = folded.bytes().rev();
    before.next() == Some(b's')
        && !before
            .next()
            .is_some_and(|byte| byte.is_ascii_alphanumeric())
}

fn fold_char(char: char, into: &mut String) {
    if char.is_ascii() {
        match char {
            '~' => {}
            '`' => into.push('\''),
            '\r' => into.push('\n'),
            _ => into.push(char.to_ascii_lowercase()),
        }
        return;
    }
    match char {
        'á' | 'à' | 'â' | 'ä' | 'ã' | 'å' | 'Á' | 'À' | 'Â' | 'Ä' | 'Ã' | 'Å' | 'ª' => {
            into.push('a')
        }
        'é' | 'è' | 'ê' | 'ë' | 'É' | 'È' | 'Ê' | 'Ë' => into.push('e'),
        'í' | 'ì' | 'î' | 'ï' | 'Í' | 'Ì' | 'Î' | 'Ï' | 'ı' => into.push('i'),
        'ó' | 'ò' | 'ô' | 'ö' | 'õ' | 'ø' | 'Ó' | 'Ò' | 'Ô' | 'Ö' | 'Õ' | 'Ø' | 'º' => {
            into.push('o')
        }
        'ú' | 'ù' | 'û' | 'ü' | 'Ú' | 'Ù' | 'Û' | 'Ü' => into.push('u'),
        'ñ' | 'Ñ' => into.push('n'),
        'ç' | 'Ç' => into.push('c'),
        'ý' | 'ÿ' | 'Ý' => into.push('y'),
        'ß' => into.push_str("ss"),
        'æ' | 'Æ' => into.push_str("ae"),
        'œ' | 'Œ' => into.push_str("oe"),
        '½' if into.ends_with(|before: char| before.is_ascii_digit()) => into.push_str(".5"),
        '½' => into.push_str(" half "),
        '¼' | '¾' => into.push_str(" part "),
        '’' | '‘' | 'ʼ' | '´' | '＇' => into.push('\''),
        '¿' | '¡' | '…' | '。' => into.push('.'),
        '？' => into.push('?'),
        '–' | '—' | '→' | '，' | '、' => into.push(','),
        '：' => into.push(':'),
        '０'..='９' => into.push((b'0' + (char as u32 - '０' as u32) as u8) as char),
        'ａ'..='ｚ' => into.push((b'a' + (char as u32 - 'ａ' as u32) as u8) as char),
        'Ａ'..='Ｚ' => into.push((b'a' + (char as u32 - 'Ａ' as u32) as u8) as char),
        '👍' | '✅' | '✔' | '☑' | '👌' | '🆗' => into.push_str(" emojiyes "),
        '👎' | '❌' | '✖' | '🚫' => into.push_str(" emojino "),
        '🤮' | '🤢' => into.push_str(" vomited "),
        '🩸' => into.push_str(" blood "),
        '🤒' | '🤕' => into.push_str(" sick "),
        '🆘' | '🚑' => into.push_str(" sos "),
        // Marks on the letter before, joiners and variation selectors carry no word.
        '\u{300}'..='\u{36f}' | '\u{200b}'..='\u{200f}' | '\u{2060}' | '\u{feff}' | '\u{ad}' => {}
        '\u{fe00}'..='\u{fe0f}' | '\u{1f3fb}'..='\u{1f3ff}' => {}
        _ if char.is_alphanumeric() => into.push(FOREIGN as char),
        _ => into.push(' '),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tokens(text: &str) -> Vec<String> {
        let plain = Plain::of(text);
        plain
            .tokens
            .iter()
            .map(|token| plain.text(*token).to_owned())
            .collect()
    }

    #[test]
    fn numbers_have_one_spelling() {
        assert_eq!(
            tokens("1,5ml .5 mL 19h30 7:05p.m."),
            ["1.5", "ml", "0.5", "ml", "19:30", "7:05", "pm"]
        );
        assert_eq!(
            tokens("vial no. 2 w/ 3"),
            ["vial", "number", "2", "with", "3"]
        );
        assert_eq!(tokens("no. 2 gave it"), ["no", ".", "2", "gave", "it"]);
    }

    #[test]
    fn accents_case_and_apostrophes_fall_away() {
        assert_eq!(
            tokens("DIDN’T Mézclé Vial's he's"),
            ["didnt", "mezcle", "vial", "hes"]
        );
    }

    #[test]
    fn a_decomposed_accent_is_the_same_letter() {
        assert_eq!(tokens("inyeccio\u{301}n"), ["inyeccion"]);
    }

    #[test]
    fn another_script_stays_visible() {
        assert_eq!(tokens("given 它吐了"), ["given", "~"]);
    }

    #[test]
    fn emoji_that_speak_become_words() {
        assert_eq!(tokens("gave it🎉🤮"), ["gave", "it", "vomited"]);
    }
}
