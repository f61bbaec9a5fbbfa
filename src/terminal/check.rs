//! `check` and `forecast`: what can be said before anybody is enrolled.

use super::serve::{token_of, variable_of};
use super::{MaybeClinicFile, say};
use crate::channel::telegram::TelegramChannel;
use crate::check::{self, Checked};
use crate::clock::SystemClock;
use crate::config::Config;
use crate::wording::Wording;
use serde_json::json;
use std::path::PathBuf;
use std::time::Duration;

/// How long the platform may take to say whose token it is.
const LONGEST_ASKING: Duration = Duration::from_secs(10);

/// The flags of `check`.
#[derive(clap::Args)]
#[command(after_help = "Examples:\n  \
    vialbell check --config clinic.toml\n  \
    vialbell check --prescription juniper.toml\n  \
    vialbell check --json | jq -r '.wrong[]'")]
pub struct Check {
    #[command(flatten)]
    clinic: MaybeClinicFile,
    /// A prescription file; may be given more than once.
    #[arg(long, value_name = "FILE")]
    prescription: Vec<PathBuf>,
    /// Print one JSON object: what holds, and what is wrong.
    #[arg(long)]
    json: bool,
}

impl Check {
    /// Says what holds.
    ///
    /// # Errors
    /// All that is wrong, a line each.
    pub async fn run(self) -> anyhow::Result<()> {
        let config = self.clinic.load()?;
        let wording = Wording::load()?;
        let mut checked = check::check(&config, &wording, &self.prescription, &SystemClock).await?;
        if self.clinic.is_given() {
            try_the_bot(&config, &mut checked).await;
        }
        if self.json {
            say(&json!({ "holds": checked.lines, "wrong": checked.wrong }).to_string())?;
        } else {
            checked.lines.iter().try_for_each(|line| say(line))?;
        }
        match checked.wrong.as_slice() {
            [] => Ok(()),
            wrong => anyhow::bail!("{}", wrong.join("\n")),
        }
    }
}

/// Asks the platform whose token it is: a wrong one is found before an owner waits.
async fn try_the_bot(config: &Config, checked: &mut Checked) {
    let variable = variable_of(&config.policy.clinic.key, true);
    if std::env::var_os(&variable).is_none() {
        let line = format!("note: the bot was not tried: {variable} is not set");
        return checked.lines.push(line);
    }
    let asked = async {
        let token = token_of(&config.policy.clinic.key, true)?;
        let api = config.settings.telegram_api_url.as_deref();
        let telegram = TelegramChannel::new(token, api)?;
        let answer = tokio::time::timeout(LONGEST_ASKING, telegram.ask_name()).await;
        let name = answer.map_err(|_| anyhow::anyhow!("Telegram does not answer"))??;
        anyhow::Ok(name)
    };
    match asked.await {
        Ok(name) => checked.lines.push(format!("bot: @{}", name.as_str())),
        Err(error) => checked.wrong.push(format!("bot: {error:#}")),
    }
}

/// The flags of `forecast`.
#[derive(clap::Args)]
#[command(after_help = "Examples:\n  \
    vialbell forecast juniper.toml\n  \
    vialbell forecast --json juniper.toml | jq '.vials | length'")]
pub struct Forecast {
    #[command(flatten)]
    clinic: MaybeClinicFile,
    /// Print one JSON object.
    #[arg(long)]
    json: bool,
    /// The prescription file.
    prescription: PathBuf,
}

impl Forecast {
    /// Prints each vial of the course, and the sum.
    ///
    /// # Errors
    /// All that is wrong with the order, a line each.
    pub async fn run(self) -> anyhow::Result<()> {
        let config = self.clinic.load()?;
        let ahead =
            check::vials_ahead(&config, &Wording::load()?, &self.prescription, &SystemClock)?;
        if self.json {
            return say(&ahead.json().to_string());
        }
        ahead.lines().iter().try_for_each(|line| say(line))
    }
}
