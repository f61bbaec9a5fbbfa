//! From a wall time to its instant, by the offsets in force around it.
//!
//! Libraries answer this too, but not always rightly: jiff 1.0 and Python's
//! zoneinfo see a fold in America/Nuuk on 2023-10-28 where there was none, and
//! give an instant at which the clock shows another time. Here a reading
//! counts only if the clock shows the wall time at its instant.

use chrono::{DateTime, FixedOffset, NaiveDateTime, TimeDelta, Utc};

use super::database::Rules;

/// A wall time, resolved to the instant at which it falls.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Resolved {
    /// The instant.
    pub at: DateTime<Utc>,
    /// How the wall time fits the zone's clock that day.
    pub fits: Fits,
}

/// How a wall time fits a zone's clock.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fits {
    /// The clock shows it once.
    Once,
    /// The clock jumps over it, so it moves later.
    Gap {
        /// By how many seconds (the length of the gap; always positive): the
        /// clock shows the planned time plus this at the resolved instant.
        moved_by_s: i64,
    },
    /// The clock shows it twice, and the resolved instant is the first.
    Fold {
        /// The second instant at which the clock shows it.
        second: DateTime<Utc>,
    },
}

/// How far from UTC a clock can be: the database's widest offsets are
/// Manila's -15:56:08 and Metlakatla's +15:13:42, both of the 19th century.
const WIDEST: TimeDelta = TimeDelta::hours(16);

/// Resolves a wall time by the offsets in force before and after every instant
/// at which it could fall. Between those two a clock changes once at most: no
/// zone has changed twice within 32 hours in the years that doses fall in.
pub(super) fn resolve(rules: &dyn Rules, wall: NaiveDateTime) -> Resolved {
    // On nearly every day no clock changes in those hours.
    let wall_s = wall.and_utc().timestamp();
    let widest_s = WIDEST.num_seconds();
    if let Some(offset) = rules.offset_throughout(wall_s - widest_s, wall_s + widest_s) {
        return Resolved {
            at: read_with(wall, offset),
            fits: Fits::Once,
        };
    }
    let before = rules.offset_at(shifted(wall, -WIDEST));
    let after = rules.offset_at(shifted(wall, WIDEST));
    let at = read_with(wall, before);
    if before == after {
        return Resolved {
            at,
            fits: Fits::Once,
        };
    }

    let second = read_with(wall, after);
    match (
        rules.offset_at(at) == before,
        rules.offset_at(second) == after,
    ) {
        (true, true) => Resolved {
            at,
            fits: Fits::Fold { second },
        },
        (true, false) => Resolved {
            at,
            fits: Fits::Once,
        },
        (false, true) => Resolved {
            at: second,
            fits: Fits::Once,
        },
        (false, false) => Resolved {
            at,
            fits: Fits::Gap {
                moved_by_s: (at - second).num_seconds(),
            },
        },
    }
}

/// The instant at which a clock with that offset shows the wall time.
fn read_with(wall: NaiveDateTime, offset: FixedOffset) -> DateTime<Utc> {
    shifted(wall, -TimeDelta::seconds(offset.local_minus_utc().into()))
}

/// `wall` as a clock on UTC shows it, and from there by `by`; chrono's first or
/// last instant where that lies beyond them.
fn shifted(wall: NaiveDateTime, by: TimeDelta) -> DateTime<Utc> {
    let end = if by < TimeDelta::zero() {
        DateTime::<Utc>::MIN_UTC
    } else {
        DateTime::<Utc>::MAX_UTC
    };
    wall.and_utc().checked_add_signed(by).unwrap_or(end)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A clock that changes at an instant, in seconds: its offset before, and
    /// from then on.
    struct Clock {
        changes_at: i64,
        before_s: i32,
        after_s: i32,
    }

    impl Rules for Clock {
        fn offset_at(&self, at: DateTime<Utc>) -> FixedOffset {
            let is_before = at.timestamp() < self.changes_at;
            let offset_s = if is_before {
                self.before_s
            } else {
                self.after_s
            };
            FixedOffset::east_opt(offset_s).expect("in range")
        }
    }

    fn wall(seconds: i64) -> NaiveDateTime {
        DateTime::from_timestamp(seconds, 0)
            .expect("in range")
            .naive_utc()
    }

    fn resolved(clock: &Clock, seconds: i64) -> (i64, Fits) {
        let resolved = resolve(clock, wall(seconds));
        (resolved.at.timestamp(), resolved.fits)
    }

    #[test]
    fn every_second_around_a_jump_forward_and_back() {
        // The widest changes there have been: a day, across the date line.
        for (before_s, after_s) in [
            (0, 60),
            (0, -60),
            (-5 * 3600, -4 * 3600),
            (2 * 3600, 3600),
            (-10 * 3600, 14 * 3600),
            (12 * 3600, -12 * 3600),
        ] {
            let changes_at = 1_000_000_000;
            let clock = Clock {
                changes_at,
                before_s,
                after_s,
            };
            let (before_s, after_s) = (i64::from(before_s), i64::from(after_s));
            let (last, first) = (changes_at + before_s, changes_at + after_s);
            for seconds in [last, first]
                .into_iter()
                .flat_map(|edge| edge - 2..edge + 2)
            {
                let expected = if (last..first).contains(&seconds) {
                    let moved_by_s = after_s - before_s;
                    (seconds - before_s, Fits::Gap { moved_by_s })
                } else if (first..last).contains(&seconds) {
                    let second = wall(seconds - after_s).and_utc();
                    (seconds - before_s, Fits::Fold { second })
                } else if seconds < last {
                    (seconds - before_s, Fits::Once)
                } else {
                    (seconds - after_s, Fits::Once)
                };
                assert_eq!(
                    resolved(&clock, seconds),
                    expected,
                    "{before_s} {after_s} {seconds}"
                );
            }
        }
    }

    #[test]
    fn parts_of_a_second_are_kept() {
        let clock = Clock {
            changes_at: 0,
            before_s: 0,
            after_s: 60,
        };
        let half = TimeDelta::milliseconds(500);
        let shown = wall(59) + half;
        assert_eq!(resolve(&clock, shown).at, shown.and_utc());
        assert_eq!(resolve(&clock, shown).fits, Fits::Gap { moved_by_s: 60 });
        let shown = wall(60) + half;
        assert_eq!(resolve(&clock, shown).at, wall(0).and_utc() + half);
        assert_eq!(resolve(&clock, shown).fits, Fits::Once);
    }
}
