//! From the inbox to a decision. Each row is settled in the transaction that
//! holds what followed from it, so it is decided on once.

use super::health::add;
use super::settling::Settling;
use super::{AGAIN, Engine};
use crate::domain::Instant;
use crate::domain::arrival::{Arrival, Body};
use crate::domain::decide::Input;
use crate::domain::household::Chat;
use crate::domain::message::{Kind, Message, Recipient};
use crate::domain::reading;
use crate::store::{StoreError, Waiting, Work};
use chrono::TimeDelta;
use std::collections::BTreeSet;

/// Rows that share one commit.
const BATCH: u32 = 200;
/// So many batches one after another; then households whose time has come have their turn.
const BATCHES: u32 = 5;
/// A stranger gets the clinic's number once in this time, whatever they write.
const STRANGER_QUIET: TimeDelta = TimeDelta::hours(6);

impl Engine {
    /// Decides on what came in, some of it where it is a lot; gives how many
    /// rows were settled.
    pub(super) async fn receive(&self, now: Instant) -> Result<usize, StoreError> {
        self.receive_some(BATCHES, now).await
    }

    /// The same, of so many batches at most.
    pub(super) async fn receive_some(&self, most: u32, now: Instant) -> Result<usize, StoreError> {
        let mut settled = 0;
        let mut again = 0;
        let mut batches = 0;
        loop {
            if batches == most {
                self.woken.notify_one();
                return Ok(settled);
            }
            batches += 1;
            let mut reading = self.store.begin_to_read().await?;
            let rows = reading.claim_inbox(self.key(), BATCH).await?;
            if rows.is_empty() {
                reading.end_reading().await?;
                return Ok(settled);
            }
            let whole = match self.settle_rows(reading, &rows, now).await {
                Ok(()) => true,
                Err(error) if error.is_passing() && again < AGAIN => {
                    again += 1;
                    batches -= 1;
                    continue;
                }
                Err(error) => {
                    tracing::warn!(%error, rows = rows.len(), "a batch could not be settled; trying its rows one by one");
                    for row in &rows {
                        self.settle_alone(row.id, now).await?;
                    }
                    false
                }
            };
            again = 0;
            settled += rows.len();
            add(&self.counts.settled, rows.len());
            // What comes in meanwhile wakes us; what failed alone waits still.
            if whole && rows.len() < BATCH as usize {
                return Ok(settled);
            }
        }
    }

    /// Reads all that rows need, thinks, and only then writes, as [`Engine::wake`] does.
    async fn settle_rows(
        &self,
        mut reading: Work,
        rows: &[Waiting],
        now: Instant,
    ) -> Result<(), StoreError> {
        let chats = chats(rows);
        let (speakers, clinics) = reading.speakers(self.key(), &chats).await?;
        let households: Vec<i64> = speakers.iter().map(|(_, (id, _))| *id).collect();
        let found = reading.find_to_decide(&households).await?;
        let work = self.store.begin_to_save(reading.claims()).await?;
        let mut settling = Settling::within(self, work, now);
        settling.foresee(chats, speakers, clinics, found.read()?);
        for row in rows {
            self.settle_row(&mut settling, row, now).await?;
        }
        let ids: Vec<i64> = rows.iter().map(|row| row.id).collect();
        settling.work.settle_inbox(&ids, now).await?;
        settling.commit().await
    }

    /// One row that cannot be handled holds up no other: after three tries it
    /// is put aside and the clinic is told in one plain alert.
    async fn settle_alone(&self, id: i64, now: Instant) -> Result<(), StoreError> {
        let mut again = 0;
        let (row, error) = loop {
            let mut reading = self.store.begin_to_read().await?;
            let Some(row) = reading.claim_inbox_row(self.key(), id).await? else {
                // Somebody else has it, or had.
                return reading.end_reading().await;
            };
            let settled = self.settle_rows(reading, std::slice::from_ref(&row), now);
            match settled.await {
                Ok(()) => return Ok(()),
                Err(error) if error.is_passing() && again < AGAIN => again += 1,
                // The rows behind it wait as well: one of its chat may be among them.
                Err(error) if error.is_passing() => return Err(error),
                Err(error) => break (row, error),
            }
        };
        tracing::error!(%error, inbox = row.id, "a row could not be settled");
        let (text, sender) = match &row.arrival {
            Ok(arrival) => {
                let sender = arrival.sender.as_ref().unwrap_or(&arrival.address);
                (words_of(&arrival.body), sender.clone())
            }
            Err(written) => (format!("({written})"), row.channel.clone()),
        };
        match self.count_failure(row.id, text, &sender, now).await {
            Err(error) if !error.is_passing() => {
                // The words themselves may be what cannot be kept.
                let text = format!("(inbox {})", row.id);
                self.count_failure(row.id, text, &row.channel, now).await
            }
            counted => counted,
        }
    }

    /// Counts a failed try of a row; the clinic is told where it was the last.
    async fn count_failure(
        &self,
        row: i64,
        text: String,
        sender: &str,
        now: Instant,
    ) -> Result<(), StoreError> {
        let mut settling = Settling::begin(self, now).await?;
        if settling.work.fail_inbox(row, now).await? {
            add(&self.counts.quarantined, 1);
            let alert = Message::new(Recipient::Clinic, Kind::ClinicQuestion)
                .fact("owner", sender)
                .fact("by", sender)
                .fact("text", text)
                .fact("why", "not-understood");
            settling.say(None, alert);
        }
        settling.commit().await
    }

    async fn settle_row(
        &self,
        settling: &mut Settling<'_>,
        row: &Waiting,
        now: Instant,
    ) -> Result<(), StoreError> {
        let Ok(arrival) = &row.arrival else {
            return Err(StoreError::Arrival(row.id));
        };
        let chat = Chat {
            channel: row.channel.clone(),
            address: arrival.address.clone(),
        };
        let cause = format!("inbox {}", row.id);
        settling.because(&cause);
        tracing::info!(
            cause,
            channel = row.channel,
            update = arrival.external_id,
            what = arrival.body.name(),
            "an arrival is settled"
        );
        settling.answer_in_the_clinics_chat();
        if let Body::Join(code) = &arrival.body
            && self
                .use_code(settling, row.id, &chat, arrival, code, now)
                .await?
        {
            return Ok(());
        }
        let clinic = settling.clinic_chat().await?;
        if clinic.as_ref() == Some(&chat) {
            return self
                .settle_clinic(settling, arrival, &chat, &cause, now)
                .await;
        }
        let carer = settling.carer_of(&chat).await?;
        if carer.is_none() && self.member_alone(settling, &chat, arrival).await?.is_some() {
            settling.answer_in(&chat);
            return self
                .settle_clinic(settling, arrival, &chat, &cause, now)
                .await;
        }
        if let Some((id, carer)) = carer {
            settling.load(&[id]).await?;
            if settling.speaks_from(id, carer, &chat) {
                if let Body::Moved { to } = &arrival.body {
                    settling.work.readdress(self.key(), &chat, to).await?;
                }
                let input = Input::Carer {
                    carer,
                    body: arrival.body.clone(),
                };
                settling.decide(id, &input, &cause);
                return Ok(());
            }
        }
        self.settle_stranger(settling, arrival, chat, now).await
    }

    /// Uses a code of the clinic or an invitation; false where it is none, where
    /// it comes from somebody at home, and where a chat tried too many.
    async fn use_code(
        &self,
        settling: &mut Settling<'_>,
        row: i64,
        chat: &Chat,
        arrival: &Arrival,
        code: &str,
        now: Instant,
    ) -> Result<bool, StoreError> {
        if settling.carer_of(chat).await?.is_some() || !self.guesses.may_try(chat, now) {
            return Ok(false);
        }
        if self
            .use_clinic_code(settling, chat, arrival, code, now)
            .await?
        {
            return Ok(true);
        }
        let of_the_clinic = settling.clinic_chat().await?.as_ref() == Some(chat)
            || self.member_alone(settling, chat, arrival).await?.is_some();
        if of_the_clinic {
            return Ok(false);
        }
        if let Some(redeemed) = settling.work.redeem(self.key(), code, now).await? {
            settling.load(&[redeemed.household]).await?;
            let input = Input::Joined {
                carer: redeemed.carer,
                chat: chat.clone(),
            };
            settling.decide(redeemed.household, &input, &format!("inbox {row}"));
            return Ok(true);
        }
        if self.guesses.was_wrong(chat, row, now) {
            tracing::warn!(
                inbox = row,
                "a chat tried one wrong invitation after another and is not listened to for an hour"
            );
        }
        Ok(false)
    }

    async fn settle_stranger(
        &self,
        settling: &mut Settling<'_>,
        arrival: &Arrival,
        chat: Chat,
        now: Instant,
    ) -> Result<(), StoreError> {
        let words = match &arrival.body {
            // What stands behind /start need not be a code.
            Body::Text(text) | Body::Edited(text) | Body::Join(text) => text,
            Body::Medium { caption, .. } => caption.as_deref().unwrap_or_default(),
            Body::Gone | Body::Back | Body::Moved { .. } => return Ok(()),
            Body::Tap(_) | Body::Place { .. } => "",
        };
        let clinic = &self.policy.clinic;
        if reading::tells_of_danger(words) {
            let message = Message::new(Recipient::Stranger, Kind::Emergency)
                .fact("phone", clinic.phone.as_str())
                .maybe("emergency_phone", clinic.emergency_phone.as_deref());
            settling.say_to_stranger(chat, message);
            return Ok(());
        }
        if settling
            .work
            .may_answer_stranger(self.key(), &chat, now, now - STRANGER_QUIET)
            .await?
        {
            let message = Message::new(Recipient::Stranger, Kind::AnswerClinicContact)
                .fact("clinic", clinic.name.as_str())
                .fact("phone", clinic.phone.as_str());
            settling.say_to_stranger(chat, message);
        }
        Ok(())
    }
}

/// The chats that rows came from.
fn chats(rows: &[Waiting]) -> Vec<Chat> {
    let chats = rows.iter().filter_map(|row| {
        let arrival = row.arrival.as_ref().ok()?;
        Some(Chat {
            channel: row.channel.clone(),
            address: arrival.address.clone(),
        })
    });
    let chats: BTreeSet<Chat> = chats.collect();
    chats.into_iter().collect()
}

/// What was written, for people to read.
fn words_of(body: &Body) -> String {
    match body {
        Body::Text(text) | Body::Edited(text) => text.clone(),
        other => format!("({other:?})"),
    }
}
