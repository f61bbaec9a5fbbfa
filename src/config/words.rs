//! What the clinic says in its own words: protocol steps and standing notes.

use super::clinic::clinic_key;
use super::formulary::known_product;
use super::reader::{Section, Value, quoted};
use super::values::optional;
use crate::domain::formulary::Formulary;
use crate::domain::language::Language;
use crate::domain::policy::{Note, Protocol};
use crate::domain::question::StepTopic;
use crate::domain::reading::Phrase;
use std::collections::BTreeSet;

/// A message of Telegram holds 4096 characters; ours also carries a heading.
const LONGEST_WORDS: usize = 3000;

pub(super) fn protocol(root: &Section<'_>, formulary: &Formulary) -> Option<Vec<Protocol>> {
    let mut seen = BTreeSet::new();
    let tables = root.each("protocol").unwrap_or_default();
    let read: Vec<Option<Protocol>> = tables
        .iter()
        .map(|table| {
            let protocol = procedure(table, formulary)?;
            let place = (
                protocol.topic,
                protocol.language.clone(),
                protocol.product.clone(),
            );
            if !seen.insert(place) {
                table.complain_here("another protocol has the same topic, language and product");
                return None;
            }
            Some(protocol)
        })
        .collect();
    read.into_iter().collect()
}

fn procedure(table: &Section<'_>, formulary: &Formulary) -> Option<Protocol> {
    let topic = table.required("topic").and_then(|v| v.parsed(step_topic));
    let language = language(table);
    let product = optional(table.value("product"), |value| {
        value.parsed(|key| known_product(key, formulary).map(|_| key.to_owned()))
    });
    let steps = table
        .required("steps")
        .and_then(|v| words(&v, "step", step));
    Some(Protocol {
        topic: topic?,
        language: language?,
        product: product?,
        steps: steps?,
    })
}

/// The figures of an order that a step may have, in braces.
const FIGURES: [&str; 2] = ["{diluent_ml}", "{volume_ml}"];

/// A step, in which braces stand around the name of a figure and nothing else:
/// an owner must not read a name where a volume belongs.
fn step(value: &Value<'_>) -> Option<String> {
    let text = paragraph(value)?;
    let rest = FIGURES
        .iter()
        .fold(text.clone(), |rest, figure| rest.replace(figure, ""));
    if let Some(at) = rest.find(['{', '}']) {
        let end = rest[at..].find('}').map_or(rest.len(), |end| at + end + 1);
        value.complain(format!(
            "{} is no figure of an order; a step may have {}",
            quoted(&rest[at..end]),
            FIGURES.join(" and ")
        ));
        return None;
    }
    Some(text)
}

fn step_topic(text: &str) -> Result<StepTopic, String> {
    match text {
        "mixing" => Ok(StepTopic::Mixing),
        "drawing-up" => Ok(StepTopic::DrawingUp),
        "injecting" => Ok(StepTopic::Injecting),
        "sharps" => Ok(StepTopic::Sharps),
        _ => Err(format!(
            "{} is no topic; topics are mixing, drawing-up, injecting and sharps",
            quoted(text)
        )),
    }
}

pub(super) fn standing_notes(root: &Section<'_>) -> Option<Vec<Note>> {
    let mut seen = BTreeSet::new();
    let tables = root.each("note").unwrap_or_default();
    let read: Vec<Option<Note>> = tables
        .iter()
        .map(|table| {
            let note = standing_note(table)?;
            if !seen.insert((note.key.clone(), note.language.clone())) {
                table.complain_here("another note has the same key and language");
                return None;
            }
            Some(note)
        })
        .collect();
    read.into_iter().collect()
}

fn standing_note(table: &Section<'_>) -> Option<Note> {
    let key = table.required("key").and_then(|v| v.parsed(clinic_key));
    let language = language(table);
    let asked_by = table
        .required("asked_by")
        .and_then(|v| words(&v, "phrase", paragraph));
    let said = table.required("words").and_then(|v| note_words(&v));
    Some(Note {
        key: key?,
        language: language?,
        asked_by: asked_by?.iter().map(|text| Phrase::of(text)).collect(),
        words: said?,
    })
}

/// A note is the same for every household: it has no figures of an order.
fn note_words(value: &Value<'_>) -> Option<String> {
    let text = paragraph(value)?;
    if FIGURES.iter().any(|figure| text.contains(figure)) {
        value.complain("a note has no figures of an order; write a protocol for them");
        return None;
    }
    Some(text)
}

fn language(table: &Section<'_>) -> Option<String> {
    let language = table.required("language")?.parsed(str::parse::<Language>)?;
    Some(language.code().to_owned())
}

/// A list of texts, at least one.
fn words(
    value: &Value<'_>,
    what: &str,
    text: impl Fn(&Value<'_>) -> Option<String>,
) -> Option<Vec<String>> {
    let texts = value.each(text)?;
    if texts.is_empty() {
        value.complain(format!("write at least one {what}"));
        return None;
    }
    Some(texts)
}

/// A text that may have line breaks, as a message has.
fn paragraph(value: &Value<'_>) -> Option<String> {
    let text = value.text()?.trim();
    let length = text.chars().count();
    if length == 0 {
        value.complain("is empty");
    } else if length > LONGEST_WORDS {
        value.complain(format!(
            "has {length} characters; a message holds at most {LONGEST_WORDS}"
        ));
    } else if text.chars().any(|c| c.is_control() && c != '\n') {
        value.complain("has a control character");
    } else {
        return Some(text.to_owned());
    }
    None
}
