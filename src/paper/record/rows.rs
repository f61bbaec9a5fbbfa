//! What the record says of each dose: one row a record that was made of it, and
//! one where nobody said anything.

use super::Record;
use crate::domain::Instant;
use crate::domain::household::{Administration, Dose, Planned, Status};
use crate::domain::message::No;

/// One row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row<'a> {
    /// The dose.
    pub dose: No,
    /// When it was planned.
    pub planned: Planned,
    /// How often it was asked for.
    pub asked: u32,
    /// When its window closed without an answer.
    pub closed_at: Option<Instant>,
    /// The record that was made of it; none where there is none in force.
    pub record: Option<&'a Administration>,
}

/// A row's status (FHIR MedicationAdministration.status).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum RowStatus {
    /// It was given.
    Completed,
    /// Somebody said that it was not given.
    NotDone,
    /// A record that was found to be wrong.
    EnteredInError,
    /// Its time has come, and no record of it is in force.
    Unknown,
}

impl RowStatus {
    /// The code of FHIR R4 (value set medication-admin-status).
    pub const fn code(self) -> &'static str {
        match self {
            RowStatus::Completed => "completed",
            RowStatus::NotDone => "not-done",
            RowStatus::EnteredInError => "entered-in-error",
            RowStatus::Unknown => "unknown",
        }
    }
}

impl Row<'_> {
    /// The row's status.
    pub fn status(&self) -> RowStatus {
        match self.record {
            None => RowStatus::Unknown,
            Some(record) if !record.in_force() => RowStatus::EnteredInError,
            Some(record) => match record.status {
                Status::Completed => RowStatus::Completed,
                Status::NotDone => RowStatus::NotDone,
            },
        }
    }

    /// When it was given; none for a dose that was not given, or of which nobody knows.
    pub fn given_at(&self) -> Option<Instant> {
        let record = self.record?;
        (record.status == Status::Completed).then_some(record.at)
    }
}

/// The rows of a course: by dose, and of one dose in the order of their recording.
pub fn rows<'a>(record: &Record<'a>) -> Vec<Row<'a>> {
    let (household, course) = (record.household, record.course);
    course
        .dose_numbers()
        .flat_map(|dose| {
            let planned = course.planned(dose, household.zone);
            let touched = course.touched.get(&dose);
            let row = |made| Row {
                dose,
                planned,
                asked: touched.map_or(0, |touched| touched.asked),
                closed_at: touched.and_then(|touched| touched.closed_at),
                record: made,
            };
            let made = household
                .administrations
                .values()
                .filter(|a| a.course == course.no && a.dose == dose);
            let mut rows: Vec<Row<'a>> = made.map(|a| row(Some(a))).collect();
            let settled = rows.iter().any(|r| r.status() != RowStatus::EnteredInError);
            if !settled && was_due(record, planned, touched) {
                rows.push(row(None));
            }
            rows
        })
        .collect()
}

/// Whether something should be known of a dose: its window closed, or its time
/// came while the course was under way.
fn was_due(record: &Record<'_>, planned: Planned, touched: Option<&Dose>) -> bool {
    let course = record.course;
    let paused = course.paused.as_ref().map(|(since, _)| *since);
    let ends = [course.ended_at, paused, Some(record.now)];
    let until = ends.into_iter().flatten().min().unwrap_or(record.now);
    let closed = touched.is_some_and(|touched| touched.closed_at.is_some());
    closed || (course.confirmed.is_some() && planned.at <= until)
}
