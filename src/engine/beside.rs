//! Other workers on the same database: what one commits, all hear of.

use super::Engine;
use crate::store::Heard;

impl Engine {
    /// Lets the other workers know whenever something was committed that they
    /// may take. What is committed meanwhile is told of together.
    pub async fn tell_others(&self) {
        loop {
            self.to_share.notified().await;
            self.tell_others_now().await;
        }
    }

    async fn tell_others_now(&self) {
        if let Err(error) = self.store.ring(self.key(), &self.name).await {
            tracing::warn!(%error, "the other workers were not told; they look by themselves");
        }
    }

    /// After a command at the terminal: whoever serves need not wait to find it.
    pub(super) async fn changed_from_outside(&self) {
        self.woken.notify_one();
        self.tell_others_now().await;
    }

    /// Looks at the database, where what was heard may concern this clinic.
    pub fn hear(&self, heard: &Heard) {
        let concerns_us = match heard {
            Heard::Bell { clinic, by } => clinic == self.key() && *by != self.name,
            Heard::Missed => true,
        };
        if concerns_us {
            self.woken.notify_one();
            self.committed.notify_one();
        }
    }

    /// Shares the bot's pace, and the database, among so many workers that send for it.
    pub fn share(&self, per_second: Option<u32>, workers: u32) {
        let all = per_second.unwrap_or(super::pace::USUAL_PER_SECOND);
        self.pace().slow_down_to(all.div_euclid(workers.max(1)));
        self.store.share(workers);
    }
}
