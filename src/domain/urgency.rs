//! Who needs somebody first: the order of the board, in the chat and at the terminal.

use super::Instant;
use super::household::{Course, Household, Outcome, Status};

/// Why a patient needs somebody, the weightiest first; those who need somebody come first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Urgency {
    /// Alerts that nobody has seen.
    pub unseen: u32,
    /// Owners' words without an answer.
    pub unanswered: u32,
    /// The last dose that was due was not given, or nobody said anything.
    pub last_missed: bool,
    /// The vial in use is past its limit.
    pub past_limit: bool,
    /// The order waits for its confirmation, and no dose is asked for until then.
    pub unconfirmed: bool,
    /// None of the carers can be reached.
    pub unreached: bool,
    /// What is at home will not last.
    pub runs_out: bool,
    /// Doses missed in the course: no reason by itself, but those come first.
    pub missed: u32,
}

impl Urgency {
    /// How urgent a course is at an instant.
    pub fn of(household: &Household, course: &Course, now: Instant) -> Urgency {
        let count = |of: usize| u32::try_from(of).unwrap_or(u32::MAX);
        let alerts = household.alerts.values();
        let last = course.touched.iter().next_back();
        let last_missed = last.is_some_and(|(dose, _)| match household.outcome(course, *dose) {
            Outcome::Unanswered => true,
            Outcome::Recorded(record) => record.status == Status::NotDone,
            Outcome::Open => false,
        });
        let vial = household.open_vial(course, now);
        Urgency {
            unseen: count(alerts.clone().filter(|alert| alert.seen.is_none()).count()),
            unanswered: count(
                alerts
                    .filter(|alert| alert.seen.is_some() && alert.waits_for_an_answer())
                    .filter(|alert| alert.ended.is_none())
                    .count(),
            ),
            last_missed,
            past_limit: vial.is_some_and(|vial| {
                vial.discard_by <= now && !household.remaining(course, vial).is_zero()
            }),
            unconfirmed: course.confirmed.is_none(),
            unreached: household.reachable_carers().next().is_none(),
            runs_out: course.supply_told.is_some(),
            missed: household.missed(course),
        }
    }

    /// Whether there is any reason at all.
    pub fn needs_somebody(self) -> bool {
        Urgency { missed: 0, ..self } != Urgency::default()
    }
}
