//! What a zone's clock will do, in a form that can be compared with what an
//! earlier program thought it would do.

use super::Zone;
use crate::domain::Instant;
use chrono::TimeDelta;
use std::fmt::Write;

/// No zone has two changes within five days (IANA tz 2026f; looked at by the test below).
const STEP: TimeDelta = TimeDelta::days(5);

/// The changes of a zone's offset between two instants, each to the second, such as
/// `-25200 1772960400>-21600`. Two programs that give the same text for a zone
/// resolve every wall time between the two instants alike.
#[must_use]
pub fn fingerprint(zone: Zone, from: Instant, until: Instant) -> String {
    let offset = |at: Instant| zone.local(at).offset().local_minus_utc();
    let mut text = offset(from).to_string();
    let mut before = from;
    while before < until {
        let after = until.min(before + STEP);
        if offset(before) != offset(after) {
            let change = change_between(before, after, &offset);
            // Writing to a String does not fail.
            let _ = write!(text, " {}>{}", change.timestamp(), offset(after));
        }
        before = after;
    }
    text
}

/// The first second with the later offset.
fn change_between(before: Instant, after: Instant, offset: &impl Fn(Instant) -> i32) -> Instant {
    let (mut early, mut late) = (before, after);
    while late - early > TimeDelta::seconds(1) {
        let middle = early + (late - early) / 2;
        if offset(middle) == offset(before) {
            early = middle;
        } else {
            late = middle;
        }
    }
    Instant::from_timestamp(late.timestamp(), 0).unwrap_or(late)
}

#[cfg(test)]
mod tests {
    use super::super::{all, decide_by, release, releases};
    use super::*;

    fn at(text: &str) -> Instant {
        text.parse().unwrap()
    }

    #[test]
    fn denver_changes_twice_a_year() {
        let zone = Zone::named("America/Denver").unwrap();
        let (from, until) = (at("2026-01-01T00:00:00Z"), at("2027-01-01T00:00:00Z"));
        // 2026-03-08 02:00 MST is 09:00Z; 2026-11-01 02:00 MDT is 08:00Z.
        let expected = format!(
            "-25200 {}>-21600 {}>-25200",
            at("2026-03-08T09:00:00Z").timestamp(),
            at("2026-11-01T08:00:00Z").timestamp()
        );
        assert_eq!(fingerprint(zone, from, until), expected);
    }

    #[test]
    fn a_release_that_changes_a_zone_changes_its_text_and_no_other() {
        let (from, until) = (at("2026-06-01T00:00:00Z"), at("2027-06-01T00:00:00Z"));
        let of = |name: &str| fingerprint(Zone::named(name).unwrap(), from, until);
        let now = [of("America/Vancouver"), of("America/Denver")];
        let newer = release();
        let older = releases().into_iter().find(|one| *one != newer).unwrap();
        decide_by(older);
        let then = [of("America/Vancouver"), of("America/Denver")];
        decide_by(newer);
        assert_ne!(now[0], then[0]);
        assert_eq!(now[1], then[1]);
    }

    /// Stepping by a twentieth of the step finds no change that the step passes over.
    #[test]
    fn no_zone_changes_twice_within_a_step() {
        let (from, until) = (at("2026-01-01T00:00:00Z"), at("2028-01-01T00:00:00Z"));
        for name in all() {
            let zone = Zone::named(name).unwrap();
            let offset = |at: Instant| zone.local(at).offset().local_minus_utc();
            let mut changes = 0;
            let mut before = from;
            while before < until {
                let after = before + STEP / 20;
                changes += usize::from(offset(before) != offset(after));
                before = after;
            }
            let text = fingerprint(zone, from, until);
            assert_eq!(text.matches('>').count(), changes, "{name}: {text}");
        }
    }
}
