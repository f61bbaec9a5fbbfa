//! A record that is taken back: superseded, never deleted.

use super::super::draft::Draft;
use super::super::owner::{escalate, nothing_open, pass_on_of};
use super::which::courses_meant;
use crate::domain::change::Change;
use crate::domain::household::{Proposal, Status};
use crate::domain::message::{Kind, Label, No};
use crate::domain::reading::Record;

pub(super) fn hear_take_back(draft: &mut Draft, carer: No, text: &str, record: &Record) {
    let courses: Vec<No> = courses_meant(draft, record).iter().map(|c| c.no).collect();
    let last = draft
        .household
        .administrations
        .values()
        .rev()
        .find(|a| a.in_force() && courses.contains(&a.course))
        .filter(|a| a.carer == carer && a.recorded_at + draft.policy.take_back > draft.now)
        .cloned();
    let Some(last) = last else {
        return escalate(draft, carer, text, "question");
    };
    let Some(course) = draft.course(last.course) else {
        return;
    };
    let planned = course.planned(last.dose, draft.household.zone);
    let message = draft
        .about(carer, Kind::Confirm, &course)
        .fact("about", "taken-back")
        .fact("planned", planned.shown())
        .fact("phone", draft.phone());
    draft.ask(
        message,
        carer,
        vec![(
            Label::Yes,
            Proposal::TakeBack {
                administration: last.no,
            },
        )],
    );
}

/// Takes a record back within the time that the clinic allows for it.
pub(in crate::domain::decide) fn take_back(
    draft: &mut Draft,
    carer: No,
    text: &str,
    administration: No,
) {
    let Some(record) = draft
        .household
        .administrations
        .get(&administration)
        .cloned()
    else {
        return nothing_open(draft, carer);
    };
    if !record.in_force() {
        return nothing_open(draft, carer);
    }
    if record.recorded_at + draft.policy.take_back <= draft.now {
        return escalate(draft, carer, text, "question");
    }
    let Some(course) = draft.course(record.course) else {
        return;
    };
    draft.change(Change::AdministrationSuperseded {
        administration,
        at: draft.now,
    });
    // What the clinic has ended stays ended.
    if !course.is_active() && course.ended_by.is_none() {
        draft.change(Change::CourseResumed { course: course.no });
    }
    let planned = course.planned(record.dose, draft.household.zone);
    let by = draft.household.carer_name(carer).to_owned();
    let message = draft
        .about(carer, Kind::RecordedCorrected, &course)
        .fact("what", "taken-back")
        .fact("planned", planned.shown())
        .fact("by", by)
        .fact("phone", draft.phone());
    draft.say_recorded(carer, message);
    if record.status == Status::NotDone {
        pass_on_of(draft, carer, text, "taken-back", &course, record.dose);
    }
}
