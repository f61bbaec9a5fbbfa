//! Households whose time has come.

use super::Engine;
use super::health::add;
use super::settling::Settling;
use crate::domain::Instant;
use crate::domain::decide::Input;
use crate::store::StoreError;
use chrono::TimeDelta;

/// Households that share one commit.
const BATCH: u32 = 200;
/// A household that cannot be handled is looked at again after this.
const PUT_OFF: TimeDelta = TimeDelta::minutes(5);

impl Engine {
    /// Looks at every household that is due; gives how many there were.
    pub(super) async fn wake(&self, now: Instant) -> Result<usize, StoreError> {
        let mut woken = 0;
        loop {
            let mut work = self.store.begin().await?;
            let due = work.due(now, BATCH).await?;
            work.commit().await?;
            if due.is_empty() {
                return Ok(woken);
            }
            woken += due.len();
            add(&self.counts.woken, due.len());
            if let Err(error) = self.wake_all(&due, now).await {
                tracing::warn!(%error, households = due.len(), "a batch could not be woken; trying one by one");
                for id in due {
                    self.wake_alone(id, now).await?;
                }
            }
        }
    }

    async fn wake_all(&self, due: &[i64], now: Instant) -> Result<(), StoreError> {
        let mut settling = Settling::begin(self, now).await?;
        settling.load(due).await?;
        for id in due {
            settling.decide(*id, &Input::Wake, "time");
        }
        settling.commit().await
    }

    async fn wake_alone(&self, id: i64, now: Instant) -> Result<(), StoreError> {
        if let Err(error) = self.wake_all(&[id], now).await {
            tracing::error!(%error, household = id, "a household could not be woken; it is looked at again later");
            let mut work = self.store.begin().await?;
            work.put_off(id, now + PUT_OFF).await?;
            work.commit().await?;
        }
        Ok(())
    }
}
