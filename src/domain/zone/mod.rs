//! Local time and instants: what a clock on the wall shows at an instant, and
//! at which instant a planned wall time falls.
//!
//! A dose is planned at a wall time in the household's zone. Twice a year that
//! wall time may not exist (a *gap*) or come twice (a *fold*); [`Zone::instant`]
//! gives an instant in every case, so no dose is lost to the calendar.
//!
//! The rules come from the IANA tz database as compiled into two crates. Rules
//! change at short notice, and a reminder from an overtaken release is an hour
//! off, so the newer release of the two decides ([`release`]). Neither is read
//! from the machine: the answers depend on this program's build alone.
//!
//! ```
//! use chrono::NaiveDate;
//! use vialbell::domain::zone::{Fits, Zone};
//!
//! let zone = Zone::named("America/New_York")?;
//! let planned = NaiveDate::from_ymd_opt(2026, 3, 8).unwrap().and_hms_opt(2, 30, 0).unwrap();
//! let resolved = zone.instant(planned);
//! assert_eq!(resolved.fits, Fits::Gap { moved_by_s: 3600 });
//! assert_eq!(zone.local(resolved.at).to_rfc3339(), "2026-03-08T03:30:00-04:00");
//! # Ok::<(), vialbell::domain::zone::UnknownZone>(())
//! ```

mod database;
mod disagreement;
mod fingerprint;
mod resolve;
mod unknown;

use std::fmt;
use std::str::FromStr;

use chrono::{DateTime, FixedOffset, NaiveDateTime, Utc};
use serde::{Deserialize, Deserializer, Serialize, Serializer, de};

use database::Rules;

pub use database::{Release, decide_by, release, releases};
pub use disagreement::{Disagreement, disagreement};
pub use fingerprint::fingerprint;
pub use resolve::{Fits, Resolved};
pub use unknown::UnknownZone;
pub(crate) use unknown::edits;

/// A zone of the IANA tz database that decides ([`release`]), such as
/// `America/Denver`. Ordered by name.
///
/// A zone's existence is checked when it is made, so that nothing later can
/// meet an unknown one.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Zone {
    /// Position in the deciding database, which is sorted by name.
    index: usize,
}

impl Zone {
    /// The zone of that name. Names are case-sensitive, as in the database, and
    /// its links (`US/Mountain`) are names as good as any.
    ///
    /// # Errors
    /// [`UnknownZone`] when the deciding database has no such name.
    ///
    /// ```
    /// use vialbell::domain::zone::Zone;
    ///
    /// assert_eq!(Zone::named("US/Mountain")?.name(), "US/Mountain");
    /// let error = Zone::named("america/denver").unwrap_err();
    /// assert_eq!(error.suggestions(), ["America/Denver"]);
    /// # Ok::<(), vialbell::domain::zone::UnknownZone>(())
    /// ```
    pub fn named(name: &str) -> Result<Zone, UnknownZone> {
        match database::deciding().position(name) {
            Some(index) => Ok(Zone { index }),
            None => Err(UnknownZone::new(name)),
        }
    }

    /// The name in the IANA tz database.
    #[must_use]
    pub fn name(self) -> &'static str {
        database::deciding().name(self.index)
    }

    /// The wall clock and its offset from UTC at an instant.
    ///
    /// ```
    /// use chrono::DateTime;
    /// use vialbell::domain::zone::Zone;
    ///
    /// // British Columbia stays at -07 for good from March 2026 (tz release 2026b).
    /// let zone = Zone::named("America/Vancouver")?;
    /// let at = DateTime::from_timestamp(1_795_600_800, 0).unwrap(); // 2026-11-25T10:00:00Z
    /// assert_eq!(zone.local(at).to_rfc3339(), "2026-11-25T03:00:00-07:00");
    /// # Ok::<(), vialbell::domain::zone::UnknownZone>(())
    /// ```
    #[must_use]
    pub fn local(self, at: DateTime<Utc>) -> DateTime<FixedOffset> {
        at.with_timezone(&self.rules().offset_at(at))
    }

    /// The instant at which this zone's clock shows `wall`.
    ///
    /// In a gap the wall time is read with the offset in force before the gap,
    /// and so moves later by the gap; in a fold it is the first of the two (RFC
    /// 5545 section 3.3.5). Never fails: a wall time so far off that chrono has
    /// no instant for it gives chrono's last (or first) one.
    ///
    /// ```
    /// use chrono::NaiveDate;
    /// use vialbell::domain::zone::{Fits, Zone};
    ///
    /// let zone = Zone::named("America/New_York")?;
    /// let planned = NaiveDate::from_ymd_opt(2026, 11, 1).unwrap().and_hms_opt(1, 30, 0).unwrap();
    /// let resolved = zone.instant(planned);
    /// assert_eq!(resolved.at.to_rfc3339(), "2026-11-01T05:30:00+00:00");
    /// let Fits::Fold { second } = resolved.fits else { panic!("01:30 comes twice") };
    /// assert_eq!(second.to_rfc3339(), "2026-11-01T06:30:00+00:00");
    /// # Ok::<(), vialbell::domain::zone::UnknownZone>(())
    /// ```
    #[must_use]
    pub fn instant(self, wall: NaiveDateTime) -> Resolved {
        resolve::resolve(self.rules(), wall)
    }

    fn rules(self) -> &'static dyn Rules {
        database::rules(self.index)
    }
}

/// The names of the deciding database, sorted.
pub fn all() -> impl Iterator<Item = &'static str> {
    database::deciding().names()
}

impl fmt::Display for Zone {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

impl fmt::Debug for Zone {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Zone({})", self.name())
    }
}

impl FromStr for Zone {
    type Err = UnknownZone;

    fn from_str(name: &str) -> Result<Zone, UnknownZone> {
        Zone::named(name)
    }
}

impl Serialize for Zone {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.name())
    }
}

impl<'de> Deserialize<'de> for Zone {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Zone, D::Error> {
        struct Name;

        impl de::Visitor<'_> for Name {
            type Value = Zone;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("the name of an IANA zone, such as \"America/Denver\"")
            }

            fn visit_str<E: de::Error>(self, name: &str) -> Result<Zone, E> {
                Zone::named(name).map_err(E::custom)
            }
        }

        deserializer.deserialize_str(Name)
    }
}

#[cfg(test)]
mod tests {
    use chrono::NaiveDate;
    use proptest::prelude::*;

    use super::*;

    fn zone(name: &str) -> Zone {
        Zone::named(name).expect("a zone of the database")
    }

    fn wall(text: &str) -> NaiveDateTime {
        text.parse().expect("a wall time")
    }

    fn utc(text: &str) -> DateTime<Utc> {
        text.parse().expect("an instant")
    }

    #[test]
    fn a_planned_time_that_comes_once_is_read_with_its_offset() {
        // Mountain time, MST is -07 (tz database, northamerica).
        let resolved = zone("America/Denver").instant(wall("2026-01-15T07:30:00"));
        assert_eq!(resolved.at, utc("2026-01-15T14:30:00Z"));
        assert_eq!(resolved.fits, Fits::Once);
    }

    #[test]
    fn the_example_of_rfc_5545_for_a_time_that_does_not_occur() {
        // RFC 5545 section 3.3.5: TZID=America/New_York:20070311T023000 is 03:30 EDT.
        let resolved = zone("America/New_York").instant(wall("2007-03-11T02:30:00"));
        assert_eq!(resolved.at, utc("2007-03-11T07:30:00Z"));
        assert_eq!(resolved.fits, Fits::Gap { moved_by_s: 3600 });
    }

    #[test]
    fn the_example_of_rfc_5545_for_a_time_that_occurs_twice() {
        // RFC 5545 section 3.3.5: TZID=America/New_York:20071104T013000 is 01:30 EDT.
        let resolved = zone("America/New_York").instant(wall("2007-11-04T01:30:00"));
        assert_eq!(resolved.at, utc("2007-11-04T05:30:00Z"));
        let second = utc("2007-11-04T06:30:00Z");
        assert_eq!(resolved.fits, Fits::Fold { second });
    }

    #[test]
    fn gap_and_fold_begin_and_end_at_exact_seconds() {
        let denver = zone("America/Denver");
        let fits = |text| denver.instant(wall(text)).fits;
        assert_eq!(fits("2026-03-08T01:59:59.999"), Fits::Once);
        assert_eq!(fits("2026-03-08T02:00:00"), Fits::Gap { moved_by_s: 3600 });
        assert_eq!(
            fits("2026-03-08T02:59:59.999"),
            Fits::Gap { moved_by_s: 3600 }
        );
        assert_eq!(fits("2026-03-08T03:00:00"), Fits::Once);
        assert_eq!(fits("2026-11-01T00:59:59.999"), Fits::Once);
        assert!(matches!(fits("2026-11-01T01:00:00"), Fits::Fold { .. }));
        assert!(matches!(fits("2026-11-01T01:59:59.999"), Fits::Fold { .. }));
        assert_eq!(fits("2026-11-01T02:00:00"), Fits::Once);
    }

    #[test]
    fn a_day_that_never_was_moves_a_whole_day() {
        // Samoa crossed the date line: 2011-12-30 does not exist (tz database, australasia).
        let resolved = zone("Pacific/Apia").instant(wall("2011-12-30T07:30:00"));
        assert_eq!(resolved.at, utc("2011-12-30T17:30:00Z"));
        assert_eq!(resolved.fits, Fits::Gap { moved_by_s: 86400 });
    }

    #[test]
    fn no_fold_is_seen_where_the_clock_did_not_go_back() {
        // Greenland kept its offset on 2023-10-29 (tz release 2023a). The
        // libraries' own readings (jiff 1.0, Python's zoneinfo) see a fold here
        // and give an instant an hour early, at which the clock shows 22:30.
        let resolved = zone("America/Nuuk").instant(wall("2023-10-28T23:30:00"));
        assert_eq!(resolved.at, utc("2023-10-29T01:30:00Z"));
        assert_eq!(resolved.fits, Fits::Once);
    }

    #[test]
    fn the_sign_of_etc_zones_is_that_of_posix() {
        // tz database, file etcetera: Etc/GMT+5 is five hours behind UTC.
        let at = utc("2026-06-01T12:00:00Z");
        assert_eq!(
            zone("Etc/GMT+5").local(at).to_rfc3339(),
            "2026-06-01T07:00:00-05:00"
        );
        assert_eq!(
            zone("UTC").local(at).to_rfc3339(),
            "2026-06-01T12:00:00+00:00"
        );
    }

    #[test]
    fn times_beyond_any_calendar_do_not_panic() {
        for name in ["Pacific/Apia", "America/Adak", "UTC"] {
            let zone = zone(name);
            for at in [DateTime::<Utc>::MIN_UTC, DateTime::<Utc>::MAX_UTC] {
                assert_eq!(zone.local(at).to_utc(), at);
                let resolved = zone.instant(at.naive_utc());
                assert!((resolved.at - at).num_hours().abs() <= 24, "{name}");
            }
        }
    }

    #[test]
    fn serde_writes_the_name_and_reads_only_names() {
        let denver = zone("America/Denver");
        let text = serde_json::to_string(&denver).expect("a zone is written");
        assert_eq!(text, "\"America/Denver\"");
        assert_eq!(serde_json::from_str::<Zone>(&text).expect("read"), denver);
        let error = serde_json::from_str::<Zone>("\"America/denver\"").unwrap_err();
        assert!(error.to_string().contains("did you mean America/Denver?"));
        assert!(serde_json::from_str::<Zone>("7").is_err());
    }

    #[test]
    fn zones_sort_by_name_and_show_it() {
        let mut zones = [zone("UTC"), zone("America/Denver"), zone("Europe/London")];
        zones.sort();
        assert_eq!(
            zones.map(|zone| zone.to_string()),
            ["America/Denver", "Europe/London", "UTC"]
        );
        assert_eq!(format!("{:>5}", zone("UTC")), "  UTC");
        assert_eq!("UTC".parse(), Ok(zone("UTC")));
    }

    #[test]
    fn every_name_is_found_under_itself() {
        let names: Vec<_> = all().collect();
        assert!(names.len() > 500, "{}", names.len());
        assert!(names.is_sorted());
        for name in names {
            assert_eq!(zone(name).name(), name);
        }
    }

    fn any_zone() -> impl Strategy<Value = Zone> {
        let names: Vec<_> = all().collect();
        proptest::sample::select(names).prop_map(zone)
    }

    proptest! {
        /// A resolved time shows the planned wall time, or that moved by the
        /// gap; what is planned at a clock's reading is due at or before it.
        #[test]
        fn the_clock_shows_what_was_planned(
            zone in any_zone(),
            at_s in 0_i64..4_102_444_800, // 1970 to 2100
        ) {
            let at = DateTime::from_timestamp(at_s, 0).expect("in range");
            let shown = zone.local(at).naive_local();
            match zone.instant(shown).fits {
                Fits::Once => prop_assert_eq!(zone.instant(shown).at, at),
                Fits::Fold { second } => {
                    prop_assert!(zone.instant(shown).at < second);
                    prop_assert!([zone.instant(shown).at, second].contains(&at));
                }
                Fits::Gap { .. } => prop_assert!(false, "a clock showed a time in a gap"),
            }

            let planned = at.naive_utc();
            let resolved = zone.instant(planned);
            let moved = match resolved.fits {
                Fits::Gap { moved_by_s } => {
                    prop_assert!(moved_by_s > 0);
                    moved_by_s
                }
                Fits::Once | Fits::Fold { .. } => 0,
            };
            let moved = zone.local(resolved.at).naive_local() - planned - chrono::TimeDelta::seconds(moved);
            prop_assert_eq!(moved, chrono::TimeDelta::zero());
        }

        /// Doses planned for the same time on two days never change order.
        #[test]
        fn daily_doses_stay_in_order(zone in any_zone(), day in 0_u64..20_000, minute in 0_u32..1440) {
            let date = NaiveDate::from_ymd_opt(2000, 1, 1).expect("a date") + chrono::Days::new(day);
            let at = |date: NaiveDate| {
                zone.instant(date.and_hms_opt(minute / 60, minute % 60, 0).expect("a time")).at
            };
            // Not `<`: a dose of the day Apia lost moves onto the next day's.
            prop_assert!(at(date) <= at(date + chrono::Days::new(1)));
        }
    }
}
