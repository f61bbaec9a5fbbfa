//! What follows from what somebody at the clinic does, and from messages that
//! did not arrive.

use super::super::change::Change;
use super::super::household::Outcome;
use super::super::message::{Kind, No};
use super::draft::Draft;
use super::{ClinicWord, Undelivered};

pub(super) fn heard(draft: &mut Draft, by: &str, word: &ClinicWord) {
    match word {
        ClinicWord::Confirm { course } => confirm(draft, *course, by),
        ClinicWord::Seen { alert } => seen(draft, *alert, by),
        ClinicWord::Reply { alert, text } => reply(draft, *alert, by, text),
    }
}

/// An order takes effect once a second person has checked its arithmetic.
fn confirm(draft: &mut Draft, course: No, by: &str) {
    let Some(found) = draft.course(course) else {
        return;
    };
    let status = match (&found.confirmed, found.entered_by == by) {
        (Some((_, who)), _) => ("already", who.clone()),
        (None, true) => ("same-person", by.to_owned()),
        (None, false) => {
            draft.change(Change::CourseConfirmed {
                course,
                at: draft.now,
                by: by.into(),
            });
            ("confirmed", by.to_owned())
        }
    };
    let message = draft
        .to_clinic(Kind::ClinicOrderCheck)
        .about(draft.household.patient_of(&found))
        .fact("status", status.0)
        .fact("by", status.1);
    draft.say(message);
    if status.0 == "confirmed" {
        let carers: Vec<No> = draft.household.reachable_carers().collect();
        for carer in carers {
            super::enrol::say_plan(draft, carer, course);
        }
    }
}

/// The first to see an alert is the one who has it.
fn seen(draft: &mut Draft, alert: No, by: &str) {
    if draft
        .household
        .alerts
        .get(&alert)
        .is_some_and(|a| a.seen.is_none())
    {
        draft.change(Change::AlertSeen {
            alert,
            at: draft.now,
            by: by.into(),
        });
    }
}

/// A person's answer goes to the carer who asked.
fn reply(draft: &mut Draft, alert: No, by: &str, text: &str) {
    let Some(carer) = draft.household.alerts.get(&alert).and_then(|a| a.carer) else {
        return;
    };
    seen(draft, alert, by);
    let message = draft
        .to(carer, Kind::ClinicReply)
        .fact("words", text)
        .fact("by", by);
    draft.say(message);
}

pub(super) fn undelivered(draft: &mut Draft, carer: No, kind: Kind, why: Undelivered) {
    match why {
        Undelivered::Gone => unreachable(draft, carer, "blocked"),
        Undelivered::Refused => unreachable(draft, carer, "failed"),
        Undelivered::TooLate => could_not_be_asked(draft, carer, kind),
    }
}

/// The carer's chat is closed to us: said once, by name, until it is open again.
pub(super) fn unreachable(draft: &mut Draft, carer: No, why: &str) {
    let Some(known) = draft.household.carers.get(&carer) else {
        return;
    };
    if !known.reachable {
        return;
    }
    let name = known.name.clone();
    if why == "blocked" {
        draft.change(Change::CarerReachable {
            carer,
            reachable: false,
        });
    }
    let patients: Vec<&str> = draft
        .household
        .active_courses()
        .map(|c| draft.household.patient_of(c))
        .collect();
    let mut message = draft
        .to_clinic(Kind::ClinicUnreachable)
        .fact("by", name)
        .fact("why", why);
    if !patients.is_empty() {
        message = message.about(&patients.join(", "));
    }
    draft.alert(message, None, Some(carer), None);
}

/// A reminder waited longer than it was of use. Where the dose can still be
/// asked for, it is; the clinic hears of a window that passed in silence.
fn could_not_be_asked(draft: &mut Draft, carer: No, kind: Kind) {
    if !matches!(kind, Kind::DoseDue | Kind::DoseAgain) {
        return;
    }
    let closed = draft.household.courses.values().find_map(|course| {
        let (dose, touched) = course.touched.iter().next_back()?;
        let ended = touched.planned.at + draft.policy.dose.window <= draft.now;
        let answered = matches!(draft.household.outcome(course, *dose), Outcome::Recorded(_));
        (ended && !answered).then(|| (course.clone(), *dose, touched.planned))
    });
    let Some((course, dose, planned)) = closed else {
        return;
    };
    let told = draft
        .household
        .alerts
        .values()
        .any(|a| a.kind == Kind::ClinicOutage && a.dose == Some((course.no, dose)));
    if told {
        return;
    }
    let message = draft
        .to_clinic(Kind::ClinicOutage)
        .about(draft.household.patient_of(&course))
        .fact("doses", 1_u32)
        .fact("planned", planned.shown())
        .fact("why", "undelivered");
    draft.alert(message, Some((course.no, dose)), Some(carer), None);
}
