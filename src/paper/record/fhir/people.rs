//! Who is in the record: the clinic, the veterinarian, the patient, and the
//! people at home.

use super::super::Record;
use super::super::identity::Part;
use super::value::{concept, text};
use super::{entry, reference};
use serde_json::{Value, json};

/// Says that a patient is an animal, and of which species
/// (<https://hl7.org/fhir/R4/extension-patient-animal.html>).
const ANIMAL: &str = "http://hl7.org/fhir/StructureDefinition/patient-animal";

pub(super) fn people(record: &Record<'_>) -> Vec<Value> {
    let mut entries = vec![clinic(record), veterinarian(record), patient(record)];
    entries.extend(record.household.carers.keys().map(|no| carer(record, *no)));
    entries
}

fn clinic(record: &Record<'_>) -> Value {
    let clinic = record.clinic;
    let resource = json!({
        "name": text(&clinic.name),
        "telecom": [{ "system": "phone", "value": text(&clinic.phone) }],
    });
    entry(record, Part::Clinic, "Organization", resource)
}

fn veterinarian(record: &Record<'_>) -> Value {
    let name = &record.course.veterinarian;
    let resource = json!({ "name": [{ "text": text(name) }] });
    entry(record, Part::Veterinarian(name), "Practitioner", resource)
}

fn patient(record: &Record<'_>) -> Value {
    let (household, course) = (record.household, record.course);
    let patient = household.patients.get(&course.patient);
    let species = patient.map_or("", |patient| &patient.species);
    let resource = json!({
        "extension": [{
            "url": ANIMAL,
            "extension": [{ "url": "species", "valueCodeableConcept": concept(species) }],
        }],
        "identifier": [{ "value": format!("{}.{}", household.id, course.patient) }],
        "name": [{ "text": text(household.patient_of(course)) }],
        "contact": [{
            "relationship": [concept("owner")],
            "name": { "text": text(&household.owner) },
        }],
        "managingOrganization": reference(record, Part::Clinic),
    });
    entry(record, Part::Patient, "Patient", resource)
}

fn carer(record: &Record<'_>, no: u32) -> Value {
    // Number 1 is the owner.
    let relationship = if no == 1 { "owner" } else { "carer" };
    let resource = json!({
        "patient": reference(record, Part::Patient),
        "relationship": [concept(relationship)],
        "name": [{ "text": text(record.household.carer_name(no)) }],
    });
    entry(record, Part::Carer(no), "RelatedPerson", resource)
}
