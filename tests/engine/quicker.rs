//! Somebody else changes a household between its reading and its saving: what
//! was decided on the old state is dropped, and decided anew.

use super::fake::{Clinic, texts, with};
use super::home::at;
use futures_util::future::BoxFuture;
use sqlx::AnyConnection;
use std::sync::Arc;
use std::sync::atomic::{AtomicU32, Ordering};
use vialbell::domain::Instant;
use vialbell::store::{Moment, StoreError, Watch};

const DUE: &str = "2026-03-06T02:30:00Z";

/// Writes to the households that are due when a transaction begins, as often as it is told to.
#[derive(Default)]
struct Quicker {
    left: AtomicU32,
    struck: AtomicU32,
}

impl Watch for Quicker {
    fn at<'a>(
        &'a self,
        moment: Moment,
        connection: &'a mut AnyConnection,
    ) -> BoxFuture<'a, Result<(), StoreError>> {
        Box::pin(async move {
            if moment != Moment::Beginning || self.left.load(Ordering::Relaxed) == 0 {
                return Ok(());
            }
            let due: Instant = at(DUE);
            let written = sqlx::query(
                "update household set version = version + 1, owner = 'Ilka' where wake_at <= $1",
            )
            .bind(due.timestamp_millis())
            .execute(connection)
            .await?;
            if written.rows_affected() > 0 {
                self.left.fetch_sub(1, Ordering::Relaxed);
                self.struck.fetch_add(1, Ordering::Relaxed);
            }
            Ok(())
        })
    }
}

#[tokio::test]
async fn what_was_decided_on_a_household_that_changed_meanwhile_is_decided_anew() {
    let (start, due) = (at("2026-03-06T01:00:00Z"), at(DUE));
    let quicker = Arc::new(Quicker::default());
    let clinic = Clinic::watched(start, quicker.clone()).await;
    let id = clinic.enrol("maren", start).await;
    clinic
        .pass(start, due - chrono::TimeDelta::seconds(1))
        .await;
    clinic.platform.taken("maren");
    quicker.left.store(3, Ordering::Relaxed);
    clinic.step(due).await;
    assert_eq!(quicker.struck.load(Ordering::Relaxed), 3);
    let said = clinic.platform.taken("maren");
    assert_eq!(with(&said, "dose due"), 1, "asked once: {:?}", texts(&said));
    let household = clinic.household(id).await;
    assert_eq!(household.owner, "Ilka", "the other's change stands");
    assert_eq!(household.courses[&1].touched[&1].asked, 1);
}

#[tokio::test]
async fn a_message_on_a_household_that_changed_meanwhile_is_decided_anew_and_answered_once() {
    let (start, due) = (at("2026-03-06T01:00:00Z"), at(DUE));
    let quicker = Arc::new(Quicker::default());
    let mut clinic = Clinic::watched(start, quicker.clone()).await;
    let id = clinic.enrol("maren", start).await;
    let before = due - chrono::TimeDelta::seconds(1);
    clinic.pass(start, before).await;
    clinic.platform.taken("maren");
    clinic.says("maren", "when is the next dose?").await;
    // Four times the batch, and twice the row by itself.
    quicker.left.store(6, Ordering::Relaxed);
    clinic.step(before).await;
    assert_eq!(quicker.struck.load(Ordering::Relaxed), 6);
    let said = clinic.platform.taken("maren");
    assert_eq!(said.len(), 1, "answered once: {:?}", texts(&said));
    let household = clinic.household(id).await;
    assert_eq!(household.owner, "Ilka", "the other's change stands");
    assert_eq!(
        household.carers[&1].said.as_deref(),
        Some("when is the next dose?")
    );
}
