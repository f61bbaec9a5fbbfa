//! What waits in a clinic, at one look: the loops ask this again and again, and
//! mostly nothing waits.

use super::outbox::{CLAIMABLE, first_of_its_chat, may_go_at};
use super::{Store, StoreError};
use crate::domain::Instant;
use sqlx::{AssertSqlSafe, Row};

/// What waits in a clinic, and when it is to be done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Ahead {
    /// Whether something came in that is not settled.
    pub inbox: bool,
    /// When the first household must be looked at.
    pub wake: Option<Instant>,
    /// When the first message may be sent.
    pub send: Option<Instant>,
    /// When the first message's buttons are to be changed.
    pub buttons: Option<Instant>,
    /// Until when the clinic's digests were sent; none before the first day.
    pub last_digest: Option<Instant>,
}

impl Store {
    /// Looks at what waits in a clinic. One statement that changes nothing, so
    /// nothing is begun for it, and nobody who writes is waited for.
    ///
    /// # Errors
    /// The database cannot be used now.
    pub async fn ahead(&self, clinic: &str, now: Instant) -> Result<Ahead, StoreError> {
        let mut work = self.hold(false).await?;
        // Whether anything may be sent at once is found with the first that may;
        // when the first will be, only with all that wait.
        let first = first_of_its_chat(work.dialect());
        let sql = format!(
            "select \
               (select count(*) from (select 1 from inbox where clinic = $1 and state = 'waiting' limit 1) as one), \
               (select min(wake_at) from household where clinic = $1 and wake_at is not null), \
               coalesce( \
                 (select cast($2 as bigint) from outbox o where {CLAIMABLE} and {first} \
                  order by o.lane, o.id limit 1), \
                 (select min({}) from outbox o where o.clinic = $1 and o.state = 'waiting' \
                  and (o.channel is not null or exists (select 1 from clinic_chat where clinic = $1)) \
                  and {first})), \
               (select min(next_try_at) from outbox \
                  where clinic = $1 and state = 'sent' and buttons <> buttons_shown), \
               (select digest_at from clinic_day where clinic = $1)",
            may_go_at(work.dialect()),
        );
        let row = sqlx::query(AssertSqlSafe(sql))
            .bind(clinic.to_owned())
            .bind(now.timestamp_millis())
            .fetch_one(work.db().await?)
            .await?;
        work.let_go();
        let instant = |at: usize| -> Result<Option<Instant>, StoreError> {
            let millis: Option<i64> = row.try_get(at)?;
            Ok(millis.and_then(Instant::from_timestamp_millis))
        };
        Ok(Ahead {
            inbox: row.try_get::<i64, _>(0)? > 0,
            wake: instant(1)?,
            send: instant(2)?,
            buttons: instant(3)?,
            last_digest: instant(4)?,
        })
    }
}
