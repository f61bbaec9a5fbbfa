//! A household on another clock: what the local times would become is shown
//! and asked, and what the clinic's rules do not allow goes to the clinic.

use super::super::Instant;
use super::super::amend::in_hours;
use super::super::change::Change;
use super::super::household::{Course, Planned, Proposal};
use super::super::message::{Kind, Label, No};
use super::super::zone::Zone;
use super::draft::Draft;
use super::owner::{escalate, nothing_open, pass_on};
use super::wake::unsettled;
use chrono::TimeDelta;
use std::sync::Arc;

/// Hears of a new place; `zone` is what it was understood as.
pub(super) fn hear(draft: &mut Draft, carer: No, text: &str, zone: Option<Zone>) {
    let Some(zone) = zone else {
        return escalate(draft, carer, text, "zone");
    };
    if zone == draft.household.zone {
        // Where nothing with times is under way, there is only somebody to ask.
        let is_treated = draft.household.active_courses().next().is_some();
        return match is_treated {
            true => super::answer::schedules(draft, carer),
            false => super::answer::contact(draft, carer),
        };
    }
    let Some((course, next, gap)) = soonest_on(draft, zone) else {
        return escalate(draft, carer, text, "zone");
    };
    let message = draft
        .about(carer, Kind::Confirm, &course)
        .fact("about", "zone")
        .fact("zone", zone.name())
        .fact("here_now", zone.local(draft.now))
        .fact("planned", next.shown())
        .fact("gap", in_hours(gap))
        .fact("phone", draft.phone());
    draft.ask(message, carer, vec![(Label::Yes, Proposal::Zone { zone })]);
}

/// Moves the household to another clock, after a yes and only where the rules still allow it.
pub(super) fn perform(draft: &mut Draft, carer: No, text: &str, zone: Zone) {
    if zone == draft.household.zone {
        return nothing_open(draft, carer);
    }
    if soonest_on(draft, zone).is_none() {
        return escalate(draft, carer, text, "zone");
    }
    draft.change(Change::ZoneChanged {
        zone,
        at: draft.now,
    });
    let carers: Vec<No> = draft.household.reachable_carers().collect();
    for carer in carers {
        super::answer::schedules(draft, carer);
    }
    pass_on(draft, carer, &format!("{text} ({zone})"), "zone");
}

/// The next dose on another clock and the time since the one before it; none
/// where any course would leave the span that the clinic allows between doses.
fn soonest_on(draft: &Draft, zone: Zone) -> Option<(Arc<Course>, Planned, TimeDelta)> {
    let household = &draft.household;
    let mut soonest: Option<(Arc<Course>, Planned, TimeDelta)> = None;
    for course in household.courses.values().filter(|c| c.is_running()) {
        let Some((dose, _)) =
            unsettled(household, course).find(|(dose, _)| !course.touched.contains_key(dose))
        else {
            continue;
        };
        let next = Planned::resolve(course.plan(dose).planned(dose), zone);
        let before = last_before(draft, course, dose);
        let gap = before.map_or(draft.policy.dose.gap_least, |before| next.at - before);
        let allowed = draft.policy.dose.gap_least..=draft.policy.dose.gap_most;
        if next.at <= draft.now || !allowed.contains(&gap) {
            return None;
        }
        if soonest
            .as_ref()
            .is_none_or(|(_, planned, _)| next.at < planned.at)
        {
            soonest = Some((course.clone(), next, gap));
        }
    }
    soonest
}

/// When the dose before was given, or planned where it was not.
fn last_before(draft: &Draft, course: &Course, dose: No) -> Option<Instant> {
    let before = dose.checked_sub(1).filter(|dose| *dose >= 1)?;
    let given = draft
        .household
        .in_force(course.no, before)
        .map(|record| record.at);
    given.or_else(|| Some(course.planned(before, draft.household.zone).at))
}
