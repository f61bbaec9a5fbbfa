//! A dose that was not given, or not yet.

use super::super::draft::Draft;
use super::super::owner::{escalate, nothing_open, say_pending};
use super::super::wake::tell_clinic_of_missed;
use super::given::{say_again, unanswered_as_named};
use super::which::{Candidate, candidates, is_unrecorded, which_patient};
use crate::domain::change::Change;
use crate::domain::household::{Outcome, Proposal, Status, next_no};
use crate::domain::message::{Kind, Label, No, Tap};
use crate::domain::quantity::Volume;
use crate::domain::reading::Record;

pub(super) fn hear_not_given(draft: &mut Draft, carer: No, text: &str, record: &Record) {
    let mut found = candidates(draft, record, is_unrecorded);
    if found.is_empty() && record.time.is_none() {
        found = unanswered_as_named(draft, record)
            .into_iter()
            .map(|(course, dose, _)| Candidate {
                course: course.no,
                dose,
                at: draft.now,
            })
            .collect();
    }
    if found.is_empty() {
        found = candidates(draft, record, |_| true);
    }
    match found.as_slice() {
        [] => escalate(draft, carer, text, "question"),
        [one] if record.sure => propose_not_given(draft, carer, text, one.course, one.dose),
        [one] => ask_not_given(draft, carer, one.course, one.dose),
        many => {
            let mut courses: Vec<No> = many.iter().map(|c| c.course).collect();
            courses.dedup();
            match courses.as_slice() {
                // Two doses of one patient: the later one is meant, the earlier was heard of before.
                [course] => {
                    let dose = many.iter().map(|c| c.dose).max().unwrap_or(1);
                    ask_not_given(draft, carer, *course, dose);
                }
                several => which_patient(draft, carer, text, several),
            }
        }
    }
}

/// Records a dose as not given, after a question where it is on record as given.
pub(in crate::domain::decide) fn propose_not_given(
    draft: &mut Draft,
    carer: No,
    text: &str,
    course: No,
    dose: No,
) {
    let Some(found) = draft
        .course(course)
        .filter(|c| c.dose_numbers().contains(&dose))
    else {
        return nothing_open(draft, carer);
    };
    let planned = found.planned(dose, draft.household.zone);
    let recorded = match draft.household.outcome(&found, dose) {
        Outcome::Recorded(record) => Some(record.status),
        Outcome::Open | Outcome::Unanswered => None,
    };
    match recorded {
        Some(Status::Completed) => ask_not_given(draft, carer, course, dose),
        Some(Status::NotDone) => say_again(draft, carer, course, dose),
        None if found.paused.is_some() => super::super::amend::say_paused(draft, carer, &found),
        None if draft.now < draft.window_start(&planned) => {
            escalate(draft, carer, text, "question")
        }
        None => record_not_given(draft, carer, course, dose),
    }
}

fn ask_not_given(draft: &mut Draft, carer: No, course: No, dose: No) {
    let Some(found) = draft.course(course) else {
        return;
    };
    let planned = found.planned(dose, draft.household.zone);
    let record = draft
        .household
        .in_force(course, dose)
        .filter(|r| r.status == Status::Completed);
    let message = draft
        .about(carer, Kind::Confirm, &found)
        .fact("about", "not-given")
        .fact("planned", planned.shown())
        .maybe("given_at", record.map(|r| draft.household.shown(r.at)))
        .maybe("by", record.map(|r| r.by.as_str()))
        .fact("phone", draft.phone());
    draft.ask(
        message,
        carer,
        vec![(Label::Yes, Proposal::NotGiven { course, dose })],
    );
}

pub(super) fn record_not_given(draft: &mut Draft, carer: No, course: No, dose: No) {
    let Some(found) = draft.course(course) else {
        return nothing_open(draft, carer);
    };
    let superseded = match draft.household.outcome(&found, dose) {
        Outcome::Recorded(record) if record.status == Status::NotDone => {
            return say_again(draft, carer, course, dose);
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
    let planned = found.planned(dose, draft.household.zone);
    let by = draft.household.carer_name(carer).to_owned();
    let administration = next_no(&draft.household.administrations);
    draft.change(Change::Administered {
        administration,
        course,
        dose,
        local: planned.local,
        zone: planned.zone,
        planned_at: planned.at,
        given: false,
        at: draft.now,
        recorded_at: draft.now,
        by: by.clone(),
        carer,
        volume: Volume::ZERO,
        draws: Vec::new(),
    });
    let kind = if superseded.is_some() {
        Kind::RecordedCorrected
    } else {
        Kind::RecordedNotGiven
    };
    let message = draft
        .about(carer, kind, &found)
        .fact("planned", planned.shown())
        .fact("by", by)
        .fact("phone", draft.phone())
        .maybe("what", superseded.map(|_| "not-given"))
        .button(Label::TakeBack, Tap::TakeBack { administration });
    draft.say_recorded(carer, message);
    tell_clinic_of_missed(draft, course, dose, &planned, "not-given");
}

/// "Not yet", or an intention: nothing is recorded.
pub(super) fn hear_not_yet(draft: &mut Draft, carer: No, record: &Record) {
    let open = Record {
        time: None,
        day: None,
        part: None,
        ..record.clone()
    };
    match candidates(draft, &open, is_unrecorded).first() {
        Some(found) => say_pending(draft, carer, found.course, found.dose),
        None => nothing_open(draft, carer),
    }
}
