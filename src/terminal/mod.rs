//! The program at its command line: one file a group of commands, each with its
//! flags beside what it does. `main` only lists them.

mod audit;
mod backup;
mod board;
mod carer;
mod check;
mod columns;
mod completions;
mod course;
mod course_number;
mod enrol;
mod erase;
mod export;
mod gallery;
mod init;
mod moving;
mod order;
mod page;
mod paper;
mod rehearse;
mod serve;
mod staff;

pub use audit::Audit;
pub use backup::Backup;
pub use board::{Board, HouseholdCommand};
pub use carer::CarerCommand;
pub use check::{Check, Forecast};
pub use completions::Completions;
pub use course::CourseCommand;
pub use enrol::{Confirm, Enrol};
pub use erase::Erase;
pub use export::Export;
pub use gallery::Gallery;
pub use init::Init;
pub use moving::Move;
pub use order::OrderCommand;
pub use page::Page;
pub use paper::{PaperCommand, Sheet};
pub use rehearse::Rehearse;
pub use serve::Serve;
pub use staff::StaffCommand;

use crate::clock::SystemClock;
use crate::config::Config;
use crate::engine::Engine;
use crate::store::Store;
use crate::wording::Wording;
use anyhow::Context;
use std::io::Write;
use std::os::unix::fs::OpenOptionsExt;
use std::path::PathBuf;
use std::sync::Arc;
use tokio::sync::watch;

/// The configuration of a command that works on a clinic's records.
#[derive(clap::Args)]
pub struct ClinicFile {
    /// The clinic's configuration.
    #[arg(long, value_name = "FILE", default_value = "clinic.toml")]
    config: PathBuf,
}

impl ClinicFile {
    fn load(&self) -> anyhow::Result<Config> {
        Ok(Config::load(&self.config)?)
    }

    /// An engine that sends nothing by itself: what it commits is sent by the one that serves.
    async fn engine(&self) -> anyhow::Result<Engine> {
        engine(self.load()?).await
    }

    /// An engine to look with: where nothing was ever recorded it makes no database.
    async fn engine_to_look(&self) -> anyhow::Result<Engine> {
        let config = self.load()?;
        expect_records(&config)?;
        engine(config).await
    }
}

/// The configuration of a command that can do without one.
#[derive(clap::Args)]
pub struct MaybeClinicFile {
    /// The clinic's configuration; the invented example where left out.
    #[arg(long, value_name = "FILE")]
    config: Option<PathBuf>,
}

impl MaybeClinicFile {
    /// Whether a clinic of somebody's own is meant.
    fn is_given(&self) -> bool {
        self.config.is_some()
    }

    fn load(&self) -> anyhow::Result<Config> {
        match &self.config {
            Some(path) => Ok(Config::load(path)?),
            None => Ok(Config::built_in()),
        }
    }
}

async fn engine(config: Config) -> anyhow::Result<Engine> {
    let store = Store::open(&config.settings.store_url).await?;
    let engine = Engine::new(
        store,
        Wording::load()?,
        config.policy,
        config.formulary,
        Vec::new(),
        Arc::new(SystemClock),
    );
    if let Some(name) = &config.settings.bot_name {
        engine.set_bot_name(name);
    }
    Ok(engine)
}

/// # Errors
/// Where nothing was ever recorded.
fn expect_records(config: &Config) -> anyhow::Result<()> {
    if let Some(file) = config.settings.store_url.strip_prefix("sqlite:")
        && !std::path::Path::new(file).exists()
    {
        anyhow::bail!("{file}: there are no records yet; enrol or serve first");
    }
    Ok(())
}

/// Writes a file that only its owner reads; never over one that is there.
fn write_new(file: &std::path::Path, bytes: &[u8]) -> anyhow::Result<()> {
    let mut opened = std::fs::OpenOptions::new()
        .write(true)
        .create_new(true)
        .mode(0o600)
        .open(file)
        .with_context(|| file.display().to_string())?;
    opened
        .write_all(bytes)
        .with_context(|| file.display().to_string())
}

/// Prints a line. A reader that went away, such as `head`, is no failure.
fn say(line: &str) -> anyhow::Result<()> {
    match writeln!(std::io::stdout(), "{line}") {
        Err(error) if error.kind() == std::io::ErrorKind::BrokenPipe => Ok(()),
        said => said.context("standard output"),
    }
}

/// True once somebody asks the program to stop.
fn stop_signal() -> watch::Receiver<bool> {
    let (stop, stopped) = watch::channel(false);
    tokio::spawn(async move {
        use tokio::signal::unix::{SignalKind, signal};
        let terminated = async {
            match signal(SignalKind::terminate()) {
                Ok(mut terminate) => terminate.recv().await.is_some(),
                Err(_) => std::future::pending().await,
            }
        };
        tokio::select! {
            _ = tokio::signal::ctrl_c() => {}
            _ = terminated => {}
        }
        // Whoever listened may have ended by itself.
        let _ = stop.send(true);
        stop.closed().await;
    });
    stopped
}
