//! A rehearsal on paper: a dialogue that a person can read, or a JSON object a line.

use super::{Happened, Line, What, Who, World};
use crate::domain::message::Value;
use crate::domain::zone::Zone;
use crate::engine::Delivered;
use chrono::{DateTime, FixedOffset, NaiveDate};
use serde_json::{Map, Value as Json, json};
use std::fmt::Write;

/// One message as a JSON object; `zone` is the household's.
pub fn json_line(delivered: &Delivered, zone: Option<Zone>) -> String {
    let at = shown_at(delivered, zone);
    let facts: Map<String, Json> = delivered
        .message
        .facts
        .iter()
        .map(|(key, value)| (key.clone(), fact(value)))
        .collect();
    let buttons: Vec<&str> = delivered
        .outgoing
        .buttons
        .iter()
        .map(|b| b.label.as_str())
        .collect();
    json!({
        "at": at.to_rfc3339(),
        "to": delivered.chat.address,
        "kind": delivered.message.kind.name(),
        "patient": delivered.message.patient,
        "facts": facts,
        "text": delivered.outgoing.text,
        "buttons": buttons,
    })
    .to_string()
}

fn shown_at(delivered: &Delivered, zone: Option<Zone>) -> DateTime<FixedOffset> {
    match zone {
        Some(zone) => zone.local(delivered.at),
        None => delivered.at.fixed_offset(),
    }
}

fn fact(value: &Value) -> Json {
    match value {
        Value::At(at) => at.to_rfc3339().into(),
        Value::Volume(volume) => volume.number().into(),
        Value::Count(count) => (*count).into(),
        Value::Times(times) => {
            let times: Vec<String> = times
                .iter()
                .map(|t| t.format("%H:%M").to_string())
                .collect();
            times.into()
        }
        Value::Hours(hours) => {
            let days: Vec<String> = hours.iter().map(ToString::to_string).collect();
            days.join("; ").into()
        }
        Value::Text(text) => text.as_str().into(),
    }
}

/// Prints a dialogue, with a heading for each day.
#[derive(Debug, Default)]
pub struct Printer {
    day: Option<NaiveDate>,
}

impl Printer {
    /// What happened, as lines to print.
    pub fn print(&mut self, happened: &Happened) -> String {
        match happened {
            Happened::Played { line, zone } => self.played(line, *zone),
            Happened::Sent { delivered, zone } => self.sent(delivered, *zone),
        }
    }

    fn heading(&mut self, at: DateTime<FixedOffset>) -> String {
        let day = at.date_naive();
        if self.day == Some(day) {
            return String::new();
        }
        let first = self.day.is_none();
        self.day = Some(day);
        format!(
            "{}{}\n",
            if first { "" } else { "\n" },
            day.format("== %A %-d %B %Y ==")
        )
    }

    fn played(&mut self, line: &Line, zone: Option<Zone>) -> String {
        let at = zone.map_or(line.at, |zone| zone.local(line.at.to_utc()));
        let who = match &line.who {
            Who::Clock => return String::new(),
            Who::Owner { name } => name.clone().unwrap_or_else(|| "owner".into()),
            Who::Clinic { name } => match name {
                Some(name) => format!("clinic ({name})"),
                None => "clinic".into(),
            },
            Who::Stranger => "stranger".into(),
            Who::World => "--".into(),
        };
        let what = match &line.what {
            What::Text(text) => text.clone(),
            What::Tap(label) => format!("[{label}]"),
            What::Nothing => String::new(),
            What::World(world) => world_in_words(world),
        };
        format!("{}{} {who}: {what}\n", self.heading(at), at.format("%H:%M"))
    }

    fn sent(&mut self, delivered: &Delivered, zone: Option<Zone>) -> String {
        let at = shown_at(delivered, zone);
        let mut out = self.heading(at);
        let to = &delivered.chat.address;
        let kind = delivered.message.kind;
        let _ = writeln!(out, "{}   to {to} ({kind})", at.format("%H:%M"));
        for line in delivered.outgoing.text.lines() {
            let _ = writeln!(out, "      | {line}");
        }
        let buttons: Vec<String> = delivered
            .outgoing
            .buttons
            .iter()
            .map(|button| format!("[{}]", button.label))
            .collect();
        if !buttons.is_empty() {
            let _ = writeln!(out, "      | {}", buttons.join(" "));
        }
        out
    }
}

fn world_in_words(world: &World) -> String {
    let who = |name: &Option<String>| name.clone().unwrap_or_else(|| "the owner".into());
    match world {
        World::DownUntil(until) => format!("the program is down until {}", until.to_rfc3339()),
        World::Blocks(name) => format!("{} blocks the bot", who(name)),
        World::Returns(name) => format!("{} opens the chat again", who(name)),
        World::Photo(name, caption) => format!("{} sends a photo {caption}", who(name)),
        World::Edits(name, text) => format!("{} changes an earlier message to: {text}", who(name)),
    }
}
