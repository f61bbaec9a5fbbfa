//! More households are due at once than share one commit.

use super::fake::{self, Clinic, with};
use super::gate::Gate;
use super::home::at;
use chrono::TimeDelta;
use sqlx::{AnyConnection, AssertSqlSafe, Connection};
use std::sync::Arc;
use std::sync::atomic::Ordering;
use std::time::Duration;
use tokio::sync::watch;
use vialbell::domain::Instant;

/// A full batch, and behind it a full one and a part of one: in PostgreSQL these two are under
/// way beside each other.
const HOMES: usize = 410;
const START: &str = "2026-03-06T01:00:00Z";
const DUE: &str = "2026-03-06T02:30:00Z";

/// A second before the first dose of them all.
async fn before_the_rush() -> (Clinic, Vec<(i64, String)>, Instant) {
    let clinic = Clinic::open(at(START)).await;
    let homes = fill(&clinic, HOMES).await;
    (clinic, homes, at(DUE))
}

async fn fill(clinic: &Clinic, count: usize) -> Vec<(i64, String)> {
    let (start, due) = (at(START), at(DUE));
    let mut homes = Vec::new();
    for n in 0..count {
        let name = format!("home-{n}");
        homes.push((clinic.enrol(&name, start).await, name));
    }
    clinic.pass(start, due - TimeDelta::seconds(1)).await;
    for (_, name) in &homes {
        clinic.platform.taken(name);
    }
    homes
}

async fn each_is_asked_once(clinic: &Clinic, homes: Vec<(i64, String)>) {
    for (id, name) in homes {
        let said = clinic.platform.taken(&name);
        assert_eq!(with(&said, "dose due"), 1, "{name}");
        let household = clinic.household(id).await;
        assert_eq!(household.courses[&1].touched[&1].asked, 1, "{name}");
    }
}

#[tokio::test]
async fn of_more_homes_than_a_batch_holds_each_is_asked_once() {
    let (clinic, homes, due) = before_the_rush().await;
    clinic.step(due).await;
    each_is_asked_once(&clinic, homes).await;
}

/// Whoever has one transaction at a time claims what others claim in two, with half the trips.
#[tokio::test]
async fn of_many_workers_each_wakes_more_homes_in_one_commit() {
    for (workers, most) in [(1, 200), (3, 400)] {
        let (clinic, homes, due) = before_the_rush().await;
        clinic.engine.share(Some(1_000_000), workers);
        clinic.step(due).await;
        each_is_asked_once(&clinic, homes).await;
        if !fake::postgres::is_meant() {
            continue;
        }
        let mut db = AnyConnection::connect(&clinic.url()).await.unwrap();
        // The transaction that wrote a row of the journal, which is never changed.
        let by_commit: Vec<i64> = sqlx::query_scalar(
            "select count(distinct household) from journal where at = $1 \
             group by cast(xmin as text) order by 1 desc",
        )
        .bind(due.timestamp_millis())
        .fetch_all(&mut db)
        .await
        .unwrap();
        assert_eq!(by_commit[0], most, "{workers} workers: {by_commit:?}");
    }
}

/// Homes of which somebody is asked before the first words of danger are decided on, and
/// behind them.
async fn around_the_danger(clinic: &Clinic) -> (i64, i64) {
    let mut db = AnyConnection::connect(&clinic.url()).await.unwrap();
    let asked = "select count(distinct household) from outbox where lane = 2 and created_at >= $1";
    let first = "(select min(id) from outbox where lane = 0)";
    let mut count = async |way: &str| -> i64 {
        let sql = format!("{asked} and id {way} {first}");
        let asked = sqlx::query_scalar(AssertSqlSafe(sql)).bind(at(DUE).timestamp_millis());
        asked.fetch_one(&mut db).await.unwrap()
    };
    (count("<").await, count(">").await)
}

#[tokio::test]
async fn words_of_danger_wait_for_no_rush() {
    let gate = Arc::new(Gate::default());
    gate.stops_one.store(true, Ordering::Relaxed);
    let mut clinic = Clinic::watched_anywhere(at(START), gate.clone()).await;
    // Two full batches, and a part of one.
    let is_server = fake::postgres::is_meant();
    let homes = fill(&clinic, if is_server { 810 } else { HOMES }).await;
    clinic.engine.share(Some(1_000_000), 3);
    clinic.clock.set(at(DUE));
    gate.shut.store(true, Ordering::Relaxed);
    let engine = clinic.engine.clone();
    let waking = tokio::spawn(async move { engine.think(at(DUE)).await });
    gate.reached.notified().await;
    // Whoever writes while the first batch is committed is the next to write to the database.
    let passes = async { gate.passes.notify_one() };
    tokio::join!(clinic.says("home-0", "she collapsed"), passes);
    waking.await.unwrap().unwrap();
    let (before, behind) = around_the_danger(&clinic).await;
    assert!(
        before >= 200 && behind >= 10,
        "{before} before, {behind} behind"
    );
    clinic.step(at(DUE)).await;
    each_is_asked_once(&clinic, homes).await;
}

/// Two batches are under way beside each other; she whose home is in the one that stands still
/// is passed over by whoever wakes the other, and not forgotten.
#[tokio::test]
async fn words_of_danger_are_heard_from_whom_another_batch_holds() {
    if !fake::postgres::is_meant() {
        // There one batch comes after the other.
        return;
    }
    let gate = Arc::new(Gate::default());
    gate.stops_one.store(true, Ordering::Relaxed);
    let mut clinic = Clinic::watched_anywhere(at(START), gate.clone()).await;
    let homes = fill(&clinic, 810).await;
    clinic.clock.set(at(DUE));
    let mut db = AnyConnection::connect(&clinic.url()).await.unwrap();
    let mut due = async |at_most: usize| -> Vec<i64> {
        loop {
            let due = "select id from household where wake_at <= $1 order by wake_at, id";
            let due = sqlx::query_scalar(due).bind(at(DUE).timestamp_millis());
            let due: Vec<i64> = due.fetch_all(&mut db).await.unwrap();
            if due.len() <= at_most {
                return due;
            }
            tokio::time::sleep(Duration::from_millis(1)).await;
        }
    };
    // That they were enrolled is no news.
    clinic.engine.woken().await;
    let engine = clinic.engine.clone();
    let waking = tokio::spawn(async move { engine.think(at(DUE)).await });
    // Of the two batches behind the first, one stands still.
    let behind_the_first = due(610).await;
    gate.shut.store(true, Ordering::Relaxed);
    gate.reached.notified().await;
    let left = due(410).await;
    let held = behind_the_first[..400].iter().find(|id| left.contains(id));
    let home = homes.iter().find(|(id, _)| Some(id) == held);
    clinic.says(&home.unwrap().1, "she collapsed").await;
    due(200).await;
    gate.passes.notify_one();
    waking.await.unwrap().unwrap();
    let (before, behind) = around_the_danger(&clinic).await;
    assert_eq!((before, behind), (810, 0), "she is answered, and last");
    // Whom another worker holds is looked for once more.
    let again = tokio::time::timeout(Duration::from_secs(1), clinic.engine.woken()).await;
    assert!(again.is_ok());
    clinic.step(at(DUE)).await;
    each_is_asked_once(&clinic, homes).await;
}

/// What is claimed is begun while the last is settled, in batches that overlap.
#[tokio::test]
async fn while_it_serves_each_is_asked_once_and_by_one_try() {
    let (clinic, homes, due) = before_the_rush().await;
    clinic.platform.pace();
    // No turn is waited for: the clock stands still.
    clinic.engine.set_pace(1_000_000);
    clinic.clock.set(due);
    let (stop, stopped) = watch::channel(false);
    let serving = tokio::spawn(vialbell::serve::work(clinic.engine.clone(), stopped));
    let asked = async {
        loop {
            let next = clinic.engine.next_wake().await.unwrap();
            if next > Some(due) && !clinic.outbox().await.contains_key("waiting") {
                return;
            }
            tokio::time::sleep(Duration::from_millis(10)).await;
        }
    };
    let asked = tokio::time::timeout(Duration::from_secs(60), asked).await;
    assert!(asked.is_ok(), "{:?}", clinic.outbox().await);
    stop.send(true).unwrap();
    serving.await.unwrap();
    each_is_asked_once(&clinic, homes).await;
    let mut db = AnyConnection::connect(&clinic.url()).await.unwrap();
    let tries: i64 = sqlx::query_scalar("select cast(max(tries) as bigint) from outbox")
        .fetch_one(&mut db)
        .await
        .unwrap();
    assert_eq!(tries, 1);
}
