//! `check` and `forecast`: what can be said before anybody is enrolled.

use super::{MaybeClinicFile, say};
use crate::check;
use crate::clock::SystemClock;
use crate::wording::Wording;
use serde_json::json;
use std::path::PathBuf;

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
        let checked = check::check(&config, &wording, &self.prescription, &SystemClock).await?;
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
