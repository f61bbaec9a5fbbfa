//! The journal of a whole clinic, each entry with what came in and led to it.

use super::table::instant;
use super::{StoreError, Work};
use crate::domain::Instant;
use crate::domain::change::Change;
use sqlx::Row;

/// Which entries of the journal are wanted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AuditSpan {
    /// Of one household; none for all of the clinic.
    pub household: Option<i64>,
    /// Decided at this instant or later.
    pub from: Option<Instant>,
    /// Decided before this instant.
    pub until: Option<Instant>,
}

/// An entry of the journal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Audited {
    /// Its number; entries come in this order.
    pub id: i64,
    /// The household.
    pub household: i64,
    /// When it was decided.
    pub at: Instant,
    /// What led to it, such as `inbox 12`.
    pub cause: String,
    /// What changed.
    pub change: Change,
    /// What came in, where that led to it.
    pub came: Option<Came>,
}

/// Where something came from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Came {
    /// The channel.
    pub channel: String,
    /// The platform's address of the chat.
    pub address: String,
    /// How the platform named the person.
    pub sender: Option<String>,
}

impl Work {
    /// Entries of a clinic's journal after a number, in order, at most so many.
    pub async fn audit(
        &mut self,
        clinic: &str,
        span: &AuditSpan,
        after: i64,
        most: u32,
    ) -> Result<Vec<Audited>, StoreError> {
        let rows = sqlx::query(
            "select j.id, j.household, j.at, j.cause, j.change, i.channel, i.address, i.arrival \
             from journal j join household h on h.id = j.household \
             left join inbox i on i.id = \
               case when j.cause like 'inbox %' then cast(substr(j.cause, 7) as bigint) end \
             where h.clinic = $1 and j.id > $2 \
             and ($3 is null or j.household = $3) and j.at >= $4 and j.at < $5 \
             order by j.id limit $6",
        )
        .bind(clinic.to_owned())
        .bind(after)
        .bind(span.household)
        .bind(span.from.map_or(i64::MIN, |at| at.timestamp_millis()))
        .bind(span.until.map_or(i64::MAX, |at| at.timestamp_millis()))
        .bind(i64::from(most))
        .fetch_all(self.db().await?)
        .await?;
        rows.iter()
            .map(|row| {
                let household = row.try_get(1)?;
                let change: String = row.try_get(4)?;
                let channel: Option<String> = row.try_get(5)?;
                let address: Option<String> = row.try_get(6)?;
                let arrival: Option<String> = row.try_get(7)?;
                Ok(Audited {
                    id: row.try_get(0)?,
                    household,
                    at: instant(row.try_get(2)?).ok_or_else(|| StoreError::Unreadable {
                        household,
                        what: "a journal entry".into(),
                    })?,
                    cause: row.try_get(3)?,
                    change: serde_json::from_str(&change)?,
                    came: channel.zip(address).map(|(channel, address)| Came {
                        channel,
                        address,
                        sender: arrival.and_then(|arrival| sender_of(&arrival)),
                    }),
                })
            })
            .collect()
    }
}

/// The sender alone: an arrival of another version may not be readable whole.
fn sender_of(arrival: &str) -> Option<String> {
    let arrival: serde_json::Value = serde_json::from_str(arrival).ok()?;
    arrival["sender"].as_str().map(str::to_owned)
}
