//! Words to what they stand for, and mistyped words to the words that were meant.

use std::collections::HashMap;
use std::sync::LazyLock;

use super::super::language::Language;
use super::concept::{C, Set};
use super::text::{Kind, Plain};
use super::time::number;
use super::{english, everyday, spanish};

/// What a word or phrase stands for in each language.
type Meanings = [Set; Language::ALL.len()];

#[derive(Default)]
struct Entry {
    alone: Meanings,
    /// The words after the first, with what the whole stands for; longest first.
    phrases: Vec<(Vec<String>, Meanings)>,
}

/// The words of every language.
pub(super) struct Lexicon {
    entries: HashMap<String, Entry>,
    /// A word less one letter, to the words it may have been.
    shortened: HashMap<String, Vec<String>>,
    /// A sound, to the one Spanish word that has it; none where several have.
    sounds: HashMap<String, Option<String>>,
}

/// A meaning found at a place in the text.
pub(super) struct Found {
    /// How many words it spans.
    pub words: usize,
    pub meaning: Set,
}

static LEXICON: LazyLock<Lexicon> = LazyLock::new(Lexicon::build);

/// Shorter words have too many neighbours to be corrected.
const SHORTEST_CORRECTED: usize = 3;

impl Lexicon {
    pub fn get() -> &'static Self {
        &LEXICON
    }

    fn build() -> Self {
        let mut lexicon = Self {
            entries: HashMap::new(),
            shortened: HashMap::new(),
            sounds: HashMap::new(),
        };
        for (language, rows) in [
            (Language::English, english::WORDS),
            (Language::Spanish, spanish::WORDS),
        ] {
            lexicon.enter_rows(rows, language);
        }
        lexicon.index_spelling();
        lexicon.index_sounds();
        for (language, rows) in [
            (Language::English, everyday::ENGLISH),
            (Language::Spanish, everyday::SPANISH),
        ] {
            lexicon.enter_rows(rows, language);
        }
        for entry in lexicon.entries.values_mut() {
            entry
                .phrases
                .sort_by_key(|(rest, _)| std::cmp::Reverse(rest.len()));
        }
        lexicon
    }

    fn enter_rows(&mut self, rows: &[(C, &str)], language: Language) {
        for (concept, words) in rows {
            for phrase in words.split_whitespace() {
                self.enter(phrase, *concept, language);
            }
        }
    }

    fn enter(&mut self, phrase: &str, concept: C, language: Language) {
        let plain = Plain::of(&phrase.replace('_', " "));
        let words: Vec<String> = plain
            .tokens
            .iter()
            .filter(|token| matches!(token.kind, Kind::Word | Kind::Number))
            .map(|token| plain.text(*token).to_owned())
            .collect();
        let Some((first, rest)) = words.split_first() else {
            return;
        };
        for word in rest {
            self.entries.entry(word.clone()).or_default();
        }
        let entry = self.entries.entry(first.clone()).or_default();
        let meanings = if rest.is_empty() {
            &mut entry.alone
        } else {
            let at = entry.phrases.iter().position(|(known, _)| known == rest);
            let at = at.unwrap_or_else(|| {
                entry.phrases.push((rest.to_vec(), Meanings::default()));
                entry.phrases.len() - 1
            });
            &mut entry.phrases[at].1
        };
        meanings[language as usize].add(concept);
    }

    fn index_spelling(&mut self) {
        let mut words: Vec<&String> = self
            .entries
            .keys()
            .filter(|word| {
                word.len() >= SHORTEST_CORRECTED && word.bytes().all(|b| b.is_ascii_lowercase())
            })
            .collect();
        words.sort();
        for word in words {
            for shorter in shortenings(word).chain([word.clone()]) {
                self.shortened
                    .entry(shorter)
                    .or_default()
                    .push(word.clone());
            }
        }
    }

    fn index_sounds(&mut self) {
        let spanish = |entry: &Entry| !entry.alone[Language::Spanish as usize].is_empty();
        let words: Vec<&String> = self
            .entries
            .iter()
            .filter(|(word, entry)| spanish(entry) && word.len() >= SHORTEST_CORRECTED)
            .map(|(word, _)| word)
            .collect();
        for word in words {
            self.sounds
                .entry(sound(word))
                .and_modify(|one| *one = None)
                .or_insert_with(|| Some(word.clone()));
        }
    }

    /// The Spanish word that sounds so and is spelled otherwise: "kedan", "mescla", "ise".
    pub fn sounded(&self, word: &str) -> Option<&str> {
        if self.knows(word) || word.len() < SHORTEST_CORRECTED {
            return None;
        }
        let one = self.sounds.get(&sound(word))?;
        one.as_deref().filter(|meant| number(meant).is_none())
    }

    pub fn knows(&self, word: &str) -> bool {
        self.entries.contains_key(word)
    }

    /// What a word stands for by itself.
    pub fn alone(&self, word: &str) -> Option<&Meanings> {
        self.entries.get(word).map(|entry| &entry.alone)
    }

    /// The word that was meant, when one slip of the thumb explains it.
    pub fn corrected(&self, word: &str) -> Option<&str> {
        if self.knows(word) || word.len() < SHORTEST_CORRECTED {
            return None;
        }
        let same = self.shortened.get(word).into_iter().flatten();
        let shorter = shortenings(word)
            .filter_map(|shorter| self.shortened.get(&shorter))
            .flatten();
        // A number is never guessed.
        same.chain(shorter)
            .filter(|meant| number(meant).is_none())
            .filter_map(|meant| Some((slip(word, meant)? * 4 + self.rarity(meant), meant)))
            .min_by(|(a, first), (b, second)| a.cmp(b).then(first.cmp(second)))
            .map(|(_, meant)| meant.as_str())
    }

    /// A word that stands for something by itself is meant more often.
    fn rarity(&self, word: &str) -> u8 {
        let other = |set: &Set| set.has(C::Other);
        match self.alone(word) {
            Some(sets) if sets.iter().any(other) => 1,
            Some(sets) if sets.iter().all(|set| set.is_empty()) => 2,
            Some(_) => 0,
            None => 3,
        }
    }

    /// Two words for one that lost its space: "gaveit".
    pub fn parted(&self, word: &str) -> Option<(&str, &str)> {
        (2..word.len().saturating_sub(1))
            .map(|at| word.split_at(at))
            .filter(|(a, b)| a.len().max(b.len()) >= 4)
            .find_map(|(a, b)| Some((self.meant(a)?, self.meant(b)?)))
    }

    /// Two words whose space slipped by one letter: "th einjection".
    pub fn shifted(&self, first: &str, second: &str) -> Option<(&str, &str)> {
        let later = first.split_at_checked(first.len().checked_sub(1)?);
        let sooner = second.split_at_checked(1);
        let with_later = later.and_then(|(rest, letter)| {
            Some((self.meant(rest)?, self.meant(&format!("{letter}{second}"))?))
        });
        with_later.or_else(|| {
            let (letter, rest) = sooner?;
            Some((self.meant(&format!("{first}{letter}"))?, self.meant(rest)?))
        })
    }

    /// The word as the lexicon holds it, when it stands for something by itself.
    fn meant(&self, word: &str) -> Option<&str> {
        let (known, entry) = self.entries.get_key_value(word)?;
        let stands = entry.alone.iter().any(|set| !set.is_empty());
        stands.then_some(known.as_str())
    }

    /// The longest phrase, else the single word, that starts at `at`.
    pub fn find(&self, words: &[&str], at: usize, language: Language) -> Option<Found> {
        let entry = self.entries.get(words[at])?;
        let following = &words[at + 1..];
        let phrase = entry.phrases.iter().find(|(rest, _)| {
            following.len() >= rest.len() && rest.iter().zip(following).all(|(a, b)| a == b)
        });
        let (words, meanings) = match phrase {
            Some((rest, meanings)) => (rest.len() + 1, meanings),
            None => (1, &entry.alone),
        };
        Some(Found {
            words,
            meaning: in_language(meanings, language),
        })
    }
}

/// The language's own meaning, else another language's.
fn in_language(meanings: &Meanings, language: Language) -> Set {
    let own = meanings[language as usize];
    if own.is_empty() {
        meanings
            .iter()
            .copied()
            .find(|set| !set.is_empty())
            .unwrap_or_default()
    } else {
        own
    }
}

/// How a Spanish word sounds, where several spellings sound the same.
fn sound(word: &str) -> String {
    let mut sound = String::with_capacity(word.len());
    let bytes = word.as_bytes();
    let mut at = 0;
    while at < bytes.len() {
        let next = bytes.get(at + 1).copied();
        let (letter, taken) = match (bytes[at], next) {
            (b'q', Some(b'u')) => ('k', 2),
            (b'c', Some(b'h')) => ('x', 2),
            (b'c', Some(b'e' | b'i')) | (b'z' | b's', _) => ('s', 1),
            (b'c' | b'k' | b'q', _) => ('k', 1),
            (b'l', Some(b'l')) | (b'y', Some(_)) => ('y', if bytes[at] == b'l' { 2 } else { 1 }),
            (b'v' | b'b', _) => ('b', 1),
            (b'g', Some(b'e' | b'i')) | (b'j', _) => ('j', 1),
            (b'h', _) => {
                at += 1;
                continue;
            }
            (other, _) => (char::from(other), 1),
        };
        sound.push(letter);
        at += taken;
    }
    sound
}

/// The word with each one of its letters left out.
fn shortenings(word: &str) -> impl Iterator<Item = String> + '_ {
    (0..word.len()).map(|gap| {
        let mut shorter = String::with_capacity(word.len());
        shorter.push_str(&word[..gap]);
        shorter.push_str(&word[gap + 1..]);
        shorter
    })
}

/// How likely `typed` is a slip for `meant`: lower is likelier, `None` is not one slip.
///
/// Short words that differ by a letter are often different words, so they must
/// keep their first letter, and another letter in place of one must lie beside
/// it on the keyboard.
fn slip(typed: &str, meant: &str) -> Option<u8> {
    let (typed, meant) = (typed.as_bytes(), meant.as_bytes());
    let front = typed.iter().zip(meant).take_while(|(a, b)| a == b).count();
    let (a, b) = (&typed[front..], &meant[front..]);
    let long = meant.len() >= 6;
    let in_the_ending = meant.len() < 8 && b.len() <= 2 && a.len() <= 2;
    if a.len() == b.len() {
        if a.len() >= 2 && a[0] == b[1] && a[1] == b[0] && a[2..] == b[2..] {
            return Some(0);
        }
        let substituted = !a.is_empty() && a[1..] == b[1..];
        if !substituted || (in_the_ending && may_inflect(typed, meant, front)) {
            return None;
        }
        let beside = are_neighbours(a[0], b[0]);
        return match (beside, front > 0) {
            (true, true) if meant.len() >= 4 => Some(2),
            (true, false) if meant.len() >= 5 => Some(3),
            (false, true) if long => Some(4),
            _ => None,
        };
    }
    if a.len() == b.len() + 1 && a[1..] == *b {
        let doubled = front > 0 && a[0] == typed[front - 1];
        return match doubled {
            true => Some(0),
            false if in_the_ending && meant.len() < 5 => None,
            false => (front > 0 && meant.len() >= 4 || long).then_some(2),
        };
    }
    if b.len() == a.len() + 1 && b[1..] == *a {
        return match front > 0 {
            true => (meant.len() >= 4).then_some(1),
            false => (meant.len() >= 5).then_some(3),
        };
    }
    None
}

/// Whether one letter for another near the end may be grammar ("pongo", "ponga";
/// "mixed", "mixes") instead of a slip.
fn may_inflect(typed: &[u8], meant: &[u8], at: usize) -> bool {
    let pair =
        |a: u8, b: u8| (typed[at] == a && meant[at] == b) || (typed[at] == b && meant[at] == a);
    let vowel = |letter: u8| b"aeiou".contains(&letter);
    if vowel(typed[at]) && vowel(meant[at]) {
        return !(pair(b'i', b'u') || (pair(b'i', b'o') && meant.len() >= 6));
    }
    at > 0 && meant[at - 1] == b'e' && (pair(b's', b'd') || pair(b's', b'e'))
}

/// Letters side by side on a QWERTY keyboard.
fn are_neighbours(a: u8, b: u8) -> bool {
    const ROWS: [&[u8]; 3] = [b"qwertyuiop", b"asdfghjkl", b"zxcvbnm"];
    let place = |letter: u8| {
        ROWS.iter()
            .enumerate()
            .find_map(|(row, keys)| Some((row, keys.iter().position(|key| *key == letter)?)))
    };
    let (Some((row, key)), Some((other_row, other_key))) = (place(a), place(b)) else {
        return false;
    };
    row.abs_diff(other_row) <= 1 && key.abs_diff(other_key) <= 1
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_slip_is_mended() {
        let lexicon = Lexicon::get();
        for (typed, meant) in [
            ("injectoin", "injection"),
            ("mornng", "morning"),
            ("syringge", "syringe"),
            ("frascoo", "frasco"),
            ("inyecciom", "inyeccion"),
            ("teh", "the"),
            ("bottlr", "bottle"),
            ("givem", "given"),
            ("fridfe", "fridge"),
            ("frasci", "frasco"),
            ("iven", "given"),
        ] {
            assert_eq!(lexicon.corrected(typed), Some(meant), "{typed}");
        }
    }

    #[test]
    fn known_and_far_words_stay() {
        let lexicon = Lexicon::get();
        for word in [
            "vial",
            "live",
            "qwertyuiop",
            "gav",
            "banana",
            "mixes",
            "pongi",
        ] {
            assert_eq!(lexicon.corrected(word), None, "{word}");
        }
    }
}
