//! What waits to be done: for watching the program run.

use super::{StoreError, Work};
use crate::domain::Instant;
use sqlx::Row;

/// What waits in the database of a clinic.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Backlog {
    /// What came in and is not settled: how much, and since when.
    pub inbox: Waiting,
    /// Messages that may be sent now and are not: how many, and since when.
    pub outbox: Waiting,
    /// Households that were to be looked at by now: how many, and since when.
    pub households: Waiting,
}

/// How many of a kind wait, and since when the oldest does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Waiting {
    /// How many.
    pub count: u64,
    /// Since when the oldest waits; none where nothing does.
    pub since: Option<Instant>,
}

impl Work {
    /// What waits in a clinic at an instant. Reads indexes of what waits only, whatever the size of the rest.
    pub async fn backlog(&mut self, clinic: &str, now: Instant) -> Result<Backlog, StoreError> {
        let row = sqlx::query(
            "select \
               (select count(*) from inbox where clinic = $2 and state = 'waiting'), \
               (select min(received_at) from inbox where clinic = $2 and state = 'waiting'), \
               (select count(*) from outbox where clinic = $2 and state = 'waiting' and next_try_at <= $1), \
               (select min(created_at) from outbox where clinic = $2 and state = 'waiting' and next_try_at <= $1), \
               (select count(*) from household where clinic = $2 and wake_at <= $1), \
               (select min(wake_at) from household where clinic = $2 and wake_at <= $1)",
        )
        .bind(now.timestamp_millis())
        .bind(clinic.to_owned())
        .fetch_one(self.db().await?)
        .await?;
        let waiting = |at: usize| -> Result<Waiting, StoreError> {
            let count: i64 = row.try_get(at)?;
            let since: Option<i64> = row.try_get(at + 1)?;
            Ok(Waiting {
                count: u64::try_from(count).unwrap_or(0),
                since: since.and_then(Instant::from_timestamp_millis),
            })
        };
        Ok(Backlog {
            inbox: waiting(0)?,
            outbox: waiting(2)?,
            households: waiting(4)?,
        })
    }
}
