//! Households whose time has come.

use super::Engine;
use super::health::add;
use super::settling::Settling;
use crate::domain::Instant;
use crate::domain::decide::{Decision, Input, decide};
use crate::store::{Loaded, StoreError, Work};
use chrono::TimeDelta;
use std::collections::BTreeMap;

/// Households that share one commit.
const BATCH: u32 = 200;
/// What another worker or a broken line hindered is done again this often at once.
const AGAIN: u32 = 3;
/// A household that cannot be handled is looked at again after this.
const PUT_OFF: TimeDelta = TimeDelta::minutes(5);

impl Engine {
    /// Looks at every household that is due; gives how many there were.
    pub(super) async fn wake(&self, now: Instant) -> Result<usize, StoreError> {
        let mut woken = 0;
        let mut again = 0;
        loop {
            let mut reading = self.store.begin_to_read().await?;
            let due = reading.due(self.key(), now, BATCH).await?;
            if due.is_empty() {
                if let Some(work) = reading.claims() {
                    work.commit().await?;
                }
                return Ok(woken);
            }
            if let Err(error) = self.wake_all(reading, &due, now).await {
                if error.is_passing() && again < AGAIN {
                    again += 1;
                    continue;
                }
                tracing::warn!(%error, households = due.len(), "a batch could not be woken; trying one by one");
                for &id in &due {
                    self.wake_alone(id, now).await?;
                }
            }
            woken += due.len();
            add(&self.counts.woken, due.len());
            if due.len() < BATCH as usize {
                return Ok(woken);
            }
        }
    }

    /// Reads the households, thinks, and only then writes: the thinking takes
    /// longest, and whoever sends meanwhile need not wait for it.
    async fn wake_all(
        &self,
        mut reading: Work,
        due: &[i64],
        now: Instant,
    ) -> Result<(), StoreError> {
        let loaded = reading.load_to_decide(due).await?;
        let claims = reading.claims();
        let mut decided: BTreeMap<i64, (Loaded, Decision)> = BTreeMap::new();
        for loaded in loaded {
            // Whatever number was due: another clinic's household is none of ours.
            if loaded.household.clinic == self.key() {
                let decision = decide(&loaded.household, &Input::Wake, now, &self.policy);
                decided.insert(loaded.household.id, (loaded, decision));
            }
        }
        let work = self.store.begin_to_save(claims).await?;
        let mut settling = Settling::within(self, work, now);
        // Who waits longest is spoken to first.
        for id in due {
            if let Some((Loaded { household, version }, decision)) = decided.remove(id) {
                settling.hold(household, version);
                settling.take(*id, decision, "time");
            }
        }
        settling.commit().await
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
