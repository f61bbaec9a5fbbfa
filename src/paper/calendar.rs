//! The calendar file (RFC 5545): the doses to come, each with an alarm.
//!
//! One event a dose, no repeating rule: section 3.3.10 lets a rule drop an
//! instance whose wall time does not exist, and a dose that falls in the night
//! the clocks go forward would be gone. Here it stands at the wall time to
//! which it moved. The zone's rules are written into the file, as they were
//! known to this program.

use crate::domain::Instant;
use crate::domain::household::{Course, Household, Planned};
use crate::domain::message::{No, Value};
use crate::domain::policy::Policy;
use crate::domain::zone::Zone;
use crate::wording::{Phrase, Wording};
use chrono::{DateTime, FixedOffset, NaiveDateTime, TimeDelta};
use std::collections::BTreeMap;

/// The doses of a course that are open and not past at `now`, as an iCalendar
/// object: lines end in CRLF and have 75 octets at most.
pub fn calendar(
    household: &Household,
    course: &Course,
    policy: &Policy,
    wording: &Wording,
    now: Instant,
) -> String {
    let doses: Vec<(No, Planned)> = household
        .open_doses(course)
        .filter(|_| course.is_running())
        .map(|dose| (dose, course.planned(dose, household.zone)))
        .filter(|(_, planned)| planned.at >= now)
        .collect();
    let language = household.language.as_str();
    let patient = household.patient_of(course);
    let mut file = File::default();
    file.line("BEGIN", "VCALENDAR");
    file.line("VERSION", "2.0");
    file.line("PRODID", "-//vialbell//vialbell//EN");
    file.line("CALSCALE", "GREGORIAN");
    file.line("METHOD", "PUBLISH");
    let name = wording.phrase(
        Phrase::CalendarName,
        &[("patient", patient.into())],
        language,
    );
    // RFC 7986, and the older name of the same thing.
    file.text("NAME", &name);
    file.text("X-WR-CALNAME", &name);
    for (zone, span) in spans(household.zone, now, &doses) {
        write_zone(&mut file, zone, span);
    }
    for (dose, planned) in doses {
        let volume = course.plan(dose).volume;
        let summary = wording.phrase(
            Phrase::CalendarEvent,
            &[("patient", patient.into()), ("volume_ml", volume.into())],
            language,
        );
        let details = wording.phrase(
            Phrase::CalendarDetails,
            &[
                ("volume_ml", volume.into()),
                ("syringe_ml", course.syringe.into()),
                ("clinic", Value::from(policy.clinic.name.as_str())),
                ("phone", policy.clinic.phone.as_str().into()),
            ],
            language,
        );
        let uid = format!(
            "{}-{}-{}-{dose}@vialbell.invalid",
            household.clinic, household.id, course.no
        );
        file.line("BEGIN", "VEVENT");
        file.text("UID", &uid);
        file.line("DTSTAMP", &utc(now));
        let start = format!("DTSTART;TZID={}", planned.zone.name());
        file.line(&start, &wall(planned.shown().naive_local()));
        file.line("DURATION", "PT15M");
        file.text("SUMMARY", &summary);
        file.text("DESCRIPTION", &details);
        file.line("CLASS", "PRIVATE");
        file.line("TRANSP", "TRANSPARENT");
        file.line("BEGIN", "VALARM");
        file.line("ACTION", "DISPLAY");
        file.line("TRIGGER", "PT0S");
        file.text("DESCRIPTION", &summary);
        file.line("END", "VALARM");
        file.line("END", "VEVENT");
    }
    file.line("END", "VCALENDAR");
    file.0
}

/// Each zone that doses are planned in, from its first instant to its last.
fn spans(home: Zone, now: Instant, doses: &[(No, Planned)]) -> BTreeMap<Zone, (Instant, Instant)> {
    let mut spans = BTreeMap::from([(home, (now, now))]);
    for (_, planned) in doses {
        let span = spans
            .entry(planned.zone)
            .or_insert((planned.at, planned.at));
        *span = (span.0.min(planned.at), span.1.max(planned.at));
    }
    spans
}

/// A change of a zone's offset.
struct Change {
    at: Instant,
    from: FixedOffset,
    to: FixedOffset,
}

/// Searched hour by hour: no zone has changed twice within one.
fn changes(zone: Zone, first: Instant, last: Instant) -> Vec<Change> {
    let offset = |at: Instant| *zone.local(at).offset();
    let mut found = Vec::new();
    let mut step = first;
    while step < last {
        let next = step + TimeDelta::hours(1);
        let (from, to) = (offset(step), offset(next));
        if from != to {
            let (mut before, mut after) = (step, next);
            while after - before > TimeDelta::seconds(1) {
                let middle = before + (after - before) / 2;
                if offset(middle) == from {
                    before = middle;
                } else {
                    after = middle;
                }
            }
            // Rules change at whole seconds.
            let at = Instant::from_timestamp(after.timestamp(), 0).unwrap_or(after);
            found.push(Change { at, from, to });
        }
        step = next;
    }
    found
}

fn write_zone(file: &mut File, zone: Zone, (first, last): (Instant, Instant)) {
    // A day of margin, so that no event stands before the first rule.
    let first = first - TimeDelta::days(1);
    let changes = changes(zone, first, last + TimeDelta::days(1));
    file.line("BEGIN", "VTIMEZONE");
    file.line("TZID", zone.name());
    let start = zone.local(first);
    // Which of two offsets is called daylight time has no bearing on any
    // instant (section 3.6.5); here it is the one further east.
    let starts_in_daylight = changes
        .first()
        .is_some_and(|change| is_east(change.from, change.to));
    let offset = *start.offset();
    write_rule(
        file,
        starts_in_daylight,
        start.naive_local(),
        offset,
        offset,
    );
    for change in changes {
        let onset = change.at.with_timezone(&change.from).naive_local();
        let is_daylight = is_east(change.to, change.from);
        write_rule(file, is_daylight, onset, change.from, change.to);
    }
    file.line("END", "VTIMEZONE");
}

fn is_east(a: FixedOffset, b: FixedOffset) -> bool {
    a.local_minus_utc() > b.local_minus_utc()
}

fn write_rule(
    file: &mut File,
    is_daylight: bool,
    onset: NaiveDateTime,
    from: FixedOffset,
    to: FixedOffset,
) {
    let name = if is_daylight { "DAYLIGHT" } else { "STANDARD" };
    file.line("BEGIN", name);
    file.line("DTSTART", &wall(onset));
    file.line("TZOFFSETFROM", &offset(from));
    file.line("TZOFFSETTO", &offset(to));
    file.line("TZNAME", &offset(to));
    file.line("END", name);
}

fn wall(at: NaiveDateTime) -> String {
    at.format("%Y%m%dT%H%M%S").to_string()
}

fn utc(at: DateTime<chrono::Utc>) -> String {
    at.format("%Y%m%dT%H%M%SZ").to_string()
}

/// `+HHMM`, with seconds where there are some (section 3.3.14).
fn offset(offset: FixedOffset) -> String {
    let seconds = offset.local_minus_utc();
    let sign = if seconds < 0 { '-' } else { '+' };
    let seconds = seconds.abs();
    let (hours, minutes, rest) = (seconds / 3600, seconds / 60 % 60, seconds % 60);
    match rest {
        0 => format!("{sign}{hours:02}{minutes:02}"),
        _ => format!("{sign}{hours:02}{minutes:02}{rest:02}"),
    }
}

/// Content lines, folded.
#[derive(Default)]
struct File(String);

/// Section 3.1, without the line break.
const MOST_OCTETS: usize = 75;

impl File {
    /// A value that holds nothing to escape.
    fn line(&mut self, name: &str, value: &str) {
        let mut used = 0;
        for c in name.chars().chain([':']).chain(value.chars()) {
            if used + c.len_utf8() > MOST_OCTETS {
                self.0.push_str("\r\n ");
                used = 1;
            }
            self.0.push(c);
            used += c.len_utf8();
        }
        self.0.push_str("\r\n");
    }

    /// A value of the type TEXT (section 3.3.11).
    fn text(&mut self, name: &str, value: &str) {
        let mut escaped = String::with_capacity(value.len());
        for c in value.chars() {
            match c {
                '\\' | ';' | ',' => escaped.extend(['\\', c]),
                '\n' => escaped.push_str("\\n"),
                c if c.is_control() => {}
                c => escaped.push(c),
            }
        }
        self.line(name, &escaped);
    }
}
