//! Every patient under treatment at a glance: on demand, and when the clinic opens.

use super::Engine;
use super::settling::Settling;
use crate::domain::Instant;
use crate::domain::household::{Course, Household};
use crate::domain::message::{Kind, Message, Paper, Recipient, Value};
use crate::domain::supplies::left;
use crate::domain::supply::Supply;
use crate::store::StoreError;
use crate::wording::Phrase;

/// Households that are loaded at a time.
const BATCH: usize = 100;

/// One patient on the board.
struct Row {
    household: i64,
    course: u32,
    /// Alerts that nobody has seen, and doses missed: those who need somebody come first.
    urgency: (usize, u32),
    lines: String,
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
            let mut message = listed(Kind::ClinicDigest, &rows);
            // The picture of the one who needs somebody most; the others are a word away.
            let needs_somebody = first.urgency > (0, 0);
            message.paper = needs_somebody.then_some(Paper::Picture {
                course: first.course,
            });
            settling.say(Some(first.household), message);
        }
        settling.commit().await?;
        Ok(usize::from(!rows.is_empty()))
    }

    /// When the clinic opens next after the last digest.
    pub(super) async fn next_digest(&self) -> Result<Option<Instant>, StoreError> {
        let mut work = self.store.begin().await?;
        let last = work.last_digest(&self.policy.clinic.key).await?;
        work.commit().await?;
        Ok(last.and_then(|last| self.policy.clinic.next_opening(last)))
    }

    /// The board, for the clinic's chat.
    pub(super) async fn settle_board(
        &self,
        settling: &mut Settling<'_>,
        now: Instant,
    ) -> Result<(), StoreError> {
        let rows = self.rows(settling, now).await?;
        settling.say(None, listed(Kind::ClinicBoard, &rows));
        Ok(())
    }

    /// Everybody under treatment, those who need somebody first.
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
                rows.extend(
                    household
                        .active_courses()
                        .map(|course| self.row(&household, course, now)),
                );
            }
        }
        rows.sort_by_key(|row| std::cmp::Reverse(row.urgency));
        Ok(rows)
    }

    fn row(&self, household: &Household, course: &Course, now: Instant) -> Row {
        let say = |phrase, facts: &[(&str, Value)]| {
            self.wording.phrase(phrase, facts, &self.clinic_language)
        };
        let unseen = household
            .alerts
            .values()
            .filter(|alert| alert.seen.is_none())
            .count();
        let missed = household.missed(course);
        let mut lines = vec![say(
            Phrase::BoardPatient,
            &[
                ("patient", household.patient_of(course).into()),
                ("owner", household.owner.as_str().into()),
                ("given", household.given(course.no).into()),
                ("doses", course.doses.into()),
                ("missed", missed.into()),
                ("household", u32::try_from(household.id).unwrap_or(0).into()),
            ],
        )];
        if let Some(last) = household.last_given(course.no) {
            lines.push(say(
                Phrase::BoardLast,
                &[("last", household.shown(last.at).into())],
            ));
        }
        if let Some(vial) = household.open_vial(course, now) {
            lines.push(say(
                Phrase::BoardVial,
                &[
                    ("vial", vial.no.into()),
                    ("remaining_ml", household.remaining(course, vial).into()),
                    ("discard_by", household.shown(vial.discard_by).into()),
                ],
            ));
        }
        if let Some(vials) = left(household, course, Supply::Vials) {
            lines.push(say(Phrase::BoardVials, &[("vials_left", vials.into())]));
        }
        if unseen > 0 {
            let unseen = u32::try_from(unseen).unwrap_or(u32::MAX);
            lines.push(say(Phrase::BoardAlerts, &[("alerts", unseen.into())]));
        }
        Row {
            household: household.id,
            course: course.no,
            urgency: (unseen, missed),
            lines: lines.join(" "),
        }
    }
}

fn listed(kind: Kind, rows: &[Row]) -> Message {
    let lines: Vec<&str> = rows.iter().map(|row| row.lines.as_str()).collect();
    Message::new(Recipient::Clinic, kind)
        .fact("text", lines.join("\n"))
        .fact("count", u32::try_from(rows.len()).unwrap_or(u32::MAX))
}
