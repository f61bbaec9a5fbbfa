//! The record as a FHIR R4 Bundle (4.0.1, hl7.org/fhir/R4), of type collection.
//!
//! Codes are FHIR's own and UCUM's. Species, product and names are text as the
//! clinic wrote them: this program knows no terminology server, and a guessed
//! code would be worse than none.

mod administration;
mod people;
mod request;
mod value;

use super::identity::{Part, uuid};
use super::{Record, rows};
use serde_json::{Value, json};
use value::instant;

/// The record of a course as a Bundle.
///
/// The same record gives the same numbers at every export; instants carry an
/// offset, volumes are in mL and masses in mg (UCUM).
pub fn bundle(record: &Record<'_>) -> Value {
    let mut entries = people::people(record);
    entries.push(request::medication(record));
    entries.push(request::request(record));
    entries.extend(request::dispenses(record));
    let doses = rows(record);
    entries.extend(
        doses
            .iter()
            .map(|row| administration::administration(record, row)),
    );
    json!({
        "resourceType": "Bundle",
        "id": uuid(record, Part::Bundle),
        "type": "collection",
        "timestamp": instant(record.clinic.zone.local(record.now)),
        "entry": entries,
    })
}

/// A resource in its place in the bundle.
fn entry(record: &Record<'_>, part: Part<'_>, kind: &str, mut resource: Value) -> Value {
    let id = uuid(record, part);
    let url = format!("urn:uuid:{id}");
    resource["resourceType"] = kind.into();
    resource["id"] = id.into();
    json!({ "fullUrl": url, "resource": resource })
}

/// Another resource of the same bundle.
fn reference(record: &Record<'_>, part: Part<'_>) -> Value {
    json!({ "reference": format!("urn:uuid:{}", uuid(record, part)) })
}
