//! What was ordered, and what went home.

use super::super::identity::Part;
use super::super::{CourseStatus, Dispensed, Record};
use super::value::{concept, instant, mass, pieces, text, volume};
use super::{entry, reference};
use crate::domain::quantity::{Mass, Volume};
use crate::domain::supply::Supply;
use crate::domain::timing::Plan;
use serde_json::{Value, json};

/// The mixed product with its strength.
pub(super) fn medication(record: &Record<'_>) -> Value {
    let product = &record.course.product;
    let mut resource = json!({ "code": concept(&product.name) });
    // A ratio must not have zero mg in it; no product has, but a record says what it can.
    if !product.concentration.is_zero() {
        let strength = Mass::from_millionths(product.concentration.millionths());
        resource["ingredient"] = json!([{
            "itemCodeableConcept": concept(&product.name),
            "strength": {
                "numerator": mass(strength),
                "denominator": volume(Volume::from_millionths(1_000_000)),
            },
        }]);
    }
    entry(record, Part::Medication, "Medication", resource)
}

pub(super) fn request(record: &Record<'_>) -> Value {
    let (household, course) = (record.household, record.course);
    let dosages: Vec<Value> = (1..)
        .zip(&course.plans)
        .map(|(sequence, plan)| dosage(record, sequence, plan))
        .collect();
    let mut resource = json!({
        "identifier": [{ "value": format!("{}.{}", household.id, course.no) }],
        "status": CourseStatus::of(household, course).code(),
        "intent": "order",
        "medicationReference": reference(record, Part::Medication),
        "subject": reference(record, Part::Patient),
        "authoredOn": instant(household.shown(course.started_at)),
        "requester": reference(record, Part::Veterinarian(&course.veterinarian)),
        "recorder": { "display": text(&course.entered_by) },
        "dosageInstruction": dosages,
    });
    if let Some((at, by)) = &course.confirmed {
        resource["note"] = json!([{
            "authorString": text(by),
            "time": instant(household.shown(*at)),
            "text": "Arithmetic checked by a second person.",
        }]);
    }
    entry(record, Part::Request, "MedicationRequest", resource)
}

/// One plan: at which wall times, how much, from its first to its last dose.
fn dosage(record: &Record<'_>, sequence: u32, plan: &Plan) -> Value {
    let (household, course) = (record.household, record.course);
    let next = course
        .plans
        .iter()
        .map(|p| p.from)
        .filter(|from| *from > plan.from)
        .min();
    let last = next.map_or(course.doses, |next| next - 1).max(plan.from);
    let bound = |dose| instant(course.planned(dose, household.zone).shown());
    let times: Vec<String> = plan
        .times
        .iter()
        .map(|time| time.format("%H:%M:%S").to_string())
        .collect();
    let short: Vec<String> = plan
        .times
        .iter()
        .map(|time| time.format("%H:%M").to_string())
        .collect();
    json!({
        "sequence": sequence,
        "text": text(&format!(
            "{}: {} at {} ({}), doses {} to {last}",
            course.ordered, plan.volume, short.join(", "), household.zone, plan.from
        )),
        "timing": { "repeat": {
            "boundsPeriod": { "start": bound(plan.from), "end": bound(last) },
            "count": last - plan.from + 1,
            "frequency": plan.times.len(),
            "period": 1,
            "periodUnit": "d",
            "timeOfDay": times,
        }},
        "doseAndRate": [{ "doseQuantity": volume(plan.volume) }],
    })
}

/// Powder and diluent as they went home; syringes and needles stand in a note.
/// An order that nobody has confirmed has sent nothing home.
pub(super) fn dispenses(record: &Record<'_>) -> Vec<Value> {
    let course = record.course;
    if course.confirmed.is_none() {
        return Vec::new();
    }
    let went: Vec<&Dispensed> = record
        .dispensed
        .iter()
        .filter(|went| went.course == course.no && went.pieces > 0)
        .collect();
    went.iter()
        .filter_map(|one| {
            let (medication, what) = match one.supply {
                Supply::Vials => (
                    ("medicationReference", reference(record, Part::Medication)),
                    "vial",
                ),
                Supply::Diluent => (
                    (
                        "medicationCodeableConcept",
                        concept(&course.product.diluent),
                    ),
                    "container",
                ),
                Supply::Syringes | Supply::Needles => return None,
            };
            let mut resource = json!({
                "status": "completed",
                "subject": reference(record, Part::Patient),
                "performer": [{ "actor": reference(record, Part::Clinic) }],
                "authorizingPrescription": [reference(record, Part::Request)],
                "quantity": pieces(one.pieces, what),
                "whenHandedOver": instant(record.household.shown(one.at)),
            });
            resource[medication.0] = medication.1;
            if one.supply == Supply::Vials {
                let with = with_it(&went);
                if !with.is_empty() {
                    resource["note"] = json!([{ "text": format!("With it: {with}.") }]);
                }
            }
            Some(entry(
                record,
                Part::Dispense(one.supply.name()),
                "MedicationDispense",
                resource,
            ))
        })
        .collect()
}

fn with_it(went: &[&Dispensed]) -> String {
    let others: Vec<String> = went
        .iter()
        .filter(|one| matches!(one.supply, Supply::Syringes | Supply::Needles))
        .map(|one| format!("{} {}", one.pieces, one.supply.name()))
        .collect();
    others.join(", ")
}
