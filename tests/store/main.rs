//! The store through its public interface. Every test is handed a fresh store
//! by `with_store`: on SQLite, and by the ignored test on PostgreSQL.

#[path = "../support/behaviour.rs"]
mod behaviour;
#[path = "../support/file.rs"]
mod file;
#[path = "../support/home.rs"]
mod home;
#[path = "../support/postgres.rs"]
mod postgres;

mod counted;
mod households;
mod inbox;
mod invitations;
mod outbox;
mod reading;
mod round_trips;
mod sharing;

use std::future::Future;
use vialbell::store::{Store, StoreError};

/// Runs a test on a fresh database of every kind that there is.
fn with_store<F, R>(test: F)
where
    F: Fn(Store) -> R,
    R: Future<Output = Result<(), StoreError>>,
{
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .unwrap();
    runtime.block_on(async {
        let file = file::File::new();
        let url = postgres::fresh().await.unwrap_or_else(|| file.url());
        test(Store::open(&url).await.unwrap()).await.unwrap();
    });
}

#[test]
#[ignore = "needs PostgreSQL"]
fn the_whole_suite_on_postgresql() {
    postgres::run_this_suite_on_postgres();
}
