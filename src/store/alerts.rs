//! What waits for somebody at the clinic.

use super::{StoreError, Work};
use crate::domain::message::No;
use sqlx::Row;

impl Work {
    /// Words of owners that nobody at a clinic has answered, the oldest first: household and alert.
    pub async fn unanswered(&mut self, clinic: &str) -> Result<Vec<(i64, No)>, StoreError> {
        let rows = sqlx::query(
            "select a.household, a.no from alert a join household h on h.id = a.household \
             where h.clinic = $1 and a.replies = '[]' and a.carer is not null \
             and (a.ended is null or a.ended = 'no-answer') \
             and a.kind in ('clinic.question', 'clinic.emergency') \
             order by a.raised_at, a.household, a.no",
        )
        .bind(clinic.to_owned())
        .fetch_all(self.db())
        .await?;
        let mut waiting = Vec::new();
        for row in rows {
            let no: i64 = row.try_get(1)?;
            waiting.extend(No::try_from(no).ok().zip(row.try_get(0).ok()));
        }
        Ok(waiting.into_iter().map(|(no, id)| (id, no)).collect())
    }

    /// Names of a clinic's patients under treatment that live in other households.
    pub async fn patients_elsewhere(
        &mut self,
        clinic: &str,
        household: i64,
    ) -> Result<Vec<String>, StoreError> {
        let rows = sqlx::query(
            "select distinct p.name from patient p join household h on h.id = p.household \
             join course c on c.household = p.household and c.patient = p.no \
             where h.clinic = $1 and h.id <> $2 and c.ended_at is null order by p.name",
        )
        .bind(clinic.to_owned())
        .bind(household)
        .fetch_all(self.db())
        .await?;
        rows.iter().map(|row| Ok(row.try_get(0)?)).collect()
    }
}
