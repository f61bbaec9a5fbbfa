//! A vial that was mixed, and volumes that turn out to have come from it.

use super::super::draft::Draft;
use super::super::owner::{escalate, nothing_open, pass_on};
use super::super::said_time::meant;
use super::super::wake::say_what_is_short;
use super::given::{Given, tell_of_past_limit};
use super::perform;
use super::which::{courses_meant, which_patient, who};
use crate::domain::Instant;
use crate::domain::change::Change;
use crate::domain::household::{Administration, Course, Proposal};
use crate::domain::message::{Kind, Label, No};
use crate::domain::quantity::Volume;
use crate::domain::reading::{Record, SaidAmount, SaidVial};
use crate::domain::supplies::left;
use crate::domain::supply::Supply;
use crate::domain::vial::discard_by;
use chrono::TimeDelta;
use std::sync::Arc;

/// Spoken times are rough: a dose said to be given this long before the
/// vial was said to be mixed may still have come from it.
pub(super) const ROUGHLY: TimeDelta = TimeDelta::minutes(30);

/// The course whose vial is meant; asks which patient where that is not clear.
pub(super) fn vial_course(
    draft: &mut Draft,
    carer: No,
    text: &str,
    record: &Record,
) -> Option<Arc<Course>> {
    let courses: Vec<Arc<Course>> = courses_meant(draft, record)
        .into_iter()
        .filter(|course| course.is_active())
        .collect();
    match courses.as_slice() {
        [] => {
            escalate(draft, carer, text, "question");
            None
        }
        [one] => Some(one.clone()),
        several => {
            let numbers: Vec<No> = several.iter().map(|c| c.no).collect();
            which_patient(draft, carer, text, &numbers);
            None
        }
    }
}

pub(super) fn hear_mixed(draft: &mut Draft, carer: No, text: &str, record: &Record) {
    let Some(course) = vial_course(draft, carer, text, record) else {
        return;
    };
    match &record.amount {
        Some(SaidAmount::Part) => return escalate(draft, carer, text, "other-amount"),
        Some(SaidAmount::Exact(said))
            if Volume::parse(said) != Ok(course.product.diluent_volume) =>
        {
            return escalate(draft, carer, text, "other-amount");
        }
        _ => {}
    }
    let times = if record.time.is_some() {
        meant(record, draft.now, draft.household.zone)
    } else {
        vec![draft.now]
    };
    // Of the same clock time today and yesterday, the later is meant; twelve hours apart, either may be.
    let day = TimeDelta::hours(23);
    let times: Vec<Instant> = times
        .iter()
        .copied()
        .filter(|at| times[0] - *at < day)
        .collect();
    // People tell of a vial while they use it: twelve hours later nobody does.
    let just_now: Vec<Instant> = times
        .iter()
        .copied()
        .filter(|at| draft.now - *at < draft.policy.dose.window)
        .collect();
    let times = match just_now.is_empty() {
        true => times,
        false => just_now,
    };
    let next = course.next_vial();
    let vial = match record.vial {
        Some(SaidVial::Number(vial)) if course.vials.contains_key(&vial) => {
            return say_mixed_at(draft, carer, &course, vial);
        }
        _ => next,
    };
    let by = who(draft, carer, record);
    let options: Vec<(Label, Proposal)> = times
        .iter()
        .map(|at| {
            let mixed = Proposal::Mixed {
                course: course.no,
                vial,
                at: *at,
                by: by.clone(),
            };
            (Label::Time(draft.household.shown(*at)), mixed)
        })
        .collect();
    let each = draft.household.next_volume(&course);
    let in_use = draft
        .household
        .usable_vials(&course, draft.now)
        .iter()
        .any(|(_, left)| left.holds(each) > 0);
    let at_home = left(&draft.household, &course, Supply::Vials) != Some(0);
    let said_which = matches!(record.vial, Some(SaidVial::New | SaidVial::Number(_)));
    let clear = record.sure
        && (said_which || !in_use)
        && at_home
        && !matches!(record.vial, Some(SaidVial::Number(said)) if said != next);
    match options.as_slice() {
        [] => escalate(draft, carer, text, "question"),
        [(_, mixed)] if clear => {
            let mixed = mixed.clone();
            perform(draft, carer, text, &mixed);
        }
        several => {
            let about = if several.len() > 1 {
                "which-time"
            } else {
                "mixed"
            };
            let message = draft
                .about(carer, Kind::Confirm, &course)
                .fact("about", about)
                .fact("vial", vial)
                .fact("phone", draft.phone())
                .maybe(
                    "mixed_at",
                    (several.len() == 1).then(|| draft.household.shown(times[0])),
                );
            draft.ask(message, carer, several.to_vec());
        }
    }
}

fn say_mixed_at(draft: &mut Draft, carer: No, course: &Course, vial: No) {
    let mixed = course
        .vials
        .get(&vial)
        .map(|v| draft.household.shown(v.mixed_at));
    let message = draft
        .about(carer, Kind::AnswerMixedAt, course)
        .fact("vial", vial)
        .maybe("mixed_at", mixed);
    draft.say(message);
}

pub(super) fn record_mixed(
    draft: &mut Draft,
    carer: No,
    text: &str,
    course: No,
    vial: No,
    at: Instant,
    by: &str,
) {
    let Some(found) = draft.course(course) else {
        return nothing_open(draft, carer);
    };
    if found.vials.contains_key(&vial) {
        return say_mixed_at(draft, carer, &found, vial);
    }
    if !found.is_active() || vial != found.next_vial() {
        return nothing_open(draft, carer);
    }
    let before = left(&draft.household, &found, Supply::Vials);
    draft.change(Change::VialMixed {
        course,
        vial,
        mixed_at: at,
        recorded_at: draft.now,
        by: by.into(),
        available: found.product.available,
        discard_by: discard_by(at, &found.product, draft.household.zone),
    });
    let too_late = place_draws(draft, course, vial);
    let Some(found) = draft.course(course) else {
        return;
    };
    let Some(mixed) = found.vials.get(&vial) else {
        return;
    };
    let left = draft.household.remaining(&found, mixed);
    let each = draft
        .household
        .next_volume(&found)
        .plus(draft.policy.vial.loss);
    let message = draft
        .about(carer, Kind::RecordedMixed, &found)
        .fact("vial", vial)
        .fact("mixed_at", draft.household.shown(at))
        .fact("discard_by", draft.household.shown(mixed.discard_by))
        .fact("remaining_ml", left)
        .fact("doses_left", left.holds(each))
        .fact("by", by);
    let spare = before == Some(0);
    draft.say_recorded(carer, message);
    let mixed = mixed.clone();
    for given in &too_late {
        tell_of_past_limit(draft, carer, &found, &mixed, given);
    }
    say_what_is_short(draft, course);
    if spare {
        pass_on(draft, carer, text, "spare-vial");
    }
}

/// Volumes that were drawn from no known vial are placed on the one that was
/// mixed by then: owners often give first and tell of the mixing afterwards.
/// Gives the doses for which that vial turns out to have been past its limit.
fn place_draws(draft: &mut Draft, course_no: No, vial: No) -> Vec<Given> {
    let mut too_late = Vec::new();
    let Some(course) = draft.course(course_no) else {
        return too_late;
    };
    let Some(mixed) = course.vials.get(&vial) else {
        return too_late;
    };
    let (mixed_at, mut left) = (mixed.mixed_at, mixed.available);
    let loss = draft.policy.vial.loss;
    let open: Vec<Administration> = draft
        .household
        .administrations
        .values()
        .filter(|a| a.in_force() && a.course == course_no && a.at + ROUGHLY >= mixed_at)
        .filter(|a| a.draws.iter().any(|draw| draw.vial.is_none()))
        .cloned()
        .collect();
    for record in open {
        let mut draws = Vec::new();
        for draw in &record.draws {
            let wanted = draw.volume.plus(loss);
            if draw.vial.is_none() && wanted <= left {
                draws.push((Some(vial), draw.volume, loss));
                left = left.less(wanted);
            } else {
                draws.push((draw.vial, draw.volume, draw.lost));
            }
        }
        let placed = draws.iter().any(|(from, ..)| *from == Some(vial));
        if placed && record.at >= mixed.discard_by {
            too_late.push(Given {
                course: course_no,
                dose: record.dose,
                at: record.at,
                by: record.by.clone(),
                volume: record.volume,
            });
        }
        draft.change(Change::DrawsPlaced {
            administration: record.no,
            draws,
        });
    }
    too_late
}
