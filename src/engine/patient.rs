//! One patient in full, for whoever at the clinic asks.

use super::Engine;
use super::clinic::say_note;
use super::settling::Settling;
use crate::domain::Instant;
use crate::domain::household::{Course, Household, Outcome, Status};
use crate::domain::ladder::word_of;
use crate::domain::message::{Kind, Message, No, Paper, Recipient, Value};
use crate::domain::supplies::left;
use crate::domain::supply::Supply;
use crate::store::StoreError;
use crate::wording::Phrase;

/// Doses that are looked back on.
const LAST_DOSES: usize = 6;
/// Vials that are looked back on.
const LAST_VIALS: usize = 4;
/// Open alerts that are named.
const OPEN_ALERTS: usize = 6;

impl Engine {
    /// Shows a course of one of the clinic's households.
    pub(super) async fn settle_patient(
        &self,
        settling: &mut Settling<'_>,
        household: i64,
        course: No,
        now: Instant,
    ) -> Result<(), StoreError> {
        settling.load(&[household]).await?;
        let found = settling
            .household(household)
            .filter(|h| h.clinic == self.policy.clinic.key)
            .and_then(|h| Some((h, h.courses.get(&course)?)));
        if let Some((known, course)) = found {
            let message = self.in_detail(known, course, now);
            settling.say(Some(household), message);
        }
        Ok(())
    }

    /// Shows the patients with a name; says so where there is none.
    pub(super) async fn settle_patient_named(
        &self,
        settling: &mut Settling<'_>,
        name: &str,
        now: Instant,
    ) -> Result<(), StoreError> {
        let clinic = &self.policy.clinic.key;
        let courses = settling.work.courses_of_patient(clinic, name).await?;
        if courses.is_empty() {
            say_note(settling, "no-such-patient");
        }
        for (household, course) in courses {
            self.settle_patient(settling, household, course, now)
                .await?;
        }
        Ok(())
    }

    fn in_detail(&self, household: &Household, course: &Course, now: Instant) -> Message {
        let next = household.open_doses(course).next();
        let plan = course.plan(next.unwrap_or(course.doses));
        let planned = |dose| course.planned(dose, household.zone).shown();
        let block = |lines: Vec<String>| (!lines.is_empty()).then(|| lines.join("\n"));
        let mut message = Message::new(Recipient::Asker, Kind::ClinicPatient)
            .about(household.patient_of(course))
            .fact("owner", household.owner.as_str())
            .maybe("household", u32::try_from(household.id).ok())
            .fact("volume_ml", plan.volume)
            .fact("given", household.given(course.no))
            .fact("doses", course.doses)
            .fact("missed", household.missed(course))
            .maybe("asking", not_asking(course))
            .maybe("planned", next.filter(|_| course.is_running()).map(planned))
            // A pause moves it, by as much as nobody knows yet.
            .maybe(
                "ends",
                course.paused.is_none().then(|| planned(course.doses)),
            )
            .maybe("last_doses", block(self.last_doses(household, course)))
            .maybe("last_vials", block(self.last_vials(household, course, now)))
            .maybe("vials_left", left(household, course, Supply::Vials))
            .maybe("syringes", left(household, course, Supply::Syringes))
            .maybe("needles", left(household, course, Supply::Needles))
            .maybe("open_alerts", block(self.open_alerts(household)))
            .maybe("said", household.last_words())
            .maybe("owner_phone", household.phone());
        message
            .facts
            .insert("times".into(), Value::Times(plan.times.clone()));
        message.paper = Some(Paper::Picture { course: course.no });
        message
    }

    /// What became of the last doses, the newest first.
    fn last_doses(&self, household: &Household, course: &Course) -> Vec<String> {
        course
            .touched
            .iter()
            .rev()
            .take(LAST_DOSES)
            .map(|(dose, touched)| {
                let planned = ("planned", touched.planned.shown().into());
                match household.outcome(course, *dose) {
                    Outcome::Recorded(record) if record.status == Status::Completed => self.words(
                        Phrase::PatientGiven,
                        &[
                            planned,
                            ("given_at", household.shown(record.at).into()),
                            ("volume_ml", record.volume.into()),
                            ("by", record.by.as_str().into()),
                        ],
                    ),
                    Outcome::Recorded(record) => self.words(
                        Phrase::PatientNotGiven,
                        &[planned, ("by", record.by.as_str().into())],
                    ),
                    Outcome::Unanswered => self.words(Phrase::PatientUnanswered, &[planned]),
                    Outcome::Open => self.words(Phrase::PatientOpen, &[planned]),
                }
            })
            .collect()
    }

    fn last_vials(&self, household: &Household, course: &Course, now: Instant) -> Vec<String> {
        let vials = course.vials.values().rev().take(LAST_VIALS);
        vials
            .map(|vial| {
                let state = match () {
                    () if vial.discarded.is_some() => "discarded",
                    () if vial.discard_by <= now => "past-limit",
                    () if household.remaining(course, vial).is_zero() => "empty",
                    () => "in-use",
                };
                self.words(
                    Phrase::PatientVial,
                    &[
                        ("vial", vial.no.into()),
                        ("state", state.into()),
                        ("mixed_at", household.shown(vial.mixed_at).into()),
                        ("discard_by", household.shown(vial.discard_by).into()),
                        ("remaining_ml", household.remaining(course, vial).into()),
                    ],
                )
            })
            .collect()
    }

    /// Alerts that somebody still has to see to, the newest first.
    fn open_alerts(&self, household: &Household) -> Vec<String> {
        let open = household.alerts.values().rev();
        open.filter(|alert| {
            alert.seen.is_none() || alert.waits_for_an_answer() && alert.ended.is_none()
        })
        .take(OPEN_ALERTS)
        .map(|alert| {
            let seen = if alert.seen.is_some() { "yes" } else { "no" };
            self.words(
                Phrase::PatientAlert,
                &[
                    ("about", word_of(alert.kind).unwrap_or("supply-low").into()),
                    ("seen", seen.into()),
                    ("at", household.shown(alert.raised_at).into()),
                ],
            )
        })
        .collect()
    }
}

/// Why no dose of a course under treatment is asked for, in a word; none where they are.
fn not_asking(course: &Course) -> Option<&'static str> {
    if course.confirmed.is_none() {
        return Some("unconfirmed");
    }
    course.paused.is_some().then_some("paused")
}
