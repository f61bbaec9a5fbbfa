//! Which rows a change touches. They are written from the household as it is after
//! the change, so that memory and tables have one meaning.

use super::household_rows::{
    ADMINISTRATION, ALERT, AMENDMENT, CARER, COURSE, DOSE, PATIENT, PLAN, QUESTION, SUPPLY, VIAL,
    WITHDRAWAL, administration_row, alert_row, amendment_row, carer_row, course_row, dose_row,
    patient_row, plan_row, question_row, supply_row, vial_row, withdrawal_row,
};
use super::table::Cell;
use super::{StoreError, Work};
use crate::domain::change::Change;
use crate::domain::household::Household;
use crate::domain::message::No;
use crate::domain::supply::Supply;

/// A row that a change touched.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Touched {
    Carer(No),
    /// Their last words: with nearly every message, and in no index.
    Said(No),
    Patient(No),
    Course(No),
    Supply(No, Supply),
    Dose(No, No),
    Vial(No, No),
    Administration(No),
    Question(No),
    Alert(No),
    Amendment(No),
}

pub(super) fn touched(household: &Household, change: &Change) -> Vec<Touched> {
    match *change {
        // Kept in the household's own row, which every commit writes.
        Change::ZoneChanged { .. } => Vec::new(),
        Change::CarerAdded { carer, .. }
        | Change::CarerJoined { carer, .. }
        | Change::CarerRemoved { carer }
        | Change::CarerMoved { carer, .. }
        | Change::CarerReachable { carer, .. }
        | Change::CarerPhone { carer, .. } => vec![Touched::Carer(carer)],
        Change::CarerSaid { carer, .. } => vec![Touched::Said(carer)],
        Change::PatientAdded { patient, .. } => vec![Touched::Patient(patient)],
        Change::CourseStarted { course, .. }
        | Change::CourseEnded { course, .. }
        | Change::CourseConfirmed { course, .. }
        | Change::SupplyTold { course, .. }
        | Change::OrderAmended { course, .. }
        | Change::CourseStopped { course, .. }
        | Change::CourseResumed { course } => vec![Touched::Course(course)],
        Change::CoursePaused {
            course,
            ref released,
            ..
        } => course_and_doses(course, released.iter().copied()),
        Change::PauseEnded {
            course, ref moved, ..
        } => course_and_doses(course, moved.iter().map(|(dose, ..)| *dose)),
        Change::SuppliesCounted { course, supply, .. } => vec![Touched::Supply(course, supply)],
        Change::DoseAsked { course, dose, .. } | Change::DoseClosed { course, dose, .. } => {
            vec![Touched::Dose(course, dose)]
        }
        Change::Administered {
            administration,
            course,
            dose,
            ..
        } => {
            vec![
                Touched::Dose(course, dose),
                Touched::Administration(administration),
            ]
        }
        Change::AdministrationSuperseded { administration, .. }
        | Change::DrawsPlaced { administration, .. } => {
            vec![Touched::Administration(administration)]
        }
        Change::VialMixed { course, vial, .. }
        | Change::VialDiscarded { course, vial, .. }
        | Change::LevelSeen { course, vial, .. }
        | Change::VialOut { course, vial, .. }
        | Change::VialWarned { course, vial, .. } => vec![Touched::Vial(course, vial)],
        Change::QuestionAsked { question, .. } | Change::QuestionSettled { question } => {
            vec![Touched::Question(question)]
        }
        Change::AlertRaised { alert, .. }
        | Change::AlertClimbed { alert, .. }
        | Change::AlertSeen { alert, .. }
        | Change::AlertAnswered { alert, .. }
        | Change::AlertEnded { alert, .. } => vec![Touched::Alert(alert)],
        Change::AmendmentEntered { amendment, .. }
        | Change::AmendmentAffirmed { amendment }
        | Change::AmendmentSettled { amendment, .. } => vec![Touched::Amendment(amendment)],
        Change::PersonErased { .. } => whoever_is_named(household),
    }
}

fn course_and_doses(course: No, doses: impl Iterator<Item = No>) -> Vec<Touched> {
    std::iter::once(Touched::Course(course))
        .chain(doses.map(|dose| Touched::Dose(course, dose)))
        .collect()
}

/// Every row that names somebody at home or holds their words.
fn whoever_is_named(household: &Household) -> Vec<Touched> {
    let vials = household.courses.values().flat_map(|course| {
        let vials = course.vials.keys();
        vials.map(|vial| Touched::Vial(course.no, *vial))
    });
    let mut rows: Vec<Touched> = vials.collect();
    rows.extend(household.carers.keys().map(|no| Touched::Carer(*no)));
    let records = household.administrations.keys();
    rows.extend(records.map(|no| Touched::Administration(*no)));
    rows.extend(household.questions.keys().map(|no| Touched::Question(*no)));
    rows.extend(household.alerts.keys().map(|no| Touched::Alert(*no)));
    rows.extend(
        household
            .amendments
            .keys()
            .map(|no| Touched::Amendment(*no)),
    );
    rows
}

/// Rows to write, by table, in an order that keeps foreign keys whole.
#[derive(Default)]
pub(super) struct Rows {
    carers: Vec<Vec<Cell>>,
    /// Of each carer who said something, or is asked anew: household, number, last words.
    said: Vec<[Cell; 3]>,
    patients: Vec<Vec<Cell>>,
    courses: Vec<Vec<Cell>>,
    plans: Vec<Vec<Cell>>,
    supplies: Vec<Vec<Cell>>,
    doses: Vec<Vec<Cell>>,
    vials: Vec<Vec<Cell>>,
    administrations: Vec<Vec<Cell>>,
    withdrawals: Vec<Vec<Cell>>,
    /// Of each administration that was written: household, number, how many draws.
    draws: Vec<[Cell; 3]>,
    questions: Vec<Vec<Cell>>,
    alerts: Vec<Vec<Cell>>,
    amendments: Vec<Vec<Cell>>,
    /// Of each course that was written: household, number, the last dose that a plan begins with.
    planned: Vec<[Cell; 3]>,
    /// Doses that are not touched any more: household, course, number.
    released: Vec<[Cell; 3]>,
}

impl Rows {
    pub(super) fn add(&mut self, household: &Household, row: Touched) -> Result<(), StoreError> {
        let id = household.id;
        match row {
            Touched::Carer(no) => {
                self.carers
                    .extend(household.carers.get(&no).map(|c| carer_row(household, c)));
            }
            Touched::Said(no) => {
                let carer = household.carers.get(&no);
                let said = carer.map(|c| [id.into(), no.into(), c.said.as_deref().into()]);
                self.said.extend(said);
            }
            Touched::Patient(no) => {
                self.patients
                    .extend(household.patients.get(&no).map(|p| patient_row(id, p)));
            }
            Touched::Course(no) => {
                if let Some(course) = household.courses.get(&no) {
                    self.courses.push(course_row(id, course)?);
                    self.plans
                        .extend(course.plans.iter().map(|plan| plan_row(id, no, plan)));
                    let from = course.latest_plan().from;
                    self.planned.push([id.into(), no.into(), from.into()]);
                }
            }
            Touched::Supply(course, supply) => {
                let counted = household
                    .courses
                    .get(&course)
                    .and_then(|c| c.counted.get(&supply));
                self.supplies
                    .extend(counted.map(|counted| supply_row(id, course, supply, counted)));
            }
            Touched::Dose(course, no) => {
                let dose = household
                    .courses
                    .get(&course)
                    .and_then(|c| c.touched.get(&no));
                match dose {
                    Some(dose) => self.doses.push(dose_row(id, course, no, dose)),
                    None => self.released.push([id.into(), course.into(), no.into()]),
                }
            }
            Touched::Vial(course, no) => {
                let vial = household
                    .courses
                    .get(&course)
                    .and_then(|c| c.vials.get(&no));
                self.vials
                    .extend(vial.map(|vial| vial_row(id, course, vial)));
            }
            Touched::Administration(no) => {
                if let Some(record) = household.administrations.get(&no) {
                    self.administrations.push(administration_row(id, record));
                    let draws = i64::try_from(record.draws.len()).unwrap_or(i64::MAX);
                    self.draws.push([id.into(), no.into(), draws.into()]);
                    let draws = record.draws.iter().enumerate();
                    self.withdrawals
                        .extend(draws.map(|(nth, draw)| withdrawal_row(id, no, nth, draw)));
                }
            }
            Touched::Question(no) => {
                if let Some(question) = household.questions.get(&no) {
                    self.questions.push(question_row(id, question)?);
                }
            }
            Touched::Alert(no) => {
                if let Some(alert) = household.alerts.get(&no) {
                    self.alerts.push(alert_row(id, alert)?);
                }
            }
            Touched::Amendment(no) => {
                if let Some(amendment) = household.amendments.get(&no) {
                    self.amendments.push(amendment_row(id, amendment)?);
                }
            }
        }
        Ok(())
    }

    pub(super) async fn write(&self, work: &mut Work) -> Result<(), StoreError> {
        for (table, rows) in [
            (&CARER, &self.carers),
            (&PATIENT, &self.patients),
            (&COURSE, &self.courses),
            (&PLAN, &self.plans),
            (&SUPPLY, &self.supplies),
            (&DOSE, &self.doses),
            (&VIAL, &self.vials),
            (&ADMINISTRATION, &self.administrations),
            (&WITHDRAWAL, &self.withdrawals),
            (&QUESTION, &self.questions),
            (&ALERT, &self.alerts),
            (&AMENDMENT, &self.amendments),
        ] {
            table.upsert(work, rows).await?;
        }
        self.write_said(work).await?;
        self.drop_withdrawals_beyond(work).await?;
        self.drop_plans_beyond(work).await?;
        self.drop_released_doses(work).await
    }

    /// The words alone: with the whole row, its chat would be looked for and written
    /// into the index again.
    async fn write_said(&self, work: &mut Work) -> Result<(), StoreError> {
        let dialect = work.dialect();
        let sql = format!(
            "update carer set said = {} from {} where {} and carer.no = {}",
            dialect.text("e", 2),
            dialect.elements("$1", "e"),
            dialect.looked_up("carer.household", &dialect.int("e", 0)),
            dialect.int("e", 1),
        );
        work.write_rows(&sql, &self.said, []).await
    }

    /// A plan that was ordered over before its first dose goes; the journal keeps it.
    async fn drop_plans_beyond(&self, work: &mut Work) -> Result<(), StoreError> {
        let dialect = work.dialect();
        let sql = format!(
            "delete from plan where (household, course, from_dose) in ( \
               select p.household, p.course, p.from_dose from {} \
               join plan p on p.household = {} and p.course = {} and p.from_dose > {})",
            dialect.elements("$1", "e"),
            dialect.int("e", 0),
            dialect.int("e", 1),
            dialect.int("e", 2),
        );
        work.write_rows(&sql, &self.planned, []).await
    }

    /// A dose that was asked for and is to be asked for at another time; the
    /// journal keeps that it was asked for.
    async fn drop_released_doses(&self, work: &mut Work) -> Result<(), StoreError> {
        let dialect = work.dialect();
        let sql = format!(
            "delete from dose where (household, course, no) in (select {}, {}, {} from {})",
            dialect.int("e", 0),
            dialect.int("e", 1),
            dialect.int("e", 2),
            dialect.elements("$1", "e"),
        );
        work.write_rows(&sql, &self.released, []).await
    }

    /// Where what was drawn turns out to have come from fewer vials, the rows
    /// that are too many go; the journal keeps what was thought before.
    async fn drop_withdrawals_beyond(&self, work: &mut Work) -> Result<(), StoreError> {
        let dialect = work.dialect();
        let sql = format!(
            "delete from withdrawal where (household, administration, nth) in ( \
               select w.household, w.administration, w.nth from {} \
               join withdrawal w on w.household = {} and w.administration = {} and w.nth >= {})",
            dialect.elements("$1", "e"),
            dialect.int("e", 0),
            dialect.int("e", 1),
            dialect.int("e", 2),
        );
        work.write_rows(&sql, &self.draws, []).await
    }
}
