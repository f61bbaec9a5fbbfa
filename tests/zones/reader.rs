//! An independent reading of a zone: the crate tz-rs parses the TZif data, and
//! gaps and folds are worked out here from the offsets that it gives.

use crate::wall::DAY_S;

/// One zone as tz-rs reads it.
pub struct Reader {
    zone: tz::TimeZone,
}

/// An instant from which other rules hold; the offsets may be equal where only
/// an abbreviation changes. All in seconds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Transition {
    pub at: i64,
    pub before_s: i64,
    pub after_s: i64,
}

/// Where a wall time falls. All in seconds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fall {
    Once { at: i64 },
    Gap { moved_to: i64, by: i64 },
    Fold { first: i64, second: i64 },
}

impl Reader {
    pub fn new(data: &[u8]) -> Reader {
        let zone = tz::TimeZone::from_tz_data(data).expect("tz-rs reads TZif data");
        Reader { zone }
    }

    pub fn offset_s(&self, at: i64) -> i64 {
        let found = self.zone.find_local_time_type(at);
        i64::from(found.expect("rules for every instant").ut_offset())
    }

    /// Every transition in the span: those that the data lists, and after the
    /// last of them those by the rule that goes on from there. Such a rule has
    /// two a year, months apart, so one look a day passes none over.
    pub fn transitions(&self, span: std::ops::Range<i64>) -> Vec<Transition> {
        let zone = self.zone.as_ref();
        assert!(zone.leap_seconds().is_empty(), "data counts POSIX time");
        let listed = zone.transitions();
        let mut instants: Vec<i64> = listed
            .iter()
            .map(|transition| transition.unix_leap_time())
            .filter(|at| span.contains(at))
            .collect();
        let rule_goes_on = matches!(
            zone.extra_rule(),
            Some(tz::timezone::TransitionRule::Alternate(_))
        );
        if rule_goes_on {
            let last = listed.last().map_or(i64::MIN, |last| last.unix_leap_time());
            let mut day = last.max(span.start);
            while day < span.end {
                let next = (day + DAY_S).min(span.end);
                instants.extend(self.change_between(day, next - 1));
                day = next - 1;
                if next == span.end {
                    break;
                }
            }
        }
        instants.into_iter().map(|at| self.transition(at)).collect()
    }

    fn transition(&self, at: i64) -> Transition {
        Transition {
            at,
            before_s: self.offset_s(at - 1),
            after_s: self.offset_s(at),
        }
    }

    /// The second in `(from, to]` from which another offset holds than at
    /// `from`, if another holds at `to`.
    fn change_between(&self, from: i64, to: i64) -> Option<i64> {
        let before_s = self.offset_s(from);
        if self.offset_s(to) == before_s {
            return None;
        }
        let (mut same, mut changed) = (from, to);
        while changed - same > 1 {
            let middle = same + (changed - same) / 2;
            if self.offset_s(middle) == before_s {
                same = middle;
            } else {
                changed = middle;
            }
        }
        Some(changed)
    }

    /// Where a wall time falls. Offsets stay within 16 hours of UTC, so looking
    /// a day and a half to each side finds every offset that can apply.
    pub fn fall(&self, wall: i64) -> Fall {
        let (early, late) = (wall - DAY_S * 3 / 2, wall + DAY_S * 3 / 2);
        let mut offsets = vec![self.offset_s(early)];
        let mut changes = Vec::new();
        let mut from = early;
        for to in [wall - DAY_S / 2, wall, wall + DAY_S / 2, late] {
            if let Some(at) = self.change_between(from, to) {
                changes.push(self.transition(at));
                offsets.push(self.offset_s(to));
            }
            from = to;
        }
        offsets.sort_unstable();
        offsets.dedup();
        let mut instants: Vec<i64> = offsets
            .iter()
            .map(|offset_s| wall - offset_s)
            .filter(|at| at + self.offset_s(*at) == wall)
            .collect();
        instants.sort_unstable();
        match *instants {
            [at] => Fall::Once { at },
            [first, second] => Fall::Fold { first, second },
            [] => {
                let jump = changes
                    .iter()
                    .find(|t| (t.at + t.before_s..t.at + t.after_s).contains(&wall))
                    .expect("a wall time without an instant lies in a gap");
                Fall::Gap {
                    moved_to: wall - jump.before_s,
                    by: jump.after_s - jump.before_s,
                }
            }
            _ => panic!("no clock shows a time three times"),
        }
    }
}
