//! Why the store could not do it.

use sqlx::error::ErrorKind;
use sqlx::migrate::MigrateError;

/// Why the store could not do it.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// The URL names no database that we can use.
    #[error(
        "store.url: “{0}” is not a database; write it like sqlite:vialbell.db or postgres://user@host/vialbell"
    )]
    Url(String),
    /// The file cannot be made or written.
    #[error(
        "{file}: cannot be opened for writing ({error}); check that the folder exists and may be written to"
    )]
    File {
        /// The file.
        file: String,
        /// What the system said.
        error: std::io::Error,
    },
    /// The file is no database of ours.
    #[error(
        "{file}: is not a vialbell database, or is damaged ({error}); it was left as it is, restore a backup"
    )]
    Damaged {
        /// The file.
        file: String,
        /// What the database said.
        error: String,
    },
    /// The file may be sound, but the machine does not let us use it now.
    #[error(
        "{file}: cannot be used now ({error}); nothing was changed, look at the disk and at who else uses the file"
    )]
    Machine {
        /// The file.
        file: String,
        /// What the database said.
        error: String,
    },
    /// The file was made by a newer program.
    #[error(
        "{file}: was written by a newer vialbell (migration {version}); run that version, this one left it as it is"
    )]
    Newer {
        /// The file.
        file: String,
        /// The first step that this program does not know.
        version: i64,
    },
    /// Another program serves the file.
    #[error("{file}: another `vialbell serve` is at work on this file; stop it first")]
    Served {
        /// The file.
        file: String,
    },
    /// Something is where a new file was to be.
    #[error("{0}: is there already and is not written over; name a new file")]
    AlreadyThere(String),
    /// A backup could not be made.
    #[error("{file}: could not be made ({error}); nothing was left there")]
    Backup {
        /// The file that was to be.
        file: String,
        /// Why not.
        error: String,
    },
    /// A database in which nothing may be has something in it.
    #[error("{name}: is not empty ({table}: {rows} rows); move into a database of its own")]
    NotEmpty {
        /// The database, without its password.
        name: String,
        /// A table that has rows.
        table: String,
        /// How many.
        rows: i64,
    },
    /// What is done to a file was asked of a server.
    #[error(
        "{0}: these records are in PostgreSQL; back them up with pg_dump, restore them with pg_restore"
    )]
    NotAFile(String),
    /// The write-ahead log of another database lies beside the file.
    #[error(
        "{file}: was restored beside the log of the database before it; nothing was changed, move {file}-wal and {file}-shm away and try again"
    )]
    OtherLog {
        /// The file.
        file: String,
    },
    /// The server cannot be reached, or does not let us in.
    #[error(
        "{name}: cannot be used now ({error}); check that PostgreSQL runs there and that store.url is right"
    )]
    Server {
        /// The database, without its password.
        name: String,
        /// What the server said.
        error: String,
    },
    /// The file's history is not ours.
    #[error("{file}: its tables do not match this program ({error}); it was left as it is")]
    Migration {
        /// The file.
        file: String,
        /// What is different.
        error: String,
    },
    /// Somebody else changed a household or settled a row in between: decide again.
    #[error("what it was decided on was changed by somebody else in between")]
    Conflict,
    /// A row holds what this program never wrote.
    #[error("household {household}: {what} cannot be read")]
    Unreadable {
        /// The household.
        household: i64,
        /// Which row.
        what: String,
    },
    /// Part of the transaction was refused before, so nothing of it is kept.
    #[error("part of it was refused before, so nothing of it is kept")]
    Refused,
    /// What came in is written as this program does not write it.
    #[error("inbox {0}: what came in cannot be read")]
    Arrival(i64),
    /// Another program reads the database, so its log cannot be emptied.
    #[error("the database is in use, so its write-ahead log could not be emptied; try again")]
    InUse,
    /// A message or change could not be written down.
    #[error("cannot be written down: {0}")]
    Json(#[from] serde_json::Error),
    /// The database said no.
    #[error("the database answered: {0}")]
    Query(sqlx::Error),
}

impl From<sqlx::Error> for StoreError {
    fn from(error: sqlx::Error) -> StoreError {
        match is_guarded(&error) {
            true => StoreError::Conflict,
            false => StoreError::Query(error),
        }
    }
}

/// What statements would make null where somebody else was quicker (`Work::save`,
/// `Work::settle_inbox`): a table and a column that may not be.
const GUARDS: [(&str, &str); 2] = [("household", "version"), ("inbox", "received_at")];

fn is_guarded(error: &sqlx::Error) -> bool {
    let Some(error) = error.as_database_error() else {
        return false;
    };
    // SQLite names the table in its words; PostgreSQL, before 13, only beside them.
    let names = |table| error.message().contains(table) || error.table() == Some(table);
    error.kind() == ErrorKind::NotNullViolation
        && GUARDS
            .iter()
            .any(|(table, column)| names(table) && error.message().contains(column))
}

impl StoreError {
    /// Whether the same may work when it is done again from the beginning:
    /// another worker was quicker, the line to the database broke, or the disk
    /// is full. What was to be done is not to blame.
    #[must_use]
    pub fn is_passing(&self) -> bool {
        match self {
            StoreError::Conflict => true,
            StoreError::Query(error) => match error {
                sqlx::Error::Io(_) | sqlx::Error::PoolTimedOut | sqlx::Error::WorkerCrashed => true,
                error => error
                    .as_database_error()
                    .and_then(|error| error.code())
                    .is_some_and(|code| is_passing_state(&code) || is_the_machine_s(&code)),
            },
            _ => false,
        }
    }

    pub(super) fn opening(file: &str, error: sqlx::Error) -> StoreError {
        let code = error.as_database_error().and_then(|error| error.code());
        let machine = code.is_some_and(|code| is_the_machine_s(&code));
        let (file, error) = (file.into(), error.to_string());
        // "Restore a backup" is bad advice where a full disk is all that is wrong.
        if machine {
            StoreError::Machine { file, error }
        } else {
            StoreError::Damaged { file, error }
        }
    }

    pub(super) fn migrating(file: &str, error: MigrateError) -> StoreError {
        let file: String = file.into();
        match error {
            MigrateError::VersionMissing(version) => StoreError::Newer { file, version },
            MigrateError::Execute(error) => StoreError::opening(&file, error),
            error => StoreError::Migration {
                file,
                error: error.to_string(),
            },
        }
    }
}

/// Whether a result code of SQLite tells of the machine and not of the file:
/// busy, locked, read-only, I/O, full, cannot open. The low byte is the kind
/// (<https://www.sqlite.org/rescode.html>).
fn is_the_machine_s(code: &str) -> bool {
    // PostgreSQL's codes are of five places, SQLite's of four at most.
    code.len() < 5
        && code
            .parse::<u32>()
            .is_ok_and(|code| matches!(code & 0xff, 5 | 6 | 8 | 10 | 13 | 14))
}

/// Whether a code of PostgreSQL's tells of other transactions or of the
/// server's own state: class 08 connection, 40 rollback (serialization,
/// deadlock), 53 resources, 57P shutdown and start, 58 system
/// (<https://www.postgresql.org/docs/15/errcodes-appendix.html>).
fn is_passing_state(code: &str) -> bool {
    code.len() == 5
        && ["08", "40", "53", "57P", "58"]
            .iter()
            .any(|class| code.starts_with(class))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_deadlock_passes_and_a_broken_rule_does_not() {
        // deadlock_detected, serialization_failure, admin_shutdown, disk_full.
        for code in ["40P01", "40001", "57P01", "53100"] {
            assert!(is_passing_state(code), "{code}");
        }
        // unique_violation, check_violation, undefined_table, SQLITE_CONSTRAINT_UNIQUE.
        for code in ["23505", "23514", "42P01", "2067", "5"] {
            assert!(!is_passing_state(code), "{code}");
        }
    }

    #[test]
    fn a_full_disk_is_no_damage() {
        // SQLITE_FULL, SQLITE_IOERR_SHMSIZE, SQLITE_BUSY, SQLITE_CANTOPEN.
        for code in ["13", "4874", "5", "14"] {
            assert!(is_the_machine_s(code), "{code}");
        }
        // SQLITE_CORRUPT, SQLITE_NOTADB, SQLITE_CORRUPT_INDEX, two of PostgreSQL's.
        for code in ["11", "26", "779", "42P01", "42702"] {
            assert!(!is_the_machine_s(code), "{code}");
        }
    }
}
