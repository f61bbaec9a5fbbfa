//! A course begins: from a worked order to the first changes of a household.

use super::super::Instant;
use super::super::change::{Change, apply};
use super::super::household::{Chat, Household};
use super::super::message::{Kind, Message, No, Recipient, Value};
use super::super::policy::Policy;
use super::super::prescription::{Order, WorkedOrder};
use super::draft::Draft;
use super::wake::unsettled;

/// The changes that add an order to a household, an empty one or one that has
/// other courses. Vials that were not counted are those that whole vials need.
pub fn enrol(
    household: &Household,
    order: &Order,
    worked: &WorkedOrder,
    policy: &Policy,
    now: Instant,
) -> Vec<Change> {
    let mut household = household.clone();
    let mut changes = Vec::new();
    let mut add = |household: &mut Household, change: Change| {
        apply(household, &change);
        changes.push(change);
    };
    for name in std::iter::once(&order.owner).chain(&order.carers) {
        if !household.carers.values().any(|carer| carer.name == *name) {
            let carer = household.carers.keys().max().map_or(1, |last| last + 1);
            add(
                &mut household,
                Change::CarerAdded {
                    carer,
                    name: name.clone(),
                },
            );
        }
    }
    let known = household
        .patients
        .values()
        .find(|p| p.name == order.patient)
        .map(|p| p.no);
    let patient =
        known.unwrap_or_else(|| household.patients.keys().max().map_or(1, |last| last + 1));
    add(
        &mut household,
        Change::PatientAdded {
            patient,
            name: order.patient.clone(),
            species: order.species.clone(),
            weight: order.weight_written.clone(),
        },
    );
    let course = household.courses.keys().max().map_or(1, |last| last + 1);
    add(
        &mut household,
        Change::CourseStarted {
            course,
            patient,
            product: order.product.clone(),
            ordered: order.dose.to_string(),
            veterinarian: order.veterinarian.clone(),
            syringe: worked.syringe.size,
            doses: worked.doses,
            plan: worked.plan.clone(),
            vials_dispensed: order
                .vials_dispensed
                .unwrap_or_else(|| vials_needed(order, worked, policy)),
            at: now,
        },
    );
    changes
}

/// Vials for a course that is followed to the minute.
fn vials_needed(order: &Order, worked: &WorkedOrder, policy: &Policy) -> u32 {
    let each = worked.volume.plus(policy.vial.loss);
    let per_vial = order.product.available.holds(each).max(1);
    let per_day = u32::try_from(worked.plan.times.len()).unwrap_or(1).max(1);
    // A vial is mixed just before its first dose and holds to its limit.
    let in_limit = (order.product.refrigerated_hours * per_day / 24).max(1);
    worked.doses.div_ceil(per_vial.min(in_limit))
}

/// A carer used an invitation.
pub(super) fn joined(draft: &mut Draft, carer: No, chat: &Chat) {
    draft.change(Change::CarerJoined {
        carer,
        chat: chat.clone(),
    });
    let name = draft.household.carer_name(carer).to_owned();
    let courses: Vec<No> = draft.household.active_courses().map(|c| c.no).collect();
    for course in courses {
        let Some(course) = draft.course(course) else {
            continue;
        };
        let next = unsettled(&draft.household, &course).find(|(_, p)| p.at > draft.now);
        let plan = course.plan(next.as_ref().map_or(1, |(dose, _)| *dose));
        let mut message = Message::new(Recipient::Carer(carer), Kind::CourseJoined)
            .about(draft.household.patient_of(&course))
            .fact("name", name.as_str())
            .fact("clinic", draft.policy.clinic.name.as_str())
            .fact("volume_ml", plan.volume)
            .fact("diluent_ml", course.product.diluent_volume)
            .fact("available_ml", course.product.available)
            .fact(
                "ends",
                course.planned(course.doses, draft.household.zone).shown(),
            )
            .fact("phone", draft.phone())
            .maybe("planned", next.map(|(_, planned)| planned.shown()));
        message
            .facts
            .insert("times".into(), Value::Times(plan.times.clone()));
        draft.say(message);
    }
}
