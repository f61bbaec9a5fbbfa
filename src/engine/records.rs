//! What somebody at the terminal looks at or takes out. A household of another
//! clinic is none.

use super::Engine;
use crate::domain::household::Household;
use crate::store::{AuditSpan, Audited, StoreError};

/// Entries of the journal that are read at a time.
const AUDIT_BATCH: u32 = 1_000;

impl Engine {
    /// Numbers of the clinic's households, in order.
    pub async fn household_numbers(&self) -> Result<Vec<i64>, StoreError> {
        let mut work = self.store.begin().await?;
        let numbers = work.households(&self.policy.clinic.key).await?;
        work.commit().await?;
        Ok(numbers)
    }

    /// Households of the clinic among these numbers, in their order.
    pub async fn our_households(&self, ids: &[i64]) -> Result<Vec<Household>, StoreError> {
        let mut work = self.store.begin().await?;
        let loaded = work.load(ids).await?;
        work.commit().await?;
        let all = loaded.into_iter().map(|loaded| loaded.household);
        Ok(all
            .filter(|household| household.clinic == self.policy.clinic.key)
            .collect())
    }

    /// The next entries of the clinic's journal after a number; none where that was the last.
    pub async fn audit(&self, span: &AuditSpan, after: i64) -> Result<Vec<Audited>, StoreError> {
        let mut work = self.store.begin().await?;
        let audited = work
            .audit(&self.policy.clinic.key, span, after, AUDIT_BATCH)
            .await?;
        work.commit().await?;
        Ok(audited)
    }
}
