//! The bot's menu: one word each, for a thumb.

use super::language::Language;
use super::question::{Question, StepTopic};

/// What an entry of the menu does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Entry {
    /// When the next dose is planned.
    Next,
    /// What is left in the open vial.
    Left,
    /// The clinic's steps for mixing.
    Steps,
    /// The doses to come, for a phone's calendar.
    Calendar,
    /// How to reach the clinic.
    Clinic,
    /// What can be written.
    Help,
}

impl Entry {
    /// Every entry, in the order of the menu.
    pub const ALL: [Entry; 6] = [
        Entry::Next,
        Entry::Left,
        Entry::Steps,
        Entry::Calendar,
        Entry::Clinic,
        Entry::Help,
    ];

    /// The word in a language; English where a language has none of its own.
    /// Platforms take lower-case letters without accents only.
    pub fn word(self, language: &str) -> &'static str {
        match (self, language) {
            (Entry::Next, "es") => "proxima",
            (Entry::Left, "es") => "queda",
            (Entry::Steps, "es") => "pasos",
            (Entry::Calendar, "es") => "calendario",
            (Entry::Clinic, "es") => "clinica",
            (Entry::Help, "es") => "ayuda",
            (Entry::Next, _) => "next",
            (Entry::Left, _) => "left",
            (Entry::Steps, _) => "steps",
            (Entry::Calendar, _) => "calendar",
            (Entry::Clinic, _) => "clinic",
            (Entry::Help, _) => "help",
        }
    }

    /// The entry that a text chose, with the stroke that a platform puts before
    /// it. The calendar, which no question asks for, is found without one, too.
    pub fn chosen(text: &str) -> Option<Entry> {
        let text = text.trim().to_lowercase();
        let named = |word: &str| {
            Entry::ALL
                .into_iter()
                .find(|entry| Language::ALL.iter().any(|l| entry.word(l.code()) == word))
        };
        match text.strip_prefix('/') {
            Some("start") => Some(Entry::Help),
            Some(word) => named(word),
            None => named(&text).filter(|entry| *entry == Entry::Calendar),
        }
    }

    /// The question that it stands for; none for the calendar, which is a paper.
    pub fn question(self) -> Option<Question> {
        match self {
            Entry::Next => Some(Question::NextDose),
            Entry::Left => Some(Question::Remaining),
            Entry::Steps => Some(Question::Steps(StepTopic::Mixing)),
            Entry::Calendar => None,
            Entry::Clinic => Some(Question::ClinicContact),
            Entry::Help => Some(Question::Help),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_menu_word_is_chosen_with_its_stroke_only_and_the_calendar_without() {
        for (text, entry) in [
            ("/next", Some(Entry::Next)),
            ("/Queda ", Some(Entry::Left)),
            ("/start", Some(Entry::Help)),
            ("calendario", Some(Entry::Calendar)),
            ("left", None),
            ("/given", None),
            ("", None),
        ] {
            assert_eq!(Entry::chosen(text), entry, "{text}");
        }
    }

    #[test]
    fn every_word_is_one_that_telegram_takes() {
        // Bot API, BotCommand: 1 to 32 lower-case English letters, digits and underscores.
        for entry in Entry::ALL {
            for language in Language::ALL {
                let word = entry.word(language.code());
                assert!(
                    (1..=32).contains(&word.len()) && word.bytes().all(|b| b.is_ascii_lowercase())
                );
            }
        }
    }
}
