//! Reads TOML so that every mistake of a file is collected, with its line,
//! before anything is given up.
//!
//! A reader that answers `None` has complained. What is left unread is an
//! unknown key: a setting that is misspelt must not silently be the default.

use super::mistake::Mistake;
use crate::domain::name::is_disguise;
use crate::domain::zone::edits;
use std::cell::RefCell;
use std::collections::BTreeSet;
use std::fmt::Display;
use std::ops::RangeInclusive;
use toml::Spanned;
use toml::de::{DeTable, DeValue};
use toml::value::Datetime;

/// One TOML text and what was found wrong with it so far.
pub(super) struct Sheet<'s> {
    file: &'s str,
    text: &'s str,
    mistakes: RefCell<Vec<Mistake>>,
}

/// Parses `text` and hands its root table to `take`. Gives what `take` made of
/// it, and every mistake in the order of lines; of a text that is no TOML, the
/// first.
pub(super) fn read<T>(
    file: &str,
    text: &str,
    take: impl FnOnce(&Section<'_>) -> Option<T>,
) -> (Option<T>, Vec<Mistake>) {
    let sheet = Sheet {
        file,
        text,
        mistakes: RefCell::default(),
    };
    let taken = match DeTable::parse(text) {
        Ok(table) => take(&Section {
            sheet: &sheet,
            path: String::new(),
            line: None,
            table: Some(table.get_ref()),
            asked: RefCell::default(),
        }),
        Err(error) => {
            let line = error.span().map(|span| sheet.line(span.start));
            sheet.complain(line, "", syntax(error.message()));
            None
        }
    };
    let mut mistakes = sheet.mistakes.into_inner();
    mistakes.sort_by_key(|mistake| mistake.line.unwrap_or(usize::MAX));
    (taken, mistakes)
}

fn syntax(message: &str) -> String {
    let message: Vec<&str> = message.split_whitespace().collect();
    format!("this is not TOML: {}", message.join(" "))
}

impl Sheet<'_> {
    fn line(&self, byte: usize) -> usize {
        let before = &self.text.as_bytes()[..byte.min(self.text.len())];
        before.iter().filter(|b| **b == b'\n').count() + 1
    }

    fn complain(&self, line: Option<usize>, key: &str, what: String) {
        self.mistakes.borrow_mut().push(Mistake {
            file: self.file.to_owned(),
            line,
            key: key.to_owned(),
            what: one_line(&what),
        });
    }
}

/// What is said, without what would break the line or make it endless: errors
/// repeat what was written, and that may be anything.
fn one_line(what: &str) -> String {
    const MOST: usize = 300;
    let mut line = String::new();
    for (length, c) in what.chars().enumerate() {
        if length == MOST {
            line.push('…');
            break;
        }
        if c.is_control() {
            line.extend(c.escape_default());
        } else {
            line.push(c);
        }
    }
    line
}

/// One table of a sheet; a table that the file does not have reads as empty.
pub(super) struct Section<'s> {
    sheet: &'s Sheet<'s>,
    path: String,
    line: Option<usize>,
    table: Option<&'s DeTable<'s>>,
    asked: RefCell<BTreeSet<&'static str>>,
}

impl<'s> Section<'s> {
    /// Whether the table has a key.
    pub fn has(&self, key: &'static str) -> bool {
        self.value(key).is_some()
    }

    /// The keys as written.
    pub fn keys(&self) -> impl Iterator<Item = &'s str> {
        let keys = self.table.into_iter().flat_map(|table| table.keys());
        keys.map(|key| key.get_ref().as_ref())
    }

    /// The value of a key, where there is one.
    pub fn value(&self, key: &'static str) -> Option<Value<'s>> {
        self.asked.borrow_mut().insert(key);
        let value = self.table?.get(key)?;
        Some(Value {
            sheet: self.sheet,
            path: self.path_of(key),
            value,
        })
    }

    /// The value of a key that must be there.
    pub fn required(&self, key: &'static str) -> Option<Value<'s>> {
        let value = self.value(key);
        if value.is_none() {
            self.complain(key, "is missing");
        }
        value
    }

    /// The table under a key.
    pub fn section(&self, key: &'static str) -> Section<'s> {
        let value = self.value(key);
        let table = value.and_then(|value| value.table());
        Section {
            sheet: self.sheet,
            path: self.path_of(key),
            line: self.line_of(key),
            table,
            asked: RefCell::default(),
        }
    }

    /// The tables `[key.NAME]` by their names.
    pub fn named(&self, key: &'static str) -> Vec<(String, Section<'s>)> {
        let Some(table) = self.value(key).and_then(|value| value.table()) else {
            return Vec::new();
        };
        let sections = table.iter().filter_map(|(name, value)| {
            let path = format!("{}.{}", self.path_of(key), bare(name.get_ref()));
            let value = Value {
                sheet: self.sheet,
                path: path.clone(),
                value,
            };
            let section = Section {
                sheet: self.sheet,
                path,
                line: Some(self.sheet.line(name.span().start)),
                table: Some(value.table()?),
                asked: RefCell::default(),
            };
            Some((name.get_ref().to_string(), section))
        });
        sections.collect()
    }

    /// The tables `[[key]]` in the order of the file; none where there is no such key.
    pub fn each(&self, key: &'static str) -> Option<Vec<Section<'s>>> {
        let items = self.value(key)?.list()?;
        let sections = items.into_iter().filter_map(|item| {
            Some(Section {
                sheet: item.sheet,
                line: Some(item.line()),
                table: Some(item.table()?),
                path: item.path,
                asked: RefCell::default(),
            })
        });
        Some(sections.collect())
    }

    /// Says what is wrong with a key: at its line, or where it should be.
    pub fn complain(&self, key: &str, what: impl Into<String>) {
        let line = self.line_of(key).or(self.line);
        self.sheet.complain(line, &self.path_of(key), what.into());
    }

    /// Says what is wrong with the table itself.
    pub fn complain_here(&self, what: impl Into<String>) {
        self.sheet.complain(self.line, &self.path, what.into());
    }

    fn line_of(&self, key: &str) -> Option<usize> {
        let (key, _) = self.table?.get_key_value(key)?;
        Some(self.sheet.line(key.span().start))
    }

    fn path_of(&self, key: &str) -> String {
        if self.path.is_empty() {
            bare(key)
        } else {
            format!("{}.{}", self.path, bare(key))
        }
    }

    fn complain_of_unknown(&self, key: &Spanned<std::borrow::Cow<'_, str>>) {
        let line = Some(self.sheet.line(key.span().start));
        let name = key.get_ref();
        let what = if is_secret(name) {
            let variable = match self.path.ends_with("webhook") {
                true => "VIALBELL_WEBHOOK_SECRET",
                false => "VIALBELL_TELEGRAM_TOKEN",
            };
            format!("secrets are not read from files; set {variable} in the environment")
        } else {
            let asked = self.asked.borrow();
            match nearest(name, asked.iter().copied()) {
                Some(near) => format!("is no key known here; did you mean {near}?"),
                None => {
                    let known: Vec<&str> = asked.iter().copied().collect();
                    format!("is no key known here; known are {}", known.join(", "))
                }
            }
        };
        self.sheet.complain(line, &self.path_of(name), what);
    }
}

/// Leaving a table is what makes its unread keys unknown, so no reader can
/// forget to look for them.
impl Drop for Section<'_> {
    fn drop(&mut self) {
        let asked = self.asked.borrow();
        for key in self.table.into_iter().flat_map(|table| table.keys()) {
            if !asked.contains(key.get_ref().as_ref()) {
                self.complain_of_unknown(key);
            }
        }
    }
}

/// One value of a sheet.
pub(super) struct Value<'s> {
    sheet: &'s Sheet<'s>,
    path: String,
    value: &'s Spanned<DeValue<'s>>,
}

impl<'s> Value<'s> {
    /// Says what is wrong with the value.
    pub fn complain(&self, what: impl Into<String>) {
        self.sheet
            .complain(Some(self.line()), &self.path, what.into());
    }

    /// A text, which is not the same as a number.
    pub fn text(&self) -> Option<&'s str> {
        match self.value.get_ref() {
            DeValue::String(text) => Some(text),
            _ => self.wrong_type("a text in quotes"),
        }
    }

    /// A text of 1 to `most` characters, none of them a control character, without blanks around it.
    pub fn line_of_text(&self, most: usize) -> Option<String> {
        let text = self.text()?.trim();
        let length = text.chars().count();
        if text.chars().any(is_disguise) {
            self.complain("must be one line without control characters");
        } else if length == 0 {
            self.complain("is empty");
        } else if length > most {
            self.complain(format!("has {length} characters; at most {most} are kept"));
        } else {
            return Some(text.to_owned());
        }
        None
    }

    /// A text that `parse` understands.
    pub fn parsed<T, E: Display>(&self, parse: impl FnOnce(&str) -> Result<T, E>) -> Option<T> {
        let text = self.text()?;
        self.or_complain(parse(text))
    }

    /// A number, or a text that holds one, as `parse` understands it. It sees
    /// the number's own digits: a dose never passes through a float.
    pub fn decimal<T, E: Display>(&self, parse: impl FnOnce(&str) -> Result<T, E>) -> Option<T> {
        let digits = self.digits()?;
        self.or_complain(parse(&digits))
    }

    /// A whole number within a range.
    pub fn whole(&self, range: RangeInclusive<u32>) -> Option<u32> {
        let digits = self.digits()?;
        let number = digits.trim().parse().ok().filter(|n| range.contains(n));
        if number.is_none() {
            let (least, most) = (range.start(), range.end());
            self.complain(format!(
                "{} is not a whole number from {least} to {most}",
                quoted(&digits)
            ));
        }
        number
    }

    /// A whole number, however far from zero.
    pub fn signed(&self) -> Option<i64> {
        let digits = self.digits()?;
        let number = digits.trim().parse().ok();
        if number.is_none() {
            self.complain(format!("{} is not a whole number", quoted(&digits)));
        }
        number
    }

    /// Yes or no.
    pub fn flag(&self) -> Option<bool> {
        match self.value.get_ref() {
            DeValue::Boolean(flag) => Some(*flag),
            _ => self.wrong_type("true or false"),
        }
    }

    /// The values of a list.
    pub fn list(&self) -> Option<Vec<Value<'s>>> {
        let DeValue::Array(items) = self.value.get_ref() else {
            return self.wrong_type("a list in [ ]");
        };
        let values = items.iter().map(|value| Value {
            sheet: self.sheet,
            path: self.path.clone(),
            value,
        });
        Some(values.collect())
    }

    /// A list all of whose values can be read; each that cannot has its complaint.
    pub fn each<T>(&self, take: impl Fn(&Value<'s>) -> Option<T>) -> Option<Vec<T>> {
        let taken: Vec<Option<T>> = self.list()?.iter().map(take).collect();
        taken.into_iter().collect()
    }

    /// A TOML date, time or both, where it is one.
    pub fn datetime(&self) -> Option<&'s Datetime> {
        self.value.get_ref().as_datetime()
    }

    /// Whether it is a list.
    pub fn is_list(&self) -> bool {
        self.value.get_ref().is_array()
    }

    fn line(&self) -> usize {
        self.sheet.line(self.value.span().start)
    }

    fn table(&self) -> Option<&'s DeTable<'s>> {
        match self.value.get_ref() {
            DeValue::Table(table) => Some(table),
            _ => self.wrong_type("a table"),
        }
    }

    fn digits(&self) -> Option<String> {
        let plain = |digits: &str| digits.trim_start_matches('+').replace('_', "");
        match self.value.get_ref() {
            DeValue::String(text) => Some(text.to_string()),
            DeValue::Integer(integer) if integer.radix() == 10 => Some(plain(integer.as_str())),
            DeValue::Float(float) => Some(plain(float.as_str())),
            DeValue::Integer(_) => {
                self.complain("must be a decimal number, not a number of another base");
                None
            }
            _ => self.wrong_type("a decimal number"),
        }
    }

    fn or_complain<T, E: Display>(&self, result: Result<T, E>) -> Option<T> {
        result
            .map_err(|error| self.complain(error.to_string()))
            .ok()
    }

    fn wrong_type<T>(&self, expected: &str) -> Option<T> {
        let found = match self.value.get_ref() {
            DeValue::String(_) => "a text",
            DeValue::Integer(_) | DeValue::Float(_) => "a number",
            DeValue::Boolean(_) => "true or false",
            DeValue::Datetime(_) => "a date or time",
            DeValue::Array(_) => "a list",
            DeValue::Table(_) => "a table",
        };
        self.complain(format!("must be {expected}, not {found}"));
        None
    }
}

/// A text in quotes, short enough and plain enough for one line.
pub(super) fn quoted(text: &str) -> String {
    const MOST: usize = 60;
    let shown: String = text.chars().take(MOST).collect();
    let cut = if shown.len() < text.len() { "…" } else { "" };
    // `{:?}` escapes what would break the line.
    format!("{shown:?}{cut}")
}

/// The candidate that was probably meant: a letter or two apart, or one is the
/// beginning of the other.
pub(super) fn nearest<'c>(
    written: &str,
    candidates: impl Iterator<Item = &'c str>,
) -> Option<&'c str> {
    const LONGEST: usize = 40;
    const LEAST_BEGINNING: usize = 3;
    let fold = |text: &str| text.to_lowercase().replace(['-', ' '], "_");
    let written = fold(written);
    if written.chars().count() > LONGEST {
        return None;
    }
    let most_edits = (written.chars().count() / 3).clamp(1, 2);
    let distance = |candidate: &str| {
        let candidate = fold(candidate);
        let shorter = written.len().min(candidate.len());
        let begins = candidate.starts_with(&written) || written.starts_with(&candidate);
        let apart = edits(&candidate, &written);
        if apart <= most_edits {
            Some(apart)
        } else {
            (begins && shorter >= LEAST_BEGINNING).then_some(most_edits + 1)
        }
    };
    candidates
        .filter_map(|candidate| Some((distance(candidate)?, candidate)))
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, candidate)| candidate)
}

fn is_secret(key: &str) -> bool {
    let key = key.to_lowercase().replace(['-', '_'], "");
    ["token", "secret", "password", "apikey"]
        .iter()
        .any(|word| key.contains(word))
}

/// A key as TOML would write it, cut to one readable line.
fn bare(key: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || matches!(c, '_' | '-');
    if !key.is_empty() && key.chars().count() <= 40 && key.chars().all(plain) {
        key.to_owned()
    } else {
        quoted(key)
    }
}
