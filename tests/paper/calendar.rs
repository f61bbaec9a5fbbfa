//! The calendar file, read by our own small reader and by the Python package
//! icalendar.

use crate::home::{Home, ODD_NAMES, Setting};
use crate::ics;
use proptest::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use std::io::Write;
use std::process::{Command, Stdio};
use vialbell::domain::Instant;
use vialbell::domain::change::{Change, apply};
use vialbell::paper::calendar;

fn file(home: &Home, now: Instant) -> String {
    calendar(
        &home.household,
        home.course(),
        &home.policy,
        &home.wording,
        now,
    )
}

fn planned(home: &Home) -> BTreeSet<Instant> {
    let course = home.course();
    course
        .dose_numbers()
        .map(|dose| course.planned(dose, home.household.zone).at)
        .collect()
}

/// Courses over nights on which clocks change, with doses in the gap and in the
/// fold. The nights: IANA tz database 2026f; Vancouver stays at -07 from 2026
/// on, Lord Howe moves by half an hour.
fn nights() -> Vec<Setting<'static>> {
    [
        (
            "America/New_York",
            "2026-03-05T14:30",
            "\"02:30\", \"14:30\"",
        ),
        (
            "America/New_York",
            "2026-10-28T13:30",
            "\"01:30\", \"13:30\"",
        ),
        (
            "Australia/Lord_Howe",
            "2026-10-01T14:15",
            "\"02:15\", \"14:15\"",
        ),
        (
            "America/Vancouver",
            "2026-10-25T13:30",
            "\"01:30\", \"13:30\"",
        ),
        (
            "Africa/Casablanca",
            "2026-02-10T14:30",
            "\"02:30\", \"14:30\"",
        ),
        ("Asia/Kathmandu", "2026-02-10T14:30", "\"02:30\", \"14:30\""),
        ("Europe/Dublin", "2026-03-25T13:30", "\"01:30\", \"13:30\""),
    ]
    .map(|(zone, first, times)| Setting {
        zone,
        first,
        times,
        ..Setting::default()
    })
    .into()
}

#[test]
fn every_dose_stands_at_its_instant_over_the_nights_that_clocks_change() {
    for setting in nights() {
        let home = Home::new(&setting);
        let calendar = ics::read(&file(&home, home.now));
        let instants = ics::instants(&calendar);
        assert_eq!(instants.len(), 56, "{}", setting.zone);
        let instants: BTreeSet<Instant> = instants.into_values().collect();
        assert_eq!(
            instants,
            planned(&home),
            "{} {}",
            setting.zone,
            setting.first
        );
    }
}

#[test]
fn a_dose_in_the_gap_is_written_where_it_moved_to() {
    let home = Home::new(&nights()[0]);
    let written = file(&home, home.now);
    assert!(written.contains("DTSTART;TZID=America/New_York:20260308T033000\r\n"));
    assert!(!written.contains("20260308T023000"));
    assert!(!written.contains("RRULE"));
}

#[test]
fn each_event_has_what_a_phone_needs() {
    let home = Home::new(&Setting::spanish());
    let calendar = ics::read(&file(&home, home.now));
    assert_eq!(calendar.get("VERSION"), "2.0");
    assert_eq!(ics::text(calendar.get("NAME")), "Ñandú: dosis");
    for event in calendar.all("VEVENT") {
        assert_eq!(ics::text(event.get("SUMMARY")), "Ñandú: dosis, 1,5 mL");
        let details = ics::text(event.get("DESCRIPTION"));
        assert!(details.contains("+1 555 0142"), "{details}");
        assert_eq!(event.get("DTSTAMP"), "20260305T213000Z");
        let alarm = event.all("VALARM").next().unwrap();
        assert_eq!(
            (alarm.get("ACTION"), alarm.get("TRIGGER")),
            ("DISPLAY", "PT0S")
        );
    }
}

#[test]
fn a_later_file_has_the_doses_that_are_left_under_the_same_names() {
    let mut home = Home::new(&Setting::default());
    let first = ics::instants(&ics::read(&file(&home, home.now)));
    let tenth = home.course().planned(10, home.household.zone);
    let eleventh = home.course().planned(11, home.household.zone);
    let change = Change::Administered {
        administration: 1,
        course: 1,
        dose: 11,
        local: eleventh.local,
        zone: eleventh.zone,
        planned_at: eleventh.at,
        given: false,
        at: tenth.at,
        recorded_at: tenth.at,
        by: "Maren".into(),
        carer: 1,
        volume: Default::default(),
        draws: Vec::new(),
    };
    apply(&mut home.household, &change);
    let later = ics::instants(&ics::read(&file(&home, tenth.at)));
    let expected: BTreeMap<_, _> = first
        .into_iter()
        .filter(|(_, at)| *at >= tenth.at && *at != eleventh.at)
        .collect();
    assert_eq!(later, expected);
    assert_eq!(later.len(), 46);
}

#[test]
fn a_course_that_has_ended_leaves_no_alarm() {
    let mut home = Home::new(&Setting::default());
    let at = home.now;
    apply(&mut home.household, &Change::CourseEnded { course: 1, at });
    let calendar = ics::read(&file(&home, home.now));
    assert_eq!(calendar.all("VEVENT").count(), 0);
    assert_eq!(calendar.all("VTIMEZONE").count(), 1);
}

#[test]
fn odd_names_stay_text() {
    for name in ODD_NAMES {
        let home = Home::new(&Setting {
            patient: name,
            ..Setting::default()
        });
        let calendar = ics::read(&file(&home, home.now));
        assert_eq!(calendar.all("VEVENT").count(), 56, "{name:?}");
        assert_eq!(calendar.parts.len(), 57, "{name:?}");
        for event in calendar.all("VEVENT") {
            let summary = ics::text(event.get("SUMMARY"));
            assert!(summary.ends_with(": dose, 1.5 mL"), "{summary}");
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]
    #[test]
    fn no_name_breaks_a_line(name in any::<String>(), clinic in any::<String>()) {
        let mut home = Home::new(&Setting { patient: &name, days: 2, ..Setting::default() });
        home.policy.clinic.name = clinic;
        let calendar = ics::read(&file(&home, home.now));
        prop_assert_eq!(calendar.all("VEVENT").count(), 4);
        for event in calendar.all("VEVENT") {
            ics::text(event.get("SUMMARY"));
            ics::text(event.get("DESCRIPTION"));
        }
    }
}

#[test]
#[ignore = "needs python3 with the package icalendar (pip install icalendar==7.3.2)"]
fn a_calendar_library_reads_the_same_instants_over_the_nights_that_clocks_change() {
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/paper/read_calendar.py");
    for setting in nights() {
        let home = Home::new(&setting);
        let written = file(&home, home.now);
        let mut python = Command::new("python3")
            .arg(script)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .expect("python3");
        let mut stdin = python.stdin.take().unwrap();
        stdin.write_all(written.as_bytes()).unwrap();
        drop(stdin);
        let output = python.wait_with_output().unwrap();
        assert!(output.status.success(), "see above");
        let read = String::from_utf8(output.stdout).unwrap();
        let read: BTreeSet<(i64, &str)> = read
            .lines()
            .map(|line| {
                let (at, summary) = line.split_once('\t').unwrap();
                (at.parse().unwrap(), summary)
            })
            .collect();
        let expected: BTreeSet<(i64, &str)> = planned(&home)
            .into_iter()
            .map(|at| (at.timestamp(), "Juniper: dose, 1.5 mL, alarm 0 s"))
            .collect();
        assert_eq!(read, expected, "{} {}", setting.zone, setting.first);
    }
}
