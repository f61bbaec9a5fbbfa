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
            let mut settling = Settling::begin(self, now).await?;
            let due = settling.work.due(self.key(), now, BATCH).await?;
            if due.is_empty() {
                settling.end().await?;
                return Ok(woken);
            }
            if let Err(error) = Self::wake_all(settling, &due).await {
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
            let next = self.ahead(now).await?.wake;
            if next.is_none_or(|next| next > now) {
                return Ok(woken);
            }
        }
    }

    async fn wake_all(mut settling: Settling<'_>, due: &[i64]) -> Result<(), StoreError> {
        settling.load(due).await?;
        for id in due {
            settling.decide(*id, &Input::Wake, "time");
        }
        settling.commit().await
    }

    async fn wake_alone(&self, id: i64, now: Instant) -> Result<(), StoreError> {
        let settling = Settling::begin(self, now).await?;
        match Self::wake_all(settling, &[id]).await {
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
