//! A course begins: from a worked order to the first changes of a household.

use super::super::Instant;
use super::super::change::{Change, apply};
use super::super::forecast::forecast_order;
use super::super::household::{Chat, Household, next_no};
use super::super::message::{Kind, Message, No, Recipient, Value};
use super::super::policy::Policy;
use super::super::prescription::{Order, WorkedOrder};
use super::super::supply::Supply;
use super::draft::Draft;
use super::wake::unsettled;

/// Who answers for an order.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Entered<'a> {
    /// Who entered it.
    pub by: &'a str,
    /// Who confirmed it, where that is settled already.
    pub confirmed_by: Option<&'a str>,
}

/// The changes that add an order to a household, an empty one or one that has
/// other courses. Until somebody confirmed it, nothing is asked for.
pub fn enrol(
    household: &Household,
    order: &Order,
    worked: &WorkedOrder,
    policy: &Policy,
    entered: Entered,
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
            let carer = next_no(&household.carers);
            add(
                &mut household,
                Change::CarerAdded {
                    carer,
                    name: name.clone(),
                },
            );
        }
    }
    let owner = household.carers.values().find(|c| c.name == order.owner);
    if let (Some(owner), Some(phone)) = (owner, &order.owner_phone) {
        let change = Change::CarerPhone {
            carer: owner.no,
            phone: Some(phone.clone()),
        };
        add(&mut household, change);
    }
    let known = household
        .patients
        .values()
        .find(|p| p.name == order.patient)
        .map(|p| p.no);
    let patient = known.unwrap_or_else(|| next_no(&household.patients));
    add(
        &mut household,
        Change::PatientAdded {
            patient,
            name: order.patient.clone(),
            species: order.species.clone(),
            weight: order.weight_written.clone(),
        },
    );
    let course = next_no(&household.courses);
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
            entered_by: entered.by.into(),
            at: now,
        },
    );
    for (supply, pieces) in dispensed(order, worked, policy) {
        add(
            &mut household,
            Change::SuppliesCounted {
                course,
                supply,
                pieces,
                at: now,
            },
        );
    }
    if let Some(by) = entered.confirmed_by {
        add(
            &mut household,
            Change::CourseConfirmed {
                course,
                at: now,
                by: by.into(),
            },
        );
    }
    changes
}

/// What goes home: the vials that were written down, or what the course needs.
fn dispensed(order: &Order, worked: &WorkedOrder, policy: &Policy) -> [(Supply, u32); 4] {
    let forecast = forecast_order(
        &worked.plan,
        worked.doses,
        &order.product,
        order.zone,
        &policy.vial,
    );
    let needed = forecast.supplies();
    let vials = order.vials_dispensed.unwrap_or(needed.vials);
    [
        (Supply::Vials, vials),
        (Supply::Diluent, vials),
        (Supply::Syringes, needed.syringes),
        (Supply::Needles, needed.needles),
    ]
}

/// A carer used an invitation.
pub(super) fn joined(draft: &mut Draft, carer: No, chat: &Chat) {
    draft.change(Change::CarerJoined {
        carer,
        chat: chat.clone(),
    });
    let courses: Vec<No> = draft.household.active_courses().map(|c| c.no).collect();
    if courses.is_empty() {
        // The order waits to be confirmed: there is no plan to tell yet.
        return super::answer::contact(draft, carer);
    }
    for course in courses {
        say_plan(draft, carer, course);
    }
}

/// Tells a carer what the plan is.
pub(super) fn say_plan(draft: &mut Draft, carer: No, course: No) {
    let Some(course) = draft.course(course) else {
        return;
    };
    if course.paused.is_some() {
        return super::amend::say_paused(draft, carer, &course);
    }
    let name = draft.household.carer_name(carer).to_owned();
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
