//! Lends a server's connections: to so many at a time, the last to be let go first, and not
//! before what was dropped halfway is undone.
//!
//! sqlx's pool hands out whichever has rested longest, asks the server before and after each
//! use whether it is still there, and takes a connection back a moment later, when another may
//! have been opened in its place. In a rush hour five take turns where three would do, and
//! for each the server plans every statement anew. Here nobody is asked.

use super::postgres::CONNECTIONS;
use sqlx::pool::PoolConnection;
use sqlx::{Any, AnyPool};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError, Weak};
use std::time::Duration;
use tokio::sync::{OwnedSemaphorePermit, Semaphore, watch};

/// So many are kept: the pool has others for whoever has to wait.
const MOST: usize = 4;
/// When for so long nobody has taken one, all go back to the pool, which asks whether they are
/// still there: one that has rested may be cut off.
const REST: Duration = Duration::from_millis(200);
/// So many are at work beside each other where several workers share the database, all of
/// theirs counted, and one of each at least.
const SHARED: u32 = 4;
/// For so long others of this worker are waited for: longer than a batch of theirs takes in a
/// rush, or each wait would end with one connection more.
const TURN: Duration = Duration::from_millis(500);
/// For so long transactions that were dropped are waited for: the server may be gone.
const PATIENCE: Duration = Duration::from_secs(1);

/// A pool, and those of its connections that are at hand.
#[derive(Clone)]
pub(super) struct Lending {
    pool: AnyPool,
    kept: Arc<Mutex<Kept>>,
    /// How many transactions that were dropped halfway are being rolled back.
    undoing: watch::Sender<usize>,
    places: Arc<Mutex<Places>>,
}

/// How many connections may be at work beside each other.
struct Places {
    all: u32,
    free: Arc<Semaphore>,
}

/// A connection that is lent, with its place among those at work.
pub(super) struct Lent {
    pub(super) connection: PoolConnection<Any>,
    pub(super) place: Option<OwnedSemaphorePermit>,
}

/// A transaction that is being rolled back, until this is dropped.
pub(super) struct Undoing(watch::Sender<usize>);

#[derive(Default)]
struct Kept {
    connections: Vec<PoolConnection<Any>>,
    /// How often one was asked for.
    asked: u64,
    /// Whether somebody will see to it that they do not rest for long.
    watched: bool,
}

impl Lending {
    pub(super) fn of(pool: AnyPool) -> Lending {
        Lending {
            pool,
            kept: Arc::default(),
            undoing: watch::Sender::default(),
            places: Arc::new(Mutex::new(Places::of(1))),
        }
    }

    /// Shares the server among so many workers. Four on two cores stood in each other's way
    /// with three transactions each, and with two: what one of them overlaps to fill its
    /// waits, several fill for each other.
    pub(super) fn share(&self, workers: u32) {
        *locked(&self.places) = Places::of(workers);
    }

    /// How many connections may be at work beside each other.
    pub(super) fn at_once(&self) -> u32 {
        locked(&self.places).all
    }

    /// Waits for what is being undone: its rows are locked until then, and whoever claims
    /// passes over those.
    pub(super) async fn acquire(&self) -> Result<Lent, sqlx::Error> {
        let places = locked(&self.places).free.clone();
        // Whoever finds none in time goes on without: what is held may be held for long.
        let place = tokio::time::timeout(TURN, places.acquire_owned()).await;
        let place = place.ok().and_then(Result::ok);
        let mut undoing = self.undoing.subscribe();
        // What it would fail with is that nobody undoes anything any more.
        let _ = tokio::time::timeout(PATIENCE, undoing.wait_for(|some| *some == 0)).await;
        let recent = {
            let mut kept = locked(&self.kept);
            kept.asked += 1;
            kept.connections.pop()
        };
        let connection = match recent {
            Some(connection) => connection,
            None => self.pool.acquire().await?,
        };
        Ok(Lent { connection, place })
    }

    /// Says that a transaction is being rolled back.
    pub(super) fn undoing(&self) -> Undoing {
        self.undoing.send_modify(|some| *some += 1);
        Undoing(self.undoing.clone())
    }

    /// Takes one back on which nothing is open.
    pub(super) fn give_back(&self, connection: PoolConnection<Any>) {
        let Ok(runtime) = tokio::runtime::Handle::try_current() else {
            // The pool could not take it.
            drop(connection.detach());
            return;
        };
        // Where the pool has lent all that it may, somebody may be waiting there.
        if self.pool.size() >= CONNECTIONS {
            return;
        }
        let mut kept = locked(&self.kept);
        if kept.connections.len() >= MOST {
            return;
        }
        kept.connections.push(connection);
        if !kept.watched {
            kept.watched = true;
            runtime.spawn(let_rest(Arc::downgrade(&self.kept)));
        }
    }
}

impl Places {
    /// Those of one of so many workers.
    fn of(workers: u32) -> Places {
        let all = match workers {
            0 | 1 => CONNECTIONS,
            _ => (SHARED / workers).max(1),
        };
        let free = Arc::new(Semaphore::new(all as usize));
        Places { all, free }
    }
}

impl Drop for Undoing {
    fn drop(&mut self) {
        self.0.send_modify(|some| *some -= 1);
    }
}

impl Drop for Kept {
    /// Whoever drops the store may do so when nothing runs any more that the pool could use.
    fn drop(&mut self) {
        for connection in self.connections.drain(..) {
            drop(connection.detach());
        }
    }
}

/// Gives all back to the pool when nobody has asked for one for a while.
async fn let_rest(kept: Weak<Mutex<Kept>>) {
    let mut before = None;
    loop {
        {
            let Some(kept) = kept.upgrade() else { return };
            let mut kept = locked(&kept);
            if before == Some(kept.asked) {
                kept.watched = false;
                kept.connections.clear();
                return;
            }
            before = Some(kept.asked);
        }
        tokio::time::sleep(REST).await;
    }
}

fn locked<T>(shared: &Mutex<T>) -> MutexGuard<'_, T> {
    shared.lock().unwrap_or_else(PoisonError::into_inner)
}
