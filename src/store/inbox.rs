//! What came in: stored before anybody looks at it, settled exactly once.

use super::table::Cell;
use super::{StoreError, Work};
use crate::domain::Instant;
use crate::domain::arrival::Arrival;
use sqlx::Row;

/// A row of the inbox that waits to be decided on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Waiting {
    /// Its number; rows are decided on in this order.
    pub id: i64,
    /// The channel that it came by.
    pub channel: String,
    /// What came; as it is stored where this program cannot read it.
    pub arrival: Result<Arrival, String>,
    /// When it was received.
    pub received_at: Instant,
    /// How often deciding on it has failed.
    pub tries: u32,
}

impl Work {
    /// Stores what a channel handed over; gives how many of them were new.
    pub async fn accept(
        &mut self,
        channel: &str,
        batch: &[Arrival],
        now: Instant,
    ) -> Result<u64, StoreError> {
        let mut rows: Vec<Vec<Cell>> = Vec::new();
        for arrival in batch {
            rows.push(vec![
                channel.into(),
                arrival.external_id.as_str().into(),
                arrival.address.as_str().into(),
                serde_json::to_string(arrival)?.into(),
                now.timestamp_millis().into(),
            ]);
        }
        let done = sqlx::query(
            "insert into inbox (channel, external_id, address, arrival, received_at, state, tries) \
             select json_extract(value, '$[0]'), json_extract(value, '$[1]'), \
             json_extract(value, '$[2]'), json_extract(value, '$[3]'), json_extract(value, '$[4]'), \
             'waiting', 0 from json_each($1) where true on conflict (channel, external_id) do nothing",
        )
        .bind(serde_json::to_string(&rows)?)
        .execute(self.db())
        .await?;
        Ok(done.rows_affected())
    }

    /// The oldest rows that wait.
    pub async fn waiting(&mut self, most: u32) -> Result<Vec<Waiting>, StoreError> {
        let rows = sqlx::query(
            "select id, channel, arrival, received_at, tries from inbox \
             where state = 'waiting' order by id limit $1",
        )
        .bind(i64::from(most))
        .fetch_all(self.db())
        .await?;
        rows.iter()
            .map(|row| {
                let arrival: String = row.try_get(2)?;
                let tries: i64 = row.try_get(4)?;
                Ok(Waiting {
                    id: row.try_get(0)?,
                    channel: row.try_get(1)?,
                    arrival: serde_json::from_str(&arrival).map_err(|_| arrival),
                    received_at: Instant::from_timestamp_millis(row.try_get(3)?)
                        .unwrap_or_default(),
                    tries: u32::try_from(tries).unwrap_or(u32::MAX),
                })
            })
            .collect()
    }

    /// Settles rows: they were decided on in this transaction.
    pub async fn settle_inbox(&mut self, ids: &[i64], now: Instant) -> Result<(), StoreError> {
        sqlx::query(
            "update inbox set state = 'settled', settled_at = $1 \
             where state = 'waiting' and id in (select value from json_each($2))",
        )
        .bind(now.timestamp_millis())
        .bind(serde_json::to_string(ids)?)
        .execute(self.db())
        .await?;
        Ok(())
    }

    /// Counts a failed try; from the third on the row is put aside. Says whether it was.
    pub async fn fail_inbox(&mut self, id: i64, now: Instant) -> Result<bool, StoreError> {
        let row = sqlx::query(
            "update inbox set tries = tries + 1, \
             state = case when tries >= 2 then 'quarantined' else 'waiting' end, \
             settled_at = case when tries >= 2 then $1 end \
             where id = $2 returning state",
        )
        .bind(now.timestamp_millis())
        .bind(id)
        .fetch_one(self.db())
        .await?;
        let state: String = row.try_get(0)?;
        Ok(state == "quarantined")
    }
}
