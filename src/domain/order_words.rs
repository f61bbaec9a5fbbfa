//! The short commands by which staff change an order, on one line each:
//! `change Juniper dose 1.2 mL`, `pause Juniper`, `carer Juniper add Sam`.
//!
//! Whatever begins like a command and is none is answered with how it is
//! written; a longer sentence that happens to begin so is people talking.

use super::amendment::Alteration;
use super::name::LONGEST_NAME;
use super::prescription::Length;
use super::quantity::OrderedDose;
use super::zone::Zone;
use chrono::{NaiveDate, NaiveTime};

/// A line that was understood: which patient, and what of the order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Command {
    /// The patient's name, as written.
    pub patient: String,
    /// What is to change.
    pub what: Alteration,
}

/// A line that begins like a command and cannot be carried out: why, and how it is written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unclear(pub String);

/// Most words in a line that is answered although it is no command.
const FEW_WORDS: usize = 5;
/// How each change is written.
const HOW_TO_CHANGE: &str = "Write one of: change NAME dose 1.2 mL · change NAME times 08:00 20:00 · \
     change NAME zone Europe/Madrid · change NAME days 28 · change NAME doses 56 · \
     change NAME until 2026-03-31";
const HOW_CARER: &str = "Write: carer NAME add PERSON, or: carer NAME remove PERSON";
const WORDS_OF_CHANGE: [&str; 8] = [
    "dose", "times", "time", "zone", "days", "doses", "until", "end",
];

/// Reads a line; none where it is nothing for us.
pub fn read(text: &str) -> Option<Result<Command, Unclear>> {
    if text.trim().lines().count() != 1 {
        return None;
    }
    let words: Vec<&str> = text.split_whitespace().collect();
    let (first, rest) = words.split_first()?;
    let first = bare(first);
    let read = match first.as_str() {
        "change" => change(rest),
        "carer" => carer(rest),
        "pause" => whole(rest, "pause", Alteration::Pause),
        "resume" => whole(rest, "resume", Alteration::Resume),
        "end" => whole(rest, "end", Alteration::End),
        _ => return None,
    };
    match read {
        Err(Wrong::Shape(_)) if words.len() > FEW_WORDS => None,
        Err(Wrong::Shape(why) | Wrong::Value(why)) => Some(Err(Unclear(why))),
        Ok(command) => Some(Ok(command)),
    }
}

/// Reads what is to change, without the patient: `dose 1.2 mL`.
///
/// # Errors
/// Why it cannot be read, and how it is written.
pub fn read_change(words: &[&str]) -> Result<Alteration, Unclear> {
    let (key, value) = words
        .split_first()
        .ok_or_else(|| Unclear(HOW_TO_CHANGE.into()))?;
    alteration(&key.to_lowercase(), value).map_err(|wrong| match wrong {
        Wrong::Shape(why) | Wrong::Value(why) => Unclear(why),
    })
}

/// What is wrong with a line.
enum Wrong {
    /// It is not built like a command: it may be people talking.
    Shape(String),
    /// It is built like one, and what it says cannot be read.
    Value(String),
}

/// A command's word, without the slash and without the bot's name that platforms add to it.
fn bare(word: &str) -> String {
    let word = word.trim_start_matches('/');
    let word = word.split('@').next().unwrap_or(word);
    word.to_lowercase()
}

fn change(rest: &[&str]) -> Result<Command, Wrong> {
    let at = rest
        .iter()
        .skip(1)
        .position(|word| WORDS_OF_CHANGE.contains(&word.to_lowercase().as_str()))
        .map(|at| at + 1)
        .ok_or_else(|| Wrong::Shape(HOW_TO_CHANGE.into()))?;
    Ok(Command {
        patient: name(&rest[..at], HOW_TO_CHANGE)?,
        what: alteration(&rest[at].to_lowercase(), &rest[at + 1..])?,
    })
}

fn alteration(key: &str, value: &[&str]) -> Result<Alteration, Wrong> {
    let text = value.join(" ");
    match key {
        "dose" => OrderedDose::parse(&text)
            .map(Alteration::Dose)
            .map_err(|error| Wrong::Value(format!("dose: {error}. Write it like: dose 1.2 mL"))),
        "times" | "time" => times(value).map(Alteration::Times),
        "zone" => Zone::named(&text)
            .map(Alteration::Zone)
            .map_err(|error| Wrong::Value(format!("zone: {error}"))),
        "days" => count(&text, "days")
            .map(Length::Days)
            .map(Alteration::Length),
        "doses" => count(&text, "doses")
            .map(Length::Doses)
            .map(Alteration::Length),
        "until" | "end" => NaiveDate::parse_from_str(&text, "%Y-%m-%d")
            .map(Alteration::Until)
            .map_err(|_| {
                Wrong::Value(format!(
                    "until: “{text}” is no date; write it like: until 2026-03-31"
                ))
            }),
        _ => Err(Wrong::Shape(HOW_TO_CHANGE.into())),
    }
}

fn times(words: &[&str]) -> Result<Vec<NaiveTime>, Wrong> {
    let wrong = |why: String| {
        Wrong::Value(format!(
            "times: {why}. Write them like: times 08:00 20:00 (24 hours)"
        ))
    };
    let mut times = Vec::new();
    for word in words
        .iter()
        .flat_map(|word| word.split([',', ';']))
        .filter(|word| !word.is_empty() && *word != "and")
    {
        let time = clock(word).ok_or_else(|| wrong(format!("“{word}” is no time of the day")))?;
        if times.contains(&time) {
            return Err(wrong(format!("{} is listed twice", time.format("%H:%M"))));
        }
        times.push(time);
    }
    if times.is_empty() {
        return Err(wrong("no time is written".into()));
    }
    times.sort_unstable();
    Ok(times)
}

/// A time of the day in 24 hours, such as `08:00`. Without both digits of the
/// hour it could be an evening's.
pub fn clock(text: &str) -> Option<NaiveTime> {
    let (hour, minute) = text.split_once(':')?;
    let digits = |part: &str| part.len() == 2 && part.bytes().all(|b| b.is_ascii_digit());
    if !digits(hour) || !digits(minute) {
        return None;
    }
    NaiveTime::from_hms_opt(hour.parse().ok()?, minute.parse().ok()?, 0)
}

fn count(text: &str, key: &str) -> Result<u32, Wrong> {
    let whole = !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    whole.then(|| text.parse().ok()).flatten().ok_or_else(|| {
        Wrong::Value(format!(
            "{key}: “{text}” is no whole number; write it like: {key} 28 (of the whole course)"
        ))
    })
}

fn carer(rest: &[&str]) -> Result<Command, Wrong> {
    let at = rest
        .iter()
        .skip(1)
        .position(|word| matches!(word.to_lowercase().as_str(), "add" | "remove"))
        .map(|at| at + 1)
        .ok_or_else(|| Wrong::Shape(HOW_CARER.into()))?;
    let patient = name(&rest[..at], HOW_CARER)?;
    let person = name(&rest[at + 1..], HOW_CARER)?;
    let what = if rest[at].eq_ignore_ascii_case("add") {
        Alteration::CarerAdded(person)
    } else {
        Alteration::CarerRemoved(person)
    };
    Ok(Command { patient, what })
}

fn whole(rest: &[&str], word: &str, what: Alteration) -> Result<Command, Wrong> {
    let how = format!("Write: {word} NAME, with the patient's name");
    // A patient's name is short; a longer line is people talking.
    if rest.len() > 3 {
        return Err(Wrong::Shape(how));
    }
    Ok(Command {
        patient: name(rest, &how)?,
        what,
    })
}

fn name(words: &[&str], how: &str) -> Result<String, Wrong> {
    let name = words.join(" ");
    match (1..=LONGEST_NAME).contains(&name.chars().count()) {
        true => Ok(name),
        false => Err(Wrong::Shape(how.into())),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn understood(text: &str) -> Command {
        read(text).unwrap().unwrap()
    }

    fn why(text: &str) -> String {
        read(text).unwrap().unwrap_err().0
    }

    #[test]
    fn commands_are_read_with_a_slash_and_in_any_case() {
        let dose = |text| Alteration::Dose(OrderedDose::parse(text).unwrap());
        let command = |patient: &str, what| Command {
            patient: patient.into(),
            what,
        };
        for (text, expected) in [
            (
                "change Juniper dose 1.2 mL",
                command("Juniper", dose("1.2 mL")),
            ),
            (
                "/change@vet_bot Juniper dose 14 mg/kg",
                command("Juniper", dose("14 mg/kg")),
            ),
            (
                "Change Miss Kitty times 20:00, 08:00",
                command(
                    "Miss Kitty",
                    Alteration::Times(vec![clock("08:00").unwrap(), clock("20:00").unwrap()]),
                ),
            ),
            (
                "change Juniper zone Europe/Madrid",
                command(
                    "Juniper",
                    Alteration::Zone(Zone::named("Europe/Madrid").unwrap()),
                ),
            ),
            (
                "change Juniper days 28",
                command("Juniper", Alteration::Length(Length::Days(28))),
            ),
            (
                "change Juniper doses 56",
                command("Juniper", Alteration::Length(Length::Doses(56))),
            ),
            (
                "change Juniper until 2026-03-31",
                command("Juniper", Alteration::Until("2026-03-31".parse().unwrap())),
            ),
            ("pause Juniper", command("Juniper", Alteration::Pause)),
            ("RESUME Juniper", command("Juniper", Alteration::Resume)),
            ("end Juniper", command("Juniper", Alteration::End)),
            (
                "carer Juniper add Sam Reyes",
                command("Juniper", Alteration::CarerAdded("Sam Reyes".into())),
            ),
            (
                "carer Juniper remove Sam",
                command("Juniper", Alteration::CarerRemoved("Sam".into())),
            ),
        ] {
            assert_eq!(understood(text), expected, "{text}");
        }
    }

    #[test]
    fn what_cannot_be_read_is_answered_with_how_it_is_written() {
        for (text, expected) in [
            ("change Juniper dose 1,2 mL", "decimal point"),
            ("change Juniper dose 1.2", "must end in mg/kg, mg or mL"),
            (
                "change Juniper times 8:00 20:00",
                "“8:00” is no time of the day",
            ),
            ("change Juniper times 08:00 08:00", "08:00 is listed twice"),
            ("change Juniper times", "no time is written"),
            ("change Juniper zone Madrid", "zone:"),
            ("change Juniper days -3", "whole number"),
            ("change Juniper until Friday", "until 2026-03-31"),
            ("change Juniper", "Write one of: change NAME dose"),
            ("change dose 1.2 mL", "Write one of: change NAME dose"),
            ("carer Juniper Sam", "carer NAME add PERSON"),
            ("carer Juniper add", "carer NAME add PERSON"),
            ("pause", "Write: pause NAME"),
        ] {
            assert!(why(text).contains(expected), "{text}: {}", why(text));
        }
    }

    #[test]
    fn people_talking_are_left_alone() {
        for text in [
            "change of plans, I will be in at noon today",
            "end of my shift, Noor has the phone now",
            "thanks",
            "pause\nJuniper",
            "",
        ] {
            assert_eq!(read(text), None, "{text}");
        }
    }

    proptest! {
        #[test]
        fn any_line_is_read_or_left_alone(text in "(change|carer|pause|end)? ?\\PC{0,40}") {
            if let Some(Ok(command)) = read(&text) {
                prop_assert!(!command.patient.is_empty());
            }
        }
    }
}
