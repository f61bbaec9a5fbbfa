//! Households whose time has come.

use super::health::add;
use super::settling::Settling;
use super::tasks::given;
use super::{AGAIN, Engine};
use crate::domain::Instant;
use crate::domain::decide::{Decision, Input, decide_on};
use crate::store::{Found, Loaded, StoreError, WithButtons, Work};
use chrono::TimeDelta;
use futures_util::future::{FutureExt, join_all};
use std::collections::BTreeMap;
use std::sync::atomic::{AtomicU32, Ordering};

/// Households that share one commit.
const BATCH: u32 = 200;
/// Batches that are listed in one go where a list claims nothing.
const LISTED: u32 = 10;
/// Batches that are claimed beside each other where that is many trips to a server: one is
/// thought about while the other is read or saved. Whoever may have one transaction open
/// claims both as one, with half the trips: the others' fill its waits.
const TOGETHER: u32 = 2;
/// So few are decided on where they are.
const FEW: usize = 16;
/// A household that cannot be handled is looked at again after this.
const PUT_OFF: TimeDelta = TimeDelta::minutes(5);

/// How often somebody wrote while households were woken.
#[derive(Default)]
struct Calls(AtomicU32);

impl Calls {
    fn so_far(&self) -> u32 {
        self.0.load(Ordering::Relaxed)
    }
}

/// What was decided on a household as it was in a version.
struct Decided {
    version: i64,
    shown: Vec<WithButtons>,
    decision: Decision,
}

impl Engine {
    /// Looks at every household that is due; gives how many there were.
    pub(super) async fn wake(&self, now: Instant) -> Result<usize, StoreError> {
        let calls = Calls::default();
        let woken = match self.store.has_others() {
            true => self.wake_claimed(&calls, now).await,
            false => self.wake_listed(&calls, now).await,
        };
        // Whoever was passed over, or could not be heard, is not forgotten.
        if calls.so_far() > 0 {
            self.woken.notify_one();
        }
        woken
    }

    /// Where workers share the database, a batch is claimed by the transaction that lists
    /// it. Behind a full one there may be many: these take turns.
    async fn wake_claimed(&self, calls: &Calls, now: Instant) -> Result<usize, StoreError> {
        let together = self.store.at_once().clamp(1, TOGETHER);
        let batch = BATCH * TOGETHER / together;
        let first = self.claim_and_wake(batch, now).await?;
        if first < batch as usize {
            return Ok(first);
        }
        let lanes = (0..together).map(async |_| {
            let (mut woken, mut heard) = (0, 0);
            loop {
                self.hear_who_wrote(calls, &mut heard, now).await?;
                let more = self.claim_and_wake(batch, now).await?;
                woken += more;
                if more < batch as usize {
                    return Ok(woken);
                }
            }
        });
        let more: Result<Vec<usize>, StoreError> = join_all(lanes).await.into_iter().collect();
        Ok(first + more?.into_iter().sum::<usize>())
    }

    /// Claims at most so many that wait longest, and wakes them; gives how many there were.
    async fn claim_and_wake(&self, most: u32, now: Instant) -> Result<usize, StoreError> {
        let mut again = 0;
        loop {
            let mut claims = self.store.begin().await?;
            let due = claims.due(self.key(), now, most).await?;
            if due.is_empty() {
                claims.commit().await?;
                return Ok(0);
            }
            match self.wake_batch(claims, &due, now, again).await {
                // Listed anew: what another worker has by now is passed over. Waited
                // for, it might be held by one that waits for what we hold.
                Err(error) if error.is_passing() && again < AGAIN => again += 1,
                done => {
                    done?;
                    add(&self.counts.woken, due.len());
                    return Ok(due.len());
                }
            }
        }
    }

    /// In SQLite, where a list claims nothing, it is of many batches. They come one after the
    /// other: there is one writer, and whoever sends needs it as well.
    async fn wake_listed(&self, calls: &Calls, now: Instant) -> Result<usize, StoreError> {
        let (mut woken, mut heard) = (0, 0);
        loop {
            let mut reading = self.store.begin_to_read().await?;
            let due = reading.due(self.key(), now, BATCH * LISTED).await?;
            reading.end_reading().await?;
            for batch in due.chunks(BATCH as usize) {
                self.read_and_wake(batch, now).await?;
                if batch.len() == BATCH as usize {
                    self.hear_who_wrote(calls, &mut heard, now).await?;
                }
            }
            woken += due.len();
            add(&self.counts.woken, due.len());
            if due.len() < (BATCH * LISTED) as usize {
                return Ok(woken);
            }
        }
    }

    /// Behind a full batch whoever wrote has a turn: it may be words of danger. Each lane looks
    /// for whatever came, once: who is being woken by another, or is answered in the clinic's
    /// name by it, is passed over.
    async fn hear_who_wrote(
        &self,
        calls: &Calls,
        heard: &mut u32,
        now: Instant,
    ) -> Result<(), StoreError> {
        if self.woken().now_or_never().is_some() {
            calls.0.fetch_add(1, Ordering::Relaxed);
        }
        let so_far = calls.so_far();
        if *heard < so_far {
            *heard = so_far;
            self.receive_some(1, now.max(self.now())).await?;
        }
        Ok(())
    }

    async fn read_and_wake(&self, batch: &[i64], now: Instant) -> Result<(), StoreError> {
        let mut again = 0;
        loop {
            let reading = self.store.begin_to_read().await?;
            match self.wake_batch(reading, batch, now, again).await {
                Err(error) if error.is_passing() && again < AGAIN => again += 1,
                done => return done,
            }
        }
    }

    /// Wakes households in one commit. Where that fails they are woken one by
    /// one; where it may pass, whoever asks tries again a few times before.
    async fn wake_batch(
        &self,
        reading: Work,
        batch: &[i64],
        now: Instant,
        again: u32,
    ) -> Result<(), StoreError> {
        let Err(error) = self.wake_all(reading, batch, now).await else {
            return Ok(());
        };
        if error.is_passing() && again < AGAIN {
            return Err(error);
        }
        tracing::warn!(%error, households = batch.len(), "a batch could not be woken; trying one by one");
        for &id in batch {
            self.wake_alone(id, now).await?;
        }
        Ok(())
    }

    /// Reads the households, thinks, and only then writes: the thinking takes
    /// longest, and whoever sends meanwhile need not wait for it.
    async fn wake_all(
        &self,
        mut reading: Work,
        due: &[i64],
        now: Instant,
    ) -> Result<(), StoreError> {
        let found = reading.find_to_decide(due).await?;
        let claims = reading.claims();
        let mut decided = self.decide_all(found, due.len(), now).await?;
        let work = self.store.begin_to_save(claims).await?;
        let mut settling = Settling::within(self, work, now);
        // Who waits longest is spoken to first.
        for id in due {
            if let Some(decided) = decided.remove(id) {
                let Decided {
                    version,
                    shown,
                    decision,
                } = decided;
                settling.take(version, shown, decision, "time");
            }
        }
        settling.commit().await
    }

    /// Decides on each; gives it by household. Many are made sense of and decided on in
    /// a thread of their own: whoever sends would wait for its turn here.
    async fn decide_all(
        &self,
        found: Found,
        count: usize,
        now: Instant,
    ) -> Result<BTreeMap<i64, Decided>, StoreError> {
        let policy = self.policy.clone();
        let think = move || {
            // Whatever number was due: another clinic's household is none of ours.
            let ours = found
                .read()?
                .into_iter()
                .filter(|loaded| loaded.household.clinic == policy.clinic.key);
            let decided = ours.map(|loaded| {
                let Loaded {
                    household,
                    version,
                    shown,
                } = loaded;
                let id = household.id;
                let decision = decide_on(household, &Input::Wake, now, &policy);
                let decided = Decided {
                    version,
                    shown,
                    decision,
                };
                (id, decided)
            });
            Ok(decided.collect())
        };
        if count <= FEW {
            return think();
        }
        given(tokio::task::spawn_blocking(think).await).await
    }

    async fn wake_alone(&self, id: i64, now: Instant) -> Result<(), StoreError> {
        let reading = self.store.begin_to_read().await?;
        match self.wake_all(reading, &[id], now).await {
            // Another worker was quicker, or the database is away: it is due still.
            Err(error) if error.is_passing() => Err(error),
            Err(error) => {
                tracing::error!(%error, household = id, "a household could not be woken; it is looked at again later");
                let mut work = self.store.begin().await?;
                work.put_off(id, now + PUT_OFF).await?;
                work.commit().await
            }
            woken => woken,
        }
    }
}
