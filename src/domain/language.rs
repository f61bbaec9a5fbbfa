//! The languages in which owners write and are answered.

use std::str::FromStr;

/// A language of the program. A household has one; a message may be in either.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Language {
    /// English, code `en`.
    English,
    /// Spanish, code `es`.
    Spanish,
}

impl Language {
    /// Every language, in the order in which they are offered.
    pub const ALL: [Self; 2] = [Self::English, Self::Spanish];

    /// The two-letter code of ISO 639-1.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::English => "en",
            Self::Spanish => "es",
        }
    }

    /// What stands between whole and parts in a number that an owner reads; the wording's
    /// own, where the words are not the clinic's.
    #[must_use]
    pub const fn decimal_mark(self) -> &'static str {
        match self {
            Self::English => ".",
            Self::Spanish => ",",
        }
    }
}

/// The code names no language of the program.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "\"{0}\" is not a language of this program; it knows {known}",
    known = Language::ALL.map(Language::code).join(" and ")
)]
pub struct UnknownLanguage(String);

impl FromStr for Language {
    type Err = UnknownLanguage;

    fn from_str(code: &str) -> Result<Self, Self::Err> {
        Self::ALL
            .into_iter()
            .find(|language| language.code() == code)
            .ok_or_else(|| UnknownLanguage(code.to_owned()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_go_there_and_back() {
        for language in Language::ALL {
            assert_eq!(language.code().parse(), Ok(language));
        }
    }

    #[test]
    fn another_code_is_refused_by_name() {
        let refused = "fr".parse::<Language>().unwrap_err();
        assert!(refused.to_string().contains("\"fr\""));
    }
}
