//! The record of a course, for the practice's own system: a table (CSV) and a
//! FHIR R4 Bundle. Both say the same; both hold what was superseded, and doses
//! of which nobody knows, so that what was given cannot be read as all there was.

mod dispensed;
mod fhir;
mod identity;
mod index;
mod rows;
mod table;

pub use dispensed::{Dispensed, dispensed};
pub use fhir::bundle;
pub use index::{Indexed, index};
pub use rows::{Row, RowStatus, rows};
pub use table::{csv_lines, said, table};

use crate::domain::Instant;
use crate::domain::household::{Course, Household};
use crate::domain::policy::Clinic;

/// A course with all that its record is made from.
#[derive(Clone, Copy)]
pub struct Record<'a> {
    /// The clinic that keeps it.
    pub clinic: &'a Clinic,
    /// The household.
    pub household: &'a Household,
    /// One of its courses.
    pub course: &'a Course,
    /// What went home, as the journal has it.
    pub dispensed: &'a [Dispensed],
    /// When the record is made: doses planned later have nothing to be recorded yet.
    pub now: Instant,
}

/// How a course stands (FHIR MedicationRequest.status).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CourseStatus {
    /// Nobody has confirmed the order.
    Draft,
    /// It is under way.
    Active,
    /// Nothing is asked for until the clinic says so.
    OnHold,
    /// It ended, and every dose of it was due before that.
    Completed,
    /// It was ended with doses to come.
    Stopped,
}

impl CourseStatus {
    /// How a course stands.
    pub fn of(household: &Household, course: &Course) -> CourseStatus {
        match (course.ended_at, &course.confirmed) {
            (None, None) => CourseStatus::Draft,
            (None, Some(_)) if course.paused.is_some() => CourseStatus::OnHold,
            (None, Some(_)) => CourseStatus::Active,
            (Some(_), _) if course.ended_by.is_some() => CourseStatus::Stopped,
            (Some(ended), _) => {
                let settled = |dose| {
                    household.in_force(course.no, dose).is_some()
                        || course.planned(dose, household.zone).at < ended
                };
                if course.dose_numbers().all(settled) {
                    CourseStatus::Completed
                } else {
                    CourseStatus::Stopped
                }
            }
        }
    }

    /// The code of FHIR R4 (value set medicationrequest-status).
    pub const fn code(self) -> &'static str {
        match self {
            CourseStatus::Draft => "draft",
            CourseStatus::Active => "active",
            CourseStatus::OnHold => "on-hold",
            CourseStatus::Completed => "completed",
            CourseStatus::Stopped => "stopped",
        }
    }
}
