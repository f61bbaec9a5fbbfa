//! A database in one file of this machine.
//!
//! It runs in WAL mode with `synchronous=FULL`: when a commit returns, it is
//! on disk. One connection writes, since SQLite has one writer; beside it
//! another reads, which waits for no commit.

use super::StoreError;
use super::dialect::PICKED;
use sqlx::any::AnyConnectOptions;
use sqlx::{AnyConnection, Connection, Row};
use std::fs::Permissions;
use std::os::unix::fs::{OpenOptionsExt, PermissionsExt};
use std::path::Path;
use std::str::FromStr;

/// A connection that is closed before it is gone: what is left of the
/// write-ahead log is then in the file, and whoever copies the file of a program
/// that has ended copies all of it. A drop alone leaves the closing to a thread
/// that the end of the program overtakes.
pub(super) struct Orderly(Option<AnyConnection>);

impl Orderly {
    pub(super) fn new(connection: AnyConnection) -> Self {
        Self(Some(connection))
    }
}

impl std::ops::Deref for Orderly {
    type Target = AnyConnection;

    fn deref(&self) -> &AnyConnection {
        self.0.as_ref().expect("there until it is dropped")
    }
}

impl std::ops::DerefMut for Orderly {
    fn deref_mut(&mut self) -> &mut AnyConnection {
        self.0.as_mut().expect("there until it is dropped")
    }
}

impl Drop for Orderly {
    fn drop(&mut self) {
        if let Some(connection) = self.0.take() {
            // Closed by a thread of its own, so it may be waited for here. Where it
            // fails, the log stays beside the file, as after a power cut.
            let _ = futures_executor::block_on(connection.close());
        }
    }
}

static MIGRATIONS: sqlx::migrate::Migrator = sqlx::migrate!("migrations/sqlite");

/// What a statement would undo if it failed: a few pages, but a file for each statement that
/// changes many rows would be made and taken away again. And what is sorted holds addresses.
const TEMP_STORE: &str = "pragma temp_store = memory";

/// What stands in a URL for no file at all.
const MEMORY: &str = ":memory:";

/// The file of a URL such as `sqlite:vialbell.db`.
pub(super) fn file_of(url: &str) -> Option<&str> {
    url.strip_prefix("sqlite:")
}

/// A connection to a file that is made where there is none, and brought up to date.
pub(super) async fn open(file: &str) -> Result<AnyConnection, StoreError> {
    let found = if file == MEMORY {
        Found::Nothing
    } else {
        make_private_file(Path::new(file)).map_err(|error| StoreError::File {
            file: file.into(),
            error,
        })?
    };
    if found == Found::UnderOtherLog {
        return Err(other_log(file));
    }
    if found == Found::NoDatabase {
        return Err(StoreError::Damaged {
            file: file.into(),
            error: "it does not begin as a database does".into(),
        });
    }
    let mut connection = connect(file, "").await?;
    if found == Found::Database {
        let check = match length(file) <= READ_WHOLE {
            true => Check::Pages,
            false => Check::Beginning,
        };
        check_sound(&mut connection, file, check).await?;
    }
    for pragma in [
        "pragma busy_timeout = 5000",
        "pragma journal_mode = wal",
        "pragma synchronous = full",
        "pragma foreign_keys = on",
        TEMP_STORE,
        PICKED,
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
    Ok(connection)
}

/// A second connection to a file that is open, which only reads; none to what is in memory.
pub(super) async fn reader(file: &str) -> Result<Option<AnyConnection>, StoreError> {
    if file == MEMORY {
        return Ok(None);
    }
    let mut connection = connect(file, "").await?;
    for pragma in [
        "pragma busy_timeout = 5000",
        TEMP_STORE,
        "pragma query_only = on",
    ] {
        sqlx::query(pragma)
            .fetch_all(&mut connection)
            .await
            .map_err(|e| StoreError::opening(file, e))?;
    }
    Ok(Some(connection))
}

/// A connection to a file that is only looked at: it is neither made, nor
/// brought up to date, nor written to.
pub(super) async fn look(file: &str) -> Result<AnyConnection, StoreError> {
    // One that cannot be read here is refused by SQLite in its own words.
    let found = std::fs::File::open(file).and_then(|opened| what_is(&opened, Path::new(file)));
    if let Ok(Found::UnderOtherLog) = found {
        return Err(other_log(file));
    }
    let mut connection = connect(file, "?mode=ro").await?;
    check_sound(&mut connection, file, Check::Pages).await?;
    let newest: Option<i64> = sqlx::query_scalar("select max(version) from _sqlx_migrations")
        .fetch_one(&mut connection)
        .await
        .map_err(|e| StoreError::opening(file, e))?;
    let known = MIGRATIONS.iter().map(|migration| migration.version).max();
    match newest.filter(|_| newest > known) {
        Some(version) => Err(StoreError::Newer {
            file: file.into(),
            version,
        }),
        None => Ok(connection),
    }
}

/// The same for a copy that nobody else uses: no file comes to be beside it.
pub(super) async fn look_at_copy(file: &str) -> Result<AnyConnection, StoreError> {
    let mut connection = connect(file, "?mode=ro&immutable=true").await?;
    check_sound(&mut connection, file, Check::Pages).await?;
    Ok(connection)
}

async fn connect(file: &str, how: &str) -> Result<AnyConnection, StoreError> {
    let options =
        AnyConnectOptions::from_str(&format!("sqlite:{file}{how}")).map_err(StoreError::Query)?;
    AnyConnection::connect_with(&options)
        .await
        .map_err(|e| StoreError::opening(file, e))
}

/// Up to this length, in bytes, every page of a file is read before it is used
/// (some 30 ms); a longer one would keep the first reminder waiting.
const READ_WHOLE: u64 = 8 * 1024 * 1024;

/// How much of a file is looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Check {
    /// Every page.
    Pages,
    /// Its beginning: SQLite refuses a file that is shorter than it says there.
    Beginning,
}

fn length(file: &str) -> u64 {
    std::fs::metadata(file).map_or(0, |known| known.len())
}

/// A damaged file is refused before anything is written to it, and so is the
/// database of another program: later, both would be harder to tell and to mend.
async fn check_sound(
    connection: &mut AnyConnection,
    file: &str,
    check: Check,
) -> Result<(), StoreError> {
    let damaged = |error: String| StoreError::Damaged {
        file: file.into(),
        error: error.lines().collect::<Vec<_>>().join("; "),
    };
    let answer = async {
        let sound = match check {
            Check::Pages => {
                let row = sqlx::query("pragma quick_check(1)")
                    .fetch_one(&mut *connection)
                    .await?;
                row.try_get(0)?
            }
            Check::Beginning => "ok".to_owned(),
        };
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
    /// A backup that was copied to where a log of another database lies: SQLite
    /// would write that log into it.
    UnderOtherLog,
    /// Another file.
    NoDatabase,
}

/// The database holds names and health records: nobody else on the machine
/// reads it. SQLite gives the files beside it (`-wal`, `-shm`) the rights of
/// the database when it makes them; those that are there already are seen to.
fn make_private_file(file: &Path) -> std::io::Result<Found> {
    let opened = std::fs::OpenOptions::new()
        .read(true)
        .write(true)
        .create(true)
        .truncate(false)
        .mode(0o600)
        .open(file)?;
    let found = what_is(&opened, file)?;
    if matches!(found, Found::Nothing | Found::Database) {
        for end in ["", "-wal", "-shm"] {
            make_private(Path::new(&format!("{}{end}", file.display())))?;
        }
    }
    Ok(found)
}

fn what_is(opened: &std::fs::File, file: &Path) -> std::io::Result<Found> {
    use std::io::Read;
    /// How a file begins (SQLite, "Database File Format", section 1.3).
    const BEGINNING: &[u8; 16] = b"SQLite format 3\0";
    /// The version of a file that was never in WAL mode, as a backup is (1.3.3); ours always is.
    const ROLLBACK: u8 = 1;
    let mut beginning = Vec::new();
    opened.take(20).read_to_end(&mut beginning)?;
    Ok(match beginning.split_first_chunk() {
        None if beginning.is_empty() => Found::Nothing,
        Some((BEGINNING, [_, _, ROLLBACK, ..])) if has_log(file) => Found::UnderOtherLog,
        Some((BEGINNING, _)) => Found::Database,
        _ => Found::NoDatabase,
    })
}

fn other_log(file: &str) -> StoreError {
    StoreError::OtherLog { file: file.into() }
}

/// Whether there is a write-ahead log with anything in it.
fn has_log(file: &Path) -> bool {
    let log = format!("{}-wal", file.display());
    std::fs::metadata(log).is_ok_and(|log| log.len() > 0)
}

/// Takes a file's rights from everybody but its owner; one that is not there has none.
fn make_private(file: &Path) -> std::io::Result<()> {
    match std::fs::metadata(file) {
        Ok(known) if known.permissions().mode() & 0o077 != 0 => {
            std::fs::set_permissions(file, Permissions::from_mode(0o600))
        }
        Err(error) if error.kind() != std::io::ErrorKind::NotFound => Err(error),
        _ => Ok(()),
    }
}

/// Rebuilds the file and empties the write-ahead log.
pub(super) async fn scrub(connection: &mut AnyConnection) -> Result<(), StoreError> {
    // The whole file is written anew beside itself, and not in memory.
    sqlx::query("pragma temp_store = file")
        .execute(&mut *connection)
        .await?;
    let rebuilt = sqlx::query("vacuum").execute(&mut *connection).await;
    // What was in memory is gone with its place, however that ended.
    for sql in [TEMP_STORE, PICKED] {
        sqlx::query(sql).execute(&mut *connection).await?;
    }
    rebuilt?;
    let row = sqlx::query("pragma wal_checkpoint(truncate)")
        .fetch_one(connection)
        .await?;
    match row.try_get::<i64, _>(0)? {
        0 => Ok(()),
        _ => Err(StoreError::InUse),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_file_that_was_cut_off_is_found_out_by_its_beginning() {
        sqlx::any::install_default_drivers();
        let path = std::env::temp_dir().join(format!("vialbell-length-{}.db", std::process::id()));
        let file = path.to_str().unwrap();
        let runtime = tokio::runtime::Builder::new_current_thread()
            .build()
            .unwrap();
        runtime.block_on(async {
            let open = open(file).await.unwrap();
            open.close().await.unwrap();
            let whole = length(file);
            let checked = async || {
                let mut connection = connect(file, "").await.unwrap();
                let checked = check_sound(&mut connection, file, Check::Beginning).await;
                connection.close().await.unwrap();
                checked.map_err(|error| error.to_string())
            };
            assert_eq!(checked().await, Ok(()));
            let shorter = std::fs::OpenOptions::new().write(true).open(file).unwrap();
            shorter.set_len(whole - 4096).unwrap();
            let refused = checked().await.unwrap_err();
            assert!(refused.contains("malformed"), "{refused}");
        });
        std::fs::remove_file(path).unwrap();
    }
}
