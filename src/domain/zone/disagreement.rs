//! Where the two copies of the database part ways for a zone.

use std::ops::Range;

use chrono::{DateTime, FixedOffset, Utc};

use super::Zone;
use super::database::{self, Rules};

/// The first instant at which the two sources give a zone different offsets.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Disagreement {
    /// The second from which they differ, or the start of the span looked at.
    pub first: DateTime<Utc>,
    /// The offset that holds, in seconds east of UTC.
    pub deciding_offset_s: i32,
    /// The offset by the overruled source, in seconds east of UTC.
    pub other_offset_s: i32,
}

const HOUR_S: i64 = 3600;
const DAY_S: i64 = 24 * HOUR_S;

/// Nobody plans a dose later: 9999-12-31T23:59:59Z. Keeps a long span finite.
const LAST_S: i64 = 253_402_300_799;

/// The first instant at which the two sources differ for `zone` within `days`
/// days of 24 hours from `from` on, the end not included.
///
/// None when they agree, and when the overruled source does not know the zone
/// (there is nothing to compare). Takes time in proportion to `days`.
///
/// ```
/// use chrono::DateTime;
/// use vialbell::domain::zone::{Zone, disagreement};
///
/// let denver = Zone::named("America/Denver")?;
/// let from = DateTime::from_timestamp(1_767_225_600, 0).unwrap(); // 2026-01-01T00:00:00Z
/// assert_eq!(disagreement(denver, from, 400), None);
/// # Ok::<(), vialbell::domain::zone::UnknownZone>(())
/// ```
#[must_use]
pub fn disagreement(zone: Zone, from: DateTime<Utc>, days: u32) -> Option<Disagreement> {
    let other = database::other();
    let other = other.rules(other.position(zone.name())?);
    let found = first_difference(zone.rules(), other, span(from, days))?;
    Some(Disagreement {
        first: found.first.max(from),
        ..found
    })
}

/// Whole seconds: rules change at no others.
fn span(from: DateTime<Utc>, days: u32) -> Range<i64> {
    let end = from.timestamp() + i64::from(days) * DAY_S;
    from.timestamp()..end.min(LAST_S)
}

fn first_difference(
    deciding: &dyn Rules,
    other: &dyn Rules,
    span: Range<i64>,
) -> Option<Disagreement> {
    // No zone has changed twice within an hour, so each source has at most one
    // change between two steps, and bisecting finds it.
    let mut step = span.start;
    while step < span.end {
        let next = (step + HOUR_S).min(span.end);
        let mut candidates = [
            Some(step),
            change(deciding, step..next),
            change(other, step..next),
        ];
        candidates.sort_unstable();
        for at_s in candidates.into_iter().flatten() {
            let (decided, overruled) = (offset_s(deciding, at_s), offset_s(other, at_s));
            if decided != overruled {
                return Some(Disagreement {
                    first: DateTime::from_timestamp(at_s, 0)?,
                    deciding_offset_s: decided,
                    other_offset_s: overruled,
                });
            }
        }
        step = next;
    }
    None
}

/// The second within the span, its start not included, from which another
/// offset holds than at the start.
fn change(rules: &dyn Rules, span: Range<i64>) -> Option<i64> {
    let at_start = offset_s(rules, span.start);
    if offset_s(rules, span.end - 1) == at_start {
        return None;
    }
    let (mut same, mut changed) = (span.start, span.end - 1);
    while changed - same > 1 {
        let middle = same + (changed - same) / 2;
        if offset_s(rules, middle) == at_start {
            same = middle;
        } else {
            changed = middle;
        }
    }
    Some(changed)
}

fn offset_s(rules: &dyn Rules, at_s: i64) -> i32 {
    DateTime::from_timestamp(at_s, 0)
        .map(|at| rules.offset_at(at))
        .as_ref()
        .map_or(0, FixedOffset::local_minus_utc)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::zone::{Release, releases};

    /// One offset up to an instant, another from it on.
    struct Changes(Vec<(i64, i32)>);

    impl Rules for Changes {
        fn offset_at(&self, at: DateTime<Utc>) -> FixedOffset {
            let held = self
                .0
                .iter()
                .rev()
                .find(|(from, _)| *from <= at.timestamp());
            FixedOffset::east_opt(held.map_or(0, |(_, offset)| *offset)).expect("in range")
        }
    }

    fn found(a: &[(i64, i32)], b: &[(i64, i32)], span: Range<i64>) -> Option<(i64, i32, i32)> {
        first_difference(&Changes(a.to_vec()), &Changes(b.to_vec()), span)
            .map(|d| (d.first.timestamp(), d.deciding_offset_s, d.other_offset_s))
    }

    #[test]
    fn the_first_second_of_a_difference_is_found() {
        let day = 0..DAY_S;
        assert_eq!(
            found(&[(12_345, 3600)], &[], day.clone()),
            Some((12_345, 3600, 0))
        );
        assert_eq!(found(&[], &[(1, 1800)], day.clone()), Some((1, 0, 1800)));
        assert_eq!(found(&[(-5, 7)], &[], day.clone()), Some((0, 7, 0)));
        assert_eq!(found(&[(50, 7)], &[(50, 7)], day.clone()), None);
        // The same change, a minute apart: the sources differ for that minute.
        assert_eq!(
            found(&[(7260, 7)], &[(7200, 7)], day.clone()),
            Some((7200, 0, 7))
        );
        assert_eq!(found(&[(7140, 7)], &[(7200, 7)], day), Some((7140, 7, 0)));
    }

    #[test]
    fn the_earlier_of_two_changes_within_an_hour_counts() {
        let (ours, theirs) = ([(7300, 5)], [(7250, 7)]);
        assert_eq!(found(&ours, &theirs, 0..DAY_S), Some((7250, 0, 7)));
    }

    #[test]
    fn the_span_ends_before_its_last_second() {
        assert_eq!(
            found(&[(DAY_S - 1, 7)], &[], 0..DAY_S),
            Some((DAY_S - 1, 7, 0))
        );
        assert_eq!(found(&[(DAY_S, 7)], &[], 0..DAY_S), None);
        assert_eq!(found(&[(0, 7)], &[], 0..0), None);
    }

    /// The figures below belong to these two releases: with others, compute
    /// them anew from the releases' data.
    fn the_releases_are_those_of_the_figures() {
        let versions = releases().map(|Release { version, .. }| version);
        assert_eq!(versions, ["2025b", "2026f"]);
    }

    #[test]
    fn vancouver_parts_ways_when_it_no_longer_falls_back() {
        the_releases_are_those_of_the_figures();
        // tz releases 2026b and 2025b, compiled: 2025b falls back at this
        // instant, 2026b and later stay at -07.
        let zone = Zone::named("America/Vancouver").expect("a zone");
        let from = "2026-03-01T00:00:00.5Z".parse().expect("an instant");
        let first = "2026-11-01T09:00:00Z".parse().expect("an instant");
        let expected = Disagreement {
            first,
            deciding_offset_s: -7 * 3600,
            other_offset_s: -8 * 3600,
        };
        assert_eq!(disagreement(zone, from, 400), Some(expected));
        assert_eq!(disagreement(zone, from, 200), None);
        let later = first + chrono::TimeDelta::milliseconds(1500);
        let at_once = Disagreement {
            first: later,
            ..expected
        };
        assert_eq!(disagreement(zone, later, 1), Some(at_once));
    }

    #[test]
    fn the_zones_that_differ_on_a_day_are_those_that_were_listed() {
        the_releases_are_those_of_the_figures();
        // Python's zoneinfo over the PyPI packages tzdata 2025.2 (2025b) and
        // 2026.6 (2026f) gives the same list for that day.
        let from = "2026-11-25T00:00:00Z".parse().expect("an instant");
        let differ: Vec<_> = crate::domain::zone::all()
            .filter(|name| {
                let zone = Zone::named(name).expect("a zone");
                disagreement(zone, from, 1).is_some()
            })
            .collect();
        assert_eq!(
            differ,
            [
                "Africa/Casablanca",
                "Africa/El_Aaiun",
                "America/Edmonton",
                "America/Havana",
                "America/Inuvik",
                "America/Rainy_River",
                "America/Vancouver",
                "America/Winnipeg",
                "America/Yellowknife",
                "Canada/Central",
                "Canada/Mountain",
                "Canada/Pacific",
                "Cuba",
            ]
        );
    }
}
