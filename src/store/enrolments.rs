//! Enrolments that are answered question by question, one for each person and chat.

use super::{StoreError, Work};
use crate::domain::Instant;
use crate::domain::enrolment::Enrolment;
use crate::domain::household::Chat;
use sqlx::Row;

/// An enrolment that is under way.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnderWay {
    /// Its number.
    pub id: i64,
    /// What was answered.
    pub enrolment: Enrolment,
    /// When it was last answered.
    pub updated_at: Instant,
}

impl Work {
    /// The enrolment that a person has under way in a chat; what was left before an instant is forgotten.
    pub async fn enrolment(
        &mut self,
        clinic: &str,
        chat: &Chat,
        person: &str,
        not_before: Instant,
    ) -> Result<Option<UnderWay>, StoreError> {
        sqlx::query("delete from enrolment where updated_at < $1")
            .bind(not_before.timestamp_millis())
            .execute(self.db().await?)
            .await?;
        let row = sqlx::query(
            "select id, answers, updated_at from enrolment \
             where clinic = $1 and channel = $2 and address = $3 and person = $4",
        )
        .bind(clinic.to_owned())
        .bind(chat.channel.clone())
        .bind(chat.address.clone())
        .bind(person.to_owned())
        .fetch_optional(self.db().await?)
        .await?;
        let Some(row) = row else { return Ok(None) };
        let answers: String = row.try_get(1)?;
        let updated_at = super::table::instant(row.try_get(2)?);
        Ok(Some(UnderWay {
            id: row.try_get(0)?,
            enrolment: serde_json::from_str(&answers)?,
            updated_at: updated_at.unwrap_or(not_before),
        }))
    }

    /// Keeps an enrolment as it stands; gives its number.
    pub async fn keep_enrolment(
        &mut self,
        clinic: &str,
        chat: &Chat,
        person: &str,
        enrolment: &Enrolment,
        now: Instant,
    ) -> Result<i64, StoreError> {
        let row = sqlx::query(
            "insert into enrolment (clinic, channel, address, person, answers, updated_at) \
             values ($1, $2, $3, $4, $5, $6) \
             on conflict (clinic, channel, address, person) do update \
             set answers = excluded.answers, updated_at = excluded.updated_at returning id",
        )
        .bind(clinic.to_owned())
        .bind(chat.channel.clone())
        .bind(chat.address.clone())
        .bind(person.to_owned())
        .bind(serde_json::to_string(enrolment)?)
        .bind(now.timestamp_millis())
        .fetch_one(self.db().await?)
        .await?;
        Ok(row.try_get(0)?)
    }

    /// Forgets an enrolment: it is done, or it was cancelled.
    pub async fn drop_enrolment(&mut self, id: i64) -> Result<(), StoreError> {
        sqlx::query("delete from enrolment where id = $1")
            .bind(id)
            .execute(self.db().await?)
            .await?;
        Ok(())
    }
}
