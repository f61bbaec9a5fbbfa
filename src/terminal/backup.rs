//! `backup`: a whole copy of the records, also while they are used.

use super::{ClinicFile, expect_records, say};
use crate::store::Store;
use std::path::PathBuf;

/// The flags of `backup`.
#[derive(clap::Args)]
#[command(after_help = "Example:\n  \
    vialbell backup --to backup-2026-11-25.db\n\n\
    To restore it, stop the program, move vialbell.db, vialbell.db-wal and\n\
    vialbell.db-shm away, and copy the backup to vialbell.db.")]
pub struct Backup {
    #[command(flatten)]
    clinic: ClinicFile,
    /// The new file; nothing is ever written over.
    #[arg(long, value_name = "FILE")]
    to: PathBuf,
}

impl Backup {
    /// Copies the database, checks the copy, and says what it holds.
    ///
    /// # Errors
    /// As [`Store::back_up`].
    pub async fn run(self) -> anyhow::Result<()> {
        let config = self.clinic.load()?;
        expect_records(&config)?;
        let done = Store::back_up(&config.settings.store_url, &self.to).await?;
        say(&format!(
            "{}: checked; households: {}, entries of the journal: {}, bytes: {}",
            self.to.display(),
            done.households,
            done.entries,
            done.bytes
        ))
    }
}
