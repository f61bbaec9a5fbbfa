//! `carer`: who gives the injections of a household.

use super::{ClinicFile, say};

/// The flags of `carer`.
#[derive(clap::Args)]
#[command(after_help = "Examples:\n  \
    vialbell carer add 1 'Teo Oakhollow'\n  \
    vialbell carer --by Ines remove 1 'Teo Oakhollow'")]
pub struct CarerCommand {
    #[command(flatten)]
    clinic: ClinicFile,
    /// Who does it.
    #[arg(long, value_name = "NAME", default_value = "terminal")]
    by: String,
    /// What is done.
    what: What,
    /// The household.
    household: i64,
    /// The carer's name.
    name: String,
}

#[derive(Clone, Copy, clap::ValueEnum)]
enum What {
    /// Print an invitation for somebody new, or anew for somebody who has not joined.
    Add,
    /// Send nothing more to them, and hear nothing more from them.
    Remove,
}

impl CarerCommand {
    /// Adds a carer or takes one off.
    ///
    /// # Errors
    /// Where there is no such household, or the name does not fit what is done.
    pub async fn run(self) -> anyhow::Result<()> {
        let CarerCommand {
            by,
            household,
            name,
            ..
        } = &self;
        let engine = self.clinic.engine().await?;
        match self.what {
            What::Add => {
                let code = engine.add_carer(*household, name, by, engine.now()).await?;
                say(&format!("{name}: {}", engine.invitation_link(&code)))
            }
            What::Remove => {
                engine
                    .remove_carer(*household, name, by, engine.now())
                    .await?;
                say(&format!("{name} was taken off household {household}"))
            }
        }
    }
}
