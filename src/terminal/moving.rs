//! `move`: a SQLite clinic goes on in PostgreSQL.

use super::columns::columns;
use super::{ClinicFile, expect_records, say};
use crate::store::{HeldRows, MovedTable, Store};
use anyhow::ensure;

/// The flags of `move`.
#[derive(clap::Args)]
#[command(after_help = "Example:\n  \
    vialbell move --to postgres://vialbell@localhost/vialbell\n\n\
    Stop `vialbell serve` first. The password, where there is one, comes from\n\
    PGPASSWORD. Afterwards write the same URL into store.url.")]
pub struct Move {
    #[command(flatten)]
    clinic: ClinicFile,
    /// An empty PostgreSQL database.
    #[arg(long, value_name = "URL")]
    to: String,
}

impl Move {
    /// Copies every table, compares both sides, and prints what they hold.
    ///
    /// # Errors
    /// As [`Store::move_to_server`], and where both sides differ.
    pub async fn run(self) -> anyhow::Result<()> {
        let config = self.clinic.load()?;
        let from = config.settings.store_url.as_str();
        ensure!(
            from.starts_with("sqlite:"),
            "store.url: these records are in PostgreSQL already"
        );
        ensure!(
            self.to.starts_with("postgres://") || self.to.starts_with("postgresql://"),
            "--to: write the database like postgres://user@host/vialbell"
        );
        expect_records(&config)?;
        let tables = Store::move_to_server(from, &self.to).await?;
        for line in table_of(&tables) {
            say(&line)?;
        }
        let different: Vec<&str> = tables
            .iter()
            .filter(|table| !table.is_same())
            .map(|table| table.name.as_str())
            .collect();
        ensure!(
            different.is_empty(),
            "both sides differ in {}; nothing was kept in PostgreSQL",
            different.join(", ")
        );
        say("both hold the same; write the URL into store.url, and keep the file as a backup")
    }
}

fn table_of(tables: &[MovedTable]) -> Vec<String> {
    let head = [
        "table",
        "rows here",
        "rows there",
        "SHA-256 here",
        "SHA-256 there",
        "",
    ];
    let mut lines = vec![head.map(str::to_owned).to_vec()];
    for table in tables {
        let same = match table.is_same() {
            true => "same",
            false => "DIFFERENT",
        };
        lines.push(vec![
            table.name.clone(),
            table.here.rows.to_string(),
            table.there.rows.to_string(),
            beginning(&table.here),
            beginning(&table.there),
            same.to_owned(),
        ]);
    }
    columns(&lines)
}

/// Enough of a digest to be compared by eye; all of it was compared.
fn beginning(held: &HeldRows) -> String {
    held.digest[..8]
        .iter()
        .map(|b| format!("{b:02x}"))
        .collect()
}
