//! The record as CSV (RFC 4180): one row a record of a dose, and one for each
//! dose of which nobody knows. Instants carry the offset of the dose's zone.

use super::{Record, Row, rows};
use crate::domain::Instant;
use crate::domain::household::Status;
use crate::domain::quantity::{Volume, mass_of_volume};

/// The columns, in order.
const COLUMNS: [&str; 25] = [
    "clinic",
    "household",
    "course",
    "patient",
    "species",
    "weight",
    "owner",
    "veterinarian",
    "product",
    "ordered",
    "dose",
    "planned_local",
    "zone",
    "planned",
    "status",
    "given_at",
    "volume_ml",
    "mass_mg",
    "lost_ml",
    "vials",
    "by",
    "recorded_at",
    "carer",
    "superseded_at",
    "window_closed_at",
];

/// The record of a course as CSV in UTF-8 with a header, lines ended by CRLF.
///
/// `volume_ml` and `mass_mg` are decimal numbers, and empty where nothing was
/// given. `vials` is a list such as `2:0.6 3:0.9`: the vial and what was drawn
/// from it in mL, `?` where no vial on record could have given it.
pub fn table(record: &Record<'_>) -> String {
    let lines: Vec<Vec<String>> = rows(record).iter().map(|row| line(record, row)).collect();
    let header = vec![COLUMNS.map(str::to_owned).to_vec()];
    csv_lines(&[header, lines].concat())
}

fn line(record: &Record<'_>, row: &Row<'_>) -> Vec<String> {
    let (household, course) = (record.household, record.course);
    let patient = household.patients.get(&course.patient);
    let shown = |at: Option<Instant>| {
        at.map(|at| row.planned.zone.local(at).to_rfc3339())
            .unwrap_or_default()
    };
    let made = row.record;
    let given = made.filter(|made| made.status == Status::Completed);
    let volume = given.map(|given| given.volume);
    let mass = volume.map(|volume| mass_of_volume(volume, course.product.concentration));
    let lost = given.map(|given| given.draws.iter().map(|draw| draw.lost).sum::<Volume>());
    let vials: Vec<String> = given
        .iter()
        .flat_map(|given| &given.draws)
        .map(|draw| {
            let vial = draw.vial.map_or("?".into(), |vial| vial.to_string());
            format!("{vial}:{}", draw.volume.number())
        })
        .collect();
    vec![
        household.clinic.clone(),
        household.id.to_string(),
        course.no.to_string(),
        said(household.patient_of(course)),
        said(patient.map_or("", |patient| &patient.species)),
        said(patient.map_or("", |patient| &patient.weight)),
        said(&household.owner),
        said(&course.veterinarian),
        said(&course.product.name),
        said(&course.ordered),
        row.dose.to_string(),
        row.planned.local.format("%Y-%m-%dT%H:%M:%S").to_string(),
        row.planned.zone.name().into(),
        row.planned.shown().to_rfc3339(),
        row.status().code().into(),
        shown(row.given_at()),
        volume.map(Volume::number).unwrap_or_default(),
        mass.map(|mass| mass.number()).unwrap_or_default(),
        lost.map(Volume::number).unwrap_or_default(),
        vials.join(" "),
        said(made.map_or("", |made| &made.by)),
        shown(made.map(|made| made.recorded_at)),
        said(made.map_or("", |made| household.carer_name(made.carer))),
        shown(made.and_then(|made| made.superseded_at)),
        shown(row.closed_at),
    ]
}

/// Words that people chose. A spreadsheet takes a field that begins like this
/// for a formula and carries it out (OWASP, "CSV Injection"): such words get an
/// apostrophe in front.
pub fn said(words: &str) -> String {
    match words.chars().next() {
        Some('=' | '+' | '-' | '@' | '\t' | '\r') => format!("'{words}"),
        _ => words.into(),
    }
}

/// Rows as RFC 4180 has them, in UTF-8, ended by CRLF; all with as many fields.
pub fn csv_lines(lines: &[Vec<String>]) -> String {
    let mut writer = csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .from_writer(Vec::new());
    for line in lines {
        writer.write_record(line).expect("memory takes it");
    }
    let written = writer.into_inner().expect("memory takes it");
    String::from_utf8(written).expect("only text went in")
}
