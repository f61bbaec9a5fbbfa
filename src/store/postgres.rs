//! A database that a PostgreSQL server keeps, where several workers share it.
//!
//! Transactions are begun, committed and rolled back by statements of our own,
//! so that a future which is dropped halfway leaves no connection whose state
//! nobody knows: see [`super::Work`].

use super::StoreError;
use sqlx::any::AnyPoolOptions;
use sqlx::postgres::PgConnectOptions;
use sqlx::{AnyConnection, AnyPool, Connection, Executor, raw_sql};
use std::str::FromStr;

static MIGRATIONS: sqlx::migrate::Migrator = sqlx::migrate!("migrations/postgres");

/// What one worker has open at most. Two would do for each clinic, and each
/// paper that is made while messages are sent takes one more.
pub(super) const CONNECTIONS: u32 = 10;

/// Whether a URL is one of PostgreSQL's.
pub(super) fn is_url(url: &str) -> bool {
    url.starts_with("postgres://") || url.starts_with("postgresql://")
}

/// The database of a URL without user and password, for people to read.
pub(super) fn name_of(url: &str) -> String {
    match PgConnectOptions::from_str(url) {
        Ok(options) => {
            let host = options.get_socket().map_or_else(
                || options.get_host().to_owned(),
                |socket| socket.display().to_string(),
            );
            let database = options.get_database().unwrap_or_default();
            format!("postgres://{host}/{database}")
        }
        Err(_) => "postgres:".into(),
    }
}

/// A pool of connections to a database that is brought up to date.
pub(super) async fn open(url: &str) -> Result<AnyPool, StoreError> {
    let name = name_of(url);
    let server = |error: sqlx::Error| StoreError::Server {
        name: name.clone(),
        error: error.to_string(),
    };
    let pool = AnyPoolOptions::new()
        .max_connections(CONNECTIONS)
        .after_connect(|connection, _| {
            Box::pin(async move {
                // Whatever the server's usual is: what is committed is on disk.
                // And every row is found by an index: while thousands of messages
                // come in at once the server still believes that the tables are
                // empty, and would read each of them whole for every message.
                // A household's rows are looked up one by one: by the server's usual price of a
                // page it reads whole indexes for a hundred of twenty thousand households.
                // It makes one plan for a statement, where it usually makes five for values
                // that are all alike to it before it keeps one.
                // Where a table has to be read whole nevertheless, it believes that to be so dear
                // that it would first compile the question for longer than it takes to answer.
                // What we hold when the line breaks is ours to the server until it notices.
                raw_sql(
                    "set synchronous_commit to on; set enable_seqscan to off; \
                     set random_page_cost to 1.1; set plan_cache_mode to force_generic_plan; set jit to off; \
                     set idle_in_transaction_session_timeout to '60s'",
                )
                .execute(connection)
                .await?;
                Ok(())
            })
        })
        .connect(url)
        .await
        .map_err(server)?;
    let mut connection = pool.acquire().await.map_err(server)?;
    // Holds a lock of its own, so that of workers which start together one does it.
    MIGRATIONS
        .run_direct(None, &mut *connection, false)
        .await
        .map_err(|error| StoreError::migrating(&name, error))?;
    drop(connection);
    Ok(pool)
}

/// A connection to a database that is only looked at: it is neither brought up
/// to date nor written to. None where it holds nothing of ours yet.
pub(super) async fn look(url: &str) -> Result<Option<AnyConnection>, StoreError> {
    let name = name_of(url);
    let server = |error: sqlx::Error| StoreError::Server {
        name: name.clone(),
        error: error.to_string(),
    };
    let mut connection = AnyConnection::connect(url).await.map_err(server)?;
    let ours: i64 = sqlx::query_scalar(
        "select count(*) from information_schema.tables \
         where table_schema = current_schema() and table_name in ('_sqlx_migrations', 'household')",
    )
    .fetch_one(&mut connection)
    .await
    .map_err(server)?;
    if ours < 2 {
        return Ok(None);
    }
    let newest: Option<i64> = sqlx::query_scalar("select max(version) from _sqlx_migrations")
        .fetch_one(&mut connection)
        .await
        .map_err(server)?;
    let known = MIGRATIONS.iter().map(|migration| migration.version).max();
    match newest.filter(|_| newest > known) {
        Some(version) => Err(StoreError::Newer {
            file: name,
            version,
        }),
        None => Ok(Some(connection)),
    }
}

/// Writes the tables that hold people's words anew. Nobody else uses them meanwhile.
pub(super) async fn scrub(connection: &mut AnyConnection) -> Result<(), StoreError> {
    let sql = "vacuum (full) household, carer, vial, administration, question, alert, amendment, \
               journal, inbox, outbox, stranger, enrolment";
    sqlx::query(sql).execute(connection).await?;
    Ok(())
}

/// Makes a transaction last, or fails. PostgreSQL answers a `commit` after a
/// statement that failed with a rollback and no error; there the statement
/// before it is refused. Both go in one trip.
pub(super) async fn commit(connection: &mut AnyConnection) -> Result<(), StoreError> {
    connection.execute(raw_sql("select 1; commit")).await?;
    Ok(())
}
