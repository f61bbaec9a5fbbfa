//! Every patient under treatment at a glance: on demand, and when the clinic opens.

use super::Engine;
use super::settling::Settling;
use crate::domain::Instant;
use crate::domain::household::{Course, Household};
use crate::domain::message::{Kind, Label, Message, No, Paper, Recipient, Tap, Value};
use crate::domain::supplies::left;
use crate::domain::supply::Supply;
use crate::domain::urgency::Urgency;
use crate::store::StoreError;
use crate::wording::Phrase;

/// Households that are loaded at a time.
const BATCH: usize = 100;
/// So many patients are told in full, whether they need somebody or not.
const ALL_IN_FULL: usize = 12;
/// Patients on a page: each has a button below it.
const ON_A_PAGE: usize = 24;
/// Well below the 4096 characters of one message.
const PAGE_CHARACTERS: usize = 3_300;

/// One patient on the board.
struct Row {
    household: i64,
    course: No,
    patient: String,
    owner: String,
    urgency: Urgency,
    /// All that is to be known of a patient who needs somebody.
    full: String,
    /// A patient who needs nobody, in a few words.
    brief: String,
}

impl Engine {
    /// Sends the digest where the clinic has opened since the last one; gives how many were sent.
    pub(super) async fn digest(&self, now: Instant) -> Result<usize, StoreError> {
        let clinic = &self.policy.clinic;
        let mut work = self.store.begin().await?;
        let last = work.last_digest(&clinic.key).await?;
        let due = match last {
            // The first day begins with the next opening.
            None => {
                work.advance_digest(&clinic.key, None, now).await?;
                work.commit().await?;
                return Ok(0);
            }
            Some(last) => clinic.next_opening(last).is_some_and(|opens| opens <= now),
        };
        work.commit().await?;
        if !due {
            return Ok(0);
        }
        let mut settling = Settling::begin(self, now).await?;
        if !settling.work.advance_digest(&clinic.key, last, now).await? {
            settling.end().await?;
            return Ok(0);
        }
        let rows = self.rows(&mut settling, now).await?;
        if let Some(first) = rows.first() {
            let mut message = listed(Kind::ClinicDigest, &rows, 1);
            message.to = Recipient::Clinic;
            // The picture of the one who needs somebody most; the others are a tap away.
            message.paper = first.urgency.needs_somebody().then_some(Paper::Picture {
                course: first.course,
            });
            settling.say(Some(first.household), message);
        }
        settling.commit().await?;
        Ok(usize::from(!rows.is_empty()))
    }

    /// When the clinic opens next after the last digest.
    pub(super) fn next_opening(&self, last_digest: Option<Instant>) -> Option<Instant> {
        self.policy.clinic.next_opening(last_digest?)
    }

    /// A page of the board, counted from 1, for whoever asked.
    pub(super) async fn settle_board(
        &self,
        settling: &mut Settling<'_>,
        page: u32,
        now: Instant,
    ) -> Result<(), StoreError> {
        let rows = self.rows(settling, now).await?;
        settling.say(None, listed(Kind::ClinicBoard, &rows, page));
        Ok(())
    }

    /// Everybody under treatment or about to be, those who need somebody first.
    async fn rows(
        &self,
        settling: &mut Settling<'_>,
        now: Instant,
    ) -> Result<Vec<Row>, StoreError> {
        let ids = settling
            .work
            .households_under_treatment(&self.policy.clinic.key)
            .await?;
        let mut rows = Vec::new();
        for ids in ids.chunks(BATCH) {
            for loaded in settling.work.load(ids).await? {
                let household = loaded.household;
                let courses = household.courses.values();
                let listed = courses.filter(|course| course.ended_at.is_none());
                rows.extend(listed.map(|course| self.row(&household, course, now)));
            }
        }
        rows.sort_by_key(|row| std::cmp::Reverse(row.urgency));
        Ok(rows)
    }

    fn row(&self, household: &Household, course: &Course, now: Instant) -> Row {
        let urgency = Urgency::of(household, course, now);
        let patient = household.patient_of(course).to_owned();
        let given = household.given(course.no);
        let mut brief = vec![self.words(
            Phrase::BoardBrief,
            &[
                ("patient", patient.as_str().into()),
                ("owner", household.owner.as_str().into()),
                ("given", given.into()),
                ("doses", course.doses.into()),
            ],
        )];
        if course.paused.is_some() {
            brief.push(self.words(Phrase::BoardPaused, &[]));
        }
        Row {
            household: household.id,
            course: course.no,
            full: self.in_full(household, course, urgency, now),
            owner: household.owner.clone(),
            patient,
            urgency,
            brief: brief.join(" "),
        }
    }

    fn in_full(
        &self,
        household: &Household,
        course: &Course,
        urgency: Urgency,
        now: Instant,
    ) -> String {
        let mut lines = vec![self.words(
            Phrase::BoardPatient,
            &[
                ("patient", household.patient_of(course).into()),
                ("owner", household.owner.as_str().into()),
                ("given", household.given(course.no).into()),
                ("doses", course.doses.into()),
                ("missed", urgency.missed.into()),
                ("household", u32::try_from(household.id).unwrap_or(0).into()),
            ],
        )];
        if course.paused.is_some() {
            lines.push(self.words(Phrase::BoardPaused, &[]));
        }
        if urgency.unconfirmed {
            lines.push(self.words(Phrase::BoardUnconfirmed, &[]));
        }
        if let Some(last) = household.last_given(course.no) {
            let last = household.shown(last.at);
            lines.push(self.words(Phrase::BoardLast, &[("last", last.into())]));
        }
        if let Some(vial) = household.open_vial(course, now) {
            lines.push(self.words(
                Phrase::BoardVial,
                &[
                    ("vial", vial.no.into()),
                    ("remaining_ml", household.remaining(course, vial).into()),
                    ("discard_by", household.shown(vial.discard_by).into()),
                ],
            ));
        }
        if let Some(vials) = left(household, course, Supply::Vials) {
            lines.push(self.words(Phrase::BoardVials, &[("vials_left", vials.into())]));
        }
        if urgency.past_limit {
            lines.push(self.words(Phrase::BoardPastLimit, &[]));
        }
        if urgency.unreached {
            lines.push(self.words(Phrase::BoardUnreached, &[]));
        }
        if urgency.runs_out {
            lines.push(self.words(Phrase::BoardRunsOut, &[]));
        }
        if urgency.unanswered > 0 {
            let unanswered = urgency.unanswered.into();
            lines.push(self.words(Phrase::BoardUnanswered, &[("count", unanswered)]));
        }
        if urgency.unseen > 0 {
            lines.push(self.words(Phrase::BoardAlerts, &[("alerts", urgency.unseen.into())]));
        }
        lines.join(" ")
    }

    pub(super) fn words(&self, phrase: Phrase, facts: &[(&str, Value)]) -> String {
        self.wording.phrase(phrase, facts, &self.clinic_language)
    }
}

/// One page of the rows, counted from 1; the last one where there are fewer.
fn listed(kind: Kind, rows: &[Row], page: u32) -> Message {
    let pages = pages(rows);
    let count = |of: usize| u32::try_from(of).unwrap_or(u32::MAX);
    let page = page.clamp(1, count(pages.len()).max(1));
    let shown = pages
        .get(page as usize - 1)
        .map_or(&[][..], |(from, until)| &rows[*from..*until]);
    let in_full = rows.len() <= ALL_IN_FULL;
    let lines: Vec<&str> = shown.iter().map(|row| line(row, in_full)).collect();
    let action = rows
        .iter()
        .filter(|row| row.urgency.needs_somebody())
        .count();
    let several = pages.len() > 1;
    let mut message = Message::new(Recipient::Asker, kind)
        .fact("text", lines.join("\n"))
        .fact("count", count(rows.len()))
        .maybe("action", (action > 0).then(|| count(action)))
        .maybe("page", several.then_some(page))
        .maybe("pages", several.then(|| count(pages.len())));
    for row in shown {
        let namesakes = shown.iter().filter(|other| other.patient == row.patient);
        let name = match namesakes.count() {
            1 => row.patient.clone(),
            _ => format!("{} ({})", row.patient, row.owner),
        };
        let tap = Tap::Patient {
            household: row.household,
            course: row.course,
        };
        message = message.button(Label::Name(name), tap);
    }
    if page > 1 {
        message = message.button(Label::PreviousPage, Tap::Board { page: page - 1 });
    }
    if page < count(pages.len()) {
        message = message.button(Label::NextPage, Tap::Board { page: page + 1 });
    }
    message
}

fn line(row: &Row, in_full: bool) -> &str {
    if in_full || row.urgency.needs_somebody() {
        &row.full
    } else {
        &row.brief
    }
}

/// From which row to which each page goes.
fn pages(rows: &[Row]) -> Vec<(usize, usize)> {
    let in_full = rows.len() <= ALL_IN_FULL;
    let mut pages = Vec::new();
    let (mut from, mut characters) = (0, 0);
    for (at, row) in rows.iter().enumerate() {
        let more = line(row, in_full).chars().count() + 1;
        if at > from && (characters + more > PAGE_CHARACTERS || at - from == ON_A_PAGE) {
            pages.push((from, at));
            (from, characters) = (at, 0);
        }
        characters += more;
    }
    if from < rows.len() {
        pages.push((from, rows.len()));
    }
    pages
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(n: i64, unseen: u32) -> Row {
        let urgency = Urgency {
            unseen,
            ..Urgency::default()
        };
        Row {
            household: n,
            course: 1,
            patient: format!("Pet{n}"),
            owner: format!("Owner{n}"),
            urgency,
            full: "x".repeat(170),
            brief: "y".repeat(40),
        }
    }

    #[test]
    fn every_patient_is_on_one_page_and_each_page_fits() {
        for count in [0, 1, 5, 12, 13, 24, 25, 500] {
            let rows: Vec<Row> = (0..count).map(|n| row(n, u32::from(n < 40))).collect();
            let pages = pages(&rows);
            let covered: Vec<usize> = pages
                .iter()
                .flat_map(|(from, until)| *from..*until)
                .collect();
            assert_eq!(covered, (0..rows.len()).collect::<Vec<_>>());
            for page in 1..=pages.len() {
                let page = u32::try_from(page).unwrap();
                let message = listed(Kind::ClinicBoard, &rows, page);
                let Some(Value::Text(text)) = message.facts.get("text") else {
                    panic!("{message:?}")
                };
                assert!(text.chars().count() <= PAGE_CHARACTERS + 200);
                assert!(message.buttons.len() <= ON_A_PAGE + 2);
            }
        }
    }

    #[test]
    fn a_page_beyond_the_last_is_the_last() {
        let rows: Vec<Row> = (0..60).map(|n| row(n, 0)).collect();
        let last = listed(Kind::ClinicBoard, &rows, 99);
        assert_eq!(last.facts.get("page"), Some(&3_u32.into()));
        assert!(last.buttons.iter().all(|b| b.label != Label::NextPage));
    }
}
