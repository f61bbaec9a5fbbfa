//! `serve`: the clinic's bot.

use super::{ClinicFile, stop_signal};
use anyhow::Context;

/// The flags of `serve`.
#[derive(clap::Args)]
pub struct Serve {
    #[command(flatten)]
    clinic: ClinicFile,
}

impl Serve {
    /// Serves until somebody asks the program to stop.
    ///
    /// # Errors
    /// A bad configuration, a missing token, a database that cannot be used.
    pub async fn run(self) -> anyhow::Result<()> {
        let config = self.clinic.load()?;
        let token = std::env::var("VIALBELL_TELEGRAM_TOKEN")
            .context("VIALBELL_TELEGRAM_TOKEN: put the bot's token in this environment variable")?;
        crate::serve::serve(config, &token, stop_signal()).await
    }
}
