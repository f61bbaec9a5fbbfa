//! The disk and the power: crashes at a commit, a full disk.

use futures_util::future::BoxFuture;
use sqlx::AnyConnection;
use std::sync::{Arc, Mutex};
use tokio::sync::Notify;
use vialbell::store::{Moment, StoreError, Watch};

/// Stands beside the store of one run of the program.
#[derive(Default)]
pub struct Power {
    state: Mutex<State>,
    /// Rings when the program has died.
    pub died: Arc<Notify>,
}

#[derive(Default)]
struct State {
    /// Commits until the crash, and whether that one lasts.
    crash: Option<(u32, bool)>,
    commits: u64,
    /// Whether a checker looks, not the program.
    looked_at: bool,
    full: bool,
    /// How long to wait for another program, where that was changed.
    patience_ms: Option<u32>,
    /// What the connection was told last.
    told: (bool, Option<u32>),
}

impl Power {
    pub fn crash_at_commit(&self, nth: u32, lasts: bool) {
        self.lock().crash = Some((nth, lasts));
    }

    pub fn fill_disk(&self, full: bool) {
        self.lock().full = full;
    }

    /// Does not wait for whoever holds the database: in simulated time nobody lets go meanwhile.
    pub fn be_impatient(&self, impatient: bool) {
        self.lock().patience_ms = Some(if impatient { 1 } else { 5_000 });
    }

    /// A new connection was told nothing yet.
    pub fn reconnected(&self) {
        self.lock().told = (false, None);
    }

    fn lock(&self) -> std::sync::MutexGuard<'_, State> {
        self.state.lock().expect("no panic under the lock")
    }

    /// How many transactions were about to last.
    pub fn commits(&self) -> u64 {
        self.lock().commits
    }

    /// While a checker looks nothing strikes and nothing counts.
    pub fn look(&self, looks: bool) {
        self.lock().looked_at = looks;
    }

    fn strikes(&self, moment: Moment) -> bool {
        let mut state = self.lock();
        if state.looked_at {
            return false;
        }
        state.commits += u64::from(moment == Moment::Committing);
        let Some((left, lasts)) = state.crash.as_mut() else {
            return false;
        };
        let lasts = *lasts;
        match moment {
            Moment::Beginning => return false,
            Moment::Committing => *left = left.saturating_sub(1),
            Moment::Committed => {}
        }
        let now = *left == 0 && lasts == (moment == Moment::Committed);
        if now {
            state.crash = None;
        }
        now
    }
}

impl Watch for Power {
    fn looks_at_what_is_written(&self) -> bool {
        false
    }

    fn at<'a>(
        &'a self,
        moment: Moment,
        connection: &'a mut AnyConnection,
    ) -> BoxFuture<'a, Result<(), StoreError>> {
        Box::pin(async move {
            if self.strikes(moment) {
                self.died.notify_one();
                std::future::pending::<()>().await;
            }
            if moment != Moment::Beginning {
                return Ok(());
            }
            let (full, patience, told) = {
                let mut state = self.lock();
                let told = state.told;
                state.told = (state.full, state.patience_ms);
                (state.full, state.patience_ms, told)
            };
            if full != told.0 {
                // SQLite's own limit gives SQLITE_FULL just as a disk does
                // (https://www.sqlite.org/pragma.html#pragma_max_page_count).
                let pages = if full { 1 } else { 1_073_741_823 };
                run(connection, &format!("pragma max_page_count = {pages}")).await?;
            }
            if patience != told.1 {
                let ms = patience.unwrap_or(5_000);
                run(connection, &format!("pragma busy_timeout = {ms}")).await?;
            }
            Ok(())
        })
    }
}

async fn run(connection: &mut AnyConnection, sql: &str) -> Result<(), sqlx::Error> {
    sqlx::query(sqlx::AssertSqlSafe(sql))
        .fetch_all(connection)
        .await?;
    Ok(())
}
