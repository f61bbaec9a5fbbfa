//! `order`: changing the order of a course under way. What would change is
//! printed first, and nothing is changed before a yes.

use super::{ClinicFile, say};
use crate::domain::amendment::Alteration;
use crate::domain::order_words::read_change;
use crate::engine::{Changed, Engine};
use std::io::{BufRead, Write};

/// The flags of `order`.
#[derive(clap::Args)]
pub struct OrderCommand {
    #[command(subcommand)]
    what: What,
}

#[derive(clap::Subcommand)]
enum What {
    /// Change the dose, the times, the zone or the length.
    #[command(
        after_help = "Examples:\n  vialbell order change --by Ines 3 1 dose 1.2 mL\n  \
                      vialbell order change --by Ines 3 1 times 08:00 20:00\n  \
                      vialbell order change --by Ines 3 1 zone Europe/Madrid\n  \
                      vialbell order change --by Ines --yes 3 1 days 28"
    )]
    Change {
        #[command(flatten)]
        of: Of,
        /// What: dose, times, zone, days, doses or until, and its value.
        #[arg(required = true)]
        change: Vec<String>,
    },
    /// Ask for nothing until the course is resumed, on the veterinarian's order.
    Pause {
        #[command(flatten)]
        of: Of,
    },
    /// Let a paused course go on.
    Resume {
        #[command(flatten)]
        of: Of,
    },
    /// End a course before its last dose; the record stays.
    End {
        #[command(flatten)]
        of: Of,
    },
    /// Confirm a change that somebody else entered.
    Confirm {
        #[command(flatten)]
        clinic: ClinicFile,
        /// Who has checked it.
        #[arg(long, value_name = "NAME")]
        by: String,
        /// The household.
        household: i64,
        /// The change, by the number that was printed when it was entered.
        number: u32,
    },
}

/// Which course, and who speaks.
#[derive(clap::Args)]
struct Of {
    #[command(flatten)]
    clinic: ClinicFile,
    /// Who enters the change; where the arithmetic changes somebody else has to confirm it.
    #[arg(long, value_name = "NAME")]
    by: String,
    /// Do not ask before it is entered.
    #[arg(long)]
    yes: bool,
    /// The household.
    household: i64,
    /// The course.
    course: u32,
}

impl OrderCommand {
    /// Reads a change back, and enters it after a yes.
    ///
    /// # Errors
    /// Where it cannot be read or carried out; nothing was changed then.
    pub async fn run(self) -> anyhow::Result<()> {
        match self.what {
            What::Change { of, change } => {
                let words: Vec<&str> = change.iter().flat_map(|w| w.split_whitespace()).collect();
                let what = read_change(&words).map_err(|unclear| anyhow::anyhow!(unclear.0))?;
                enter(of, what).await
            }
            What::Pause { of } => enter(of, Alteration::Pause).await,
            What::Resume { of } => enter(of, Alteration::Resume).await,
            What::End { of } => enter(of, Alteration::End).await,
            What::Confirm {
                clinic,
                by,
                household,
                number,
            } => {
                let engine = clinic.engine().await?;
                let changed = engine
                    .confirm_change(household, number, &by, engine.now())
                    .await?;
                report(&engine, household, &by, changed)
            }
        }
    }
}

async fn enter(of: Of, what: Alteration) -> anyhow::Result<()> {
    let engine = of.clinic.engine().await?;
    let preview = engine
        .preview_change(of.household, of.course, &what, &of.by, engine.now())
        .await?;
    say(&preview.text)?;
    if !of.yes && !said_yes()? {
        return say("Nothing was changed.");
    }
    let changed = engine
        .change_order(of.household, of.course, &what, &of.by, engine.now())
        .await?;
    report(&engine, of.household, &of.by, changed)
}

fn report(engine: &Engine, household: i64, by: &str, changed: Changed) -> anyhow::Result<()> {
    match changed {
        Changed::Now { invitation } => {
            say("It takes effect now.")?;
            match invitation {
                Some(code) => say(&engine.invitation_link(&code)),
                None => Ok(()),
            }
        }
        Changed::Waits(number) => say(&format!(
            "Nothing is changed until a second person has confirmed it: in the clinic's chat, or with\n\
             vialbell order confirm --by NAME {household} {number}"
        )),
        Changed::Veterinarian(number) => say(&format!(
            "Nothing is changed until a veterinarian on the clinic's staff list has confirmed it: in the clinic's chat, or with\n\
             vialbell order confirm --by NAME {household} {number}"
        )),
        Changed::SamePerson => {
            anyhow::bail!("{by} entered this change; a second person has to confirm it")
        }
        Changed::Closed => anyhow::bail!("this change was answered before, or it is too old"),
    }
}

fn said_yes() -> anyhow::Result<bool> {
    print!("Enter this change? [y/N] ");
    std::io::stdout().flush()?;
    let mut answer = String::new();
    std::io::stdin().lock().read_line(&mut answer)?;
    Ok(matches!(answer.trim().to_lowercase().as_str(), "y" | "yes"))
}
