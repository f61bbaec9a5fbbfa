//! The index of a clinic's export: every course and the files of it.

use super::table::{csv_lines, said};
use super::{CourseStatus, Record};
use crate::domain::Instant;

/// A course in the index.
pub struct Indexed<'a> {
    /// The course.
    pub record: Record<'a>,
    /// The name of its table.
    pub table: &'a str,
    /// The name of its bundle.
    pub bundle: &'a str,
}

/// The index as CSV, in the order given; instants on each household's clock.
pub fn index(courses: &[Indexed<'_>]) -> String {
    let header = [
        "household",
        "course",
        "patient",
        "species",
        "owner",
        "product",
        "status",
        "doses",
        "given",
        "started_at",
        "ended_at",
        "table",
        "bundle",
    ];
    let mut lines = vec![header.map(str::to_owned).to_vec()];
    lines.extend(courses.iter().map(line));
    csv_lines(&lines)
}

fn line(indexed: &Indexed<'_>) -> Vec<String> {
    let Record {
        household, course, ..
    } = indexed.record;
    let patient = household.patients.get(&course.patient);
    let shown = |at: Instant| household.shown(at).to_rfc3339();
    vec![
        household.id.to_string(),
        course.no.to_string(),
        said(household.patient_of(course)),
        said(patient.map_or("", |patient| &patient.species)),
        said(&household.owner),
        said(&course.product.name),
        CourseStatus::of(household, course).code().into(),
        course.doses.to_string(),
        household.given(course.no).to_string(),
        shown(course.started_at),
        course.ended_at.map(shown).unwrap_or_default(),
        indexed.table.into(),
        indexed.bundle.into(),
    ]
}
