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
            if moment == Moment::Committing && self.shut.load(Ordering::Relaxed) {
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
