//! `serve`: the clinics' bots.

use super::stop_signal;
use crate::channel::telegram::Token;
use crate::config::Config;
use crate::serve::Bot;
use anyhow::Context;
use std::path::PathBuf;

const TOKEN: &str = "VIALBELL_TELEGRAM_TOKEN";

/// The flags of `serve`.
#[derive(clap::Args)]
#[command(after_help = "Example:\n  \
    vialbell serve --config clinic.toml")]
pub struct Serve {
    /// The clinic's configuration; given more than once, several clinics share
    /// one database, each with a bot of its own (VIALBELL_TELEGRAM_TOKEN_KEY).
    #[arg(long, value_name = "FILE", default_value = "clinic.toml")]
    config: Vec<PathBuf>,
}

impl Serve {
    /// Serves until somebody asks the program to stop.
    ///
    /// # Errors
    /// A bad configuration, a missing token, a database that cannot be used.
    pub async fn run(self) -> anyhow::Result<()> {
        let alone = self.config.len() == 1;
        let mut bots = Vec::new();
        for path in &self.config {
            let config = Config::load(path)?;
            let token = token_of(&config.policy.clinic.key, alone)?;
            bots.push(Bot { config, token });
        }
        crate::serve::serve(bots, stop_signal()).await
    }
}

/// The token of a clinic's bot, from the environment.
pub(super) fn token_of(key: &str, alone: bool) -> anyhow::Result<Token> {
    let name = variable_of(key, alone);
    let token = std::env::var(&name)
        .with_context(|| format!("{name}: put the bot's token in this environment variable"))?;
    Token::parse(&token).with_context(|| name.clone())
}

/// The environment variable in which the token of a clinic's bot stands.
pub(super) fn variable_of(key: &str, alone: bool) -> String {
    let own = format!("{TOKEN}_{}", key.to_uppercase().replace('-', "_"));
    match alone && std::env::var_os(&own).is_none() {
        true => TOKEN.to_owned(),
        false => own,
    }
}
