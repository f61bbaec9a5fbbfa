//! A name that is no zone, and which one was probably meant.

use std::fmt;

use super::database;

/// Text that names no zone of the deciding database.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UnknownZone {
    text: String,
    suggestions: Vec<&'static str>,
}

/// More names than these would be a list to search, not a hint.
const MOST_SUGGESTIONS: usize = 3;

/// Longer text is not a mistyped name: the longest name has 32 characters.
const LONGEST_NAME: usize = 40;

impl UnknownZone {
    pub(super) fn new(text: &str) -> UnknownZone {
        UnknownZone {
            text: text.to_owned(),
            suggestions: suggestions(text),
        }
    }

    /// The text as it was given.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Zone names that were perhaps meant, up to three; they differ in case or
    /// spaces, lack the region, or are misspelt by a letter or two.
    #[must_use]
    pub fn suggestions(&self) -> &[&'static str] {
        &self.suggestions
    }
}

impl std::error::Error for UnknownZone {}

impl fmt::Display for UnknownZone {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        // Quoted and cut, so that the message stays one readable line.
        let shown: String = self.text.chars().take(LONGEST_NAME).collect();
        let cut = if shown.len() < self.text.len() {
            "…"
        } else {
            ""
        };
        let version = database::deciding().release.version;
        write!(
            f,
            "{shown:?}{cut} is no zone of the IANA tz database {version}"
        )?;
        match self.suggestions.as_slice() {
            [] => write!(f, "; a zone is named like \"America/Denver\""),
            names => write!(f, "; did you mean {}?", names.join(" or ")),
        }
    }
}

fn suggestions(text: &str) -> Vec<&'static str> {
    let wanted = folded(text.trim());
    if wanted.is_empty() || wanted.chars().count() > LONGEST_NAME {
        return Vec::new();
    }
    let nearest_of = |distance: &dyn Fn(&str) -> Option<usize>| {
        let found: Vec<(usize, &'static str)> = database::deciding()
            .names()
            .filter_map(|name| Some((distance(&folded(name))?, name)))
            .collect();
        let nearest = found.iter().map(|(distance, _)| *distance).min();
        found
            .into_iter()
            .filter(|(distance, _)| Some(*distance) == nearest)
            .map(|(_, name)| name)
            .collect::<Vec<_>>()
    };
    let same = nearest_of(&|name| (name == wanted).then_some(0));
    if !same.is_empty() {
        return same;
    }
    let place = nearest_of(&|name| (name.rsplit('/').next()? == wanted).then_some(0));
    if !place.is_empty() {
        return place.into_iter().take(MOST_SUGGESTIONS).collect();
    }
    // A third of a short name changed is another name: no guess at "PST".
    let most_edits = (wanted.chars().count() / 4).min(2);
    let near = nearest_of(&|name| {
        let whole = edits(name, &wanted);
        let place = name.rsplit('/').next().map(|place| edits(place, &wanted));
        let least = place.map_or(whole, |place| place.min(whole));
        (least <= most_edits).then_some(least)
    });
    near.into_iter().take(MOST_SUGGESTIONS).collect()
}

/// The name without what people get wrong first: case, and spaces or hyphens
/// for underscores.
fn folded(name: &str) -> String {
    name.to_lowercase().replace([' ', '-'], "_")
}

/// How many letters have to be put in, left out or replaced to get from one
/// text to the other (Levenshtein's distance).
pub(crate) fn edits(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, letter) in a.chars().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, other) in b.iter().enumerate() {
            let replaced = diagonal + usize::from(letter != *other);
            diagonal = row[j + 1];
            row[j + 1] = replaced.min(diagonal + 1).min(row[j] + 1);
        }
    }
    row[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::zone::Zone;

    fn suggested(text: &str) -> Vec<&'static str> {
        let error = Zone::named(text).expect_err("no zone");
        assert_eq!(error.text(), text);
        error.suggestions().to_vec()
    }

    #[test]
    fn case_spaces_and_blanks_around_a_name_are_seen_through() {
        assert_eq!(suggested("america/denver"), ["America/Denver"]);
        assert_eq!(suggested("America/New York"), ["America/New_York"]);
        assert_eq!(suggested(" utc "), ["UTC"]);
    }

    #[test]
    fn a_place_alone_finds_its_zone() {
        assert_eq!(suggested("Denver"), ["America/Denver"]);
        assert_eq!(suggested("Eastern"), ["Canada/Eastern", "US/Eastern"]);
    }

    #[test]
    fn a_slip_of_a_letter_or_two_is_found() {
        assert_eq!(suggested("America/Dever"), ["America/Denver"]);
        assert_eq!(suggested("Europe/Lodnon"), ["Europe/London"]);
        assert_eq!(suggested("Untied Kingdom"), Vec::<&str>::new());
    }

    #[test]
    fn short_or_endless_text_suggests_nothing() {
        for text in ["", " ", "PST", "/", &"America/Denver".repeat(1000)] {
            assert_eq!(suggested(text), Vec::<&str>::new(), "{text:?}");
        }
    }

    #[test]
    fn the_message_is_one_line_and_says_what_to_do() {
        let message = |text| Zone::named(text).expect_err("no zone").to_string();
        let version = database::deciding().release.version;
        assert_eq!(
            message("Denver"),
            format!(
                "\"Denver\" is no zone of the IANA tz database {version}; did you mean America/Denver?"
            )
        );
        assert_eq!(
            message("PST\n"),
            format!(
                "\"PST\\n\" is no zone of the IANA tz database {version}; a zone is named like \"America/Denver\""
            )
        );
        assert!(message(&"x".repeat(5000)).len() < 200);
    }

    #[test]
    fn edits_are_counted() {
        // The textbook pair for this distance (memory).
        assert_eq!(edits("kitten", "sitting"), 3);
        assert_eq!(edits("", "abc"), 3);
        assert_eq!(edits("same", "same"), 0);
    }
}
