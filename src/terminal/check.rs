//! `check` and `forecast`: what can be said before anybody is enrolled.

use super::{MaybeClinicFile, say};
use crate::check;
use crate::clock::SystemClock;
use crate::wording::Wording;
use std::path::PathBuf;

/// The flags of `check`.
#[derive(clap::Args)]
pub struct Check {
    #[command(flatten)]
    clinic: MaybeClinicFile,
    /// A prescription file; may be given more than once.
    #[arg(long, value_name = "FILE")]
    prescription: Vec<PathBuf>,
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
        for line in &checked.lines {
            say(line)?;
        }
        match checked.wrong.as_slice() {
            [] => Ok(()),
            wrong => anyhow::bail!("{}", wrong.join("\n")),
        }
    }
}

/// The flags of `forecast`.
#[derive(clap::Args)]
pub struct Forecast {
    #[command(flatten)]
    clinic: MaybeClinicFile,
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
        let lines =
            check::vials_ahead(&config, &Wording::load()?, &self.prescription, &SystemClock)?;
        lines.iter().try_for_each(|line| say(line))
    }
}
