//! Database files: new ones, ours, newer ones, broken ones. A file that cannot
//! be used is refused with one line and left as it is.

#[path = "../support/postgres.rs"]
mod postgres;
mod refused;
mod server;
mod states;
mod tables;

use sqlx::{AnyConnection, AssertSqlSafe, Connection, Row};
use std::future::Future;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU32, Ordering};
use vialbell::store::Store;

/// A folder of its own that is gone at the end.
struct Folder(PathBuf);

impl Folder {
    fn new() -> Folder {
        static COUNT: AtomicU32 = AtomicU32::new(0);
        let count = COUNT.fetch_add(1, Ordering::Relaxed);
        let name = format!("vialbell-migrations-{}-{count}", std::process::id());
        let path = std::env::temp_dir().join(name);
        std::fs::create_dir_all(&path).unwrap();
        Folder(path)
    }

    fn file(&self) -> PathBuf {
        self.0.join("vialbell.db")
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

fn url(file: &Path) -> String {
    format!("sqlite:{}", file.display())
}

fn run<T>(future: impl Future<Output = T>) -> T {
    tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .unwrap()
        .block_on(future)
}

/// Makes a database and closes it again.
async fn make(file: &Path) {
    drop(Store::open(&url(file)).await.unwrap());
    settle(file).await;
}

/// Waits until the connection that was dropped has closed its file.
async fn settle(file: &Path) {
    let wal = file.with_extension("db-wal");
    for _ in 0..200 {
        if !wal.exists() {
            return;
        }
        std::thread::sleep(std::time::Duration::from_millis(10));
    }
    panic!("the database is still open");
}

async fn connect(file: &Path) -> AnyConnection {
    sqlx::any::install_default_drivers();
    AnyConnection::connect(&url(file)).await.unwrap()
}

async fn execute(connection: &mut AnyConnection, sql: &str) -> Result<u64, String> {
    let done = sqlx::query(AssertSqlSafe(sql)).execute(connection).await;
    done.map(|done| done.rows_affected())
        .map_err(|error| error.to_string())
}

async fn texts(connection: &mut AnyConnection, sql: &str) -> Vec<Vec<String>> {
    let rows = sqlx::query(AssertSqlSafe(sql))
        .fetch_all(connection)
        .await
        .unwrap();
    rows.iter()
        .map(|row| (0..row.len()).map(|i| row.get::<String, _>(i)).collect())
        .collect()
}
