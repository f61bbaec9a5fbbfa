//! What waits for somebody at the clinic.

use super::{StoreError, Work};
use crate::domain::message::No;
use sqlx::{AssertSqlSafe, Row};

/// Whether an owner's words, an alert `a`, wait: as `Alert::waits_for_an_answer` has it.
const WAITS_FOR_AN_ANSWER: &str = "a.replies = '[]' and a.carer is not null \
    and (a.ended is null or a.ended = 'no-answer') \
    and a.kind in ('clinic.question', 'clinic.emergency')";

impl Work {
    /// Words of owners that nobody at a clinic has answered, the oldest first: household and alert.
    pub async fn unanswered(&mut self, clinic: &str) -> Result<Vec<(i64, No)>, StoreError> {
        let sql = format!(
            "select a.household, a.no from alert a join household h on h.id = a.household \
             where h.clinic = $1 and {WAITS_FOR_AN_ANSWER} \
             order by a.raised_at, a.household, a.no",
        );
        let rows = sqlx::query(AssertSqlSafe(sql))
            .bind(clinic.to_owned())
            .fetch_all(self.db().await?)
            .await?;
        let mut waiting = Vec::new();
        for row in rows {
            let no: i64 = row.try_get(1)?;
            waiting.extend(No::try_from(no).ok().zip(row.try_get(0).ok()));
        }
        Ok(waiting.into_iter().map(|(no, id)| (id, no)).collect())
    }

    /// The newest words of an owner that nobody at a clinic has answered: household and alert.
    pub async fn newest_question(&mut self, clinic: &str) -> Result<Option<(i64, No)>, StoreError> {
        let sql = format!(
            "select a.household, a.no from alert a join household h on h.id = a.household \
             where h.clinic = $1 and {WAITS_FOR_AN_ANSWER} \
             order by a.raised_at desc, a.no desc limit 1",
        );
        let row = sqlx::query(AssertSqlSafe(sql))
            .bind(clinic.to_owned())
            .fetch_optional(self.db().await?)
            .await?;
        let Some(row) = row else { return Ok(None) };
        let no: i64 = row.try_get(1)?;
        let household = row.try_get(0)?;
        Ok(No::try_from(no).ok().map(|no| (household, no)))
    }
}
