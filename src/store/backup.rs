//! A copy of the records that is whole at one instant, made while others write.

use super::{Store, StoreError, postgres, sqlite};
use sqlx::{AnyConnection, Connection, Row};
use std::fs::File;
use std::io::ErrorKind;
use std::os::unix::fs::OpenOptionsExt;
use std::path::{Path, PathBuf};

/// What a backup holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BackedUp {
    /// Households of all clinics.
    pub households: u64,
    /// Entries of the journal.
    pub entries: u64,
    /// Its size in bytes.
    pub bytes: u64,
}

impl Store {
    /// Copies a SQLite database into a new file: all that was committed when it
    /// began, and nothing by halves. Others may go on writing. The file is
    /// readable by its owner only from its first byte on, is checked, and gets
    /// its name when it is whole and on disk.
    ///
    /// # Errors
    /// There is something at that place, the database is damaged or cannot be
    /// read, the disk is full, or the records are PostgreSQL's, which has tools
    /// of its own. Nothing is left at the place then.
    pub async fn back_up(url: &str, to: &Path) -> Result<BackedUp, StoreError> {
        super::load_drivers();
        if postgres::is_url(url) {
            return Err(StoreError::NotAFile(postgres::name_of(url)));
        }
        let from = sqlite::file_of(url).ok_or_else(|| StoreError::Url(url.into()))?;
        if std::fs::symlink_metadata(to).is_ok() {
            return Err(StoreError::AlreadyThere(to.display().to_string()));
        }
        let failed = |error: String| StoreError::Backup {
            file: to.display().to_string(),
            error,
        };
        let mut source = sqlite::look(from).await?;
        let unfinished = Unfinished::beside(to).map_err(|e| failed(e.to_string()))?;
        let copy = unfinished.name().map_err(failed)?;
        let before = counts(&mut source).await?;
        sqlx::query("vacuum into $1")
            .bind(copy.to_owned())
            .execute(&mut source)
            .await
            .map_err(|e| failed(e.to_string()))?;
        let after = counts(&mut source).await?;
        source.close().await?;

        let mut written = sqlite::look_at_copy(copy)
            .await
            .map_err(|e| failed(e.to_string()))?;
        let held = counts(&mut written)
            .await
            .map_err(|e| failed(e.to_string()))?;
        written.close().await?;
        // Neither is ever taken away, and both may have grown meanwhile.
        let between = |at: fn(&(u64, u64)) -> u64| (at(&before)..=at(&after)).contains(&at(&held));
        if !between(|counts| counts.0) || !between(|counts| counts.1) {
            return Err(failed(format!(
                "it holds {} households and {} entries of the journal, where there are {} and {}",
                held.0, held.1, after.0, after.1
            )));
        }
        let bytes = unfinished.finish(to)?;
        Ok(BackedUp {
            households: held.0,
            entries: held.1,
            bytes,
        })
    }
}

/// Households, and entries of the journal.
async fn counts(connection: &mut AnyConnection) -> Result<(u64, u64), StoreError> {
    let row =
        sqlx::query("select (select count(*) from household), (select count(*) from journal)")
            .fetch_one(connection)
            .await?;
    let count = |at: usize| -> Result<u64, StoreError> {
        let count: i64 = row.try_get(at)?;
        Ok(u64::try_from(count).unwrap_or(0))
    };
    Ok((count(0)?, count(1)?))
}

/// A file under another name, taken away unless it is finished.
struct Unfinished {
    path: PathBuf,
    file: File,
}

impl Unfinished {
    /// An empty file that nobody else may read, beside the one that it is to be.
    fn beside(to: &Path) -> std::io::Result<Unfinished> {
        let mut name = to.as_os_str().to_owned();
        name.push(format!(".unfinished-{}", std::process::id()));
        // SQLite would take a name that begins with `file:` for a URI.
        let path = std::path::absolute(PathBuf::from(name))?;
        let file = File::options()
            .write(true)
            .create_new(true)
            .mode(0o600)
            .open(&path)?;
        Ok(Unfinished { path, file })
    }

    fn name(&self) -> Result<&str, String> {
        self.path
            .to_str()
            .ok_or_else(|| "its name is not UTF-8".to_owned())
    }

    /// Gives it its name once it is on disk, never in the place of anything
    /// else; says how many bytes it has.
    fn finish(self, to: &Path) -> Result<u64, StoreError> {
        let finished = || -> std::io::Result<u64> {
            self.file.sync_all()?;
            // A second name, and not a new one: that would replace what came there meanwhile.
            match std::fs::hard_link(&self.path, to) {
                Err(error) if error.kind() == ErrorKind::AlreadyExists => return Err(error),
                // Not every file system gives a file two names.
                Err(_) if std::fs::symlink_metadata(to).is_err() => {
                    std::fs::rename(&self.path, to)?;
                }
                linked => linked?,
            }
            let absolute = std::path::absolute(to)?;
            if let Some(folder) = absolute.parent() {
                File::open(folder)?.sync_all()?;
            }
            Ok(self.file.metadata()?.len())
        };
        finished().map_err(|error| match error.kind() {
            ErrorKind::AlreadyExists => StoreError::AlreadyThere(to.display().to_string()),
            _ => StoreError::Backup {
                file: to.display().to_string(),
                error: error.to_string(),
            },
        })
    }
}

impl Drop for Unfinished {
    fn drop(&mut self) {
        // Where it has been renamed there is nothing left to take away.
        let _ = std::fs::remove_file(&self.path);
    }
}
