//! All SQL. The store keeps what was decided and finds what is due; it decides nothing.
//!
//! SQLite runs in WAL mode with `synchronous=FULL`: when a commit returns, it
//! is on disk. There is one connection, since SQLite has one writer and a
//! household is read only to be decided on.

mod alerts;
mod audit;
mod backlog;
mod buttons;
mod error;
mod households;
mod inbox;
mod invitations;
mod outbox;
mod table;
mod watch;
mod zone_rules;

pub use audit::{AuditSpan, Audited, Came};
pub use backlog::{Backlog, Waiting as Backlogged};
pub use buttons::{Buttons, Changed, ToChange, WithButtons};
pub use error::StoreError;
pub use households::{Caused, Loaded, Saving};
pub use inbox::Waiting;
pub use invitations::Redeemed;
pub use outbox::{Claimed, Settled, ToSend};
pub use watch::{Moment, Watch};
pub use zone_rules::ZoneRules;

use crate::domain::zone::Zone;
use sqlx::any::AnyConnectOptions;
use sqlx::{AnyConnection, AssertSqlSafe, Connection, Row};
use std::path::Path;
use std::str::FromStr;
use std::sync::Arc;
use std::sync::Once;
use tokio::sync::{Mutex, OwnedMutexGuard};

static MIGRATIONS: sqlx::migrate::Migrator = sqlx::migrate!("migrations/sqlite");

static DRIVERS: Once = Once::new();

/// The database of one or more clinics.
#[derive(Clone)]
pub struct Store {
    connection: Arc<Mutex<Open>>,
    watch: Option<Arc<dyn Watch>>,
}

struct Open {
    connection: AnyConnection,
    /// Set while a transaction is open: one that was dropped halfway is rolled back by the next.
    in_transaction: bool,
}

/// One transaction. Dropped without [`Work::commit`], it leaves nothing behind.
pub struct Work {
    open: OwnedMutexGuard<Open>,
    watch: Option<Arc<dyn Watch>>,
}

impl Store {
    /// Opens the database at a URL such as `sqlite:vialbell.db`, makes it where
    /// there is none, and brings its tables up to date.
    ///
    /// A file made by a newer program, or one that is no database, is left as it is.
    pub async fn open(url: &str) -> Result<Store, StoreError> {
        DRIVERS.call_once(sqlx::any::install_default_drivers);
        let file = url
            .strip_prefix("sqlite:")
            .ok_or_else(|| StoreError::Url(url.into()))?;
        let memory = file == ":memory:";
        let found = if memory {
            Found::Nothing
        } else {
            make_private_file(Path::new(file)).map_err(|error| StoreError::File {
                file: file.into(),
                error,
            })?
        };
        if found == Found::NoDatabase {
            return Err(StoreError::Damaged {
                file: file.into(),
                error: "it does not begin as a database does".into(),
            });
        }
        let options =
            AnyConnectOptions::from_str(&format!("sqlite:{file}")).map_err(StoreError::Query)?;
        let mut connection = AnyConnection::connect_with(&options)
            .await
            .map_err(|e| StoreError::opening(file, e))?;
        if found == Found::Database {
            check_sound(&mut connection, file).await?;
        }
        for pragma in [
            "pragma busy_timeout = 5000",
            "pragma journal_mode = wal",
            "pragma synchronous = full",
            "pragma foreign_keys = on",
        ] {
            sqlx::query(pragma)
                .fetch_all(&mut connection)
                .await
                .map_err(|e| StoreError::opening(file, e))?;
        }
        // `run` takes an `Acquire`, whose lifetime keeps this future from being `Send`.
        MIGRATIONS
            .run_direct(None, &mut connection, false)
            .await
            .map_err(|e| StoreError::migrating(file, e))?;
        Ok(Store {
            connection: Arc::new(Mutex::new(Open {
                connection,
                in_transaction: false,
            })),
            watch: None,
        })
    }

    /// The same store with somebody beside it.
    #[must_use]
    pub fn watched(mut self, watch: Arc<dyn Watch>) -> Store {
        self.watch = Some(watch);
        self
    }

    /// Opens a database that is gone when it is dropped.
    pub async fn throw_away() -> Result<Store, StoreError> {
        Store::open("sqlite::memory:").await
    }

    /// Zones of a clinic's households in a database that is only looked at: it
    /// is neither made, nor brought up to date, nor written to.
    pub async fn look_for_zones(url: &str, clinic: &str) -> Result<Vec<Zone>, StoreError> {
        DRIVERS.call_once(sqlx::any::install_default_drivers);
        let file = url
            .strip_prefix("sqlite:")
            .ok_or_else(|| StoreError::Url(url.into()))?;
        let options = AnyConnectOptions::from_str(&format!("sqlite:{file}?mode=ro"))
            .map_err(StoreError::Query)?;
        let mut connection = AnyConnection::connect_with(&options)
            .await
            .map_err(|e| StoreError::opening(file, e))?;
        check_sound(&mut connection, file).await?;
        let newest: Option<i64> = sqlx::query_scalar("select max(version) from _sqlx_migrations")
            .fetch_one(&mut connection)
            .await
            .map_err(|e| StoreError::opening(file, e))?;
        let known = MIGRATIONS.iter().map(|migration| migration.version).max();
        if let Some(version) = newest.filter(|_| newest > known) {
            return Err(StoreError::Newer {
                file: file.into(),
                version,
            });
        }
        let store = Store {
            connection: Arc::new(Mutex::new(Open {
                connection,
                in_transaction: false,
            })),
            watch: None,
        };
        let mut work = Work {
            open: store.connection.lock_owned().await,
            watch: None,
        };
        work.zones(clinic).await
    }

    /// Begins a transaction that may write; others wait.
    pub async fn begin(&self) -> Result<Work, StoreError> {
        let mut open = self.connection.clone().lock_owned().await;
        if open.in_transaction {
            // The one before was dropped; a rollback fails only where SQLite has done it already.
            let _ = execute(&mut open.connection, "rollback").await;
        }
        let watch = self.watch.clone();
        tell(&watch, Moment::Beginning, &mut open.connection).await?;
        open.in_transaction = true;
        execute(&mut open.connection, "begin immediate").await?;
        Ok(Work { open, watch })
    }

    /// Zones of a clinic's households, for who only wants to look.
    pub async fn zones(&self, clinic: &str) -> Result<Vec<Zone>, StoreError> {
        let mut work = self.begin().await?;
        let zones = work.zones(clinic).await?;
        work.commit().await?;
        Ok(zones)
    }
}

impl Work {
    /// Makes it last: when this returns, it is on disk.
    pub async fn commit(mut self) -> Result<(), StoreError> {
        tell(&self.watch, Moment::Committing, &mut self.open.connection).await?;
        execute(&mut self.open.connection, "commit").await?;
        self.open.in_transaction = false;
        tell(&self.watch, Moment::Committed, &mut self.open.connection).await
    }

    fn db(&mut self) -> &mut AnyConnection {
        &mut self.open.connection
    }
}

async fn tell(
    watch: &Option<Arc<dyn Watch>>,
    moment: Moment,
    connection: &mut AnyConnection,
) -> Result<(), StoreError> {
    match watch {
        Some(watch) => watch.at(moment, connection).await,
        None => Ok(()),
    }
}

async fn execute(connection: &mut AnyConnection, sql: &str) -> Result<u64, StoreError> {
    let done = sqlx::query(AssertSqlSafe(sql)).execute(connection).await?;
    Ok(done.rows_affected())
}

/// A damaged file is refused before anything is written to it, and so is the
/// database of another program: later, both would be harder to tell and to mend.
async fn check_sound(connection: &mut AnyConnection, file: &str) -> Result<(), StoreError> {
    let damaged = |error: String| StoreError::Damaged {
        file: file.into(),
        error: error.lines().collect::<Vec<_>>().join("; "),
    };
    let answer = async {
        let row = sqlx::query("pragma quick_check(1)")
            .fetch_one(&mut *connection)
            .await?;
        let sound: String = row.try_get(0)?;
        let row = sqlx::query(
            "select count(*), coalesce(sum(name = '_sqlx_migrations'), 0) \
             from sqlite_master where type = 'table'",
        )
        .fetch_one(&mut *connection)
        .await?;
        let (tables, ours): (i64, i64) = (row.try_get(0)?, row.try_get(1)?);
        Ok::<_, sqlx::Error>((sound, tables, ours))
    };
    match answer.await {
        Ok((sound, ..)) if sound != "ok" => Err(damaged(sound)),
        Ok((_, tables, 0)) if tables > 0 => Err(damaged("its tables are another program's".into())),
        Ok(_) => Ok(()),
        Err(error) => Err(damaged(error.to_string())),
    }
}

/// What there was at the place of the database.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Found {
    /// No file, or an empty one.
    Nothing,
    /// A file that begins as a database does.
    Database,
    /// Another file.
    NoDatabase,
}

/// The database holds names and health records: nobody else on the machine reads it.
fn make_private_file(file: &Path) -> std::io::Result<Found> {
    use std::io::Read;
    use std::os::unix::fs::OpenOptionsExt;
    /// How a file begins (SQLite, "Database File Format", section 1.3).
    const BEGINNING: &[u8; 16] = b"SQLite format 3\0";
    let file = std::fs::OpenOptions::new()
        .read(true)
        .write(true)
        .create(true)
        .truncate(false)
        .mode(0o600)
        .open(file)?;
    let mut beginning = Vec::new();
    file.take(16).read_to_end(&mut beginning)?;
    Ok(match beginning.as_slice() {
        [] => Found::Nothing,
        read if read == BEGINNING => Found::Database,
        _ => Found::NoDatabase,
    })
}
