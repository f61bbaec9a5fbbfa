//! What happened to a dose.

use super::super::identity::Part;
use super::super::{Record, Row, RowStatus};
use super::value::{concept, instant, text, volume};
use super::{entry, reference};
use crate::domain::household::{Administration, Status};
use crate::domain::quantity::mass_of_volume;
use serde_json::{Value, json};

/// A record of a dose, or a dose of which nobody knows.
///
/// The time in effect is when it was given; of a dose that was not given, or of
/// which nobody knows, it is when it was planned.
pub(super) fn administration(record: &Record<'_>, row: &Row<'_>) -> Value {
    let course = record.course;
    let zone = row.planned.zone;
    let at = row.given_at().unwrap_or(row.planned.at);
    let mut notes = vec![json!({
        "text": format!(
            "Dose {} of {}, planned for {} {}.",
            row.dose,
            course.doses,
            row.planned.local.format("%Y-%m-%d %H:%M"),
            zone
        ),
    })];
    let mut resource = json!({
        "status": row.status().code(),
        "medicationReference": reference(record, Part::Medication),
        "subject": reference(record, Part::Patient),
        "effectiveDateTime": instant(zone.local(at)),
        "request": reference(record, Part::Request),
    });
    let part = match row.record {
        None => {
            resource["statusReason"] = json!([concept("Nobody said what became of it.")]);
            if let Some(closed) = row.closed_at {
                notes.push(json!({
                    "time": instant(zone.local(closed)),
                    "text": "The time in which it could be recorded ended without an answer.",
                }));
            }
            Part::Unanswered(row.dose)
        }
        Some(made) => {
            if made.status == Status::Completed {
                resource["dosage"] = dosage(record, made);
            }
            resource["performer"] = json!([{ "actor": who(record, made) }]);
            notes.push(json!({
                "authorReference": reference(record, Part::Carer(made.carer)),
                "time": instant(zone.local(made.recorded_at)),
                "text": match made.status {
                    Status::Completed => "Recorded as given.",
                    Status::NotDone => "Recorded as not given.",
                },
            }));
            if let (RowStatus::EnteredInError, Some(superseded)) =
                (row.status(), made.superseded_at)
            {
                notes.push(json!({
                    "time": instant(zone.local(superseded)),
                    "text": "Found to be wrong; it counts no more.",
                }));
            }
            Part::Administration(made.no)
        }
    };
    resource["note"] = notes.into();
    entry(record, part, "MedicationAdministration", resource)
}

fn dosage(record: &Record<'_>, made: &Administration) -> Value {
    let mass = mass_of_volume(made.volume, record.course.product.concentration);
    let vials: Vec<String> = made
        .draws
        .iter()
        .map(|draw| {
            let vial = draw
                .vial
                .map_or("no vial on record".into(), |vial| format!("vial {vial}"));
            format!("{} from {vial}", draw.volume)
        })
        .collect();
    json!({
        "text": text(&format!("{mass} in {}: {}", made.volume, vials.join(", "))),
        "dose": volume(made.volume),
    })
}

/// Who gave it, as said: one of the carers where the name is theirs.
fn who(record: &Record<'_>, made: &Administration) -> Value {
    let carer = record
        .household
        .carers
        .values()
        .find(|carer| carer.name == made.by);
    let mut actor = match carer {
        Some(carer) => reference(record, Part::Carer(carer.no)),
        None => json!({}),
    };
    actor["display"] = text(&made.by).into();
    actor
}
