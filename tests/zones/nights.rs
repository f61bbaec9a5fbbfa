//! How long it is from the evening dose to the morning dose, and on to the next
//! evening, on days on which the clock changes: wall times stay, hours do not.

use chrono::{Days, NaiveDate, TimeDelta};
use vialbell::domain::zone::Zone;

/// Zone, day of the change, minutes from 20:00 the evening before to 08:00,
/// minutes from 08:00 to 20:00. Computed with Python's zoneinfo and release
/// 2026f of the tz database.
const NIGHTS: [(&str, &str, i64, i64); 7] = [
    ("America/New_York", "2026-03-08", 11 * 60, 12 * 60),
    ("America/New_York", "2026-11-01", 13 * 60, 12 * 60),
    ("Europe/London", "2026-10-25", 13 * 60, 12 * 60),
    ("Australia/Lord_Howe", "2026-10-04", 11 * 60 + 30, 12 * 60),
    ("Australia/Lord_Howe", "2026-04-05", 12 * 60 + 30, 12 * 60),
    ("Antarctica/Troll", "2026-03-29", 10 * 60, 12 * 60),
    ("Antarctica/Troll", "2026-10-25", 14 * 60, 12 * 60),
];

#[test]
fn nights_are_as_long_as_the_clock_makes_them() {
    for (name, day, night_min, day_min) in NIGHTS {
        let zone = Zone::named(name).expect("a name of the database");
        let day: NaiveDate = day.parse().expect("a date");
        let at = |date: NaiveDate, hour| {
            let wall = date.and_hms_opt(hour, 0, 0).expect("a time of day");
            zone.instant(wall).at
        };
        let evening_before = at(day - Days::new(1), 20);
        let (morning, evening) = (at(day, 8), at(day, 20));
        let minutes = TimeDelta::minutes;
        assert_eq!(morning - evening_before, minutes(night_min), "{name} {day}");
        assert_eq!(evening - morning, minutes(day_min), "{name} {day}");
    }
}

/// RFC 5545 section 3.3.6: days are nominal, hours are exact. Ten days and 240
/// hours from one evening end an hour apart when the clock changes between.
#[test]
fn ten_days_are_not_240_hours_when_the_clock_changes() {
    let zone = Zone::named("America/New_York").expect("a name of the database");
    let start = NaiveDate::from_ymd_opt(2026, 3, 1)
        .and_then(|date| date.and_hms_opt(20, 0, 0))
        .expect("a wall time");
    let mixed = zone.instant(start).at;
    let by_hours = zone.local(mixed + TimeDelta::hours(240));
    let by_calendar = zone.local(zone.instant(start + Days::new(10)).at);
    assert_eq!(zone.local(mixed).to_rfc3339(), "2026-03-01T20:00:00-05:00");
    assert_eq!(by_hours.to_rfc3339(), "2026-03-11T21:00:00-04:00");
    assert_eq!(by_calendar.to_rfc3339(), "2026-03-11T20:00:00-04:00");
    assert_eq!(by_calendar.to_utc() - mixed, TimeDelta::hours(239));
}
