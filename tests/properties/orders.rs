//! Whatever the clinic changes of an order, and whenever: what is past stays as
//! it was, and each dose to come has one place in time.

use crate::behaviour::{Decided, Life, acts_with_orders, settings};
use crate::{config, rules};
use chrono::TimeDelta;
use proptest::prelude::*;
use vialbell::domain::amendment::Alteration;
use vialbell::domain::change::{Change, apply};
use vialbell::domain::household::{Course, Household, Outcome};
use vialbell::domain::message::Kind;
use vialbell::domain::second_person::is_same_person;

fn hold(decided: &Decided) {
    rules::hold(decided);
    let after = &decided.decision.household;
    for (no, course) in &after.courses {
        planned_times_ascend(after, course);
        if let Some(before) = decided.before.courses.get(no) {
            the_past_stays(decided.before, before, after, course);
            nothing_is_asked_in_a_pause(decided, before, course);
        }
    }
    two_people_change_the_arithmetic(decided);
}

/// In a pause, and after an end, the doses to come have no time: they are given
/// theirs when the course goes on, whatever became of the household's clock.
fn planned_times_ascend(household: &Household, course: &Course) {
    if !course.is_running() {
        return;
    }
    let mut last = None;
    for dose in course.dose_numbers() {
        let planned = course.planned(dose, household.zone).at;
        assert!(
            last.is_none_or(|last| last < planned),
            "dose {dose} at {planned}, after {last:?}: {:?}",
            course.plans
        );
        last = Some(planned);
    }
}

/// A dose that something is known of keeps its time, its volume and its records.
fn the_past_stays(before: &Household, old: &Course, after: &Household, new: &Course) {
    for (dose, touched) in &old.touched {
        if before.outcome(old, *dose) == Outcome::Open {
            continue;
        }
        assert_eq!(new.touched[dose].planned, touched.planned, "dose {dose}");
        assert_eq!(
            new.plan(*dose).volume,
            old.plan(*dose).volume,
            "dose {dose}"
        );
        assert!(*dose <= new.doses, "dose {dose} of {}", new.doses);
    }
    for (no, record) in &before.administrations {
        let kept = &after.administrations[no];
        assert_eq!(
            (kept.dose, kept.at, kept.volume, kept.status),
            (record.dose, record.at, record.volume, record.status)
        );
    }
}

fn nothing_is_asked_in_a_pause(decided: &Decided, before: &Course, after: &Course) {
    if before.paused.is_none() || after.paused.is_none() {
        return;
    }
    let household = &decided.decision.household;
    let patient = household.patient_of(after);
    let others = household.courses.values().filter(|c| c.no != after.no);
    if others
        .into_iter()
        .any(|c| household.patient_of(c) == patient)
    {
        return;
    }
    for message in &decided.decision.messages {
        let asks = matches!(
            message.kind,
            Kind::DoseDue
                | Kind::DoseAgain
                | Kind::DoseWindowClosed
                | Kind::VialMixNext
                | Kind::SupplyLow
                | Kind::ClinicMissedDose
                | Kind::ClinicOutage
        );
        let about = message.patient.as_deref() == Some(patient);
        assert!(!(asks && about), "{message:?} in a pause");
    }
}

/// A changed dose, time or length was confirmed by somebody else than who entered it.
fn two_people_change_the_arithmetic(decided: &Decided) {
    for change in &decided.decision.changes {
        let Change::OrderAmended {
            by, confirmed_by, ..
        } = change
        else {
            continue;
        };
        let settled = decided.decision.household.amendments.values().rev();
        let of_zone = settled
            .filter(|amendment| amendment.settled.as_ref().is_some_and(|s| s.taken))
            .any(|amendment| {
                matches!(amendment.what, Alteration::Zone(_)) && amendment.entered_by == *by
            });
        match confirmed_by {
            Some(other) => assert!(!is_same_person(by, other), "{by} and {other}"),
            None => assert!(of_zone, "{by} alone: {change:?}"),
        }
    }
}

proptest! {
    #![proptest_config(config(60))]

    #[test]
    fn the_past_stays_and_each_dose_to_come_has_one_time(setting in settings(), acts in acts_with_orders(60)) {
        let mut life = Life::begin(1, &setting);
        life.join(&mut |decided| hold(decided));
        for act in &acts {
            life.act(act, &mut |decided| hold(decided));
        }
    }

    #[test]
    fn the_journal_gives_the_household(setting in settings(), acts in acts_with_orders(50)) {
        let mut life = Life::begin(1, &setting);
        let mut replayed = life.household.clone();
        let mut replay = |decided: &Decided| {
            for change in &decided.decision.changes {
                let written = serde_json::to_string(change).unwrap();
                apply(&mut replayed, &serde_json::from_str(&written).unwrap());
            }
        };
        life.join(&mut replay);
        for act in &acts {
            life.act(act, &mut replay);
        }
        prop_assert_eq!(replayed, life.household);
    }

    #[test]
    fn a_course_that_is_not_paused_comes_to_its_end(setting in settings(), acts in acts_with_orders(40)) {
        let mut life = Life::begin(1, &setting);
        life.join(&mut |_| {});
        for act in &acts {
            life.act(act, &mut |_| {});
        }
        let end = life.now + TimeDelta::days(40);
        life.pass(end, &mut |decided| hold(decided));
        let running = life.household.courses.values().filter(|c| c.is_running());
        prop_assert_eq!(running.count(), 0, "every course that is not paused has ended");
        prop_assert_eq!(life.wake_at, None, "nothing is left to look at");
    }
}
