//! A small reader of iCalendar, written from RFC 5545: it unfolds, unescapes
//! and resolves a local time by the VTIMEZONE of the file alone.

use chrono::{DateTime, NaiveDateTime, TimeDelta, Utc};
use std::collections::BTreeMap;

#[derive(Debug, Default)]
pub struct Component {
    pub name: String,
    pub lines: Vec<(String, String)>,
    pub parts: Vec<Component>,
}

impl Component {
    pub fn get(&self, name: &str) -> &str {
        let mut found = self.lines.iter().filter(|(key, _)| {
            key == name
                || key
                    .strip_prefix(name)
                    .is_some_and(|rest| rest.starts_with(';'))
        });
        let value = found
            .next()
            .unwrap_or_else(|| panic!("{}: no {name}", self.name));
        assert!(found.next().is_none(), "{}: {name} twice", self.name);
        &value.1
    }

    pub fn parameter(&self, name: &str, parameter: &str) -> &str {
        let (key, _) = self
            .lines
            .iter()
            .find(|(key, _)| key.starts_with(name))
            .unwrap();
        key.split(';')
            .find_map(|part| part.strip_prefix(parameter)?.strip_prefix('='))
            .unwrap()
    }

    pub fn all(&self, name: &str) -> impl Iterator<Item = &Component> {
        self.parts.iter().filter(move |part| part.name == name)
    }
}

/// Reads a file; panics with what is wrong with it.
pub fn read(file: &str) -> Component {
    let body = file.strip_suffix("\r\n").expect("a line break at the end");
    for line in body.split("\r\n") {
        assert!(line.len() <= 75, "{} octets: {line}", line.len());
        assert!(!line.contains(['\r', '\n']), "a bare line break: {line:?}");
        assert!(
            !line.chars().any(|c| c.is_control() && c != '\t'),
            "{line:?}"
        );
    }
    let unfolded = body.replace("\r\n ", "").replace("\r\n\t", "");
    let mut open: Vec<Component> = vec![Component::default()];
    for line in unfolded.split("\r\n") {
        let (key, value) = line
            .split_once(':')
            .unwrap_or_else(|| panic!("no colon: {line}"));
        match key {
            "BEGIN" => open.push(Component {
                name: value.into(),
                ..Component::default()
            }),
            "END" => {
                let ended = open.pop().unwrap();
                assert_eq!(ended.name, value);
                open.last_mut().unwrap().parts.push(ended);
            }
            _ => open
                .last_mut()
                .unwrap()
                .lines
                .push((key.into(), value.into())),
        }
    }
    let mut root = open.pop().unwrap();
    assert!(open.is_empty() && root.lines.is_empty() && root.parts.len() == 1);
    root.parts.remove(0)
}

/// Section 3.3.11.
pub fn text(value: &str) -> String {
    let mut shown = String::new();
    let mut rest = value.chars();
    while let Some(c) = rest.next() {
        assert!(!matches!(c, ';' | ','), "not escaped: {value}");
        match c {
            '\\' => match rest.next().unwrap() {
                'n' | 'N' => shown.push('\n'),
                c @ ('\\' | ';' | ',') => shown.push(c),
                c => panic!("\\{c} in {value}"),
            },
            c => shown.push(c),
        }
    }
    shown
}

fn wall(value: &str) -> NaiveDateTime {
    NaiveDateTime::parse_from_str(value, "%Y%m%dT%H%M%S").unwrap()
}

fn offset(value: &str) -> TimeDelta {
    let (sign, digits) = value.split_at(1);
    let part = |at: usize| {
        digits
            .get(at..at + 2)
            .map_or(0, |n| n.parse::<i64>().unwrap())
    };
    let seconds = part(0) * 3600 + part(2) * 60 + part(4);
    TimeDelta::seconds(if sign == "-" { -seconds } else { seconds })
}

/// The instants of the events by their UID, resolved by the rules in the file:
/// the last rule whose onset is not later, both read with the offset before it
/// (section 3.6.5); so of a time that comes twice the first counts (3.3.5).
pub fn instants(calendar: &Component) -> BTreeMap<String, DateTime<Utc>> {
    calendar
        .all("VEVENT")
        .map(|event| {
            let zone = event.parameter("DTSTART", "TZID");
            let rules = calendar
                .all("VTIMEZONE")
                .find(|z| z.get("TZID") == zone)
                .unwrap();
            let start = wall(event.get("DTSTART"));
            let mut onsets: Vec<(DateTime<Utc>, TimeDelta)> = rules
                .parts
                .iter()
                .map(|rule| {
                    let onset = wall(rule.get("DTSTART")) - offset(rule.get("TZOFFSETFROM"));
                    (onset.and_utc(), offset(rule.get("TZOFFSETTO")))
                })
                .collect();
            onsets.sort();
            let fitting = onsets.iter().enumerate().find_map(|(n, (onset, to))| {
                let at = (start - *to).and_utc();
                let ends = onsets.get(n + 1).map(|(end, _)| *end);
                (*onset <= at && ends.is_none_or(|end| at < end)).then_some(at)
            });
            let at = fitting.unwrap_or_else(|| panic!("{start} is no time of {zone}"));
            (text(event.get("UID")), at)
        })
        .collect()
}
