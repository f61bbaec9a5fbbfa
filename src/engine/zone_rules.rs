//! A newer release of the tz database moves instants that were resolved by an
//! older one: whatever waits in a zone whose rules changed is looked at afresh.

use super::{AGAIN, Engine};
use crate::domain::Instant;
use crate::domain::zone::{self, Zone, fingerprint};
use crate::store::{StoreError, ZoneRules};
use chrono::TimeDelta;
use std::collections::BTreeMap;

/// How far ahead rules are compared: longer than a course may last.
const AHEAD: TimeDelta = TimeDelta::days(2 * 366);
/// A clock is never put by more than a day (Pacific/Apia left out a whole one in 2011):
/// whatever is to be done earlier than this before the first change that differs is
/// done at the same instant by both rules.
const BEFORE: TimeDelta = TimeDelta::days(2);

impl Engine {
    /// Compares the zones' rules with those by which this database's instants
    /// were resolved; gives how many households are looked at afresh. Quick
    /// where the release is the same as last time.
    ///
    /// # Errors
    /// The database fails.
    pub async fn note_zone_rules(&self, now: Instant) -> Result<u64, StoreError> {
        let mut again = 0;
        loop {
            match self.try_to_note_zone_rules(now).await {
                // Workers that start together note the same.
                Err(error) if error.is_passing() && again < AGAIN => again += 1,
                noted => return noted,
            }
        }
    }

    async fn try_to_note_zone_rules(&self, now: Instant) -> Result<u64, StoreError> {
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
                && let Some(from) =
                    differ_from(&before.rules, &fingerprint(zone, now, before.until), now)
            {
                changed.push((zone.name(), now.max(from - BEFORE)));
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
        for (zone, from) in &changed {
            households += work.look_at_zone(zone, *from, now).await?;
        }
        // Their alerts may wait for a clinic's opening, by that clinic's clock: whichever
        // clinics share these records, few households have an alert that nobody has seen.
        if let Some(from) = changed.iter().map(|(_, from)| *from).min() {
            households += work.look_at_unseen(from, now).await?;
        }
        work.set_zone_rules(&rules).await?;
        work.commit().await?;
        if !changed.is_empty() {
            let zones: Vec<&str> = changed.iter().map(|(zone, _)| *zone).collect();
            tracing::info!(
                release,
                zones = zones.join(" "),
                households,
                "rules of zones have changed"
            );
            self.woken.notify_one();
        }
        Ok(households)
    }
}

/// From when on two rules for a zone differ, of what is still to come; none where they do not.
fn differ_from(before: &str, after: &str, now: Instant) -> Option<Instant> {
    let ((offset, before), (new_offset, after)) = (coming(before, now), coming(after, now));
    if offset != new_offset {
        return Some(now);
    }
    let alike = before
        .iter()
        .zip(&after)
        .take_while(|(one, other)| one == other);
    let behind = alike.count();
    let firsts = [before.get(behind), after.get(behind)];
    firsts.into_iter().flatten().map(|(at, _)| *at).min()
}

/// What is still to come of a zone's changes: the offset now, then when each
/// change comes and the offset after it.
fn coming(rules: &str, now: Instant) -> (&str, Vec<(Instant, &str)>) {
    let mut offset = "";
    let mut to_come = Vec::new();
    for word in rules.split(' ') {
        // The first is the offset that it begins with.
        let Some((at, after)) = word.split_once('>') else {
            offset = word;
            continue;
        };
        let seconds = at.parse().unwrap_or_default();
        let at = Instant::from_timestamp(seconds, 0).unwrap_or_default();
        match at <= now {
            true => offset = after,
            false => to_come.push((at, after)),
        }
    }
    (offset, to_come)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rules_differ_from_the_first_change_that_does() {
        let at = |seconds| Instant::from_timestamp(seconds, 0).unwrap();
        let differ = |one, other| differ_from(one, other, at(150));
        let known = "-25200 100>-21600 200>-25200";
        assert_eq!(differ(known, known), None);
        // A change that is past is the offset now.
        assert_eq!(differ(known, "-21600 200>-25200"), None);
        assert_eq!(differ(known, "-25200 200>-25200"), Some(at(150)));
        assert_eq!(differ(known, "-21600 201>-25200"), Some(at(200)));
        assert_eq!(differ(known, "-21600 200>-18000"), Some(at(200)));
        assert_eq!(differ(known, "-21600"), Some(at(200)));
        let longer = "-21600 200>-25200 300>-21600";
        assert_eq!(differ(known, longer), Some(at(300)));
        assert_eq!(differ(longer, known), Some(at(300)));
    }
}
