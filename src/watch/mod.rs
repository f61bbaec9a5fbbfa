//! Watching the program run: `/healthz` for whoever restarts it, `/metrics` for
//! whoever draws its curves. Neither says anything about an owner or a patient.

mod metrics;

use crate::domain::Instant;
use crate::engine::{Engine, Health};
use crate::store::Backlog;
use anyhow::Context;
use axum::extract::State;
use axum::http::{StatusCode, header};
use axum::response::IntoResponse;
use axum::routing::get;
use axum::{Json, Router};
use chrono::TimeDelta;
use serde_json::{Value, json};
use std::net::SocketAddr;
use std::sync::Arc;
use tokio::net::TcpListener;
use tokio::sync::watch;

/// A message that could go out and has not for this long: sending has stopped.
const UNSENT: TimeDelta = TimeDelta::minutes(10);
/// What came in, or a household that is due, and was not looked at for this long: deciding has stopped.
const UNDECIDED: TimeDelta = TimeDelta::minutes(2);

/// Listens where the figures are to be served.
///
/// # Errors
/// When the address cannot be listened on.
pub async fn listen(address: SocketAddr) -> anyhow::Result<TcpListener> {
    let listening = TcpListener::bind(address).await;
    listening.with_context(|| format!("watch.listen: {address}"))
}

/// Serves `/healthz` and `/metrics` until `stop` is true.
///
/// # Errors
/// When the listener fails.
pub async fn serve(
    listener: TcpListener,
    engines: Vec<Arc<Engine>>,
    mut stop: watch::Receiver<bool>,
) -> anyhow::Result<()> {
    let router = Router::new()
        .route("/healthz", get(healthz))
        .route("/metrics", get(metrics_text))
        .with_state(Arc::new(engines));
    let stopped = async move {
        let _ = stop.wait_for(|stop| *stop).await;
    };
    axum::serve(listener, router)
        .with_graceful_shutdown(stopped)
        .await
        .context("watch")
}

async fn healthz(State(engines): State<Arc<Vec<Arc<Engine>>>>) -> impl IntoResponse {
    let mut clinics = Vec::new();
    let mut all_well = true;
    for engine in engines.iter() {
        let health = engine.health().await;
        let troubles = troubles(&health, engine.policy().unreached);
        all_well &= troubles.is_empty();
        clinics.push(shown(&engine.policy().clinic.key, &health, &troubles));
    }
    let status = match all_well {
        true => StatusCode::OK,
        false => StatusCode::SERVICE_UNAVAILABLE,
    };
    let body = json!({ "well": all_well, "clinics": clinics });
    (status, Json(body))
}

async fn metrics_text(State(engines): State<Arc<Vec<Arc<Engine>>>>) -> impl IntoResponse {
    match metrics::text(&engines).await {
        Ok(text) => ([(header::CONTENT_TYPE, metrics::FORMAT)], text).into_response(),
        Err(_) => StatusCode::INTERNAL_SERVER_ERROR.into_response(),
    }
}

/// What is wrong, in words for whoever is called at night.
fn troubles(health: &Health, unreached: TimeDelta) -> Vec<&'static str> {
    let long = |since: Option<Instant>, limit: TimeDelta| {
        since.is_some_and(|since| health.at - since >= limit)
    };
    let mut found = Vec::new();
    match &health.backlog {
        Err(_) => found.push("the database does not answer"),
        Ok(backlog) => {
            if long(backlog.inbox.since, UNDECIDED) || long(backlog.households.since, UNDECIDED) {
                found.push("what is due is not decided on");
            }
            if long(backlog.outbox.since, UNSENT) {
                found.push("messages that are due are not sent");
            }
        }
    }
    // A process that has not reached the platform yet is starting, or is not
    // the one that asks it; messages that pile up are seen above.
    if long(health.contact, unreached) {
        found.push("the messenger is out of reach");
    }
    found
}

fn shown(clinic: &str, health: &Health, troubles: &[&str]) -> Value {
    let seconds =
        |since: Option<Instant>| since.map(|since| (health.at - since).num_seconds().max(0));
    let waits = |backlog: &Backlog| {
        json!({
            "inbox": { "count": backlog.inbox.count, "oldest_s": seconds(backlog.inbox.since) },
            "outbox": { "count": backlog.outbox.count, "oldest_s": seconds(backlog.outbox.since) },
            "households": {
                "count": backlog.households.count,
                "oldest_s": seconds(backlog.households.since),
            },
        })
    };
    json!({
        "clinic": clinic,
        "troubles": troubles,
        "database": health.backlog.is_ok(),
        "messenger_reached_s_ago": seconds(health.contact),
        "waiting": health.backlog.as_ref().ok().map(waits),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::{Backlogged, StoreError};

    fn at(minutes: i64) -> Instant {
        Instant::from_timestamp_millis(minutes * 60_000).unwrap()
    }

    fn since(minutes: i64) -> Backlogged {
        Backlogged {
            count: 1,
            since: Some(at(minutes)),
        }
    }

    fn of(backlog: Backlog, contact: Option<i64>) -> Vec<&'static str> {
        let health = Health {
            at: at(60),
            contact: contact.map(at),
            backlog: Ok(backlog),
        };
        troubles(&health, TimeDelta::minutes(15))
    }

    #[test]
    fn what_waits_too_long_is_trouble_and_what_just_came_is_not() {
        let none = Backlog::default();
        assert_eq!(of(none, Some(59)), [""; 0]);
        assert_eq!(of(none, None), [""; 0], "it is starting");
        assert_eq!(of(none, Some(45)), ["the messenger is out of reach"]);
        let inbox = |inbox| Backlog { inbox, ..none };
        assert_eq!(of(inbox(since(59)), Some(60)), [""; 0]);
        assert_eq!(
            of(inbox(since(58)), Some(60)),
            ["what is due is not decided on"]
        );
        let households = Backlog {
            households: since(58),
            ..none
        };
        assert_eq!(of(households, Some(60)), ["what is due is not decided on"]);
        let outbox = |outbox| Backlog { outbox, ..none };
        assert_eq!(of(outbox(since(51)), Some(60)), [""; 0]);
        assert_eq!(
            of(outbox(since(50)), Some(60)),
            ["messages that are due are not sent"]
        );
    }

    #[test]
    fn a_database_that_does_not_answer_is_trouble() {
        let health = Health {
            at: at(0),
            contact: None,
            backlog: Err(StoreError::Url("nowhere".into())),
        };
        let found = troubles(&health, TimeDelta::minutes(15));
        assert_eq!(found, ["the database does not answer"]);
        assert_eq!(shown("here", &health, &found)["waiting"], Value::Null);
    }
}
