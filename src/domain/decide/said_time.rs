//! From a time as said to the instants that may be meant.

use super::super::Instant;
use super::super::question::DayPart;
use super::super::reading::{Day, Half, Record, SaidTime};
use super::super::zone::{Fits, Zone};
use chrono::{NaiveDate, NaiveTime, TimeDelta, Timelike};

/// Clocks in kitchens run ahead: a time this little in the future means now.
const AHEAD: TimeDelta = TimeDelta::minutes(10);
/// What was said without a day is not looked for further back than this.
const BACK: TimeDelta = TimeDelta::hours(36);

/// The instants that a record's words about time may mean, latest first: none
/// where no time was said, or where all that it could mean is in the future.
pub(super) fn meant(record: &Record, now: Instant, zone: Zone) -> Vec<Instant> {
    let local = zone.local(now).naive_local();
    match record.time {
        None => Vec::new(),
        Some(SaidTime::Now) => vec![now],
        Some(SaidTime::Ago { minutes }) => vec![now - TimeDelta::minutes(minutes.into())],
        Some(SaidTime::Clock { hour, minute, half }) => {
            let times = clock_times(hour, minute, half, record.part);
            let days: Vec<NaiveDate> = match record.day {
                Some(Day::Today) => vec![local.date()],
                Some(Day::Yesterday) => vec![local.date() - TimeDelta::days(1)],
                None => vec![local.date(), local.date() - TimeDelta::days(1)],
            };
            let mut instants: Vec<Instant> = days
                .iter()
                .flat_map(|day| times.iter().map(move |time| day.and_time(*time)))
                .flat_map(|wall| {
                    let resolved = zone.instant(wall);
                    match resolved.fits {
                        Fits::Fold { second } => vec![second, resolved.at],
                        _ => vec![resolved.at],
                    }
                })
                .filter(|at| *at <= now + AHEAD)
                .filter(|at| record.day.is_some() || *at > now - BACK)
                .map(|at| at.min(now))
                .collect();
            instants.sort_by(|a, b| b.cmp(a));
            instants.dedup();
            instants
        }
    }
}

/// The times of day that a clock reading may mean; part of the day settles a half that was not said.
fn clock_times(hour: u8, minute: u8, half: Option<Half>, part: Option<DayPart>) -> Vec<NaiveTime> {
    let on_24 = |hour: u8| NaiveTime::from_hms_opt(hour.into(), minute.into(), 0);
    let afternoon = |hour: u8| if hour < 12 { hour + 12 } else { hour };
    let morning = |hour: u8| if hour == 12 { 0 } else { hour };
    let times = match half {
        Some(Half::Am) => vec![on_24(morning(hour))],
        Some(Half::Pm) => vec![on_24(afternoon(hour))],
        None if hour == 0 || hour > 12 => vec![on_24(hour)],
        None => vec![on_24(morning(hour)), on_24(afternoon(hour))],
    };
    times
        .into_iter()
        .flatten()
        .filter(|time| half.is_some() || part.is_none_or(|part| part == part_of(*time)))
        .collect()
}

/// Which part of the day a wall time belongs to.
pub(super) fn part_of(time: NaiveTime) -> DayPart {
    if time.hour() < 12 {
        DayPart::Morning
    } else {
        DayPart::Evening
    }
}

#[cfg(test)]
mod tests {
    use super::super::super::reading::What;
    use super::*;

    fn said(time: SaidTime, day: Option<Day>, part: Option<DayPart>) -> Record {
        Record {
            time: Some(time),
            day,
            part,
            ..Record::of(What::Given)
        }
    }

    fn clock(hour: u8, minute: u8, half: Option<Half>) -> SaidTime {
        SaidTime::Clock { hour, minute, half }
    }

    #[test]
    fn a_time_on_the_clock_is_the_past_one_and_both_where_two_are_possible() {
        let zone = Zone::named("America/Denver").unwrap();
        let now: Instant = "2026-03-10T19:40:00-06:00".parse().unwrap();
        for (record, expected) in [
            (
                said(clock(7, 40, Some(Half::Pm)), None, None),
                vec!["2026-03-10T19:40:00-06:00", "2026-03-09T19:40:00-06:00"],
            ),
            (
                said(clock(7, 40, Some(Half::Am)), Some(Day::Today), None),
                vec!["2026-03-10T07:40:00-06:00"],
            ),
            (
                said(clock(7, 40, None), Some(Day::Today), None),
                vec!["2026-03-10T19:40:00-06:00", "2026-03-10T07:40:00-06:00"],
            ),
            (
                said(clock(7, 40, None), Some(Day::Today), Some(DayPart::Morning)),
                vec!["2026-03-10T07:40:00-06:00"],
            ),
            (
                said(clock(19, 35, None), Some(Day::Yesterday), None),
                vec!["2026-03-09T19:35:00-06:00"],
            ),
            (said(clock(21, 0, None), Some(Day::Today), None), vec![]),
            (
                said(SaidTime::Ago { minutes: 10 }, None, None),
                vec!["2026-03-10T19:30:00-06:00"],
            ),
        ] {
            let expected: Vec<Instant> = expected.iter().map(|t| t.parse().unwrap()).collect();
            assert_eq!(meant(&record, now, zone), expected, "{record:?}");
        }
    }

    #[test]
    fn a_time_that_the_clock_showed_twice_may_be_either() {
        let zone = Zone::named("America/New_York").unwrap();
        let now: Instant = "2026-11-01T08:00:00-05:00".parse().unwrap();
        let record = said(clock(1, 30, Some(Half::Am)), Some(Day::Today), None);
        let expected: Vec<Instant> = ["2026-11-01T01:30:00-05:00", "2026-11-01T01:30:00-04:00"]
            .iter()
            .map(|t| t.parse().unwrap())
            .collect();
        assert_eq!(meant(&record, now, zone), expected);
    }
}
