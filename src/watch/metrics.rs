//! The program's figures in the text format of OpenMetrics.

use crate::domain::Instant;
use crate::engine::{Counts, Engine, Health};
use prometheus_client::encoding::text::encode;
use prometheus_client::metrics::counter::Counter;
use prometheus_client::metrics::family::Family;
use prometheus_client::metrics::gauge::Gauge;
use prometheus_client::registry::Registry;
use std::fmt;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

/// The content type of the format (OpenMetrics 1.0.0, "Overall Structure").
pub(super) const FORMAT: &str = "application/openmetrics-text; version=1.0.0; charset=utf-8";

type Labels = Vec<(&'static str, String)>;
/// A counter's name, what it counts, and where it stands.
type Counted = (&'static str, &'static str, fn(&Counts) -> &AtomicU64);
/// A gauge's name, what it shows, and its value where there is one.
type Shown = (&'static str, &'static str, fn(&Health) -> Option<i64>);

const COUNTERS: [Counted; 9] = [
    (
        "vialbell_arrivals_accepted",
        "Arrivals that were stored",
        |c| &c.accepted,
    ),
    (
        "vialbell_arrivals_settled",
        "Arrivals that were decided on",
        |c| &c.settled,
    ),
    (
        "vialbell_arrivals_quarantined",
        "Arrivals that could not be handled and were put aside",
        |c| &c.quarantined,
    ),
    (
        "vialbell_households_woken",
        "Households that were looked at because their time had come",
        |c| &c.woken,
    ),
    (
        "vialbell_messages_sent",
        "Messages that a channel took",
        |c| &c.sent,
    ),
    (
        "vialbell_messages_later",
        "Tries to send that the platform asked to repeat later",
        |c| &c.later,
    ),
    (
        "vialbell_messages_unclear",
        "Tries to send whose end is not known",
        |c| &c.unclear,
    ),
    (
        "vialbell_messages_refused",
        "Messages for a closed chat, or that the platform does not take",
        |c| &c.refused,
    ),
    (
        "vialbell_messages_late",
        "Messages that were of no use any more when they could be sent",
        |c| &c.late,
    ),
];

const GAUGES: [Shown; 8] = [
    (
        "vialbell_database_up",
        "Whether the database answers",
        |h| Some(i64::from(h.backlog.is_ok())),
    ),
    (
        "vialbell_inbox_waiting",
        "Arrivals that are not settled",
        |h| count(h.backlog.as_ref().ok()?.inbox.count),
    ),
    (
        "vialbell_inbox_oldest_seconds",
        "Age of the oldest of them",
        |h| age(h, h.backlog.as_ref().ok()?.inbox.since),
    ),
    (
        "vialbell_outbox_waiting",
        "Messages that may be sent now and are not",
        |h| count(h.backlog.as_ref().ok()?.outbox.count),
    ),
    (
        "vialbell_outbox_oldest_seconds",
        "Age of the oldest of them",
        |h| age(h, h.backlog.as_ref().ok()?.outbox.since),
    ),
    (
        "vialbell_households_due",
        "Households that were to be looked at by now",
        |h| count(h.backlog.as_ref().ok()?.households.count),
    ),
    (
        "vialbell_households_oldest_seconds",
        "How long the first of them has been due",
        |h| age(h, h.backlog.as_ref().ok()?.households.since),
    ),
    (
        "vialbell_messenger_contact_age_seconds",
        "Time since this process last reached the messenger",
        |h| age(h, Some(h.contact?)),
    ),
];

fn count(count: u64) -> Option<i64> {
    i64::try_from(count).ok()
}

/// Seconds since then; none waits for 0 seconds.
fn age(health: &Health, since: Option<Instant>) -> Option<i64> {
    Some(since.map_or(0, |since| (health.at - since).num_seconds().max(0)))
}

/// The figures of every clinic in this process.
pub(super) async fn text(engines: &[Arc<Engine>]) -> Result<String, fmt::Error> {
    let mut registry = Registry::default();
    let counters = COUNTERS.map(|(name, help, of)| {
        let family = Family::<Labels, Counter>::default();
        registry.register(name, help, family.clone());
        (family, of)
    });
    let gauges = GAUGES.map(|(name, help, of)| {
        let family = Family::<Labels, Gauge>::default();
        registry.register(name, help, family.clone());
        (family, of)
    });
    for engine in engines {
        let clinic: Labels = vec![("clinic", engine.policy().clinic.key.clone())];
        let health = engine.health().await;
        for (family, of) in &counters {
            let counted = of(engine.counts()).load(Ordering::Relaxed);
            family.get_or_create(&clinic).inc_by(counted);
        }
        for (family, of) in &gauges {
            if let Some(value) = of(&health) {
                family.get_or_create(&clinic).set(value);
            }
        }
    }
    let mut text = String::new();
    encode(&mut text, &registry)?;
    Ok(text)
}
