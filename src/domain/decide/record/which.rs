//! Which dose, course or patient a record is about.

use super::super::draft::Draft;
use super::super::owner::escalate;
use super::super::said_time::{meant, part_of};
use crate::domain::Instant;
use crate::domain::household::{Course, Household, Outcome, Planned, Proposal};
use crate::domain::message::{Kind, Label, No};
use crate::domain::quantity::Volume;
use crate::domain::reading::{Day, Record, SaidAmount};
use chrono::TimeDelta;
use std::sync::Arc;

/// A record about a course that has ended is taken this long after its end.
const AFTER_END: TimeDelta = TimeDelta::hours(36);

/// A dose that a record may be about, and when it would have been given.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Candidate {
    pub(super) course: No,
    pub(super) dose: No,
    pub(super) at: Instant,
}

/// Courses that a record may be about: by the patient's name, else all under way or just ended.
pub(super) fn courses_meant(draft: &Draft, record: &Record) -> Vec<Arc<Course>> {
    let household = &draft.household;
    let recent = |course: &&Arc<Course>| {
        course.confirmed.is_some()
            && course
                .ended_at
                .is_none_or(|end| end + AFTER_END > draft.now)
    };
    let named = |course: &&Arc<Course>| {
        record
            .patient
            .as_deref()
            .is_none_or(|name| name == household.patient_of(course))
    };
    household
        .courses
        .values()
        .filter(recent)
        .filter(named)
        .cloned()
        .collect()
}

/// Doses planned in a span, by bisection: planned times ascend with the number.
fn doses_between(
    course: &Course,
    household: &Household,
    from: Instant,
    until: Instant,
) -> Vec<(No, Planned)> {
    let (mut low, mut high) = (1, course.doses + 1);
    while low < high {
        let middle = low + (high - low) / 2;
        if course.planned(middle, household.zone).at < from {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    (low..=course.doses)
        .map(|dose| (dose, course.planned(dose, household.zone)))
        .take_while(|(_, planned)| planned.at <= until)
        .collect()
}

/// Whether a dose's wall time is on the day and in the part of it that was named.
pub(super) fn as_named(draft: &Draft, record: &Record, planned: &Planned) -> bool {
    let today = draft.household.shown(draft.now).date_naive();
    let day = match record.day {
        None => true,
        Some(Day::Today) => planned.local.date() == today,
        Some(Day::Yesterday) => planned.local.date() == today - TimeDelta::days(1),
    };
    day && record
        .part
        .is_none_or(|part| part == part_of(planned.local.time()))
}

/// Doses that are near enough to be meant, with the outcome that is wanted.
pub(super) fn near(
    draft: &Draft,
    course: &Course,
    wanted: fn(Outcome) -> bool,
) -> Vec<(No, Planned)> {
    let (from, until) = (
        draft.now - TimeDelta::hours(48),
        draft.now + draft.policy.dose.before,
    );
    doses_between(course, &draft.household, from, until)
        .into_iter()
        .filter(|(dose, _)| wanted(draft.household.outcome(course, *dose)))
        .collect()
}

pub(super) fn fits(draft: &Draft, planned: &Planned, at: Instant) -> bool {
    draft.window_start(planned) <= at && at < draft.window_end(planned)
}

/// Doses that the record fits: by the time said, else by the part of the day, else those open now.
pub(super) fn candidates(
    draft: &Draft,
    record: &Record,
    wanted: fn(Outcome) -> bool,
) -> Vec<Candidate> {
    let times = if record.time.is_some() {
        meant(record, draft.now, draft.household.zone)
    } else {
        vec![draft.now]
    };
    let mut found = Vec::new();
    for course in courses_meant(draft, record) {
        for (dose, planned) in near(draft, &course, wanted) {
            let part_named = record
                .part
                .is_none_or(|part| part == part_of(planned.local.time()));
            // With a time, the day was used to find the instant; without one it must name the dose.
            let named = if record.time.is_some() {
                part_named
            } else {
                as_named(draft, record, &planned)
            };
            if let Some(at) = times.iter().find(|at| named && fits(draft, &planned, **at)) {
                found.push(Candidate {
                    course: course.no,
                    dose,
                    at: *at,
                });
            }
        }
    }
    found
}

pub(super) fn is_unrecorded(outcome: Outcome) -> bool {
    !matches!(outcome, Outcome::Recorded(_))
}

pub(super) fn is_not_given(outcome: Outcome) -> bool {
    !super::super::wake::was_given(outcome)
}

/// Several doses or patients may be meant: one tap tells.
pub(super) fn which_one(
    draft: &mut Draft,
    carer: No,
    text: &str,
    record: &Record,
    found: &[Candidate],
) {
    let mut courses: Vec<No> = found.iter().map(|c| c.course).collect();
    courses.dedup();
    if courses.len() > 1 {
        return which_patient(draft, carer, text, &courses);
    }
    let Some(course) = draft.course(courses[0]) else {
        return;
    };
    let volume = match &record.amount {
        Some(SaidAmount::Exact(said)) => Volume::parse(said).ok(),
        _ => None,
    };
    let by = who(draft, carer, record);
    // Without a time in the words, the doses differ in when they were planned only.
    let same_time = found.iter().all(|c| c.at == found[0].at);
    let options: Vec<(Label, Proposal)> = found
        .iter()
        .map(|c| {
            let volume = volume.unwrap_or(course.plan(c.dose).volume);
            let given = Proposal::Given {
                course: c.course,
                dose: c.dose,
                at: c.at,
                by: by.clone(),
                volume,
            };
            let planned = course.planned(c.dose, draft.household.zone);
            let label = match same_time {
                true => planned.shown(),
                false => draft.household.shown(c.at),
            };
            (Label::Time(label), given)
        })
        .collect();
    if volume.is_some_and(|v| found.iter().any(|c| v != course.plan(c.dose).volume)) {
        escalate(draft, carer, text, "other-amount");
    }
    let message = draft
        .about(carer, Kind::Confirm, &course)
        .fact(
            "about",
            if same_time {
                "which-dose"
            } else {
                "which-time"
            },
        )
        .fact("phone", draft.phone());
    draft.ask(message, carer, options);
}

pub(in crate::domain::decide) fn which_patient(
    draft: &mut Draft,
    carer: No,
    text: &str,
    courses: &[No],
) {
    let mut options: Vec<(Label, Proposal)> = Vec::new();
    for course in courses
        .iter()
        .filter_map(|no| draft.household.courses.get(no))
    {
        let name = draft.household.patient_of(course).to_owned();
        if !options
            .iter()
            .any(|(label, _)| *label == Label::Name(name.clone()))
        {
            let about = Proposal::About {
                patient: course.patient,
                text: text.into(),
            };
            options.push((Label::Name(name), about));
        }
    }
    let message = draft
        .to(carer, Kind::Confirm)
        .fact("about", "which-patient")
        .fact("phone", draft.phone());
    draft.ask(message, carer, options);
}

pub(super) fn who(draft: &Draft, carer: No, record: &Record) -> String {
    record
        .by
        .clone()
        .unwrap_or_else(|| draft.household.carer_name(carer).to_owned())
}
