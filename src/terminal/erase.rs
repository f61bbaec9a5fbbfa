//! `erase`: an owner's personal data goes, the clinical record stays.

use super::{ClinicFile, say};
use crate::engine::{EraseError, Erasure};
use anyhow::Context;

/// The flags of `erase`.
#[derive(clap::Args)]
#[command(
    group = clap::ArgGroup::new("how").required(true),
    after_help = "Examples:\n  \
    vialbell erase 1 --by Ines --dry-run\n  \
    vialbell erase 1 --by Ines --yes\n\n\
    Names of the owner and the carers, their chats and every word they wrote go, and\n\
    cannot be had back. The patient, the order, doses, volumes, vials and times stay.\n\
    A course that is under way hinders it. Backups that were made before still hold\n\
    what was erased, and so do the chats on the platform."
)]
pub struct Erase {
    #[command(flatten)]
    clinic: ClinicFile,
    /// Who at the clinic does it.
    #[arg(long, value_name = "NAME")]
    by: String,
    /// Do it, for good.
    #[arg(long, group = "how")]
    yes: bool,
    /// Print what would go, and change nothing.
    #[arg(long, group = "how")]
    dry_run: bool,
    /// The household.
    household: i64,
}

impl Erase {
    /// Erases the people, or prints what would go.
    ///
    /// # Errors
    /// Where there is no such household, a course is under way, or the
    /// database's files could not be rebuilt.
    pub async fn run(self) -> anyhow::Result<()> {
        let household = self.household;
        let engine = self.clinic.engine_to_look().await?;
        let now = engine.now();
        let erased = match self.dry_run {
            true => engine.what_would_be_erased(household, &self.by, now).await,
            false => engine.erase(household, &self.by, now).await,
        };
        match erased {
            Ok(erasure) => told(&erasure).iter().try_for_each(|line| say(line))?,
            // The files may still have to be rebuilt.
            Err(error @ EraseError::Before(_)) if self.yes => say(&error.to_string())?,
            Err(error) => return Err(error.into()),
        }
        if self.dry_run {
            return say("nothing was changed");
        }
        engine.scrub().await.with_context(|| {
            format!("household {household} is erased, but the files still hold what was")
        })?;
        say(&format!("household {household} is erased"))
    }
}

fn told(erasure: &Erasure) -> Vec<String> {
    let rows = erasure.rows;
    let mut lines = vec![
        format!("names: {}", erasure.names.join(", ")),
        format!("chats: {}", erasure.chats.join(", ")),
        format!("entries of the journal: {}", rows.entries),
        format!("messages that came in: {}", rows.arrivals),
        format!("messages that went out: {}", rows.messages),
    ];
    if !erasure.drafts.is_empty() {
        let drafts: Vec<String> = erasure.drafts.iter().map(u32::to_string).collect();
        lines.push(format!(
            "orders never confirmed, which end: {}",
            drafts.join(", ")
        ));
    }
    if erasure.unseen > 0 {
        lines.push(format!(
            "alerts not seen, which count as seen: {}",
            erasure.unseen
        ));
    }
    lines
}
