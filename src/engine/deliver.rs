//! From the outbox to a channel. A message is claimed for a while, sent, and
//! settled; a crash in between sends it again, which its buttons make harmless.

use super::Engine;
use super::buttons::{applying, is_settled};
use super::pace::Pace;
use super::papers::link_in;
use super::settling::Settling;
use super::tasks::given;
use super::tried::{LONGEST_WAIT, Outcome, Tried};
use super::under_way::UnderWay;
use crate::channel::{Attachment, Channel, Outgoing, Sent};
use crate::domain::Instant;
use crate::domain::household::Chat;
use crate::domain::message::{Kind, Message};
use crate::store::{Claimed, Claims, Settled, StoreError};
use chrono::TimeDelta;
use futures_util::future::{BoxFuture, FutureExt};
use std::sync::{Arc, MutexGuard, PoisonError};
use tokio::task::JoinSet;

/// Time to commit the claim, to make a paper, and for one try.
const LEASE: TimeDelta = TimeDelta::seconds(60);

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
    /// Sends what waits, until nothing is left that may be sent now and all of it has
    /// come back; tells what was taken.
    pub async fn deliver(
        &self,
        now: Instant,
        told: &mut (dyn FnMut(Delivered) + Send),
    ) -> Result<(), StoreError> {
        let mut under_way = self.under_way();
        loop {
            under_way.go_on(now, told).await?;
            if !under_way.all_back().await {
                return Ok(());
            }
        }
    }

    /// Sends what waits without waiting for what is under way: for whoever serves.
    pub fn under_way(&self) -> UnderWay<'_> {
        UnderWay::of(self)
    }

    /// Takes at most so many messages that may be sent now.
    pub(super) async fn claim(&self, most: u32, now: Instant) -> Result<Vec<Claimed>, StoreError> {
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

    /// Settles what was tried and claims what goes next, in one commit.
    pub(super) async fn settle_tried(
        &self,
        tried: &[Tried],
        next: u32,
        now: Instant,
    ) -> Result<(Vec<Settled>, Vec<Claimed>), StoreError> {
        let mut settling = Settling::begin(self, now).await?;
        let mut settled = Vec::new();
        for tried in tried {
            let how = self.judge(&mut settling, tried).await?;
            settled.push((tried.claimed.id, how));
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

    /// Settles one by itself. Where what follows from it cannot be kept it is tried again
    /// later.
    pub(super) async fn settle_tried_alone(
        &self,
        tried: &Tried,
        now: Instant,
    ) -> Result<Settled, StoreError> {
        let error = match self.settle_tried(std::slice::from_ref(tried), 0, now).await {
            Ok((mut settled, _)) => return Ok(settled.remove(0)),
            Err(error) => error,
        };
        let id = tried.claimed.id;
        tracing::error!(%error, outbox = id, "what followed from sending a message could not be kept");
        let how = Settled::Again {
            not_before: now + LONGEST_WAIT,
        };
        let mut work = self.store.begin().await?;
        work.settle_outbox(&[(id, how.clone())], now).await?;
        work.commit().await?;
        Ok(how)
    }

    /// Takes the turn of a message that may be sent now and puts it into words; what is
    /// given sends it.
    pub(super) async fn begin_to_send<'e>(
        &'e self,
        claimed: Claimed,
        now: Instant,
    ) -> impl Future<Output = Tried> + Send + use<'e> {
        let begun = match self.may_be_sent(&claimed, now) {
            Ok(channel) => {
                let mut outgoing = self.put_into_words(&claimed);
                if channel.takes_files() {
                    outgoing.attachment = self.paper_for(&claimed, now).await;
                }
                Ok((channel, outgoing))
            }
            Err(outcome) => Err(outcome),
        };
        let begun = begun.map(|(channel, outgoing)| self.send(channel, outgoing));
        async move {
            let (outcome, outgoing) = match begun {
                Ok(sending) => {
                    let (sent, outgoing) = sending.await;
                    (Outcome::Answered(sent), Some(outgoing))
                }
                Err(outcome) => (outcome, None),
            };
            Tried {
                claimed,
                outcome,
                outgoing,
            }
        }
    }

    /// The channel that takes a message now, with the turn that it needs; else why not.
    fn may_be_sent(&self, claimed: &Claimed, now: Instant) -> Result<Arc<dyn Channel>, Outcome> {
        let useful_until = claimed.message.useful_until;
        if useful_until.is_some_and(|until| until <= now) {
            return Err(Outcome::Late);
        }
        if is_settled(claimed) {
            return Err(Outcome::Needless);
        }
        let Some(channel) = self.channel(&claimed.chat.channel) else {
            return Err(Outcome::NoChannel);
        };
        if channel.is_paced() {
            let turn = self.pace().take(&claimed.chat.address, now);
            turn.map_err(Outcome::NotYet)?;
        }
        Ok(channel.clone())
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
        self.pace.lock().unwrap_or_else(PoisonError::into_inner)
    }

    pub(super) fn channel(&self, name: &str) -> Option<&Arc<dyn Channel>> {
        self.channels.iter().find(|channel| channel.name() == name)
    }

    /// Sends; by a platform that limits us from now on, whoever waits for it: it has its turn.
    fn send(
        &self,
        channel: Arc<dyn Channel>,
        outgoing: Outgoing,
    ) -> BoxFuture<'static, (Sent, Outgoing)> {
        if !channel.is_paced() {
            return async move { (channel.send(&outgoing).await, outgoing) }.boxed();
        }
        let place = self.line.place();
        let sending = async move {
            let _place = place.await;
            (channel.send(&outgoing).await, outgoing)
        };
        in_a_task(sending).boxed()
    }

    fn put_into_words(&self, claimed: &Claimed) -> Outgoing {
        let rendered = self.wording.render(&claimed.message, &claimed.language);
        let applies = |place| claimed.household.is_none() || claimed.buttons.contains(place);
        Outgoing {
            address: claimed.chat.address.clone(),
            text: rendered.text,
            buttons: applying(rendered.buttons, applies),
            attachment: None,
            quiet: claimed.message.kind == Kind::DoseAgain,
        }
    }
}

/// In a task of its own, which begins at once and ends with whoever waits for it: what a
/// platform takes and answers is written and read for many at a time, and in one task that is
/// one core's work while the others stand idle.
fn in_a_task<T: Send + 'static>(
    work: impl Future<Output = T> + Send + 'static,
) -> impl Future<Output = T> + Send {
    let mut tasks = JoinSet::new();
    tasks.spawn(work);
    async move { given(tasks.join_next().await.expect("it was just put in")).await }
}
