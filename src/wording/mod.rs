//! From a message as data to its text and buttons in a language.
//!
//! Every sentence lives in `config/wording/CODE.ftl` (Project Fluent syntax).
//! The files are built into the program; adding a language is adding a file
//! (and a rebuild). A language is complete or nothing loads.

mod check;
pub mod contract;
mod format;
mod gallery;
mod language;
mod phrase;
mod variables;

pub use gallery::gallery;
use include_dir::{Dir, include_dir};
use language::Language;
pub use phrase::Phrase;

use crate::domain::menu::Entry;
use crate::domain::message::{Label, Message, Value};
use crate::domain::quantity::Volume;
use chrono::{NaiveDate, NaiveTime, Weekday};

static FILES: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/config/wording");

/// The language for a household whose own is not among the files.
const FALLBACK: &str = "en";

/// All that is wrong with the files, in one line.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("wording: {}", .0.join("; "))]
pub struct WordingError(pub Vec<String>);

/// A message as a person reads it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rendered {
    /// Plain text, no markup; lines end in a line feed, no two in a row except
    /// within the clinic's own words.
    pub text: String,
    /// The buttons, in order.
    pub buttons: Vec<RenderedButton>,
}

/// A button as a person sees it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RenderedButton {
    /// What it says.
    pub label: String,
    /// What the platform hands back, from `Tap::encode`.
    pub data: String,
}

/// Every sentence in every language.
pub struct Wording {
    languages: Vec<Language>,
    fallback: usize,
}

impl Wording {
    /// Reads the files that are built in.
    ///
    /// # Errors
    /// One line with everything that is missing or mistaken in any of them.
    pub fn load() -> Result<Wording, WordingError> {
        Wording::from_files(FILES.files().filter_map(|file| {
            let code = file.path().file_stem()?.to_str()?;
            let is_wording = file.path().extension()? == "ftl";
            is_wording.then(|| (code, file.contents_utf8().unwrap_or_default()))
        }))
    }

    /// Reads files given as language code (such as `en`) and text.
    ///
    /// # Errors
    /// As [`Wording::load`]; English has to be among them.
    pub fn from_files<'a>(
        files: impl IntoIterator<Item = (&'a str, &'a str)>,
    ) -> Result<Wording, WordingError> {
        let mut languages = Vec::new();
        let mut mistakes = Vec::new();
        for (code, text) in files {
            match Language::read(code, text) {
                Ok(language) => languages.push(language),
                Err(found) => mistakes.push(format!("{code}.ftl: {}", found.join(", "))),
            }
        }
        if !mistakes.is_empty() {
            return Err(WordingError(mistakes));
        }
        languages.sort_by(|a, b| a.code().cmp(b.code()));
        let fallback = languages
            .iter()
            .position(|language| language.code() == FALLBACK)
            .ok_or_else(|| WordingError(vec![format!("there is no {FALLBACK}.ftl")]))?;
        Ok(Wording {
            languages,
            fallback,
        })
    }

    /// The codes of the languages, in alphabetical order.
    pub fn languages(&self) -> Vec<&str> {
        self.languages.iter().map(Language::code).collect()
    }

    /// The message in a language, or in English where there is no such language.
    ///
    /// Never fails: a message that breaks the contract is logged and shows “?”
    /// in place of the missing fact, because a reminder must go out.
    pub fn render(&self, message: &Message, language: &str) -> Rendered {
        let breaches = contract::breaches(message);
        if !breaches.is_empty() {
            tracing::error!(kind = %message.kind, ?breaches, "a message breaks the contract");
        }
        let language = self.language(language);
        Rendered {
            text: language.sentence(message),
            buttons: message
                .buttons
                .iter()
                .map(|button| RenderedButton {
                    label: language.label(&button.label),
                    data: button.tap.encode(),
                })
                .collect(),
        }
    }

    /// What a button says in a language.
    pub fn label(&self, label: &Label, language: &str) -> String {
        self.language(language).label(label)
    }

    /// The bot's menu in a language: each word with what it does.
    pub fn menu(&self, language: &str) -> Vec<(&'static str, String)> {
        let described = |entry: Entry| {
            let phrase = match entry {
                Entry::Next => Phrase::MenuNext,
                Entry::Left => Phrase::MenuLeft,
                Entry::Steps => Phrase::MenuSteps,
                Entry::Calendar => Phrase::MenuCalendar,
                Entry::Clinic => Phrase::MenuClinic,
                Entry::Help => Phrase::MenuHelp,
            };
            (entry.word(language), self.phrase(phrase, &[], language))
        };
        Entry::ALL.into_iter().map(described).collect()
    }

    /// Words of a paper in a language, with these facts; as [`Wording::render`]
    /// it never fails, and logs a fact that breaks the contract.
    pub fn phrase(&self, phrase: Phrase, facts: &[(&str, Value)], language: &str) -> String {
        let breaches = phrase::breaches(phrase, facts);
        if !breaches.is_empty() {
            tracing::error!(id = phrase.id(), ?breaches, "words break the contract");
        }
        self.language(language).phrase(phrase, facts)
    }

    /// A volume as the language writes it, such as `1,5 mL`.
    pub fn volume(&self, volume: Volume, language: &str) -> String {
        format::volume(self.language(language), volume)
    }

    /// A time of the day, such as `7:30 pm`.
    pub fn time(&self, time: NaiveTime, language: &str) -> String {
        format::clock(self.language(language), time)
    }

    /// A day, such as `Sun 8 Mar`.
    pub fn day(&self, day: NaiveDate, language: &str) -> String {
        format::day(self.language(language), day)
    }

    /// The short name of a weekday, such as `Sun`.
    pub fn weekday(&self, day: Weekday, language: &str) -> String {
        format::weekday(self.language(language), day)
    }

    /// The short name of a month, 1 to 12, such as `Mar`.
    pub fn month(&self, month: u32, language: &str) -> String {
        format::month(self.language(language), month)
    }

    fn language(&self, code: &str) -> &Language {
        let primary = code.split(['-', '_']).next().unwrap_or(code);
        self.languages
            .iter()
            .find(|language| language.code() == code)
            .or_else(|| self.languages.iter().find(|l| l.code() == primary))
            .unwrap_or(&self.languages[self.fallback])
    }
}

#[cfg(test)]
mod tests;
