//! `staff`: who at the clinic may act.

use super::columns::columns;
use super::{ClinicFile, say};
use crate::domain::member::Member;
use crate::domain::staff::Role;
use serde_json::json;

/// The flags of `staff`.
#[derive(clap::Args)]
#[command(after_help = "Examples:\n  \
    vialbell staff bind                    # the code to post in the clinic's group\n  \
    vialbell staff add \"Ines Marrow\" --role technician\n  \
    vialbell staff on-call \"Ines Marrow\"\n  \
    vialbell staff remove \"Ines Marrow\"\n  \
    vialbell staff list --json | jq .name")]
pub struct StaffCommand {
    #[command(flatten)]
    clinic: ClinicFile,
    #[command(subcommand)]
    what: What,
}

#[derive(clap::Subcommand)]
enum What {
    /// Print an invitation for somebody new.
    Add {
        /// The name; nobody else on the staff has it.
        name: String,
        /// What they are.
        #[arg(long)]
        role: RoleOf,
    },
    /// Take somebody off; from that moment on nothing that they do counts.
    Remove {
        /// The name.
        name: String,
    },
    /// Print the staff.
    List {
        /// Print one JSON object a line for everybody.
        #[arg(long)]
        json: bool,
    },
    /// Print a code; written in a chat with the bot in it, it makes that chat the clinic's.
    Bind,
    /// Say who is on call; without a name nobody is by name, and the clinic's chat is told.
    OnCall {
        /// The name.
        name: Option<String>,
    },
}

#[derive(Clone, Copy, clap::ValueEnum)]
enum RoleOf {
    /// Enters, answers, confirms.
    Technician,
    /// Orders as well.
    Veterinarian,
}

impl StaffCommand {
    /// Changes the staff, or prints it.
    ///
    /// # Errors
    /// Where a name does not fit what is done, or the records cannot be read.
    pub async fn run(self) -> anyhow::Result<()> {
        if let What::List { json } = self.what {
            let engine = self.clinic.engine_to_look().await?;
            return list(&engine.staff().await?, json);
        }
        let engine = self.clinic.engine().await?;
        let now = engine.now();
        match self.what {
            What::Add { name, role } => {
                let role = match role {
                    RoleOf::Technician => Role::Technician,
                    RoleOf::Veterinarian => Role::Veterinarian,
                };
                let code = engine.add_staff(&name, role, now).await?;
                say(&format!(
                    "{}: {}",
                    name.trim(),
                    engine.invitation_link(&code)
                ))
            }
            What::Remove { name } => {
                engine.remove_staff(&name, now).await?;
                say(&format!("{name} was taken off the staff"))
            }
            What::Bind => {
                let code = engine.code_for_the_chat(now).await?;
                say("Write this in the clinic's group, with the bot in it:")?;
                say(&format!("/start {code}"))
            }
            What::OnCall { name } => {
                engine.put_on_call(name.as_deref()).await?;
                match name {
                    Some(name) => say(&format!("{name} is on call")),
                    None => say("nobody is on call by name"),
                }
            }
            What::List { .. } => Ok(()),
        }
    }
}

fn list(staff: &[Member], as_json: bool) -> anyhow::Result<()> {
    if as_json {
        return staff.iter().try_for_each(|member| {
            let line = json!({
                "name": member.name,
                "role": member.role.name(),
                "joined": member.joined_at.map(|at| at.to_rfc3339()),
                "on_call": member.on_call,
                "own_chat": member.chat.is_some(),
            });
            say(&line.to_string())
        });
    }
    if staff.is_empty() {
        return say("nobody is on the staff: everybody in the clinic's chat may act");
    }
    let head = ["NAME", "ROLE", "JOINED", "ON CALL"]
        .map(str::to_owned)
        .to_vec();
    let rows = staff.iter().map(|member| {
        let joined = member.joined_at.map(|at| at.format("%Y-%m-%d").to_string());
        vec![
            member.name.clone(),
            member.role.name().to_owned(),
            joined.unwrap_or_else(|| "not yet".into()),
            if member.on_call { "yes" } else { "" }.to_owned(),
        ]
    });
    let rows: Vec<Vec<String>> = std::iter::once(head).chain(rows).collect();
    columns(&rows).iter().try_for_each(|line| say(line))
}
