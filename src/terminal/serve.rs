//! `serve`: the clinics' bots.

use super::stop_signal;
use crate::channel::telegram::{Secret, Token};
use crate::config::Config;
use crate::serve::Bot;
use anyhow::Context;
use std::path::PathBuf;

const TOKEN: &str = "VIALBELL_TELEGRAM_TOKEN";
const SECRET: &str = "VIALBELL_WEBHOOK_SECRET";

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
            let key = &config.policy.clinic.key;
            let token = token_of(key, alone)?;
            let secret = match config.settings.telegram_webhook {
                Some(_) => {
                    let what = "the webhook's secret";
                    Some(of_clinic(SECRET, what, key, alone, Secret::parse)?)
                }
                None => None,
            };
            bots.push(Bot {
                config,
                token,
                secret,
            });
        }
        crate::serve::serve(bots, stop_signal()).await
    }
}

/// The token of a clinic's bot, from the environment.
pub(super) fn token_of(key: &str, alone: bool) -> anyhow::Result<Token> {
    of_clinic(TOKEN, "the bot's token", key, alone, Token::parse)
}

/// The environment variable in which the token of a clinic's bot stands.
pub(super) fn variable_of(key: &str, alone: bool) -> String {
    variable(TOKEN, key, alone)
}

/// What a clinic's bot is known by, from the environment.
fn of_clinic<T, E: std::error::Error + Send + Sync + 'static>(
    name: &str,
    what: &str,
    key: &str,
    alone: bool,
    parse: impl FnOnce(&str) -> Result<T, E>,
) -> anyhow::Result<T> {
    let name = variable(name, key, alone);
    let value = std::env::var(&name)
        .with_context(|| format!("{name}: put {what} in this environment variable"))?;
    parse(&value).with_context(|| name.clone())
}

/// `NAME_KEY`, or `NAME` where there is one clinic only.
fn variable(name: &str, key: &str, alone: bool) -> String {
    let own = format!("{name}_{}", key.to_uppercase().replace('-', "_"));
    match alone && std::env::var_os(&own).is_none() {
        true => name.to_owned(),
        false => own,
    }
}
