//! The list of commands, and wiring only; `terminal` has the flags of each.

use clap::{CommandFactory, Parser, Subcommand};
use std::process::ExitCode;
use vialbell::terminal;

/// Reminds owners of injections at the right local time, keeps the books of
/// every vial, and calls the clinic in for everything else.
///
/// Without a command it opens a demonstration in the browser: two phones, an
/// invented clinic, and a clock that you move.
#[derive(Parser)]
#[command(version, about)]
struct Arguments {
    #[command(subcommand)]
    command: Option<Command>,
    #[command(flatten)]
    page: terminal::Page,
}

#[derive(Subcommand)]
enum Command {
    /// Write a clinic's first files from a few answers.
    Init(terminal::Init),
    /// Run the clinic's bot on Telegram (token in VIALBELL_TELEGRAM_TOKEN).
    Serve(terminal::Serve),
    /// Enrol a prescription and print the carers' invitations.
    Enrol(terminal::Enrol),
    /// Confirm an order that somebody else entered, after checking its arithmetic.
    Confirm(terminal::Confirm),
    /// Change, pause, resume or end the order of a course under way.
    Order(terminal::OrderCommand),
    /// Add a carer to a household, or take one off.
    Carer(terminal::CarerCommand),
    /// Say who at the clinic may act, who is on call, and which chat is the clinic's.
    Staff(terminal::StaffCommand),
    /// Print every patient under treatment, those who need somebody first.
    Board(terminal::Board),
    /// Print one course with all that happened.
    Course(terminal::CourseCommand),
    /// Print the households on record.
    Household(terminal::HouseholdCommand),
    /// Write the medical record for the practice's own system: CSV and HL7 FHIR R4.
    Export(terminal::Export),
    /// Copy the records into a new file, also while the bot runs.
    Backup(terminal::Backup),
    /// Move the records of a SQLite file into an empty PostgreSQL database.
    Move(terminal::Move),
    /// Print who did what, when, and from where.
    Audit(terminal::Audit),
    /// Erase the people of a household at their request; the clinical record stays without them.
    Erase(terminal::Erase),
    /// Write a paper of a course: the take-home sheet, its picture, or a calendar file.
    Paper(terminal::PaperCommand),
    /// Write the take-home sheet of a prescription, without enrolling it.
    Sheet(terminal::Sheet),
    /// Read the configuration and prescriptions, say everything that is wrong, and change nothing.
    Check(terminal::Check),
    /// Walk a course ahead of time: each vial with its mixing, its end, and what is thrown away.
    Forecast(terminal::Forecast),
    /// Print every message of every kind in every language.
    Gallery(terminal::Gallery),
    /// Play a script against the real program, in a database that is thrown away.
    Rehearse(terminal::Rehearse),
    /// Print a script with which a shell completes commands and flags.
    Completions(terminal::Completions),
}

impl Command {
    async fn run(self) -> anyhow::Result<()> {
        match self {
            Command::Init(command) => command.run(),
            Command::Gallery(command) => command.run(),
            Command::Serve(command) => command.run().await,
            Command::Enrol(command) => command.run().await,
            Command::Confirm(command) => command.run().await,
            Command::Order(command) => command.run().await,
            Command::Carer(command) => command.run().await,
            Command::Staff(command) => command.run().await,
            Command::Paper(command) => command.run().await,
            Command::Sheet(command) => command.run().await,
            Command::Check(command) => command.run().await,
            Command::Forecast(command) => command.run().await,
            Command::Rehearse(command) => command.run().await,
            Command::Board(command) => command.run().await,
            Command::Course(command) => command.run().await,
            Command::Household(command) => command.run().await,
            Command::Export(command) => command.run().await,
            Command::Audit(command) => command.run().await,
            Command::Backup(command) => command.run().await,
            Command::Move(command) => command.run().await,
            Command::Erase(command) => command.run().await,
            Command::Completions(command) => command.run(Arguments::command()),
        }
    }

    /// What is logged where nobody asks for more. A rehearsal is its dialogue;
    /// what a server would log belongs to nobody there.
    fn usual_log(&self) -> &'static str {
        match self {
            Command::Rehearse(_) => "error",
            _ => SERVER_LOG,
        }
    }

    /// The exit code of a failure: 2 where the input's form was at fault, as for bad flags.
    fn failure(&self) -> u8 {
        match self {
            Command::Rehearse(_) => 2,
            _ => 1,
        }
    }
}

const SERVER_LOG: &str = "warn,vialbell=info";

#[tokio::main]
async fn main() -> ExitCode {
    let Arguments { command, page } = Arguments::parse();
    let usual_log = command.as_ref().map_or("warn", Command::usual_log);
    let failure = command.as_ref().map_or(1, Command::failure);
    let log = tracing_subscriber::EnvFilter::try_from_env("VIALBELL_LOG")
        .unwrap_or_else(|_| tracing_subscriber::EnvFilter::new(usual_log));
    let logging = tracing_subscriber::fmt()
        .with_env_filter(log)
        .with_writer(std::io::stderr);
    match std::env::var("VIALBELL_LOG_FORMAT").as_deref() {
        Ok("json") => logging.json().flatten_event(true).init(),
        _ => logging.init(),
    }
    let done = match command {
        None => page.run().await,
        Some(command) => command.run().await,
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("{error:#}");
            ExitCode::from(failure)
        }
    }
}
