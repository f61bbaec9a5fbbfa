//! A dose that was given: recorded, read back, or a matter for the clinic.

use super::super::draft::Draft;
use super::super::owner::{
    emergency, escalate, nothing_open, pass_on, pass_on_of, say_call_clinic,
};
use super::super::said_time::meant;
use super::super::wake::unsettled;
use super::mixed::ROUGHLY;
use super::perform;
use super::which::{
    Candidate, as_named, candidates, courses_meant, fits, is_not_given, is_unrecorded, near,
    which_one, who,
};
use crate::domain::Instant;
use crate::domain::change::Change;
use crate::domain::household::{
    Administration, Course, Outcome, Planned, Proposal, Status, next_no,
};
use crate::domain::message::{Kind, Label, Message, No, Tap};
use crate::domain::quantity::Volume;
use crate::domain::reading::{MASSIVE, Record, SaidAmount, SaidTime};
use crate::domain::vial::{Draw, Vial, spread};
use chrono::TimeDelta;
use std::sync::Arc;

pub(super) struct Given {
    pub(super) course: No,
    pub(super) dose: No,
    pub(super) at: Instant,
    pub(super) by: String,
    pub(super) volume: Volume,
}

pub(super) fn hear_given(draft: &mut Draft, carer: No, text: &str, record: &Record) {
    if record.amount == Some(SaidAmount::Part) {
        return ask_amount(draft, carer, text);
    }
    if is_massive(draft, record) {
        return emergency(draft, carer, text);
    }
    // A dose still without any record is meant before one that was recorded as not given.
    let mut found = candidates(draft, record, is_unrecorded);
    if found.is_empty() {
        found = candidates(draft, record, is_not_given);
    }
    match found.as_slice() {
        [] => given_fits_nothing(draft, carer, text, record),
        [one] => given_fits_one(draft, carer, text, record, *one),
        many => which_one(draft, carer, text, record, many),
    }
}

/// An amount so many times the dose does not wait, whichever dose is meant.
fn is_massive(draft: &Draft, record: &Record) -> bool {
    let Some(SaidAmount::Exact(said)) = &record.amount else {
        return false;
    };
    Volume::parse(said).is_ok_and(|said| {
        courses_meant(draft, record)
            .iter()
            .any(|course| said >= draft.household.next_volume(course).times(MASSIVE))
    })
}

fn given_fits_one(draft: &mut Draft, carer: No, text: &str, record: &Record, found: Candidate) {
    let Some(course) = draft.course(found.course) else {
        return;
    };
    let planned_volume = course.plan(found.dose).volume;
    let said = match &record.amount {
        Some(SaidAmount::Exact(said)) => Volume::parse(said).ok(),
        _ => Some(planned_volume),
    };
    let Some(volume) = said else {
        return escalate(draft, carer, text, "other-amount");
    };
    let by = who(draft, carer, record);
    let given = Proposal::Given {
        course: found.course,
        dose: found.dose,
        at: found.at,
        by,
        volume,
    };
    if volume != planned_volume {
        escalate(draft, carer, text, "other-amount");
    }
    if record.sure && volume == planned_volume && !half_unclear(draft, record, &found) {
        perform(draft, carer, text, &given);
    } else {
        ask_given(draft, carer, &course, found, volume, given, false);
    }
}

/// Longer ago than this, "at 8" may as well be the other eight o'clock.
const SAME_HALF: TimeDelta = TimeDelta::hours(6);

/// "at 8" of a dose long past, without morning or evening: it may be a slip for the one just due.
fn half_unclear(draft: &Draft, record: &Record, found: &Candidate) -> bool {
    let bare = matches!(
        record.time,
        Some(SaidTime::Clock {
            hour: 1..=12,
            half: None,
            ..
        })
    );
    bare && record.part.is_none() && draft.now - found.at > SAME_HALF
}

fn ask_given(
    draft: &mut Draft,
    carer: No,
    course: &Course,
    found: Candidate,
    volume: Volume,
    given: Proposal,
    late: bool,
) {
    let planned = course.planned(found.dose, draft.household.zone);
    let message = draft
        .about(carer, Kind::Confirm, course)
        .fact("about", "given")
        .fact("planned", planned.shown())
        .fact("given_at", draft.household.shown(found.at))
        .fact("volume_ml", volume)
        .fact("phone", draft.phone())
        .maybe("late", late.then_some("yes"));
    draft.ask(message, carer, vec![(Label::Yes, given)]);
}

/// Half, some, most: only a figure can be recorded.
fn ask_amount(draft: &mut Draft, carer: No, text: &str) {
    escalate(draft, carer, text, "other-amount");
    let message = draft
        .to(carer, Kind::Confirm)
        .fact("about", "amount")
        .fact("phone", draft.phone());
    draft.say(message);
}

/// No dose without a record fits. A dose that is on record already is never a
/// second dose; everything else is a matter for the clinic.
fn given_fits_nothing(draft: &mut Draft, carer: No, text: &str, record: &Record) {
    let on_record = candidates(draft, record, super::super::wake::was_given);
    if let Some(found) = on_record.last() {
        return say_again(draft, carer, found.course, found.dose);
    }
    let unanswered = unanswered_as_named(draft, record);
    let late = match (record.time, unanswered.as_slice()) {
        (None, [(course, dose, _)]) => return ask_when(draft, carer, course, *dose),
        (Some(_), [(course, dose, planned)]) => {
            let at = meant(record, draft.now, draft.household.zone);
            let at = at.into_iter().find(|at| *at >= draft.window_end(planned));
            at.map(|at| {
                (
                    course.clone(),
                    Candidate {
                        course: course.no,
                        dose: *dose,
                        at,
                    },
                )
            })
        }
        _ => None,
    };
    say_call_clinic(draft, carer, true);
    match &late {
        Some((course, found)) => {
            pass_on_of(draft, carer, text, "outside-window", course, found.dose);
        }
        None => pass_on(draft, carer, text, "outside-window"),
    }
    if let Some((course, found)) = late {
        let volume = course.plan(found.dose).volume;
        let by = who(draft, carer, record);
        let given = Proposal::Given {
            course: found.course,
            dose: found.dose,
            at: found.at,
            by,
            volume,
        };
        ask_given(draft, carer, &course, found, volume, given, true);
    }
}

/// The last dose of each course that is unanswered and named by day and part.
pub(super) fn unanswered_as_named(
    draft: &Draft,
    record: &Record,
) -> Vec<(Arc<Course>, No, Planned)> {
    courses_meant(draft, record)
        .into_iter()
        .filter_map(|course| {
            let past = near(draft, &course, |_| true)
                .into_iter()
                .filter(|(_, p)| p.at <= draft.now);
            let mut past = past.filter(|(_, planned)| as_named(draft, record, planned));
            let (dose, planned) = past.next_back()?;
            let unrecorded = is_unrecorded(draft.household.outcome(&course, dose));
            unrecorded.then_some((course, dose, planned))
        })
        .collect()
}

/// Asks when a dose was given whose window has closed: the time is not ours to invent.
pub(in crate::domain::decide) fn ask_when(draft: &mut Draft, carer: No, course: &Course, dose: No) {
    if draft.household.outcome(course, dose) == Outcome::Open && course.is_running() {
        // After an outage its window is closed in this very step, which asks the same.
        return;
    }
    let planned = course.planned(dose, draft.household.zone);
    let message = draft
        .about(carer, Kind::Confirm, course)
        .fact("about", "when")
        .fact("planned", planned.shown())
        .fact("phone", draft.phone());
    draft.say(message);
}

/// The dose is on record: who recorded it and when. A second report is not a second dose.
pub(super) fn say_again(draft: &mut Draft, carer: No, course: No, dose: No) {
    let Some(course) = draft.course(course) else {
        return;
    };
    let Some(record) = draft.household.in_force(course.no, dose).cloned() else {
        return;
    };
    let message = say_record(draft, carer, &course, &record).fact("again", "yes");
    draft.say(message);
}

/// One record, as the answer to a question about it.
pub(in crate::domain::decide) fn say_record(
    draft: &Draft,
    carer: No,
    course: &Course,
    record: &Administration,
) -> Message {
    let planned = course.planned(record.dose, draft.household.zone);
    let given = record.status == Status::Completed;
    draft
        .about(carer, Kind::AnswerLastDose, course)
        .fact("planned", planned.shown())
        .fact("status", if given { "given" } else { "not-given" })
        .fact("by", record.by.as_str())
        .maybe("recorded_by", draft.recorder(record.carer, &record.by))
        .fact("phone", draft.phone())
        .maybe("given_at", given.then(|| draft.household.shown(record.at)))
        .maybe("volume_ml", given.then_some(record.volume))
}

pub(super) fn record_given(draft: &mut Draft, carer: No, text: &str, given: &Given) {
    let Some(course) = draft.course(given.course) else {
        return nothing_open(draft, carer);
    };
    let outcome = draft.household.outcome(&course, given.dose);
    let was_unanswered = outcome == Outcome::Unanswered;
    let superseded = match outcome {
        Outcome::Recorded(record) if record.status == Status::Completed => {
            return say_again(draft, carer, given.course, given.dose);
        }
        Outcome::Recorded(record) => Some(record.no),
        Outcome::Open | Outcome::Unanswered => None,
    };
    if let Some(administration) = superseded {
        draft.change(Change::AdministrationSuperseded {
            administration,
            at: draft.now,
        });
    }
    let planned = course.planned(given.dose, draft.household.zone);
    let (draws, past_limit) = draw_dose(draft, &course, given);
    let administration = administer(draft, carer, &course, given, &planned, &draws);
    say_given(
        draft,
        carer,
        &course,
        given,
        &planned,
        administration,
        superseded.is_some(),
    );
    if let Some(vial) = past_limit {
        tell_of_past_limit(draft, carer, &course, &vial, given);
    }
    let outside = !fits(draft, &planned, given.at);
    if outside {
        say_call_clinic(draft, carer, true);
    }
    if was_unanswered || outside {
        pass_on_of(draft, carer, text, "late-answer", &course, given.dose);
    } else if superseded.is_some() {
        pass_on_of(draft, carer, text, "corrected", &course, given.dose);
    }
}

/// Where the volume came from. Where only a vial past its limit could have
/// given it, that vial is named, since the record has to be true.
fn draw_dose(draft: &Draft, course: &Course, given: &Given) -> (Vec<Draw>, Option<Vial>) {
    let household = &draft.household;
    let policy = &draft.policy.vial;
    let mut left = household.usable_vials(course, given.at);
    for later in household.usable_vials(course, (given.at + ROUGHLY).min(draft.now)) {
        if !left.iter().any(|(vial, _)| *vial == later.0) {
            left.push(later);
        }
    }
    if !left.is_empty() {
        return (spread(given.volume, &left, policy.loss, policy.split), None);
    }
    let past = course.vials.values().rev().find(|vial| {
        vial.discarded.is_none()
            && vial.discard_by <= given.at
            && !household.remaining(course, vial).is_zero()
    });
    match past {
        Some(vial) => {
            let left = [(vial.no, household.remaining(course, vial))];
            (
                spread(given.volume, &left, policy.loss, policy.split),
                Some(vial.clone()),
            )
        }
        None => (spread(given.volume, &[], policy.loss, policy.split), None),
    }
}

fn administer(
    draft: &mut Draft,
    carer: No,
    course: &Course,
    given: &Given,
    planned: &Planned,
    draws: &[Draw],
) -> No {
    let administration = next_no(&draft.household.administrations);
    draft.change(Change::Administered {
        administration,
        course: course.no,
        dose: given.dose,
        local: planned.local,
        zone: planned.zone,
        planned_at: planned.at,
        given: true,
        at: given.at,
        recorded_at: draft.now,
        by: given.by.clone(),
        carer,
        volume: given.volume,
        draws: draws.iter().map(|d| (d.vial, d.volume, d.lost)).collect(),
    });
    administration
}

fn say_given(
    draft: &mut Draft,
    carer: No,
    course: &Course,
    given: &Given,
    planned: &Planned,
    administration: No,
    corrected: bool,
) {
    let record = draft.household.administrations[&administration].clone();
    let from = record
        .draws
        .iter()
        .rev()
        .find_map(|draw| draw.vial)
        .and_then(|no| course.vials.get(&no));
    let left = from.map(|vial| draft.household.remaining(course, vial));
    let each = draft
        .household
        .next_volume(course)
        .plus(draft.policy.vial.loss);
    let unplaced: Volume = record
        .draws
        .iter()
        .filter(|d| d.vial.is_none())
        .map(|d| d.volume)
        .sum();
    let next = unsettled(&draft.household, course)
        .map(|(_, planned)| planned)
        .find(|p| p.at > planned.at)
        .filter(|_| course.paused.is_none());
    let differs = given.volume != course.plan(given.dose).volume;
    let kind = if corrected {
        Kind::RecordedCorrected
    } else {
        Kind::RecordedGiven
    };
    let message = draft
        .about(carer, kind, course)
        .fact("planned", planned.shown())
        .fact("given_at", draft.household.shown(given.at))
        .fact("by", given.by.as_str())
        .fact("volume_ml", given.volume)
        .maybe("what", corrected.then_some("given"))
        .maybe("phone", corrected.then(|| draft.phone()))
        .maybe("vial", from.map(|vial| vial.no))
        .maybe("remaining_ml", left)
        .maybe("doses_left", left.map(|left| left.holds(each)))
        .maybe("next", next.map(|planned| planned.shown()))
        .maybe("unplaced_ml", (!unplaced.is_zero()).then_some(unplaced))
        .maybe("differs", differs.then_some("yes"))
        .button(Label::TakeBack, Tap::TakeBack { administration });
    draft.say_recorded(carer, message);
}

pub(super) fn tell_of_past_limit(
    draft: &mut Draft,
    carer: No,
    course: &Course,
    vial: &Vial,
    given: &Given,
) {
    say_call_clinic(draft, carer, true);
    let message = draft
        .to_clinic(Kind::ClinicVialPastLimit)
        .about(draft.household.patient_of(course))
        .fact("vial", vial.no)
        .fact("discard_by", draft.household.shown(vial.discard_by))
        .fact("given_at", draft.household.shown(given.at))
        .fact("volume_ml", given.volume)
        .fact("by", given.by.as_str());
    draft.alert(message, Some((course.no, given.dose)), Some(carer), None);
}
