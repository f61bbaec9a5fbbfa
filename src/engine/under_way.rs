//! What is on its way to the phones. Nobody waits for it: the next message takes its turn
//! while the last is still under way, so that whoever answers late holds up no others.

use super::buttons::TriedChange;
use super::deliver::Delivered;
use super::tried::Tried;
use super::{Engine, is_to_send};
use crate::domain::Instant;
use crate::domain::message::Lane;
use crate::store::{Ahead, Claimed, Settled, StoreError};
use chrono::TimeDelta;
use futures_util::future::{BoxFuture, FutureExt, pending};
use futures_util::stream::{FuturesUnordered, StreamExt};
use std::collections::BTreeSet;
use std::time::Duration;

/// No more are under way together than leave in this span, at least [`FEW`] and at most
/// [`MOST`]: a crash leaves exactly these in doubt.
const SPAN: Duration = Duration::from_secs(2);
const FEW: u32 = 50;
const MOST: u32 = 200;
/// What is left of a lease when a message is begun, at least: longer than a channel's own time
/// limit for one try (17 s at Telegram, teloxide's usual).
const A_TRY: TimeDelta = TimeDelta::seconds(20);
/// So many are begun before whatever else there is to do has its turn.
const TURN: usize = 20;
/// What leaves within this is settled in one commit, up to half of what is under way; and
/// whatever came back waits no longer than this.
const WORTH_A_COMMIT: Duration = Duration::from_millis(10);

/// Tries that are under way, and those that have come back and are to be settled.
pub struct UnderWay<'e> {
    engine: &'e Engine,
    tries: FuturesUnordered<BoxFuture<'e, Back>>,
    /// Messages that were begun and are not settled.
    begun: BTreeSet<i64>,
    back: Vec<Tried>,
    /// Messages whose buttons are being changed.
    changing: BTreeSet<i64>,
    changed: Vec<TriedChange>,
}

/// What came back.
enum Back {
    Message(Box<Tried>),
    Buttons(TriedChange),
}

impl<'e> UnderWay<'e> {
    pub(super) fn of(engine: &'e Engine) -> UnderWay<'e> {
        UnderWay {
            engine,
            tries: FuturesUnordered::new(),
            begun: BTreeSet::new(),
            back: Vec::new(),
            changing: BTreeSet::new(),
            changed: Vec::new(),
        }
    }

    /// Settles what has come back and begins to send whatever may be sent now; tells what
    /// was taken. Gives when there may be more to send; none where only room is wanting.
    ///
    /// # Errors
    /// The database fails. What came back is kept, and settled by the next call.
    pub async fn go_on(
        &mut self,
        now: Instant,
        told: &mut (dyn FnMut(Delivered) + Send),
    ) -> Result<Option<Instant>, StoreError> {
        self.take_back();
        let mut to_settle = !self.back.is_empty();
        let mut claimed = Vec::new();
        loop {
            // A turn may be long: a lease of its end is not to be counted from its beginning.
            let now = now.max(self.engine.now());
            if to_settle {
                claimed = self.settle(claimed, now, told).await?;
            } else if !claimed.is_empty() {
                let claimed = std::mem::take(&mut claimed);
                begin(self.engine, claimed, &mut self.begun, &mut self.tries, now).await;
            } else {
                self.settle_changes(now).await?;
                let room = self.room(self.tries.len() + self.back.len(), now);
                if room == 0 {
                    let turn = self.engine.pace().free_at(now);
                    return Ok((turn > now).then_some(turn));
                }
                let ahead = self.engine.ahead(now).await?;
                if !is_to_send(&ahead, now) {
                    return Ok(self.engine.next_to_send(&ahead, now));
                }
                claimed = self.engine.claim(room, now).await?;
                // What is to be said goes before what is to be tidied away.
                if claimed.is_empty() && !self.change_buttons(now).await? {
                    return Ok(self.next(ahead, now));
                }
            }
            self.take_back();
            to_settle = self.is_enough_back(claimed.len());
        }
    }

    /// When there may be more to send. Buttons that are being changed wait for no instant.
    fn next(&self, ahead: Ahead, now: Instant) -> Option<Instant> {
        let buttons = ahead.buttons.filter(|_| self.changing.is_empty());
        let ahead = Ahead { buttons, ..ahead };
        self.engine.next_to_send(&ahead, now)
    }

    /// Waits until something has come back, and a moment for what comes with it.
    pub async fn enough_back(&mut self) {
        if self.back.is_empty() && self.changed.is_empty() {
            match self.tries.next().await {
                Some(back) => self.came(back),
                None => return pending().await,
            }
        }
        let more = async {
            while !self.is_enough_back(0)
                && let Some(back) = self.tries.next().await
            {
                self.came(back);
            }
        };
        // However little it is by then, it is settled.
        let _ = tokio::time::timeout(WORTH_A_COMMIT, more).await;
    }

    /// Waits until all of it has come back; gives whether there is something to settle.
    pub(super) async fn all_back(&mut self) -> bool {
        while let Some(back) = self.tries.next().await {
            self.came(back);
        }
        !self.back.is_empty() || !self.changed.is_empty()
    }

    /// Waits for all that is under way, and settles each as it comes back; begins nothing
    /// more.
    ///
    /// # Errors
    /// The database fails: what is not settled is sent again when its lease has ended.
    pub async fn end(mut self, told: &mut (dyn FnMut(Delivered) + Send)) -> Result<(), StoreError> {
        let mut ended = self.settle_each(self.engine.now(), told).await;
        while let Some(back) = self.tries.next().await {
            self.came(back);
            let settled = self.settle_each(self.engine.now(), told).await;
            ended = ended.and(settled);
        }
        ended.and(self.settle_changes(self.engine.now()).await)
    }

    /// How many more may be begun now, beside so many that are under way: no more than a
    /// paced platform takes, since what is claimed and not sent is written in vain.
    fn room(&self, under_way: usize, now: Instant) -> u32 {
        self.room_beside(0, under_way, now)
    }

    /// The same beside so many that are claimed and have taken no turn yet.
    fn room_beside(&self, claimed: usize, under_way: usize, now: Instant) -> u32 {
        let (turns, together) = match self.is_paced() {
            true => {
                let pace = self.engine.pace();
                (pace.room(now), pace.turns_in(SPAN).clamp(FEW, MOST))
            }
            // Nothing to gain beside each other from a channel that takes all at once.
            false => (FEW, FEW),
        };
        left(turns, together, count(claimed), count(under_way))
    }

    fn is_paced(&self) -> bool {
        let channels = &self.engine.channels;
        !channels.is_empty() && channels.iter().all(|channel| channel.is_paced())
    }

    /// Whether so much came back that it is worth a commit by itself, where so many more
    /// are claimed and not begun.
    fn is_enough_back(&self, claimed: usize) -> bool {
        let (back, under_way) = (count(self.back.len()), count(self.tries.len() + claimed));
        let soon = match self.is_paced() {
            true => self.engine.pace().turns_in(WORTH_A_COMMIT),
            false => 0,
        };
        back >= soon.min((back + under_way) / 2).max(1)
    }

    /// Takes what has come back by now.
    fn take_back(&mut self) {
        while let Some(Some(back)) = self.tries.next().now_or_never() {
            self.came(back);
        }
    }

    fn came(&mut self, back: Back) {
        match back {
            Back::Message(tried) => {
                self.engine.heed(&tried);
                self.engine.count(&tried.outcome);
                let (claimed, outcome) = (&tried.claimed, tried.outcome.name());
                tracing::info!(
                    cause = claimed.cause,
                    outbox = claimed.id,
                    household = claimed.household,
                    kind = claimed.message.kind.name(),
                    outcome,
                    "a message was tried"
                );
                self.back.push(*tried);
            }
            Back::Buttons(tried) => self.changed.push(tried),
        }
    }

    /// Settles what came back and claims what goes next, in one commit. Where that fails,
    /// one by one and nothing is claimed: what was sent must be known as sent, or all of it
    /// would be sent again.
    ///
    /// What was claimed before is begun meanwhile: the database writes while words are put
    /// together.
    async fn settle(
        &mut self,
        claimed: Vec<Claimed>,
        now: Instant,
        told: &mut (dyn FnMut(Delivered) + Send),
    ) -> Result<Vec<Claimed>, StoreError> {
        let room = self.room_beside(claimed.len(), self.tries.len(), now);
        let (settled, ()) = tokio::join!(
            self.engine.settle_tried(&self.back, room, now),
            begin(self.engine, claimed, &mut self.begun, &mut self.tries, now),
        );
        match settled {
            Ok((settled, claimed)) => {
                for (tried, how) in self.back.drain(..).zip(settled) {
                    self.begun.remove(&tried.claimed.id);
                    tell(tried, how, told);
                }
                Ok(claimed)
            }
            Err(error) => {
                tracing::warn!(%error, messages = self.back.len(), "a batch could not be settled; trying its messages one by one");
                self.settle_each(now, told).await?;
                Ok(Vec::new())
            }
        }
    }

    /// Settles one after the other. What a database that is away does not take is kept for
    /// the next call. Of one that it never takes the lease ends: it holds up no other.
    async fn settle_each(
        &mut self,
        now: Instant,
        told: &mut (dyn FnMut(Delivered) + Send),
    ) -> Result<(), StoreError> {
        let mut ended = Ok(());
        while let Some(tried) = self.back.first() {
            let how = match self.engine.settle_tried_alone(tried, now).await {
                Err(error) if error.is_passing() => return Err(error),
                how => how,
            };
            let tried = self.back.remove(0);
            self.begun.remove(&tried.claimed.id);
            match how {
                Ok(how) => tell(tried, how, told),
                Err(error) => ended = Err(error),
            }
        }
        ended
    }

    /// Begins to take buttons off where they no longer apply; gives whether there were any.
    async fn change_buttons(&mut self, now: Instant) -> Result<bool, StoreError> {
        let begun = self.engine.begin_to_change(&self.changing, now).await?;
        let any = !begun.is_empty();
        for (id, change) in begun {
            self.changing.insert(id);
            self.tries.push(Box::pin(change.map(Back::Buttons)));
        }
        Ok(any)
    }

    async fn settle_changes(&mut self, now: Instant) -> Result<(), StoreError> {
        if self.changed.is_empty() {
            return Ok(());
        }
        self.engine.settle_changes(&self.changed, now).await?;
        for tried in self.changed.drain(..) {
            self.changing.remove(&tried.id);
        }
        Ok(())
    }
}

/// Begins to send messages. Where the clock was set forward, or the machine slept, a lease
/// may have ended while its message was under way: it is ours already, and so again now.
///
/// What a lease is too short for, because the database or a paper took its time, is left
/// until it has ended: by then another worker may have it, and would send it as well. An
/// emergency does not wait for that: to read it twice harms nobody.
async fn begin<'e>(
    engine: &'e Engine,
    claimed: Vec<Claimed>,
    begun: &mut BTreeSet<i64>,
    tries: &mut FuturesUnordered<BoxFuture<'e, Back>>,
    now: Instant,
) {
    for (nth, claimed) in claimed.into_iter().enumerate() {
        // A commit beside it that has ended lets others at the database.
        if nth > 0 && nth.is_multiple_of(TURN) {
            tokio::task::yield_now().await;
        }
        let may_wait = claimed.message.lane != Lane::Emergency;
        if may_wait && engine.now() > claimed.lease_until - A_TRY {
            let (id, lease_until) = (claimed.id, claimed.lease_until);
            tracing::warn!(outbox = id, %lease_until, "too late to begin what was claimed; it comes again");
            continue;
        }
        if begun.insert(claimed.id) {
            let tried = engine.begin_to_send(claimed, now).await;
            let back = tried.map(|tried| Back::Message(Box::new(tried)));
            tries.push(Box::pin(back));
        }
    }
}

/// Of so many turns, and so many that may be under way together, what the claimed and those
/// under way leave. All of it is claimed with what is settled: a few that are left over would
/// be claimed by a commit of their own, during which nothing is sent.
fn left(turns: u32, together: u32, claimed: u32, under_way: u32) -> u32 {
    let free = together.saturating_sub(under_way.saturating_add(claimed));
    turns.saturating_sub(claimed).min(free)
}

fn count(of: usize) -> u32 {
    u32::try_from(of).unwrap_or(u32::MAX)
}

fn tell(tried: Tried, how: Settled, told: &mut (dyn FnMut(Delivered) + Send)) {
    let Tried {
        claimed, outgoing, ..
    } = tried;
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_claimed_leaves_fewer_turns_and_less_room() {
        assert_eq!(left(34, 150, 0, 0), 34, "all there is room for");
        assert_eq!(left(34, 150, 25, 0), 9, "their turns are as good as taken");
        assert_eq!(left(1, 58, 1, 0), 0);
        assert_eq!(left(1_000, 150, 0, 23), 127, "and not a few less");
        assert_eq!(left(1_000, 150, 75, 60), 15);
        assert_eq!(left(1_000, 150, 100, 60), 0);
    }
}
