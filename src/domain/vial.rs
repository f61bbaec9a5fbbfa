//! The books of a mixed vial: when it was mixed, until when it may be used,
//! what was drawn from it.

use super::Instant;
use super::formulary::Product;
use super::message::No;
use super::quantity::Volume;
use super::zone::Zone;
use chrono::TimeDelta;

/// A vial that was mixed. Vials of powder have no record of their own: they are a number.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Vial {
    /// Its number in the course.
    pub no: No,
    /// When it was mixed, as said.
    pub mixed_at: Instant,
    /// When that was recorded.
    pub recorded_at: Instant,
    /// Who mixed it.
    pub by: String,
    /// What could be drawn from it at first.
    pub available: Volume,
    /// It must not be used from here on.
    pub discard_by: Instant,
    /// When it was discarded, and by whom.
    pub discarded: Option<Discarded>,
    /// The last level that somebody saw in it.
    pub level: Option<LevelSeen>,
    /// Since when it is out of the refrigerator.
    pub out_since: Option<Instant>,
    /// How long before its limit the last warning was sent, in minutes; 0 once the limit was announced.
    pub warned_minutes: Option<u32>,
}

/// The end of a vial.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Discarded {
    /// When.
    pub at: Instant,
    /// By whom.
    pub by: String,
}

/// A level that somebody read off a vial.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LevelSeen {
    /// The volume seen.
    pub volume: Volume,
    /// When it was said.
    pub at: Instant,
}

impl Vial {
    /// Whether a dose may be drawn from it at an instant, as far as its limit goes.
    pub fn is_usable(&self, at: Instant) -> bool {
        self.discarded.is_none() && self.mixed_at <= at && at < self.discard_by
    }
}

/// From when on a vial mixed at an instant must not be used.
///
/// The product's hours count on the UTC line. Read as days on the calendar, the
/// same limit can end an hour earlier in a week that the clocks go back: the
/// earlier of the two is taken, which no reading of the label forbids.
pub fn discard_by(mixed_at: Instant, product: &Product, zone: Zone) -> Instant {
    let hours = TimeDelta::hours(product.refrigerated_hours.into());
    let elapsed = mixed_at + hours;
    let calendar = zone.instant(zone.local(mixed_at).naive_local() + hours).at;
    // Where the clock goes back by two hours, an hour later on the clock can be
    // an hour earlier in truth: a vial does not end before it is mixed.
    if calendar > mixed_at {
        elapsed.min(calendar)
    } else {
        elapsed
    }
}

/// A withdrawal from a vial.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Draw {
    /// From which vial; none where no mixed vial on record could have given it.
    pub vial: Option<No>,
    /// What went into the syringe.
    pub volume: Volume,
    /// What was lost on the way, in the needle and the hub.
    pub lost: Volume,
}

/// Spreads a volume over vials, in the order given, each with what is left in it.
///
/// Where it needs more than one vial and `split` is not allowed, a vial that
/// holds all of it is taken. What no vial can give is drawn from none.
pub fn spread(volume: Volume, left: &[(No, Volume)], loss: Volume, split: bool) -> Vec<Draw> {
    let mut draws = Vec::new();
    spread_into(&mut draws, volume, left.iter().copied(), loss, split);
    draws
}

/// The same, into draws that were used before: a forecast spreads each dose of a course.
pub(super) fn spread_into(
    draws: &mut Vec<Draw>,
    volume: Volume,
    left: impl Iterator<Item = (No, Volume)>,
    loss: Volume,
    split: bool,
) {
    draws.clear();
    let mut wanted = volume;
    for (vial, left) in left {
        let drawable = left.less(loss);
        if wanted.is_zero() || drawable.is_zero() || (!split && drawable < wanted) {
            continue;
        }
        let part = drawable.min(wanted);
        draws.push(Draw {
            vial: Some(vial),
            volume: part,
            lost: loss,
        });
        wanted = wanted.less(part);
    }
    if !wanted.is_zero() {
        draws.push(Draw {
            vial: None,
            volume: wanted,
            lost: Volume::ZERO,
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn product(hours: u32) -> Product {
        Product {
            key: "p".into(),
            name: "p".into(),
            vial: Default::default(),
            diluent: "w".into(),
            diluent_volume: Default::default(),
            available: Default::default(),
            concentration: Default::default(),
            refrigerated_hours: hours,
            room_hours: None,
            source: "invented".into(),
        }
    }

    #[test]
    fn the_earlier_of_elapsed_hours_and_calendar_is_the_limit() {
        let zone = Zone::named("America/New_York").unwrap();
        for (mixed, limit, why) in [
            // Ten days over the night the clocks go forward: 240 h end at 21:00,
            // the calendar at 20:00 (RFC 5545 section 3.3.6: P10D keeps the wall time, PT240H does not).
            (
                "2026-03-01T20:00:00-05:00",
                "2026-03-11T20:00:00-04:00",
                "calendar",
            ),
            // Ten days over the night the clocks go back: 240 h end at 19:00.
            (
                "2026-10-28T20:00:00-04:00",
                "2026-11-07T19:00:00-05:00",
                "elapsed",
            ),
            (
                "2026-06-01T20:00:00-04:00",
                "2026-06-11T20:00:00-04:00",
                "both",
            ),
        ] {
            let mixed: Instant = mixed.parse().unwrap();
            let limit: Instant = limit.parse().unwrap();
            assert_eq!(discard_by(mixed, &product(240), zone), limit, "{why}");
        }
    }

    #[test]
    fn a_limit_never_lies_before_the_mixing() {
        // Antarctica/Troll goes back from 03:00 to 01:00 (IANA tz database 2026f).
        let zone = Zone::named("Antarctica/Troll").unwrap();
        let mixed: Instant = "2026-10-25T01:30:00+00:00".parse().unwrap();
        assert_eq!(zone.local(mixed).to_rfc3339(), "2026-10-25T01:30:00+00:00");
        assert_eq!(
            discard_by(mixed, &product(1), zone),
            mixed + TimeDelta::hours(1)
        );
    }

    proptest! {
        #[test]
        fn what_is_drawn_is_what_was_wanted_and_no_vial_gives_more_than_it_holds(
            wanted in 0..10_000_000_i64,
            left in proptest::collection::vec(0..5_000_000_i64, 0..4),
            loss in 0..200_000_i64,
            split in any::<bool>(),
        ) {
            let left: Vec<(No, Volume)> = (1..).zip(left.into_iter().map(Volume::from_millionths)).collect();
            let wanted = Volume::from_millionths(wanted);
            let draws = spread(wanted, &left, Volume::from_millionths(loss), split);
            prop_assert_eq!(draws.iter().map(|d| d.volume).sum::<Volume>(), wanted);
            for draw in &draws {
                if let Some(vial) = draw.vial {
                    let held = left[vial as usize - 1].1;
                    prop_assert!(draw.volume.plus(draw.lost) <= held);
                }
            }
            if !split {
                prop_assert!(draws.len() <= 1);
            }
        }
    }
}
