//! Amounts in words to figures: "one and a half", "half a mil", "uno coma cinco".

use super::text::{Kind, Plain, Token};
use super::time::{is_ml, number};

/// Up to so many of anything are halved in words; beyond, it is an hour ("seven and a half").
const FEW: u32 = 4;

/// Puts figures where a fraction stands in words.
pub(super) fn join(plain: &mut Plain) {
    let spoken = |token: &Token| {
        token.kind == Kind::Word
            && matches!(
                plain.text(*token),
                "half" | "medio" | "point" | "punto" | "coma" | "comma"
            )
    };
    if !plain.tokens.iter().any(spoken) {
        return;
    }
    let tokens = std::mem::take(&mut plain.tokens);
    let mut at = 0;
    while at < tokens.len() {
        let found = fraction(&Words {
            plain,
            tokens: &tokens[at..],
        });
        match found {
            Some((figure, taken, millilitres)) => {
                plain.push(Kind::Number, &figure);
                if millilitres {
                    plain.push(Kind::Word, "ml");
                }
                at += taken;
            }
            None => {
                plain.tokens.push(tokens[at]);
                at += 1;
            }
        }
    }
}

struct Words<'a> {
    plain: &'a Plain,
    tokens: &'a [Token],
}

impl<'a> Words<'a> {
    fn at(&self, place: usize) -> &'a str {
        let token = self.tokens.get(place);
        token.map_or("", |token| self.plain.text(*token))
    }

    /// The word before the first, as it stands in what is already joined.
    fn before(&self) -> &'a str {
        let token = self.plain.tokens.last();
        token.map_or("", |token| self.plain.text(*token))
    }
}

/// The figure, how many tokens said it, and whether one of them was its unit.
fn fraction(words: &Words) -> Option<(String, usize, bool)> {
    let first = words.at(0);
    if matches!(first, "half" | "medio") {
        let skipped = usize::from(matches!(words.at(1), "a" | "an"));
        let of_ml = is_ml(words.at(1 + skipped)) && number(words.before()).is_none();
        return of_ml.then(|| ("0.5".to_owned(), 1 + skipped, false));
    }
    if first == "point" && number(words.before()).is_none() {
        let (digits, taken) = digits(words, 1)?;
        return Some((format!("0.{digits}"), 1 + taken, false));
    }
    // "el mililitro y medio".
    if is_ml(first)
        && number(words.before()).is_none()
        && let Some(taken) = and_a_half(words, 1)
    {
        return Some(("1.5".to_owned(), 1 + taken, true));
    }
    let whole = match first {
        "a" | "an" => 1,
        _ => number(first)?,
    };
    if matches!(words.at(1), "point" | "punto" | "coma" | "comma") {
        let (digits, taken) = digits(words, 2)?;
        return (first != "a").then(|| (format!("{whole}.{digits}"), 2 + taken, false));
    }
    if whole > FEW {
        return None;
    }
    let figure = || format!("{whole}.5");
    if let Some(taken) = and_a_half(words, 1) {
        let elapsed = matches!(
            words.at(1 + taken),
            "hour" | "hours" | "hrs" | "hr" | "hora" | "horas" | "day" | "days" | "dia" | "dias"
        );
        let counted = !matches!(first, "a" | "an")
            && !elapsed
            && !matches!(words.before(), "at" | "las" | "la");
        return counted.then(|| (figure(), 1 + taken, false));
    }
    if is_ml(words.at(1))
        && let Some(taken) = and_a_half(words, 2)
    {
        return Some((figure(), 2 + taken, true));
    }
    None
}

/// "and a half", "y medio"; after figures "1 1/2".
fn and_a_half(words: &Words, at: usize) -> Option<usize> {
    match (words.at(at), words.at(at + 1), words.at(at + 2)) {
        ("and", "a", "half") => Some(3),
        ("and", "half", _) | ("y", "medio", _) => Some(2),
        ("half", _, _) if words.tokens[0].kind == Kind::Number => Some(1),
        _ => None,
    }
}

/// Digits behind a point, one by one: "two five" is 25.
fn digits(words: &Words, from: usize) -> Option<(String, usize)> {
    let mut digits = String::new();
    let mut taken = 0;
    while taken < 3 {
        let word = words.at(from + taken);
        let digit = match word {
            "zero" | "oh" | "cero" => 0,
            _ => match number(word) {
                Some(figure) if figure < 10 || taken == 0 => figure,
                _ => break,
            },
        };
        digits.push_str(&digit.to_string());
        taken += 1;
    }
    (taken > 0).then_some((digits, taken))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fractions_in_words_become_figures() {
        for (said, joined) in [
            ("one and a half ml", "1.5 ml"),
            ("a mil and a half", "1.5 ml"),
            ("half a mil", "0.5 mil"),
            ("medio mililitro", "0.5 mililitro"),
            ("uno y medio", "1.5"),
            ("un mililitro y medio", "1.5 ml"),
            ("el mililitro y medio", "el 1.5 ml"),
            ("uno coma cinco", "1.5"),
            ("one point two five", "1.25"),
            ("point five", "0.5"),
            ("1 1/2 ml", "1.5 ml"),
            ("1½ ml", "1.5 ml"),
            ("1 ½", "1.5"),
            ("half past seven", "half past seven"),
            ("one and a half hours ago", "one and a half hours ago"),
            ("siete y media", "siete y media"),
            ("gave half", "gave half"),
            ("at one and a half", "at one and a half"),
        ] {
            let plain = Plain::of(said);
            let words: Vec<&str> = plain.tokens.iter().map(|t| plain.text(*t)).collect();
            assert_eq!(words.join(" "), joined, "{said}");
        }
    }
}
