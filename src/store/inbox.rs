//! What came in: stored before anybody looks at it, settled exactly once.

use super::cells::Cells;
use super::table::Cell;
use super::{StoreError, Work};
use crate::domain::Instant;
use crate::domain::arrival::Arrival;
use sqlx::Row;
use std::collections::BTreeMap;

/// A chat has a lot of a claim's rows with more than one in so many.
const A_LOT: u32 = 40;

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
    /// Stores what a channel handed over to a clinic, where it is new.
    ///
    /// # Errors
    /// The database fails.
    pub async fn accept(
        &mut self,
        clinic: &str,
        channel: &str,
        batch: &[Arrival],
        now: Instant,
    ) -> Result<(), StoreError> {
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
        let dialect = self.dialect();
        let sql = format!(
            "insert into inbox (clinic, channel, external_id, address, arrival, received_at, state, tries) \
             select $2, {}, {}, {}, {}, {}, 'waiting', 0 from {} where true \
             on conflict (clinic, channel, external_id) do nothing",
            dialect.text("e", 0),
            dialect.text("e", 1),
            dialect.text("e", 2),
            dialect.text("e", 3),
            dialect.int("e", 4),
            dialect.elements("$1", "e"),
        );
        self.write_rows(&sql, &rows, [clinic.into()]).await
    }

    /// Claims a clinic's oldest rows that wait: in PostgreSQL no other worker gets them in
    /// this transaction, nor a later one of the same chat or household; in SQLite there is
    /// no other, and what other programs settle meanwhile is found when they are settled. Where
    /// one chat has many of the oldest, chats take turns; the rows of a chat
    /// stay in their order.
    ///
    /// # Errors
    /// The database fails.
    pub async fn claim_inbox(
        &mut self,
        clinic: &str,
        most: u32,
    ) -> Result<Vec<Waiting>, StoreError> {
        if self.dialect().has_others() {
            return self.claim_inbox_beside(clinic, most).await;
        }
        let oldest =
            format!("inbox where clinic = $1 and state = 'waiting' order by id limit {most}");
        let oldest = self.waiting(&oldest, [clinic.into()]).await?;
        if !is_one_sided(&oldest, most) {
            return Ok(oldest.into_iter().map(|(_, waiting)| waiting).collect());
        }
        let in_turns = format!(
            "inbox where id in ( \
               select id from ( \
                 select id, row_number() over (partition by channel, address order by id) as turn \
                 from inbox where clinic = $1 and state = 'waiting') t \
               order by turn, id limit {most}) \
             order by id"
        );
        let in_turns = self.waiting(&in_turns, [clinic.into()]).await?;
        Ok(in_turns.into_iter().map(|(_, waiting)| waiting).collect())
    }

    /// Rows that are picked by `from`, with the address from which each came.
    pub(super) async fn waiting(
        &mut self,
        from: &str,
        values: impl IntoIterator<Item = Cell>,
    ) -> Result<Vec<(String, Waiting)>, StoreError> {
        let columns = [
            // Of no household that is known yet.
            "null",
            "id",
            "address",
            "channel",
            "arrival",
            "received_at",
            "tries",
        ];
        let found = self.list(&columns, from, values).await?;
        Cells::all("inbox", &found)?
            .into_iter()
            .map(waiting)
            .collect()
    }

    /// Claims one row, where it still waits and nobody else is at it.
    ///
    /// # Errors
    /// The database fails.
    pub async fn claim_inbox_row(
        &mut self,
        clinic: &str,
        id: i64,
    ) -> Result<Option<Waiting>, StoreError> {
        if self.dialect().has_others() && !self.holds_speaker(clinic, id).await? {
            return Ok(None);
        }
        let it = "inbox where id = $1 and clinic = $2 and state = 'waiting'";
        let found = self.waiting(it, [id.into(), clinic.into()]).await?;
        Ok(found.into_iter().next().map(|(_, waiting)| waiting))
    }

    /// Settles rows that were decided on. Where one was settled meanwhile nothing of this
    /// transaction may last, and it fails with [`StoreError::Conflict`], as late as with the
    /// commit: the row would have been received at no time, which the table refuses.
    pub async fn settle_inbox(&mut self, ids: &[i64], now: Instant) -> Result<(), StoreError> {
        let sql = format!(
            "update inbox set state = 'settled', settled_at = $1, \
               received_at = case state when 'waiting' then received_at end \
             where {}",
            self.dialect().is_one_of("id", "$2")
        );
        self.write(
            &sql,
            [
                now.timestamp_millis().into(),
                serde_json::to_string(ids)?.into(),
            ],
        )
        .await
    }

    /// Counts a failed try of a row that waits; from the third on it is put aside. Says
    /// whether it was.
    pub async fn fail_inbox(&mut self, id: i64, now: Instant) -> Result<bool, StoreError> {
        let row = sqlx::query(
            "update inbox set tries = tries + 1, \
             state = case when tries >= 2 then 'quarantined' else 'waiting' end, \
             settled_at = case when tries >= 2 then $1 end \
             where id = $2 and state = 'waiting' returning state",
        )
        .bind(now.timestamp_millis())
        .bind(id)
        .fetch_optional(self.db().await?)
        .await?;
        let state: Option<String> = row.map(|row| row.try_get(0)).transpose()?;
        Ok(state.as_deref() == Some("quarantined"))
    }
}

/// Whether more may wait behind the oldest rows, and one chat has a lot of these.
fn is_one_sided(oldest: &[(String, Waiting)], most: u32) -> bool {
    if oldest.len() < usize::try_from(most).unwrap_or(usize::MAX) {
        return false;
    }
    let mut of_chat: BTreeMap<(&str, &str), u32> = BTreeMap::new();
    for (address, waiting) in oldest {
        *of_chat.entry((&waiting.channel, address)).or_default() += 1;
    }
    let a_lot = most.div_euclid(A_LOT);
    of_chat.values().any(|count| *count > a_lot)
}

fn waiting(mut row: Cells) -> Result<(String, Waiting), StoreError> {
    row.maybe_int()?;
    let (id, address) = (row.int()?, row.text()?);
    let (channel, arrival) = (row.text()?, row.text()?);
    let received_at = Instant::from_timestamp_millis(row.int()?).unwrap_or_default();
    let waiting = Waiting {
        id,
        channel,
        arrival: serde_json::from_str(&arrival).map_err(|_| arrival),
        received_at,
        tries: u32::try_from(row.int()?).unwrap_or(u32::MAX),
    };
    Ok((address, waiting))
}
