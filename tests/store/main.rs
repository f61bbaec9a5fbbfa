//! The store through its public interface. Every test is handed a fresh store
//! by `with_store`, so that the same suite can run on another database.

#[path = "../support/behaviour.rs"]
mod behaviour;
#[path = "../support/home.rs"]
mod home;

mod households;
mod inbox;
mod invitations;
mod outbox;
mod round_trips;

use std::future::Future;
use vialbell::store::{Store, StoreError};

/// Runs a test on a fresh database of every kind that there is.
fn with_store<F, R>(test: F)
where
    F: Fn(Store) -> R,
    R: Future<Output = Result<(), StoreError>>,
{
    let runtime = tokio::runtime::Builder::new_current_thread()
        .build()
        .unwrap();
    runtime.block_on(async {
        let store = Store::throw_away().await.unwrap();
        test(store).await.unwrap();
    });
}
