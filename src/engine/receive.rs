//! From the inbox to a decision. Each row is settled in the transaction that
//! holds what followed from it, so it is decided on once.

use super::Engine;
use super::health::add;
use super::settling::Settling;
use crate::domain::Instant;
use crate::domain::arrival::{Arrival, Body};
use crate::domain::decide::{ClinicWord, Input};
use crate::domain::household::Chat;
use crate::domain::message::{Kind, Message, No, Paper, Recipient, Tap};
use crate::domain::reading;
use crate::store::{StoreError, Waiting};
use chrono::TimeDelta;

/// Rows that share one commit.
const BATCH: u32 = 200;
/// A stranger gets the clinic's number once in this time, whatever they write.
const STRANGER_QUIET: TimeDelta = TimeDelta::hours(6);

impl Engine {
    /// Decides on what came in; gives how many rows were settled.
    pub(super) async fn receive(&self, now: Instant) -> Result<usize, StoreError> {
        let mut settled = 0;
        loop {
            let mut work = self.store.begin().await?;
            let rows = work.waiting(BATCH).await?;
            work.commit().await?;
            if rows.is_empty() {
                return Ok(settled);
            }
            settled += rows.len();
            add(&self.counts.settled, rows.len());
            if let Err(error) = self.settle_rows(&rows, now).await {
                tracing::warn!(%error, rows = rows.len(), "a batch could not be settled; trying its rows one by one");
                for row in &rows {
                    self.settle_alone(row, now).await?;
                }
            }
        }
    }

    async fn settle_rows(&self, rows: &[Waiting], now: Instant) -> Result<(), StoreError> {
        let mut settling = Settling::begin(self, now).await?;
        for row in rows {
            self.settle_row(&mut settling, row, now).await?;
        }
        let ids: Vec<i64> = rows.iter().map(|row| row.id).collect();
        settling.work.settle_inbox(&ids, now).await?;
        settling.commit().await
    }

    /// One row that cannot be handled holds up no other: after three tries it
    /// is put aside and the clinic is told in one plain alert.
    async fn settle_alone(&self, row: &Waiting, now: Instant) -> Result<(), StoreError> {
        let Err(error) = self.settle_rows(std::slice::from_ref(row), now).await else {
            return Ok(());
        };
        tracing::error!(%error, inbox = row.id, "a row could not be settled");
        let mut settling = Settling::begin(self, now).await?;
        if settling.work.fail_inbox(row.id, now).await? {
            add(&self.counts.quarantined, 1);
            let (text, sender) = match &row.arrival {
                Ok(arrival) => {
                    let sender = arrival.sender.as_ref().unwrap_or(&arrival.address);
                    (words_of(&arrival.body), sender.clone())
                }
                Err(written) => (format!("({written})"), row.channel.clone()),
            };
            let alert = Message::new(Recipient::Clinic, Kind::ClinicQuestion)
                .fact("owner", sender.as_str())
                .fact("by", sender.as_str())
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
        let clinic = settling.work.clinic_chat(&self.policy.clinic.key).await?;
        if clinic.as_ref() == Some(&chat) {
            return self
                .settle_clinic(settling, arrival, &chat, &cause, now)
                .await;
        }
        if let Some((id, carer)) = self.carer_of(settling, &chat).await? {
            settling.load(&[id]).await?;
            if let Body::Moved { to } = &arrival.body {
                settling.work.readdress(&chat, to).await?;
            }
            let input = Input::Carer {
                carer,
                body: arrival.body.clone(),
            };
            settling.decide(id, &input, &cause);
            return Ok(());
        }
        self.settle_stranger(settling, arrival, chat, &cause, now)
            .await
    }

    /// The carer of a chat; one who joined in this very transaction as well.
    async fn carer_of(
        &self,
        settling: &mut Settling<'_>,
        chat: &Chat,
    ) -> Result<Option<(i64, u32)>, StoreError> {
        match settling.joined(chat) {
            Some(found) => Ok(Some(found)),
            None => settling.work.carer_of_chat(chat).await,
        }
    }

    async fn settle_stranger(
        &self,
        settling: &mut Settling<'_>,
        arrival: &Arrival,
        chat: Chat,
        cause: &str,
        now: Instant,
    ) -> Result<(), StoreError> {
        let words = match &arrival.body {
            Body::Join(code) => {
                if let Some(redeemed) = settling.work.redeem(code, now).await? {
                    settling.load(&[redeemed.household]).await?;
                    let input = Input::Joined {
                        carer: redeemed.carer,
                        chat,
                    };
                    settling.decide(redeemed.household, &input, cause);
                    return Ok(());
                }
                ""
            }
            Body::Text(text) | Body::Edited(text) => text,
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
            .may_answer_stranger(&chat, now, now - STRANGER_QUIET)
            .await?
        {
            let message = Message::new(Recipient::Stranger, Kind::AnswerClinicContact)
                .fact("clinic", clinic.name.as_str())
                .fact("phone", clinic.phone.as_str());
            settling.say_to_stranger(chat, message);
        }
        Ok(())
    }

    async fn settle_clinic(
        &self,
        settling: &mut Settling<'_>,
        arrival: &Arrival,
        chat: &Chat,
        cause: &str,
        now: Instant,
    ) -> Result<(), StoreError> {
        let by = self.who_writes(chat, arrival);
        match &arrival.body {
            Body::Tap(data) => self.settle_clinic_tap(settling, data, by, cause).await?,
            Body::Text(text) if is_prescription(text) => {
                self.enrol_text(settling, text, &by, now).await?;
            }
            Body::Moved { to } => {
                let moved = Chat {
                    address: to.clone(),
                    ..chat.clone()
                };
                settling.work.readdress(chat, to).await?;
                settling
                    .work
                    .bind_clinic_chat(&self.policy.clinic.key, &moved)
                    .await?;
            }
            Body::Text(text) if asks_for_board(text) => self.settle_board(settling, now).await?,
            Body::Text(text) if paper_asked_for(text).is_some() => {
                self.settle_paper(settling, text).await?;
            }
            Body::Text(text) => {
                self.settle_reply(settling, arrival, chat, text, cause)
                    .await?
            }
            // People at the clinic talk with each other there as well.
            _ => {}
        }
        Ok(())
    }

    /// A paper that somebody at the clinic asks for by a patient's name.
    async fn settle_paper(
        &self,
        settling: &mut Settling<'_>,
        text: &str,
    ) -> Result<(), StoreError> {
        let Some((kind, name)) = paper_asked_for(text) else {
            return Ok(());
        };
        let courses = settling
            .work
            .courses_of_patient(&self.policy.clinic.key, name)
            .await?;
        let count = u32::try_from(courses.len()).unwrap_or(u32::MAX);
        if courses.is_empty() {
            let none = Message::new(Recipient::Clinic, Kind::ClinicBoard)
                .fact("text", name)
                .fact("count", count);
            settling.say(None, none);
        }
        for (household, course) in courses {
            settling.load(&[household]).await?;
            let owner = settling
                .household(household)
                .map(|h| h.owner.clone())
                .unwrap_or_default();
            let mut message = Message::new(Recipient::Clinic, Kind::ClinicBoard)
                .fact("text", format!("{name} ({owner})"))
                .fact("count", count);
            message.paper = Some(kind(course));
            settling.say(Some(household), message);
        }
        Ok(())
    }

    /// A text that answers an alert goes to the carer it came from. Where the
    /// platform has no replies, it answers the newest words that wait for one.
    async fn settle_reply(
        &self,
        settling: &mut Settling<'_>,
        arrival: &Arrival,
        chat: &Chat,
        text: &str,
        cause: &str,
    ) -> Result<(), StoreError> {
        let has_replies = self
            .channel(&chat.channel)
            .is_some_and(|channel| channel.has_replies());
        let answered = match &arrival.reply_to {
            Some(number) => settling
                .work
                .sent_message(chat, number)
                .await?
                .and_then(alert_of),
            None if has_replies => None,
            None => {
                settling
                    .work
                    .newest_question(&self.policy.clinic.key)
                    .await?
            }
        };
        let Some((household, alert)) = answered else {
            return Ok(());
        };
        settling.load(&[household]).await?;
        let by = arrival
            .sender
            .as_ref()
            .unwrap_or(&self.policy.clinic.name)
            .clone();
        let word = ClinicWord::Reply {
            alert,
            text: text.to_owned(),
        };
        settling.decide(household, &Input::Clinic { by, word }, cause);
        Ok(())
    }

    /// Who at the clinic wrote, as the record names them: with the platform's
    /// number of the person, since a name can be borrowed.
    fn who_writes(&self, chat: &Chat, arrival: &Arrival) -> String {
        let name = arrival.sender.as_ref().unwrap_or(&self.policy.clinic.name);
        match &arrival.sender_id {
            Some(id) => format!("{name} ({} {id})", chat.channel),
            None => name.clone(),
        }
    }

    /// A button in the clinic's chat; one of another clinic's household does nothing.
    async fn settle_clinic_tap(
        &self,
        settling: &mut Settling<'_>,
        data: &str,
        by: String,
        cause: &str,
    ) -> Result<(), StoreError> {
        let (household, word) = match Tap::decode(data) {
            Some(Tap::Seen { household, alert }) => (household, ClinicWord::Seen { alert }),
            Some(Tap::Confirm { household, course }) => (household, ClinicWord::Confirm { course }),
            _ => return Ok(()),
        };
        settling.load(&[household]).await?;
        let known = settling.household(household);
        if known.is_some_and(|h| h.clinic == self.policy.clinic.key) {
            settling.decide(household, &Input::Clinic { by, word }, cause);
        }
        Ok(())
    }
}

/// The alert that a message told, by the button below it.
fn alert_of((_, message): (Option<i64>, Message)) -> Option<(i64, No)> {
    message.buttons.iter().find_map(|button| match button.tap {
        Tap::Seen { household, alert } => Some((household, alert)),
        _ => None,
    })
}

/// What was written, for people to read.
fn words_of(body: &Body) -> String {
    match body {
        Body::Text(text) | Body::Edited(text) => text.clone(),
        other => format!("({other:?})"),
    }
}

/// Whether a text asks for the board.
fn asks_for_board(text: &str) -> bool {
    text.trim()
        .trim_start_matches('/')
        .eq_ignore_ascii_case("board")
}

/// A kind of paper, of a course that is not known yet.
type PaperOf = fn(No) -> Paper;

/// Which paper a text asks for, and of which patient: `picture Juniper`.
fn paper_asked_for(text: &str) -> Option<(PaperOf, &str)> {
    let (word, name) = text.trim().split_once(char::is_whitespace)?;
    let kind: PaperOf = match word.trim_start_matches('/').to_lowercase().as_str() {
        "picture" => |course| Paper::Picture { course },
        "sheet" => |course| Paper::Sheet { course },
        "calendar" => |course| Paper::Calendar { course },
        _ => return None,
    };
    let name = name.trim();
    // A sentence that happens to begin so is people talking.
    (!name.is_empty() && name.split_whitespace().count() <= 3).then_some((kind, name))
}

/// Whether a text in the clinic's chat is meant as a prescription file.
fn is_prescription(text: &str) -> bool {
    text.lines()
        .any(|line| line.trim().eq_ignore_ascii_case("[patient]"))
}
