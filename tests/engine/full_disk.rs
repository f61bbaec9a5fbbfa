//! A disk that is full is the fault of nothing that waits: it goes on waiting,
//! however often it is tried, and is decided on as soon as there is room.

use super::fake::Clinic;
use super::home::at;
use chrono::TimeDelta;
use futures_util::future::BoxFuture;
use sqlx::{AnyConnection, Row};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use vialbell::store::{Moment, StoreError, Watch};

/// A disk with room for a note that something failed, but not for what a row leads to.
#[derive(Default)]
struct Disk {
    full: AtomicBool,
}

impl Watch for Disk {
    fn at<'a>(
        &'a self,
        moment: Moment,
        connection: &'a mut AnyConnection,
    ) -> BoxFuture<'a, Result<(), StoreError>> {
        Box::pin(async move {
            if !self.full.load(Ordering::Relaxed) {
                let room = "pragma max_page_count = 1000000";
                sqlx::query(room).fetch_all(&mut *connection).await?;
                return Ok(());
            }
            if moment != Moment::Committing {
                return Ok(());
            }
            let row = sqlx::query("select count(*) from inbox where state = 'settled'")
                .fetch_one(&mut *connection)
                .await?;
            if row.try_get::<i64, _>(0)? == 0 {
                return Ok(());
            }
            // SQLite's own limit, never below what is there, gives SQLITE_FULL as a disk does.
            for sql in [
                "pragma max_page_count = 1",
                "create table filler as select hex(zeroblob(100000)) as x",
            ] {
                sqlx::query(sql).fetch_all(&mut *connection).await?;
            }
            unreachable!("there is no room for that")
        })
    }
}

#[tokio::test]
async fn what_waits_on_a_full_disk_is_decided_on_when_there_is_room() {
    let start = at("2026-03-06T02:31:00Z");
    let disk = Arc::new(Disk::default());
    let mut clinic = Clinic::watched(start, disk.clone()).await;
    let id = clinic.enrol("maren", start).await;
    clinic.step(start).await;
    clinic.says("maren", "given").await;
    disk.full.store(true, Ordering::Relaxed);
    let mut failed = Vec::new();
    for minutes in 0..5 {
        let step = clinic.try_step(start + TimeDelta::minutes(minutes)).await;
        failed.extend(step.err());
    }
    let full = |error: &StoreError| error.to_string().contains("database or disk is full");
    assert_eq!(
        failed.iter().filter(|error| full(error)).count(),
        5,
        "{failed:?}"
    );
    disk.full.store(false, Ordering::Relaxed);
    clinic.step(start + TimeDelta::minutes(9)).await;
    assert_eq!(clinic.household(id).await.administrations.len(), 1);
}
