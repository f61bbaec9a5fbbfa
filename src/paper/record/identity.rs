//! Numbers for the parts of a bundle that stay the same from one export to the
//! next, so that a practice's system knows what it has already.

use super::Record;
use sha2::{Digest, Sha256};

/// A part of the record.
#[derive(Debug, Clone, Copy)]
pub(super) enum Part<'a> {
    Bundle,
    Clinic,
    Veterinarian(&'a str),
    Patient,
    Carer(u32),
    Medication,
    Request,
    Dispense(&'a str),
    Administration(u32),
    /// A dose that no record of is in force.
    Unanswered(u32),
}

/// The UUID of a part, in lower case.
///
/// A hash of what never changes (RFC 9562, version 8). Numbers of households
/// and courses begin at 1 in every installation, so the millisecond at which
/// the course was entered goes in as well. No person's name but the
/// veterinarian's does: what is erased must not change a number.
pub(super) fn uuid(record: &Record<'_>, part: Part<'_>) -> String {
    let (household, course) = (record.household, record.course);
    let home = || {
        let first = household
            .courses
            .values()
            .next()
            .map_or(course, AsRef::as_ref);
        (household.id, first.started_at.timestamp_millis())
    };
    let order = (course.no, course.started_at.timestamp_millis());
    let key = match part {
        Part::Clinic => "clinic".to_owned(),
        Part::Veterinarian(name) => format!("veterinarian {name:?}"),
        Part::Patient => format!("{:?} patient {}", home(), course.patient),
        Part::Carer(no) => format!("{:?} carer {no}", home()),
        Part::Administration(no) => format!("{:?} administration {no}", home()),
        Part::Bundle => format!("{:?} {order:?} bundle", home()),
        Part::Medication => format!("{:?} {order:?} medication", home()),
        Part::Request => format!("{:?} {order:?} request", home()),
        Part::Dispense(of) => format!("{:?} {order:?} dispense {of}", home()),
        Part::Unanswered(dose) => format!("{:?} {order:?} unanswered {dose}", home()),
    };
    let digest = Sha256::digest(format!("vialbell {:?} {key}", household.clinic));
    let mut bytes: [u8; 16] = std::array::from_fn(|at| digest[at]);
    bytes[6] = 0x80 | (bytes[6] & 0x0f);
    bytes[8] = 0x80 | (bytes[8] & 0x3f);
    let hex: String = bytes.iter().map(|byte| format!("{byte:02x}")).collect();
    let [a, b, c, d] = [&hex[..8], &hex[8..12], &hex[12..16], &hex[16..20]];
    format!("{a}-{b}-{c}-{d}-{}", &hex[20..])
}
