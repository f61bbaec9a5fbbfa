//! `enrol` and `confirm`: an order and the second person who checks it.

use super::{ClinicFile, engine, say};
use crate::clock::{Clock, SystemClock};
use crate::config::load_prescription;
use crate::engine::{Confirmation, Confirmed};
use crate::wording::Wording;
use std::path::PathBuf;

/// The flags of `enrol`.
#[derive(clap::Args)]
#[command(after_help = "Examples:\n  \
    vialbell enrol --by Ines juniper.toml\n  \
    vialbell enrol --by Ines --household 1 hazel.toml")]
pub struct Enrol {
    #[command(flatten)]
    clinic: ClinicFile,
    /// Add it to this household instead of making a new one.
    #[arg(long, value_name = "NUMBER")]
    household: Option<i64>,
    /// Who enters the order; somebody else has to confirm it.
    #[arg(long, value_name = "NAME", default_value = "terminal")]
    by: String,
    /// The prescription file.
    file: PathBuf,
}

impl Enrol {
    /// Enrols the order and prints the invitations.
    ///
    /// # Errors
    /// All that is wrong with the order, a line each; nothing was changed then.
    pub async fn run(self) -> anyhow::Result<()> {
        let config = self.clinic.load()?;
        let order =
            load_prescription(&self.file, &config.formulary, &Wording::load()?.languages())?;
        // Before the database is touched: a refused order leaves nothing behind.
        if let Err(errors) = order.work_out(&config.policy, SystemClock.now()) {
            let file = self.file.display();
            let lines: Vec<String> = errors.iter().map(|e| format!("{file}: {e}")).collect();
            anyhow::bail!("{}", lines.join("\n"));
        }
        let engine = engine(config).await?;
        let enrolled = engine
            .enrol(
                &order,
                self.household,
                &self.by,
                Confirmation::Asked,
                engine.now(),
            )
            .await?;
        say(&format!(
            "household {}, course {}",
            enrolled.household, enrolled.course
        ))?;
        for (name, code) in &enrolled.invitations {
            say(&format!("{name}: {}", engine.invitation_link(code)))?;
        }
        if enrolled.waits {
            say(&format!(
                "Nothing is asked for until a second person has confirmed it: in the clinic's chat, or with\n\
                 vialbell confirm --by NAME {} {}",
                enrolled.household, enrolled.course
            ))?;
        }
        Ok(())
    }
}

/// The flags of `confirm`.
#[derive(clap::Args)]
#[command(after_help = "Example:\n  \
    vialbell confirm --by Noor 1 1")]
pub struct Confirm {
    #[command(flatten)]
    clinic: ClinicFile,
    /// Who has checked it.
    #[arg(long, value_name = "NAME")]
    by: String,
    /// The household, as `enrol` printed it.
    household: i64,
    /// The course, as `enrol` printed it.
    course: u32,
}

impl Confirm {
    /// Confirms the order.
    ///
    /// # Errors
    /// Where there is no such course, or the same person entered it.
    pub async fn run(self) -> anyhow::Result<()> {
        let Confirm {
            by,
            household,
            course,
            ..
        } = &self;
        let engine = self.clinic.engine().await?;
        match engine
            .confirm(*household, *course, by, engine.now())
            .await?
        {
            Confirmed::Now => say(&format!("confirmed by {by}: it takes effect now")),
            Confirmed::Before(who) => say(&format!("it was confirmed before, by {who}")),
            Confirmed::SamePerson => {
                anyhow::bail!("{by} entered this order; a second person has to confirm it")
            }
            Confirmed::Veterinarian => anyhow::bail!(
                "a veterinarian on the clinic's staff list has to confirm what somebody else entered, or enter it"
            ),
            Confirmed::NoSuchCourse => {
                anyhow::bail!("household {household} has no course {course}")
            }
        }
    }
}
