//! From the outbox to a channel. A message is claimed for a while, sent, and
//! settled; a crash in between sends it again, which its buttons make harmless.

use super::buttons::is_settled;
use super::health::add;
use super::pace::Pace;
use super::papers::link_in;
use super::settling::Settling;
use super::tasks::given;
use super::{Engine, is_to_send};
use crate::channel::{Attachment, Channel, Outgoing, OutgoingButton, Sent};
use crate::domain::Instant;
use crate::domain::arrival::Body;
use crate::domain::decide::{Input, Undelivered};
use crate::domain::household::Chat;
use crate::domain::ladder::is_alert;
use crate::domain::message::{Kind, Message, Recipient};
use crate::store::{Claimed, Claims, Settled, StoreError};
use chrono::TimeDelta;
use futures_util::future::join_all;
use std::sync::{Arc, Mutex, MutexGuard};
use tokio::task::JoinSet;

/// No more are claimed than may be in flight: a crash leaves exactly these in doubt.
const IN_FLIGHT: u32 = 50;
/// Batches that are under way together where nothing limits them: while one is
/// settled the other is sent.
const LANES: u32 = 3;
/// Longer than a channel's own time limit for one try.
const LEASE: TimeDelta = TimeDelta::seconds(60);
/// After so many refusals a message to the clinic is given up, and the clinic told.
const REFUSALS: u32 = 3;
/// A failed try is repeated after one second, doubling up to this.
const LONGEST_WAIT: TimeDelta = TimeDelta::minutes(5);
/// A platform that asks for a longer wait is asked again after this: whatever
/// lies further ahead is taken for a clock that was set back (see the outbox).
const LONGEST_HOLD: TimeDelta = TimeDelta::hours(1);

/// A message that a channel took.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Delivered {
    /// When it was decided on.
    pub at: Instant,
    /// The household that it speaks of.
    pub household: Option<i64>,
    /// Where it went.
    pub chat: Chat,
    /// What it says, as data.
    pub message: Message,
    /// What it says, in words.
    pub outgoing: Outgoing,
}

impl Engine {
    /// Sends what waits, until nothing is left that may be sent now; tells what was taken.
    pub async fn deliver(
        &self,
        now: Instant,
        told: &mut (dyn FnMut(Delivered) + Send),
    ) -> Result<(), StoreError> {
        let told = Mutex::new(told);
        // Beside each other they would claim what the platform does not take yet.
        let lanes = match self.room(now) >= IN_FLIGHT * LANES {
            true => LANES,
            false => 1,
        };
        let lanes = (0..lanes).map(|_| self.deliver_batches(now, &told));
        join_all(lanes).await.into_iter().collect()
    }

    async fn deliver_batches(
        &self,
        now: Instant,
        told: &Mutex<&mut (dyn FnMut(Delivered) + Send)>,
    ) -> Result<(), StoreError> {
        let mut next = Vec::new();
        loop {
            let claimed = match next.is_empty() {
                true if !self.is_to_send(now).await? => return Ok(()),
                true => self.claim(now).await?,
                false => std::mem::take(&mut next),
            };
            if claimed.is_empty() {
                if self.may_be_in_flight(now) == 0 {
                    return Ok(());
                }
                // What is to be said goes before what is to be tidied away.
                if self.change_buttons(now).await? == 0 {
                    return Ok(());
                }
                continue;
            }
            let tries = join_all(claimed.iter().map(|claimed| self.try_once(claimed, now))).await;
            let (outcomes, outgoing): (Vec<_>, Vec<_>) = tries.into_iter().unzip();
            for (claimed, outcome) in claimed.iter().zip(&outcomes) {
                self.count(outcome);
                let (cause, kind) = (claimed.cause.as_str(), claimed.message.kind.name());
                tracing::info!(
                    cause,
                    outbox = claimed.id,
                    household = claimed.household,
                    kind,
                    outcome = outcome.name(),
                    "a message was tried"
                );
            }
            let tried: Vec<(Claimed, Outcome)> = claimed.into_iter().zip(outcomes).collect();
            let (settled, claimed) = self.settle_all(&tried, now).await?;
            next = claimed;
            let mut told = told
                .lock()
                .unwrap_or_else(std::sync::PoisonError::into_inner);
            for (((claimed, _), how), outgoing) in tried.into_iter().zip(settled).zip(outgoing) {
                if let (Settled::Sent { .. }, Some(outgoing)) = (how, outgoing) {
                    told(Delivered {
                        at: claimed.created_at,
                        household: claimed.household,
                        chat: claimed.chat,
                        message: claimed.message,
                        outgoing,
                    });
                }
            }
        }
    }

    async fn is_to_send(&self, now: Instant) -> Result<bool, StoreError> {
        Ok(is_to_send(&self.ahead(now).await?, now))
    }

    async fn claim(&self, now: Instant) -> Result<Vec<Claimed>, StoreError> {
        let most = self.may_be_in_flight(now);
        if most == 0 {
            return Ok(Vec::new());
        }
        let work = self.store.begin().await?;
        let claims = work.commit_and_claim(self.key(), now, now + LEASE, most);
        Ok(self.readable(claims.await?, now).await)
    }

    /// What was claimed and can be sent. A message of another version of the program must
    /// not hold up all that come after it.
    async fn readable(&self, claims: Claims, now: Instant) -> Vec<Claimed> {
        if let Err(error) = self.put_aside(&claims.unreadable, now).await {
            // They come again when the lease ends.
            tracing::warn!(%error, "messages that cannot be read could not be put aside");
        }
        claims.messages
    }

    async fn put_aside(&self, unreadable: &[i64], now: Instant) -> Result<(), StoreError> {
        if unreadable.is_empty() {
            return Ok(());
        }
        let mut refused = Vec::new();
        for id in unreadable {
            tracing::error!(outbox = id, "a message cannot be read; it is not sent");
            refused.push((*id, Settled::Refused));
        }
        let mut work = self.store.begin().await?;
        work.settle_outbox(&refused, now).await?;
        work.commit().await
    }

    /// How many messages may be on their way together: no more than a paced
    /// platform takes now, since what is claimed and not sent is written in vain.
    fn may_be_in_flight(&self, now: Instant) -> u32 {
        self.room(now).min(IN_FLIGHT)
    }

    /// How many messages the platforms take now.
    fn room(&self, now: Instant) -> u32 {
        let paced = !self.channels.is_empty() && self.channels.iter().all(|c| c.is_paced());
        match paced {
            true => self.pace().room(now),
            // Nothing to gain beside each other from a channel that takes all at once.
            false => IN_FLIGHT,
        }
    }

    /// Settles what was tried and claims what goes next, in one commit. Where
    /// that fails, one by one and nothing is claimed: what was sent must be known
    /// as sent, or all of it would be sent again.
    async fn settle_all(
        &self,
        tried: &[(Claimed, Outcome)],
        now: Instant,
    ) -> Result<(Vec<Settled>, Vec<Claimed>), StoreError> {
        match self
            .settle_tried(tried, self.may_be_in_flight(now), now)
            .await
        {
            Err(error) if tried.len() > 1 => {
                tracing::warn!(%error, messages = tried.len(), "a batch could not be settled; trying its messages one by one");
            }
            Err(error) => {
                let put_off = self.put_off(&tried[0], error, now).await?;
                return Ok((vec![put_off], Vec::new()));
            }
            done => return done,
        }
        let mut settled = Vec::new();
        for one in tried {
            match self.settle_tried(std::slice::from_ref(one), 0, now).await {
                Ok((how, _)) => settled.extend(how),
                Err(error) => settled.push(self.put_off(one, error, now).await?),
            }
        }
        Ok((settled, Vec::new()))
    }

    async fn settle_tried(
        &self,
        tried: &[(Claimed, Outcome)],
        next: u32,
        now: Instant,
    ) -> Result<(Vec<Settled>, Vec<Claimed>), StoreError> {
        let mut settling = Settling::begin(self, now).await?;
        let mut settled = Vec::new();
        for (claimed, outcome) in tried {
            let how = self.judge(&mut settling, claimed, outcome.clone()).await?;
            settled.push((claimed.id, how));
        }
        settling.work.settle_outbox(&settled, now).await?;
        let settled = settled.into_iter().map(|(_, how)| how).collect();
        if next == 0 {
            settling.commit().await?;
            return Ok((settled, Vec::new()));
        }
        let claims = settling.commit_and_claim(next, now + LEASE).await?;
        Ok((settled, self.readable(claims, now).await))
    }

    /// What follows from a try cannot be kept: the message is tried again later, alone.
    async fn put_off(
        &self,
        (claimed, _): &(Claimed, Outcome),
        error: StoreError,
        now: Instant,
    ) -> Result<Settled, StoreError> {
        tracing::error!(%error, outbox = claimed.id, "what followed from sending a message could not be kept");
        let how = Settled::Again {
            not_before: now + LONGEST_WAIT,
        };
        let mut work = self.store.begin().await?;
        work.settle_outbox(&[(claimed.id, how.clone())], now)
            .await?;
        work.commit().await?;
        Ok(how)
    }

    async fn try_once(&self, claimed: &Claimed, now: Instant) -> (Outcome, Option<Outgoing>) {
        if claimed
            .message
            .useful_until
            .is_some_and(|until| until <= now)
        {
            return (Outcome::Late, None);
        }
        if is_settled(claimed) {
            return (Outcome::Needless, None);
        }
        let Some(channel) = self.channel(&claimed.chat.channel) else {
            return (Outcome::NoChannel, None);
        };
        if channel.is_paced()
            && let Err(free) = self.pace().take(&claimed.chat.address, now)
        {
            return (Outcome::NotYet(free), None);
        }
        let mut outgoing = self.put_into_words(claimed);
        if channel.takes_files() {
            outgoing.attachment = self.paper_for(claimed, now).await;
        }
        let (sent, outgoing) = match channel.is_paced() {
            true => send_in_a_task(channel.clone(), outgoing).await,
            false => (channel.send(&outgoing).await, outgoing),
        };
        (Outcome::Tried(sent, now), Some(outgoing))
    }

    /// The paper that goes with a message. A text without its paper is better
    /// than none: what hinders the paper is logged.
    async fn paper_for(&self, claimed: &Claimed, now: Instant) -> Option<Attachment> {
        let (paper, id) = (claimed.message.paper?, claimed.household?);
        let household = match self.household(id).await {
            Ok(household) => household?,
            Err(error) => {
                tracing::error!(%error, outbox = claimed.id, "a paper could not be made");
                return None;
            }
        };
        let made = self.make_paper(&household, paper, link_in(&claimed.message), now);
        made.unwrap_or_else(|error| {
            tracing::error!(%error, outbox = claimed.id, "a paper could not be made");
            None
        })
    }

    pub(super) fn pace(&self) -> MutexGuard<'_, Pace> {
        self.pace
            .lock()
            .unwrap_or_else(std::sync::PoisonError::into_inner)
    }

    pub(super) fn channel(&self, name: &str) -> Option<&Arc<dyn Channel>> {
        self.channels.iter().find(|channel| channel.name() == name)
    }

    fn put_into_words(&self, claimed: &Claimed) -> Outgoing {
        let rendered = self.wording.render(&claimed.message, &claimed.language);
        let buttons = rendered
            .buttons
            .into_iter()
            .enumerate()
            .filter(|(place, _)| claimed.household.is_none() || claimed.buttons.contains(*place))
            .map(|(_, button)| OutgoingButton {
                label: button.label,
                data: button.data,
            })
            .collect();
        Outgoing {
            address: claimed.chat.address.clone(),
            text: rendered.text,
            buttons,
            attachment: None,
            quiet: claimed.message.kind == Kind::DoseAgain,
        }
    }

    /// What a try means for the message, and for the household where somebody has to know.
    async fn judge(
        &self,
        settling: &mut Settling<'_>,
        claimed: &Claimed,
        outcome: Outcome,
    ) -> Result<Settled, StoreError> {
        let (sent, now) = match outcome {
            Outcome::Late => {
                self.undelivered(settling, claimed, Undelivered::TooLate)
                    .await?;
                return Ok(Settled::Late);
            }
            Outcome::Needless => return Ok(Settled::Late),
            Outcome::NotYet(free) => return Ok(Settled::Again { not_before: free }),
            // A channel that is not running now may be running later.
            Outcome::NoChannel => {
                return Ok(Settled::Again {
                    not_before: self.clock.now() + LONGEST_WAIT,
                });
            }
            Outcome::Tried(sent, now) => (sent, now),
        };
        let to_clinic = claimed.carer == 0 && claimed.message.kind.is_for_clinic();
        Ok(match sent {
            Sent::Accepted { external_id } => Settled::Sent {
                external_id,
                chat: claimed.chat.clone(),
                buttons: claimed.buttons,
            },
            Sent::Later { after } => {
                let after = TimeDelta::from_std(after).unwrap_or(LONGEST_HOLD);
                let not_before = now + after.min(LONGEST_HOLD);
                self.pace().hold(&claimed.chat.address, now, not_before);
                Settled::Again { not_before }
            }
            Sent::Moved { to } => {
                self.moved(settling, claimed, &to, to_clinic).await?;
                Settled::Again { not_before: now }
            }
            Sent::Gone { .. } | Sent::Refused { .. }
                if to_clinic && self.is_somebodys(settling, &claimed.chat).await? =>
            {
                self.tell_the_others(settling, claimed).await?;
                Settled::Gone
            }
            // What the platform will never take must not hold up all that comes after it.
            Sent::Refused { why } if to_clinic && claimed.tries >= REFUSALS => {
                tracing::error!(
                    outbox = claimed.id,
                    why,
                    "the clinic's chat never takes a message; it is told so"
                );
                let note =
                    Message::new(Recipient::Clinic, Kind::ClinicNote).fact("what", "undelivered");
                settling.say(None, note);
                Settled::Refused
            }
            // An alert is never lost because the clinic's chat is closed: it waits.
            Sent::Gone { why } | Sent::Refused { why } if to_clinic => {
                tracing::error!(
                    outbox = claimed.id,
                    why,
                    "the clinic's chat does not take an alert; it is tried again"
                );
                Settled::Again {
                    not_before: now + LONGEST_WAIT,
                }
            }
            Sent::Gone { why } => {
                tracing::info!(outbox = claimed.id, why, "a chat is closed to us");
                self.undelivered(settling, claimed, Undelivered::Gone)
                    .await?;
                Settled::Gone
            }
            Sent::Refused { why } => {
                tracing::error!(
                    outbox = claimed.id,
                    why,
                    "the platform does not take a message"
                );
                self.undelivered(settling, claimed, Undelivered::Refused)
                    .await?;
                Settled::Refused
            }
            Sent::Unclear { why } => {
                tracing::warn!(
                    outbox = claimed.id,
                    why,
                    "a try to send failed; it is repeated"
                );
                let wait = TimeDelta::seconds(1 << claimed.tries.min(9)).min(LONGEST_WAIT);
                Settled::Again {
                    not_before: now + wait,
                }
            }
        })
    }

    fn count(&self, outcome: &Outcome) {
        let counts = &self.counts;
        let counter = match outcome {
            Outcome::Late | Outcome::Needless => &counts.late,
            Outcome::NotYet(_) | Outcome::NoChannel => return,
            Outcome::Tried(sent, _) => match sent {
                Sent::Accepted { .. } => &counts.sent,
                Sent::Later { .. } | Sent::Moved { .. } => &counts.later,
                Sent::Gone { .. } | Sent::Refused { .. } => &counts.refused,
                Sent::Unclear { .. } => &counts.unclear,
            },
        };
        add(counter, 1);
    }

    /// Whether a chat is one that somebody at the clinic has with the bot alone.
    async fn is_somebodys(
        &self,
        settling: &mut Settling<'_>,
        chat: &Chat,
    ) -> Result<bool, StoreError> {
        let clinic = &self.policy.clinic.key;
        if settling.clinic_chat().await?.as_ref() == Some(chat) {
            return Ok(false);
        }
        let staff = settling.work.staff(clinic).await?;
        Ok(staff
            .iter()
            .any(|member| member.chat.as_ref() == Some(chat)))
    }

    /// Somebody's chat is closed: it is used no more, and an alert for them goes to the clinic's.
    async fn tell_the_others(
        &self,
        settling: &mut Settling<'_>,
        claimed: &Claimed,
    ) -> Result<(), StoreError> {
        let clinic = &self.policy.clinic.key;
        for member in settling.work.staff(clinic).await? {
            if member.chat.as_ref() == Some(&claimed.chat) {
                settling
                    .work
                    .set_member_chat(clinic, member.no, None)
                    .await?;
            }
        }
        let bound = settling.clinic_chat().await?.is_some();
        if bound && is_alert(claimed.message.kind) {
            if let Some(household) = claimed.household {
                settling.load(&[household]).await?;
            }
            let mut message = claimed.message.clone();
            message.to = Recipient::Clinic;
            settling.say(claimed.household, message);
        }
        Ok(())
    }

    async fn undelivered(
        &self,
        settling: &mut Settling<'_>,
        claimed: &Claimed,
        why: Undelivered,
    ) -> Result<(), StoreError> {
        let Some(household) = claimed.household.filter(|_| claimed.carer > 0) else {
            return Ok(());
        };
        settling.load(&[household]).await?;
        let input = Input::Undelivered {
            carer: claimed.carer,
            kind: claimed.message.kind,
            why,
        };
        settling.decide(household, &input, &format!("outbox {}", claimed.id));
        Ok(())
    }

    async fn moved(
        &self,
        settling: &mut Settling<'_>,
        claimed: &Claimed,
        to: &str,
        to_clinic: bool,
    ) -> Result<(), StoreError> {
        settling
            .work
            .readdress(self.key(), &claimed.chat, to)
            .await?;
        if to_clinic {
            let chat = Chat {
                address: to.into(),
                ..claimed.chat.clone()
            };
            settling.bind_clinic_chat(&chat).await?;
        } else if let Some(household) = claimed.household {
            settling.load(&[household]).await?;
            let body = Body::Moved { to: to.into() };
            let input = Input::Carer {
                carer: claimed.carer,
                body,
            };
            settling.decide(household, &input, &format!("outbox {}", claimed.id));
        }
        Ok(())
    }
}

#[derive(Debug, Clone)]
enum Outcome {
    Late,
    /// What it asks for was settled while it waited.
    Needless,
    NotYet(Instant),
    NoChannel,
    Tried(Sent, Instant),
}

impl Outcome {
    /// For the log.
    fn name(&self) -> &'static str {
        match self {
            Outcome::Late => "late",
            Outcome::Needless => "needless",
            Outcome::NotYet(_) => "not yet",
            Outcome::NoChannel => "no channel",
            Outcome::Tried(sent, _) => match sent {
                Sent::Accepted { .. } => "sent",
                Sent::Later { .. } => "later",
                Sent::Gone { .. } => "gone",
                Sent::Moved { .. } => "moved",
                Sent::Refused { .. } => "refused",
                Sent::Unclear { .. } => "unclear",
            },
        }
    }
}

/// Sends in a task of its own, which ends with whoever waits for it: what a
/// platform takes and answers is written and read for fifty at a time, and in
/// one task that is one core's work while the others stand idle.
async fn send_in_a_task(channel: Arc<dyn Channel>, outgoing: Outgoing) -> (Sent, Outgoing) {
    let mut tasks = JoinSet::new();
    tasks.spawn(async move {
        let sent = channel.send(&outgoing).await;
        (sent, outgoing)
    });
    given(tasks.join_next().await.expect("it was just put in")).await
}
