//! `paper` and `sheet`: what goes home.

use super::{ClinicFile, MaybeClinicFile, write_new};
use crate::clock::SystemClock;
use crate::config::load_prescription;
use crate::domain::message::Paper;
use crate::engine::{Confirmation, Engine};
use crate::store::Store;
use crate::wording::Wording;
use anyhow::Context;
use std::path::PathBuf;
use std::sync::Arc;

/// The flags of `paper`.
#[derive(clap::Args)]
#[command(after_help = "Examples:\n  \
    vialbell paper sheet 1 1 juniper.pdf\n  \
    vialbell paper calendar 1 1 juniper.ics")]
pub struct PaperCommand {
    #[command(flatten)]
    clinic: ClinicFile,
    /// Which paper.
    kind: Kind,
    /// The household.
    household: i64,
    /// The course.
    course: u32,
    /// Where it is written.
    file: PathBuf,
}

#[derive(Clone, Copy, clap::ValueEnum)]
enum Kind {
    /// A page that stands on its own (PDF).
    Sheet,
    /// The course at a glance (PNG).
    Picture,
    /// The doses to come, for a phone's calendar (iCalendar).
    Calendar,
}

impl PaperCommand {
    /// Writes the paper.
    ///
    /// # Errors
    /// Where there is no such course, or the file cannot be written.
    pub async fn run(self) -> anyhow::Result<()> {
        let (household, course) = (self.household, self.course);
        let engine = self.clinic.engine_to_look().await?;
        let known = engine.household(household).await?;
        let known = known.with_context(|| format!("there is no household {household}"))?;
        let paper = match self.kind {
            Kind::Sheet => Paper::Sheet { course },
            Kind::Picture => Paper::Picture { course },
            Kind::Calendar => Paper::Calendar { course },
        };
        let made = engine.make_paper(&known, paper, None, engine.now())?;
        let made = made.with_context(|| format!("household {household} has no course {course}"))?;
        write_new(&self.file, &made.bytes)
    }
}

/// The flags of `sheet`.
#[derive(clap::Args)]
#[command(after_help = "Example:\n  \
    vialbell sheet juniper.toml juniper.pdf")]
pub struct Sheet {
    #[command(flatten)]
    clinic: MaybeClinicFile,
    /// The prescription file.
    prescription: PathBuf,
    /// Where the PDF is written.
    file: PathBuf,
}

impl Sheet {
    /// Writes the sheet of an order that is enrolled in a database which is thrown away.
    ///
    /// # Errors
    /// All that is wrong with the order, or a file that cannot be written.
    pub async fn run(self) -> anyhow::Result<()> {
        let config = self.clinic.load()?;
        let wording = Wording::load()?;
        let order = load_prescription(&self.prescription, &config.formulary, &wording.languages())?;
        let engine = Engine::new(
            Store::throw_away().await?,
            wording,
            config.policy,
            config.formulary,
            Vec::new(),
            Arc::new(SystemClock),
        );
        let enrolled = engine
            .enrol(&order, None, "sheet", Confirmation::Counted, engine.now())
            .await?;
        let household = engine
            .household(enrolled.household)
            .await?
            .context("the household is gone")?;
        let paper = Paper::Sheet {
            course: enrolled.course,
        };
        let made = engine.make_paper(&household, paper, None, engine.now())?;
        let made = made.context("the course is gone")?;
        write_new(&self.file, &made.bytes)
    }
}
