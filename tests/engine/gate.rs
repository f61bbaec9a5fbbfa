//! A commit that stands still until a test lets it pass.

use futures_util::future::BoxFuture;
use sqlx::AnyConnection;
use std::sync::atomic::{AtomicBool, Ordering};
use tokio::sync::Notify;
use vialbell::store::{Moment, StoreError, Watch};

/// Each commit, once this is set, waits until it may.
#[derive(Default)]
pub struct Gate {
    pub shut: AtomicBool,
    /// Whether it opens by itself behind the first that comes, which waits.
    pub stops_one: AtomicBool,
    /// Whether the next that passes fails.
    pub refuses: AtomicBool,
    pub reached: Notify,
    pub passes: Notify,
}

impl Watch for Gate {
    fn at<'a>(
        &'a self,
        moment: Moment,
        _: &'a mut AnyConnection,
    ) -> BoxFuture<'a, Result<(), StoreError>> {
        Box::pin(async move {
            if moment == Moment::Committing && self.is_shut() {
                self.reached.notify_one();
                self.passes.notified().await;
                if self.refuses.swap(false, Ordering::Relaxed) {
                    return Err(StoreError::Refused);
                }
            }
            Ok(())
        })
    }
}

impl Gate {
    fn is_shut(&self) -> bool {
        match self.stops_one.load(Ordering::Relaxed) {
            true => self.shut.swap(false, Ordering::Relaxed),
            false => self.shut.load(Ordering::Relaxed),
        }
    }
}
