//! Wall times as plain numbers, and the wall times that tests ask for.
//!
//! A wall time is held as the seconds from 1970-01-01T00:00:00 to it on its own
//! clock, so that nothing here depends on a calendar of a library under test.

use chrono::{DateTime, NaiveDateTime};

pub const HOUR_S: i64 = 3600;
pub const DAY_S: i64 = 24 * HOUR_S;

/// 2020-01-01T00:00:00Z to 2038-01-01T00:00:00Z: 2020 to 2037.
pub const YEARS: std::ops::Range<i64> = 1_577_836_800..2_145_916_800;

/// Times of day around which clocks change (00:30 to 03:30) and at which doses
/// are commonly planned (common practice, no source).
pub const PLANNED_MINUTES: [i64; 6] = [30, 90, 150, 210, 450, 1170];

/// The planned wall times of a day that begins at `midnight`.
pub fn planned_on(midnight: i64) -> impl Iterator<Item = i64> {
    PLANNED_MINUTES
        .into_iter()
        .map(move |minutes| midnight + minutes * 60)
}

/// The midnights of the day before, the day, and the day after a change of the
/// clock, seen on the clock before it and on the clock after it.
pub fn days_around(at: i64, before_s: i64, after_s: i64) -> impl Iterator<Item = i64> {
    let day = |wall: i64| wall.div_euclid(DAY_S);
    let (a, b) = (day(at - 1 + before_s), day(at + after_s));
    (a.min(b) - 1..=a.max(b) + 1).map(|day| day * DAY_S)
}

pub fn naive(wall: i64) -> NaiveDateTime {
    DateTime::from_timestamp(wall, 0)
        .expect("a year of our time")
        .naive_utc()
}
