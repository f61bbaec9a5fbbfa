//! Every text of the program against the lists of error-prone abbreviations.

use crate::facts::{Expected, Held, Sources, Verdict, is_named};
use crate::home::CONFIG;
use regex::Regex;
use serde::Deserialize;
use std::sync::LazyLock;
use vialbell::domain::quantity::{Concentration, DoseRate, Mass, Volume, Weight};
use vialbell::wording::{Wording, gallery};

#[derive(Deserialize)]
struct File {
    source: Sources,
    abbreviation: Vec<Row>,
}

#[derive(Deserialize)]
struct Row {
    bad: Vec<String>,
    meaning: String,
    instead: String,
    source: String,
    list: String,
    regex: Option<String>,
    pattern: Option<String>,
    allowed: Option<String>,
    recorded: Option<String>,
    out_of_scope: Option<String>,
}

fn file() -> File {
    toml::from_str(include_str!("injection-practice.toml")).unwrap()
}

/// Every message with its buttons in each language, the example clinic's own
/// words, and what quantities print.
pub fn texts() -> &'static [String] {
    static TEXTS: LazyLock<Vec<String>> = LazyLock::new(|| {
        let page = gallery(&Wording::load().unwrap());
        // The headings name kinds, as the program does, and are shown to nobody.
        let lines = page.lines().filter(|line| !line.starts_with("── "));
        let mut texts: Vec<String> = lines.map(str::to_owned).collect();
        texts.extend(CONFIG.policy.protocol.iter().flat_map(|p| {
            p.steps
                .iter()
                .map(|s| s.replace("{diluent_ml}", "3").replace("{volume_ml}", "1.5"))
        }));
        texts.extend(CONFIG.policy.notes.iter().map(|note| note.words.clone()));
        for number in ["0.5", "1.0", "10", "0.07", "1000.50", "250"] {
            texts.push(Volume::parse(number).unwrap().to_string());
            texts.push(Mass::parse(number).unwrap().to_string());
            texts.push(Concentration::parse(number).unwrap().to_string());
            texts.push(DoseRate::parse(number).unwrap().to_string());
            texts.push(Weight::parse_lb(number).unwrap().to_string());
        }
        texts
    });
    &TEXTS
}

impl Row {
    fn patterns(&self) -> Vec<Regex> {
        let both = self.regex.iter().chain(&self.pattern);
        both.map(|pattern| Regex::new(pattern).unwrap()).collect()
    }

    fn verdict(&self, sources: &Sources, texts: &[String]) -> Verdict {
        let mut expected = Expected::default();
        expected.that("its source is not named", is_named(sources, &self.source));
        if let Some(why) = &self.out_of_scope {
            return expected.or(Verdict::OutOfScope(why.clone()));
        }
        let patterns = self.patterns();
        expected.that("nothing searches for it", !patterns.is_empty());
        let found_bad = patterns
            .iter()
            .any(|p| self.bad.iter().any(|bad| p.is_match(bad)));
        expected.that("the search does not find its own bad example", found_bad);
        let allowed = self
            .allowed
            .as_ref()
            .map(|allowed| Regex::new(allowed).unwrap());
        let mut broken_on_purpose = false;
        for text in texts {
            let hit = |text: &str| patterns.iter().any(|p| p.is_match(text));
            let rest = allowed
                .as_ref()
                .map(|allowed| allowed.replace_all(text, "").into_owned());
            expected.that(
                &format!("a text has it: {text}"),
                !hit(rest.as_deref().unwrap_or(text)),
            );
            broken_on_purpose |= hit(text);
        }
        match &self.recorded {
            Some(why) if broken_on_purpose => expected.or(Verdict::Recorded(why.clone())),
            Some(_) => Verdict::Failed("it is recorded as broken on purpose and is not".into()),
            None => expected.or(Verdict::Passed),
        }
    }
}

pub fn abbreviations() -> Held {
    let file = file();
    let rows = file.abbreviation.iter().map(|row| {
        let id = format!("{} ({}, {})", row.bad.join(" "), row.meaning, row.list);
        (id, row.verdict(&file.source, texts()))
    });
    Held {
        table: "injection-practice.toml abbreviation",
        rows: rows.collect(),
    }
}

#[test]
fn no_text_has_an_error_prone_abbreviation() {
    abbreviations().none_failed();
    assert!(texts().len() > 1000, "{} lines", texts().len());
    assert!(
        file()
            .abbreviation
            .iter()
            .all(|row| !row.instead.is_empty())
    );
}

/// Each search finds what it is for, in a sentence too.
#[test]
fn a_bad_text_is_found() {
    let file = file();
    for bad in [
        "Draw .5 mL.",
        "Draw 1.0 mL.",
        "Extraiga 1,50 mL.",
        "Extraiga ,5 mL.",
        "Draw 1.5 cc.",
        "Give 10 U.",
        "Draw 1.5mL.",
        "Draw 1.5 ml.",
        "about 5 mL. of it",
        "12000 mg",
        "3 mL/dose",
        "give SQ",
    ] {
        let texts = [bad.to_owned()];
        let found = file.abbreviation.iter().any(|row| matches!(row.verdict(&file.source, &texts), Verdict::Failed(why) if why.contains(bad)));
        assert!(found, "{bad}");
    }
}
