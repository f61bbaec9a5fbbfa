//! An enrolment that is answered question by question at the counter. What
//! comes out is the text of a prescription file, read like any other.

use super::order_words::clock;
use chrono::{NaiveDate, NaiveDateTime};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

macro_rules! questions {
    ($($(#[$doc:meta])* $variant:ident = $name:literal in $table:literal [$($key:literal),+];)*) => {
        /// A question, in the order of the asking.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(rename_all = "kebab-case")]
        pub enum Question {
            $($(#[$doc])* $variant,)*
        }

        impl Question {
            /// Every question, in the order of the asking.
            pub const ALL: &'static [Question] = &[$(Question::$variant),*];

            /// The word for it in facts.
            pub const fn name(self) -> &'static str {
                match self { $(Question::$variant => $name,)* }
            }

            /// The table of a prescription file that its answer stands in.
            const fn table(self) -> &'static str {
                match self { $(Question::$variant => $table,)* }
            }

            /// The keys of that table that its answer may be written under.
            const fn keys(self) -> &'static [&'static str] {
                match self { $(Question::$variant => &[$($key),+],)* }
            }
        }
    };
}

questions! {
    /// What is the animal called?
    Patient = "patient" in "patient" ["name"];
    /// Which animal is it?
    Species = "species" in "patient" ["species"];
    /// What does it weigh?
    Weight = "weight" in "patient" ["weight_kg", "weight_lb", "weight"];
    /// What is dispensed?
    Product = "product" in "prescription" ["product"];
    /// How much is one dose?
    Dose = "dose" in "prescription" ["dose"];
    /// At which times of the day?
    Times = "times" in "prescription" ["times"];
    /// When is the first dose?
    First = "first" in "prescription" ["first"];
    /// How long?
    Length = "length" in "prescription" ["days", "doses"];
    /// Who is the owner?
    Owner = "owner" in "owner" ["name"];
    /// In which language are they written to?
    Language = "language" in "owner" ["language"];
    /// On whose clock?
    Zone = "zone" in "owner" ["zone"];
    /// Who else gives doses?
    Carers = "carers" in "owner" ["carers"];
    /// How many vials go home?
    Vials = "vials" in "prescription" ["vials_dispensed"];
    /// Who ordered it?
    Veterinarian = "veterinarian" in "prescription" ["veterinarian"];
}

impl Question {
    /// Its number, counted from 1.
    pub fn number(self) -> u32 {
        let place = Question::ALL.iter().position(|q| *q == self);
        u32::try_from(place.unwrap_or(0) + 1).unwrap_or(1)
    }

    /// Whether a mistake about a key such as `patient.weight_kg` is about this answer.
    pub fn is_about(self, key: &str) -> bool {
        let Some((table, key)) = key.split_once('.') else {
            return false;
        };
        let key = key.split('[').next().unwrap_or(key);
        table == self.table() && self.keys().contains(&key)
    }
}

/// An answer that leaves a question open where that is allowed.
pub const NONE: &str = "none";

/// What was answered so far, as it was taken.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Enrolment {
    /// The answers, as they were typed or tapped.
    pub answers: BTreeMap<Question, String>,
    /// What the buttons below the question that is open stand for.
    pub offered: Vec<String>,
}

impl Enrolment {
    /// The question that is open; none where all were answered.
    pub fn open(&self) -> Option<Question> {
        let answered = |q: &&Question| !self.answers.contains_key(*q);
        Question::ALL.iter().find(answered).copied()
    }

    /// Takes the last answer back; false where there is none.
    pub fn back(&mut self) -> bool {
        let open = self.open();
        let before = Question::ALL.iter().rev().copied();
        let before = before.filter(|q| open.is_none_or(|open| *q < open));
        let last = before.into_iter().next();
        last.is_some_and(|last| self.answers.remove(&last).is_some())
    }

    /// The text of a prescription file with these answers, and `filler` where none was given yet.
    ///
    /// # Errors
    /// The question whose answer has no form that a file could hold, with how to write it.
    pub fn text(&self, filler: impl Fn(Question) -> String) -> Result<String, (Question, String)> {
        let mut text = String::new();
        for table in ["patient", "owner", "prescription"] {
            text.push_str(&format!("[{table}]\n"));
            for question in Question::ALL.iter().filter(|q| q.table() == table) {
                let answer = self.answers.get(question).cloned();
                let line = line_of(*question, &answer.unwrap_or_else(|| filler(*question)))
                    .map_err(|why| (*question, why))?;
                text.push_str(&line);
            }
        }
        Ok(text)
    }
}

/// An answer as a line of a prescription file; nothing where it leaves the question open.
fn line_of(question: Question, answer: &str) -> Result<String, String> {
    let answer = answer.trim();
    let open = answer.eq_ignore_ascii_case(NONE);
    let line = |key: &str, value: String| format!("{key} = {value}\n");
    Ok(match question {
        Question::Carers | Question::Vials if open => String::new(),
        Question::Weight => weight(answer)?,
        Question::Times => line("times", list(answer.split([',', ' ', ';']))),
        Question::Carers => line("carers", list(answer.split(','))),
        Question::First => line("first", quoted(&first(answer)?)),
        Question::Length => length(answer)?,
        Question::Vials => {
            let vials = whole(answer)
                .ok_or_else(|| format!("“{answer}” is no whole number; write it like: 12"))?;
            line("vials_dispensed", vials.to_string())
        }
        other => line(other.keys()[0], quoted(answer)),
    })
}

/// A TOML basic string; JSON escapes all that TOML wants escaped.
fn quoted(text: &str) -> String {
    serde_json::Value::from(text).to_string()
}

fn list<'a>(parts: impl Iterator<Item = &'a str>) -> String {
    let parts: Vec<String> = parts
        .map(str::trim)
        .filter(|part| !part.is_empty() && !part.eq_ignore_ascii_case("and"))
        .map(quoted)
        .collect();
    format!("[{}]", parts.join(", "))
}

fn whole(text: &str) -> Option<u32> {
    let digits = !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    digits.then(|| text.parse().ok()).flatten()
}

/// A number and its unit, with or without a space between them.
fn parts(text: &str) -> (&str, String) {
    let at = text
        .find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',')))
        .unwrap_or(text.len());
    (text[..at].trim(), text[at..].trim().to_lowercase())
}

fn weight(text: &str) -> Result<String, String> {
    let (number, unit) = parts(text);
    match unit.as_str() {
        "kg" => Ok(format!("weight_kg = {}\n", quoted(number))),
        "lb" | "lbs" => Ok(format!("weight_lb = {}\n", quoted(number))),
        _ => Err(format!(
            "“{text}” has no unit; write it like: 30 kg, or: 66 lb"
        )),
    }
}

fn length(text: &str) -> Result<String, String> {
    let (number, unit) = parts(text);
    let number = whole(number);
    match (number, unit.as_str()) {
        (Some(days), "days" | "day" | "d") => Ok(format!("days = {days}\n")),
        (Some(doses), "doses" | "dose") => Ok(format!("doses = {doses}\n")),
        _ => Err(format!(
            "“{text}” is no length; write it like: 28 days, or: 56 doses"
        )),
    }
}

fn first(text: &str) -> Result<String, String> {
    let text = text.replace('T', " ");
    let read = text.split_once(' ').and_then(|(day, time)| {
        let day: NaiveDate = day.parse().ok()?;
        Some(day.and_time(clock(time.trim())?))
    });
    read.map(written)
        .ok_or_else(|| format!("“{text}” is no day and time; write it like: 2026-03-05 19:30"))
}

/// A wall time as a prescription file has it.
pub fn written(local: NaiveDateTime) -> String {
    local.format("%Y-%m-%dT%H:%M").to_string()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn answers_become_the_lines_of_a_file() {
        for (question, answer, line) in [
            (Question::Patient, "O\"Hara", "name = \"O\\\"Hara\"\n"),
            (Question::Weight, "30 kg", "weight_kg = \"30\"\n"),
            (Question::Weight, "66.5lb", "weight_lb = \"66.5\"\n"),
            (
                Question::Times,
                "07:30, 19:30",
                "times = [\"07:30\", \"19:30\"]\n",
            ),
            (
                Question::First,
                "2026-03-05 19:30",
                "first = \"2026-03-05T19:30\"\n",
            ),
            (Question::Length, "28 days", "days = 28\n"),
            (Question::Length, "56 doses", "doses = 56\n"),
            (
                Question::Carers,
                "Teo Lund, Sam",
                "carers = [\"Teo Lund\", \"Sam\"]\n",
            ),
            (Question::Carers, "none", ""),
            (Question::Vials, "None", ""),
            (Question::Vials, "12", "vials_dispensed = 12\n"),
        ] {
            assert_eq!(line_of(question, answer).unwrap(), line, "{answer}");
        }
        for (question, answer) in [
            (Question::Weight, "30"),
            (Question::Weight, "30 stone"),
            (Question::First, "tomorrow"),
            (Question::First, "2026-03-05 7:30"),
            (Question::Length, "28"),
            (Question::Vials, "a few"),
        ] {
            assert!(line_of(question, answer).is_err(), "{answer}");
        }
    }

    #[test]
    fn the_last_answer_is_taken_back_and_asked_again() {
        let mut enrolment = Enrolment::default();
        assert_eq!(enrolment.open(), Some(Question::Patient));
        assert!(!enrolment.back());
        enrolment
            .answers
            .insert(Question::Patient, "Juniper".into());
        enrolment.answers.insert(Question::Species, "dog".into());
        assert_eq!(enrolment.open(), Some(Question::Weight));
        assert!(enrolment.back());
        assert_eq!(enrolment.open(), Some(Question::Species));
    }

    #[test]
    fn a_mistake_belongs_to_the_question_whose_key_it_names() {
        assert!(Question::Weight.is_about("patient.weight_kg"));
        assert!(Question::Weight.is_about("patient.weight"));
        assert!(Question::Times.is_about("prescription.times[1]"));
        assert!(!Question::Owner.is_about("patient.name"));
        assert!(Question::Owner.is_about("owner.name"));
    }

    proptest! {
        #[test]
        fn whatever_is_typed_stays_on_its_line(text in "\\PC{0,40}") {
            for question in Question::ALL {
                if let Ok(line) = line_of(*question, &text) {
                    prop_assert!(line.is_empty() || line.ends_with('\n'));
                    prop_assert!(line.matches('\n').count() <= 1, "{line:?}");
                }
            }
        }
    }
}
