//! Several workers beside each other on one PostgreSQL, each taking what no
//! other has.
//!
//! What comes in is claimed by who speaks, never by the row: a worker that
//! passed over a locked row and took the next one of the same chat would settle
//! the later word first. Owners speak for their household, whose row is locked.
//! Everybody else (the clinic's own chat, strangers with an invitation) may
//! concern any household, so of their rows one worker at a time has all: it
//! holds the clinic's desk. Only that worker waits for households while it
//! holds others, so no two wait for each other.

use super::{StoreError, Waiting, Work};
use sha2::{Digest, Sha256};
use sqlx::{AssertSqlSafe, Row};

/// The household that a row of the inbox, `i`, comes from.
const SPEAKER: &str =
    "carer c on c.clinic = i.clinic and c.channel = i.channel and c.address = i.address";

impl Work {
    /// [`Work::claim_inbox`] where there may be other workers.
    pub(super) async fn claim_inbox_beside(
        &mut self,
        clinic: &str,
        most: u32,
    ) -> Result<Vec<Waiting>, StoreError> {
        let most = i64::from(most);
        let households = self.claim_speakers(clinic, most).await?;
        let desk = self.holds_desk(clinic).await?;
        if households.is_empty() && !desk {
            return Ok(Vec::new());
        }
        // Asked after the locks are had: what others settled meanwhile is gone from here.
        // Chats take turns, so that one which floods us holds up no other.
        let theirs = format!(
            "inbox where id in ( \
               select t.id from ( \
                 select i.id, row_number() over (partition by i.channel, i.address order by i.id) as turn \
                 from inbox i left join {SPEAKER} where i.clinic = $1 and i.state = 'waiting' \
                 and ({} or (c.household is null and $3 = 1))) t \
               order by t.turn, t.id limit {most}) \
             order by id",
            self.dialect().is_one_of("c.household", "$2")
        );
        let values = [
            clinic.into(),
            serde_json::to_string(&households)?.into(),
            desk.into(),
        ];
        let found = self.waiting(&theirs, values).await?;
        Ok(found.into_iter().map(|(_, waiting)| waiting).collect())
    }

    /// Locks households from which something waits, those waiting longest first.
    async fn claim_speakers(&mut self, clinic: &str, most: i64) -> Result<Vec<i64>, StoreError> {
        let sql = format!(
            "select h.id from household h join ( \
               select c.household, min(i.id) as oldest from inbox i join {SPEAKER} \
               where i.clinic = $1 and i.state = 'waiting' \
               group by c.household) w on w.household = h.id \
             order by w.oldest limit $2 for no key update of h skip locked"
        );
        let ids = sqlx::query_scalar(AssertSqlSafe(sql))
            .bind(clinic.to_owned())
            .bind(most)
            .fetch_all(self.db().await?)
            .await?;
        Ok(ids)
    }

    /// Whether the rows of all who speak for no household are ours until the end.
    async fn holds_desk(&mut self, clinic: &str) -> Result<bool, StoreError> {
        let row = sqlx::query(
            "select case when pg_try_advisory_xact_lock($1) then cast(1 as bigint) else 0 end",
        )
        .bind(lock_number("desk", clinic))
        .fetch_one(self.db().await?)
        .await?;
        Ok(row.try_get::<i64, _>(0)? == 1)
    }

    /// Whether whoever speaks in a row of the inbox is ours until the end.
    pub(super) async fn holds_speaker(
        &mut self,
        clinic: &str,
        inbox: i64,
    ) -> Result<bool, StoreError> {
        let sql = format!("select c.household from inbox i join {SPEAKER} where i.id = $1");
        let household: Option<i64> = sqlx::query_scalar(AssertSqlSafe(sql))
            .bind(inbox)
            .fetch_optional(self.db().await?)
            .await?;
        let Some(household) = household else {
            return self.holds_desk(clinic).await;
        };
        let locked: Option<i64> = sqlx::query_scalar(
            "select id from household where id = $1 for no key update skip locked",
        )
        .bind(household)
        .fetch_optional(self.db().await?)
        .await?;
        Ok(locked.is_some())
    }
}

/// The number of an advisory lock: they are a database's, whoever uses it.
pub(super) fn lock_number(what: &str, whose: &str) -> i64 {
    let hash = Sha256::digest(format!("vialbell {what} {whose}").as_bytes());
    let mut first = [0; 8];
    first.copy_from_slice(&hash[..8]);
    i64::from_be_bytes(first)
}
