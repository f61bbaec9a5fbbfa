//! What zones' clocks were going to do when instants were resolved.

use super::{StoreError, Work};
use crate::domain::Instant;
use sqlx::{AssertSqlSafe, Row};

/// What a zone's clock was going to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ZoneRules {
    /// The zone's name.
    pub zone: String,
    /// The release that said so.
    pub release: String,
    /// Until when it was looked ahead.
    pub until: Instant,
    /// The changes of its offset, as `domain::zone::fingerprint` writes them.
    pub rules: String,
}

impl Work {
    /// What is known of all zones.
    pub async fn zone_rules(&mut self) -> Result<Vec<ZoneRules>, StoreError> {
        let rows = sqlx::query("select zone, release, resolved_until, rules from zone_rules")
            .fetch_all(self.db().await?)
            .await?;
        let read = |row: &sqlx::any::AnyRow| -> Result<ZoneRules, StoreError> {
            let until: i64 = row.try_get(2)?;
            Ok(ZoneRules {
                zone: row.try_get(0)?,
                release: row.try_get(1)?,
                until: Instant::from_timestamp_millis(until).unwrap_or_default(),
                rules: row.try_get(3)?,
            })
        };
        rows.iter().map(read).collect()
    }

    /// Lays down what is known of zones from now on.
    pub async fn set_zone_rules(&mut self, rules: &[ZoneRules]) -> Result<(), StoreError> {
        for one in rules {
            sqlx::query(
                "insert into zone_rules (zone, release, resolved_until, rules) values ($1, $2, $3, $4) \
                 on conflict (zone) do update set release = excluded.release, \
                 resolved_until = excluded.resolved_until, rules = excluded.rules",
            )
            .bind(one.zone.clone())
            .bind(one.release.clone())
            .bind(one.until.timestamp_millis())
            .bind(one.rules.clone())
            .execute(self.db().await?)
            .await?;
        }
        Ok(())
    }

    /// Has every household of a zone that waits for something later than `from`
    /// looked at now; gives how many there are.
    pub async fn look_at_zone(
        &mut self,
        zone: &str,
        from: Instant,
        now: Instant,
    ) -> Result<u64, StoreError> {
        self.look_at("zone = $3", Some(zone), from, now).await
    }

    /// Has every household with an alert that nobody has seen, and that waits for something
    /// later than `from`, looked at now; gives how many there are.
    pub async fn look_at_unseen(&mut self, from: Instant, now: Instant) -> Result<u64, StoreError> {
        const UNSEEN: &str =
            "id in (select household from alert where ended_at is null and seen_at is null)";
        self.look_at(UNSEEN, None, from, now).await
    }

    /// In the order of their numbers, as whoever works on several has them.
    async fn look_at(
        &mut self,
        which: &str,
        zone: Option<&str>,
        from: Instant,
        now: Instant,
    ) -> Result<u64, StoreError> {
        let sql = format!(
            "update household set wake_at = $1 where id in ( \
               select id from household where wake_at > $2 and {which} order by id{})",
            self.dialect().locked()
        );
        let query = sqlx::query(AssertSqlSafe(sql))
            .bind(now.timestamp_millis())
            .bind(from.timestamp_millis());
        let query = match zone {
            Some(zone) => query.bind(zone.to_owned()),
            None => query,
        };
        let done = query.execute(self.db().await?).await?;
        Ok(done.rows_affected())
    }
}
