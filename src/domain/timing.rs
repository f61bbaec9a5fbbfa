//! Planned local times: which dose is planned for which wall time.

use super::message::No;
use super::quantity::Volume;
use chrono::{Days, NaiveDateTime, NaiveTime};
use serde::{Deserialize, Serialize};

/// From one dose on: at which times of the day, from when, and how much.
///
/// A course has one plan, and one more for each time its order is changed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Plan {
    /// The first dose it holds for.
    pub from: No,
    /// When that dose is planned; its time is one of `times`.
    pub first: NaiveDateTime,
    /// The times of each day, ascending, at least one.
    pub times: Vec<NaiveTime>,
    /// Volume of each dose, as it can be read on the syringe.
    pub volume: Volume,
}

impl Plan {
    /// The wall time of a dose that the plan holds for.
    pub fn planned(&self, dose: No) -> NaiveDateTime {
        let first = self.times.partition_point(|t| *t < self.first.time());
        let slot = first + dose.saturating_sub(self.from) as usize;
        let per_day = self.times.len().max(1);
        let time = self.times.get(slot % per_day).copied();
        let day = self.first.date() + Days::new((slot / per_day) as u64);
        day.and_time(time.unwrap_or_else(|| self.first.time()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> NaiveDateTime {
        text.parse().unwrap()
    }

    #[test]
    fn walks_through_the_times_of_each_day() {
        let plan = Plan {
            from: 1,
            first: at("2026-03-07T19:30:00"),
            times: vec!["07:30:00".parse().unwrap(), "19:30:00".parse().unwrap()],
            volume: Volume::parse("1.5").unwrap(),
        };
        let planned: Vec<_> = (1..=4).map(|dose| plan.planned(dose)).collect();
        assert_eq!(
            planned,
            [
                at("2026-03-07T19:30:00"),
                at("2026-03-08T07:30:00"),
                at("2026-03-08T19:30:00"),
                at("2026-03-09T07:30:00"),
            ]
        );
    }

    #[test]
    fn a_changed_order_counts_from_its_own_first_dose() {
        let plan = Plan {
            from: 5,
            first: at("2026-03-10T08:00:00"),
            times: vec!["08:00:00".parse().unwrap(), "20:00:00".parse().unwrap()],
            volume: Volume::parse("1.5").unwrap(),
        };
        assert_eq!(plan.planned(5), at("2026-03-10T08:00:00"));
        assert_eq!(plan.planned(6), at("2026-03-10T20:00:00"));
    }
}
