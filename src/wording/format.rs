//! Values as people write them, with a language's own words from its file.

use super::language::Language;
use crate::domain::message::OpenDays;
use crate::domain::quantity::Volume;
use chrono::{DateTime, Datelike, FixedOffset, NaiveDate, NaiveTime, Timelike, Weekday};
use fluent_bundle::FluentArgs;

/// Stands in a line for an optional fact that the message does not carry; the
/// line is then left out. A private-use character, so no one's text holds it:
/// [`one_line`] and [`block`] take such characters out.
pub(super) const MISSING: char = '\u{E000}';
/// Stands for a line feed within the clinic's own words, while lines are left out.
pub(super) const LINE_FEED: char = '\u{E001}';

/// In UTF-16 units, as Telegram counts: a clinic alert that quotes this much,
/// with three names at [`LINE_LIMIT`], stays within 4096 (Bot API, `sendMessage`).
const QUOTE_LIMIT: usize = 2_500;
/// In UTF-16 units; longer than any name, phone number or line of opening hours
/// has to be.
const LINE_LIMIT: usize = 200;

pub(super) fn volume(language: &Language, volume: Volume) -> String {
    let mark = language.helper("decimal-mark", &FluentArgs::new());
    format!("{} mL", volume.number().replace('.', &mark))
}

/// Weekday, day, month and time.
pub(super) fn date_time(language: &Language, at: DateTime<FixedOffset>) -> String {
    let mut args = words_of_day(language, at.date_naive());
    args.set("time", clock(language, at.time()));
    language.helper("date-time", &args)
}

/// Weekday, day and month.
pub(super) fn day(language: &Language, day: NaiveDate) -> String {
    language.helper("day-month", &words_of_day(language, day))
}

fn words_of_day(language: &Language, day: NaiveDate) -> FluentArgs<'static> {
    let mut args = FluentArgs::new();
    args.set("weekday", weekday(language, day.weekday()));
    args.set("day", day.day());
    args.set("month", month(language, day.month()));
    args
}

/// The short name of a weekday.
pub(super) fn weekday(language: &Language, day: Weekday) -> String {
    let id = format!("weekday-{}", day.number_from_monday());
    language.helper(&id, &FluentArgs::new())
}

/// The short name of a month, 1 to 12.
pub(super) fn month(language: &Language, month: u32) -> String {
    language.helper(&format!("month-{month}"), &FluentArgs::new())
}

/// The time of day.
pub(super) fn clock(language: &Language, time: NaiveTime) -> String {
    let (is_pm, hour12) = time.hour12();
    let part = match (time.hour(), time.minute()) {
        (0, 0) => "midnight",
        (12, 0) => "noon",
        _ if is_pm => "pm",
        _ => "am",
    };
    let mut args = FluentArgs::new();
    args.set("part", part);
    args.set("hour12", hour12);
    args.set("hour24", time.hour());
    args.set("minute", format!("{:02}", time.minute()));
    language.helper("clock", &args)
}

/// “7:30 am and 7:30 pm”.
pub(super) fn times(language: &Language, times: &[NaiveTime]) -> String {
    let shown = times.iter().map(|time| clock(language, *time));
    list(language, shown.collect())
}

/// “Mon to Fri, 8:00 am to 6:00 pm; Sat, 9:00 am to 12:00 noon”.
pub(super) fn hours(language: &Language, hours: &[OpenDays]) -> String {
    let shown: Vec<String> = hours.iter().map(|days| open_days(language, days)).collect();
    if shown.is_empty() {
        return "?".into();
    }
    shown.join("; ")
}

fn open_days(language: &Language, days: &OpenDays) -> String {
    let span = |from: String, until: String| {
        let mut args = FluentArgs::new();
        args.set("from", from);
        args.set("until", until);
        language.helper("span", &args)
    };
    let day = |number: u8| language.helper(&format!("weekday-{number}"), &FluentArgs::new());
    let spans = days
        .spans
        .iter()
        .map(|(from, until)| span(clock(language, *from), clock(language, *until)));
    let mut args = FluentArgs::new();
    let named = match days.first_day == days.last_day {
        true => day(days.first_day),
        false => span(day(days.first_day), day(days.last_day)),
    };
    args.set("days", named);
    args.set("times", list(language, spans.collect()));
    language.helper("open-days", &args)
}

/// “1 h 10 min”.
pub(super) fn duration(language: &Language, minutes: i64) -> String {
    let (hours, minutes) = (minutes / 60, minutes % 60);
    let mut args = FluentArgs::new();
    args.set(
        "form",
        match (hours, minutes) {
            (0, _) => "minutes",
            (_, 0) => "hours",
            _ => "both",
        },
    );
    args.set("hours", hours);
    args.set("minutes", minutes);
    language.helper("duration", &args)
}

fn list(language: &Language, shown: Vec<String>) -> String {
    let mut shown = shown.into_iter();
    let Some(first) = shown.next() else {
        return "?".into();
    };
    let mut rest: Vec<String> = shown.collect();
    let Some(last) = rest.pop() else {
        return first;
    };
    let list = rest.into_iter().fold(first, |list, next| {
        let mut args = FluentArgs::new();
        args.set("list", list);
        args.set("next", next);
        language.helper("list-more", &args)
    });
    let mut args = FluentArgs::new();
    args.set("list", list);
    args.set("last", last);
    language.helper("list-last", &args)
}

/// Words on one line, which can neither end it nor turn the direction of what
/// follows.
pub(super) fn one_line(text: &str) -> String {
    let words = flatten(text);
    match beginning(&words, LINE_LIMIT) {
        _ if words.is_empty() => "?".into(),
        None => words,
        Some(beginning) => format!("{beginning}…"),
    }
}

/// A name as it is. What starts in lower case is no name but somebody's words,
/// such as “my wife”: whose wife is told by the quotation marks.
pub(super) fn person(language: &Language, text: &str) -> String {
    let words = one_line(text);
    if words.starts_with(char::is_lowercase) {
        quote(language, &words)
    } else {
        words
    }
}

/// An owner's words, in quotation marks that they cannot close themselves.
pub(super) fn quote(language: &Language, text: &str) -> String {
    let words = flatten(text).replace(['“', '”', '„', '«', '»', '"'], "'");
    let words = match beginning(&words, QUOTE_LIMIT) {
        None => words,
        Some(beginning) => {
            let mut args = FluentArgs::new();
            args.set("text", beginning);
            language.helper("shortened", &args)
        }
    };
    let mut args = FluentArgs::new();
    args.set("text", words);
    language.helper("quoted", &args)
}

/// The clinic's own words or a table: its lines are kept, in full. At most one
/// empty line stands between two others.
pub(super) fn block(text: &str) -> String {
    let text = text
        .replace("\r\n", "\n")
        .replace(['\r', '\u{2028}', '\u{2029}'], "\n");
    let mut lines: Vec<String> = Vec::new();
    for line in text.trim_matches('\n').split('\n') {
        let line: String = line
            .replace('\t', " ")
            .chars()
            .filter(|c| !c.is_control() && !is_hidden(*c))
            .collect();
        let line = line.trim_end();
        if !(line.is_empty() && lines.last().is_none_or(String::is_empty)) {
            lines.push(line.into());
        }
    }
    if lines.is_empty() {
        return MISSING.into();
    }
    lines.join(&LINE_FEED.to_string())
}

/// The beginning of a text that is longer than so many UTF-16 units.
fn beginning(text: &str, units: usize) -> Option<&str> {
    let mut used = 0;
    let end = text.char_indices().find_map(|(start, c)| {
        used += c.len_utf16();
        (used > units).then_some(start)
    })?;
    Some(text[..end].trim_end())
}

fn flatten(text: &str) -> String {
    let spaced: String = text
        .chars()
        .map(|c| match c {
            '\u{2028}' | '\u{2029}' => ' ',
            c if c.is_control() => ' ',
            c => c,
        })
        .filter(|c| !is_hidden(*c))
        .collect();
    spaced.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Our own marks and other private-use characters, marks that reorder text
/// (Unicode Standard Annex 9, explicit directional formatting) and the byte
/// order mark. Joiners stay: scripts and emoji need them.
fn is_hidden(c: char) -> bool {
    matches!(c,
        '\u{E000}'..='\u{F8FF}'
        | '\u{200B}' | '\u{200E}' | '\u{200F}' | '\u{061C}'
        | '\u{202A}'..='\u{202E}' | '\u{2066}'..='\u{2069}'
        | '\u{FEFF}')
}
