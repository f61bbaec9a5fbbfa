//! Who may speak: invitations, the clinic's chat, and strangers.

use super::{StoreError, Work};
use crate::domain::Instant;
use crate::domain::household::Chat;
use crate::domain::message::No;
use sha2::{Digest, Sha256};
use sqlx::Row;

/// Whom an invitation was for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Redeemed {
    /// The household.
    pub household: i64,
    /// The carer.
    pub carer: No,
}

/// Only this is kept of a code.
pub(super) fn hash(code: &str) -> String {
    Sha256::digest(code.as_bytes())
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect()
}

impl Work {
    /// Keeps an invitation; the code itself is not kept.
    pub async fn invite(
        &mut self,
        code: &str,
        household: i64,
        carer: No,
        now: Instant,
        expires_at: Instant,
    ) -> Result<(), StoreError> {
        sqlx::query(
            "insert into invitation (code_hash, household, carer, created_at, expires_at) \
             values ($1, $2, $3, $4, $5)",
        )
        .bind(hash(code))
        .bind(household)
        .bind(i64::from(carer))
        .bind(now.timestamp_millis())
        .bind(expires_at.timestamp_millis())
        .execute(self.db().await?)
        .await?;
        Ok(())
    }

    /// Uses an invitation of a clinic up. None for a code that is unknown
    /// there, used, or too old.
    pub async fn redeem(
        &mut self,
        clinic: &str,
        code: &str,
        now: Instant,
    ) -> Result<Option<Redeemed>, StoreError> {
        let row = sqlx::query(
            "update invitation set used_at = $1 \
             where code_hash = $2 and used_at is null and expires_at > $1 \
             and household in (select id from household where clinic = $3) \
             returning household, carer",
        )
        .bind(now.timestamp_millis())
        .bind(hash(code))
        .bind(clinic.to_owned())
        .fetch_optional(self.db().await?)
        .await?;
        let Some(row) = row else { return Ok(None) };
        let carer: i64 = row.try_get(1)?;
        let household = row.try_get(0)?;
        Ok(No::try_from(carer)
            .ok()
            .map(|carer| Redeemed { household, carer }))
    }

    /// Makes a carer's invitations worthless that were not used yet.
    pub async fn revoke_invitations(
        &mut self,
        household: i64,
        carer: No,
        now: Instant,
    ) -> Result<(), StoreError> {
        sqlx::query(
            "update invitation set expires_at = $1 \
             where household = $2 and carer = $3 and used_at is null and expires_at > $1",
        )
        .bind(now.timestamp_millis())
        .bind(household)
        .bind(i64::from(carer))
        .execute(self.db().await?)
        .await?;
        Ok(())
    }

    /// The clinic's chat.
    pub async fn clinic_chat(&mut self, clinic: &str) -> Result<Option<Chat>, StoreError> {
        let row = sqlx::query("select channel, address from clinic_chat where clinic = $1")
            .bind(clinic.to_owned())
            .fetch_optional(self.db().await?)
            .await?;
        let Some(row) = row else { return Ok(None) };
        Ok(Some(Chat {
            channel: row.try_get(0)?,
            address: row.try_get(1)?,
        }))
    }

    /// Sets the clinic's chat.
    pub async fn bind_clinic_chat(&mut self, clinic: &str, chat: &Chat) -> Result<(), StoreError> {
        sqlx::query(
            "insert into clinic_chat (clinic, channel, address) values ($1, $2, $3) \
             on conflict (clinic) do update set channel = excluded.channel, address = excluded.address",
        )
        .bind(clinic.to_owned())
        .bind(chat.channel.clone())
        .bind(chat.address.clone())
        .execute(self.db().await?)
        .await?;
        Ok(())
    }

    /// Until when the clinic's digests were sent; none before the first day.
    pub async fn last_digest(&mut self, clinic: &str) -> Result<Option<Instant>, StoreError> {
        let row = sqlx::query("select digest_at from clinic_day where clinic = $1")
            .bind(clinic.to_owned())
            .fetch_optional(self.db().await?)
            .await?;
        let Some(row) = row else { return Ok(None) };
        Ok(Instant::from_timestamp_millis(row.try_get(0)?))
    }

    /// Notes that the clinic's digests are sent until an instant. False where
    /// they were not sent until `last` before: another worker was quicker.
    ///
    /// # Errors
    /// The database fails.
    pub async fn advance_digest(
        &mut self,
        clinic: &str,
        last: Option<Instant>,
        at: Instant,
    ) -> Result<bool, StoreError> {
        let query = match last {
            None => sqlx::query(
                "insert into clinic_day (clinic, digest_at) values ($1, $2) on conflict (clinic) do nothing",
            )
            .bind(clinic.to_owned())
            .bind(at.timestamp_millis()),
            Some(last) => sqlx::query(
                "update clinic_day set digest_at = $2 where clinic = $1 and digest_at = $3",
            )
            .bind(clinic.to_owned())
            .bind(at.timestamp_millis())
            .bind(last.timestamp_millis()),
        };
        Ok(query.execute(self.db().await?).await?.rows_affected() == 1)
    }

    /// Whether a clinic may answer a stranger now; notes that it was.
    pub async fn may_answer_stranger(
        &mut self,
        clinic: &str,
        chat: &Chat,
        now: Instant,
        not_since: Instant,
    ) -> Result<bool, StoreError> {
        let done = sqlx::query(
            "insert into stranger (clinic, channel, address, answered_at) values ($1, $2, $3, $4) \
             on conflict (clinic, channel, address) do update set answered_at = excluded.answered_at \
             where stranger.answered_at <= $5",
        )
        .bind(clinic.to_owned())
        .bind(chat.channel.clone())
        .bind(chat.address.clone())
        .bind(now.timestamp_millis())
        .bind(not_since.timestamp_millis())
        .execute(self.db().await?)
        .await?;
        Ok(done.rows_affected() == 1)
    }
}
