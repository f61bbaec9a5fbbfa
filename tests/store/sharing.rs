//! A database that several workers share.

use super::{postgres, with_store};
use std::time::Duration;
use tokio::time::timeout;

#[test]
fn workers_that_share_have_a_transaction_or_two_at_a_time_and_wait_a_moment_for_another() {
    with_store(|store| async move {
        for (workers, each) in [(2, 2), (3, 1), (4, 1), (5, 1)] {
            store.share(workers);
            let mut open = Vec::new();
            for _ in 0..each {
                open.push(store.begin().await?);
            }
            let soon = timeout(Duration::from_millis(50), store.begin()).await;
            // SQLite has no others to share with.
            assert_eq!(soon.is_err(), postgres::is_meant(), "{workers} workers");
            // Whoever holds them may be waiting for this one.
            open.push(store.begin().await?);
            for work in open {
                work.roll_back().await?;
            }
        }
        Ok(())
    });
}
