//! Several programs on one database: they wake each other, and of what only
//! one may do, one has the seat.
//!
//! All of this is on connections of its own, none of the pool's: a lock and an
//! ear last as long as their connection, and it may be dropped at any time.

use super::beside::lock_number;
use super::{Database, Store, StoreError, sqlite};
use sqlx::postgres::PgListener;
use sqlx::{AnyConnection, Connection, Executor, raw_sql};
use std::fs::{File, TryLockError};
use std::os::unix::fs::OpenOptionsExt;
use std::time::Duration;

/// The name under which workers hear of each other's commits.
const BELL: &str = "vialbell";

/// How long a connection may take to say that it is there.
const PATIENCE: Duration = Duration::from_secs(4);

/// A worker whose machine is gone is given up by the server after 4 + 3 x 2 s
/// (one that only died, at once).
const KEEP_ALIVE: &str = "set tcp_keepalives_idle to 4; set tcp_keepalives_interval to 2; \
    set tcp_keepalives_count to 3";

/// The one program that serves a file, until this is dropped.
#[derive(Debug)]
pub struct Alone {
    _lock: Option<File>,
}

/// A seat for one worker at a time, and who else would take it.
pub struct Seat {
    url: Option<String>,
    what: &'static str,
    clinic: String,
    connection: Option<AnyConnection>,
    taken: bool,
}

/// An ear for what other workers commit.
pub struct Ear(Option<PgListener>);

/// What was heard.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Heard {
    /// Something was committed for a clinic by a worker of this name.
    Bell {
        /// The clinic's key.
        clinic: String,
        /// The worker that rang.
        by: String,
    },
    /// The line broke and is back: something may have been missed.
    Missed,
}

impl Store {
    /// Whether other programs may work on the database at the same time.
    #[must_use]
    pub fn has_others(&self) -> bool {
        matches!(self.database, Database::Postgres { .. })
    }

    /// Makes sure that no other program serves the same SQLite file: two would
    /// ask the platform at once and send everything twice.
    ///
    /// # Errors
    /// Another program serves it, or the file beside it cannot be written.
    pub fn alone(url: &str) -> Result<Alone, StoreError> {
        let Some(file) = sqlite::file_of(url).filter(|file| *file != ":memory:") else {
            return Ok(Alone { _lock: None });
        };
        // Not the file itself: whoever closes it takes away the locks that
        // SQLite has on it in the same process (fcntl, POSIX.1-2017).
        let beside = format!("{file}.lock");
        let failed = |error| StoreError::File {
            file: beside.clone(),
            error,
        };
        let lock = File::options()
            .write(true)
            .create(true)
            .truncate(false)
            .mode(0o600)
            .open(&beside)
            .map_err(failed)?;
        match lock.try_lock() {
            Ok(()) => Ok(Alone { _lock: Some(lock) }),
            Err(TryLockError::WouldBlock) => Err(StoreError::Served { file: file.into() }),
            Err(TryLockError::Error(error)) => Err(failed(error)),
        }
    }

    /// The seat of a clinic for something that one worker may do at a time.
    #[must_use]
    pub fn seat(&self, what: &'static str, clinic: &str) -> Seat {
        Seat {
            url: self.url_of_server(),
            what,
            clinic: clinic.to_owned(),
            connection: None,
            taken: false,
        }
    }

    /// Lets the other workers know that something was committed for a clinic.
    ///
    /// # Errors
    /// The database fails; they look by themselves every few seconds.
    pub async fn ring(&self, clinic: &str, by: &str) -> Result<(), StoreError> {
        if let Database::Postgres { pool, .. } = &self.database {
            sqlx::query("select cast(1 as bigint) from pg_notify($1, $2)")
                .bind(BELL)
                .bind(format!("{clinic} {by}"))
                .execute(pool)
                .await?;
        }
        Ok(())
    }

    /// Listens for the other workers.
    ///
    /// # Errors
    /// The database cannot be reached.
    pub async fn ear(&self) -> Result<Ear, StoreError> {
        let Some(url) = self.url_of_server() else {
            return Ok(Ear(None));
        };
        let mut listener = PgListener::connect(&url).await?;
        listener.listen(BELL).await?;
        Ok(Ear(Some(listener)))
    }

    fn url_of_server(&self) -> Option<String> {
        match &self.database {
            Database::Sqlite(_) => None,
            Database::Postgres { url, .. } => Some(url.clone()),
        }
    }
}

impl Ear {
    /// Waits until something is heard; for ever where there is nobody else.
    ///
    /// # Errors
    /// The line broke and could not be had again.
    pub async fn hear(&mut self) -> Result<Heard, StoreError> {
        let Some(listener) = &mut self.0 else {
            return std::future::pending().await;
        };
        let Some(heard) = listener.try_recv().await? else {
            return Ok(Heard::Missed);
        };
        let (clinic, by) = heard.payload().split_once(' ').unwrap_or_default();
        Ok(Heard::Bell {
            clinic: clinic.into(),
            by: by.into(),
        })
    }
}

impl Seat {
    /// Takes the seat where it is free; says whether it is ours. Never waits
    /// for another worker.
    ///
    /// # Errors
    /// The database cannot be reached: then it is not ours, whatever was before.
    pub async fn take(&mut self) -> Result<bool, StoreError> {
        let Some(url) = self.url.clone() else {
            return Ok(true);
        };
        if self.taken {
            return self.is_ours().await;
        }
        if self.connection.is_none() {
            let connecting = async {
                let mut connection = AnyConnection::connect(&url).await?;
                connection.execute(raw_sql(KEEP_ALIVE)).await?;
                // Counted by the others, for as long as the connection lives.
                sqlx::query("select cast(1 as bigint) from pg_advisory_lock_shared($1)")
                    .bind(lock_number("worker", &self.clinic))
                    .execute(&mut connection)
                    .await?;
                Ok::<_, sqlx::Error>(connection)
            };
            self.connection = Some(in_time(connecting).await?);
        }
        let what = lock_number(self.what, &self.clinic);
        let got = self
            .ask(
                "select case when pg_try_advisory_lock($1) then cast(1 as bigint) else 0 end",
                what,
            )
            .await?;
        self.taken = got == 1;
        Ok(self.taken)
    }

    /// Whether the connection that holds the seat is still there.
    async fn is_ours(&mut self) -> Result<bool, StoreError> {
        self.ask("select cast($1 as bigint)", 0).await?;
        Ok(true)
    }

    /// How many workers there are for the clinic, this one with them.
    ///
    /// # Errors
    /// The database cannot be reached.
    pub async fn workers(&mut self) -> Result<u32, StoreError> {
        if self.url.is_none() {
            return Ok(1);
        }
        // A lock of 64 bits is shown as two halves.
        let count = self
            .ask(
                "select count(distinct pid) from pg_locks where locktype = 'advisory' and objsubid = 1 \
                 and database = (select oid from pg_database where datname = current_database()) \
                 and granted and (cast(classid as bigint) << 32 | cast(objid as bigint)) = $1",
                lock_number("worker", &self.clinic),
            )
            .await?;
        Ok(u32::try_from(count).unwrap_or(1).max(1))
    }

    async fn ask(&mut self, sql: &'static str, number: i64) -> Result<i64, StoreError> {
        let Some(mut connection) = self.connection.take() else {
            self.taken = false;
            return Err(StoreError::Query(sqlx::Error::WorkerCrashed));
        };
        let asked = async {
            let answer = sqlx::query_scalar(sql)
                .bind(number)
                .fetch_one(&mut connection)
                .await?;
            Ok((connection, answer))
        };
        match in_time(asked).await {
            Ok((connection, answer)) => {
                self.connection = Some(connection);
                Ok(answer)
            }
            // The connection is dropped with its locks: somebody else may sit here now.
            Err(error) => {
                self.taken = false;
                Err(error)
            }
        }
    }
}

/// What a dead machine at the other end would never answer. Only for a
/// connection that is thrown away when it was too slow.
async fn in_time<T>(asked: impl Future<Output = Result<T, sqlx::Error>>) -> Result<T, StoreError> {
    match tokio::time::timeout(PATIENCE, asked).await {
        Ok(answer) => Ok(answer?),
        Err(_) => Err(StoreError::Query(sqlx::Error::PoolTimedOut)),
    }
}
