//! The rows of `tz-transitions.toml`: changes of clocks that break schedulers,
//! written down from Python's zoneinfo with release 2026f, and those on which
//! release 2025b differs. The file's header says where they come from.

use chrono::{DateTime, NaiveDateTime, Offset, TimeDelta, TimeZone, Utc};
use serde::Deserialize;
use vialbell::domain::zone::{self, Fits, Zone};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    about: About,
    transition: Vec<Row>,
    only_in_2025b_row: Vec<Row>,
    only_in_2026f_row: Vec<Row>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct About {
    source: String,
    #[serde(rename = "compared_with")]
    _compared_with: String,
    rows: usize,
    only_in_2025b: usize,
    only_in_2026f: usize,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    zone: String,
    utc: DateTime<Utc>,
    last_local_before: NaiveDateTime,
    offset_before_s: i32,
    first_local_after: NaiveDateTime,
    offset_after_s: i32,
    change_s: i64,
    kind: Kind,
    #[serde(rename = "abbr_before")]
    _abbr_before: String,
    #[serde(rename = "abbr_after")]
    _abbr_after: String,
    #[serde(rename = "note")]
    _note: String,
}

#[derive(Clone, Copy, Debug, Deserialize, PartialEq, Eq)]
enum Kind {
    #[serde(rename = "gap")]
    Gap,
    #[serde(rename = "overlap")]
    Overlap,
    #[serde(rename = "none (name or dst flag only)")]
    NoChange,
}

const SECOND: TimeDelta = TimeDelta::seconds(1);

fn rows() -> File {
    let file: File = toml::from_str(include_str!("tz-transitions.toml")).expect("the rows");
    assert_eq!(file.transition.len(), file.about.rows);
    assert_eq!(file.only_in_2025b_row.len(), file.about.only_in_2025b);
    assert_eq!(file.only_in_2026f_row.len(), file.about.only_in_2026f);
    assert!(
        file.about.source.contains(zone::release().version),
        "the rows are of another release than the one that decides ({}): \
         compute them anew",
        zone::release()
    );
    file
}

impl Row {
    fn zone(&self) -> Zone {
        Zone::named(&self.zone).expect("a name of the database")
    }

    /// The row's own figures, so that a slip of the pen is not tested for.
    fn is_sound(&self) -> bool {
        let before = TimeDelta::seconds(self.offset_before_s.into());
        let after = TimeDelta::seconds(self.offset_after_s.into());
        let kind = match self.change_s {
            0 => Kind::NoChange,
            1.. => Kind::Gap,
            _ => Kind::Overlap,
        };
        self.kind == kind
            && TimeDelta::seconds(self.change_s) == after - before
            && self.last_local_before == self.utc.naive_utc() - SECOND + before
            && self.first_local_after == self.utc.naive_utc() + after
    }

    /// Wall times from the first to the last that the clock skips or repeats.
    fn span(&self) -> [NaiveDateTime; 3] {
        let next = self.last_local_before + SECOND;
        let (first, end) = match self.kind {
            Kind::Gap => (next, self.first_local_after),
            Kind::Overlap => (self.first_local_after, next),
            Kind::NoChange => panic!("the clock skips and repeats nothing"),
        };
        [first, first + (end - first) / 2, end - SECOND]
    }

    fn is_in_force(&self) {
        let zone = self.zone();
        let place = format!("{} {}", self.zone, self.utc);
        assert!(self.is_sound(), "{place}");

        let before = zone.local(self.utc - SECOND);
        let after = zone.local(self.utc);
        assert_eq!(before.naive_local(), self.last_local_before, "{place}");
        assert_eq!(after.naive_local(), self.first_local_after, "{place}");
        assert_eq!(before.offset().local_minus_utc(), self.offset_before_s);
        assert_eq!(after.offset().local_minus_utc(), self.offset_after_s);

        let reading = |wall: NaiveDateTime, offset_s: i32| {
            (wall - TimeDelta::seconds(offset_s.into())).and_utc()
        };
        match self.kind {
            // Moved, never dropped: see `every_zone`.
            Kind::Gap => {
                for wall in self.span() {
                    let resolved = zone.instant(wall);
                    assert_eq!(resolved.at, reading(wall, self.offset_before_s), "{place}");
                    let moved_by_s = self.change_s;
                    assert_eq!(resolved.fits, Fits::Gap { moved_by_s }, "{place} {wall}");
                    let shown = zone.local(resolved.at).naive_local();
                    assert_eq!(shown, wall + TimeDelta::seconds(moved_by_s), "{place}");
                }
            }
            Kind::Overlap => {
                for wall in self.span() {
                    let resolved = zone.instant(wall);
                    assert_eq!(resolved.at, reading(wall, self.offset_before_s), "{place}");
                    let second = reading(wall, self.offset_after_s);
                    assert_eq!(resolved.fits, Fits::Fold { second }, "{place} {wall}");
                }
            }
            Kind::NoChange => {
                for wall in [self.last_local_before, self.first_local_after] {
                    let resolved = zone.instant(wall);
                    assert_eq!(resolved.at, reading(wall, self.offset_after_s), "{place}");
                    assert_eq!(resolved.fits, Fits::Once, "{place} {wall}");
                }
            }
        }
    }

    /// Whether the clock changes at that instant as the row says.
    fn is_reproduced(&self, offset_s: impl Fn(DateTime<Utc>) -> i32) -> bool {
        assert_ne!(self.change_s, 0, "{} {}", self.zone, self.utc);
        offset_s(self.utc - SECOND) == self.offset_before_s
            && offset_s(self.utc) == self.offset_after_s
    }
}

#[test]
fn every_row_of_2026f_is_in_force() {
    let file = rows();
    for row in file.transition.iter().chain(&file.only_in_2026f_row) {
        row.is_in_force();
    }
    let of = |kind| {
        file.transition
            .iter()
            .filter(|row| row.kind == kind)
            .count()
    };
    let counts = [Kind::Gap, Kind::Overlap, Kind::NoChange].map(of);
    println!("gaps, overlaps, neither: {counts:?}");
    assert!(counts.iter().all(|count| *count >= 10), "{counts:?}");
}

#[test]
fn no_row_that_only_2025b_has_is_reproduced() {
    let rows = rows().only_in_2025b_row;
    assert!(!rows.is_empty());
    for row in &rows {
        let place = format!("{} {}", row.zone, row.utc);
        let zone = row.zone();
        let ours = |at| zone.local(at).offset().local_minus_utc();
        assert!(!row.is_reproduced(ours), "{place}");

        // The overruled crate does change its clock there, or the row would
        // show nothing.
        let overruled: chrono_tz::Tz = row.zone.parse().expect("a name of chrono-tz");
        let theirs = |at: DateTime<Utc>| {
            let offset = overruled.offset_from_utc_datetime(&at.naive_utc());
            offset.fix().local_minus_utc()
        };
        assert_eq!(chrono_tz::IANA_TZDB_VERSION, "2025b");
        assert!(row.is_reproduced(theirs), "{place}");
    }
}
