//! Which buttons still mean something. A button whose time is over is taken
//! off the phones of all who were offered it, whoever settled the matter.

use super::super::Instant;
use super::super::household::{Household, Outcome};
use super::super::message::{No, Tap};
use super::super::policy::Policy;
use super::amend;

/// Whether a tap on a button would still do what the button says.
///
/// A dose past its window can still be answered: whoever taps is asked when it was given.
pub fn still_offered(household: &Household, tap: Tap, now: Instant, policy: &Policy) -> bool {
    let under_treatment = |course: No| {
        let found = household.courses.get(&course);
        found.filter(|course| course.ended_at.is_none())
    };
    // While the clinic has paused a course nothing is asked for.
    let asked_for = |course| under_treatment(course).filter(|course| course.paused.is_none());
    match tap {
        Tap::Given { course, dose } | Tap::NotGiven { course, dose } => asked_for(course)
            .is_some_and(|course| {
                // A dose that a pause has moved is not that of the reminder any more.
                let planned = course.planned(dose, household.zone);
                course.dose_numbers().contains(&dose)
                    && planned.at - policy.dose.before <= now
                    && !matches!(household.outcome(course, dose), Outcome::Recorded(_))
            }),
        Tap::Mixed { course, vial } => {
            asked_for(course).is_some_and(|course| !course.vials.contains_key(&vial))
        }
        Tap::Discarded { course, vial } => household
            .courses
            .get(&course)
            .and_then(|course| course.vials.get(&vial))
            .is_some_and(|vial| vial.discarded.is_none()),
        Tap::Choose { question, .. } | Tap::Neither { question } => household
            .questions
            .get(&question)
            .is_some_and(|asked| !asked.settled && asked.expires_at > now),
        Tap::TakeBack { administration } => household
            .administrations
            .get(&administration)
            .is_some_and(|record| record.in_force() && record.recorded_at + policy.take_back > now),
        Tap::Step { course, .. } => under_treatment(course).is_some(),
        Tap::Confirm { course, .. } => {
            under_treatment(course).is_some_and(|course| course.confirmed.is_none())
        }
        // Of no household: whether it is still asked is the enrolment's to say.
        Tap::Enrol { .. } => true,
        Tap::Amend { amendment, .. } => household
            .amendments
            .get(&amendment)
            .is_some_and(|amendment| amend::is_open(amendment, now)),
        Tap::Seen { alert, .. } => household
            .alerts
            .get(&alert)
            .is_some_and(|alert| alert.seen.is_none()),
        // To look is never over.
        Tap::Patient { .. } | Tap::Board { .. } => true,
        Tap::Ended { alert, .. } => household
            .alerts
            .get(&alert)
            .is_some_and(|alert| !alert.is_closed()),
    }
}
