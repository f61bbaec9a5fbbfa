//! The clinic's opening hours.

use super::reader::{Section, Value, quoted};

use crate::domain::order_words::clock;
use crate::domain::policy::OpenHours;
use chrono::{NaiveTime, Weekday};

const DAYS: [(&str, Weekday); 7] = [
    ("monday", Weekday::Mon),
    ("tuesday", Weekday::Tue),
    ("wednesday", Weekday::Wed),
    ("thursday", Weekday::Thu),
    ("friday", Weekday::Fri),
    ("saturday", Weekday::Sat),
    ("sunday", Weekday::Sun),
];

pub(super) fn read(table: &Section<'_>) -> Option<Vec<OpenHours>> {
    let days = DAYS.map(|(key, day)| match table.value(key) {
        Some(value) => hours_of_day(&value, day),
        None => Some(Vec::new()),
    });
    let days: Option<Vec<Vec<OpenHours>>> = days.into_iter().collect();
    Some(days?.concat())
}

fn hours_of_day(value: &Value<'_>, day: Weekday) -> Option<Vec<OpenHours>> {
    let one = |value: &Value<'_>| {
        let (from, until) = value.parsed(open_span)?;
        Some(OpenHours { day, from, until })
    };
    let hours = if value.is_list() {
        value.each(one)?
    } else {
        vec![one(value)?]
    };
    if hours.windows(2).any(|pair| pair[0].until > pair[1].from) {
        value.complain("the hours of a day must follow one another without overlapping");
        return None;
    }
    Some(hours)
}

fn open_span(text: &str) -> Result<(NaiveTime, NaiveTime), String> {
    let wrong = || {
        format!(
            "{} are no opening hours; write them like \"08:00-18:00\"",
            quoted(text)
        )
    };
    let (from, until) = text.split_once(['-', '–']).ok_or_else(wrong)?;
    let from = clock(from.trim()).ok_or_else(wrong)?;
    let until = match until.trim() {
        // The last instant of the day: no wall time is called 24:00.
        "24:00" => NaiveTime::from_hms_milli_opt(23, 59, 59, 999).ok_or_else(wrong)?,
        until => clock(until).ok_or_else(wrong)?,
    };
    if from >= until {
        return Err(format!(
            "{} ends before it begins; hours past midnight are written as \"22:00-24:00\" and \"00:00-06:00\" of the next day",
            quoted(text)
        ));
    }
    Ok((from, until))
}
