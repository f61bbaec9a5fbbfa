//! A database that several workers share.

use super::{postgres, with_store};
use std::time::Duration;
use tokio::time::timeout;

#[test]
fn one_of_four_workers_has_two_transactions_at_a_time_and_waits_a_moment_for_a_third() {
    with_store(|store| async move {
        store.share(4);
        let one = store.begin().await?;
        let two = store.begin().await?;
        let soon = timeout(Duration::from_millis(50), store.begin()).await;
        // SQLite has no others to share with.
        assert_eq!(soon.is_err(), postgres::is_meant());
        // Whoever holds the two may be waiting for this one.
        let three = store.begin().await?;
        for work in [one, two, three] {
            work.roll_back().await?;
        }
        Ok(())
    });
}
