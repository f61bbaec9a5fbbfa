//! A platform that takes its time.

use super::fake::{CLINIC, Clinic, texts, with};
use super::home::at;
use chrono::TimeDelta;
use std::time::Duration;
use tokio::sync::watch;
use vialbell::domain::Instant;

/// Nothing here takes longer; what does never comes.
const PATIENCE: Duration = Duration::from_secs(20);

fn start() -> Instant {
    at("2026-03-06T01:00:00Z")
}

/// A clinic that is served, with two carers, at a platform that limits how fast we speak.
async fn served() -> (Clinic, impl AsyncFnOnce()) {
    let clinic = Clinic::open(start()).await;
    clinic.engine.set_pace(1_000);
    clinic.platform.pace();
    clinic.enrol("maren", start()).await;
    clinic.step(start()).await;
    for address in ["maren", "maren-other", CLINIC] {
        clinic.platform.taken(address);
    }
    let (stop, stopped) = watch::channel(false);
    let serving = tokio::spawn(vialbell::serve::work(clinic.engine.clone(), stopped));
    let end = async move || {
        stop.send(true).unwrap();
        let ended = tokio::time::timeout(PATIENCE, serving).await;
        ended.expect("it ends").unwrap();
    };
    (clinic, end)
}

async fn taken(clinic: &Clinic, address: &str, words: &str) {
    let taken = async {
        while with(&clinic.platform.taken(address), words) == 0 {
            tokio::time::sleep(Duration::from_millis(5)).await;
        }
    };
    let taken = tokio::time::timeout(PATIENCE, taken).await;
    assert!(taken.is_ok(), "{address} never reads {words:?}");
}

#[tokio::test]
async fn a_chat_that_does_not_answer_holds_up_no_other() {
    let (mut clinic, end) = served().await;
    clinic.platform.hang("maren-other", true);
    clinic.says("maren-other", "when is the next dose?").await;
    clinic.platform.hung().await;
    clinic.says("maren", "when is the next dose?").await;
    taken(&clinic, "maren", "7:30 pm").await;
    clinic.says("maren", "she collapsed").await;
    taken(&clinic, CLINIC, "she collapsed").await;
    // What is for the same chat waits behind it, unless it is urgent.
    clinic.clock.set(start() + TimeDelta::seconds(10));
    clinic.says("maren-other", "when is the next dose?").await;
    clinic.says("maren", "when is the next dose?").await;
    taken(&clinic, "maren", "7:30 pm").await;
    let tried = clinic.platform.tried("maren-other");
    assert_eq!(with(&tried, "next dose"), 1, "{:?}", texts(&tried));
    clinic.platform.hang("maren-other", false);
    taken(&clinic, "maren-other", "7:30 pm").await;
    end().await;
    let outbox = clinic.outbox().await;
    assert_eq!(outbox.get("waiting"), None, "{outbox:?}");
}

#[tokio::test]
async fn whoever_stops_waits_for_what_is_under_way_and_notes_it() {
    let (mut clinic, end) = served().await;
    clinic.platform.hang("maren", true);
    clinic.says("maren", "when is the next dose?").await;
    clinic.platform.hung().await;
    let ending = end();
    let released = async {
        tokio::time::sleep(Duration::from_millis(100)).await;
        let outbox = clinic.outbox().await;
        assert_eq!(outbox.get("waiting"), Some(&1), "{outbox:?}");
        clinic.platform.hang("maren", false);
    };
    tokio::join!(ending, released);
    let outbox = clinic.outbox().await;
    assert_eq!(outbox.get("waiting"), None, "{outbox:?}");
    assert_eq!(clinic.platform.taken("maren").len(), 1);
}

#[tokio::test]
async fn what_was_sent_and_could_not_be_noted_is_noted_later_and_not_sent_again() {
    let mut clinic = Clinic::open(start()).await;
    clinic.enrol("maren", start()).await;
    clinic.step(start()).await;
    clinic.platform.tried("maren");
    clinic.says("maren", "when is the next dose?").await;
    clinic.engine.think(start()).await.unwrap();
    clinic.forbid_to_settle().await;
    let mut under_way = clinic.engine.under_way();
    let failed = under_way.go_on(start(), &mut |_| {}).await;
    assert!(failed.is_err());
    assert_eq!(clinic.platform.tried("maren").len(), 1);
    assert_eq!(clinic.outbox().await["waiting"], 1);
    clinic.allow_to_settle().await;
    let mut told = 0;
    let later = start() + TimeDelta::seconds(5);
    under_way.go_on(later, &mut |_| told += 1).await.unwrap();
    assert_eq!(told, 1);
    drop(under_way);
    // Long after its lease has ended.
    clinic.step(start() + TimeDelta::minutes(5)).await;
    assert_eq!(clinic.platform.tried("maren"), []);
    let outbox = clinic.outbox().await;
    assert_eq!(outbox.get("waiting"), None, "{outbox:?}");
}
