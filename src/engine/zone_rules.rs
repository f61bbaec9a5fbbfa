//! A newer release of the tz database moves instants that were resolved by an
//! older one: whatever waits in a zone whose rules changed is looked at afresh.

use super::Engine;
use crate::domain::Instant;
use crate::domain::zone::{self, Zone, fingerprint};
use crate::store::{StoreError, ZoneRules};
use chrono::TimeDelta;
use std::collections::BTreeMap;

/// How far ahead rules are compared: longer than a course may last.
const AHEAD: TimeDelta = TimeDelta::days(2 * 366);

impl Engine {
    /// Compares the zones' rules with those by which this database's instants
    /// were resolved; gives how many households are looked at afresh. Quick
    /// where the release is the same as last time.
    ///
    /// # Errors
    /// The database fails.
    pub async fn note_zone_rules(&self, now: Instant) -> Result<u64, StoreError> {
        let release = zone::release().to_string();
        let mut work = self.store.begin().await?;
        let known = work.zone_rules().await?;
        work.commit().await?;
        let is_known = |name| known.iter().any(|one: &ZoneRules| one.zone == name);
        // Half of the span is kept in hand, so that it need not be noted each day.
        let fresh = |one: &ZoneRules| one.release == release && one.until >= now + AHEAD / 2;
        if known.iter().all(fresh) && zone::all().all(is_known) {
            return Ok(0);
        }
        let known: BTreeMap<&str, &ZoneRules> =
            known.iter().map(|one| (one.zone.as_str(), one)).collect();
        let (mut changed, mut rules) = (Vec::new(), Vec::new());
        for zone in zone::all().filter_map(|name| Zone::named(name).ok()) {
            if let Some(before) = known.get(zone.name())
                && coming(&before.rules, now) != coming(&fingerprint(zone, now, before.until), now)
            {
                changed.push(zone.name());
            }
            rules.push(ZoneRules {
                zone: zone.name().into(),
                release: release.clone(),
                until: now + AHEAD,
                rules: fingerprint(zone, now, now + AHEAD),
            });
        }
        let mut work = self.store.begin().await?;
        let mut households = 0;
        for zone in &changed {
            households += work.look_at_zone(zone, now).await?;
        }
        work.set_zone_rules(&rules).await?;
        work.commit().await?;
        if !changed.is_empty() {
            tracing::info!(
                release,
                zones = changed.join(" "),
                households,
                "rules of zones have changed"
            );
            self.woken.notify_one();
        }
        Ok(households)
    }
}

/// What is still to come of a zone's changes: the offset now, then each change.
fn coming(rules: &str, now: Instant) -> (String, Vec<&str>) {
    let mut offset = "";
    let mut to_come = Vec::new();
    for (place, change) in rules.split(' ').enumerate() {
        let past = change.split_once('>').and_then(|(at, after)| {
            let at: i64 = at.parse().ok()?;
            (at <= now.timestamp()).then_some(after)
        });
        match past {
            Some(after) => offset = after,
            None if place == 0 => offset = change,
            None => to_come.push(change),
        }
    }
    (offset.to_owned(), to_come)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_change_that_is_past_is_the_offset_now() {
        let now = Instant::from_timestamp(150, 0).unwrap();
        let before = coming("-25200 100>-21600 200>-25200", now);
        assert_eq!(before, coming("-21600 200>-25200", now));
        assert_ne!(before, coming("-25200 200>-25200", now));
        assert_ne!(before, coming("-21600 201>-25200", now));
    }
}
